"""A list with its mapping as a survey package: the list, the mapping's file, and the sheets that come out."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from collection.ingest.mapping.cells import nearest_term
from collection.ingest.mapping.list_file.list_rows import ForeignList, read_list
from collection.ingest.mapping.made_rows import MadeRow
from collection.ingest.mapping.mapping import Mapping, MapText, load_map
from collection.ingest.mapping.mapping_file import read_mapping
from collection.ingest.mapping.report import MappingReport
from collection.ingest.mapping.rows import Carried, carry_over
from collection.ingest.package.faults import Faults
from collection.ingest.package.sheets import Attached, Doubt, Sheet
from collection.ingest.package.survey_file import survey_row
from collection.ingest.package.text_files import Traits
from collection.language.errors import CouldNot, Fault, OurFault, WrongCommand
from collection.records.sheets import BY_SHEET, SHEETS, Object, Record
from collection.store.base import files
from collection.store.stage import unmapped_cells
from collection.store.stage.stage import Stage

# Texts come out of Python here, not out of a file that was looked at, so every row is read exactly.
_EXACT = Traits(unseen=True, not_nfc=True, recorded=True, odd_numbers=True, returns=True)
SHOWN = 3


@dataclass
class ListedSheet:
    """One sheet as the list made it. Rows are numbered as they were made; messages name the row of the list."""

    record: type[Record]
    file: str
    made: list[MadeRow]
    columns: tuple[str | None, ...]
    unheaded: frozenset[int] = frozenset()
    decimal_comma: bool = False
    traits: Traits = _EXACT
    complete: bool = True

    @contextmanager
    def rows(self) -> Iterator[Iterable[tuple[int, list[str]]]]:
        yield (
            (number, [row.values.get(name or "", "") for name in self.columns])
            for number, row in enumerate(self.made, 1)
        )

    def break_off(self, error: str) -> Fault:
        raise OurFault(f"A list was read whole, and broke off: {error}")

    def row_of(self, row: int, column: str | None) -> int | None:
        return self.made[row - 1].list_row if 1 <= row <= len(self.made) else None


@dataclass
class MappedList:
    """A package that is a foreign list with its mapping."""

    name: str
    path: Path
    map_path: Path
    files: dict[str, Attached]
    sha256: str
    refused: dict[str, str] = field(default_factory=dict)
    sheets: list[Sheet] = field(default_factory=list)
    doubts: list[Fault] = field(default_factory=list)
    _carried: Carried | None = None
    _mapping: Mapping | None = None
    _survey: dict[str, Any] | None = None

    @property
    def report(self) -> MappingReport:
        """The report on the list, which is read now if it was not yet."""
        if self._carried is None:
            self._carry([])
        if self._carried is None:
            raise OurFault("A list that was stored before can no longer be read by its mapping.")
        return self._carried.report

    def find_sheets(self, faults: Faults) -> frozenset[str]:
        found: list[Fault] = []
        text = self._carry(found)
        for fault in found:
            faults.add(fault)
        if self._survey is not None:
            lines = [text.line("survey", key) for key in self._survey]
            self.sheets = [survey_row(self.map_path.name, text.text, self._survey, lines, faults)]
        if self._carried is None:
            return frozenset(BY_SHEET) - {sheet.record.sheet for sheet in self.sheets}
        for record in SHEETS:
            if self._carried.sheets.get(record.sheet):
                self.sheets.append(self._sheet(record, self._carried.sheets[record.sheet]))
        return frozenset()

    def stage_rest(self, stage: Stage) -> None:
        """Put beside the staged sheets which row of the list each row came from, and the cells to be kept."""
        if self._carried is not None:
            objects = {row.values["object"]: number for number, row in enumerate(self._carried.sheets["objects"], 1)}
            unmapped_cells.stage_list(
                stage,
                (
                    (sheet, number, row.list_row)
                    for sheet, rows in self._carried.sheets.items()
                    for number, row in enumerate(rows, 1)
                ),
                (
                    (objects[cell.object], cell.heading, cell.value, cell.list_row, cell.taken)
                    for cell in self._carried.cells
                ),
            )

    def check_stored(self, stage: Stage, faults: Faults) -> None:
        """A list that does not say what every object needs can only add to objects that are stored already.

        :raises InputRefused: when it names others.
        """
        missing = self._not_said()
        if missing and "objects" in stage.columns and (strange := unmapped_cells.objects_not_stored(stage)):
            sheet = next(sheet for sheet in self.sheets if sheet.record is Object)
            shown = ", ".join(code for _, code in strange[:SHOWN]) + (" …" if len(strange) > SHOWN else "")
            faults.add(
                Fault(
                    self.name,
                    "objects",
                    sheet.row_of(strange[0][0], None),
                    None,
                    shown,
                    f"{len(strange)} objects of the list are not in the database, and the mapping does not "
                    f"say their {' and '.join(missing)}, which every object needs. Name them below [objects], "
                    "leave those rows out by a rule, or ingest the list that brings the objects first.",
                )
            )
            faults.refuse()

    def hazards_named(self, stage: Stage, *, stored: bool) -> Iterator[tuple[Fault, int]]:
        """A warning for each cell that speaks of a hazard and that no column takes, with its staged row."""
        for row, list_row, heading, word in unmapped_cells.hazards_named(stage, stored=stored):
            message = (
                f"Column {heading!r} speaks of {word}, and no column of ours takes it: add it to hazards if it is one."
            )
            yield Fault(self.name, "objects", list_row, None, None, message), row

    def only_known_objects(self) -> list[Fault]:
        """What a look without a database says of a list that can only add to objects that are stored already."""
        missing = self._not_said()
        return (
            []
            if not missing
            else [
                Fault(
                    self.map_path.name,
                    "objects",
                    None,
                    None,
                    None,
                    f"The mapping does not say the {' and '.join(missing)} of "
                    "the objects, so each of them has to be in the database already, which only the database can tell.",
                )
            ]
        )

    def _not_said(self) -> list[str]:
        """The columns that every object needs and the mapping does not fill."""
        return (
            []
            if self._mapping is None
            else [
                column.name
                for column in Object.columns()
                if column.required and column.name not in ("object", *self._mapping.objects)
            ]
        )

    def settle(self, named: frozenset[str], faults: Faults) -> list[Doubt]:
        return [(doubt, None) for doubt in self.doubts]

    def count_rows(self) -> dict[str, int]:
        made = self.report.rows_made
        return {"survey": 1} | {record.sheet: made[record.sheet] for record in SHEETS if made[record.sheet]}

    def unchanged_since_read(self) -> None:
        for file in self.files.values():
            if not file.path.is_file() or files.hash_of(file.path) != file.sha256:
                raise CouldNot(
                    f"{file.name} was changed while it was being read, so nothing was stored. Close it in "
                    "other programs and ingest the list again."
                )

    def _carry(self, faults: list[Fault]) -> MapText:
        """Read the mapping, then the list by it; faults of either leave nothing carried over."""
        text, held, fault = load_map(self.map_path)
        if held is None:
            faults += [fault] if fault is not None else []
            return text
        survey = held.get("survey")
        self._survey = survey if isinstance(survey, dict) else None
        mapping, wrong = read_mapping(text, held)
        faults += wrong
        if mapping is None:
            return text
        found = read_list(self.name, self.path, mapping)
        faults += found.faults
        faults += [] if found.faults else _unknown_headings(text, mapping, found)
        if not faults:
            self._mapping, self._carried, self.doubts = mapping, carry_over(found, mapping), found.doubts
        return text

    def _sheet(self, record: type[Record], made: list[MadeRow]) -> ListedSheet:
        given = {name for row in made for name in row.values}
        return ListedSheet(record, self.name, made, tuple(c.name for c in record.columns() if c.name in given))


@contextmanager
def open_list(path: Path, map_path: Path) -> Iterator[MappedList]:
    """A list and its mapping, hashed; neither is read yet.

    :raises WrongCommand: when one is missing, or both have the same name.
    :raises CouldNot: when one cannot be read.
    """
    for which, each in (("list", path), ("mapping", map_path)):
        if not each.is_file():
            raise WrongCommand(
                f"There is no file {str(each)!r}. With --map, a {which} is one file: the list is a CSV "
                "file or a workbook, its mapping a TOML file."
            )
    if path.name == map_path.name:
        raise WrongCommand(f"The list and its mapping are both called {path.name!r}; give one of them another name.")
    try:
        attached = {
            each.name: Attached(each.name, each, each.stat().st_size, files.hash_of(each))
            for each in sorted((path, map_path), key=lambda each: each.name)
        }
    except OSError as error:
        raise CouldNot(
            f"The list cannot be read: {error.strerror or error} "
            f"({os.path.basename(error.filename or '') or path.name})."
        ) from error
    listing = "".join(f"{file.sha256}  {file.name}\n" for file in attached.values())
    yield MappedList(path.name, path, map_path, attached, hashlib.sha256(listing.encode()).hexdigest())


def _unknown_headings(text: MapText, mapping: Mapping, found: ForeignList) -> list[Fault]:
    return [
        text.fault(
            table,
            key,
            f"The list has no such heading. Its headings are {', '.join(found.headings)}.",
            heading,
            nearest_term(heading, found.headings),
        )
        for heading, table, key in mapping.headings()
        if heading not in found.headings
    ]
