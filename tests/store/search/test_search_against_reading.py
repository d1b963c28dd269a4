"""A search finds what reading every record finds, and says where and on whose evidence."""

from __future__ import annotations

import re
import unicodedata
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_collection import COLOURS, EVERY, PERIODS, ROLES, SEEDS, WORDS

from collection.compute.case import Case
from collection.compute.survival.survival import decoration_survival, object_survival
from collection.language import words
from collection.language.phrases import phrase
from collection.records.facts import FACT_SHEETS, Facts, current, surely_in_state
from collection.store.base import database
from collection.store.base.search_document import liquids
from collection.store.search.filters import Filters
from collection.store.search.search import search


def plain(text: str) -> list[str]:
    """The words and figures of a text without case and diacritics; a Munsell notation is its hue and one word."""
    text = re.sub(r"\b(\d+(?:\.\d+)?[RY]) (\d+)/(\d+)\b", r"\1 M\2v\3\1", re.sub(r"\bN 4/", "N Mneutral4", text))
    text = re.sub(r"(M\d+v\d+)(\d+)\.(\d)([RY])", r"\1q\2q\3\4", text)
    bare = "".join(c for c in unicodedata.normalize("NFD", text.lower()) if not unicodedata.combining(c))
    return re.findall(r"[^\W_]+", bare)


def within(wanted: list[str], text: str | None) -> bool:
    held = plain(text or "")
    return any(held[at : at + len(wanted)] == wanted for at in range(len(held) - len(wanted) + 1))


def cells_of(facts: Facts) -> list[str]:
    found = [facts.object.object + " " + facts.object.title]
    for row in (facts.object, *(row for sheet in FACT_SHEETS for row in getattr(facts, sheet))):
        found += [
            value
            for column in type(row).columns()
            if column.kind not in ("person", "points", "file")
            and column.name not in ("object", "audience")
            and isinstance(value := getattr(row, column.name), str)
        ]
    return found


def meets(facts: Facts, asked: Filters) -> bool:
    """The filters read literally, over records: one coat or decoration for the first four, the object for the rest."""
    states = {p.place: p.state for p in object_survival(Case(facts)).places}
    decorated = {d.decoration: d.state for d in decoration_survival(Case(facts))}
    periods = {s.scheme: s.period for s in facts.schemes}
    places = {s.sample: s.place for s in facts.samples}
    things: list[tuple[str | None, ...]] = [(state, None, None, None) for state in states.values()]
    things += [(None, period, None, None) for period in periods.values()]
    things += [
        (states.get(places[row.sample]), periods[row.scheme] if row.scheme else row.period, row.role, row.colour)
        for row in facts.layers
        if row.coverage != "absent"
    ]
    gone = surely_in_state(facts.decorations, "decoration", "state", ("not found",))
    things += [
        (decorated.get(code), periods.get(row.scheme or ""), row.kind, None)
        for code, row in current(facts.decorations, "decoration").items()
        if code not in gone
    ]
    if (asked.state or asked.period or asked.role or asked.colour) and not any(
        (not asked.state or state in asked.state)
        and (not asked.period or period in asked.period)
        and (not asked.role or role in asked.role)
        and (not asked.colour or any(within(plain(text), colour) for text in asked.colour))
        for state, period, role, colour in things
    ):
        return False
    if asked.unexamined and "not examined" not in states.values():
        return False
    if asked.kind and not any(within(plain(text), facts.object.kind) for text in asked.kind):
        return False
    if asked.agent and not any(
        within(plain(text), name) for test in facts.tests for name in liquids(test.agent) for text in asked.agent
    ):
        return False
    absent = surely_in_state(facts.hazards, "hazard", "status", ("not found",))
    there = [h.kind for h in facts.hazards if h.status != "not found" and h.hazard not in absent]
    return not asked.hazard or any(
        text == "any" or within(plain(text), kind) for kind in there for text in asked.hazard
    )


def some(values: tuple[str, ...]) -> st.SearchStrategy[tuple[str, ...]]:
    listed = st.sampled_from([value for value in values if value])
    return st.just(()) | st.lists(listed, min_size=1, max_size=2, unique=True).map(tuple)


