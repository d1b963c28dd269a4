"""An .xlsx workbook as a survey package; the pictures and drawings that it names lie beside it."""

from __future__ import annotations

import difflib
import hashlib
import os
import stat
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

from collection.ingest.package.characters import visible
from collection.ingest.package.faults import Faults, shortened
from collection.ingest.package.folder import LARGEST_FILE, Stamp, refuse_changed, sha256_of, stamp_of
from collection.ingest.package.headings import nearest, plain
from collection.ingest.package.sheets import ASIDE, Attached, Sheet
from collection.ingest.package.workbook.parts import Book, BookSheet, Broken, read_book
from collection.ingest.package.workbook.sheets import (
    WorkbookSheet,
    count_filled,
    filled,
    open_sheet,
    read_survey,
    traits_of,
)
from collection.ingest.package.zip_file import refusal
from collection.language.errors import CouldNot, Fault
from collection.records.cells import file_refusal
from collection.records.sheets import BY_SHEET, SHEETS

_MOST_BESIDE, _ALIKE = 500, 0.8
SURVEY_MISSING = (
    "The workbook has no sheet survey, or it is blank. It says whose survey this is, a key and a value "
    "on each row: code, title, lead, started."
)


@dataclass
class Workbook:
    """A package that is a workbook. Of the files beside it only those that its sheets name are looked at."""

    name: str
    path: Path
    book: Book
    files: dict[str, Attached] = field(default_factory=dict)
    refused: dict[str, str] = field(default_factory=dict)
    sheets: list[Sheet] = field(default_factory=list)
    sha256: str = ""
    _aside: list[Fault] = field(default_factory=list)
    _stamps: dict[Path, Stamp] = field(default_factory=dict)

    def find_sheets(self, faults: Faults) -> frozenset[str]:
        unread: set[str] = set()
        places = self._places(faults)
        traits = traits_of(self.book)
        for record in SHEETS:
            place = places.get(record.sheet)
            if place is None:
                continue
            before = faults.count
            try:
                sheet: Sheet | None
                if record.sheet == "survey":
                    sheet = read_survey(self.name, self.book, place, faults)
                else:
                    sheet = open_sheet(record, self.name, self.book, place, traits, faults)
            except Broken as error:
                faults.add(Fault(self.name, record.sheet, None, None, None, str(error)))
                sheet = None
            if sheet is not None:
                self.sheets.append(sheet)
            elif faults.count > before:
                unread.add(record.sheet)
        if "survey" not in unread and not any(sheet.record.sheet == "survey" for sheet in self.sheets):
            faults.add(Fault(self.name, "survey", None, None, None, SURVEY_MISSING))
        return frozenset(unread)

    def _places(self, faults: Faults) -> dict[str, BookSheet]:
        """The sheet of the workbook for each sheet of the survey; any other that is not blank is a fault."""
        found: dict[str, BookSheet] = {}
        for place in self.book.sheets:
            sheet = plain(place.name)
            if sheet in ASIDE:
                continue
            if sheet in found:
                faults.add(
                    Fault(
                        self.name,
                        sheet,
                        None,
                        None,
                        shortened(place.name),
                        f"{shortened(found[sheet].name)} is the same sheet. A workbook holds each sheet once.",
                    )
                )
            elif sheet in BY_SHEET and place.part is not None:
                found[sheet] = place
            else:
                self._other(place, faults)
        return found

    def _other(self, place: BookSheet, faults: Faults) -> None:
        if place.part is None:
            self._aside.append(
                Fault(
                    self.name,
                    "",
                    None,
                    None,
                    shortened(place.name),
                    "This sheet holds no cells but a chart or the like. It was left aside.",
                )
            )
            return
        try:
            if next(filled(self.book, place), None) is None:
                return
        except Broken as error:
            faults.add(Fault(self.name, "", None, None, shortened(place.name), str(error)))
            return
        known = [record.sheet for record in SHEETS]
        faults.add(
            Fault(
                self.name,
                "",
                None,
                None,
                shortened(place.name),
                f"No sheet of a survey has this name. Sheets are {', '.join(known)}. What is for people only "
                f"may stand on sheets called {', '.join(sorted(ASIDE))}.",
                nearest(place.name, known),
            )
        )

    def settle(self, named: frozenset[str], faults: Faults) -> list[Fault]:
        return [
            *self._aside,
            *(doubt for sheet in self.sheets if isinstance(sheet, WorkbookSheet) for doubt in sheet.doubts()),
        ]

    def count_rows(self) -> dict[str, int]:
        places = {plain(place.name): place for place in self.book.sheets}
        counts = {"survey": 1}
        for record in SHEETS[1:]:
            if record.sheet in places and (count := count_filled(self.book, places[record.sheet]) - 1) > 0:
                counts[record.sheet] = count
        return counts

    def unchanged_since_read(self) -> None:
        refuse_changed(self._stamps)


