"""Tags on paper: everything that is told stands on them, and a telephone reads their code from a poor picture."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest
import typst
import zxingcpp
from PIL import Image, ImageFilter

from collection.output.published.audience import PUBLIC
from collection.output.site.computed_objects import told_object
from collection.output.tag.printed import as_printed, tag_pdf
from collection.output.tag.told import tag_told
from collection.output.tell import pdf as press
from collection.store.base import database

ABOUT = {
    "collection_name": "Old Harbour Museum",
    "collection_contact": "the registrar",
    "collection_address": "https://harbour-museum.example/records/",
}
TRAM, BOARD = "OHM-1962-7", "OHM-1952-11"


@pytest.fixture(scope="module")
def objects(harbour: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """The tram and the board nobody looked at, each with the folder of its pictures."""
    made: dict[str, Any] = {}
    with database.opened(harbour, write=False) as connection:
        for code in (TRAM, BOARD):
            folder = tmp_path_factory.mktemp("pictures")
            made[code] = told_object(connection, harbour, code, PUBLIC, folder), folder
    return made


def picture(told: dict[str, Any], folder: Path, dots: int) -> Image.Image:
    """The page as a camera might see it; drawn by the typesetter itself, so that nothing else has to be installed."""
    made = press._press()
    place = made.root / "seen"
    place.mkdir(exist_ok=True)
    data = made._ready(told, folder, place)
    compiler = typst.Compiler(input=str(made.root / "tag.typ"), root=str(made.root), font_paths=made._fonts)
    png = compiler.compile(
        format="png", ppi=dots, sys_inputs={"told": json.dumps(data, ensure_ascii=False), "day": "2026-05-03"}
    )
    assert isinstance(png, bytes)
    return Image.open(io.BytesIO(png)).convert("L")


def text_of(pdf: bytes) -> str:
    """Every text of a page in its order, by the fonts' own tables of code points."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        found = []
        for page in document.pages:
            fonts = {name: _signs(font) for name, font in page.Resources.Font.items()}
            signs: dict[int, str] = {}
            for told in pikepdf.parse_content_stream(page):
                if isinstance(told, pikepdf.ContentStreamInlineImage):
                    continue
                words, operator = told.operands, str(told.operator)
                if operator == "Tf":
                    signs = fonts[str(words[0])]
                elif operator in ("Tj", "TJ"):
                    parts = words[0] if operator == "TJ" else [words[0]]
                    for part in parts:
                        if isinstance(part, pikepdf.String):
                            raw = bytes(part)
                            found += [
                                signs.get(int.from_bytes(raw[at : at + 2], "big"), "") for at in range(0, len(raw), 2)
                            ]
        return "".join(found)


def _signs(font: Any) -> dict[int, str]:
    signs = {}
    for line in font.ToUnicode.read_bytes().decode("latin-1").splitlines():
        words = line.replace("<", " ").replace(">", " ").split()
        if line.startswith("<") and len(words) == 2:
            signs[int(words[0], 16)] = bytes.fromhex(words[1]).decode("utf-16-be")
    return signs


def test_the_tag_says_all_of_it_on_one_page_of_a6(objects: dict[str, Any]) -> None:
    published, folder = objects[TRAM]
    made = tag_pdf(published, ABOUT, pictures=folder)
    told = tag_told(published, ABOUT)
    with pikepdf.open(io.BytesIO(made)) as document:
        assert [[round(float(side) / 72 * 25.4) for side in page.MediaBox] for page in document.pages] == [
            [0, 0, 148, 105]
        ]
    said = text_of(made).replace(" ", "")
    wanted = [
        told["main"],
        told["title"],
        told["object"],
        told["address"],
        told["date"],
        "Ask first:",
        told["invented"],
    ]
    wanted += [text for row in told["donts"] for text in (row["words"], row["why"])]
    wanted += [row["name"] for row in told["places"]]
    assert len(told["donts"]) == 3
    assert [text for text in wanted if text.replace(" ", "") not in said] == []


