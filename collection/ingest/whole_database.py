"""Takes an export of a whole database into an empty one, change by change.

Each change is one transaction. Where it breaks off, what was made so far stands, and the same command goes on from
there: an export fits a database whose own changes are the first ones of it, as their hashes tell.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from collection.ingest.package.faults import Faults
from collection.ingest.package.package_format import open_source
from collection.ingest.package.sheets import cell_limit
from collection.ingest.package.whole_export import Export, open_export
from collection.ingest.pictures.pictures import picture_faults
from collection.ingest.staging import read_package
from collection.language.errors import CouldNot, Fault, InputRefused
from collection.language.sentences import counted
from collection.store import derive
from collection.store.base import database, files
from collection.store.base.database import Database, spoken, writing
from collection.store.changes.replay import replay, stage_provenance
from collection.store.changes.steps import Step, steps
from collection.store.stage.checks import Against
from collection.store.stage.stage import Stage


@dataclass
class ExportReport:
    """What an export held, how much of it was there already, and what was taken in: changes by kind, records by sheet."""

    export: str
    changes: int
    stored: int
    dry_run: bool
    actions: dict[str, int] = field(default_factory=dict)
    added: dict[str, int] = field(default_factory=dict)

    def as_json(self) -> dict[str, object]:
        return {
            "format": 1,
            "export": self.export,
            "changes": self.changes,
            "already_stored": self.stored,
            "taken_in": 0 if self.dry_run else self.changes - self.stored,
            "actions": self.actions,
            "added": self.added,
            "dry_run": self.dry_run,
        }

    def sentences(self) -> list[str]:
        new = self.changes - self.stored
        if not new:
            return [f"{self.export}: the same as what is stored; nothing was changed."]
        verb = "would be" if self.dry_run else "was" if new == 1 else "were"
        before = f" after the {self.stored} that {'was' if self.stored == 1 else 'were'} there" if self.stored else ""
        lines = [f"{self.export}: {counted(new, 'change')} of another database {verb} taken in{before}."]
        lines.append("  changes: " + ", ".join(f"{action} {n}" for action, n in self.actions.items()))
        if self.added:
            lines.append(
                "  records added: " + ", ".join(f"{sheet.replace('_', ' ')} {n}" for sheet, n in self.added.items())
            )
        if not self.dry_run:
            lines.append("  Who made each change, why and when stands with it as it was; the chain of hashes is new.")
        return lines


def ingest_export(
    db_path: Path | str,
    folder: Path | str,
    *,
    dry_run: bool = False,
    shared: bool = False,
    progress: derive.HowFar | None = None,
) -> ExportReport:
    """Take in an export, from the first change that the database does not hold yet.

    :param progress: told how many changes are taken in, of how many.
    :raises InputRefused: when a file of the export is not as it was written, or the database holds changes that are
        not of it. Changes before the one that is refused are stored, and the message says how many.
    :raises CouldNot: when the database or the disk does not allow it.
    """
    export = open_export(Path(folder))
    with database.opened(db_path, write=not dry_run, shared=shared) as db, spoken(Path(db_path)):
        first = _first_missing(db, export)
        left = export.steps[first:]
        report = ExportReport(Path(folder).resolve().name, len(export.steps), first, dry_run)
        report.actions = dict(Counter(step.action for step in left))
        for step in left:
            added = _added(export, step)
            for sheet, number in added.items():
                report.added[sheet] = report.added.get(sheet, 0) + number
            if not dry_run:
                _take(db, export, step, len(export.steps))
                if progress is not None:
                    progress(step.number, len(export.steps))
        if not dry_run and (left or derive.behind(db)):
            with writing(db):
                derive.refresh(db)
    return report


def _first_missing(db: Database, export: Export) -> int:
    """How many changes of the export the database holds already.

    :raises InputRefused: where it holds others. The hash of a change covers those before it, so one is compared.
    """
    stored = list(steps(db))
    both = min(len(stored), len(export.steps))
    if stored and (not both or stored[both - 1].hash != export.steps[both - 1].hash):
        newest = stored[-1]
        raise InputRefused(
            [
                Fault(
                    export.path.resolve().name,
                    "",
                    None,
                    None,
                    None,
                    f"{db.path} holds changes that are not in this export, the newest of {newest.at[:10]} by {newest.by}. "
                    "An export is taken into an empty database: make one with firstcoat init. Single packages of "
                    "it can be handed in here like any survey.",
                )
            ]
        )
    return both


def _added(export: Export, step: Step) -> dict[str, int]:
    return dict(Counter(sheet for sheet, _, _, _, _, revision, _ in export.rows(step) if revision == 1))


def _take(db: Database, export: Export, step: Step, last: int) -> None:
    where = f"That was change {step.number} of {last}"
    where += f"; the {step.number - 1} before it are stored" if step.number > 1 else ""
    where += ". Once that is mended, the same command goes on from there."
    try:
        _make_again(db, export, step)
    except InputRefused as refusal:
        told = InputRefused(refusal.faults, refusal.count)
        told.args = (f"The export was not taken in to its end: {counted(refusal.count, 'fault')}. {where}",)
        raise told from refusal
    except CouldNot as error:
        raise CouldNot(f"{error} {where}") from error


def _make_again(db: Database, export: Export, step: Step) -> None:
    carried = export.carried(step)
    stage = Stage(db)
    try:
        package = export.package(step)
        if package is not None:
            faults = Faults(stage)
            with open_source(package) as source, cell_limit():
                read_package(stage, source, faults, Against.DATABASE)
                picture_faults(stage, source, faults)
                faults.refuse()
        stage_provenance(stage, export.rows(step))
        for row in carried.get("files", ()):
            if row["sha256"] in export.files:
                files.put(db.path, export.files[row["sha256"]], row["sha256"])
        stage.make_way()
        with writing(db):
            replay(stage, step, carried)
    finally:
        stage.leave()
