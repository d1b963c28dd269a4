"""Checks a package without a database: what it holds, its warnings, and what only a database could tell."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from collection.ingest.crosscheck import ASKS_DATABASE
from collection.ingest.mapping.mapped_list import MappedList, open_list
from collection.ingest.mapping.report import MappingReport
from collection.ingest.package.faults import Faults
from collection.ingest.package.package_format import open_source
from collection.ingest.package.sheets import cell_limit
from collection.ingest.staging import LISTED_WARNINGS, check_staged, read_package
from collection.language.errors import Fault
from collection.records.sheets import SHEETS
from collection.store.base.database import spoken
from collection.store.stage.checks import Against
from collection.store.stage.stage import Stage


@dataclass(frozen=True, slots=True)
class Trial:
    """A package without faults: rows by sheet, the same for each object that any row names, the first doubts, and the
    first references out of the package; `count` is the number of both."""

    survey: str
    rows: dict[str, int]
    objects: dict[str, dict[str, int]]
    warnings: tuple[Fault, ...]
    asked: tuple[Fault, ...]
    count: int
    mapping: MappingReport | None = None
    """What would become of a list that comes in through a mapping."""

    def as_json(self) -> dict[str, Any]:
        """As an ingest answers, with what it would need a database for beside the warnings."""
        return {
            "format": 1,
            "survey": self.survey,
            "rows": self.rows,
            "objects": self.objects,
            "warnings": [asdict(fault) for fault in self.warnings],
            "only_the_database_can_tell": [asdict(fault) for fault in self.asked],
            "warning_count": self.count,
            "mapping": None if self.mapping is None else self.mapping.as_json(),
        }


def try_package(package: Path | str, mapping: Path | str | None = None) -> Trial:
    """Every check that needs no database; with `mapping`, of a list that exists elsewhere.

    :raises InputRefused: when the package has faults; it lists them.
    :raises WrongCommand: when there is no such package.
    """
    opened = open_source(Path(package)) if mapping is None else open_list(Path(package), Path(mapping))
    with (
        opened as source,
        closing(sqlite3.connect("", isolation_level=None)) as db,
        spoken(Path(package)),
        cell_limit(),
    ):
        stage = Stage(db)
        faults = Faults(stage)
        unread = read_package(stage, source, faults)
        check_staged(stage, source, faults, Against.NOTHING, unread)
        by_list = source if isinstance(source, MappedList) else None
        if by_list is not None:
            by_list.stage_rest(stage)
            stage.add_warnings(by_list.hazards_named(stage, stored=False))
        listed = stage.listed_warnings(LISTED_WARNINGS)
        unsure = by_list.only_known_objects() if by_list is not None else []
        listed += unsure
        objects: dict[str, dict[str, int]] = {}
        for sheet, code, count in stage.rows_by_object():
            objects.setdefault(code, {})[sheet] = count
        return Trial(
            stage.survey()[0],
            {record.sheet: count for record in SHEETS if (count := stage.counts.get(record.sheet))},
            dict(sorted(objects.items())),
            tuple(fault for fault in listed if fault.message != ASKS_DATABASE),
            tuple(fault for fault in listed if fault.message == ASKS_DATABASE),
            stage.count_warnings() + len(unsure),
            None if by_list is None else by_list.report,
        )
