"""Where a list's table lies: titles, second headings and remarks are told as such, and none becomes an object."""

from __future__ import annotations

from pathlib import Path

import pytest
from asked import ask
from mapped_lists import PLAIN, faults_of, report_of, write

from collection.ingest import load
from collection.language.errors import InputRefused

ROWS = "1,Gate,door\n2,Sign,sign\n3,Flag,flag\n4,Pole,pole\n"


def listed(lines: str) -> str:
    """A mapping with more lines below [list]."""
    return PLAIN.replace("[list]\n", f"[list]\n{lines}\n")


def refused(db: Path, tmp_path: Path, text: str, mapping: str = PLAIN) -> list[tuple[int | None, str]]:
    files = write(tmp_path / "a", text, mapping)
    with pytest.raises(InputRefused) as caught:
        load.ingest(db, files[0], mapping=files[1])
    return [(fault.row, fault.message) for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("text", "row", "told", "lines"),
    [
        ("Our register,,\nNo,Title,Kind\n" + ROWS, 1, "title above the table", "headings_row = 2"),
        ("Our register\n\nNo,Title,Kind\n" + ROWS, 1, "title above the table", "headings_row = 3"),
        ("Page,1,of 3\nNo,Title,Kind\n" + ROWS, 1, "stands above the headings", "headings_row = 2"),
        ("No,Title,Kind\nNr,Name,Art\n" + ROWS, 2, "second row of headings", "rows_below_headings = 1"),
        ("No,Title,Kind\n(1),(2),(3)\n" + ROWS, 2, "it only counts the columns", "rows_below_headings = 1"),
        ("No,Title,Kind\n" + ROWS + "\nLent to others: see the file,,\n", 7, "remark under", "remark_below = true"),
        ("No,Title,Kind\n" + ROWS + "Total: 4\n", 6, "remark under", "remark_below = true"),
    ],
)
def test_what_is_not_the_table_is_told_and_left_out_when_stated(
    db: Path, tmp_path: Path, text: str, row: int, told: str, lines: str
) -> None:
    """One sentence, with the row and with the line to write; with that line four objects come in, as they stand."""
    found = refused(db, tmp_path, text)
    assert [where for where, _ in found] == [row]
    assert told in found[0][1]
    assert lines in found[0][1]
    report_of(db, write(tmp_path / "b", text, listed(lines)))
    assert ask(db, "SELECT object, title FROM objects ORDER BY object") == [
        ("1", "Gate"),
        ("2", "Sign"),
        ("3", "Flag"),
        ("4", "Pole"),
    ]


def test_two_rows_of_headings_make_their_names_together(db: Path, tmp_path: Path) -> None:
    """A cell of the upper row stands for those to the right of it; where one is blank, the other is the name."""
    text = "Object,,,Made,\nNo,Title,Kind,from,to\n1,Gate,door,1890,1910\n"
    mapping = (
        listed("headings_row = [1, 2]")
        .replace('"No"', '"Object No"')
        .replace('"Title"', '"Object Title"')
        .replace('"Kind"', '"Object Kind"')
        + 'made = { earliest = "Made from", latest = "Made to" }\n[dates]\nranges = "from to"\n'
    )
    report_of(db, write(tmp_path / "a", text, mapping))
    assert ask(db, "SELECT object, title, kind, made FROM objects") == [("1", "Gate", "door", "1890/1910")]
    found = refused(db, tmp_path, text, mapping.replace("headings_row = [1, 2]\n", ""))
    assert "They stand in rows 1 and 2: write headings_row = [1, 2]" in found[0][1]


@pytest.mark.parametrize(
    ("text", "lines", "objects"),
    [
        # An object whose number is a word, above others that have figures: it is one when the mapping says so.
        ("No,Title,Kind\nA,Gate,door\n" + ROWS, "rows_below_headings = 0", 5),
        # A last row with a number alone is an object nobody described; it is set aside as ever, and told.
        ("No,Title,Kind\n" + ROWS + "1979.10,,\n", "", 4),
        ("No,Title,Kind\n" + ROWS + "old number unknown,,\n", "remark_below = false", 4),
        # Few rows, or numbers that are words throughout, are no sign of a second row of headings.
        ("No,Title,Kind\nA,Gate,door\nB,Sign,sign\nC,Flag,flag\nD,Pole,pole\n", "", 4),
        ("No,Title,Kind\nA,Gate,door\n1,Sign,sign\n", "", 2),
    ],
)
def test_an_object_is_not_taken_for_a_heading_or_a_remark(
    db: Path, tmp_path: Path, text: str, lines: str, objects: int
) -> None:
    _, told = report_of(db, write(tmp_path / "a", text, listed(lines) if lines else PLAIN))
    assert told["objects"] == objects


def test_a_remark_that_is_left_out_is_told_each_time(db: Path, tmp_path: Path) -> None:
    """It may say what a sign in the list means, so nobody should miss it."""
    text = "No,Title,Kind\n" + ROWS + "\n* burnt in 1944\n"
    report, told = report_of(db, write(tmp_path / "a", text, listed("remark_below = true")))
    assert [(each.row, each.value) for each in report.warnings] == [(7, "* burnt in 1944")]
    assert (told["rows_read"], told["rows_kept"]) == (4, 4)


@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        ("headings_row = 0", "the number of the row that holds the headings"),
        ("headings_row = [1, 3]", "or of two rows one below the other"),
        ('headings_row = "2"', "the number of the row that holds the headings"),
        ("rows_below_headings = true", "how many rows below the headings explain them"),
        ('remark_below = "yes"', "a remark under the table (true) or an object (false)"),
    ],
)
def test_where_the_table_lies_is_stated_in_figures(lines: str, sentence: str) -> None:
    assert any(sentence in each for each in faults_of(listed(lines)))
