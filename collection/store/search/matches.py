"""Which records of an object answer a search, and in which of its places."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from collection.language.phrases import Phrase, excerpt
from collection.records.facts import FACT_SHEETS, current
from collection.records.sheets import BY_SHEET, Hazard
from collection.store.base.facts_text import OBJECT
from collection.store.base.listed_cells import LISTED, listed_cells
from collection.store.base.names import Names
from collection.store.base.search_document import JOINT, NOT_EXAMINED, coats_of, hazards_on, liquids, text_columns
from collection.store.search.filters import ANY, Filters
from collection.store.search.searched_object import Json, SearchedObject

Key = tuple[Any, ...]
Cell = tuple[str, str]
Entry = tuple[str, Json, str | None, str]
"""A matching record: its sheet, its row, the column with the word, and what it says."""

MOST_REASONS = 3
_FINISHES = ("decorations", "layers", "schemes", "analyses")
_TOLD = ("objects", *_FINISHES, *(sheet for sheet in FACT_SHEETS if sheet not in _FINISHES))
"""The order in which records are given as reasons: those that speak of finishes first."""


@dataclass(frozen=True)
class Asked:
    """What was searched for. `named` has the documents whose code or key was asked for, with that record; `known` says
    which stored codes are read as which."""

    phrases: tuple[Phrase, ...]
    filters: Filters
    named: Mapping[int, tuple[str, Key] | None]
    known: Names | None = None
    _seen: dict[str, tuple[int, ...]] = field(default_factory=dict)

    def held_by(self, text: str) -> tuple[int, ...]:
        """Which of the phrases a text contains, by their index; remembered, because objects share most of their words."""
        found = self._seen.get(text)
        if found is None:
            found = self._seen[text] = tuple(n for n, one in enumerate(self.phrases) if one.in_text(text))
        return found


def worded(one: SearchedObject, asked: Asked, narrowed: set[str]) -> tuple[list[str], list[Entry]]:
    """The places of the records that hold most of the words, and records that together hold all of them."""
    records = _holding(one, asked, [phrase.start for phrase in asked.phrases])
    listed = {number for cell in one.listed.split(JOINT) for number in asked.held_by(cell)} if one.listed else set()
    if len(listed.union(*(held for *_, held in records))) < len(asked.phrases):
        # A word may be written otherwise than it is compared.
        records = _holding(one, asked, None)
    most = max((len(held) for *_, held in records), default=0)
    places = [place for sheet, row, held in records if len(held) == most for place in one.places_of(sheet, row)]
    reasons: list[Entry] = []
    left = set(range(len(asked.phrases)))
    while left and records and len(reasons) < MOST_REASONS:
        sheet, row, held = max(
            records,
            key=lambda r: (
                len(left & r[2].keys()),
                bool(narrowed) and not narrowed.isdisjoint(one.places_of(r[0], r[1])),
            ),
        )
        answered = left & held.keys()
        if not answered:
            break
        cells: dict[str, str] = dict(held[number] for number in sorted(answered))
        reasons.append((sheet, row, ", ".join(cells), "; ".join(cells.values())))
        left -= answered
    for cell in listed_cells(one.db, one.code) if left & listed else ():
        if len(reasons) < MOST_REASONS and (answered := left.intersection(asked.held_by(cell.text))):
            word = asked.phrases[min(answered)].start
            reasons.append((LISTED, {"cell": cell}, cell.heading, excerpt(cell.text, word)))
            left -= answered
    return places, reasons


def _holding(one: SearchedObject, asked: Asked, starts: list[str] | None) -> list[tuple[str, Json, dict[int, Cell]]]:
    """The records that hold words, each with the cell for each word.

    :param starts: texts of which one stands in each such record; None = any may hold them.
    """
    records: list[tuple[str, Json, dict[int, Cell]]] = []
    if starts is None:
        rows = {sheet: one.facts.rows(sheet) for sheet in FACT_SHEETS}
    else:
        # Only a to z are compared whatever their case; cells with other letters are known from the index.
        rows = one.facts.rows_holding(
            starts, [cell for cell in one.words.split(JOINT) if not cell.isascii() and asked.held_by(cell)]
        )
    rows[OBJECT] = [one.facts.object]
    for sheet in _TOLD:
        if sheet not in rows:
            continue
        columns = text_columns(BY_SHEET[sheet])
        for row in rows[sheet]:
            held: dict[int, Cell] = {}
            for column in columns:
                if value := row.get(column):
                    for number in asked.held_by(value):
                        held.setdefault(number, (column, value))
            if sheet == OBJECT:
                for number in asked.held_by(one.code):
                    held.setdefault(number, ("number", one.code))
            if held:
                records.append((sheet, row, held))
    return records


def filtered(one: SearchedObject, asked: Filters) -> tuple[list[str], list[Entry]]:
    """The places that the filters narrow to, and the records that meet them."""
    places: list[str] = []
    found: list[Entry] = []
    if not asked.given:
        return places, found
    if asked.of_coats:
        places, found = _coats(one, asked)
    elif asked.state:
        places = [place for place, state in one.states.items() if state in asked.state]
        if not places:
            there, states = one.decorations(), one.decorated()
            found = [
                ("decorations", row, None, f"{row['kind']}, {states[code]}")
                for code, row in there.items()
                if states.get(code) in asked.state
            ]
            places = [row["place"] for _, row, _, _ in found]
    if asked.unexamined and not places:
        places = [place for place, state in one.states.items() if state == NOT_EXAMINED]
    if asked.agent:
        used: list[Entry] = [
            (sheet, row, "agent", row["agent"])
            for sheet in ("tests", "treatment_steps")
            for row in one.facts.rows(sheet)
            if any(wanted.in_text(name) for name in liquids(row.get("agent")) for wanted in asked.phrases("agent"))
        ]
        places = places or [row["place"] for _, row, _, _ in used]
        found += used
    if asked.hazard:
        rows = {(row["hazard"], row.get("observed_on")): row for row in one.facts.rows("hazards")}
        dangers = [
            danger
            for danger in hazards_on([Hazard.model_construct(**row) for row in rows.values()])
            if ANY in asked.hazard or any(wanted.in_text(danger.kind) for wanted in asked.phrases("hazard"))
        ]
        found += [
            ("hazards", rows[danger.hazard, danger.observed_on], None, danger.kind)
            for danger in current(dangers, "hazard").values()
        ]
    if asked.kind:
        found.append(("objects", one.facts.object, "kind", one.facts.object["kind"]))
    return list(dict.fromkeys(places)), found


def _coats(one: SearchedObject, asked: Filters) -> tuple[list[str], list[Entry]]:
    """The places of the coats and decorations that the filters ask for, and these records."""
    # Only these coats can be met.
    texts = [f'"role":"{role}"' for role in asked.role]
    layers = one.facts.rows_holding(texts).get("layers", []) if texts else one.facts.rows("layers")
    decorations = one.decorations()
    sheets = {"schemes": one.facts.rows("schemes"), "samples": one.facts.rows("samples"), "layers": layers}
    rows: dict[str, dict[Key, Json]] = {
        "schemes": {(row["scheme"],): row for row in sheets["schemes"]},
        "layers": {(row["sample"], row["position"]): row for row in layers},
        "decorations": {(code,): row for code, row in decorations.items()},
    }
    places: list[str] = []
    found: list[Entry] = []
    for coat in coats_of(sheets, list(decorations.values()), one.states, one.decorated()):
        if asked.meets(coat):
            # The state is the place's, and of a coat it says nothing; of a decoration it is its own.
            where = coat.state if coat.sheet == "decorations" else coat.place and f"at {coat.place}"
            said = (coat.role, coat.colour, coat.period and f"{coat.period} scheme", where)
            found.append((coat.sheet, rows[coat.sheet][coat.key], None, ", ".join(part for part in said if part)))
            if coat.place:
                places.append(coat.place)
    return places, sorted(found, key=lambda entry: entry[0] == "schemes")


def row_of(one: SearchedObject, sheet: str, key: Key) -> Json:
    """The record with a key; only the key's own parts where the rules do not read its sheet."""
    names = BY_SHEET[sheet].key
    if sheet in FACT_SHEETS:
        for row in one.facts.rows(sheet):
            if all((row.get(name) or "") == (part or "") for name, part in zip(names, key, strict=True)):
                return row
    return dict(zip(names, key, strict=True))
