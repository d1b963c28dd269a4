"""Reads a survey that is still being filled in: every row of one object, with what cannot be read in it.

Where `try` lists all faults and stops, this goes on: it is used beside the object, between two swabs. `open_facts`
decides what a row stands for that cannot be read.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from collection.ingest.package.faults import Faults
from collection.ingest.package.folder import stamp_of
from collection.ingest.package.package_format import open_sheets
from collection.ingest.package.sheets import Refused, Sheet, cell_limit
from collection.ingest.validate import RowReader
from collection.language.errors import CouldNot, Fault, InputRefused
from collection.records.codes import fold
from collection.records.columns import Column
from collection.records.facts import FACT_SHEETS, row_values
from collection.records.sheets import BY_SHEET
from collection.store.base import database, read

READ = ("objects", *(sheet for sheet in FACT_SHEETS if sheet not in ("pictures", "advice", "claims")))
"""The sheets that are looked at: what was advised, asserted, proposed or pictured says nothing at the bench."""
WHOLE_ROW = "the row"
_DATABASE = b"SQLite format 3\x00"


@dataclass(frozen=True, slots=True)
class OpenRow:
    """One row as it stands there: what could be read of it, the columns that could not, and why.

    `cleared` are cells that say `not recorded`; `number` is the row that the person sees, None in a database.
    """

    sheet: str
    file: str
    number: int | None
    values: Mapping[str, Any]
    unread: frozenset[str] = frozenset()
    cleared: frozenset[str] = frozenset()
    faults: tuple[Fault, ...] = ()

    @property
    def key(self) -> tuple[Any, ...]:
        return tuple(self.values.get(name) for name in BY_SHEET[self.sheet].key)

    def spot(self) -> str:
        """`tests row 14 (dwell_s)`."""
        where = self.sheet.replace("_", " ") + (f" row {self.number}" if self.number is not None else "")
        named = sorted(self.unread - {WHOLE_ROW})
        return f"{where} ({', '.join(named)})" if named else where


@dataclass(frozen=True, slots=True)
class OpenSurvey:
    """Everything that a package says of one object. `sheet_faults` are those of no row: a heading that is not known,
    a sheet that breaks off; `objects` every object's code that any row names; `in_use` tells that a spreadsheet
    program holds the workbook open, so that what is not saved is not here."""

    name: str
    rows: tuple[OpenRow, ...]
    sheet_faults: tuple[Fault, ...] = ()
    objects: frozenset[str] = frozenset()
    in_use: bool = False


def read_open(path: Path, object_code: str) -> OpenSurvey:
    """What a workbook, folder or zip file says of one object, as it was last saved; or a database that is at hand.

    :raises WrongCommand: when there is nothing of the kind.
    :raises InputRefused: when it cannot be taken as a whole, or a sheet of it that may hold harm cannot be read.
    :raises CouldNot: when it cannot be read from the disk.
    """
    if _is_database(path):
        return _from_database(path, object_code)
    gathered = _Gathered()
    with open_sheets(path) as source, cell_limit():
        lost = set(source.find_sheets(gathered)) & set(READ)
        rows: list[OpenRow] = []
        objects: set[str] = set()
        for sheet in source.sheets:
            if sheet.record.sheet not in READ:
                continue
            doubtful = any(fault.sheet == sheet.record.sheet for fault in gathered.told)
            rows += _rows(sheet, object_code, objects, gathered, doubtful)
            if not sheet.complete:
                lost.add(sheet.record.sheet)
        of_none = [fault for fault in gathered.told if fault.sheet in READ]
        if lost:
            raise InputRefused([fault for fault in of_none if fault.sheet in lost])
        return OpenSurvey(source.name, tuple(rows), tuple(of_none), frozenset(objects), is_in_use(path))


def saved_stamp(path: Path) -> tuple[tuple[int, int, int], ...]:
    """What changes when a package is saved again."""
    inside = sorted(path.iterdir()) if path.is_dir() else [path]
    return tuple(stamp_of(each) for each in inside)


def is_in_use(path: Path) -> bool:
    """Whether a lock file of a spreadsheet program lies beside a workbook, or in a folder."""
    beside = path.iterdir() if path.is_dir() else path.parent.iterdir()
    names = {each.name for each in beside}
    own = [path.name] if path.is_file() else [name for name in names if name.lower().endswith((".csv", ".tsv"))]
    # A long name loses its first two signs in the lock file of one program; the other keeps all of it.
    return any(f".~lock.{name}#" in names or f"~${name}" in names or f"~${name[2:]}" in names for name in own)


class _Gathered(Faults):
    """Faults that are listened to one by one, and refuse nothing."""

    def __init__(self) -> None:
        self.count = 0
        self.told: list[Fault] = []

    def add(self, fault: Fault) -> None:
        self.count += 1
        self.told.append(fault)

    def refuse(self) -> None:
        return


@dataclass
class _Listener:
    """What one sheet's rows say beside their values, row by row."""

    sheet: Sheet
    gathered: _Gathered
    faults: dict[int, list[Fault]] = field(default_factory=dict)
    clear: dict[int, set[str]] = field(default_factory=dict)

    def fault(self, row: int, column: str | None, value: str | None, message: str, nearest: str | None) -> None:
        self.faults.setdefault(row, []).append(
            Fault(
                self.sheet.file,
                self.sheet.record.sheet,
                self.sheet.row_of(row, column),
                column,
                value,
                message,
                nearest,
            )
        )

    def meant(self, column: Column, object_code: str | None, written: str) -> str | None:
        return None

    def broken_off(self, error: str) -> None:
        self.gathered.add(self.sheet.break_off(error))

    def cleared(self, row: int, column: str) -> None:
        self.clear.setdefault(row, set()).add(column)


