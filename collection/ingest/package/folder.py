"""A folder as a survey package: which sheets it holds, and which other files."""

from __future__ import annotations

import hashlib
import os
import re
import stat
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from collection.ingest.package.characters import visible
from collection.ingest.package.csv_sheet import count_rows, read_csv_sheet
from collection.ingest.package.faults import Faults
from collection.ingest.package.headings import nearest_sheet, plain
from collection.ingest.package.sheets import ASIDE, Attached, Doubt, Sheet
from collection.ingest.package.survey_file import SURVEY_FILE, read_survey_file
from collection.language.errors import CouldNot, Fault, WrongCommand
from collection.records.cells import file_refusal
from collection.records.sheets import BY_SHEET, SHEETS

DEEPEST_FOLDER = 20
LARGEST_FILE = 4 << 30
_TABLES = (".csv", ".tsv")
NOT_OURS = re.compile(r"\..*|~\$.*|.*~|.*\.(tmp|bak|swp|lock|part)|thumbs\.db|desktop\.ini|__macosx|icon\r", re.I)


@dataclass
class Folder:
    """A package that is a folder. Reading it opens no file outside of it and follows no link."""

    name: str
    path: Path
    files: dict[str, Attached] = field(default_factory=dict)
    refused: dict[str, str] = field(default_factory=dict)
    colliding: list[tuple[str, str]] = field(default_factory=list)
    sheets: list[Sheet] = field(default_factory=list)
    sha256: str = ""
    _stamps: dict[Path, Stamp] = field(default_factory=dict)

    def find_sheets(self, faults: Faults) -> frozenset[str]:
        return _find_sheets(self, faults)

    def settle(self, named: frozenset[str], faults: Faults) -> list[Doubt]:
        left = []
        for name in sorted(set(self.files) - named):
            if sheet_of(name) is not None or _is_aside(name):
                continue
            if "/" not in name and os.path.splitext(name)[1].lower() in _TABLES:
                faults.add(
                    Fault(
                        name,
                        "",
                        None,
                        None,
                        None,
                        "No sheet has this name, and no sheet names the file. Sheets are "
                        f"{', '.join(f'{each.sheet}.csv' for each in SHEETS[1:])}.",
                        _nearest_sheet(name),
                    )
                )
            else:
                left.append(
                    Fault(
                        name,
                        "",
                        None,
                        None,
                        None,
                        "No sheet names this file, so it was not kept. Name it in pictures, drawings or sources.",
                    )
                )
        left += [
            Fault(name, "", None, None, None, f"{why} It was left aside.")
            for name, why in sorted(self.refused.items())
            if name not in named
        ]
        return [(fault, None) for fault in left]

    def count_rows(self) -> dict[str, int]:
        counts = {"survey": 1}
        for name, file in self.files.items():
            sheet = sheet_of(name)
            if sheet is not None and sheet != "survey" and (count := count_rows(BY_SHEET[sheet], file)):
                counts[sheet] = count
        return {record.sheet: counts[record.sheet] for record in SHEETS if record.sheet in counts}

    def unchanged_since_read(self) -> None:
        refuse_changed(self._stamps)


def open_folder(path: Path) -> Folder:
    """A folder's files, hashed; no sheet is read yet.

    :raises WrongCommand: when there is no such folder, or it holds no survey.toml.
    :raises CouldNot: when it cannot be read.
    """
    folder = Folder(visible(path.name or path.resolve().name), path)
    try:
        if not path.is_dir():
            raise WrongCommand(
                f"There is no folder {str(path)!r}. A survey package is a folder that holds {SURVEY_FILE}."
            )
        if not any(sheet_of(entry.name) for entry in path.iterdir()):
            inside = sorted(p.parent.name for p in path.glob(f"*/{SURVEY_FILE}"))
            hint = f" Its folder {inside[0]!r} does: give that one." if inside else ""
            raise WrongCommand(f"The folder {str(path)!r} holds no {SURVEY_FILE}, so it is not a survey package.{hint}")
        found_names = sorted(_walk(folder, path, "", 0))
        folder.colliding = colliding(name for name, _ in found_names)
        for name, found in found_names:
            folder._stamps[found] = stamp_of(found)
            folder.files[name] = Attached(name, found, found.stat().st_size, sha256_of(found))
    except OSError as error:
        raise CouldNot(
            f"The package cannot be read: {error.strerror or error} "
            f"({os.path.basename(error.filename or '') or folder.name})."
        ) from error
    listing = "".join(f"{file.sha256}  {file.name}\n" for file in folder.files.values())
    folder.sha256 = hashlib.sha256(listing.encode()).hexdigest()
    return folder


def folder_of_sheets(path: Path) -> Folder:
    """A folder of which only the sheets are looked at; nothing is hashed.

    :raises WrongCommand: when it holds no sheet.
    """
    folder = Folder(visible(path.name or path.resolve().name), path)
    for entry in sorted(path.iterdir()):
        name = unicodedata.normalize("NFC", entry.name)
        if sheet_of(name) is not None and entry.is_file() and not entry.is_symlink() and not NOT_OURS.fullmatch(name):
            folder.files[name] = Attached(name, entry, entry.stat().st_size, "")
    if not folder.files:
        raise WrongCommand(f"The folder {str(path)!r} holds no sheet of a survey.")
    return folder


