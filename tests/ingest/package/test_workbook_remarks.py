"""What a workbook says beside its cells: comments, threads and struck-out text, told as warnings of their records.

The workbooks are written by XlsxWriter and openpyxl, two libraries of their own; threads by hand, as their parts stand
in files of a spreadsheet program ([MS-XLSX] 2.6.205; from memory).
"""

from __future__ import annotations

import zipfile
from pathlib import Path
from typing import Any

import made_workbooks as made
import openpyxl
import pytest
import xlsxwriter
from asked import ask
from checked import check_package
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.comments import Comment
from small_workbook import SMALL, refused

from collection.ingest import load
from collection.ingest.blank.contents import Blank
from collection.ingest.blank.workbook import workbook
from collection.language.errors import Fault


def edited(path: Path, **cells: Any) -> Path:
    """The small sound workbook, changed by openpyxl: `layers_G2` is a cell, its value a function of it."""
    book = openpyxl.load_workbook(made.written(path, SMALL))
    for spot, change in cells.items():
        sheet, _, cell = spot.partition("_")
        change(book[sheet][cell])
    book.save(path)
    return path


def comment(text: str, author: str = "B. Reader") -> Any:
    return lambda cell: setattr(cell, "comment", Comment(text, author))


def struck(cell: Any) -> None:
    cell.font = openpyxl.styles.Font(strike=True)


def short(warnings: list[Fault]) -> list[tuple[str, int | None, str | None, str]]:
    return [(w.sheet, w.row, w.column, w.message.split(". ")[0]) for w in warnings]


def test_a_comment_is_told_with_its_place_and_kept_with_its_record(db: Path, tmp_path: Path) -> None:
    """On a cell, on a blank one, on the survey's own row; cut to one line. Each is a warning of its record."""
    book = edited(
        tmp_path / "harbour.xlsx",
        layers_G2=comment("Is this the undercoat?\nLook again in raking light."),
        layers_F3=comment("x" * 500),
        samples_F2=comment("measured from the left"),
        survey_B3=comment("the second visit"),
    )
    report = load.ingest(db, book)
    assert short(list(report.warnings)) == [
        ("survey", 3, "title", "This cell has the comment “the second visit”"),
        ("samples", 2, "x", "This cell has the comment “measured from the left”"),
        ("layers", 2, "colour", "This cell has the comment “Is this the undercoat? Look again in raking light.”"),
        ("layers", 3, "scheme", f"This cell has the comment “{'x' * 120}…”"),
    ]
    assert ask(db, 'SELECT sheet, key, "column" FROM warnings ORDER BY id') == [
        ("survey", "harbour-1", "title"),
        ("samples", "T1/S01", "x"),
        ("layers", "T1/S01/1", "colour"),
        ("layers", "T1/S01/2", "scheme"),
    ]


def test_cells_of_other_sheets_are_not_looked_at(tmp_path: Path) -> None:
    book = made.written(tmp_path / "harbour.xlsx", {**SMALL, "example": [("object", "x"), ("T9", "y")]})
    both = openpyxl.load_workbook(book)
    both["example"]["A2"].comment = Comment("only an example", "B. Reader")
    struck(both["example"]["A2"])
    both.save(book)
    assert check_package(book) == []


def test_what_is_struck_out_is_told(db: Path, tmp_path: Path) -> None:
    """A cell by its font, runs within a text, shared or in the cell, and a whole row, which is one warning."""
    path = tmp_path / "harbour.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        out = book.add_format({"font_strikeout": True})
        for name, rows in {"survey": made.SURVEY, **SMALL}.items():
            page = book.add_worksheet(name)
            for at, row in enumerate(rows):
                for place, cell in enumerate(row):
                    whole = name == "components" and at == 1
                    page.write(at, place, cell, out if whole or (name, at, place) == ("samples", 1, 3) else None)
            if name == "layers":
                page.write_number(1, 4, 20, out)
                page.write_rich_string(1, 6, "grey", out, " or blue")
                page.write_rich_string(2, 6, out, "bright", out, " red")
    report = load.ingest(db, path)
    assert short(list(report.warnings)) == [
        ("components", 2, None, "This row is struck out, and was read like all others"),
        ("samples", 2, "method", "This cell is struck out, and was read like all others"),
        ("layers", 2, "thickness_um", "This cell is struck out, and was read like all others"),
        ("layers", 2, "colour", "Of this cell “or blue” is struck out, and was read with the rest"),
        ("layers", 3, "colour", "This cell is struck out, and was read like all others"),
    ]
    assert [w.value for w in report.warnings] == [None, "cross-section", "20", "grey or blue", "bright red"]
    assert ask(db, "SELECT colour FROM layers ORDER BY position") == [("grey or blue",), ("bright red",)]
    assert ask(db, "SELECT sheet, key FROM warnings ORDER BY id LIMIT 1") == [("components", "T1/body/2019")]

    def inline(cell: Any) -> None:
        cell.value = CellRichText("grey", TextBlock(InlineFont(strike=True), " or blue"))

    inside = edited(tmp_path / "other.xlsx", layers_G2=inline, samples_C2=struck)
    assert [(w.row, w.column, w.value) for w in check_package(inside)] == [
        (2, "place", "Z1"),
        (2, "colour", "grey or blue"),
    ]


