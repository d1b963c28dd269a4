"""`export --as package`: a database as survey packages in order, which `ingest` takes into an empty database.

Every change becomes one step. The rows that it wrote go into a survey package of their own: of a new record every cell,
of an altered one the cells that are needed and those that changed. The form is told in
`collection.ingest.package.whole_export`.
"""

from __future__ import annotations

import csv
import json
import os
import re
import shutil
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import cache
from itertools import chain, groupby, islice
from pathlib import Path
from typing import Any

import collection
from collection.ingest.package.folder import sheet_of
from collection.ingest.package.survey_file import SURVEY_FILE, toml_text
from collection.ingest.package.whole_export import CHECKSUMS, FILES, FORMAT, ORDER, rows_file, table_file
from collection.language.sentences import counted
from collection.output.export.new_folder import new_folder
from collection.records.cells import NOT_RECORDED
from collection.records.columns import Column
from collection.records.row import Record
from collection.records.sheets import SHEETS, Survey
from collection.store.base import database, files, keys
from collection.store.changes.steps import CARRIED, Step, Written, carried, contents, steps
from collection.store.schema.tables import blank_of, fills_blank

WHOLE = (
    "It is whole, for staff: names of people, private columns, notes, withdrawn records and everything that was said "
    "before are in it."
)
NOT_IN_IT = (
    "Not in it is what is computed from the records, which is computed again, and the chain of hashes, which begins "
    "anew; the hash and the day of each change go along beside it."
)
_INTRODUCTION = """\
# A firstcoat database as survey packages, in the order in which its changes were made.
# To have it again:  firstcoat init NEW.db  and  firstcoat ingest NEW.db FOLDER
# Each folder is a survey package and can be read, or handed in, by itself. The folder order/ holds what has no sheet.
"""
AT_ONCE = 1_000
"""How many rows of a sheet are looked through for the columns that they need."""
_ACTS_ON_SURVEY = ("ingest", "amend")


@dataclass(frozen=True)
class PackageReport:
    """What was exported: changes by kind, packages, contents of records by sheet, files, and what could not go along."""

    folder: str
    changes: dict[str, int]
    packages: int
    contents: dict[str, int]
    files: int
    missing_files: tuple[str, ...]
    orphans: int

    @property
    def damaged(self) -> bool:
        return bool(self.missing_files)

    def as_json(self) -> dict[str, Any]:
        return {"format": 1, **asdict(self), "missing_files": list(self.missing_files)}

    def sentences(self) -> list[str]:
        lines = [
            f"{self.folder}: {counted(sum(self.changes.values()), 'change')} in {counted(self.packages, 'package')}, "
            f"{counted(sum(self.contents.values()), 'content')} of records, {counted(self.files, 'file')}.",
            "  changes: " + (", ".join(f"{action} {n}" for action, n in self.changes.items()) or "none"),
            f"  {WHOLE}",
            f"  {NOT_IN_IT}",
        ]
        if self.orphans:
            were = (
                "file beside the database that no record names was"
                if self.orphans == 1
                else ("files beside the database that no record names were")
            )
            lines.append(f"  {self.orphans:,} {were} left out.")
        lines += [f"  Damage: the kept file {name} is missing or no longer what it was." for name in self.missing_files]
        return lines


def export_package(db_path: Path, out: Path) -> PackageReport:
    """Write a database to a new folder.

    :raises WrongCommand: where something of that name is there already.
    :raises CouldNot: where the database cannot be read or the folder cannot be written; no folder is left.
    """
    with new_folder(out, db_path) as folder, database.opened(db_path, write=False) as db:
        db.execute("BEGIN")  # one snapshot, whoever writes meanwhile
        written = _Packages(db, db_path, folder)
        written.write()
        return PackageReport(
            str(out),
            dict(Counter(step.action for step in written.steps)),
            len(written.folders),
            dict(written.contents),
            written.files,
            tuple(written.missing),
            len(files.orphans(db)),
        )


