"""Rows of further sheets on their way from the list: what one row says, and the codes that an object's rows get."""

from __future__ import annotations

from dataclasses import dataclass

from collection.ingest.mapping.cells import Taken
from collection.ingest.mapping.list_file.list_rows import ListRow
from collection.ingest.mapping.mapping import RowsFrom, is_ordered
from collection.ingest.mapping.values import Outcome
from collection.records.sheets import Record

Values = dict[str, str]


@dataclass(frozen=True, slots=True)
class MadeRow:
    """One row of a sheet, and the row of the list that it comes from."""

    list_row: int
    values: Values


@dataclass
class Found:
    """One row of a sheet that a row of the list, or a piece of its cell, may make; `lacks` names a column that it needs
    and that nothing is said of."""

    block: RowsFrom
    record: type[Record]
    numbered: str | None
    row: ListRow
    piece: Taken
    outcomes: dict[str, Outcome]
    values: Values
    lacks: str | None

    @property
    def key(self) -> tuple[str, ...]:
        return tuple(self.values.get(part, "") for part in self.record.key)

    @property
    def series(self) -> tuple[str, ...]:
        """The sample or the work whose coats or steps stand in order; () where a sheet has no order.

        A series comes in whole or not at all: without the coat that nobody could translate, those beside it would lie
        on each other, and a support with nothing over it would be bare.
        """
        return (self.record.sheet, *self.key[:-1]) if is_ordered(self.record) else ()

    def breaks(self) -> bool:
        """Whether something stands here of a series, and more than what the series is, that makes no row."""
        return (
            bool(self.series)
            and self.lacks is not None
            and (
                bool(self.piece.text)
                or any(
                    self.row.cells[heading].strip()
                    for name, recipe in self.block.columns.items()
                    if name not in self.record.key[:-1]
                    for heading in recipe.headings
                )
            )
        )

    def stands(self) -> object:
        """Where it stands among others that say the same. A second varnish over the colour is a coat of its own, and
        so is a second wash a step; only a cell that the list repeats says nothing new. What has a code has no order."""
        if not is_ordered(self.record):
            return None
        return self.row.row if self.block.each is None else (self.row.cells[self.block.each], self.piece.at)


class Made:
    """The rows of one sheet that one object has got so far."""

    def __init__(self) -> None:
        self.by_key: dict[tuple[str, ...], Values] = {}
        self._by_rest: dict[tuple[str, frozenset[tuple[str, str]], object], str] = {}
        self._given: dict[str, int] = {}

    def number(self, name: str, before: str, rest: Values, stands: object) -> str:
        """The code of the row that says just this and stands there, or the next that is free."""
        same = (before, frozenset(rest.items()), stands)
        if same not in self._by_rest:
            taken = {found.get(name) for found in self.by_key.values()} if before not in self._given else set()
            number = self._given.get(before, 0) + 1
            while f"{before}{number}" in taken:
                number += 1
            self._given[before] = number
            self._by_rest[same] = f"{before}{number}"
        return self._by_rest[same]
