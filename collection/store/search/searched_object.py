"""One object that a search found: its facts document, and what survives in its places."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from typing import Any

from collection.compute import ENGINE
from collection.compute.survival.survival import counted
from collection.records.facts import current, surely_in_state
from collection.records.sheets import Decoration
from collection.store.base.facts_text import FactsText

Json = dict[str, Any]
_NOTHING = b'{"object":{"kind":"","title":""}}'


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


class SearchedObject:
    """One object's facts with what survives on it."""

    def __init__(self, db: sqlite3.Connection, number: int) -> None:
        self.db = db
        code, words, listed, text, stale, engine, *counts, unexamined = db.execute(
            "SELECT d.object, d.words, d.listed, CAST(f.document AS BLOB), f.stale, f.engine, s.present, s.read, s.traces, "
            "s.unexamined_places FROM documents AS d LEFT JOIN facts AS f ON f.object = d.object "
            "LEFT JOIN survival_objects AS s ON s.object = d.object WHERE d.id = ?",
            (number,),
        ).fetchone()
        self.code: str = code
        self.words: str = words
        self.listed: str = listed
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