class _Packages:
    """The folder of an export while it is written."""

    def __init__(self, db: database.Database, db_path: Path, folder: Path) -> None:
        self.db, self.db_path, self.folder = db, db_path, folder
        self.steps: list[Step] = list(steps(db))
        self.folders: dict[int, str] = {}
        self.contents: Counter[str] = Counter()
        self.missing: list[str] = []
        self.files = 0
        self._surveys: dict[str, list[tuple[int, dict[str, Any]]]] = defaultdict(list)
        self._whose: dict[int, str] = {}
        self._uses: dict[tuple[str, str], list[tuple[int, str]]] = defaultdict(list)
        self._placed: set[str] = set()

    def write(self) -> None:
        for row in carried(self.db, _table("file_uses")):
            if row["sheet"] != "packages":
                self._uses[row["sheet"], row["key"]].append((row["change"], row["sha256"]))
        for record in SHEETS:
            for change, group in groupby(contents(self.db, record), key=lambda each: each.change):
                self._write_sheet(record, self.steps[change - 1], group)
        self._write_surveys()
        self._write_tables()
        self._put_files()
        self._write_order()
        _write_checksums(self.folder)

    def _write_sheet(self, record: type[Record], step: Step, rows: Iterator[Written]) -> None:
        """The rows that a change wrote to a sheet: each in its package, and where it came from beside the package."""
        package = self._package(step)
        some = list(islice(rows, AT_ONCE))
        self._whose.setdefault(step.number, str(some[0].row["code" if record is Survey else "survey"]))
        # A long sheet is written as it is read, and so with every column.
        columns = record.columns() if len(some) == AT_ONCE else self._columns(record, some)
        path = self.folder / rows_file(step.number)
        path.parent.mkdir(parents=True, exist_ok=True)
        with (
            open(
                os.devnull if record is Survey else package / f"{record.sheet}.csv", "w", encoding="utf-8", newline=""
            ) as sheet,
            path.open("a", encoding="utf-8", newline="\n") as beside,
        ):
            lines = csv.writer(sheet)
            lines.writerow(column.name for column in columns)
            for number, each in enumerate(chain(some, rows), 1 if record is Survey else 2):
                cells = self._cells(record, each)
                lines.writerow([cells.get(column.name, "") for column in columns])
                told = (each.row[name] for name in ("from_file", "from_row", "revision", "withdrawn"))
                beside.write(_json([record.sheet, number, each.row.get("survey"), *told]))
                self._place_files(record, each, cells, package)
                self.contents[record.sheet] += 1
                if record is Survey:
                    self._surveys[str(each.row["code"])].append((step.number, each.row))

    def _columns(self, record: type[Record], rows: Sequence[Written]) -> list[Column]:
        given = {name for each in rows for name in self._cells(record, each)}
        return [column for column in record.columns() if column.name in given]

    def _package(self, step: Step) -> Path:
        if step.number not in self.folders:
            about = re.sub(r"[^A-Za-z0-9]+", "-", f"{step.action} {step.subject}")[:48].strip("-")
            self.folders[step.number] = f"{step.number:04d}-{about}"
            (self.folder / self.folders[step.number]).mkdir()
        return self.folder / self.folders[step.number]

    def _cells(self, record: type[Record], each: Written) -> dict[str, str]:
        """The cells that a row of a package needs to say what the change said."""
        found = {}
        for column in record.columns():
            name = column.name
            value, before = each.row[name], None if each.before is None else each.before[name]
            if name in record.key:
                found[name] = _text(record, column, value)
            elif column.required or value != before or self._replaced(record, column, each):
                found[name] = NOT_RECORDED if value is None else _text(record, column, value)
        return found

    def _replaced(self, record: type[Record], column: Column, each: Written) -> bool:
        """Whether a change gave a record another file under the same name."""
        if column.kind != "file":
            return False
        uses = self._uses.get((record.sheet, keys.shown(record.sheet, each.key)), [])
        upto = [sha256 for change, sha256 in uses if change <= each.change]
        return bool(uses) and any(change == each.change for change, _ in uses) and upto[-1:] != upto[-2:-1]

    def _place_files(self, record: type[Record], each: Written, cells: Mapping[str, str], package: Path) -> None:
        """Copy the file that a change brought beside the row that names it."""
        for name in (cells[column] for column in _files_of(record) if column in cells):
            for change, sha256 in self._uses.get((record.sheet, keys.shown(record.sheet, each.key)), ()):
                if change == each.change and sheet_of(name) is None and not (package / name).exists():
                    self._copy(sha256, package / name)

    def _write_surveys(self) -> None:
        for number, folder in self.folders.items():
            step = self.steps[number - 1]
            code = step.subject if step.action in _ACTS_ON_SURVEY else self._whose[number]
            said = [(change, row) for change, row in self._surveys[code] if change <= number]
            (written, row), before = said[-1], said[-2][1] if len(said) > 1 else None
            lines = []
            for column in Survey.columns():
                text = _text(Survey, column, row[column.name])
                if not text and written == number and before is not None and before[column.name] is not None:
                    text = NOT_RECORDED
                if text:
                    lines.append(f"{column.name} = {toml_text(text)}\n")
            (self.folder / folder / SURVEY_FILE).write_text("".join(lines), encoding="utf-8", newline="\n")

    def _write_tables(self) -> None:
        for table in CARRIED:
            path = self.folder / table_file(table.name)
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("w", encoding="utf-8", newline="\n") as file:
                file.writelines(map(_json, carried(self.db, table)))
            if not path.stat().st_size:
                path.unlink()

    def _put_files(self) -> None:
        """Copy the kept files that lie in no package yet."""
        for row in carried(self.db, _table("files")):
            sha256 = row["sha256"]
            if sha256 not in self._placed:
                target = self.folder / FILES / sha256[:2] / sha256[2:]
                target.parent.mkdir(parents=True, exist_ok=True)
                if not self._copy(sha256, target):
                    self.missing.append(f"{row['name']} ({sha256[:12]}…)")
        self.files = len(self._placed)

    def _copy(self, sha256: str, target: Path) -> bool:
        kept = files.path_of(self.db_path, sha256)
        if not kept.is_file():
            return False
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(kept, target)
        if files.hash_of(target) != sha256:
            target.unlink()
            return False
        self._placed.add(sha256)
        return True

    def _write_order(self) -> None:
        with (self.folder / ORDER).open("w", encoding="utf-8", newline="\n") as file:
            file.write(_INTRODUCTION)
            file.write(f"\nformat = {FORMAT}\nprogram = {toml_text(f'firstcoat {collection.__version__}')}\n")
            for step in self.steps:
                lines = {
                    "action": step.action,
                    "subject": step.subject,
                    "by": step.by,
                    "why": step.why,
                    "at": step.at,
                    "folder": self.folders.get(step.number),
                    "package": step.package_sha256,
                    "version": step.tool_version,
                    "hash": step.hash,
                }
                file.write(f"\n[[step]]\nnumber = {step.number}\n")
                file.writelines(f"{name} = {toml_text(text)}\n" for name, text in lines.items() if text is not None)


@cache
def _files_of(record: type[Record]) -> tuple[str, ...]:
    return tuple(column.name for column in record.columns() if column.kind == "file")


def _text(record: type[Record], column: Column, value: Any) -> str:
    """A stored value as a cell that is read as that value again."""
    if value is None or (fills_blank(record, column) and value == blank_of(column)):
        return ""
    return repr(value) if isinstance(value, float) else str(value)


def _table(name: str) -> Any:
    return next(table for table in CARRIED if table.name == name)


def _json(row: Any) -> str:
    return json.dumps(row, ensure_ascii=False, separators=(",", ":")) + "\n"


def _write_checksums(folder: Path) -> None:
    lines = [
        f"{files.hash_of(path)}  {path.relative_to(folder).as_posix()}\n"
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    ]
    (folder / CHECKSUMS).parent.mkdir(exist_ok=True)
    (folder / CHECKSUMS).write_text("".join(lines), encoding="utf-8", newline="\n")
