"""How a workbook's rows are read: cells as other readers see them, odd but sound sheets, and the bounds of a sheet."""

from __future__ import annotations

import contextlib
import re
import zipfile
from pathlib import Path
from types import ModuleType
from typing import Any

import made_workbooks as made
import openpyxl
import pytest
import python_calamine
import xlsxwriter
from checked import check_package
from hypothesis import given
from hypothesis import strategies as st

from collection.ingest.package import package_format
from collection.ingest.package.workbook import book as workbook_book
from collection.ingest.package.workbook import checked_parts, sheets
from collection.ingest.package.workbook.book import Seen, open_book
from collection.ingest.package.workbook.cells import cell_text
from collection.ingest.package.workbook.checked_parts import Broken
from collection.language.errors import Fault, InputRefused, OurFault
from collection.records.sheets import BY_SHEET

X = BY_SHEET["samples"].column("x")
NUMBERS = st.floats(allow_nan=False, allow_infinity=False, min_value=-1e12, max_value=1e12) | st.integers(
    -(10**9), 10**9
)
TEXTS = st.text(st.characters(exclude_categories=("Cs", "Cc", "Cn")), max_size=12) | st.sampled_from(
    ("_x000D_", "a\nb", " a ", "&amp;", "<v>", "]]>", "</row>", "007", "2,5")
)
TABLES = st.lists(st.lists(st.none() | NUMBERS | TEXTS, max_size=30), max_size=8)


def write_xlsxwriter(path: Path, table: list[list[Any]]) -> None:
    with xlsxwriter.Workbook(str(path)) as book:
        page = book.add_worksheet("objects")
        for at, row in enumerate(table):
            for place, value in enumerate(row):
                if isinstance(value, str):
                    page.write_string(at, place, value)
                elif value is not None:
                    page.write_number(at, place, value)


def write_openpyxl(path: Path, table: list[list[Any]]) -> None:
    book = openpyxl.Workbook()
    page = book.active
    page.title = "objects"
    for at, row in enumerate(table, 1):
        for place, value in enumerate(row, 1):
            if value is not None:
                cell = page.cell(at, place, value)
                if isinstance(value, str):
                    cell.data_type = "s"
    book.save(path)


def cells(path: Path, sheet: int = 0) -> dict[tuple[int, int], Any]:
    """Everything that stands in a sheet: texts, and numbers as floats, by row and column from 0."""
    book = open_book(path)
    return {
        (number - 1, cell["column"] - 1): (
            float(cell["value"]) if cell["data_type"] == "n" else cell_text(book, None, cell)
        )
        for number, row in book.rows(book.sheets[sheet], Seen())
        for cell in row
        if cell["value"] != ""
    }


@pytest.mark.parametrize("write", [write_xlsxwriter, write_openpyxl])
@given(table=TABLES)
def test_cells_are_read_as_calamine_reads_them(
    write: Any, tmp_path_factory: pytest.TempPathFactory, table: list[list[Any]]
) -> None:
    """Of workbooks by two writers every cell is what python-calamine finds, and what was written."""
    path = tmp_path_factory.mktemp("b") / "b.xlsx"
    write(path, table)
    found = cells(path)
    sheet = python_calamine.CalamineWorkbook.from_path(path).get_sheet_by_index(0)
    first_row, first_column = sheet.start or (0, 0)
    other = {
        (at + first_row, place + first_column): value
        for at, row in enumerate(sheet.to_python())
        for place, value in enumerate(row)
        if value != ""
    }
    assert found == other
    for (at, place), value in found.items():
        written = table[at][place]
        if write is write_openpyxl and isinstance(written, str) and "_x" in written:
            continue  # openpyxl writes what looks like an escape as it stands, and so it is one.
        assert value == (written if isinstance(written, str) else pytest.approx(written, rel=1e-15))


