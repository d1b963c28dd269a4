"""The report of an object: its order, who may read what, what it says where nothing is known, and its form on paper."""

from __future__ import annotations

import io
import json
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from published_secrets import SECRET, filled_in_database
from told_texts import TITLE, sections_of, told_of

from collection.output.published.audience import PUBLIC, STAFF
from collection.output.report.object_report import MOST_ROWS, TEMPLATE, shortened
from collection.output.tell.blocks import Facts, Grid, Heading, Point, Points, Sentence, as_data
from collection.output.tell.explained import WORDS, words_used
from collection.output.tell.pdf import pdf

Told = dict[str, Any]


def test_a_reader_meets_the_sections_in_this_order(tram: Told) -> None:
    assert list(sections_of(tram)) == [
        TITLE,
        "What survives",
        "Advice in force",
        "Where it survives",
        "Its finishes",
        "Samples and sections",
        "Cleaning tests",
        "Its parts",
        "Condition",
        "Pictures by light",
        "Its life",
        "What was done to it",
        "Claims",
        "Hazards",
        "What works against it",
        "Proposals and decisions",
        "Must stay untouched",
        "Sources and surveys",
        "How sure each figure is",
        "The words used",
        "Signature",
    ]


def test_first_come_one_sentence_and_one_drawing_with_its_key(tram: Told) -> None:
    heading, sentence, figure = tram["blocks"][:3]
    assert heading["text"] == "What survives"
    assert (sentence["kind"], sentence["text"]) == ("lead", "Original finish seen at 15 of 16 places looked at.")
    for word in ("original exposed", "original covered", "original fragmentary", "sample", "must stay untouched"):
        assert f">{word}</text>" in figure["svg"]
    # What the drawing shows is said in words too, place by place.
    assert "Rocker panel (L-ROCK): original covered" in figure["alt"]


def test_an_object_that_nobody_examined_gets_a_short_report_that_says_so(name_board: Told) -> None:
    said = sections_of(name_board)
    assert "Nobody has examined this object" in said["What survives"]
    assert (
        said["Cleaning tests"].strip()
        == "No cleaning test is recorded: nobody knows what a liquid does to these coats."
    )
    assert "No sample is recorded" in said["What is not recorded"]
    assert "no share and no area is given" in said["How sure each figure is"]
    for left_out in ("Samples and sections", "What was done to it", "Must stay untouched"):
        assert left_out not in said


def test_what_is_missing_is_told_once(name_board: Told, tram: Told) -> None:
    assert "What is not recorded" not in sections_of(tram)
    missing = sections_of(name_board)["What is not recorded"].strip().splitlines()
    assert missing == [
        "No sample is recorded: nobody has read how the coats lie on each other.",
        "No treatment is recorded.",
        "No place is set aside to stay untouched.",
    ]


def test_the_tests_stand_as_a_grid_of_what_each_coat_did(tram: Told) -> None:
    """C02, acetone on the enamel of 1927 and the green under it (the sample's notebook of 2014)."""
    (grid, *_) = [b for b in tram["blocks"] if b["block"] == "grid" and b["caption"].startswith("What each coat did")]
    row = next(row for row in grid["rows"] if "(C02)" in row[0])
    at = grid["heads"].index("body colour, Enamel: maroon")
    assert row[0] == "acetone, 5 s, 2 passes, rolled swab (C02)"
    assert row[at] == "softened"


def headings_in(told: Told, section: str) -> list[str]:
    """The smaller headings of a section, in their order."""
    now, found = "", []
    for block in told["blocks"]:
        if block["block"] == "heading":
            now = block["text"] if block["level"] == 1 else now
            found += [block["text"]] if block["level"] == 2 and now == section else []
    return found


def test_proposals_stand_worst_first_and_works_from_the_first_to_the_last(tram: Told) -> None:
    """By the sample's notebooks: P1, P3 and P5 destroy, P4 and P6 endanger, P2 stood the test; the works by their years."""
    codes = [text.rpartition("(")[2].rstrip(")") for text in headings_in(tram, "Proposals and decisions")]
    assert codes == ["P1", "P3", "P5", "P4", "P6", "P2"]
    works = [text.rpartition("(")[2].rstrip(")") for text in headings_in(tram, "What was done to it")]
    assert works == ["T04", "T27", "T51", "T62", "T78", "T93", "T03", "T14", "T16"]


def test_cautions_stand_where_work_can_hurt(tram: Told) -> None:
    now = ""
    found: dict[str, list[str]] = {}
    for block in tram["blocks"]:
        if block["block"] == "heading" and block["level"] == 1:
            now = block["text"]
        elif block["block"] == "caution":
            found.setdefault(now, []).append(block["text"])
    assert any("safety data sheets" in text for text in found["Cleaning tests"])
    assert any("lead" in text for text in found["What was done to it"])
    assert any("lead" in text for text in found["Hazards"])