def _rows(sheet: Sheet, object_code: str, objects: set[str], gathered: _Gathered, doubtful: bool) -> Iterator[OpenRow]:
    """Every row that may be of the object; where a heading of the sheet is not understood, none of them is whole."""
    reader, record = RowReader(sheet), sheet.record
    known = set(record.model_fields)
    listener = _Listener(sheet, gathered)
    at = sheet.columns.index("object") if "object" in sheet.columns else None
    with sheet.rows() as lines:
        for *values, row in reader.read(listener, _of_object(lines, at, object_code, objects)):
            held = {
                name: value
                for name, value in zip(reader.columns, values, strict=True)
                if value is not None and name in known
            }
            written = held.get("object")
            if written not in (None, object_code):
                listener.fault(
                    row,
                    "object",
                    written,
                    f"This differs from {object_code!r} only in case, blanks, width "
                    "or leading zeros. Codes are compared as written.",
                    object_code,
                )
                del held["object"]
            faults = listener.faults.pop(row, [])
            if "object" not in held and not faults:
                continue
            unread = {fault.column or WHOLE_ROW for fault in faults} | ({WHOLE_ROW} if doubtful else set())
            yield OpenRow(
                record.sheet,
                sheet.file,
                sheet.row_of(row, None),
                held,
                frozenset(unread),
                frozenset(listener.clear.pop(row, ())),
                tuple(faults),
            )


def _of_object(
    lines: Iterable[tuple[int, list[str]]], at: int | None, object_code: str, objects: set[str]
) -> Iterator[tuple[int, list[str]]]:
    """The rows whose object is this one, is another writing of it, or cannot be told; `objects` takes every code."""
    folded = fold(object_code)
    for row, cells in lines:
        cell = cells[at] if at is not None and at < len(cells) else ""
        text = unicodedata.normalize("NFC", cell.strip())
        if text and not isinstance(cell, Refused):
            objects.add(text)
            if text != object_code and fold(text) != folded:
                continue
        yield row, cells


def _is_database(path: Path) -> bool:
    try:
        if not path.is_file():
            return False
        with open(path, "rb") as file:
            return file.read(len(_DATABASE)) == _DATABASE
    except OSError as error:
        raise CouldNot(f"{path.name} cannot be read: {error.strerror or error}.") from error


def _from_database(path: Path, object_code: str) -> OpenSurvey:
    with database.opened(path, write=False) as db:
        codes = frozenset(read.object_codes(db))
        if object_code not in codes:
            return OpenSurvey(path.name, (), objects=codes)
        facts = read.facts_rows(db, object_code)
    as_row = partial(OpenRow, file=path.name, number=None)
    rows = [as_row(sheet="objects", values=row_values(facts.object))]
    rows += [as_row(sheet=sheet, values=row_values(row)) for sheet in FACT_SHEETS for row in getattr(facts, sheet)]
    return OpenSurvey(path.name, tuple(rows), objects=codes)
