"""An .xlsx workbook as a survey package; the pictures and drawings that it names lie beside it."""

from __future__ import annotations

import hashlib
import os
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from collection.ingest.package.characters import visible
from collection.ingest.package.faults import Faults, shortened
from collection.ingest.package.files_beside import Listings, find_beside
from collection.ingest.package.folder import Stamp, refuse_changed, sha256_of, stamp_of
from collection.ingest.package.headings import nearest_sheet, plain
from collection.ingest.package.sheets import ASIDE, Attached, Doubt, Sheet
from collection.ingest.package.survey_file import SurveySheet
from collection.ingest.package.workbook.book import Book, BookSheet, Seen, open_book
from collection.ingest.package.workbook.checked_parts import Broken
from collection.ingest.package.workbook.remarks import Spots, remarks
from collection.ingest.package.workbook.sheets import WorkbookSheet, filled, open_sheet, read_survey
from collection.ingest.package.zip_file import refusal
from collection.language.errors import CouldNot, Fault
from collection.records.cells import file_refusal
from collection.records.sheets import BY_SHEET, SHEETS

SURVEY_MISSING = (
    "The workbook has no sheet survey, or it is blank. It says whose survey this is, a key and a value "
    "on each row: code, title, lead, started."
)


_NO_SHEET = (
    f"No sheet of a survey has this name. Sheets are {', '.join(BY_SHEET)}. What is for people only may stand on sheets "
    f"called {', '.join(sorted(ASIDE))}."
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
    _places: dict[str, BookSheet] = field(default_factory=dict)
    _survey_seen: Seen = field(default_factory=Seen)
    _aside: list[Fault] = field(default_factory=list)
    _stamps: dict[Path, Stamp] = field(default_factory=dict)

    def find_sheets(self, faults: Faults) -> frozenset[str]:
        unread: set[str] = set()
        self._places = self._find_places(faults)
        for record in SHEETS:
            place = self._places.get(record.sheet)
            if place is None:
                continue
            before = faults.count
            sheet: Sheet | None = None
            try:
                if record.sheet == "survey":
                    sheet = read_survey(self.name, self.book, place, self._survey_seen, faults)
                else:
                    sheet = open_sheet(record, self.name, self.book, place, faults)
            except Broken as error:
                faults.add(Fault(self.name, record.sheet, None, None, None, str(error)))
            if sheet is not None:
                self.sheets.append(sheet)
            elif faults.count > before:
                unread.add(record.sheet)
        if "survey" not in unread and not any(sheet.record.sheet == "survey" for sheet in self.sheets):
            faults.add(Fault(self.name, "survey", None, None, None, SURVEY_MISSING))
        return frozenset(unread)

    def _find_places(self, faults: Faults) -> dict[str, BookSheet]:
        """The sheet of the workbook for each sheet of the survey; any other that is not blank is a fault."""
        found: dict[str, BookSheet] = {}
        for place in self.book.sheets:
            sheet = plain(place.name)
            if sheet in ASIDE:
                continue
            if place.part is None:
                self._aside.append(
                    self._other(place, "This sheet holds no cells but a chart or the like. It was left aside.")
                )
            elif sheet in found:
                why = f"{shortened(found[sheet].name)} is the same sheet. A workbook holds each sheet once."
                faults.add(self._other(place, why, sheet))
            elif sheet in BY_SHEET:
                found[sheet] = place
            else:
                try:
                    if next(filled(self.book, place), None) is not None:
                        faults.add(self._other(place, _NO_SHEET, nearest=nearest_sheet(place.name)))
                except Broken as error:
                    faults.add(self._other(place, str(error)))
        return found

    def _other(self, place: BookSheet, why: str, sheet: str = "", nearest: str | None = None) -> Fault:
        return Fault(self.name, sheet, None, None, shortened(place.name), why, nearest)

    def settle(self, named: frozenset[str], faults: Faults) -> list[Doubt]:
        found: list[Doubt] = [(aside, None) for aside in self._aside]
        for sheet in self.sheets:
            place, name = self._places[sheet.record.sheet], sheet.record.sheet
            try:
                if isinstance(sheet, WorkbookSheet):
                    found += [(doubt, None) for doubt in sheet.doubts()]
                    found += remarks(
                        self.book, place, sheet.seen, Spots(self.name, name, sheet.columns, sheet.heading_row)
                    )
                elif isinstance(sheet, SurveySheet):
                    keys = {line: key for line, key in zip(sheet.lines, sheet.columns, strict=True) if line is not None}
                    found += remarks(self.book, place, self._survey_seen, Spots(self.name, name, keys=keys))
            except Broken as error:
                faults.add(Fault(self.name, name, None, None, None, str(error)))
        return found

    def count_rows(self) -> dict[str, int]:
        places = {plain(place.name): place for place in self.book.sheets if place.part is not None}
        counts = {"survey": 1}
        for record in SHEETS[1:]:
            if record.sheet in places and (count := sum(1 for _ in filled(self.book, places[record.sheet])) - 1) > 0:
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
            made.book = open_book(path)
            names = sorted(_named(made.book))
        except Broken as error:
            raise refusal(path.name, str(error)) from None
        made.files[made.name] = Attached(made.name, path, path.stat().st_size, sha256_of(path))
        listings: Listings = {}
        for name in names:
            found = None if file_refusal(name) else find_beside(path.parent, name, listings)
            if isinstance(found, Path) and name != made.name:
                made._stamps[found] = stamp_of(found)
                made.files[name] = Attached(name, found, found.stat().st_size, sha256_of(found))
            elif isinstance(found, str):
                made.refused[name] = found
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
        return Workbook(visible(path.name), path, open_book(path))
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
