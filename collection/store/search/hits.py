"""Why an object answers a search, in which of its places, and on whose evidence.

Read from the object's facts document, which the index was made from, and from what survives there.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass

from collection.language.sentences import standing
from collection.language.words import SHEET_NAMES
from collection.records.sheets import BY_SHEET
from collection.store.base.listed_cells import LISTED, ListedCell
from collection.store.base.names import Names
from collection.store.base.search_document import NOT_EXAMINED
from collection.store.search.evidence import Evidence, evidence_of
from collection.store.search.matches import MOST_REASONS, Asked, Entry, filtered, row_of, worded
from collection.store.search.searched_object import Json, SearchedObject, Spot

STATES = (
    "original exposed",
    "original covered",
    "original fragmentary",
    "original removed",
    "original not found",
    NOT_EXAMINED,
)
"""The order in which places are listed: what can be seen first."""
OF_A_LIST = "cell of a list that no column took whole"


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
            (OF_A_LIST if self.sheet == LISTED else SHEET_NAMES[self.sheet])
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
    return tuple(_hit(SearchedObject(db, number), number, asked) for number in numbers)


def _hit(one: SearchedObject, number: int, asked: Asked) -> Hit:
    found: list[Entry] = []
    spoken: list[str] = []
    named = asked.named.get(number)
    if named is not None:
        row = row_of(one, *named)
        found, spoken = [(named[0], row, None, "as asked for")], one.places_of(named[0], row)
    elif number in asked.named:
        found = [("objects", one.facts.object, "number", one.code)]
    narrowed, by_filter = filtered(one, asked.filters)
    if asked.phrases and not found:
        spoken, found = worded(one, asked, set(narrowed))
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


def _first(one: SearchedObject, found: Iterable[Entry], known: Names | None) -> tuple[Reason, ...]:
    kept: dict[tuple[str, str], Entry] = {}
    for entry in found:
        kept.setdefault((entry[0], str(entry[2]) if entry[0] == LISTED else _code(entry[0], entry[1])), entry)
    return tuple(
        _of_a_list(row["cell"], value)
        if sheet == LISTED
        else Reason(
            sheet,
            code,
            standing(sheet, row),
            column,
            value,
            evidence_of(one.db, one.code, sheet, row, one.facts.row, known),
        )
        for (sheet, code), (_, row, column, value) in list(kept.items())[:MOST_REASONS]
    )


def _of_a_list(cell: ListedCell, value: str) -> Reason:
    read = ", ".join(part for part in (cell.list, cell.row and f"row {cell.row}") if part)
    return Reason(LISTED, "", None, cell.heading, value, Evidence(read or None, None, cell.on, cell.survey, None, None))


def _code(sheet: str, row: Json) -> str:
    """The key of a record without its object."""
    parts = [row.get(name) for name in BY_SHEET[sheet].key][1:]
    while parts and parts[-1] in (None, ""):
        parts.pop()
    return "/".join("" if part is None else str(part) for part in parts)