SOUND = (
    made.inline_row(1, ["object", "title", "kind"])
    + '<row r="2"><c r="A2" t="s"><v>0</v></c><c r="B2" t="s"><v>1</v></c><c r="C2"><v>7</v></c></row>'
    + '<row r="3" spans="1:3" hidden="1"><c r="A3" t="s"><v>1</v></c><c r="B3" s="1"/></row>'
    + '<row r="4"/><row r="5"><c r="A5"><f>1+1</f><v>2</v></c><c r="C5"><v>3</v></c></row>'
)
SLIPS = st.text(st.sampled_from('<>/"= rcvfst012AB&;'), max_size=4) | st.sampled_from(
    [
        "<!--",
        "-->",
        "<![CDATA[",
        "]]>",
        "<?x ",
        "?>",
        "</row>",
        '<row r="4">',
        "</sheetData>",
        "<sheetData>",
        "<x>",
        "</x>",
        '<row r="6"><c r="A6"><v>6</v></c></row>',
        '<row r="7" hidden="false"><c r="B7" t="n"><v>7</v></c></row>',
    ]
)


@given(st.lists(st.tuples(st.integers(0, len(SOUND)), st.integers(0, 6), SLIPS), min_size=1, max_size=4))
def test_a_spoiled_sheet_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, slips: list[tuple[int, int, str]]
) -> None:
    """Whatever the library makes of such a sheet, nothing is raised but the refusal."""
    data = SOUND
    for place, gone, put in slips:
        data = data[:place] + put + data[place + gone :]
    path = made.by_hand(
        tmp_path_factory.mktemp("b") / "b.xlsx",
        {"objects": data},
        formats=["0"],
        texts="<si><t>T1</t></si><si><t>tram</t></si>",
    )
    with contextlib.suppress(Broken):
        cells(path, 1)


PLAIN = '<row r="9"><c r="A9"><v>1</v></c></row>'
HEADED = made.inline_row(1, ["object", "title", "kind"])
NO_ROWS = {
    "in a comment": made.worksheet(f"{HEADED}<!-- </row>{PLAIN} -->"),
    "in a text as it stands": made.worksheet(
        f'{HEADED}<row r="2"><c r="D2" t="inlineStr"><is><t><![CDATA[</row>{PLAIN}]]></t></is></c></row>'
    ),
    "in an instruction": made.worksheet(f"{HEADED}<?x </row>{PLAIN} ?>"),
    "in an instruction before the rows": made.worksheet(HEADED).replace(
        "<sheetData>", f"<?x <sheetData>{PLAIN}?><sheetData>"
    ),
}


@pytest.mark.parametrize("sheet", NO_ROWS.values(), ids=NO_ROWS)
def test_what_looks_like_a_row_and_is_none_is_not_read(tmp_path: Path, sheet: str) -> None:
    """A row in a comment, in a text or in an instruction is no row."""
    path = made.by_hand(tmp_path / "b.xlsx", {"objects": ""}, parts={"xl/worksheets/sheet2.xml": sheet})
    found = {place: text for place, text in cells(path, 1).items() if place[1] < 3}
    assert found == {(0, 0): "object", (0, 1): "title", (0, 2): "kind"}


def test_much_text_beside_the_cells_is_no_long_cell(tmp_path: Path) -> None:
    """Headers, rules for input, and the blanks between rows that somebody's program sets in, count for no cell."""
    rows = made.inline_row(2, ["T1", "Tram", "tram"])
    header = f"<headerFooter><oddHeader>{'x' * 200_000}</oddHeader></headerFooter>"
    blank = "".join(f'\n{" " * 30}<row r="{at}"/>' for at in range(3, 8_000))
    for sheet in (
        made.worksheet(HEADED + rows, header),
        made.worksheet(HEADED + rows + blank + made.inline_row(9_000, ["T2", "Bus", "bus"])),
    ):
        assert (
            check_package(made.by_hand(tmp_path / "b.xlsx", {"objects": ""}, parts={"xl/worksheets/sheet2.xml": sheet}))
            == []
        )


