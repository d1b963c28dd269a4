"""One column of one row of a list: the text that goes into the record, and what of which cells it used."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Mapping as Table
from collections.abc import Sequence
from dataclasses import dataclass, replace

from collection.ingest.mapping import cells as cells
from collection.ingest.mapping.cells import NOTHING, Part, Taken, folded, is_among
from collection.ingest.mapping.dates.list_dates import ListDates
from collection.ingest.mapping.list_file.list_rows import ListRow
from collection.ingest.mapping.list_file.workbook import SpreadsheetCell
from collection.ingest.mapping.mapping import DateFrom, Recipe
from collection.ingest.mapping.report import MappingReport
from collection.ingest.package.sheets import Refused
from collection.language.errors import BadValue
from collection.records.cells import CLEAR, NOT_RECORDED, read_cell
from collection.records.columns import Column


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a column gets: its text or None, and the parts of cells that stand in it, `kept`, or were `read` into
    another form. `said` tells that the mapping says it, not the list."""

    value: str | None = None
    kept: tuple[Part, ...] = ()
    read: tuple[Part, ...] = ()
    said: bool = False
    silent: bool = False
    """Whether the cell says that there is none, or nothing."""


BLANK = Outcome()
_MONTH = re.compile("[0-9]{4}-[0-9]{2}")
_READ_WITH_GAPS = frozenset({"text", "person", "word"})
"""Kinds of columns in which joined cells are words one after the other; in any other the place of each counts."""


