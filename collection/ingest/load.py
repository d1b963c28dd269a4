"""Stores a survey package: it is read, checked as a whole, compared, and stored in one transaction.

Until that transaction begins, only the stage has been written to; a refused package leaves no trace.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from pathlib import Path

from collection.ingest.differences import NOTHING, Counted, Differences, Meant, all_met, meant_records, survey_refusal
from collection.ingest.former_codes import Renamed
from collection.ingest.mapping.mapped_list import MappedList, open_list
from collection.ingest.mapping.report import MappingReport
from collection.ingest.package.faults import Faults
from collection.ingest.package.package_format import open_source
from collection.ingest.package.sheets import Source, cell_limit
from collection.ingest.staging import LISTED_WARNINGS, check_staged, files_named, read_package
from collection.language.errors import CouldNot, Difference, Fault, WrongCommand
from collection.records.sheets import SHEETS
from collection.store import derive
from collection.store.base import files
from collection.store.base.database import LOG, Database, close, connect, path_of, spoken, writing
from collection.store.changes import comparison, packages
from collection.store.changes.change import AMEND, INGEST, change
from collection.store.changes.comparison import Compared, Origin
from collection.store.decide.consequences import NOT_ASKED, Consequences, Undone, Watch
from collection.store.stage import unmapped_cells
from collection.store.stage.checks import Against
from collection.store.stage.stage import Stage

DERIVED_AT_ONCE = 500
"""How many touched objects are brought up to date in the same transaction, at most."""

Counts = dict[str, int]


@dataclass(frozen=True)
class IngestReport:
    """What an ingest did, or with `dry_run` would do. Counts are rows by sheet; sheets without any are left out.

    `change` is None where nothing was written. `warnings` lists the first of `warning_count`.
    """

    survey: str
    package_sha256: str
    added: Counts
    changed: Counts
    unchanged: Counts
    missing: Counts
    withdrawn: Counts
    warnings: tuple[Fault, ...] = ()
    warning_count: int = 0
    change: int | None = None
    dry_run: bool = False
    touched: tuple[str, ...] = field(default=(), repr=False)
    mapping: MappingReport | None = None
    """What became of a list that came in through a mapping."""
    differences: tuple[Difference, ...] = ()
    difference_count: int = 0
    would_be_refused: bool = False
    """A dry run met records with other content, and no amendment was announced."""
    kept: tuple[Difference, ...] = ()
    kept_count: int = 0
    """Cells of the package that were left out, because a named person corrected what is stored."""
    amendment_not_needed: bool = False
    """An amendment was announced, and nothing that is stored differs."""
    consequences: Consequences = NOT_ASKED
    """What it does to proposed work; empty unless asked for."""
    listed: Counts = field(default_factory=dict)
    """Of a list, how many cells that no column takes are new, and how many changed."""

    def as_json(self) -> dict[str, object]:
        return {
            "format": 1,
            "survey": self.survey,
            "added": self.added,
            "changed": self.changed,
            "unchanged": self.unchanged,
            "missing": self.missing,
            "withdrawn": self.withdrawn,
            "warnings": [asdict(warning) for warning in self.warnings],
            "warning_count": self.warning_count,
            "package_sha256": self.package_sha256,
            "change": self.change,
            "dry_run": self.dry_run,
            "mapping": None if self.mapping is None else self.mapping.as_json(),
            "differences": [asdict(difference) for difference in self.differences],
            "difference_count": self.difference_count,
            "would_be_refused": self.would_be_refused,
            "corrections_kept": [asdict(kept) for kept in self.kept],
            "corrections_kept_count": self.kept_count,
            "amendment_not_needed": self.amendment_not_needed,
            "listed": {"new": 0, "changed": 0, **self.listed},
            **self.consequences.as_json(),
        }


def ingest(
    db_path: Path | str,
    package: Path | str,
    *,
    amend: str | None = None,
    amend_corrected: Collection[str] = (),
    by: str | None = None,
    dry_run: bool = False,
    derived: bool = True,
    shared: bool = False,
    mapping: Path | str | None = None,
    consequences: bool = False,
    progress: derive.HowFar | None = None,
) -> IngestReport:
    """Store a survey package, all of it or nothing; with `mapping`, a list that exists elsewhere.

    `amend` is the reason for which records that exist with other content may be replaced; their old content
    stays in the history. Cells that a named person corrected stay, but of the records that `amend_corrected` names,
    each as KIND/KEY. `derived` brings survival, risks and search documents up to date as well; without
    it they are left marked as stale. With `consequences` the proposals of touched objects are assessed before and
    after. A dry run lists the differences where an ingest refuses them; to tell the consequences it stores the
    package and undoes that. `progress` is told how many of very many objects are brought up to date.

    :raises InputRefused: when the package has faults; it lists them. Nothing was stored.
    :raises DifferenceRefused: when records exist with other content and `amend` is not given. Nothing was stored.
    :raises WrongCommand: when there is no such package, or `amend` comes without a reason or a name.
    :raises CouldNot: when the database or the disk does not allow it. Nothing was stored.
    """
    if amend is not None and not amend.strip():
        raise WrongCommand('An amendment needs its reason: --amend "why".')
    if amend_corrected and amend is None:
        raise WrongCommand(
            "--amend-corrected says which corrections an amendment replaces: it goes with --amend REASON."
        )
    if amend is not None and not (by and by.strip()):
        raise WrongCommand("An amendment replaces what somebody recorded, so it needs a name: --by NAME.")
    db = _opened(db_path, dry_run, shared, consequences)
    try:
        opened = open_source(Path(package)) if mapping is None else open_list(Path(package), Path(mapping))
        with opened as source, spoken(path_of(db)):
            known = _known(db, source, dry_run)
            if known is not None:
                return known
            meant = None if amend is None else meant_records(db, amend_corrected)
            with cell_limit():
                return _Intake(db, source, amend, meant, by, dry_run, derived, consequences, progress).run()
    finally:
        close(db)


@dataclass
class _Intake:
    """One ingest under way."""

    db: Database
    source: Source
    amend: str | None
    meant: Meant | None
    by: str | None
    dry_run: bool
    derived: bool
    consequences: bool
    progress: derive.HowFar | None
    compared: dict[str, Compared] = field(default_factory=dict)
    unread: frozenset[str] = frozenset()
    differing: Counted = NOTHING
    kept: Counted = NOTHING
    added: Sequence[Fault] = ()
    told: Consequences = NOT_ASKED
    files_kept: frozenset[str] = frozenset()
    listed: Counts = field(default_factory=dict)

    def run(self) -> IngestReport:
        self.stage = Stage(self.db)
        self.faults = Faults(self.stage)
        seen = packages.last_change(self.db)
        self.unread = read_package(self.stage, self.source, self.faults, Against.DATABASE)
        if isinstance(self.source, MappedList):
            self.source.stage_rest(self.stage)
        self.renamed = Renamed(self.stage, self.source)
        self._list_files()
        self._judge()
        self.source.unchanged_since_read()
        if self.dry_run or not (
            any(each.added or each.changed for each in self.compared.values()) or any(self.listed.values())
        ):
            if self.dry_run and self.consequences and self.db.writable and packages.any_proposals(self.stage):
                self._try_out()
            return self._report(None)
        self._put_files()
        self.stage.make_way()
        with writing(self.db):
            if packages.last_change(self.db) != seen:
                # Somebody wrote while this package was being read, so it is judged by what is there now.
                self._judge()
            number = self._store(DERIVED_AT_ONCE if self.derived else 0)
            # Put together before the end of the transaction: once it is stored, nothing may fail any more.
            report = self._report(number, self.stage.touched())
        if self.derived and len(report.touched) > DERIVED_AT_ONCE:
            self._derive(len(report.touched))
        return report

    def _derive(self, many: int) -> None:
        """Bring very many objects up to date, once the survey is stored; where that cannot be, it stays stored."""
        try:
            with writing(self.db):
                derive.refresh(self.db, only_behind=True, progress=self.progress)
        except CouldNot as error:
            LOG.warning(
                "Note: %s is stored, but what is computed of its %s objects could not be (%s): make room where it is "
                "short, then run `firstcoat refresh %s`.",
                self.code,
                f"{many:,}",
                error.__cause__ or error,
                path_of(self.db),
            )

    def _judge(self) -> None:
        """Every check against the database, then the comparison.

        :raises InputRefused: for faults, and for differences without an amendment.
        """
        self.renamed.put_right(self.faults)
        check_staged(self.stage, self.source, self.faults, Against.DATABASE, self.unread)
        self.stage.add_warnings(self.renamed.doubts())
        if isinstance(self.source, MappedList):
            self.source.check_stored(self.stage, self.faults)
            self.listed = unmapped_cells.count_cells(self.stage)
            self.stage.add_warnings(self.source.hazards_named(self.stage, stored=True))
        self.code, lead = self.stage.survey()
        stored = packages.stored_survey(self.db, self.code)
        refusal = survey_refusal(self.db, self.code)
        if refusal is not None:
            self._refuse_survey(*refusal)
        self.lead = lead
        self.compared = {
            record.sheet: comparison.compare(
                self.stage,
                record,
                None if stored is None else self.code,
                None if self.meant is None else self.meant.get(record.sheet, frozenset()),
            )
            for record in SHEETS
            if stored is not None or record.sheet in self.stage.columns
        }
        self.says = Differences(self.stage, self.source, self.code, self.compared)
        if self.meant is None:
            self.says.refuse_further(self.faults)
        else:
            all_met(self.stage, self.meant)
            self.kept = self.says.corrections_kept()
            self.added = list(self.says.added())
            self.stage.add_warnings((warning, None) for warning in self.added)
        if any(each.changed for each in self.compared.values()):
            if self.dry_run:
                self.differing = self.says.differences()
            elif self.amend is None:
                self.says.refuse()
        self.stage.add_warnings((warning, None) for warning in self.says.withdrawn())

    def _refuse_survey(self, message: str, nearest: str | None = None) -> None:
        sheet = next(sheet for sheet in self.source.sheets if sheet.record.sheet == "survey")
        self.faults.add(Fault(sheet.file, "survey", sheet.row_of(1, "code"), "code", self.code, message, nearest))
        self.faults.refuse()

    def _try_out(self) -> None:
        """See what storing the package would do to proposed work: store it, look, and undo it."""
        self.stage.make_way()
        with suppress(Undone), writing(self.db):
            self._store(0)
            raise Undone

    def _list_files(self) -> None:
        """Tell the stage of the files, whose content is compared like that of cells."""
        self.files_kept = files_named(self.stage, self.source) | {sheet.file for sheet in self.source.sheets}
        self.stage.add_files(
            (file.name, file.sha256, file.size, file.name in self.files_kept) for file in self.source.files.values()
        )

    def _put_files(self) -> None:
        """Copy the files into the folder beside the database; a copy that no record names does no harm."""
        for name in sorted(self.files_kept):
            file = self.source.files[name]
            files.put(path_of(self.db), file.path, file.sha256)

    def _store(self, derived_up_to: int) -> int:
        """Store everything in the package, inside the running transaction; returns the change."""
        amended = any(each.changed for each in self.compared.values())
        origin = Origin(self.code, {sheet.record.sheet: sheet.file for sheet in self.source.sheets})
        records = list(comparison.staged_records(self.stage))
        for record in records:
            comparison.touch(self.stage, record, self.compared[record.sheet])
        unmapped_cells.touch(self.stage)
        touched = self.stage.touched()
        watch = Watch(self.db, touched) if self.consequences and packages.any_proposals(self.stage) else None
        with change(
            self.db,
            self.by or self.lead,
            self.amend or f"survey package {self.source.name}",
            AMEND if amended else INGEST,
            self.code,
            package=self.source.sha256,
            derived_up_to=derived_up_to,
        ) as made:
            made.touch(touched)
            for record in records:
                compared = self.compared[record.sheet]
                if compared.changed:
                    made.update(comparison.other_rows(self.stage, record, compared, origin))
                if compared.added:
                    made.insert(comparison.new_rows(self.stage, record, compared, origin))
            packages.note_files(self.stage, self.source.sha256, made.number)
            packages.note_package(self.stage, self.source.sha256, self.code, self.source.name, made.number)
            packages.attach_warnings(self.stage, made.number)
            if self.stage.listed:
                unmapped_cells.keep_cells(self.stage, made.number)
            if watch is not None:
                self.told = watch.after()
        return made.number

    def _file(self, sheet: str) -> str:
        return next((each.file for each in self.source.sheets if each.record.sheet == sheet), self.source.name)

    def _report(self, change: int | None, touched: Iterable[str] = ()) -> IngestReport:
        def counts(name: str) -> Counts:
            return {sheet: getattr(each, name) for sheet, each in self.compared.items() if getattr(each, name)}

        return IngestReport(
            self.code,
            self.source.sha256,
            counts("added"),
            counts("changed"),
            counts("unchanged"),
            counts("missing"),
            counts("withdrawn"),
            tuple(self.stage.listed_warnings(LISTED_WARNINGS)),
            self.stage.count_warnings(),
            change,
            self.dry_run,
            tuple(touched),
            _mapping_report(self.source),
            self.differing.listed,
            self.differing.count,
            bool(self.differing.count) and self.amend is None,
            self.kept.listed,
            self.kept.count,
            self._amendment_not_needed(),
            self.told,
            self.listed,
        )

    def _amendment_not_needed(self) -> bool:
        differs = any(each.changed for each in self.compared.values()) or self.kept.count or self.added
        return self.amend is not None and not differs


def _opened(db_path: Path | str, dry_run: bool, shared: bool, consequences: bool) -> Database:
    """The database, for a dry run that tells consequences to be written to where that is allowed."""
    if dry_run and consequences:
        with suppress(CouldNot):  # what stands in the way of reading as well is said below
            return connect(db_path, write=True)
    return connect(db_path, write=not dry_run, shared=shared)


def _known(db: sqlite3.Connection, source: Source, dry_run: bool) -> IngestReport | None:
    """The report for a package that was stored before, unless any record was changed since: then it is
    compared like any other, because the change may be to one of its records."""
    known = packages.known_package(db, source.sha256)
    if known is None or packages.last_replacement(db) > known[1]:
        return None
    return IngestReport(
        known[0], source.sha256, {}, {}, source.count_rows(), {}, {}, dry_run=dry_run, mapping=_mapping_report(source)
    )


def _mapping_report(source: Source) -> MappingReport | None:
    return source.report if isinstance(source, MappedList) else None
