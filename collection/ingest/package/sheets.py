"""What every package has, whether folder, workbook or mapped list: sheets, files and one hash.

Each sheet has its file's name, its columns, and its rows as the person's editor numbers them.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from collection.ingest.package.faults import Faults
from collection.ingest.package.text_files import Traits
from collection.language.errors import BadValue, Fault
from collection.records.sheets import Record

LONGEST_CELL = 131_072
"""Characters in one cell at which reading stops; columns allow less, which is checked later."""

ASIDE = frozenset({"instructions", "example", "known", "questions", "lists"})
"""Sheets of a workbook, and text files of a folder, that are only for people to read and not part of the survey."""


@dataclass(frozen=True, slots=True)
class Attached:
    """One file of the package: its name with forward slashes, its path, size and hash."""

    name: str
    path: Path
    size: int
    sha256: str


class Refused(str):
    """A cell that is refused, as it is shown, with the fault that says why."""

    __slots__ = ("fault",)

    fault: BadValue

    def __new__(cls, shown: str, fault: BadValue) -> Refused:
        made = super().__new__(cls, shown)
        made.fault = fault
        return made


Doubt = tuple[Fault, int | None]
"""A warning with the number of the staged row that it belongs to, if any."""


class OddRow(list[str]):
    """A row that has to be read cell by cell, because one of its cells is `Refused` or its texts were not checked."""


class Sheet(Protocol):
    """One sheet of a package."""

    @property
    def record(self) -> type[Record]: ...

    @property
    def file(self) -> str: ...

    @property
    def columns(self) -> tuple[str | None, ...]:
        """The column that each heading stands for; None below which nothing is read."""
        ...

    @property
    def unheaded(self) -> frozenset[int]:
        """Places of blank headings, below which every cell has to be blank."""
        ...

    @property
    def decimal_comma(self) -> bool: ...

    @property
    def traits(self) -> Traits: ...

    @property
    def complete(self) -> bool:
        """False if the rows could not be read to the end."""
        ...

    def rows(self) -> AbstractContextManager[Iterable[tuple[int, list[str]]]]:
        """Every row below the headings with its number."""
        ...

    def break_off(self, error: str) -> Fault:
        """The fault of a sheet whose rows cannot be read to the end, which makes it incomplete."""
        ...

    def row_of(self, row: int, column: str | None) -> int | None:
        """The row that a message names for a cell."""
        ...


class Source(Protocol):
    """A survey package of any format."""

    @property
    def name(self) -> str: ...

    @property
    def sha256(self) -> str: ...

    @property
    def sheets(self) -> Sequence[Sheet]: ...

    @property
    def files(self) -> Mapping[str, Attached]: ...

    @property
    def refused(self) -> Mapping[str, str]:
        """Files that are there but are refused, each with the reason."""
        ...

    def find_sheets(self, faults: Faults) -> frozenset[str]:
        """Fill `sheets`, with their headings matched; the names of sheets that cannot be read come back."""
        ...

    def settle(self, named: frozenset[str], faults: Faults) -> list[Doubt]:
        """Warnings that only the whole package shows: on files that nothing names (which may be faults), and on what
        stands beside the cells; `named` are the files that the sheets name."""
        ...

    def count_rows(self) -> dict[str, int]:
        """How many rows each sheet has; only for a package without faults."""
        ...

    def unchanged_since_read(self) -> None:
        """:raises CouldNot: when a file was written to in the meantime."""
        ...


@contextmanager
def cell_limit() -> Iterator[None]:
    """The longest cell that the csv module reads, which is one setting for the whole process."""
    before = csv.field_size_limit(LONGEST_CELL)
    try:
        yield
    finally:
        csv.field_size_limit(before)
