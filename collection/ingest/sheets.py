"""A folder read as a survey package: which sheets it holds, their rows, and the files they name.

A package of another kind needs the same four things: `name`, `sheets` (each with its file's name, its
columns and its rows, numbered as the person's editor numbers them), `sha256`, and `attached`.
"""

from __future__ import annotations

import csv
import hashlib
import itertools
import os
import re
import stat
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Protocol

from collection.errors import CouldNot, Fault, WrongCommand
from collection.ingest.faults import SAVE_AS_UTF8, Faults, broken, shortened
from collection.ingest.headings import count_known, match_headings, nearest, plain
from collection.ingest.survey_file import SURVEY_FILE, read_survey_file
from collection.ingest.text_files import Traits, inspect
from collection.records import BY_SHEET, SHEETS, Record

LONGEST_CELL = 131_072
"""Characters in one cell before reading stops; what a column allows is less and told apart later."""
_SEPARATORS = ",;\t"
_TABLES = (".csv", ".tsv")
_NOT_OURS = re.compile(r"\..*|~\$.*|.*~|.*\.(tmp|bak|swp|lock|part)|thumbs\.db|desktop\.ini|__macosx|icon\r", re.I)


@dataclass(frozen=True, slots=True)
class Attached:
    """One file of the package: its name with forward slashes, where it lies, what it holds."""

    name: str
    path: Path
    size: int
    sha256: str


class Sheet(Protocol):
    """One sheet as a package holds it."""

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
        """False where the rows broke off."""
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
    """A survey package, whatever it is made of."""

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
        """Files that lie there but cannot be taken, each with the reason."""
        ...

    def find_sheets(self, faults: Faults) -> frozenset[str]:
        """Fill `sheets`, with their headings matched; the names of sheets that cannot be read come back."""
        ...

    def settle(self, named: frozenset[str], faults: Faults) -> list[Fault]:
        """Faults and warnings about files that nothing names, now that it is known what the sheets name."""
        ...

    def count_rows(self) -> dict[str, int]:
        """How many rows each sheet holds, of a package that is known to be sound."""
        ...

    def unchanged_since_read(self) -> None:
        """:raises CouldNot: when a file was written to in the meantime."""
        ...


@dataclass
class CsvSheet:
    """One CSV file."""

    record: type[Record]
    file: str
    path: Path
    separator: str
    first_row: int
    columns: tuple[str | None, ...]
    traits: Traits
    unheaded: frozenset[int] = frozenset()
    complete: bool = True

    @property
    def decimal_comma(self) -> bool:
        return self.separator != ","

    def row_of(self, row: int, column: str | None) -> int | None:
        return row

    @contextmanager
    def rows(self) -> Iterator[Iterable[tuple[int, list[str]]]]:
        with _text(self.path, self.traits.undecodable) as lines:
            reader = csv.reader(lines, delimiter=self.separator, strict=True)
            for _ in range(self.first_row - 1):
                next(reader)
            yield enumerate(reader, self.first_row)

    def break_off(self, error: str) -> Fault:
        self.complete = False
        return Fault(self.file, self.record.sheet, self._broken_row(), None, None, broken(error))

    def _broken_row(self) -> int:
        with _text(self.path, self.traits.undecodable) as lines:
            row = 0
            try:
                for _ in csv.reader(lines, delimiter=self.separator, strict=True):
                    row += 1
            except csv.Error:
                pass
            return row + 1


@dataclass
class Folder:
    """A package that is a folder. Reading it opens no file outside of it and follows no link."""

    name: str
    path: Path
    files: dict[str, Attached] = field(default_factory=dict)
    refused: dict[str, str] = field(default_factory=dict)
    sheets: list[Sheet] = field(default_factory=list)
    sha256: str = ""
    _stamps: dict[Path, tuple[int, int, int]] = field(default_factory=dict)

    def find_sheets(self, faults: Faults) -> frozenset[str]:
        return _find_sheets(self, faults)

    def settle(self, named: frozenset[str], faults: Faults) -> list[Fault]:
        left = []
        for name in sorted(set(self.files) - named):
            if _sheet_of(name) is not None:
                continue
            if "/" not in name and os.path.splitext(name)[1].lower() in _TABLES:
                faults.add(Fault(name, "", None, None, None,
                                 "No sheet has this name, and no sheet names the file. Sheets are "
                                 f"{', '.join(f'{each.sheet}.csv' for each in SHEETS[1:])}.",
                                 _nearest_sheet(name)))
            else:
                left.append(Fault(name, "", None, None, None,
                                  "No sheet names this file, so it was not kept. Name it in pictures, drawings "
                                  "or sources."))
        left += [Fault(name, "", None, None, None, f"{why} It was left aside.")
                 for name, why in sorted(self.refused.items()) if name not in named]
        return left

    def count_rows(self) -> dict[str, int]:
        counts = {"survey": 1}
        for name, file in self.files.items():
            sheet = _sheet_of(name)
            if sheet is not None and sheet != "survey" and (count := _count_rows(BY_SHEET[sheet], file)):
                counts[sheet] = count
        return {record.sheet: counts[record.sheet] for record in SHEETS if record.sheet in counts}

    def unchanged_since_read(self) -> None:
        for path, stamp in self._stamps.items():
            if _stamp(path) != stamp:
                raise CouldNot(f"{path.name} was changed while it was being read, so nothing was stored. Close "
                               "it in other programs and ingest the package again.")