def test_the_same_records_give_the_same_bytes(objects: dict[str, Any]) -> None:
    published, folder = objects[TRAM]
    for sheet in (False, True):
        made = [tag_pdf(published, ABOUT, sheet=sheet, pictures=folder) for _ in range(2)]
        assert made[0] == made[1]


@pytest.mark.parametrize("code", [TRAM, BOARD])
def test_the_code_is_read_from_a_blurred_and_turned_picture(objects: dict[str, Any], code: str) -> None:
    """150 dots per inch, out of focus by 0.2 mm, turned by four degrees, in uneven light: a hand with a telephone."""
    published, folder = objects[code]
    told = tag_told(published, ABOUT)
    page = picture(as_printed(published, told, False, folder), folder, 150)
    turned = page.rotate(4, expand=True, fillcolor=255, resample=Image.Resampling.BICUBIC)
    blurred = turned.filter(ImageFilter.GaussianBlur(0.2 / 25.4 * 150))
    light = np.linspace(0.55, 1.0, blurred.width)
    seen = Image.fromarray((np.asarray(blurred) * light).astype(np.uint8))
    assert [each.text for each in zxingcpp.read_barcodes(seen)] == [f"{ABOUT['collection_address']}object/{code}"]


def test_it_is_black_on_white(objects: dict[str, Any]) -> None:
    """Of our own ink nothing is grey: what is neither black nor white are the edges of letters, and what the survey's own
    drawing shades."""
    published, folder = objects[TRAM]
    page = np.asarray(picture(as_printed(published, tag_told(published, ABOUT), False, None), folder, 600))
    assert ((page > 60) & (page < 200)).mean() < 0.03


def test_a_sheet_has_four_tags_and_eight_labels(objects: dict[str, Any]) -> None:
    published, folder = objects[BOARD]
    told = as_printed(published, tag_told(published, ABOUT), True, folder)
    made = tag_pdf(published, ABOUT, sheet=True, pictures=folder)
    with pikepdf.open(io.BytesIO(made)) as document:
        sides = [[round(float(side) / 72 * 25.4) for side in page.MediaBox[2:]] for page in document.pages]
    assert sides == [[297, 210], [210, 297]]
    assert text_of(made).replace(" ", "").count(told["main"].replace(" ", "")) == 4 + 8


def test_without_an_address_there_is_no_code(objects: dict[str, Any]) -> None:
    published, folder = objects[BOARD]
    about = {**ABOUT, "collection_address": None}
    page = picture(as_printed(published, tag_told(published, about), False, folder), folder, 150)
    assert zxingcpp.read_barcodes(page) == []
    assert "Askfirst:OldHarbourMuseum,theregistrar" in text_of(tag_pdf(published, about)).replace(" ", "")


def test_texts_too_long_for_a_tag_are_cut_with_a_mark_and_stay_on_it(objects: dict[str, Any]) -> None:
    published, folder = objects[TRAM]
    told = tag_told(published, {**ABOUT, "collection_contact": "a very long way to say whom to ask, " * 20})
    told |= {"title": "word " * 60, "not_examined": "place; " * 99, "beside": ["kept; " * 90] * 3}
    told["places"] = [{**row, "name": "long name " * 20} for row in told["places"]]
    told["donts"] = [{"words": "Do not " + "do " * 60, "why": "because " * 80, "records": []}] * 3
    made = as_printed(published, told, False, folder)
    assert all(row["words"].endswith("…") and row["why"].endswith("…") for row in made["donts"])
    pdf = press.pdf("tag/tag.typ", made, day=told["day"], pictures=folder)
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert len(document.pages) == 1
    # The last line of the largest tag is still on the paper.
    assert "Invented" in text_of(pdf).replace(" ", "")
    page = np.asarray(picture(made, folder, 60))
    assert page[-3:].min() == 255
