"""A case keeps what was computed of one object, and all of it goes with the case."""

from __future__ import annotations

import gc
import weakref

import objects as o

from collection.compute.build_up.places import places_of
from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case, kept
from collection.compute.effects.trials import trials
from collection.compute.risk.standing import standing_threats
from collection.compute.stratigraphy.strata import strata
from collection.compute.survival.sampling import where_next
from collection.compute.survival.survey import original
from collection.compute.survival.survival import survival_json
from collection.rules.assess import assess

ROWS = [*o.once("softened"), *o.section("S2", o.RED, o.VARNISH, o.BLACK), *o.fails()]


def test_an_answer_is_computed_once_for_each_case_and_argument() -> None:
    asked = []

    @kept
    def twice(case: Case, number: int) -> int:
        asked.append((case, number))
        return 2 * number

    one, other = Case(o.facts(ROWS)), Case(o.facts(ROWS))
    assert [twice(one, 3), twice(one, 3), twice(one, 4), twice(other, 3)] == [6, 6, 8, 6]
    assert asked == [(one, 3), (one, 4), (other, 3)]


def test_what_is_asked_again_is_the_very_answer() -> None:
    case = Case(o.facts(ROWS))
    for ask in (places_of, trials, original, strata):
        assert ask(case) is ask(case)
    assert stack_of(case, "door") is stack_of(case, "door")


def test_a_case_and_its_answers_go_at_once_without_a_search_for_rings() -> None:
    """A refresh of a whole collection runs with that search turned off, and lets each object go in turn."""
    gc.collect()
    gc.disable()
    try:
        case = Case(o.facts(ROWS))
        found = assess(case, o.proposal(o.ACETONE, {"action": "scrape", "depth_um": 20.0, "depth_sd_um": 3.0}))
        assert found.losses
        survival_json(case), where_next(case), standing_threats(case), strata(case)
        gone = [weakref.ref(each) for each in (case, case.facts, places_of(case), original(case).made_of["door"][0])]
        del case, found
        assert [ref() for ref in gone] == [None] * 4
    finally:
        gc.enable()