def test_hidden_rows_are_those_that_say_so(tmp_path: Path) -> None:
    """A spreadsheet program may write on every row that it is not hidden."""
    row = '<row r="{0}" customFormat="false" hidden="{1}" outlineLevel="0"><c r="A{0}" t="n"><v>7</v></c></row>'
    said = ["false", "0", "1", "true", "false"]
    path = made.by_hand(
        tmp_path / "b.xlsx", {"objects": "".join(row.format(at, hidden) for at, hidden in enumerate(said, 1))}
    )
    book, seen = open_book(path), Seen()
    assert len(list(book.rows(book.sheets[1], seen))) == 5
    assert seen.hidden_rows == [3, 4]


def test_texts_are_those_that_were_typed(tmp_path: Path) -> None:
    """What XML cannot hold is written `_x000D_`, and `_x005F_` stands for a low line before such (22.9.2.19); how a
    text is said aloud is no part of it (18.4.6)."""
    texts = (
        "<si><t>a_x000D_b</t></si><si><t>a_x005F_x000D_b</t></si>"
        "<si><r><t>red</t></r><r><rPr><b/></rPr><t> lead</t></r><rPh sb='0' eb='1'><t>aloud</t></rPh></si>"
    )
    row = "".join(f'<c t="s"><v>{at}</v></c>' for at in range(3)) + '<c t="inlineStr"><is><t>c_x000D_d</t></is></c>'
    path = made.by_hand(tmp_path / "b.xlsx", {"objects": f"<row>{row}</row>"}, texts=texts)
    assert list(cells(path, 1).values()) == ["a\rb", "a_x000D_b", "red lead", "c\rd"]


def test_fonts_and_colours_that_nobody_knows_do_no_harm(tmp_path: Path) -> None:
    """Some programs write colours and fonts that openpyxl refuses; of a cell's style only the number's format counts."""
    path = made.by_hand(tmp_path / "b.xlsx", {"objects": HEADED + made.inline_row(2, ["T1", "Tram", "tram"])})
    with zipfile.ZipFile(path) as archive:
        styles = archive.read("xl/styles.xml").decode()
    odd = styles.replace("<cellXfs>", '<fonts><font><color rgb="reddish"/></font></fonts><cellXfs>')
    made.by_hand(path, {"objects": HEADED + made.inline_row(2, ["T1", "Tram", "tram"])}, parts={"xl/styles.xml": odd})
    with pytest.raises(ValueError, match="could not read stylesheet"):
        openpyxl.load_workbook(path)
    assert check_package(path) == []


