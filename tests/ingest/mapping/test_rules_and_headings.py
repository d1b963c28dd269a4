"""Rules that leave rows out, headings as they stand, and lists that cannot be read."""

from __future__ import annotations

from pathlib import Path

import pytest
from asked import ask
from mapped_lists import LIST, OBJECTS, PLAIN, SURVEY, report_of, write

from collection.ingest import load
from collection.language.errors import InputRefused, WrongCommand


@pytest.mark.parametrize(
    ("rule", "kept"),
    [
        ('[[leave_out]]\nname = "r"\nheading = "Kind"\nis = ["Copy"]\n', ["1", "3"]),
        ('[[leave_out]]\nname = "r"\nheading = "Kind"\nholds = ["op"]\n', ["1", "3"]),
        ('[[leave_out]]\nname = "r"\nheading = "Note"\nblank = true\n', ["1"]),
        ('[[keep_only]]\nname = "r"\nheading = "Note"\nblank = true\n', ["2", "3"]),
        ('[[keep_only]]\nname = "r"\nheading = "Kind"\nis = ["sign"]\n', ["1", "3"]),
    ],
)
def test_rules_leave_rows_out_and_count_them(db: Path, tmp_path: Path, rule: str, kept: list[str]) -> None:
    """By a word, by a part of the cell, by its being blank; capitals make no difference."""
    text = "No,Title,Kind,Note\n1,A,sign,x\n2,B,copy,\n3,C,Sign,\n"
    files = write(tmp_path / "a", text, SURVEY + LIST + rule + OBJECTS)
    _, told = report_of(db, files)
    assert [code for (code,) in ask(db, "SELECT object FROM objects ORDER BY 1")] == kept
    assert told["left_out"] == {"r": 3 - len(kept)}


def test_a_rule_takes_the_words_of_the_list_for_a_blank(db: Path, tmp_path: Path) -> None:
    """Where a dash is said to be blank, it is blank to a rule as well."""
    rule = 'blank = ["-"]\n[[leave_out]]\nname = "r"\nheading = "Note"\nblank = true\n'
    files = write(tmp_path / "a", "No,Title,Kind,Note\n1,A,sign,x\n2,B,copy,-\n", SURVEY + LIST + rule + OBJECTS)
    assert report_of(db, files)[1]["left_out"] == {"r": 1}


def test_blank_and_repeated_headings_are_told_apart(db: Path, tmp_path: Path) -> None:
    """Cells below them are kept under names of their own, and a mapping can name them."""
    files = write(
        tmp_path / "a", "No,Title,Kind,Date,,Date\n1,A,sign,1910,odd,1920\n", PLAIN + 'made = { date = "Date (2)" }\n'
    )
    report_of(db, files)
    assert ask(db, "SELECT made FROM objects") == [("1920",)]
    assert ask(db, "SELECT heading, value FROM unmapped_cells ORDER BY 1") == [("Date", "1910"), ("column 5", "odd")]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("No;Title;Kind\n1;A;b\n", "All headings are in one cell. The columns seem to be separated by a semicolon"),
        ("Our list, 2019\nNo;Title;Kind\n1;A;b\n", "row 2: 'No;Title;Kind': All headings are in one cell"),
        ("No,Title,Kind\n1,A,b,c\n", "row 2: This row has 4 cells and the headings are 3"),
        ("No,Title,Kind\n1,A\n", "row 2: This row has 2 cells and the headings are 3"),
        ('No,Title,Kind\n1,"A,b\n', "row 2: A quotation mark is opened here"),
        ("No,Title,Kind\n1,A\x00,b\n", "row 2: This row holds a character NUL"),
        ("", "no headings"),
    ],
)
def test_a_list_that_cannot_be_read_is_refused(db: Path, tmp_path: Path, text: str, sentence: str) -> None:
    """With the row and what is wrong; nothing is stored."""
    files = write(tmp_path / "a", text, PLAIN)
    with pytest.raises(InputRefused) as caught:
        load.ingest(db, files[0], mapping=files[1])
    assert any(sentence in fault.sentence() for fault in caught.value.faults), caught.value.faults
    assert ask(db, "SELECT count(*) FROM changes") == [(0,)]


def test_a_heading_that_the_list_does_not_have_is_told_with_its_line(db: Path, tmp_path: Path) -> None:
    """The line of the mapping, its table and key, and the nearest heading."""
    mapping = PLAIN + 'maker = "Makers"\n[[leave_out]]\nname = "r"\nheading = "Nota"\nblank = true\n'
    files = write(tmp_path / "a", "No,Title,Kind,Maker,Note\n1,A,b,c,d\n", mapping)
    with pytest.raises(InputRefused) as caught:
        load.ingest(db, files[0], mapping=files[1])
    lines = mapping.splitlines()
    assert [(f.file, f.row, f.column, f.value, f.nearest) for f in caught.value.faults] == [
        ("map.toml", lines.index('maker = "Makers"') + 1, "objects.maker", "Makers", "Maker"),
        ("map.toml", lines.index('heading = "Nota"') + 1, "leave_out.heading", "Nota", "Note"),
    ]


def test_the_map_and_the_list_have_to_be_there(db: Path, tmp_path: Path) -> None:
    """A missing file is a wrong command."""
    files = write(tmp_path / "a", "No,Title,Kind\n", PLAIN)
    with pytest.raises(WrongCommand, match="no file"):
        load.ingest(db, tmp_path / "none.csv", mapping=files[1])
    with pytest.raises(WrongCommand, match="no file"):
        load.ingest(db, files[0], mapping=tmp_path / "none.toml")
