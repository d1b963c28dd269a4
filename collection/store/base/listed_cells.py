"""The cells of lists from elsewhere that no column took whole: kept privately with their object, read here.

Each survey's newest content under a heading holds; what it said before stands behind it. A cell whose words went into a
record in another form is kept as well, as it was written.
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, field, replace
from itertools import groupby
from typing import Any

from collection.language.phrases import BETWEEN, indexed
from collection.store.base import names
from collection.store.base.chain import MADE_AT

LISTED = "unmapped_cells"
"""The table, which stands for a sheet where such a cell answers a search."""


@dataclass(frozen=True)
class ListedCell:
    """One cell: which list and survey brought it, in which row, on which day and by which change; `row` is None for
    cells that were kept before rows were. `in_account` is False where the survey was withdrawn; `earlier` has what the
    same survey said before, newest first."""

    heading: str
    text: str
    list: str | None
    row: int | None
    on: str
    survey: str
    change: int
    in_account: bool = True
    earlier: tuple[ListedCell, ...] = field(default=())

    @property
    def where(self) -> str:
        """`list.csv, row 14, 2026-11-28`."""
        return ", ".join(part for part in (self.list, self.row and f"row {self.row}", self.on) if part)

    def as_json(self) -> dict[str, Any]:
        return {
            "heading": self.heading,
            "text": self.text,
            "list": self.list,
            "row": self.row,
            "on": self.on,
            "survey": self.survey,
            "change": self.change,
            "in_account": self.in_account,
            "earlier": [each.as_json() for each in self.earlier],
        }


def listed_cells(db: sqlite3.Connection, object_code: str, *, withdrawn: bool = False) -> list[ListedCell]:
    """The cells kept with an object under each of its numbers, newest first, then by row of the list; with `withdrawn`
    those of withdrawn surveys too."""
    found = []
    kept = [cell for cell in contents(db, object_code) if cell.in_account or withdrawn]
    every = sorted(kept, key=lambda cell: (cell.survey, cell.heading, -cell.change))
    for _, some in groupby(every, key=lambda cell: (cell.survey, cell.heading)):
        newest, *earlier = some
        found.append(replace(newest, earlier=tuple(earlier)))
    return sorted(found, key=lambda cell: (-cell.change, cell.row or 0, cell.heading))


def contents(db: sqlite3.Connection, object_code: str) -> list[ListedCell]:
    """Every content that was ever kept with an object, each by itself, oldest first."""
    known = names.load(db)
    return [
        ListedCell(heading, text, file, row, on, survey, change, bool(counts))
        for code in ((object_code,) if known is None else known.objects(object_code))
        for heading, text, file, row, on, survey, change, counts in db.execute(
            f"SELECT u.heading, u.value, p.name, u.list_row, substr({MADE_AT}, 1, 10), c.subject, u.change, "
            "y.withdrawn IS NULL "
            "FROM unmapped_cells AS u JOIN changes AS c ON c.number = u.change "
            "LEFT JOIN packages AS p ON p.sha256 = c.package_sha256 LEFT JOIN surveys AS y ON y.code = c.subject "
            "WHERE u.sheet = 'objects' AND u.\"key\" = ? ORDER BY u.change, u.list_row, u.heading",
            (code,),
        )
    ]


def words_of_cells(db: sqlite3.Connection, object_code: str) -> str:
    """The newest contents as the full-text index has them; empty where nothing is kept."""
    return f" {BETWEEN} ".join(indexed(cell.text.replace(BETWEEN, " ")) for cell in listed_cells(db, object_code))
