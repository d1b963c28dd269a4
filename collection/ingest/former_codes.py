"""Codes in a package that were renamed since: replaced by the codes of today, with a warning."""

from __future__ import annotations

from collections.abc import Iterator

from collection.ingest.package.faults import Faults
from collection.ingest.package.sheets import Source
from collection.language.errors import Fault
from collection.store.stage.stage import Stage
from collection.store.stage.stored_codes import Former, former_codes, put_under_stored_codes


class Renamed:
    """The renamed codes that a package uses; replaced before any check."""

    def __init__(self, stage: Stage, source: Source) -> None:
        self._stage, self._sheets = stage, {sheet.record.sheet: sheet for sheet in source.sheets}
        self._former = former_codes(stage)

    def put_right(self, faults: Faults) -> None:
        """Replaces every former code by the stored one; two rows that then have the same key are a fault."""
        for twice in put_under_stored_codes(self._stage):
            faults.add(
                self._fault(
                    twice.sheet,
                    twice.row,
                    twice.column,
                    twice.code,
                    f"This is another name of {twice.stored}, and the sheet has a row with the same key under "
                    "that code: they are one thing. Keep one of the two rows.",
                )
            )

    def doubts(self) -> Iterator[tuple[Fault, int | None]]:
        """A warning for each code that was renamed, with the code of today."""
        for each in self._former:
            yield self._fault(each.sheet, each.row, each.column, each.code, _told(each)), None

    def _fault(self, sheet: str, row: int, column: str, code: str, message: str) -> Fault:
        held = self._sheets[sheet]
        return Fault(held.file, sheet, held.row_of(row, column), column, code, message)


def _told(former: Former) -> str:
    return (
        f"This is called {former.now} now (renamed by {former.by}, {former.at[:10]}: {former.why}). What the "
        "package says of it is taken as said of that."
    )
