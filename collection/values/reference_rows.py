"""The rows of the reference tables' files; each knows its file and line."""

from __future__ import annotations

import csv
import io
from functools import lru_cache

from collection.language.errors import OurFault
from collection.values import resources

STATUSES = frozenset({"seen", "library", "derived", "memory"})
"""How far a value can be trusted; the README beside the tables says what each means."""

Triple = tuple[float, float, float]
"""Hansen parameters: dispersion, polar, hydrogen bonding, in MPa^½."""


class Row:
    """One row of a table, with its file and line, so that a fault can be found."""

    def __init__(self, table: str, line: int, cells: dict[str, str]) -> None:
        self._where, self._cells = f"{table}, line {line}", cells

    def fault(self, what: str) -> OurFault:
        return OurFault(f"The reference table {self._where}: {what}. Install firstcoat again.")

    def maybe(self, column: str) -> str | None:
        if column not in self._cells:
            raise self.fault(f"the column {column} is missing")
        return self._cells[column] or None

    def text(self, column: str) -> str:
        found = self.maybe(column)
        if found is None:
            raise self.fault(f"{column} is blank")
        return found

    def number(self, column: str) -> float | None:
        found = self.maybe(column)
        if found is None:
            return None
        try:
            return float(found)
        except ValueError:
            raise self.fault(f"{column} holds {found!r}, which is no number") from None

    def one_of(self, column: str, allowed: frozenset[str]) -> str:
        found = self.text(column)
        if found not in allowed:
            raise self.fault(f"{column} holds {found!r}, allowed are {', '.join(sorted(allowed))}")
        return found

    def status(self, column: str, *values: object) -> str | None:
        """The status word of a group: required where the group holds a value, absent where it holds none."""
        if all(value is None or value == () for value in values):
            if self.maybe(column) is not None:
                raise self.fault(f"{column} is filled, but the group holds no value")
            return None
        return self.one_of(column, STATUSES)

    def triple(self) -> Triple | None:
        d, p, h = self.number("hansen_d"), self.number("hansen_p"), self.number("hansen_h")
        if d is None and p is None and h is None:
            return None
        if d is None or p is None or h is None:
            raise self.fault("a Hansen triple is incomplete; a missing part is not 0")
        return d, p, h


@lru_cache(maxsize=16)
def content_of(name: str) -> bytes:
    """A table's bytes as they were installed."""
    return resources.schema_file(f"reference/{name}").read_bytes()


def rows(name: str) -> list[Row]:
    """The rows of a table. :raises OurFault: where it has none."""
    reader = csv.DictReader(io.StringIO(content_of(name).decode("utf-8"), newline=""), strict=True)
    found = [Row(name, reader.line_num, row) for row in reader]
    if not found:
        raise OurFault(f"The reference table {name} is empty. Install firstcoat again.")
    return found
