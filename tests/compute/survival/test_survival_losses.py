"""Partial readings, and what a proposal takes of what survives."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from objects import OBJ, proposal
from readings_made import body, found, readings, share, zone
from worked_places import ANY, place, told, treated, work

from collection.compute.case import Case
from collection.compute.loss.outcome import BELOW, NOT_EXAMINED
from collection.compute.survival.survival import object_survival
from collection.records.facts import Facts, facts_of
from collection.records.sheets import Decoration, Layer, Scheme
from collection.rules.assess import assess
from collection.rules.totals import Totals, lost_by_place


@pytest.mark.parametrize(("cover", "middle"), [(None, 0.5), (20.0, 0.2), (80.0, 0.8)])
def test_a_partial_reading_counts_as_the_share_it_says(cover: Any, middle: Any) -> None:
    rows = [body(1.0), *readings("S", "body", *["partial"] * 20)]
    rows = [
        r.model_copy(update={"coverage_pct": cover}) if isinstance(r, Layer) and r.scheme == "1" else r for r in rows
    ]
    survival = object_survival(Case(found(*rows)))
    assert survival.sentence == "Original finish seen at 20 of 20 places looked at"
    assert survival.surviving_m2[1] == pytest.approx(middle, abs=0.06)
    width = survival.surviving_m2[2] - survival.surviving_m2[0]
    assert (width > 0.8) if cover is None else (width < 0.5), "a word leaves open what a measurement does not"


def judged(rows: Any, *steps: Any) -> Any:
    facts: Facts = found(*rows)
    return assess(Case(facts), proposal(*steps))


def test_stripping_a_whole_object_takes_all_of_what_survives() -> None:
    """100 % of it, whatever it is, on places that nobody examined too."""
    rows = [
        body(6.0),
        zone("a", 2.0),
        zone("b", 1.0),
        *readings("S", "a", "intact", "partial", "absent"),
        *readings("B", "b", "trace"),
        *work("a", removed_m2=0.01),
    ]
    result = judged(rows, {"action": "strip", "place": "all"})
    assert result.loss_share == pytest.approx((1.0, 1.0, 1.0))
    assert result.loss_m2 == pytest.approx(result.surviving_m2)
    one = judged(rows, {"action": "strip", "place": "a"})
    assert one.loss_m2[2] < one.surviving_m2[2]
    assert one.loss_share[0] < one.loss_share[1] < one.loss_share[2] < 1


@pytest.mark.parametrize(
    ("outcomes", "expected"),
    [
        # the original scheme that fares worst, end by end
        ([told("a", (0, 0.5, 0.6)), told("a", (0.2, 0.3, 0.9), role="varnish")], {"a": (0.2, 0.5, 0.9)}),
        # no later scheme
        ([told("a", (0, 0.5, 0.6)), told("a", (1, 1, 1), scheme="2")], {"a": (0, 0.5, 0.6)}),
        # a stripe, recorded or met, is not the finish of its place, unless it is all there is
        ([told("a", (0, 0, 0)), told("a", (1, 1, 1), role="lining", decoration="D1")], {"a": (0, 0, 0)}),
        ([told("a", (0, 0, 0)), told("a", (1, 1, 1), role="lining")], {"a": (0, 0, 0)}),
        ([told("a", (1, 1, 1), role="lining")], {"a": (1, 1, 1)}),
        ([told("a", (1, 1, 1), role="lining", decoration="D1")], {}),
        ([told("a", (0, 0, 0)), told("a", (1, 1, 1), role="metal leaf")], {"a": (1, 1, 1)}),
        # where nobody looked, whatever lies there; not what may lie deeper than anybody saw
        ([told("b", (1, 1, 1), scheme=None, thing=NOT_EXAMINED)], {"b": (1, 1, 1)}),
        ([told("a", (1, 1, 1), scheme=None, thing=BELOW)], {}),
    ],
)
def test_what_goes_of_the_finish_of_a_place(outcomes: Any, expected: Any) -> None:
    assert lost_by_place(Case(found(body(2.0))), outcomes) == expected


def test_what_the_work_is_meant_to_take_is_told_apart() -> None:
    outcomes = [
        told("a", (0, 0.5, 0.6)),
        told("b", (0, 1, 1), role="varnish"),
        told("c", (1, 1, 1), scheme=None, thing=NOT_EXAMINED),
    ]
    assert lost_by_place(Case(found(body(2.0))), outcomes, frozenset({"1/varnish"})) == {"b": (0, 1, 1)}
    assert lost_by_place(Case(found(body(2.0))), outcomes, frozenset({"1"})) == {"a": (0, 0.5, 0.6), "b": (0, 1, 1)}


@given(treated(), ANY([(0.0, 0.5, 1.0), (1.0, 1.0, 1.0), (0.2, 0.3, 0.9)]), st.sets(ANY(["body", "a", "b", "w"])))
def test_no_more_goes_than_survives_and_what_is_spared_does_not(rows: Any, lost: Any, touched: Any) -> None:
    totals = Totals(Case(found(*rows)), dict.fromkeys(touched, lost), {})
    if not touched:
        assert totals.loss == (0.0, 0.0, 0.0)
    if totals.loss is not None and totals.surviving is not None:
        assert all(gone <= left for gone, left in zip(totals.loss, totals.surviving, strict=True))
        assert totals.loss[0] <= totals.loss[1] <= totals.loss[2]
    if totals.share is not None:
        assert 0 <= totals.share[0] <= totals.share[1] <= totals.share[2] <= 1
        assert touched or totals.share == (0.0, 0.0, 0.0)
    fewer = Totals(Case(found(*rows)), dict.fromkeys(touched - {"a"}, lost), {})
    if totals.loss is not None and fewer.loss is not None:
        assert fewer.loss[1] <= totals.loss[1] + 1e-9


def test_a_line_is_no_panel() -> None:
    """A lining without an area has none, whether recorded as a decoration or met in a section; else it has its own."""
    stripe = Decoration(object=OBJ, decoration="D1", place="a", kind="lining", scheme="1", state="exposed")
    rows = [
        body(6.0),
        zone("a", 2.0),
        *readings("S", "a", "intact"),
        Layer(object=OBJ, sample="S0", position=9, role="lining", scheme="1", colour="gold", coverage="intact"),
    ]
    lost = {loss.thing: loss.area_m2 for loss in judged([*rows, stripe], {"action": "strip", "place": "a"}).losses}
    assert lost["D1"] is None
    assert [area for thing, area in lost.items() if "lining" in thing] == [None] * sum("lining" in t for t in lost)
    measured = stripe.model_copy(update={"area_m2": 0.003})
    lost = {loss.thing: loss.area_m2 for loss in judged([*rows, measured], {"action": "strip", "place": "a"}).losses}
    assert 0 < lost["D1"][1] <= 0.003


def test_a_decoration_is_never_as_large_as_its_place_on_another_one() -> None:
    stripe = Decoration(
        object=OBJ, decoration="D1", place="body", kind="lining", scheme="1", state="exposed", area_m2=0.003
    )
    rows = [body(6.0), zone("a", 2.0), zone("b", 2.0), *readings("S", "a", "intact"), *readings("B", "b", "intact")]
    result = judged([*rows, stripe], {"action": "strip", "place": "b"})
    assert all(loss.area_m2 is None for loss in result.losses if loss.decoration)


def test_a_part_that_carries_its_scheme_alone_is_stripped_alone() -> None:
    """A second original scheme on another part, never taken off, does not keep a stripped place from being bare."""
    facts = facts_of(
        found(body(2.0)).object,
        [
            *[replace_scheme(s) for s in (("1", "body"), ("1b", "lid"))],
            body(2.0),
            body(1.0, "lid"),
            *readings("S", "body", "intact", "intact"),
            *readings("L", "lid", "intact"),
            *work("body", action="strip"),
        ],
    )
    survival = object_survival(Case(facts))
    assert place(survival, "body").state == "original removed"
    assert share(survival, "body")[2] <= 0.1
    assert share(survival, "lid")[1] > 0.5


def replace_scheme(pair: Any) -> Any:
    code, component = pair
    return Scheme(object=OBJ, scheme=code, name=code, period="original", component=component)


def test_totals_can_be_told_again() -> None:
    survival = object_survival(Case(found(body(1.0), *readings("S", "body", "intact"))))
    assert replace(survival, traces=1).traces == 1
