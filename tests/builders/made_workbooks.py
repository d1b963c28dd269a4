"""Workbooks made for tests: folders of CSV sheets written out by XlsxWriter, and odd ones by hand."""

from __future__ import annotations

import csv
import datetime
import re
import tomllib
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import xlsxwriter

from collection.records.sheets import BY_SHEET

Rows = Sequence[Sequence[Any]]
_DAY = re.compile(r"\d{4}-\d\d-\d\d")
SURVEY = (
    ("key", "value"),
    ("code", "harbour-1"),
    ("title", "Harbour survey"),
    ("lead", "Ada Penrose"),
    ("started", "2019-05"),
)


def read_folder(folder: Path) -> dict[str, list[list[str]]]:
    """The sheets of a folder as rows of text, the survey as rows of key and value."""
    sheets = {}
    for path in sorted(folder.glob("*.csv")):
        with open(path, encoding="utf-8-sig", newline="") as file:
            sheets[path.stem] = list(csv.reader(file))
    held = tomllib.loads((folder / "survey.toml").read_text(encoding="utf-8"))
    sheets["survey"] = [["key", "value"], *([key, str(value)] for key, value in held.items())]
    return sheets


def from_folder(
    folder: Path, path: Path, *, real_dates: bool = False, base_1904: bool = False, decimal_commas: bool = False
) -> Path:
    """The sheets of a folder as a workbook: texts as text, numbers as numbers, whole dates as text or as dates.

    With `decimal_commas` every number is a text with a comma, but for those with three digits behind it. Days
    before 1904 stay texts, because no date cell can hold them in both systems.
    """
    with xlsxwriter.Workbook(str(path), {"date_1904": base_1904}) as book:
        day = book.add_format({"num_format": "dd/mm/yyyy"})
        for sheet, rows in read_folder(folder).items():
            page = book.add_worksheet(sheet)
            page.write_row(0, 0, rows[0])
            known = {column.name: column for column in BY_SHEET[sheet].columns()}
            for at, row in enumerate(rows[1:], 1):
                for place, (heading, cell) in enumerate(zip(rows[0], row, strict=True)):
                    column = known[heading if sheet != "survey" else row[0]]
                    if heading == "key" or not cell:
                        page.write_string(at, place, cell)
                    elif column.is_number and decimal_commas and not re.search(r"\.\d{3}$", cell):
                        page.write_string(at, place, cell.replace(".", ","))
                    elif column.is_number:
                        page.write_number(at, place, float(cell))
                    elif real_dates and column.kind == "date" and _DAY.fullmatch(cell) and cell > "1904":
                        page.write_datetime(at, place, datetime.date.fromisoformat(cell), day)
                    else:
                        page.write_string(at, place, cell)
    return path


def written(path: Path, sheets: Mapping[str, Rows], survey: Rows = SURVEY) -> Path:
    """A workbook of these rows as XlsxWriter writes Python's values; texts stay texts."""
    options = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with xlsxwriter.Workbook(str(path), options) as book:
        for name, rows in {"survey": survey, **sheets}.items():
            page = book.add_worksheet(name)
            for at, row in enumerate(rows):
                page.write_row(at, 0, row)
    return path


_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
CONTENT_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"


def by_hand(
    path: Path,
    sheets: Mapping[str, str],
    *,
    texts: str = "",
    formats: Sequence[str] = (),
    properties: str = "",
    parts: Mapping[str, str | bytes] | None = None,
) -> Path:
    """A workbook of hand-written XML: `sheets` are what stands in `sheetData`, or whole parts beginning with `<?xml`.

    `texts` are the `si` elements, `formats` the codes of cell styles 1, 2 … `parts` replaces or adds entries.
    """
    names = {"survey": survey_data(), **sheets}
    files: dict[str, str | bytes] = {
        "[Content_Types].xml": content_types(CONTENT_TYPE),
        "_rels/.rels": _relations([("rId1", "officeDocument", "xl/workbook.xml")]),
        "xl/workbook.xml": f'<workbook xmlns="{_MAIN}" xmlns:r="{_RELATIONS}"><workbookPr {properties}/><sheets>'
        + "".join(f'<sheet name="{name}" sheetId="{at}" r:id="rId{at}"/>' for at, name in enumerate(names, 1))
        + "</sheets></workbook>",
        "xl/_rels/workbook.xml.rels": _relations(
            [
                *((f"rId{at}", "worksheet", f"worksheets/sheet{at}.xml") for at in range(1, len(names) + 1)),
                ("rId900", "styles", "styles.xml"),
                ("rId901", "sharedStrings", "sharedStrings.xml"),
            ]
        ),
        "xl/styles.xml": f'<styleSheet xmlns="{_MAIN}"><numFmts>'
        + "".join(f'<numFmt numFmtId="{164 + at}" formatCode="{code}"/>' for at, code in enumerate(formats))
        + '</numFmts><cellXfs><xf numFmtId="0"/>'
        + "".join(f'<xf numFmtId="{164 + at}"/>' for at in range(len(formats)))
        + "</cellXfs></styleSheet>",
        "xl/sharedStrings.xml": f'<sst xmlns="{_MAIN}">{texts}</sst>',
    }
    for at, data in enumerate(names.values(), 1):
        files[f"xl/worksheets/sheet{at}.xml"] = data if data.startswith("<?xml") else worksheet(data)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in {**files, **(parts or {})}.items():
            archive.writestr(name, content)
    return path


def content_types(main: str) -> str:
    return (
        '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
        '<Default Extension="xml" ContentType="application/xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{main}"/></Types>'
    )


def worksheet(data: str, behind: str = "") -> str:
    return (
        f'<?xml version="1.0" encoding="UTF-8"?><worksheet xmlns="{_MAIN}"><sheetData>{data}</sheetData>{behind}'
        "</worksheet>"
    )


def survey_data() -> str:
    return "".join(inline_row(at, row) for at, row in enumerate(SURVEY, 1))


def inline_row(number: int, cells: Sequence[str]) -> str:
    """A row of inline strings; a cell that begins with `<` stands as it is."""
    inside = "".join(
        cell if cell.startswith("<") else f'<c r="{chr(65 + at)}{number}" t="inlineStr"><is><t>{cell}</t></is></c>'
        for at, cell in enumerate(cells)
        if cell
    )
    return f'<row r="{number}">{inside}</row>'


def _relations(links: Sequence[tuple[str, str, str]]) -> str:
    return (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        + "".join(
            f'<Relationship Id="{name}" Type="{_RELATIONS}/{kind}" Target="{target}"/>' for name, kind, target in links
        )
        + "</Relationships>"
    )
