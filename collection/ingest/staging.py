"""Reads a package into the stage and checks it there: every row first, then everything between the rows."""

from __future__ import annotations

import re
from functools import lru_cache, partial

from collection.ingest.crosscheck import MOST_NEAREST, CrossCheck
from collection.ingest.kept_warnings import find_doubts
from collection.ingest.package.faults import Faults
from collection.ingest.package.headings import REPEATED
from collection.ingest.package.sheets import Sheet, Source
from collection.ingest.pictures.pictures import picture_faults
from collection.ingest.validate import RowReader
from collection.language.errors import Fault
from collection.records.columns import Column
from collection.records.sheets import Survey
from collection.store.stage.checks import Against, codes_as_number, named_files
from collection.store.stage.stage import Stage

LISTED_WARNINGS = 10_000
_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")


class _Hearer:
    """Turns what reading a row reports into faults and cleared cells of its sheet."""

    def __init__(self, stage: Stage, faults: Faults, sheet: Sheet, against: Against) -> None:
        self._stage, self._faults, self._sheet = stage, faults, sheet
        self._meant = lru_cache(maxsize=MOST_NEAREST)(partial(codes_as_number, stage, against))
        self._looked_up = 0

    def fault(self, row: int, column: str | None, value: str | None, message: str, nearest: str | None) -> None:
        sheet = self._sheet
        self._faults.add(
            Fault(sheet.file, sheet.record.sheet, sheet.row_of(row, column), column, value, message, nearest)
        )

    def meant(self, column: Column, object_code: str | None, written: str) -> str | None:
        if _NUMBER.fullmatch(written) is None:
            return None
        self._looked_up += 1
        if column.kind == "list" and column.reference is None:
            return None
        target = "schemes" if column.kind == "coat" else column.reference or self._sheet.record.sheet
        if self._looked_up > MOST_NEAREST or (object_code is None and target != "objects"):
            return None
        codes = self._meant(target, object_code or "", str(written))
        return codes[0] if len(codes) == 1 else None

    def broken_off(self, error: str) -> None:
        self._faults.add(self._sheet.break_off(error))

    def cleared(self, row: int, column: str) -> None:
        self._stage.add_cleared(self._sheet.record.sheet, row, column)


def read_package(stage: Stage, source: Source, faults: Faults, against: Against = Against.NOTHING) -> frozenset[str]:
    """Read every sheet into the stage; returns the sheets that could not be read to their end."""
    unread = source.find_sheets(faults)
    for sheet in source.sheets:
        reader = RowReader(sheet)
        hearer = _Hearer(stage, faults, sheet, against)
        with sheet.rows() as rows:
            held = stage.add_rows(sheet.record, reader.columns, reader.read(hearer, rows))
        if sheet.record is Survey and not held:
            _say_blank(sheet, faults)
        for row in stage.take_headings(sheet.record) if sheet.record is not Survey else ():
            hearer.fault(row, None, sheet.record.key[0], REPEATED, None)
    return unread | {sheet.record.sheet for sheet in source.sheets if not sheet.complete}


def _say_blank(sheet: Sheet, faults: Faults) -> None:
    """Report a survey sheet with nothing in it, which no other check would notice."""
    for column in Survey.columns():
        if column.required and column.name in sheet.columns:
            faults.add(
                Fault(
                    sheet.file,
                    "survey",
                    sheet.row_of(1, column.name),
                    column.name,
                    None,
                    f"This cell is blank, and every survey needs it ({column.meaning}).",
                )
            )


def check_staged(stage: Stage, source: Source, faults: Faults, against: Against, unread: frozenset[str]) -> None:
    """Find everything wrong between rows as faults, and everything doubtful as warnings.

    :raises InputRefused: when the package has any fault.
    """
    doubts: list[tuple[Fault, int | None]] = list(CrossCheck(stage, source, faults, against, unread).run())
    named = files_named(stage, source)
    doubts += source.settle(named, faults)
    doubts += picture_faults(stage, source, faults)
    faults.refuse()
    stage.begin_warnings(doubts)
    stage.add_warnings(find_doubts(stage, {sheet.record.sheet: sheet for sheet in source.sheets}, against))


def files_named(stage: Stage, source: Source) -> frozenset[str]:
    """The files that a sheet of the package names."""
    return frozenset(name for sheet in source.sheets for _, _, name in named_files(stage, sheet.record))
