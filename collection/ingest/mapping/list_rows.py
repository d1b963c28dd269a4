"""Reads the list itself: one CSV file in a stated encoding, its headings and its rows."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from collection.ingest.mapping.mapping import SEPARATORS, Mapping, plain_heading
from collection.ingest.package.faults import broken, shortened
from collection.language.errors import Fault

LARGEST_LIST = 256 << 20
"""Bytes of a list that is read whole."""
_SPOKEN = {",": "a comma", ";": "a semicolon", "\t": "a tab", "|": "an upright stroke"}


@dataclass(frozen=True, slots=True)
class ListRow:
    """One row of a list: the row that the person sees, and its cells by heading, as written."""

    row: int
    cells: dict[str, str]


@dataclass
class ForeignList:
    """The headings of a list, each once, and its rows that are not blank."""

    name: str
    headings: tuple[str, ...] = ()
    rows: list[ListRow] = field(default_factory=list)
    blank_rows: int = 0
    doubts: list[Fault] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


def read_list(name: str, path: Path, mapping: Mapping) -> ForeignList:
    """The list, or the faults that keep it from being read; a repeated heading gets its number, `Date (2)`."""
    found = ForeignList(name)

    def fault(row: int | None, message: str, value: str | None = None) -> None:
        found.faults.append(Fault(name, "", row, None, value, message))

    if path.stat().st_size > LARGEST_LIST:
        fault(None, f"This list is over {LARGEST_LIST >> 20} MB. Hand it in as several lists.")
        return found
    data = path.read_bytes()
    if data[:4] == b"PK\x03\x04":
        fault(None, "This is a workbook or an archive under the name of a list. Save its sheet as CSV.")
        return found
    try:
        text = data.decode(mapping.encoding)
    except UnicodeError as error:
        at = getattr(error, "start", 0)
        fault(
            data[:at].count(b"\n") + 1 if at else None,
            f"This list is not written in {mapping.encoding}, as the "
            "mapping says: a character here cannot be read. State the encoding that it was saved in.",
        )
        return found
    if "\x00" in text:
        fault(
            text[: text.index("\x00")].count("\n") + 1,
            "This row holds a character NUL, so the list is damaged or in another encoding than the mapping says.",
        )
        return found
    if not data.isascii() and mapping.encoding not in ("utf-8-sig", "utf-16") and _is_utf8(data):
        found.doubts.append(
            Fault(
                name,
                "",
                None,
                None,
                None,
                f"Every character of this list can be read as UTF-8, and "
                f"the mapping says {mapping.encoding}: look whether its accents come out right.",
            )
        )
    try:
        _read(found, text.removeprefix("\ufeff"), mapping, fault)
    except csv.Error as error:
        fault(_rows_before(text, mapping) + 1, broken(str(error)))
    return found


def named_once(headings: Sequence[str]) -> tuple[str, ...]:
    """Headings trimmed and in Unicode NFC; blank and repeated ones told apart by their place and number."""
    found: list[str] = []
    for place, heading in enumerate(headings, 1):
        plain = plain_heading(heading) or f"column {place}"
        number, name = 1, plain
        while name in found:
            number += 1
            name = f"{plain} ({number})"
        found.append(name)
    return tuple(found)


def _read(
    found: ForeignList, text: str, mapping: Mapping, fault: Callable[[int | None, str, str | None], None]
) -> None:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mapping.separator, strict=True)
    for row, cells in enumerate(reader, 1):
        if row < mapping.headings_row:
            continue
        if row == mapping.headings_row:
            found.headings = named_once(cells)
            if len(cells) < 2 and (other := _other_separator(cells, mapping.separator)) is not None:
                fault(
                    row,
                    f"All headings are in one cell. The columns seem to be separated by {_SPOKEN[other]}, but "
                    f"the mapping says {_SPOKEN[mapping.separator]}.",
                    shortened(cells[0]),
                )
                return
            continue
        if not any(cell.strip() for cell in cells):
            found.blank_rows += 1
            continue
        width = len(found.headings)
        if len(cells) < width or any(cell.strip() for cell in cells[width:]):
            fault(
                row,
                f"This row has {len(cells)} cells and the headings are {width}, so it cannot be told which cell "
                "is which. A separator inside a cell needs quotation marks around the cell.",
                None,
            )
            continue
        found.rows.append(ListRow(row, dict(zip(found.headings, cells, strict=False))))
    if not found.headings:
        fault(mapping.headings_row, "The list has no headings in this row.", None)


def _rows_before(text: str, mapping: Mapping) -> int:
    rows = 0
    try:
        for _ in csv.reader(io.StringIO(text, newline=""), delimiter=mapping.separator, strict=True):
            rows += 1
    except csv.Error:
        pass
    return rows


def _other_separator(cells: Sequence[str], stated: str) -> str | None:
    return next((mark for mark in SEPARATORS if mark != stated and cells and mark in cells[0]), None)


def _is_utf8(data: bytes) -> bool:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True
