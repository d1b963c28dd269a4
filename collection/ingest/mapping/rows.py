"""Turns a whole list into rows of the sheets, with what is left of each cell and a count of everything.

Every cell of a row that is kept ends in a record, or among the cells that are kept privately with its object, or in
both where the record holds it in another form.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from operator import attrgetter

from collection.ingest.mapping import cells as cells
from collection.ingest.mapping.cells import NOTHING, Part, Taken, folded, is_among
from collection.ingest.mapping.honesty import PLACE_MAY_BE_ALL
from collection.ingest.mapping.list_file.list_rows import ForeignList, ListRow
from collection.ingest.mapping.list_file.workbook import SpreadsheetCell
from collection.ingest.mapping.made_rows import Found, Made, MadeRow, Values
from collection.ingest.mapping.mapping import Mapping, RowsFrom, Rule, is_ordered
from collection.ingest.mapping.report import MappingReport
from collection.ingest.mapping.values import BLANK, Evaluator, Outcome, says_nothing
from collection.ingest.package.faults import shortened
from collection.records.cells import EVERYWHERE
from collection.records.columns import Column
from collection.records.sheets import BY_SHEET, Object, Record

_NO_WHOLE = (
    "the list has parts of this object and no row for the whole (below [parts], whole says how such a row is written, and "
    'without_whole = "first part" lets the first part name it)'
)
MOST_PIECES = 1_000
"""Pieces of one cell that may become rows; a cell with more is not a list of things, and is kept as it is."""


@dataclass(frozen=True, slots=True)
class KeptCell:
    """A cell of the list that is kept with its object."""

    object: str
    heading: str
    value: str
    list_row: int
    taken: bool = False
    """All of its words went into a record, in another form."""


@dataclass
class Carried:
    """The result of a mapped list."""

    sheets: dict[str, list[MadeRow]] = field(default_factory=dict)
    cells: list[KeptCell] = field(default_factory=list)
    report: MappingReport = field(default_factory=MappingReport)


@dataclass
class _Of:
    """The rows of the list that are about one object, and what of their cells has been used.

    `own` are those about the whole of it; `parts` the code of the part that each other one is about, by its number.
    """

    code: str
    rows: list[ListRow] = field(default_factory=list)
    own: list[ListRow] = field(default_factory=list)
    parts: dict[int, Outcome] = field(default_factory=dict)
    kept: dict[int, list[Part]] = field(default_factory=dict)
    read: dict[int, list[Part]] = field(default_factory=dict)

    def use(self, row: ListRow, outcome: Outcome) -> None:
        self.kept.setdefault(row.row, []).extend(outcome.kept)
        self.read.setdefault(row.row, []).extend(outcome.read)


def carry_over(listed: ForeignList, mapping: Mapping) -> Carried:
    """The records that a list makes by a mapping, all of whose headings are in the list."""
    return _Carrier(listed, mapping).run()


class _Carrier:
    def __init__(self, listed: ForeignList, mapping: Mapping) -> None:
        self._listed, self._mapping = listed, mapping
        self.carried = Carried()
        self._report = self.carried.report
        self._evaluate = Evaluator(self._report, mapping.decimal_comma, listed.rows).outcome
        self._report.left_out = {rule.name: 0 for rule in mapping.rules}

    def run(self) -> Carried:
        report = self._report
        report.rows_read, report.rows_blank = len(self._listed.rows), self._listed.blank_rows
        made = self.carried.sheets
        made["objects"] = []
        for each in self._by_object().values():
            values = self._object(each)
            if values is None:
                continue
            made["objects"].append(MadeRow(each.rows[0].row, values))
            report.objects += 1
            report.rows_kept += len(each.rows)
            report.repeated_objects += len(each.own) > 1
            self._more_rows(each)
            self._keep_the_rest(each)
        report.rows_made.update({sheet: len(rows) for sheet, rows in made.items() if rows})
        return self.carried

    def _by_object(self) -> dict[str, _Of]:
        found: dict[str, _Of] = {}
        joined: dict[str, list[str]] = {}
        column = Object.column("object")
        blank, parts = self._mapping.blank, self._mapping.parts
        for row in self._listed.rows:
            rule = next((rule for rule in self._mapping.rules if _leaves_out(rule, row.cells, blank)), None)
            if rule is not None:
                self._report.left_out[rule.name] += 1
                continue
            number = self._evaluate(self._mapping.object, column, "objects.object", row)
            if number.value is None:
                self._set_aside([row], "the object's number is blank or no code")
                continue
            if joined.setdefault(number.value, found_in := self._joined(row)) != found_in:
                self._set_aside([row], "the object's number is joined from other cells than in an earlier row")
                continue
            code, part = (number.value, None) if parts is None else parts.split(number.value)
            each = found.setdefault(code, _Of(code))
            each.rows.append(row)
            if part is None:
                each.own.append(row)
                each.use(
                    row, number if code == number.value else replace(number, kept=(), read=number.kept + number.read)
                )
            else:
                shown = part == number.value
                each.parts[row.row] = Outcome(
                    part, kept=number.kept if shown else (), read=number.read if shown else number.kept + number.read
                )
        return found

    def _joined(self, row: ListRow) -> list[str]:
        """The cells of which a number is joined, where it is: 1 with 23, and 12 with 3, are two things."""
        recipe = self._mapping.object
        several = [row.cells[heading] for heading in recipe.take] if len(recipe.take) > 1 else []
        return ["" if says_nothing(recipe, cell) else folded(cell) for cell in several]

    def _object(self, each: _Of) -> Values | None:
        """The object's own columns; None, and its rows set aside, where one that it needs cannot be said."""
        values: Values = {"object": each.code}
        rows, recipes = each.own, self._mapping.objects
        if not rows:
            # Of the parts' rows only what every object needs may stand for the whole: their condition is not its own.
            recipes = {name: recipe for name, recipe in recipes.items() if Object.column(name).required}
            if recipes and not (self._mapping.parts is not None and self._mapping.parts.first_stands):
                self._set_aside(each.rows, _NO_WHOLE)
                return None
            if recipes:
                self._report.named_by_part.append(each.code)
            rows = each.rows[:1]
        for name, recipe in recipes.items():
            spot, column = f"objects.{name}", Object.column(name)
            outcomes = [self._evaluate(recipe, column, spot, row) for row in rows]
            value = self._agreed(spot, column, outcomes, rows)
            if value is None and column.required:
                self._set_aside(each.rows, f"nothing is said of {name}, and every object needs it")
                return None
            if value is not None:
                values[name] = value
            for row, outcome in zip(rows, outcomes, strict=True):
                if outcome.value in (None, value):
                    each.use(row, outcome)
        return values

    def _agreed(self, spot: str, column: Column, outcomes: list[Outcome], rows: list[ListRow]) -> str | None:
        """What the rows for one object say; where they differ, the first for what it needs, else nothing."""
        listed = list(dict.fromkeys(o.value for o in outcomes if o.value is not None and not o.said))
        if len(listed) > 1:
            self._differ(spot, *(row for row, o in zip(rows, outcomes, strict=True) if o.value in listed))
            return listed[0] if column.required else None
        if listed:
            return listed[0]
        said = next((o.value for o in outcomes if o.said), None)
        if said is not None:
            self._report.said_by_mapping[spot] += 1
        return said

    # Further sheets

    def _more_rows(self, each: _Of) -> None:
        found = [
            one
            for block in self._mapping.rows
            for row in each.rows
            for piece in self._pieces(each, block, row)
            if (one := self._one_row(each, block, row, piece)) is not None
        ]
        broken = {one.series for one in found if one.breaks()} | self._at_odds(found)
        made: dict[str, Made] = {}
        for one in found:
            if one.lacks is not None:
                self._report.rows_not_made[f"{one.record.sheet}.{one.lacks}"] += 1
            elif one.series in broken:
                self._report.rows_not_made[f"{one.record.sheet} before or after it"] += 1
            else:
                self._make(each, made.setdefault(one.record.sheet, Made()), one)

    def _at_odds(self, found: list[Found]) -> set[tuple[str, ...]]:
        """The series in which two rows stand at one position and differ, so that nobody knows what lies there."""
        seen: dict[tuple[str, ...], Values] = {}
        odd: set[tuple[str, ...]] = set()
        for one in found:
            if one.series and one.numbered is None and one.lacks is None:
                known = seen.setdefault((one.record.sheet, *one.key), one.values)
                differing = [name for name, value in one.values.items() if known.get(name, value) != value]
                for name in differing:
                    self._differ(f"{one.record.sheet}.{name}", one.row)
                odd |= {one.series} if differing else set()
        return odd

    def _pieces(self, each: _Of, block: RowsFrom, row: ListRow) -> Iterator[Taken]:
        if block.each is None or block.parted_by is None:
            yield NOTHING
            return
        cell = row.cells[block.each]
        if isinstance(cell, SpreadsheetCell):
            self._report.not_read.setdefault(f"{block.sheet} from {block.each}", Counter())[shortened(cell)] += 1
            return
        whole = cells.whole(block.each, cell)
        pieces = cells.pieces(whole, block.parted_by) if whole.text else []
        if len(pieces) > MOST_PIECES:
            self._report.not_read.setdefault(f"{block.sheet} from {block.each}", Counter())[shortened(whole.text)] += 1
            pieces = []
        for piece in pieces:
            word = folded(piece.text)
            silent = next(
                (
                    name
                    for name in ("blank", "none", "unknown")
                    if word and is_among(word, attrgetter(name)(self._mapping))
                ),
                None,
            )
            if silent == "unknown" and is_ordered(BY_SHEET[block.sheet]):
                yield piece  # somebody saw a coat, and not what it is
            elif silent is not None:
                self._report.said_to_be[silent][block.sheet] += 1
                each.use(row, Outcome(read=piece.parts))
            elif word:
                yield piece

    def _one_row(self, each: _Of, block: RowsFrom, row: ListRow, piece: Taken) -> Found | None:
        """What a row of the list says for one row of a sheet; None where it says nothing for it."""
        record = BY_SHEET[block.sheet]
        numbered = next((name for name, recipe in block.columns.items() if recipe.numbered is not None), None)
        outcomes = {
            name: BLANK
            if name == numbered
            else _part(each, row, record, record.column(name))
            if recipe.part_row
            else self._evaluate(recipe, record.column(name), f"{block.sheet}.{name}", row, piece)
            for name, recipe in block.columns.items()
        }
        values = {"object": each.code} | {name: o.value for name, o in outcomes.items() if o.value is not None}
        lacks = next(
            (c.name for c in record.columns() if c.required and c.name not in values and c.name != numbered), None
        )
        one = Found(block, record, numbered, row, piece, outcomes, values, lacks)
        points = {name for name, recipe in block.columns.items() if recipe.part_row and record.column(name).reference}
        # Nothing is wanting where the cell says that there is none, nor where a row for the whole has no part.
        silent = lacks in outcomes and (
            outcomes[lacks].silent or (block.columns[lacks].part_row and lacks not in points)
        )
        says = any(o.value is not None and not o.said for name, o in outcomes.items() if name not in points)
        if one.breaks() or (says and (one.series or not silent)):
            return one
        for outcome in outcomes.values():
            each.use(row, Outcome(read=outcome.read))
        return None

    def _make(self, each: _Of, made: Made, one: Found) -> None:
        block, values, sheet = one.block, one.values, one.record.sheet
        if one.numbered is not None:
            values[one.numbered] = made.number(
                one.numbered, block.columns[one.numbered].numbered or "", values, one.stands()
            )
        known = made.by_key.get(one.key)
        if known is not None:
            differing = [name for name, value in values.items() if known.get(name, value) != value]
            if differing:
                for name in differing:
                    self._differ(f"{sheet}.{name}", one.row)
                return
            self._report.rows_merged += 1
            known.update(values)
        else:
            made.by_key[one.key] = values
            self.carried.sheets.setdefault(sheet, []).append(MadeRow(one.row.row, values))
        for name, outcome in one.outcomes.items():
            each.use(one.row, outcome)
            if outcome.said and known is None:
                self._report.said_by_mapping[f"{sheet}.{name}"] += 1

    # What is left

    def _keep_the_rest(self, each: _Of) -> None:
        named: dict[str, str] = {}
        for row in each.rows:
            kept, read = _by_heading(each.kept.get(row.row, ())), _by_heading(each.read.get(row.row, ()))
            for heading, cell in row.cells.items():
                if not cell.strip():
                    continue
                if folded(cell) in self._mapping.blank:
                    self._report.said_to_be["blank"][heading] += 1
                    continue
                if cells.is_used_up(cell, kept.get(heading, ())):
                    continue
                used = cells.is_used_up(cell, (*kept.get(heading, ()), *read.get(heading, ())))
                (self._report.kept_as_written if used else self._report.unmapped_cells)[heading] += 1
                if (name := self._name_of(named, heading, cell)) is not None:
                    self.carried.cells.append(KeptCell(each.code, name, cell, row.row, used))

    def _name_of(self, named: dict[str, str], heading: str, cell: str) -> str | None:
        """The heading that a cell is kept under; a further value under one heading gets a number: `Note [2]`.
        None where the same is kept already."""
        number, name = 1, heading
        while name in named or (number > 1 and name in self._listed.headings):
            if named.get(name) == cell:
                return None
            number += 1
            name = f"{heading} [{number}]"
        named[name] = cell
        return name

    def _differ(self, spot: str, *rows: ListRow) -> None:
        self._report.differing.setdefault(spot, []).extend(row.row for row in rows)

    def _set_aside(self, rows: list[ListRow], reason: str) -> None:
        self._report.set_aside.setdefault(reason, []).extend(row.row for row in rows)


def _part(each: _Of, row: ListRow, record: type[Record], column: Column) -> Outcome:
    """The part that a row is about; of a row about the whole, all, where a mapping may say so, or nothing."""
    if (part := each.parts.get(row.row)) is not None:
        return part
    return Outcome(EVERYWHERE) if column.reference == "place" and record.sheet in PLACE_MAY_BE_ALL else BLANK


def _leaves_out(rule: Rule, row: dict[str, str], blank: frozenset[str]) -> bool:
    """Whether a rule leaves a row out; `blank` are the list's words for a blank cell."""
    cell = folded(row[rule.heading])
    if rule.blank is not None:
        matches = (cell in blank | {""}) is rule.blank
    elif rule.holding:
        matches = any(word in cell for word in rule.holding)
    else:
        matches = cell in rule.words
    return matches is not rule.keeps


def _by_heading(parts: Iterable[Part]) -> dict[str, list[Part]]:
    found: dict[str, list[Part]] = {}
    for part in parts:
        found.setdefault(part.heading, []).append(part)
    return found
