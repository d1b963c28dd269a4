"""The stage: a temporary database beside the real one, where a package is put together and checked as a whole before
any of it is stored.

SQLite keeps it in a file of its own that nobody else sees and that is gone when the connection closes. A staged table
has the sheet's name, the columns that the package gives, the bounds of its dates, and `row`.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

from collection.language.errors import Fault
from collection.records.sheets import SHEETS, Record
from collection.store.schema.tables import blank_of, fills_blank

Row = tuple[Any, ...]


class Stage:
    """The staged tables of one package, on a connection to the database they are compared with, if any."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self.db = db
        self.columns: dict[str, tuple[str, ...]] = {}
        """For each staged sheet the columns that the package gives, with the bounds of dates."""
        self.counts: dict[str, int] = {}
        self.doubled: set[str] = set()
        """Sheets that repeat a key, and so have no unique index."""
        self.listed = False
        """Whether the rows come from a mapped list; then `list_rows` has the row of the list for each."""
        db.execute("ATTACH DATABASE '' AS stage")
        db.execute("PRAGMA stage.page_size = 8192")
        # New pages need no journal, so this costs next to nothing; without one a repeated key, which stops the
        # making of an index, would leave the stage in pieces.
        db.execute("PRAGMA stage.journal_mode = MEMORY")
        db.execute("PRAGMA stage.cache_size = -16384")
        # Sorting may use as much memory as the cache of `main`, which has nothing to do until the merge.
        self._cache = db.execute("PRAGMA main.cache_size").fetchone()[0]
        db.execute("PRAGMA main.cache_size = -2048")
        db.execute(
            "CREATE TABLE stage.faults (file TEXT, sheet TEXT, row INTEGER, col TEXT, value TEXT, "
            "message TEXT, nearest TEXT)"
        )
        db.execute(
            "CREATE TABLE stage.warnings (file TEXT, sheet TEXT, at INTEGER, row INTEGER, col TEXT, "
            "value TEXT, message TEXT, nearest TEXT)"
        )
        db.execute("CREATE TABLE stage.cleared (sheet TEXT, row INTEGER, col TEXT)")
        db.execute("CREATE TABLE stage.corrected (sheet TEXT, row INTEGER, col TEXT, change INTEGER, stays INTEGER)")
        db.execute("CREATE TABLE stage.files (name TEXT PRIMARY KEY, sha256 TEXT, bytes INTEGER, named INTEGER)")
        db.execute("CREATE TABLE stage.touched (object TEXT PRIMARY KEY)")

    def make_way(self) -> None:
        """Give the memory that the stage used for sorting back to the database, before rows are stored."""
        self.db.execute(f"PRAGMA main.cache_size = {self._cache}")

    def leave(self) -> None:
        """Take the stage away from a connection that goes on without it."""
        self.make_way()
        self.db.execute("DETACH DATABASE stage")

    def add_rows(self, record: type[Record], columns: Sequence[str], rows: Iterable[Row]) -> int:
        """A staged table of a sheet, filled with rows of values in the order of `columns`, each ending in
        its row number; blanks in optional parts of the key become '' or 0."""
        if not columns:
            return 0
        names = ", ".join(_quoted(name) for name in columns)
        marks = ", ".join(self._mark(record, name) for name in columns)
        self.db.execute(f"CREATE TABLE stage.{record.sheet} ({names}, row INTEGER PRIMARY KEY)")
        self.db.execute("BEGIN")
        count = self.db.executemany(f"INSERT INTO stage.{record.sheet} VALUES ({marks}, ?)", rows).rowcount
        self.db.execute("COMMIT")
        self.columns[record.sheet] = tuple(columns)
        self.counts[record.sheet] = max(count, 0)
        self._index(record)
        return self.counts[record.sheet]

    def take_headings(self, record: type[Record]) -> list[int]:
        """The numbers of rows that repeat the headings of their sheet, which are taken out of the stage.

        Where any text may stand, such a row reads like any other: an object called `object`.
        """
        one, *others = [c.name for c in record.columns() if c.required and self.holds(record.sheet, c.name)] or [""]
        if not others:
            return []
        written = ", ".join(repr(way(one)) for way in (str.lower, str.capitalize, str.upper))
        alike = "".join(f" AND lower({name}) = '{name}'" for name in others)
        rows = [
            row for (row,) in self.select(f"SELECT row FROM stage.{record.sheet} WHERE {one} IN ({written}){alike}")
        ]
        self.db.executemany(f"DELETE FROM stage.{record.sheet} WHERE row = ?", ((row,) for row in rows))
        return rows

    def add_faults(self, faults: Iterable[Fault]) -> None:
        self.db.executemany(
            "INSERT INTO stage.faults VALUES (?, ?, ?, ?, ?, ?, ?)",
            ((f.file, f.sheet, f.row, f.column, f.value, f.message, f.nearest) for f in faults),
        )

    def listed_faults(self, limit: int) -> list[Fault]:
        """The first faults in the order in which a person reads the files."""
        order = " ".join(f"WHEN '{record.sheet}' THEN {place}" for place, record in enumerate(SHEETS))
        return [
            Fault(*row)
            for row in self.db.execute(
                "SELECT file, sheet, row, col, value, message, nearest FROM stage.faults "
                f"ORDER BY CASE sheet {order} ELSE 99 END, file, row, rowid LIMIT ?",
                (limit,),
            )
        ]

    def survey(self) -> tuple[str, str]:
        """The code and the lead of the staged survey."""
        row = self.db.execute("SELECT code, lead FROM stage.survey").fetchone()
        return row[0], row[1]

    def begin_warnings(self, warnings: Iterable[tuple[Fault, int | None]]) -> None:
        """Replace the warnings of an earlier check by these."""
        self.db.execute("DELETE FROM stage.warnings")
        self.add_warnings(warnings)

    def add_warnings(self, warnings: Iterable[tuple[Fault, int | None]]) -> None:
        """Add warnings, each with the number of the staged row it belongs to, if any."""
        self.db.executemany(
            "INSERT INTO stage.warnings VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            ((w.file, w.sheet, at, w.row, w.column, w.value, w.message, w.nearest) for w, at in warnings),
        )

    def listed_warnings(self, limit: int) -> list[Fault]:
        return [
            Fault(*row)
            for row in self.db.execute(
                "SELECT file, sheet, row, col, value, message, nearest FROM stage.warnings ORDER BY rowid LIMIT ?",
                (limit,),
            )
        ]

    def count_warnings(self) -> int:
        return int(self.db.execute("SELECT count(*) FROM stage.warnings").fetchone()[0])

    def add_cleared(self, sheet: str, row: int, column: str) -> None:
        """Remember that a cell says `not recorded`, which clears what is stored; a blank says nothing."""
        self.db.execute("INSERT INTO stage.cleared VALUES (?, ?, ?)", (sheet, row, column))

    def add_corrected(self, cells: Iterable[tuple[str, int, str, int, bool]]) -> None:
        """Remember cells that differ and that a named person corrected: sheet, row, column, the change that did it, and
        whether the correction stays."""
        self.db.executemany("INSERT INTO stage.corrected VALUES (?, ?, ?, ?, ?)", cells)

    def begin_corrected(self, sheet: str) -> None:
        self.db.execute("DELETE FROM stage.corrected WHERE sheet = ?", (sheet,))

    def staying_columns(self, sheet: str) -> frozenset[str]:
        """Columns with a corrected cell that stays as it is."""
        return frozenset(
            row[0]
            for row in self.db.execute("SELECT DISTINCT col FROM stage.corrected WHERE sheet = ? AND stays", (sheet,))
        )

    def add_files(self, files: Iterable[tuple[str, str, int, bool]]) -> None:
        """The package's files: name, SHA-256, length in bytes, and whether a sheet names them."""
        self.db.executemany("INSERT INTO stage.files VALUES (?, ?, ?, ?)", files)

    def touched(self) -> list[str]:
        """The objects of which something is new or different, sorted; filled by `comparison.touch`."""
        return [row[0] for row in self.db.execute("SELECT object FROM stage.touched ORDER BY object")]

    def rows_by_object(self) -> Iterator[Row]:
        """Sheet, object and number of staged rows, for every object that a row names; sheets in their order."""
        for record in SHEETS:
            if self.holds(record.sheet, "object"):
                yield from self.db.execute(
                    f"SELECT '{record.sheet}', object, count(*) FROM stage.{record.sheet} "
                    "WHERE object IS NOT NULL GROUP BY object ORDER BY object"
                )

    def cleared_columns(self, sheet: str) -> frozenset[str]:
        return frozenset(
            row[0] for row in self.db.execute("SELECT DISTINCT col FROM stage.cleared WHERE sheet = ?", (sheet,))
        )

    def holds(self, sheet: str, *columns: str) -> bool:
        """Whether the sheet is staged with all these columns."""
        return sheet in self.columns and all(column in self.columns[sheet] for column in columns)

    def select(self, sql: str, values: Sequence[Any] = ()) -> Iterator[Row]:
        """The rows that a query on the stage gives."""
        return iter(self.db.execute(sql, values))

    def function(self, name: str, arguments: int, function: Callable[..., Any]) -> None:
        self.db.create_function(name, arguments, function, deterministic=True)

    def _index(self, record: type[Record]) -> None:
        parts = [name for name in record.key if name in self.columns[record.sheet]]
        if not parts:
            return
        try:
            self.db.execute(f"CREATE UNIQUE INDEX stage.{record.sheet}_key ON {record.sheet} ({', '.join(parts)})")
        except sqlite3.IntegrityError:
            self.doubled.add(record.sheet)
            self.db.execute(f"CREATE INDEX stage.{record.sheet}_key ON {record.sheet} ({', '.join(parts)})")

    @staticmethod
    def _mark(record: type[Record], name: str) -> str:
        column = next((column for column in record.columns() if column.name == name), None)
        if column is None or not fills_blank(record, column):
            return "?"
        return f"coalesce(?, {blank_of(column)!r})"


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'
