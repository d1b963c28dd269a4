"""A package put into the stage and judged there: every row read, then everything between the rows."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from collection.errors import Fault
from collection.ingest.crosscheck import CrossCheck
from collection.ingest.doubts import find_doubts
from collection.ingest.faults import Faults
from collection.ingest.opening import open_source
from collection.ingest.pictures import picture_faults
from collection.ingest.sheets import Sheet, Source, cell_limit
from collection.ingest.validate import RowReader
from collection.store.open import spoken
from collection.store.package_checks import Against, named_files
from collection.store.stage import Stage

LISTED_WARNINGS = 1_000


def check_package(package: Path | str) -> list[Fault]:
    """Every check that needs no database; what only a database could tell is among the warnings returned.

    :raises InputRefused: when the package has faults; it lists them.
    :raises WrongCommand: when there is no such package.
    """
    source = open_source(Path(package))
    db = sqlite3.connect("", isolation_level=None)
    try:
        with spoken(Path(package)), cell_limit():
            stage = Stage(db)
            faults = Faults(stage)
            unread = read_package(stage, source, faults)
            check_staged(stage, source, faults, Against.NOTHING, unread)
            return stage.listed_warnings(LISTED_WARNINGS)
    finally:
        db.close()


class _Hearer:
    """Turns what a row says beside its values into faults and cleared cells of its sheet."""

    def __init__(self, stage: Stage, faults: Faults, sheet: Sheet) -> None:
        self._stage, self._faults, self._sheet = stage, faults, sheet

    def fault(self, row: int, column: str | None, value: str | None, message: str, nearest: str | None) -> None:
        sheet = self._sheet
        self._faults.add(Fault(sheet.file, sheet.record.sheet, sheet.row_of(row, column), column, value, message,
                               nearest))

    def broken_off(self, error: str) -> None:
        self._faults.add(self._sheet.break_off(error))

    def cleared(self, row: int, column: str) -> None:
        self._stage.add_cleared(self._sheet.record.sheet, row, column)


def read_package(stage: Stage, source: Source, faults: Faults) -> frozenset[str]:
    """Every sheet into the stage; the sheets that could not be read, or not to their end, come back."""
    unread = source.find_sheets(faults)
    for sheet in source.sheets:
        reader = RowReader(sheet)
        hearer = _Hearer(stage, faults, sheet)
        with sheet.rows() as rows:
            stage.add_rows(sheet.record, reader.columns, reader.read(hearer, rows))
    return unread | {sheet.record.sheet for sheet in source.sheets if not sheet.complete}


def check_staged(stage: Stage, source: Source, faults: Faults, against: Against, unread: frozenset[str]) -> None:
    """Everything that is wrong between rows becomes a fault, everything doubtful a warning of the stage.

    :raises InputRefused: when the package has any fault.
    """
    doubts: list[tuple[Fault, int | None]] = list(CrossCheck(stage, source, faults, against, unread).run())
    named = files_named(stage, source)
    doubts += [(left, None) for left in source.settle(named, faults)]
    doubts += picture_faults(stage, source, faults)
    faults.refuse()
    stage.begin_warnings(doubts)
    stage.add_warnings(find_doubts(stage, {sheet.record.sheet: sheet for sheet in source.sheets}, against))


def files_named(stage: Stage, source: Source) -> frozenset[str]:
    """The files that a sheet of the package names."""
    return frozenset(name for sheet in source.sheets for _, _, name in named_files(stage, sheet.record))
