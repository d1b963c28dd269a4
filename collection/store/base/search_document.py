"""The search document of an object: its words, and the facets that searches are narrowed by.

Facets are tokens of letters and digits. Some hold for the whole object (`kindhand kindpump`, `hazardlead
hazardpaint`). For each sort of coat in each state of a place there is one token of state, period and role, followed by
its colours. So the index alone can answer for one coat in one place.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache, lru_cache
from operator import itemgetter
from typing import Any, NamedTuple

from collection.language.phrases import BETWEEN, indexed, tokens
from collection.records.facts import FACT_SHEETS, Facts, current, surely_in_state
from collection.records.row import Record
from collection.records.sheets import Hazard

FACETS = ("period", "state", "role", "colour", "kind", "agent", "hazard", "unexamined")
"""What a search can be narrowed by."""
JOINT = f" {BETWEEN} "
COAT = "ǁ"
"""Begins the token of a sort of coat, and nothing else."""
NOT_EXAMINED = "not examined"

Row = Mapping[str, Any]


class Found(NamedTuple):
    """One coat or decoration in one place, as filters see it; blanks are None. `state` is the state of the place, or
    for a decoration its own. A scheme that was found nowhere has neither state nor place."""

    state: str | None
    period: str | None
    role: str | None
    colour: str | None
    place: str | None
    sheet: str
    key: tuple[Any, ...]


def text_columns(record: type[Record]) -> tuple[str, ...]:
    """The columns that word search reads: no names of people, no figures, nothing private."""
    return _text_columns(record)


@cache
def _text_columns(record: type[Record]) -> tuple[str, ...]:
    return tuple(
        c.name
        for c in record.columns()
        if not (c.private or c.is_number or c.kind in ("person", "points", "file"))
        and c.name not in ("notes", "audience", "object")
    )


def words_of(facts: Facts) -> str:
    """Every distinct text of an object's records, once."""
    texts: dict[str | None, None] = {}
    sheets: list[tuple[Record, ...]] = [(facts.object,), *(getattr(facts, sheet) for sheet in FACT_SHEETS)]
    for rows in sheets:
        if rows:
            cells = [row.__dict__ for row in rows]
            for name in text_columns(type(rows[0])):
                texts.update(dict.fromkeys(map(itemgetter(name), cells)))
    return JOINT.join([indexed(text) if "/" in text else text for text in texts if text])


def facets_of(facts: Facts, states: Mapping[str, str], decorations: Mapping[str, str]) -> str:
    """The facets of an object as text for the index.

    :param states: the zone state of each place.
    :param decorations: the same of each decoration.
    """
    single = {facet("state", state) for state in states.values()}
    if NOT_EXAMINED in states.values():
        single.add(facet("unexamined", "yes"))
    dangers = hazards_on(facts.hazards)
    if dangers:
        single.add(facet("hazard", "any"))
    used = {*(t.agent for t in facts.tests), *(s.agent for s in facts.treatment_steps)}
    named = {
        ("kind", facts.object.kind),
        *(("hazard", row.kind) for row in dangers),
        *(("agent", name) for agent in used for name in liquids(agent)),
    }
    coats: dict[str, set[str]] = {}
    # Most coats are of few sorts: each sort is turned into words once.
    sorts: set[tuple[str | None, str | None, str | None, str | None]] = set()
    sheets = {sheet: [row.__dict__ for row in getattr(facts, sheet)] for sheet in ("schemes", "samples", "layers")}
    gone = surely_in_state(facts.decorations, "decoration", "state", ("not found",))
    there = [row.__dict__ for code, row in current(facts.decorations, "decoration").items() if code not in gone]
    for coat in coats_of(sheets, there, states, decorations):
        sorts.add(coat[:4])
    for state, period, role, colour in sorts:
        for name, value in (("state", state), ("period", period), ("role", role)):
            if value:
                single.add(facet(name, value))
        coats.setdefault(coat_facet(state, period, role), set()).add(colour or "")
    return JOINT.join(
        (
            " ".join(sorted(single)),
            *sorted(facet_words(name, value) for name, value in named),
            *(
                f"{coat} {JOINT.join(sorted(facet_words('colour', c) for c in colours if c))}".rstrip()
                for coat, colours in sorted(coats.items())
            ),
        )
    )


def coats_of(
    sheets: Mapping[str, Sequence[Row]],
    decorations: Sequence[Row],
    states: Mapping[str, str],
    decorated: Mapping[str, str],
) -> Iterator[Found]:
    """Every coat and decoration that a filter can match. What was looked for and not found is not among them.

    :param sheets: the rows of schemes, samples and layers.
    :param decorations: one row for each decoration.
    """
    periods = {row["scheme"]: row["period"] for row in sheets.get("schemes", ())}
    for scheme, period in periods.items():
        yield Found(None, period, None, None, None, "schemes", (scheme,))
    places = {row["sample"]: row["place"] for row in sheets.get("samples", ())}
    for row in sheets.get("layers", ()):
        if row.get("coverage") == "absent" or row.get("coverage_pct") == 0:
            continue
        scheme = row.get("scheme")
        place = places.get(row["sample"])
        yield Found(
            states.get(place or ""),
            periods.get(scheme, row.get("period")) if scheme else row.get("period"),
            row["role"],
            row.get("colour"),
            place,
            "layers",
            (row["sample"], row["position"]),
        )
    for row in decorations:
        code = row["decoration"]
        yield Found(
            decorated.get(code), periods.get(row.get("scheme")), row["kind"], None, row["place"], "decorations", (code,)
        )


def hazards_on(rows: Sequence[Hazard]) -> list[Hazard]:
    """The hazards, without those that somebody surely looked for later and did not find."""
    gone = surely_in_state(rows, "hazard", "status", ("not found",))
    return [row for row in rows if row.hazard not in gone and row.status != "not found"]


def liquids(agent: str | None) -> list[str]:
    """The names in an agent written as parts, `2 ethanol + 1 isooctane`, without their amounts."""
    return [name for term in (agent or "").split("+") if (name := re.sub(r"^[\s\d.,%/:]+", "", term).strip())]


@lru_cache(maxsize=4096)
def facet(name: str, value: str) -> str:
    """One word for the full-text index that says a property and its value: `role` and `body colour` give
    `rolebodycolour`. Letters and figures only, so that no tokenizer splits it."""
    return name + "".join(letter for letter in value.casefold() if letter.isalnum())


@lru_cache(maxsize=65536)
def facet_words(name: str, value: str) -> str:
    """The words of a value, each with its property before it: a phrase for the index."""
    return " ".join(name + token for token in tokens(value))


@lru_cache(maxsize=4096)
def coat_facet(state: str | None, period: str | None, role: str | None) -> str:
    """One word for a sort of coat in a state of its place."""
    return facet(COAT, "".join(part for part in (state, period, role) if part))