def test_a_font_that_says_it_does_not_strike_out_does_not(tmp_path: Path) -> None:
    """`<strike val="0"/>` is an ordinary font (ECMA-376 Part 1, 18.4.10)."""
    path = edited(tmp_path / "harbour.xlsx", layers_G2=struck)
    changed = tmp_path / "changed.xlsx"
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(changed, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name).replace(b'<strike val="1"', b'<strike val="0"'))
    assert len(check_package(path)) == 1
    assert check_package(changed) == []


def filled_in(path: Path, **cells: Any) -> Path:
    """A blank survey as the program writes it, its own row filled in by openpyxl, which keeps the notes."""
    path.write_bytes(workbook(Blank()))
    book = openpyxl.load_workbook(path)
    for row, (_, value) in enumerate(made.SURVEY[1:], 2):
        assert book["survey"].cell(row, 1).value == made.SURVEY[row - 1][0]
        book["survey"].cell(row, 2, value)
    for spot, change in cells.items():
        sheet, _, cell = spot.partition("_")
        change(book[sheet][cell])
    book.save(path)
    return path


def test_the_notes_of_a_blank_survey_are_not_told(tmp_path: Path) -> None:
    """Every heading has one; nobody is told of them, but of what a person writes into one or puts in its place."""

    def added(cell: Any) -> None:
        cell.comment = Comment(cell.comment.text + "\nWe always write the inventory number.", cell.comment.author)

    def changed(cell: Any) -> None:
        cell.comment = Comment(cell.comment.text.replace("Required", "Always"), cell.comment.author)

    assert openpyxl.load_workbook(filled_in(tmp_path / "a.xlsx"))["objects"]["A1"].comment is not None
    assert check_package(tmp_path / "a.xlsx") == []
    told = check_package(
        filled_in(tmp_path / "b.xlsx", objects_A1=added, zones_B1=comment("our own numbers"), layers_D1=changed)
    )
    assert [(w.sheet, w.row, w.column) for w in told] == [
        ("objects", 1, "object"),
        ("zones", 1, "zone"),
        ("layers", 1, "role"),
    ]
    assert "comment “We always write the inventory number.”. No record keeps a comment on a heading" in told[0].message
    assert "“our own numbers”" in told[1].message
    assert "“Always: " in told[2].message


@pytest.mark.parametrize("author", ["", "firstcoat", "somebody"])
def test_such_a_note_is_known_without_its_signature(tmp_path: Path, author: str) -> None:
    """An older blank survey signs nothing, and some programs keep no authors."""

    def unsigned(cell: Any) -> None:
        cell.comment = Comment(cell.comment.text, author)

    assert check_package(filled_in(tmp_path / "a.xlsx", objects_A1=unsigned, layers_D1=unsigned)) == []


THREADS = (
    '<ThreadedComments xmlns="http://schemas.microsoft.com/office/spreadsheetml/2018/threadedcomments">{}'
    "</ThreadedComments>"
)
NOTES = (
    '<comments xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><authors><author>tc={{1}}</author>'
    "<author>B. Reader</author></authors><commentList>{}</commentList></comments>"
)
COPY = (
    '<comment ref="{}" authorId="0"><text><t>[Threaded comment]\n\nYour program knows no threads.\n\nComment:\n    {}</t>'
    "</text></comment>"
)
_TYPE = "http://schemas.microsoft.com/office/2017/10/relationships/threadedComment"
_NOTE_TYPE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/comments"
LAYERS_PART = 7
"""The number of the part that holds the sheet `layers` of the small workbook."""


def with_parts(path: Path, threads: str | None, notes: str | bytes | None, links: str | None = None) -> Path:
    """The small workbook with these parts at its sheet of layers."""
    made.written(path, SMALL)
    linked = '<Relationship Id="t" Type="{}" Target="../{}"/>'
    parts: dict[str, str | bytes] = {}
    found = ""
    if threads is not None:
        parts["xl/threadedComments/threadedComment1.xml"] = THREADS.format(threads)
        found += linked.format(_TYPE, "threadedComments/threadedComment1.xml")
    if notes is not None:
        parts["xl/comments1.xml"] = NOTES.format(notes) if isinstance(notes, str) else notes
        found += linked.replace('"t"', '"n"').format(_NOTE_TYPE, "comments1.xml")
    parts[f"xl/worksheets/_rels/sheet{LAYERS_PART}.xml.rels"] = (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        f"{found if links is None else links}</Relationships>"
    )
    with zipfile.ZipFile(path, "a") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return path