def test_a_million_cells_are_the_most(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Cells of all sheets count together, and blank ones that only have a format; beyond, CSV is the way."""
    cells_without_text = '<c s="0"/>' * 100
    blank = "".join(f'<row r="{at}">{cells_without_text}</row>' for at in range(3, 103))
    path = made.by_hand(
        tmp_path / "b.xlsx", {"objects": HEADED + made.inline_row(2, ["T1", "Tram", "tram"]) + blank, "Notes": blank}
    )
    monkeypatch.setattr(workbook_book, "MOST_CELLS", 20_000)
    faults = refused(path)
    assert any("folder of CSV files" in fault.message for fault in faults)
    monkeypatch.setattr(workbook_book, "MOST_CELLS", 20_100)
    assert check_package(path) == []


def test_the_strict_kind_of_workbook_is_told_how_to_save(tmp_path: Path) -> None:
    """A spreadsheet program may save with the names of the standard's strict part (Part 1), which openpyxl reads as
    blank sheets."""
    path = made.by_hand(tmp_path / "b.xlsx", {"objects": HEADED + made.inline_row(2, ["T1", "Tram", "tram"])})
    strict = tmp_path / "strict.xlsx"
    with zipfile.ZipFile(path) as archive, zipfile.ZipFile(strict, "w") as made_strict:
        for name in archive.namelist():
            text = archive.read(name).replace(
                b"http://schemas.openxmlformats.org/spreadsheetml/2006/main",
                b"http://purl.oclc.org/ooxml/spreadsheetml/main",
            )
            made_strict.writestr(name, text)
    (fault,) = refused(strict)
    assert "Strict Open XML" in fault.message
    assert "Save it as an ordinary .xlsx" in fault.message


OURS = {
    "the listing": (package_format, "content_types"),
    "the check of a part": (checked_parts, "_check"),
    "the formats": (workbook_book, "shown"),
    "the rows": (workbook_book, "_filled"),
    "the cells": (sheets, "cell_text"),
}


@pytest.mark.parametrize(("module", "name"), OURS.values(), ids=OURS)
@pytest.mark.parametrize("error", [ValueError, RuntimeError, NotImplementedError, EOFError])
def test_an_error_of_ours_is_not_told_as_damage(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, module: ModuleType, name: str, error: type[Exception]
) -> None:
    """Only what the library and the zip file below it say is damage; anything else comes out as what it is."""

    def fails(*_: object) -> None:
        raise error("ours")

    path = made.by_hand(tmp_path / "b.xlsx", {"objects": HEADED}, formats=["0"])
    monkeypatch.setattr(module, name, fails)
    with pytest.raises(error, match="ours"):
        check_package(path)


def test_no_part_is_opened_unchecked(tmp_path: Path) -> None:
    """Whoever forgets the check of a part is told at once."""
    path = made.by_hand(tmp_path / "b.xlsx", {})
    with checked_parts.CheckedParts(path, set()) as parts:
        parts.check("xl/workbook.xml", whole=True)
        assert parts.read("xl/workbook.xml")
        with pytest.raises(OurFault, match="before it was checked"):
            parts.read("xl/styles.xml")


@pytest.mark.slow
def test_a_million_rows_without_a_cell_are_passed_over(tmp_path: Path) -> None:
    """A height set for the whole sheet leaves a row for each, and more of them than are held at a time."""
    blank = "".join(f'<row r="{at}" spans="1:3" ht="15" customHeight="1"/>' for at in range(2, 1_000_000))
    data = made.inline_row(1, ["object", "title", "kind"]) + blank + made.inline_row(1_000_000, ["T1", "Tram", ""])
    (fault,) = refused(made.by_hand(tmp_path / "b.xlsx", {"objects": data}))
    assert (fault.row, fault.column) == (1_000_000, "kind")


def refused(path: Path) -> list[Fault]:
    with pytest.raises(InputRefused) as caught:
        check_package(path)
    return caught.value.faults


def test_prefixes_other_encodings_and_missing_places_are_read(tmp_path: Path) -> None:
    """Other programs write prefixes, UTF-16, or cells and rows without their place; all of it is the standard's."""
    inside = (
        '<row><c t="inlineStr"><is><t>a</t></is></c><c><v>2.5</v></c></row>'
        '<row><c/><c t="d"><v>2019-05-12</v></c></row>'
    )
    plain = made.worksheet(inside)
    prefixed = re.sub(r"<(/?)(?!\?)", r"<\1x:", plain).replace("xmlns=", "xmlns:x=")
    expected = {(0, 0): "a", (0, 1): 2.5, (1, 1): "2019-05-12"}
    for text in (
        plain.encode(),
        prefixed.encode(),
        plain.replace("UTF-8", "UTF-16").encode("utf-16"),
        b"\xef\xbb\xbf" + plain.encode(),
    ):
        path = made.by_hand(tmp_path / "b.xlsx", {"objects": ""}, parts={"xl/worksheets/sheet2.xml": text})
        assert cells(path, 1) == expected


def test_numbers_are_kept_to_the_last_digit(tmp_path: Path) -> None:
    """All digits of a double come back, however they are written."""
    numbers = [0.1 + 0.2, 1 / 3, 1e-9, 123456789.12345679, -0.0, 5e-324, 1e9, 1e300]
    written = "".join(f"<c><v>{number!r}</v></c>" for number in numbers)
    book = open_book(made.by_hand(tmp_path / "b.xlsx", {"objects": f"<row>{written}</row>"}))
    ((_, row),) = book.rows(book.sheets[1], Seen())
    assert [float(cell_text(book, X, cell)) for cell in row] == numbers
