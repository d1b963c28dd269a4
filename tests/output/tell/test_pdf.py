"""The press: which characters it prints, that its bytes depend on the data alone, and what its files say of themselves."""

from __future__ import annotations

import hashlib
import io
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pdf_standards import NOT_SEEN, faults, lacking, weak_faults
from PIL import Image
from strategies import ODD_TEXTS

from collection.language.errors import CouldNot
from collection.output.drawings.text import TYPE
from collection.output.tell import blocks as told
from collection.output.tell import pdf as press
from collection.output.tell.blocks import as_data

FRAME: dict[str, Any] = {
    **dict.fromkeys(("author", "foot", "under", "invented"), ""),
    "title": "A tried report",
    "running": "X",
    "made": "1 May 2024",
    "facts": {"rows": []},
    "portrait": None,
}
DRAWN = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 40"><text x="2" y="20" {TYPE} font-size="12">%s</text></svg>'


def made(*blocks: told.Block, pictures: Path | None = None, **frame: str) -> bytes:
    return press.pdf(
        "report/report.typ", {**FRAME, **frame, "blocks": as_data(blocks)}, day="2024-05-01", pictures=pictures
    )


def everything(text: str) -> list[told.Block]:
    """A block of every kind with one text in each of its places."""
    return [
        told.Heading(text),
        told.Sentence(text, "lead"),
        told.Sentence(text, "aside"),
        told.Facts(((text, text),)),
        told.Points((told.Point(text, text, text), told.Point(text))),
        told.Grid(text, ("a", text), ((text, text), ("b", "c")), wide=(1,)),
        told.Figure(text, text, svg=DRAWN % text.replace("&", "&amp;").replace("<", "&lt;")),
        told.Caution(text),
        told.Signature(text, (text, "Date")),
    ]


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("Ångström, µm ≥ ½, Жёлтый, Ωμέγα", "Ångström, µm ≥ ½, Жёлтый, Ωμέγα"),
        ("漆", "[U+6F06]"),
        ("a\u200bb", "a[U+200B]b"),  # nobody sees it, but it was written
        ("\ue000", "[U+E000]"),  # private: the font has a sign there that means nothing to a reader
        ("two\nlines", "two\nlines"),
        ("a\x07b", "a[U+0007]b"),
    ],
)
def test_what_the_font_lacks_is_written_as_its_code_point(text: str, printed: str) -> None:
    assert press.printable(text, press._press().known) == printed


def test_a_missing_character_stands_as_its_code_point_in_texts_and_figures() -> None:
    """Typst itself refuses a PDF/A with a character that no font has, so a file that is made has none."""
    assert not weak_faults(made(*everything("漆 \ue000 \u200b")))


def test_the_same_data_give_the_same_bytes_in_another_process() -> None:
    code = (
        "import sys, hashlib; from pathlib import Path; sys.path[:0] = sys.argv[1:]; import test_pdf; "
        "print(hashlib.sha256(test_pdf.made(*test_pdf.everything('same'))).hexdigest())"
    )
    here = Path(__file__)
    done = subprocess.run(
        [sys.executable, "-c", code, str(here.parent), str(here.parents[2] / "builders")],
        capture_output=True, text=True, check=True, cwd=here.parents[3],
    )  # fmt: skip
    assert done.stdout.strip() == hashlib.sha256(made(*everything("same"))).hexdigest()


def test_the_file_carries_the_day_that_it_is_told_and_no_other() -> None:
    with pikepdf.open(io.BytesIO(made(told.Sentence("x")))) as pdf:
        assert str(pdf.docinfo["/CreationDate"]).startswith("D:20240501000000")
        assert str(pdf.docinfo["/Title"]) == "A tried report"