def open_folder(path: Path) -> Folder:
    """A folder's files, hashed; no sheet is read yet.

    :raises WrongCommand: when there is no such folder, or it holds no survey.toml.
    :raises CouldNot: when it cannot be read.
    """
    if not path.is_dir():
        raise WrongCommand(f"There is no folder {str(path)!r}. A survey package is a folder that holds {SURVEY_FILE}.")
    folder = Folder(path.name or path.resolve().name, path)
    try:
        if not any(_sheet_of(entry.name) for entry in path.iterdir()):
            inside = sorted(p.parent.name for p in path.glob(f"*/{SURVEY_FILE}"))
            hint = f" Its folder {inside[0]!r} does: give that one." if inside else ""
            raise WrongCommand(f"The folder {str(path)!r} holds no {SURVEY_FILE}, so it is no survey package.{hint}")
        for name, found in sorted(_walk(folder, path, "")):
            folder._stamps[found] = _stamp(found)
            folder.files[name] = Attached(name, found, found.stat().st_size, _sha256(found))
    except OSError as error:
        raise CouldNot(f"The package cannot be read: {error.strerror or error} "
                       f"({os.path.basename(error.filename or '') or folder.name}).") from error
    listing = "".join(f"{file.sha256}  {file.name}\n" for file in folder.files.values())
    folder.sha256 = hashlib.sha256(listing.encode()).hexdigest()
    return folder


def _find_sheets(folder: Folder, faults: Faults) -> frozenset[str]:
    """The sheets of a folder, in the order of `SHEETS`, with their headings matched.

    Sheets whose bytes or headings cannot be read become faults; their names come back.
    """
    found: dict[str, str] = {}
    for name in folder.files:
        sheet = _sheet_of(name)
        if sheet is None:
            continue
        if sheet == "survey" and plain(name) != SURVEY_FILE:
            faults.add(Fault(name, "survey", None, None, None,
                             f"In a folder the survey is described by {SURVEY_FILE}, one line to a column.",
                             SURVEY_FILE))
        elif sheet in found:
            faults.add(Fault(name, sheet, None, None, None,
                             f"{found[sheet]} is the same sheet. A package holds each sheet once."))
        else:
            found[sheet] = name
    unread = set()
    for name, why in folder.refused.items():
        sheet = _sheet_of(name)
        if sheet is not None:
            faults.add(Fault(name, sheet, None, None, None, why))
            unread.add(sheet)
    if "survey" not in found and "survey" not in unread:
        faults.add(Fault(SURVEY_FILE, "survey", None, None, None,
                         "This file is missing. It says whose survey this is: code, title, lead, started."))
    for record in SHEETS:
        if record.sheet in found:
            file = folder.files[found[record.sheet]]
            sheet_read = (read_survey_file(file.name, file.path, faults) if record.sheet == "survey"
                          else _csv_sheet(record, file, faults))
            if sheet_read is None:
                unread.add(record.sheet)
            else:
                folder.sheets.append(sheet_read)
    return frozenset(unread)


@contextmanager
def cell_limit() -> Iterator[None]:
    """The longest cell that the csv module reads, which is one setting for the whole process."""
    before = csv.field_size_limit(LONGEST_CELL)
    try:
        yield
    finally:
        csv.field_size_limit(before)


def _walk(folder: Folder, path: Path, inside: str) -> Iterator[tuple[str, Path]]:
    """Every ordinary file with its name in the package; what cannot be taken goes to `refused`."""
    for entry in sorted(os.scandir(path), key=lambda each: each.name):
        name = inside + entry.name
        if _NOT_OURS.fullmatch(entry.name):
            continue
        if not _is_text(entry.name):
            folder.refused[_shown(name)] = "The file's name is no UTF-8 text; rename it."
        elif entry.is_symlink():
            folder.refused[name] = "This is a link, and a link may lead out of the package: put the file itself there."
        elif entry.is_dir():
            yield from _walk(folder, Path(entry.path), f"{name}/")
        elif stat.S_ISREG(entry.stat(follow_symlinks=False).st_mode):
            yield name, Path(entry.path)
        else:
            folder.refused[name] = "This is no ordinary file."


def _sheet_of(name: str) -> str | None:
    """The sheet that a file's name stands for: only files that lie directly in the folder are sheets."""
    stem, suffix = os.path.splitext(name)
    if "/" in name:
        return None
    if plain(name) == SURVEY_FILE:
        return "survey"
    return plain(stem) if suffix.lower() in _TABLES and plain(stem) in BY_SHEET else None


