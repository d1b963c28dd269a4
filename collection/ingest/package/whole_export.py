"""An export of a whole database: survey packages in order, and an index that says what each change was.

OUT/order.toml                       every change: who, why, when, and the folder of its rows
OUT/0001-ingest-H14/                 a survey package: what the change entered or altered, cell by cell
OUT/order/rows/0001.jsonl            of each of its rows: survey, file, row, revision, withdrawn
OUT/order/tables/decisions.jsonl     rows of the program's own tables, each with its change
OUT/order/files/ab/cdef…             kept files that no row of a package names: the packages as they came in
OUT/order/sha256sums.txt             the SHA-256 (FIPS 180-4) of every other file
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from collection.ingest.package.folder import NOT_OURS, sha256_of
from collection.ingest.package.survey_file import read_toml
from collection.language.errors import CouldNot, Fault, InputRefused
from collection.store.changes.replay import Provenance
from collection.store.changes.steps import CARRIED, Step

ORDER, FORMAT = "order.toml", 1
ROWS, TABLES, FILES = "order/rows", "order/tables", "order/files"
CHECKSUMS = "order/sha256sums.txt"
LARGEST_ORDER = 256 << 20
_LINE = re.compile(r"([0-9a-f]{64})  (.+)")
_HOW = "It is written by `firstcoat export` and not by hand."
_WRITTEN_ANEW = "Take the export as it was written, or have it written again."


def is_export(path: Path) -> bool:
    """Whether a path is the folder of an export; what cannot be looked into is told where it is read."""
    return os.path.isfile(path / ORDER)


@dataclass
class Export:
    """An export whose files are all as they were written."""

    path: Path
    steps: tuple[Step, ...]
    folders: dict[int, str]
    files: dict[str, Path]
    """Every file by its SHA-256."""
    _streams: dict[str, _Stream] = field(default_factory=dict)

    def package(self, step: Step) -> Path | None:
        """The survey package with the rows that a change wrote; None where it wrote none."""
        folder = self.folders.get(step.number)
        return None if folder is None else self.path / folder

    def rows(self, step: Step) -> Iterator[Provenance]:
        """Where each row of a change's package came from."""
        path = self.path / rows_file(step.number)
        if path.is_file():
            with path.open(encoding="utf-8") as lines:
                yield from (tuple(json.loads(line)) for line in lines)

    def carried(self, step: Step) -> dict[str, list[dict[str, Any]]]:
        """The rows that a change wrote to the program's own tables; changes are asked for in order."""
        found = {}
        for table in CARRIED:
            path = self.path / table_file(table.name)
            if path.is_file():
                stream = self._streams.setdefault(table.name, _Stream(path))
                found[table.name] = stream.of(step.number)
        return found


class _Stream:
    """The rows of one table, read once in the order of their changes."""

    def __init__(self, path: Path) -> None:
        self._lines = _json_lines(path)
        self._ahead = next(self._lines, None)

    def of(self, change: int) -> list[dict[str, Any]]:
        found = []
        while self._ahead is not None and self._ahead["change"] <= change:
            if self._ahead["change"] == change:
                found.append(self._ahead)
            self._ahead = next(self._lines, None)
        return found


def _json_lines(path: Path) -> Iterator[dict[str, Any]]:
    with path.open(encoding="utf-8") as lines:
        for line in lines:
            yield json.loads(line)


def rows_file(number: int) -> str:
    return f"{ROWS}/{number:04d}.jsonl"


def table_file(name: str) -> str:
    return f"{TABLES}/{name}.jsonl"


def open_export(path: Path) -> Export:
    """The export in a folder, every file held against its checksum.

    :raises InputRefused: where a file is missing, added or changed, or the index cannot be read.
    :raises CouldNot: where a file cannot be read.
    """
    try:
        files = _checked(path)
        _, held, refusal = read_toml(path / ORDER, _HOW, "This index is too large.", LARGEST_ORDER)
    except OSError as error:
        raise CouldNot(f"{error.filename or path} cannot be read: {error.strerror or error}.") from error
    if held is None:
        raise InputRefused([_fault(ORDER, refusal[1], refusal[0])])
    if held.get("format") != FORMAT:
        raise InputRefused(
            [_fault(ORDER, "This export was written by a newer firstcoat than this one. Install that, and try again.")]
        )
    steps, folders = _steps(held.get("step", []))
    return Export(path, steps, folders, files)


def _steps(listed: Sequence[dict[str, Any]]) -> tuple[tuple[Step, ...], dict[int, str]]:
    steps, folders = [], {}
    for number, each in enumerate(listed, 1):
        try:
            if each["number"] != number:
                raise KeyError(number)
            told = {name: str(each[name]) for name in ("at", "by", "why", "action", "subject", "hash")}
            steps.append(
                Step(number=number, tool_version=str(each["version"]), package_sha256=each.get("package"), **told)
            )
        except KeyError as error:
            raise InputRefused([_fault(ORDER, f"Step {number} is not whole. {_WRITTEN_ANEW}")]) from error
        if "folder" in each:
            folders[number] = str(each["folder"])
    return tuple(steps), folders


def _checked(path: Path) -> dict[str, Path]:
    """Every file of the folder by its hash, once all are as the list of checksums says."""
    if not (path / CHECKSUMS).is_file():
        raise InputRefused([_fault(CHECKSUMS, f"This list of the export's files is missing. {_WRITTEN_ANEW}")])
    listed = {}
    for line in (path / CHECKSUMS).read_text(encoding="utf-8", errors="replace").split("\n")[:-1]:
        found = _LINE.fullmatch(line)
        if found is None:
            raise InputRefused([_fault(CHECKSUMS, f"This list of the export's files is damaged. {_WRITTEN_ANEW}")])
        listed[found[2]] = found[1]
    there = dict(_walk(path))
    faults = [_fault(name, f"This file of the export is missing. {_WRITTEN_ANEW}") for name in listed.keys() - there]
    faults += [
        _fault(name, "The export held no such file when it was written. Take it away.")
        for name in there.keys() - listed.keys() - {CHECKSUMS}
    ]
    files = {}
    for name, file in there.items():
        if name in listed:
            if sha256_of(file) != listed[name]:
                faults.append(_fault(name, f"This file was changed after the export was written. {_WRITTEN_ANEW}"))
            files[listed[name]] = file
    if faults:
        raise InputRefused(sorted(faults, key=lambda fault: fault.file))
    return files


def _walk(path: Path) -> Iterator[tuple[str, Path]]:
    for folder, inside, names in os.walk(path):
        inside[:] = [name for name in inside if not (Path(folder) / name).is_symlink()]
        for name in names:
            file = Path(folder) / name
            if file.is_file() and not file.is_symlink() and not NOT_OURS.fullmatch(name):
                yield file.relative_to(path).as_posix(), file


def _fault(file: str, message: str, row: int | None = None) -> Fault:
    return Fault(file, "", row, None, None, message)
