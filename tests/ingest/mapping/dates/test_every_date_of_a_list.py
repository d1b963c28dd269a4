"""Lists as museums have them, brought in whole: every date comes out as a person would read it, or is told as unread.

`dates.csv` is the table: the cells of a row, and its date in EDTF; `unread` is kept and told, `none` is no date at all.
What a phrase covers is checked against its sources in test_phrases.py; here stands what a registrar would expect.
"""

from __future__ import annotations

import csv
import io
from collections import Counter
from pathlib import Path

import pytest
from asked import ask
from mapped_lists import SURVEY, report_of

from collection.ingest.mapping.dates.words import ONE_YEAR, OPEN_AT_END
from collection.values import dates

TABLE = Path(__file__).with_name("dates.csv")
PHRASES = 'phrases = { Victorian = "1837/1901", "Meiji" = "1868/1912" }'
OBJECTS = '[objects]\ntitle = "Title"\nkind = { say = "kind not in this list" }\n'

LISTS = {
    # A word, a year, and a second year only for ranges: Unicode text of a spreadsheet, with a title above the headings.
    "words": (
        "utf-16",
        "\t",
        ("Qualifier", "Year", "To year"),
        'encoding = "utf-16"\nseparator = "\\t"\nheadings_row = 2\n',
        f'made = {{ date = "Qualifier", earliest = "Year", latest = "To year", {PHRASES} }}\n',
    ),
    # Days that mostly stand for years, saved on an old machine.
    "days": (
        "cp1252",
        ";",
        ("Precision", "Date from", "Date to"),
        'encoding = "windows-1252"\nseparator = ";"\n',
        'made = { date = "Precision", earliest = "Date from", latest = "Date to" }\n',
    ),
    # Free text in one cell, some of it on two lines.
    "texts": (
        "utf-8",
        ",",
        ("Date",),
        'encoding = "utf-8"\nseparator = ","\n',
        f'made = {{ date = "Date", {PHRASES} }}\n',
    ),
}


def expected(name: str) -> list[dict[str, str]]:
    with open(TABLE, encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row["list"] == name]


def written(name: str, folder: Path) -> tuple[Path, Path]:
    """The list with its mapping, one object a row, numbered from 1."""
    encoding, separator, headings, listed, made = LISTS[name]
    text = io.StringIO()
    writer = csv.writer(text, delimiter=separator, lineterminator="\r\n")
    if "headings_row" in listed:
        writer.writerow(["Inventory of the harbour store – carried forward", "", "", "", ""][: 2 + len(headings)])
    writer.writerow(["No", "Title", *headings])
    for number, row in enumerate(expected(name), 1):
        cells = [row["word"], row["year"], row["second year"]][: len(headings)]
        writer.writerow([number, f"Türschild – “No {number}”", *cells])
    (folder / f"{name}.csv").write_bytes(text.getvalue().encode(encoding))
    (folder / f"{name}.toml").write_text(f'{SURVEY}[list]\nobject = "No"\n{listed}{OBJECTS}{made}', encoding="utf-8")
    return folder / f"{name}.csv", folder / f"{name}.toml"


def shown(name: str, row: dict[str, str]) -> str:
    cells = [row["word"], row["year"], row["second year"]][: len(LISTS[name][2])]
    return " | ".join(cell.strip() or "(blank)" for cell in cells)


@pytest.mark.parametrize("name", LISTS)
def test_every_date_is_read_as_a_person_would(name: str, db: Path, tmp_path: Path) -> None:
    """What is stored is the table's date; what is unread is told in full, with its rows, and is kept as written."""
    _, told = report_of(db, written(name, tmp_path))
    rows = expected(name)
    first = 3 if "headings_row" in LISTS[name][3] else 2
    stored = dict(ask(db, "SELECT CAST(object AS INTEGER), made FROM objects"))
    wanted = {n: None if row["edtf"] in ("unread", "none") else row["edtf"] for n, row in enumerate(rows, 1)}
    assert {n: (rows[n - 1], made) for n, made in stored.items() if made != wanted[n]} == {}
    assert len(stored) == len(rows)
    unread: dict[str, int] = Counter(shown(name, row) for row in rows if row["edtf"] == "unread")
    listed = told["dates_not_understood"]["objects.made"]
    assert {each["text"]: each["count"] for each in listed} == unread
    assert all(len(each["rows"]) == each["count"] and each["message"] for each in listed)
    if name != "texts":  # a cell on two lines moves the rows of a file behind it, not those of the list
        assert all(shown(name, rows[number - first]) == each["text"] for each in listed for number in each["rows"])
    kept = {(int(number), value) for number, value in ask(db, 'SELECT "key", value FROM unmapped_cells')}
    for number, row in enumerate(rows, 1):
        if row["edtf"] in ("unread", "none"):
            assert {(number, cell) for cell in (row["word"], row["year"], row["second year"]) if cell} <= kept, row


def test_the_table_is_long_enough() -> None:
    """A hundred dates and more, each list with dates that are unread."""
    counts = {name: len(expected(name)) for name in LISTS}
    assert sum(counts.values()) >= 150
    assert all(any(row["edtf"] == "unread" for row in expected(name)) for name in LISTS)


def test_a_blank_second_year_is_told_and_only_true_ones_are_open(db: Path, tmp_path: Path) -> None:
    """Of the commonest shape no single year is open to 9999; the two that are open for want of a year are told."""
    _, told = report_of(db, written("words", tmp_path))
    rows = expected("words")
    open_ended = [
        n for (n,) in ask(db, "SELECT CAST(object AS INTEGER) FROM objects WHERE made_latest = ?", dates.LAST_DAY)
    ]
    limits = ("after", "post", "not before", "since")
    blank = [
        n for n in open_ended if rows[n - 1]["edtf"] not in ("unread", "none") and rows[n - 1]["word"] not in limits
    ]
    assert [rows[n - 1]["word"] for n in blank] == ["between"]
    notes = {each["note"]: each for each in told["date_notes"]["objects.made"]}
    missing = notes[OPEN_AT_END]
    assert [(each["text"], each["edtf"]) for each in missing["examples"]] == [
        ("between | 1930 | (blank)", "[1930..]"),
        ("(blank) | (blank) | 1920", "[..1920]"),
    ]
    assert missing["count"] == len(missing["rows"]) == 2
    assert notes[ONE_YEAR]["count"] == sum(
        bool(row["year"]) and not row["second year"] and row["edtf"][:4] == row["year"] and row["edtf"][-1] != "/"
        for row in rows
    )