@pytest.mark.parametrize("mode", ["RGB", "L", "P", "RGBA", "CMYK", "I;16"])
def test_a_picture_of_any_kind_is_made_small_enough_for_paper(tmp_path: Path, mode: str) -> None:
    """In the colours of screens, since PDF/A asks that each colour space be known."""
    kind = "jpg" if mode == "CMYK" else "png"
    Image.new(mode, (2 * press.PIXELS, 60)).save(tmp_path / f"a.{kind}")
    content = made(told.Figure("words", picture=f"a.{kind}"), pictures=tmp_path)
    assert not weak_faults(content)
    with pikepdf.open(io.BytesIO(content)) as pdf:
        (image,) = (
            each for each in pdf.objects if isinstance(each, pikepdf.Stream) and each.get("/Subtype") == "/Image"
        )
        assert image.Width == press.PIXELS


def test_without_the_extra_a_sentence_says_which_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(CouldNot, match=r"pip install 'firstcoat\[report\]'"):
        made(told.Sentence("x"))


@pytest.mark.parametrize(
    ("broken", "said"),
    [
        (lambda pdf: pdf.Root.__delitem__("/Lang"), "no language"),
        (lambda pdf: pdf.Root.__delitem__("/StructTreeRoot"), "no structure"),
        (lambda pdf: pdf.Root.__delitem__("/OutputIntents"), "no output intent"),
        (lambda pdf: pdf.Root.__delitem__("/Metadata"), "no dc:title in the metadata"),
        (lambda pdf: _figure(pdf).__delitem__("/Alt"), "a figure without words for it"),
        (lambda pdf: _descriptor(pdf).__delitem__("/FontFile2"), "is not inside"),
    ],
)
def test_the_weak_check_sees_what_lacks(broken: Callable[[pikepdf.Pdf], None], said: str) -> None:
    """What it cannot see stands in `NOT_SEEN`."""
    with pikepdf.open(io.BytesIO(made(*everything("x")))) as pdf:
        broken(pdf)
        spoiled = io.BytesIO()
        pdf.save(spoiled)
    assert any(said in fault for fault in weak_faults(spoiled.getvalue()))
    assert NOT_SEEN


def _figure(pdf: pikepdf.Pdf) -> pikepdf.Dictionary:
    return next(
        e for e in pdf.objects if isinstance(e, pikepdf.Dictionary) and e.get("/S") == "/Figure" and "/Alt" in e
    )


def _descriptor(pdf: pikepdf.Pdf) -> pikepdf.Dictionary:
    return next(e for e in pdf.objects if isinstance(e, pikepdf.Dictionary) and "/FontFile2" in e)


texts = st.one_of(
    st.sampled_from(ODD_TEXTS),
    st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=60),
    st.text(st.characters(max_codepoint=0x24FF, exclude_categories=["Cs"]), min_size=1, max_size=400),
)


@pytest.mark.slow
@pytest.mark.skipif(lacking() is not None, reason=f"veraPDF: {lacking()}")
def test_documents_of_any_text_keep_both_standards(tmp_path: Path) -> None:
    """veraPDF on 30 documents of texts that hypothesis drew, in one Java."""
    count = 0

    @settings(max_examples=30, database=None)
    @given(texts, texts)
    def draw(text: str, title: str) -> None:
        nonlocal count
        (tmp_path / f"{count}.pdf").write_bytes(made(*everything(text), title=f"A {title}", running=text, foot=text))
        count += 1

    draw()
    assert count >= 30
    found = faults(sorted(tmp_path.glob("*.pdf")))
    assert {name: said for name, said in found.items() if said} == {}


@pytest.mark.slow
@pytest.mark.skipif(lacking() is not None, reason=f"veraPDF: {lacking()}")
def test_the_strong_check_finds_a_file_that_keeps_neither(tmp_path: Path) -> None:
    with pikepdf.open(io.BytesIO(made(*everything("x")))) as pdf:
        del pdf.Root.Lang
        del pdf.Root.Metadata
        pdf.save(tmp_path / "spoiled.pdf")
    found = faults([tmp_path / "spoiled.pdf"])
    assert all(found["spoiled.pdf", profile] for profile in ("PDFA-2A", "PDFUA-1"))