NARROWED = st.builds(
    Filters,
    period=some(PERIODS),
    state=some(words.ZONE_STATE.words),
    role=some((*ROLES, "lettering")),
    colour=some((*COLOURS, "brown", "foncé", "absent colour")),
    kind=some(("tram", "hand pump", "trailer")),
    agent=some(("acetone", "isooctane", "ammonium citrate", "ammonium", "ethanol")),
    hazard=some(("any", "lead", "lead paint", "white lead", "asbestos")),
    unexamined=st.booleans(),
)
ASKED = st.lists(
    st.sampled_from(
        [
            *(w for w in WORDS if w),
            "7.5R 3/8",
            "5R 3/8",
            "7.5R",
            "varnish",
            "Z1",
            "1987.0",
            "between sharp",
            "red",
            "brown",
            "lining",
            "1908",
            "cross-section",
            "Penrose",
            "Quist",
            "green sharp",
            "OHM-191",
            "N 4/",
        ]
    ),
    max_size=2,
    unique=True,
)


@pytest.mark.slow
@settings(max_examples=200)
@given(seed=st.sampled_from(SEEDS), narrowed=NARROWED, asked=ASKED)
def test_a_search_finds_what_reading_every_record_finds(
    opened: dict[int, Any], known: dict[int, list[Facts]], seed: int, narrowed: Filters, asked: list[str]
) -> None:
    """Words, phrases and every filter, each alone and together, against a reading of all facts."""
    if not asked and not narrowed.given:
        return
    wanted = {
        facts.object.object
        for facts in known[seed]
        if meets(facts, narrowed)
        and (
            all(any(within(plain(word), cell) for cell in cells_of(facts)) for word in asked)
            or (len(asked) == 1 and facts.object.object.startswith(asked[0]))
        )
    }
    answer = search(opened[seed], asked, narrowed, EVERY)
    assert {hit.object for hit in answer.hits} == wanted
    assert answer.total == len(wanted) == len(answer.hits)
    assert (answer.near is None) == bool(wanted)
    assert search(opened[seed], asked, narrowed, 3).hits == answer.hits[:3]


@pytest.mark.parametrize("name", ["period", "state", "role", "colour", "kind", "agent", "hazard", "unexamined"])
def test_every_filter_tells_some_objects_from_others(
    opened: dict[int, database.Database], known: dict[int, list[Facts]], name: str
) -> None:
    """So that the comparison above cannot pass for want of anything to find."""
    value = {
        "period": ("early",),
        "state": ("original covered",),
        "role": ("lettering",),
        "colour": ("green",),
        "kind": ("hand pump",),
        "agent": ("acetone",),
        "hazard": ("lead",),
        "unexamined": True,
    }[name]
    narrowed: dict[str, Any] = {name: value}
    totals = [search(db, [], Filters(**narrowed), EVERY).total for db in opened.values()]
    assert all(0 < total < len(known[seed]) for seed, total in zip(opened, totals, strict=True)) or name == "unexamined"
    assert sum(totals) > 0


@pytest.mark.parametrize("seed", SEEDS)
def test_a_reason_holds_the_word_and_a_place_its_state(opened: dict[int, database.Database], seed: int) -> None:
    for asked in (["crazed"], ["varnish"], ["7.5R 3/8"], ["green", "dark"], ["naive"], ["lin*"]):
        for hit in search(opened[seed], asked, limit=EVERY).hits:
            wanted = [phrase(word) for word in asked]
            assert all(any(one.in_text(reason.value) for reason in hit.reasons) for one in wanted), (asked, hit)
            assert all(reason.evidence.survey == "S1" for reason in hit.reasons)
            for spot in hit.places:
                stored = (
                    opened[seed]
                    .execute(
                        "SELECT state, present, read, traces FROM survival_places WHERE object = ? AND place = ?",
                        (hit.object, spot.place),
                    )
                    .fetchone()
                )
                assert stored in (None, (spot.state, spot.present, spot.read, spot.traces))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_places_of_filters_hold_one_coat_that_meets_them_all(
    opened: dict[int, database.Database], known: dict[int, list[Facts]], seed: int
) -> None:
    facts = {f.object.object: f for f in known[seed]}
    asked = Filters(
        state=("original covered", "original fragmentary", "original not found"), role=("body colour", "varnish")
    )
    hits = search(opened[seed], [], asked, EVERY).hits
    assert hits
    for hit in hits:
        places = {s.sample: s.place for s in facts[hit.object].samples}
        coated = {
            places[row.sample]
            for row in facts[hit.object].layers
            if row.role in asked.role and row.coverage != "absent"
        }
        assert hit.places
        assert all(spot.state in asked.state and spot.place in coated for spot in hit.places)