def _csv_sheet(record: type[Record], file: Attached, faults: Faults) -> CsvSheet | None:
    traits, refusal = inspect(file.path)
    if refusal is not None:
        faults.add(Fault(file.name, record.sheet, None, None, None, refusal))
        return None
    with _text(file.path, traits.undecodable) as lines:
        head = list(itertools.islice(lines, 2))
    told = re.fullmatch(r"sep=([,;\t])\r?\n?", head[0], re.I) if head else None
    if told:
        head = head[1:]
    if not head or not head[0].strip():
        faults.add(Fault(file.name, record.sheet, 1, None, None,
                         "The file has no headings. Its first row names the columns: "
                         f"{', '.join(column.name for column in record.columns() if column.required)} …"))
        return None
    separator = told[1] if told else max(_SEPARATORS, key=lambda mark: _rank(record, head[0], mark))
    sheet = CsvSheet(record, file.name, file.path, separator, 3 if told else 2, (), traits)
    heading_row = sheet.first_row - 1
    with _text(file.path, traits.undecodable) as lines:
        reader = csv.reader(lines, delimiter=separator, strict=True)
        try:
            headings = next(itertools.islice(reader, heading_row - 1, None))
        except csv.Error as error:
            faults.add(Fault(file.name, record.sheet, heading_row, None, None, broken(str(error))))
            return None
    before = faults.count
    sheet.columns = match_headings(record, file.name, heading_row, headings, faults)
    sheet.unheaded = frozenset(place for place, heading in enumerate(headings) if not plain(heading))
    if traits.undecodable:
        faults.add(_undecodable(sheet))
    if not any(sheet.columns) and faults.count > before:
        return None
    return sheet


def _rank(record: type[Record], line: str, separator: str) -> tuple[int, int]:
    headings = next(csv.reader([line], delimiter=separator), [])
    return count_known(record, headings), len(headings)


def _undecodable(sheet: CsvSheet) -> Fault:
    """The first cell that is not UTF-8; the others are most likely wrong in the same way."""
    with open(sheet.path, encoding="utf-8-sig", errors="surrogateescape", newline="") as lines:
        try:
            for row, cells in enumerate(csv.reader(lines, delimiter=sheet.separator), 1):
                for place, cell in enumerate(cells):
                    if re.search("[\udc80-\udcff]", cell):
                        column = sheet.columns[place] if place < len(sheet.columns) else None
                        shown = cell.encode("utf-8", "surrogateescape").decode("utf-8", "replace")
                        return Fault(sheet.file, sheet.record.sheet, row, column, shortened(shown),
                                     f"This is not written in UTF-8. {SAVE_AS_UTF8}")
        except csv.Error:
            pass
    return Fault(sheet.file, sheet.record.sheet, None, None, None, f"This file is not written in UTF-8. {SAVE_AS_UTF8}")


def _text(path: Path, undecodable: bool) -> IO[str]:
    return open(path, encoding="utf-8-sig", errors="replace" if undecodable else "strict", newline="")


_MAYBE_BLANK = re.compile(rb"\n[\r\n,;\t ]")


def _count_rows(record: type[Record], file: Attached) -> int:
    """Rows that are not blank. Without quotation marks every line is one, and lines are counted fast."""
    lines = 0
    with open(file.path, "rb") as read:
        last = b"\n"
        while block := read.read(1 << 20):
            if b'"' in block or _MAYBE_BLANK.search(last + block):
                return _count_slowly(record, file)
            lines += block.count(b"\n")
            last = block[-1:]
    return lines - 1 + (last != b"\n") if lines else _count_slowly(record, file)


def _count_slowly(record: type[Record], file: Attached) -> int:
    with _text(file.path, False) as lines:
        head = lines.readline()
    told = re.fullmatch(r"sep=([,;\t])\r?\n?", head, re.I)
    separator = told[1] if told else max(_SEPARATORS, key=lambda mark: _rank(record, head, mark))
    with _text(file.path, False) as lines:
        reader = csv.reader(lines, delimiter=separator, strict=True)
        return sum(any(cell.strip() for cell in cells) for cells in reader) - (2 if told else 1)


def _sha256(path: Path) -> str:
    with open(path, "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _stamp(path: Path) -> tuple[int, int, int]:
    try:
        seen = path.stat()
    except OSError:
        return 0, 0, 0
    return seen.st_ino, seen.st_size, seen.st_mtime_ns


def _is_text(name: str) -> bool:
    try:
        name.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def _shown(name: str) -> str:
    return name.encode("utf-8", "surrogateescape").decode("utf-8", "replace")


def _nearest_sheet(name: str) -> str | None:
    near = nearest(Path(name).stem, list(BY_SHEET))
    return f"{near}.csv" if near else None