def test_a_thread_is_one_comment_and_its_copy_is_not_told_again(tmp_path: Path) -> None:
    """A thread stands in a part of its own, and once more in a note for programs that know none."""
    threads = (
        '<threadedComment ref="G2" id="1"><text>Grey or blue?</text></threadedComment>'
        '<threadedComment ref="G2" id="2" parentId="1"><text>Blue, by daylight.</text></threadedComment>'
    )
    notes = COPY.format("G2", "Grey or blue?") + '<comment ref="F3" authorId="1"><text><t>see S02</t></text></comment>'
    told = check_package(with_parts(tmp_path / "a.xlsx", threads, notes))
    assert short(told) == [
        ("layers", 2, "colour", "This cell has the comment “Grey or blue? / Blue, by daylight.”"),
        ("layers", 3, "scheme", "This cell has the comment “see S02”"),
    ]
    # Another program dropped the threads and kept the copy.
    told = check_package(with_parts(tmp_path / "b.xlsx", None, COPY.format("G2", "Grey or blue?")))
    assert short(told) == [("layers", 2, "colour", "This cell has the comment “Comment: Grey or blue?”")]


@pytest.mark.parametrize(
    ("threads", "notes", "links"),
    [
        (None, '<comment ref="nowhere" authorId="1"><text/></comment>', None),
        (None, '<comment authorId="1"><text><t>x</t></text></comment>', None),
        (None, f'<comment ref="A{"9" * 30}" authorId="1"><text/></comment>', None),
        (None, '<comment ref="A2" authorId="many"><text/></comment>', None),
        ('<threadedComment ref="-"><text>x</text></threadedComment>', None, None),
        (None, b"no XML", None),
        (None, b'<!DOCTYPE x [<!ENTITY a "b">]><comments/>', None),
        (None, b'<comments xmlns="http://purl.oclc.org/ooxml/spreadsheetml/main"/>', None),
        (None, '<comment ref="A2" authorId="1">' + "<x>" * 200 + "</x>" * 200 + "</comment>", None),
        (None, None, f'<Relationship Id="n" Type="{_NOTE_TYPE}" Target="../comments7.xml"/>'),
        (None, None, "<odd"),
        (None, None, '<Relationship Id="n" Targets="../comments1.xml"/>'),
    ],
)
def test_odd_parts_are_one_fault_and_no_traceback(
    tmp_path: Path, threads: str | None, notes: str | bytes | None, links: str | None
) -> None:
    (fault,) = refused(with_parts(tmp_path / "a.xlsx", threads, notes, links))
    assert (fault.file, fault.sheet) == ("a.xlsx", "layers")


def test_odd_but_harmless_parts_are_read(tmp_path: Path) -> None:
    """An author that is not listed, a comment without text, one far from the records, a link to another place."""
    notes = (
        '<comment ref="A2" authorId="99"><text><t>who?</t></text></comment><comment ref="A3" authorId="1"/>'
        '<comment ref="XFD1048576"><text><r><t>in </t></r><r><t>runs</t></r></text></comment>'
    )
    told = check_package(with_parts(tmp_path / "a.xlsx", None, notes))
    assert [(w.row, w.column, w.message.split(". ")[0]) for w in told] == [
        (2, "object", "This cell has the comment “who?”"),
        (1048576, None, "This cell has the comment “in runs”"),
    ]
    assert told[1].message.endswith(" (column XFD)")
    elsewhere = f'<Relationship Id="n" Type="{_NOTE_TYPE}" Target="http://x/comments1.xml" TargetMode="External"/>'
    assert check_package(with_parts(tmp_path / "b.xlsx", None, None, elsewhere)) == []


def test_very_many_are_counted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("collection.ingest.package.workbook.remarks.MOST_COMMENTS", 2)
    monkeypatch.setattr("collection.ingest.package.workbook.book.MOST_STRUCK", 1)
    path = edited(
        tmp_path / "a.xlsx",
        **{f"layers_{place}": comment(f"at {place}") for place in ("A2", "B2", "C2", "D2")},
        layers_A3=struck,
        layers_D3=struck,
    )
    assert [(w.row, w.column, w.message.split(". ")[0]) for w in check_package(path)] == [
        (3, "object", "This cell is struck out, and was read like all others"),
        (None, None, "1 more rows and cells are struck out on this sheet."),
        (2, "object", "This cell has the comment “at A2”"),
        (2, "sample", "This cell has the comment “at B2”"),
        (None, None, "2 more comments stand on this sheet."),
    ]