class Evaluator:
    """Recipes carried out on the rows of one list; what cannot be said is counted in the report."""

    def __init__(self, report: MappingReport, decimal_comma: bool, rows: Sequence[ListRow] = ()) -> None:
        self._report, self._comma = report, decimal_comma
        self._dates = ListDates(rows)

    def outcome(self, recipe: Recipe, column: Column, spot: str, listed: ListRow, piece: Taken = NOTHING) -> Outcome:
        """`spot` is how the report names the column; `piece` what `each` has parted off."""
        row = listed.cells
        if recipe.say is not None:
            return Outcome(self._text(column, recipe.say), said=True)
        for heading in recipe.headings:
            if (made := self._spreadsheet(recipe, column, spot, heading, row[heading])) is not None:
                return made
        if recipe.date is not None:
            return self._date(recipe, recipe.date, spot, listed)
        taken = self._taken(recipe, row, piece)
        if len(recipe.take) > 1 and column.kind not in _READ_WITH_GAPS and _has_gap(recipe, row):
            self._unread(
                spot,
                taken.text,
                "A cell is blank before one that is not, so it cannot be told what the later one is a part of.",
            )
            return BLANK
        word = folded(taken.text)
        if not word or is_among(word, recipe.blank):
            return replace(self._when(recipe.when_blank, column), silent=bool(word))
        if is_among(word, recipe.none):
            return self._said_to_be("none", recipe.when_none, recipe, column, spot, taken)
        if is_among(word, recipe.unknown) or word == NOT_RECORDED:
            own = "unknown" if column.words is not None and "unknown" in column.words.words else None
            return self._said_to_be("unknown", recipe.when_unknown or own, recipe, column, spot, taken)
        return self._value(recipe, column, spot, taken)

    def _spreadsheet(self, recipe: Recipe, column: Column, spot: str, heading: str, cell: str) -> Outcome | None:
        """What a cell gives of which a spreadsheet may have made something else; None where its text is read on."""
        if not isinstance(cell, SpreadsheetCell):
            return None
        read = cell.read_for(column)
        if isinstance(read, Refused):
            self._unread(spot, cell, str(read.fault))
            return BLANK
        if (
            len(recipe.headings) > 1
            or recipe.terms is not None
            or recipe.part is not None
            or recipe.characters is not None
        ):
            return None
        # A number has no comma here, whatever marks the decimals of the list, and 1910-12 is a month.
        if column.kind == "number" or (column.kind == "date" and _MONTH.fullmatch(read)):
            try:
                value = self._text(column, read, comma=False)
            except BadValue as fault:
                self._unread(spot, cell, str(fault))
                return BLANK
            return Outcome(value, kept=(Part(heading, 0, len(cell)),))
        return None

    def _taken(self, recipe: Recipe, row: Table[str, str], piece: Taken) -> Taken:
        if recipe.piece:
            taken = piece
        elif len(recipe.take) == 1:
            taken = cells.whole(recipe.take[0], row[recipe.take[0]])
        else:
            several = [cells.whole(heading, row[heading]) for heading in recipe.take]
            several = [NOTHING if says_nothing(recipe, each.text) else each for each in several]
            if recipe.languages:
                return cells.join_marked(several, recipe.languages, recipe.between)
            return cells.join(several, recipe.between)
        if recipe.languages and taken.text and recipe.parted_by is not None:
            several = cells.pieces(taken, recipe.parted_by)
            return (
                cells.join_marked(several, recipe.languages, recipe.between)
                if len(several) == len(recipe.languages)
                else taken
            )
        if recipe.part is not None and recipe.parted_by is not None:
            taken = cells.piece(taken, recipe.parted_by, recipe.part)
        if recipe.characters is not None:
            taken = cells.characters(taken, *recipe.characters)
        return taken

    def _value(self, recipe: Recipe, column: Column, spot: str, taken: Taken) -> Outcome:
        text: str | None = taken.text
        if recipe.terms is None:
            text = recipe.every_list.get(folded(taken.text), taken.text)
        else:
            text = cells.translate(taken.text, recipe.terms)
            if text is None:
                self._untranslated(spot, taken.text, cells.nearest_term(taken.text, recipe.terms_as_written))
                if not recipe.keep_untranslated:
                    return BLANK
                text = taken.text
        try:
            value = self._text(column, text or "")
        except BadValue as fault:
            if column.words is not None and folded(text or "") not in column.words.asks:
                if recipe.terms is None:
                    self._untranslated(spot, taken.text, fault.nearest)
            else:
                self._unread(spot, taken.text, str(fault))
            return BLANK
        if column.is_number or _is_same(column, taken.text, value):
            return Outcome(value, kept=taken.parts)
        return Outcome(value, read=taken.parts)

    def _said_to_be(
        self, what: str, word: str | None, recipe: Recipe, column: Column, spot: str, taken: Taken
    ) -> Outcome:
        self._report.said_to_be[what][spot] += 1
        if word is None:
            instead = self._when(recipe.when_blank, column)
            return Outcome(instead.value, read=taken.parts, said=instead.said, silent=what == "none")
        value = self._text(column, word)
        return (
            Outcome(value, kept=taken.parts)
            if _is_same(column, taken.text, value)
            else Outcome(value, read=taken.parts)
        )

    def _date(self, recipe: Recipe, source: DateFrom, spot: str, listed: ListRow) -> Outcome:
        row = listed.cells
        blank = recipe.blank | {""}
        given = {h: row[h].strip() for h in source.headings if not is_among(folded(row[h]), blank)}
        if not given:
            return BLANK
        unknown = recipe.unknown | {NOT_RECORDED}
        reading = self._dates.read(source, row, recipe.blank | recipe.none | unknown)
        said = folded(given.get(source.qualifier or "", ""))
        if is_among(said, recipe.none | unknown) or reading.says_nothing:
            self._report.said_to_be["none" if is_among(said, recipe.none) else "unknown"][spot] += 1
        shown = " | ".join(given.get(heading, "(blank)") for heading in source.headings)
        if reading.edtf is None:
            if reading.says_nothing:
                return Outcome(read=tuple(Part(heading, 0, len(row[heading])) for heading in given))
            self._report.date_not_understood(spot, shown, listed.row, reading.why or "")
            return BLANK
        for note in reading.notes:
            self._report.date_notes.setdefault(spot, {}).setdefault(note, []).append((shown, reading.edtf, listed.row))
        kept: list[Part] = []
        read: list[Part] = []
        for heading, text in given.items():
            (kept if text in reading.edtf else read).append(Part(heading, 0, len(row[heading])))
        return Outcome(reading.edtf, tuple(kept), tuple(read))

    def _when(self, word: str | None, column: Column) -> Outcome:
        return BLANK if word is None else Outcome(self._text(column, word), said=True)

    def _text(self, column: Column, text: str, comma: bool | None = None) -> str:
        """The text as it is staged, which reads as the same value again.

        :raises BadValue: for what the column cannot hold.
        """
        value = read_cell(column, text, decimal_comma=self._comma if comma is None else comma)
        if value is None or value is CLEAR:
            raise BadValue("A list clears nothing that is stored.")
        return repr(value) if isinstance(value, float) else str(value)

    def _unread(self, spot: str, text: str, why: str) -> None:
        self._report.not_read.setdefault(spot, Counter())[text] += 1
        self._report.why_not_read[spot, text] = why

    def _untranslated(self, spot: str, term: str, nearest: str | None) -> None:
        self._report.untranslated.setdefault(spot, Counter())[term] += 1
        if nearest is not None:
            self._report.nearest[spot, term] = nearest


def says_nothing(recipe: Recipe, cell: str) -> bool:
    """Whether a cell is blank, or holds a word for blank, none or unknown."""
    word = folded(cell)
    return not word or is_among(word, recipe.blank | recipe.none | recipe.unknown)


def _has_gap(recipe: Recipe, row: Table[str, str]) -> bool:
    """Whether, of several cells to be joined, one that says nothing stands before one that says something."""
    silent = [says_nothing(recipe, row[heading]) for heading in recipe.take]
    return silent != sorted(silent)


def _is_same(column: Column, text: str, value: str) -> bool:
    """Whether the record shows what the cell shows, so that nothing is lost when only the record is kept."""
    if column.kind == "word":
        return folded(text) == folded(value)
    return " ".join(_lines(text).split()) == " ".join(value.split())


def _lines(text: str) -> str:
    return unicodedata.normalize("NFC", text)