def _find_sheets(folder: Folder, faults: Faults) -> frozenset[str]:
    """The sheets of a folder, in the order of `SHEETS`, with their headings matched.

    Sheets whose bytes or headings cannot be read become faults; their names come back.
    """
    found: dict[str, str] = {}
    for name in folder.files:
        sheet = sheet_of(name)
        if sheet is None:
            continue
        if sheet == "survey" and plain(name) != SURVEY_FILE:
            faults.add(
                Fault(
                    name,
                    "survey",
                    None,
                    None,
                    None,
                    f"In a folder the survey is described by {SURVEY_FILE}, one line to a column.",
                    SURVEY_FILE,
                )
            )
        elif sheet in found:
            faults.add(
                Fault(
                    name, sheet, None, None, None, f"{found[sheet]} is the same sheet. A package holds each sheet once."
                )
            )
        else:
            found[sheet] = name
    for name, other in folder.colliding:
        if sheet_of(name) is None:
            faults.add(
                Fault(
                    name,
                    "",
                    None,
                    None,
                    None,
                    f"{other} has the same name to many computers, for which capitals and ways of writing "
                    "accents make no difference. Give one of the two files another name.",
                )
            )
    unread = set()
    for name, why in folder.refused.items():
        sheet = sheet_of(name)
        if sheet is not None:
            faults.add(Fault(name, sheet, None, None, None, why))
            unread.add(sheet)
    if "survey" not in found and "survey" not in unread:
        faults.add(
            Fault(
                SURVEY_FILE,
                "survey",
                None,
                None,
                None,
                "This file is missing. It says whose survey this is: code, title, lead, started.",
            )
        )
    for record in SHEETS:
        if record.sheet in found:
            file = folder.files[found[record.sheet]]
            sheet_read = (
                read_survey_file(file.name, file.path, faults)
                if record.sheet == "survey"
                else read_csv_sheet(record, file, faults)
            )
            if sheet_read is None:
                unread.add(record.sheet)
            else:
                folder.sheets.append(sheet_read)
    return frozenset(unread)


def _walk(folder: Folder, path: Path, inside: str, depth: int) -> Iterator[tuple[str, Path]]:
    """Every ordinary file with its name in the package, in NFC; what cannot be taken goes to `refused`."""
    for entry in sorted(os.scandir(path), key=lambda each: each.name):
        name = inside + unicodedata.normalize("NFC", entry.name)
        if NOT_OURS.fullmatch(entry.name):
            continue
        refusal = file_refusal(name)
        if not _is_text(entry.name):
            folder.refused[_shown(name)] = "The file's name is not UTF-8; rename it."
        elif refusal is not None:
            folder.refused[visible(name)] = refusal
        elif entry.is_symlink():
            folder.refused[name] = (
                "This is a link, and a link may point outside the package: put the file itself there."
            )
        elif entry.is_dir() and depth == DEEPEST_FOLDER:
            folder.refused[name] = f"This folder is more than {DEEPEST_FOLDER} folders deep; move it up."
        elif entry.is_dir():
            yield from _walk(folder, Path(entry.path), f"{name}/", depth + 1)
        elif not stat.S_ISREG(entry.stat(follow_symlinks=False).st_mode):
            folder.refused[name] = "This is not an ordinary file; put the file itself there."
        elif entry.stat(follow_symlinks=False).st_size > LARGEST_FILE:
            folder.refused[name] = f"This file is over {LARGEST_FILE >> 30} GB; hand in a smaller one."
        else:
            yield name, Path(entry.path)


def colliding(names: Iterable[str]) -> list[tuple[str, str]]:
    """Names that differ from an earlier one only in capitals or in how accents are written, each with that one."""
    seen: dict[str, str] = {}
    found = []
    for name in names:
        key = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())
        if key in seen:
            found.append((name, seen[key]))
        else:
            seen[key] = name
    return found


def sheet_of(name: str) -> str | None:
    """The sheet that a file's name stands for: only files that lie directly in the folder are sheets."""
    stem, suffix = os.path.splitext(name)
    if "/" in name:
        return None
    if plain(name) == SURVEY_FILE:
        return "survey"
    return plain(stem) if suffix.lower() in _TABLES and plain(stem) in BY_SHEET else None


def _is_aside(name: str) -> bool:
    stem, suffix = os.path.splitext(name)
    return stem in ASIDE and suffix == ".txt"


def sha256_of(path: Path) -> str:
    with open(path, "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


Stamp = tuple[int, int, int]


def stamp_of(path: Path) -> Stamp:
    try:
        seen = path.stat()
    except OSError:
        return 0, 0, 0
    return seen.st_ino, seen.st_size, seen.st_mtime_ns


def refuse_changed(stamps: Mapping[Path, Stamp]) -> None:
    """:raises CouldNot: when one of these files is no longer what it was when it was stamped."""
    for path, before in stamps.items():
        if stamp_of(path) != before:
            raise CouldNot(
                f"{path.name} was changed while it was being read, so nothing was stored. Close it in other "
                "programs and ingest the package again."
            )


def _is_text(name: str) -> bool:
    try:
        name.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def _shown(name: str) -> str:
    return name.encode("utf-8", "surrogateescape").decode("utf-8", "replace")


def _nearest_sheet(name: str) -> str | None:
    near = nearest_sheet(Path(name).stem)
    return f"{near}.csv" if near else None
