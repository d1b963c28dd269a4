"""Why an object answers a search, in which of its places, and on whose evidence.

Read from the object's facts document, which holds what the index was made of, and from what survives there.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from collection.compute import ENGINE
from collection.compute.survival.survival import counted
from collection.language.phrases import Phrase
from collection.language.sentences import standing
from collection.language.words import SHEET_NAMES
from collection.records.facts import FACT_SHEETS, current, surely_in_state
from collection.records.sheets import BY_SHEET, Decoration, Hazard
from collection.store.base.facts_text import OBJECT, FactsText
from collection.store.base.names import Names
from collection.store.base.search_document import JOINT, NOT_EXAMINED, coats_of, hazards_on, liquids, text_columns
from collection.store.search.evidence import Evidence, evidence_of
from collection.store.search.filters import ANY, Filters

Json = dict[str, Any]
Key = tuple[Any, ...]
Cell = tuple[str, str]
Entry = tuple[str, Json, str | None, str]
"""A record that answers: its sheet, its row, the column that holds a word, and what it says."""

MOST_REASONS = 3
STATES = (
    "original exposed",
    "original covered",
    "original fragmentary",
    "original removed",
    "original not found",
    NOT_EXAMINED,
)
"""The order in which places are told: what can be seen first."""
_FINISHES = ("decorations", "layers", "schemes", "analyses")
_TOLD = ("objects", *_FINISHES, *(sheet for sheet in FACT_SHEETS if sheet not in _FINISHES))
"""Sheets in the order in which their records are told as reasons: what speaks of finishes first."""
_NOTHING = b'{"object":{"kind":"","title":""}}'


@dataclass(frozen=True)
class Asked:
    """What was searched for; `named` holds the documents whose code or key it was, with that record; `known` tells
    which stored codes are read as which."""

    phrases: tuple[Phrase, ...]
    filters: Filters
    named: Mapping[int, tuple[str, Key] | None]
    known: Names | None = None
    _seen: dict[str, tuple[int, ...]] = field(default_factory=dict)

    def held_by(self, text: str) -> tuple[int, ...]:
        """The places in `phrases` of those that a text holds; kept, because objects share most of their words."""
        found = self._seen.get(text)
        if found is None:
            found = self._seen[text] = tuple(n for n, one in enumerate(self.phrases) if one.in_text(text))
        return found


@dataclass(frozen=True)
class Spot:
    """A place that answers, with what survives there: `present` of `read` readings, `traces` among them; `state`
    None where the place has no surface of its own."""

    place: str
    name: str | None
    state: str | None
    present: int
    read: int
    traces: int

    def as_json(self) -> Json:
        return {
            "place": self.place,
            "name": self.name,
            "state": self.state,
            "present": self.present,
            "read": self.read,
            "traces": self.traces,
        }


@dataclass(frozen=True)
class Reason:
    """One record that answers: `column` and `value` where a text of it holds a word, else what it is; `stands` is how
    the record says that it stands, `not found` among others."""

    sheet: str
    code: str
    stands: str | None
    column: str | None
    value: str
    evidence: Evidence

    @property
    def text(self) -> str:
        """`coat S03/5, colour: “vermilion”`, `decoration DL1 (not found), description: “straw line”`."""
        name = (
            SHEET_NAMES[self.sheet]
            + (f" {self.code}" if self.code else "")
            + (f" ({self.stands})" if self.stands else "")
        )
        return f"{name}, {self.value}" if self.column is None else f"{name}, {self.column}: “{self.value}”"


@dataclass(frozen=True)
class Hit:
    """One object that answers. `places` is empty where its records name none; `sentence` gives the counts of
    what survives on the whole of it; `behind` tells that what is derived of it is not up to date."""

    object: str
    title: str
    about: str
    sentence: str
    unexamined: int
    places: tuple[Spot, ...]
    reasons: tuple[Reason, ...]
    behind: bool

    @property
    def why(self) -> str:
        """The reasons in one line."""
        return "; ".join(reason.text for reason in self.reasons)

    def as_json(self) -> Json:
        return {
            "object": self.object,
            "title": self.title,
            "places": [spot.place for spot in self.places],
            "why": self.why,
            "survives": self.sentence,
            "unexamined_places": self.unexamined,
            "where": [spot.as_json() for spot in self.places],
            "evidence": [
                {
                    "kind": reason.sheet,
                    "key": f"{self.object}/{reason.code}" if reason.code else self.object,
                    "column": reason.column,
                    "value": reason.value,
                    "stands": reason.stands,
                    **reason.evidence.as_json(),
                }
                for reason in self.reasons
            ],
            "up_to_date": not self.behind,
        }


def hits(db: sqlite3.Connection, numbers: Iterable[int], asked: Asked) -> tuple[Hit, ...]:
    """The objects with these documents, in this order."""
    return tuple(_hit(_Object(db, number), number, asked) for number in numbers)


class _Object:
    """One object's facts with what survives on it."""

    def __init__(self, db: sqlite3.Connection, number: int) -> None:
        self.db = db
        code, words, text, stale, engine, *counts, unexamined = db.execute(
            "SELECT d.object, d.words, CAST(f.document AS BLOB), f.stale, f.engine, s.present, s.read, s.traces, "
            "s.unexamined_places FROM documents AS d LEFT JOIN facts AS f ON f.object = d.object "
            "LEFT JOIN survival_objects AS s ON s.object = d.object WHERE d.id = ?",
            (number,),
        ).fetchone()
        self.code: str = code
        self.words: str = words
        self.facts = FactsText(text or _NOTHING)
        self.behind = stale != 0 or engine != ENGINE
        self.sentence = counted(*(n or 0 for n in counts))
        self.unexamined: int = unexamined or 0
        self.spots: dict[str, tuple[str, int, int, int]] = {
            place: (state, *rest)
            for place, state, *rest in db.execute(
                "SELECT place, state, present, read, traces FROM survival_places WHERE object = ?", (code,)
            )
        }
        self.states = {place: row[0] for place, row in self.spots.items()}

    def places_of(self, sheet: str, row: Json) -> list[str]:
        """The places that a record speaks of."""
        if sheet in ("zones", "components"):
            return [row[sheet[:-1]]]
        if place := row.get("place"):
            return [place]
        for outer, column in (("samples", "sample"), ("tests", "test")):
            if sheet in ("layers", "analyses", "pictures", "responses") and (code := row.get(column)):
                held = self.facts.row(outer, column, code)
                return [held["place"]] if held else []
        if sheet in ("treatments", "pictures") and row.get("treatment"):
            return [
                step["place"] for step in self.facts.rows("treatment_steps") if step["treatment"] == row["treatment"]
            ]
        if sheet == "schemes":
            return [
                place
                for (place,) in self.db.execute(
                    "SELECT place FROM survival_schemes WHERE object = ? AND scheme = ? AND present > 0",
                    (self.code, row["scheme"]),
                )
            ]
        return [row["component"]] if row.get("component") else []

    def spot(self, place: str) -> Spot:
        row = self.facts.row("zones", "zone", place) or self.facts.row("components", "component", place) or {}
        state, present, read, traces = self.spots.get(place, (None, 0, 0, 0))
        return Spot(place, row.get("name"), state, present, read, traces)

    def decorated(self) -> dict[str, str]:
        """The state of each decoration."""
        return dict(
            self.db.execute(
                "SELECT decoration, state FROM survival_decorations WHERE object = ?", (self.code,)
            ).fetchall()
        )

    def decorations(self) -> dict[str, Json]:
        """Each decoration as it is now, less those surely looked for and not found."""
        rows = {(row["decoration"], row.get("observed_on")): row for row in self.facts.rows("decorations")}
        known = [Decoration.model_construct(**row) for row in rows.values()]
        gone = surely_in_state(known, "decoration", "state", ("not found",))
        return {
            code: rows[code, newest.observed_on]
            for code, newest in current(known, "decoration").items()
            if code not in gone
        }