def open_workbook(path: Path) -> Workbook:
    """A workbook and the files that it names, hashed; no sheet is checked yet.

    :raises InputRefused: when the workbook as a whole cannot be taken.
    :raises CouldNot: when it cannot be read from the disk.
    """
    try:
        made = Workbook(visible(path.name), path, Book(path))
        made._stamps[path] = stamp_of(path)
        try:
            made.book = read_book(path)
            names = sorted(_named(made.book))
        except Broken as error:
            raise refusal(path.name, str(error)) from None
        made.files[made.name] = _attached(made.name, path)
        listings: dict[Path, dict[str, os.DirEntry[str]]] = {}
        for name in names:
            _find(made, name, listings)
    except OSError as error:
        raise CouldNot(
            f"The package cannot be read: {error.strerror or error} "
            f"({os.path.basename(error.filename or '') or path.name})."
        ) from error
    listing = "".join(f"{file.sha256}  {file.name}\n" for file in made.files.values())
    made.sha256 = hashlib.sha256(listing.encode()).hexdigest()
    return made


def workbook_of_sheets(path: Path) -> Workbook:
    """A workbook of which only the sheets are looked at; nothing is hashed, and no file beside it is.

    :raises InputRefused: when the workbook as a whole cannot be taken.
    """
    try:
        return Workbook(visible(path.name), path, read_book(path))
    except Broken as error:
        raise refusal(path.name, str(error)) from None


def _named(book: Book) -> Iterator[str]:
    """What the columns of files say, wherever they can be read; faults are found later, with all the others."""
    for place in book.sheets:
        record = BY_SHEET.get(plain(place.name))
        if record is None or not any(column.kind == "file" for column in record.columns()):
            continue
        named: list[int] = []
        try:
            for count, (_, texts) in enumerate(filled(book, place)):
                if not count:
                    named = [at for at, heading in enumerate(texts) if plain(heading) == "file"]
                    continue
                yield from {unicodedata.normalize("NFC", texts[at].strip()) for at in named if at < len(texts)} - {""}
        except Broken:
            continue


def _find(made: Workbook, name: str, listings: dict[Path, dict[str, os.DirEntry[str]]]) -> None:
    """Take a named file that lies beside the workbook; or say in `refused` why it is not taken.

    Each step of the way is looked up in its folder, so that no link is followed and capitals count everywhere;
    `listings` keeps what was seen of folders.
    """
    if name in made.files or file_refusal(name) is not None:
        return
    here = made.path.parent
    for part in name.split("/"):
        if not here.is_dir():
            return
        if here not in listings:
            listings[here] = {unicodedata.normalize("NFC", entry.name): entry for entry in os.scandir(here)}
        entries = listings[here]
        entry = entries.get(part)
        if entry is None:
            near = next((other for other in entries if other.casefold() == part.casefold()), None)
            if near is not None:
                made.refused[name] = (
                    f"No such file lies beside the workbook, but {visible(near)!r} does: capitals "
                    "count. Correct the name."
                )
            elif (other := _elsewhere(made.path.parent, name)) is not None:
                made.refused[name] = (
                    f"No such file lies beside the workbook, but {visible(other)!r} does. If "
                    "that is meant, correct the name; else put the file there."
                )
            return
        if entry.is_symlink():
            made.refused[name] = "This is a link, and a link may lead anywhere: put the file itself there."
            return
        here = Path(entry.path)
    held = here.stat(follow_symlinks=False)
    if stat.S_ISDIR(held.st_mode):
        made.refused[name] = "This is a folder, and a file is asked for."
    elif not stat.S_ISREG(held.st_mode):
        made.refused[name] = "This is no ordinary file; put the file itself there."
    elif held.st_size > LARGEST_FILE:
        made.refused[name] = f"This file is over {LARGEST_FILE >> 30} GB; hand in a smaller one."
    else:
        made._stamps[here] = stamp_of(here)
        made.files[name] = _attached(name, here)


def _elsewhere(folder: Path, name: str) -> str | None:
    """A file of this name, whatever its capitals, or of nearly this name, in the folder or in one right inside it."""
    wanted = name.rsplit("/", 1)[-1].casefold()
    near: dict[str, str] = {}
    places = [folder]
    for inside, place in enumerate(places):
        try:
            with os.scandir(place) as listing:
                entries = sorted(islice(listing, _MOST_BESIDE), key=lambda entry: entry.name)
        except OSError:
            # This is a hint only: a folder that may not be read gives none.
            continue
        for entry in entries:
            if entry.is_file(follow_symlinks=False):
                lies = unicodedata.normalize("NFC", f"{place.name}/{entry.name}" if inside else entry.name)
                near.setdefault(entry.name.casefold(), lies)
            elif not inside and entry.is_dir(follow_symlinks=False):
                places.append(Path(entry.path))
    close = difflib.get_close_matches(
        wanted, [file for file in near if file.endswith(Path(wanted).suffix)], n=1, cutoff=_ALIKE
    )
    return near[close[0]] if close else None


def _attached(name: str, path: Path) -> Attached:
    return Attached(name, path, path.stat().st_size, sha256_of(path))