def test_only_words_that_are_used_are_explained(tram: Told, name_board: Told) -> None:
    own = sections_of(name_board)["The words used"]
    assert "not examined" in own
    assert "original exposed" not in own
    assert "blanched" in sections_of(tram)["The words used"]
    assert words_used([Sentence("Of none of these.")]) == []
    # A word in another word is not it.
    assert words_used([Sentence("The foreground was relifted.")]) == []
    assert set(WORDS) >= {"campaign", "scheme", "cross-section"}


NAMES = ("Hanna Varrow", "Idwal Marrable", "Piet Osselby", "Runa Ketteridge", "Visiting conservator", "Volunteer group")


def test_a_report_for_the_public_names_nobody_and_has_no_private_cell(tram: Told, tram_for_all: Told) -> None:
    staff, public = (json.dumps(told, ensure_ascii=False) for told in (tram, tram_for_all))
    for name in NAMES:
        assert name in staff
        assert name not in public
    for private in ("track 2", "Harbour Trust (invented)", "Blunt blisters low down"):
        assert private in staff
        assert private not in public
    assert tram["foot"].startswith("For staff only")
    assert "For staff only" not in public


@pytest.fixture(scope="module")
def secrets(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return filled_in_database(tmp_path_factory.mktemp("secrets"))


def test_nothing_that_is_held_back_or_withdrawn_is_in_it(secrets: Path, tmp_path: Path) -> None:
    """Every private cell, name, note, staff row, withdrawn row and overwritten content of that database holds a secret."""
    public = json.dumps(told_of(secrets, "PUB/1", PUBLIC, tmp_path / "public"), ensure_ascii=False).encode()
    assert SECRET.findall(public) == []
    staff = json.dumps(told_of(secrets, "PUB/1", STAFF, tmp_path / "staff"), ensure_ascii=False)
    assert "STAFF" in staff
    assert "PERSON" in staff
    assert re.findall(r"WITHDRAWN\w*|OLDCONTENT|WHYTOLD|PACKAGENAME", staff) == []


def test_a_long_table_or_list_is_cut_and_says_so() -> None:
    rows = tuple((str(number),) for number in range(MOST_ROWS + 3))
    cut, said = shortened(Grid("Many", ("Number",), rows))
    assert isinstance(cut, Grid)
    assert cut.rows == rows[:MOST_ROWS]
    assert isinstance(said, Sentence)
    assert said.text == f"3 more are in the collection’s records, which have all {MOST_ROWS + 3}."
    points = Points(tuple(Point(str(number)) for number in range(MOST_ROWS)))
    assert list(shortened(points)) == [points]


def structure(opened: pikepdf.Pdf) -> Iterator[pikepdf.Object]:
    """The elements of the structure tree, as a reader meets them."""

    def below(element: pikepdf.Object) -> Iterator[pikepdf.Object]:
        kids = element.get("/K")
        for kid in kids if isinstance(kids, pikepdf.Array) else [kids] if kids is not None else []:
            if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
                yield kid
                yield from below(kid)

    yield from below(opened.Root.StructTreeRoot)


@pytest.mark.slow
def test_on_paper_it_is_short_tagged_and_the_same_from_two_processes(
    printed: Callable[[str], bytes], harbour: Path, tmp_path: Path
) -> None:
    """The largest object of the sample: up to 20 pages; every figure has words, no heading skips a level."""
    made = printed("OHM-1962-7")
    out = tmp_path / "again.pdf"
    subprocess.run([sys.executable, "-m", "collection", "report", harbour, "OHM-1962-7", out], check=True)
    assert out.read_bytes() == made
    with pikepdf.open(io.BytesIO(made)) as opened:
        assert 10 < len(opened.pages) <= 20
        elements = list(structure(opened))
        figures = [element for element in elements if element.S == "/Figure"]
        assert len(figures) > 20
        assert all(str(figure.get("/Alt", "")).strip() for figure in figures)
        levels = [int(str(e.S)[2:]) for e in elements if re.fullmatch(r"/H\d", str(e.S))]
        assert levels[0] == 1
        assert all(later <= earlier + 1 for earlier, later in pairwise(levels))
        heads = [element for element in elements if element.S == "/TH"]
        assert len(heads) > 40


def test_a_text_without_spaces_and_one_longer_than_a_page_are_printed() -> None:
    """Nothing that a record may hold stops the press, or is cut: the whole long text is on its pages."""
    long = "x" * 400
    grid = Grid(long, (long, "b"), ((long, "word " * 3000),))
    told = {
        "title": long, "author": "", "running": long, "made": "", "foot": long, "under": long, "invented": "",
        "facts": as_data([Facts(((long, long),))])[0], "portrait": None,
        "blocks": as_data([Heading(long), grid, Points((Point(long),))]),
    }  # fmt: skip
    with pikepdf.open(io.BytesIO(pdf(TEMPLATE, told, day="2024-05-01"))) as made:
        assert len(made.pages) > 3