def _hit(one: _Object, number: int, asked: Asked) -> Hit:
    found: list[Entry] = []
    spoken: list[str] = []
    named = asked.named.get(number)
    if named is not None:
        row = _row(one, *named)
        found, spoken = [(named[0], row, None, "as asked for")], one.places_of(named[0], row)
    elif number in asked.named:
        found = [("objects", one.facts.object, "number", one.code)]
    narrowed, by_filter = _filtered(one, asked.filters)
    if asked.phrases and not found:
        spoken, found = _worded(one, asked, set(narrowed))
    places = [place for place in narrowed if place in spoken] or narrowed or spoken
    # Of the records that meet the filters, those in a place that is shown.
    here = [
        entry
        for entry in by_filter
        if not places
        or entry[0] in ("objects", "hazards")
        or not set(one.places_of(entry[0], entry[1])).isdisjoint(places)
    ]
    about = one.facts.object
    spots = [one.spot(place) for place in dict.fromkeys(places)]
    return Hit(
        one.code,
        about["title"],
        ", ".join(part for part in (about["kind"], about.get("maker"), about.get("made")) if part),
        one.sentence,
        one.unexamined,
        tuple(sorted(spots, key=lambda spot: STATES.index(spot.state) if spot.state else len(STATES))),
        _first(one, [*found, *(here or by_filter)], asked.known),
        one.behind,
    )


def _worded(one: _Object, asked: Asked, narrowed: set[str]) -> tuple[list[str], list[Entry]]:
    """The places of the records that hold most of the words, and records that together hold all of them."""
    records = _holding(one, asked, [phrase.start for phrase in asked.phrases])
    if len({number for *_, held in records for number in held}) < len(asked.phrases):
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
    return places, reasons


def _holding(one: _Object, asked: Asked, starts: list[str] | None) -> list[tuple[str, Json, dict[int, Cell]]]:
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


def _filtered(one: _Object, asked: Filters) -> tuple[list[str], list[Entry]]:
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


def _coats(one: _Object, asked: Filters) -> tuple[list[str], list[Entry]]:
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


def _row(one: _Object, sheet: str, key: Key) -> Json:
    """The record with a key; only the key's own parts where the rules do not read its sheet."""
    names = BY_SHEET[sheet].key
    if sheet in FACT_SHEETS:
        for row in one.facts.rows(sheet):
            if all((row.get(name) or "") == (part or "") for name, part in zip(names, key, strict=True)):
                return row
    return dict(zip(names, key, strict=True))


def _first(one: _Object, found: Iterable[Entry], known: Names | None) -> tuple[Reason, ...]:
    kept: dict[tuple[str, str], Entry] = {}
    for entry in found:
        kept.setdefault((entry[0], _code(entry[0], entry[1])), entry)
    return tuple(
        Reason(
            sheet,
            code,
            standing(sheet, row),
            column,
            value,
            evidence_of(one.db, one.code, sheet, row, one.facts.row, known),
        )
        for (sheet, code), (_, row, column, value) in list(kept.items())[:MOST_REASONS]
    )


def _code(sheet: str, row: Json) -> str:
    """The key of a record without its object."""
    parts = [row.get(name) for name in BY_SHEET[sheet].key][1:]
    while parts and parts[-1] in (None, ""):
        parts.pop()
    return "/".join("" if part is None else str(part) for part in parts)
