"""Hours and weeks of planned work: the surface of each step, sums with what steps have in common, the rest of a window."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import objects as o
import pytest
import scipy.stats
from logged_worlds import log, sure

from collection.compute.case import Case
from collection.compute.effort.hours import Surface, Work, of_proposal, plan, rests
from collection.compute.effort.logs import Kind, Logged
from collection.compute.effort.rates import Rates
from collection.records.policy import default_policy
from collection.records.sheets import Component, Reserve, Treatment, TreatmentStep, Zone

POLICY = default_policy().effort
LOGGED = Logged(
    (
        log(20.0, key="T.2/T1/1", part="T.2/body"),
        log(40.0, key="T.2/T1/2", part="T.2/door"),
        log(3.0, "wash", None, "T.3/all", key="T.3/T1/1"),
    ),
    (("polish", "says no hours", 2),),
)
RATES = Rates(LOGGED.logs, POLICY)


def work(label: str, area: Any, action: str = "scrape", binder: str | None = "oil", part: str = "T.1/body") -> Work:
    return Work(label, "door", Kind(action, binder), part, Surface(None if area is None else (area, area, area)))


def test_hours_are_the_rate_times_the_surface_and_weeks_the_hours_of_a_week() -> None:
    found = plan("T.1/P", [work("1", 0.5)], LOGGED, RATES, 38.0)
    (step,) = found.steps
    assert step.hours_per_m2
    assert found.hours == pytest.approx([0.5 * end for end in step.hours_per_m2])
    assert found.weeks == pytest.approx([0.5 * end / 38 for end in step.hours_per_m2])
    assert (step.logs_of_action, step.logs_of_kind) == (2, 2)


def test_work_that_was_never_logged_has_no_hours_and_the_sum_says_what_it_leaves_out() -> None:
    works = [work("1", 0.5), work("2", 0.5, "gild", None), work("3", 0.5, "polish", None), work("4", None)]
    found = plan("T.1/P", works, LOGGED, RATES, 38.0)
    assert found.without == ("2", "3", "4")
    assert found.hours == found.steps[0].hours
    assert [step.why for step in found.steps[1:]] == [
        "no log of this kind of work: note hours and m² when it is next done.",
        "no log of this kind of work (2 logged, none counts: 2 say no hours): note hours and m² next time.",
        "door is not measured: record its area.",
    ]
    assert found.steps[3].hours_per_m2 is not None


def test_nothing_logged_at_all_gives_no_figure_of_anything() -> None:
    found = plan("T.1/P", [work("1", 0.5)], Logged(), None, 38.0)
    assert (found.hours, found.weeks, found.steps[0].hours_per_m2) == (None, None, None)


def test_a_sum_is_wider_than_if_its_steps_were_independent() -> None:
    """Two steps, one worker, one part: the middle is at least that of the steps, the ends lie further out than those of
    independent log-normals of the same widths, drawn here with numpy."""
    works = [work("1", 0.5), work("2", 4.0, "wash", None)]
    found = plan("T.1/P", works, LOGGED, RATES, 38.0)
    assert found.hours
    steps = [step.hours for step in found.steps if step.hours]
    rng = np.random.default_rng(1)
    apart = sum(
        np.exp(rng.normal(math.log(middle), math.log(high / low) / (2 * 1.645), 200_000)) for low, middle, high in steps
    )
    low, high = np.quantile(apart, (0.05, 0.95))
    assert found.hours[2] / found.hours[0] > 1.1 * high / low


def test_the_sum_of_two_equal_steps_that_have_all_in_common_is_twice_one() -> None:
    """With hardly any spread of steps, what differs is the part, which both share: scipy.stats.lognorm of twice the
    surface."""
    rates = Rates([log(20.0)], sure(part=0.6))
    found = plan("T.1/P", [work("1", 0.5, part="T.9/a"), work("2", 0.5, part="T.9/a")], LOGGED, rates, 38.0)
    expected = 20.0 * scipy.stats.lognorm(math.hypot(0.6, 0.6)).ppf((0.05, 0.5, 0.95))
    assert found.hours == pytest.approx(expected, rel=0.05)


def test_a_surface_that_is_not_known_closely_widens_the_hours() -> None:
    close = plan("T", [work("1", 0.5)], LOGGED, RATES, 38.0).hours
    wide = plan(
        "T", [Work("1", "door", Kind("scrape", "oil"), "T.1/body", Surface((0.05, 0.5, 2.0)))], LOGGED, RATES, 38
    )
    assert close
    assert wide.hours
    assert wide.hours[2] / wide.hours[0] > 1.2 * close[2] / close[0]


def test_the_same_question_gets_the_same_answer_and_another_key_nearly_the_same() -> None:
    works = [work("1", 0.5), work("2", 4.0, "wash", None)]
    one, again, other = (plan(key, works, LOGGED, RATES, 38.0).hours for key in ("T.1/P", "T.1/P", "T.1/Q"))
    assert one == again
    assert one != other
    assert one == pytest.approx(other, rel=0.1)


@pytest.mark.parametrize(
    ("step", "area"),
    [
        ({"place": "door"}, 2.0),
        ({"place": "door", "area_m2": 0.3}, 0.3),
        ({"place": "body"}, 2.0),
        ({"place": "all"}, 2.5),
        ({"place": "door", "spares": "pane"}, 1.6),
        ({"place": "door", "spares": "R1"}, 1.95),
        ({"place": "door", "spares": "pane", "action": "replace"}, 2.0),  # a mask keeps nothing of what is replaced
        ({"place": "lamp"}, None),
    ],
)
def test_the_surface_of_a_step_is_its_own_or_its_places_less_what_it_spares(
    step: dict[str, Any], area: float | None
) -> None:
    rows = o.base(
        Zone(object=o.OBJ, zone="pane", component="body", within="door", area_m2=0.4),
        # Of unknown area, but within the door, where it is counted.
        Zone(object=o.OBJ, zone="patch", component="body", within="door"),
        Component(object=o.OBJ, component="lid", name="lid", area_m2=0.5),
        Component(object=o.OBJ, component="lamp", name="lamp"),
        Reserve(object=o.OBJ, reserve="R1", place="door", kind="window", area_m2=0.05),
    )
    found = of_proposal(Case(o.facts(rows)), o.proposal({"action": "scrape", **step}), LOGGED, RATES, 38.0)
    got = found.steps[0].surface
    assert got.area_m2 == (None if area is None else pytest.approx((area,) * 3))
    assert got.unmeasured == (1 if step["place"] in ("all", "lamp") else 0)


def window(*more: Any, **step: Any) -> list[Any]:
    """A window of 0.012 m² in a side of 0.932 m², opened in 3.5 h."""
    return [
        *o.base(sampled=False),
        Component(object=o.OBJ, component="side", name="side", area_m2=0.932),
        Zone(object=o.OBJ, zone="win", component="side", area_m2=0.012),
        Treatment(object=o.OBJ, treatment="T1", purpose="window", treated_by="N. N.", started="2020-05-01"),
        TreatmentStep(
            **{
                "object": o.OBJ,
                "treatment": "T1",
                "step": 1,
                "place": "win",
                "action": "scrape",
                "removed": "2",
                "removed_m2": 0.012,
                "stopped_at": "1",
                "area_m2": 0.012,
                "hours": 3.5,
                **step,
            }
        ),
        *more,
    ]


def test_the_rest_of_a_window_is_its_place_without_it() -> None:
    (rest,) = rests(Case(o.facts(window())), LOGGED, RATES, 38.0)
    assert (rest.place, rest.within, rest.hours, rest.area_m2) == ("win", "side", 3.5, 0.012)
    assert rest.surface.area_m2 == pytest.approx((0.92, 0.92, 0.92))
    assert rest.planned
    (step,) = rest.planned.steps
    assert step.hours_per_m2
    assert rest.planned.hours == pytest.approx([0.92 * end for end in step.hours_per_m2])


def test_what_other_work_took_off_is_no_rest() -> None:
    """A band of 0.2 m² beside the window was stripped of the same scheme: 0.72 m² are left; if nobody measured what was
    taken there, between 0.72 and 0.92."""
    band = Zone(object=o.OBJ, zone="band", component="side", area_m2=0.2)
    strip = {"object": o.OBJ, "treatment": "T1", "step": 2, "place": "band", "action": "solvent", "removed": "2"}
    (rest,) = rests(Case(o.facts(window(band, TreatmentStep(**strip, removed_m2=0.2)))), LOGGED, RATES, 38.0)
    assert rest.surface.area_m2 == pytest.approx((0.72, 0.72, 0.72))
    (rest,) = rests(Case(o.facts(window(band, TreatmentStep(**strip)))), LOGGED, RATES, 38.0)
    assert rest.surface.area_m2 == pytest.approx((0.72, 0.82, 0.92))


def test_a_window_whose_opening_failed_or_was_not_logged_gives_no_hours() -> None:
    (failed,) = rests(Case(o.facts(window(outcome="tried and failed"))), LOGGED, RATES, 38.0)
    assert (failed.planned, failed.hours) == (None, None)
    reserve = Reserve(object=o.OBJ, reserve="R1", place="win", kind="window")
    rows = [row for row in window(reserve) if row.sheet not in ("treatments", "treatment_steps")]
    (unlogged,) = rests(Case(o.facts(rows)), LOGGED, RATES, 38.0)
    assert unlogged.planned is None
    assert unlogged.surface.area_m2 == pytest.approx((0.92, 0.92, 0.92))
    assert rests(Case(o.facts(o.base())), LOGGED, RATES, 38.0) == []


def test_a_strip_uncovered_down_to_a_coat_counts_however_large_and_a_stripped_place_does_not() -> None:
    strip = Zone(object=o.OBJ, zone="win", component="side", area_m2=0.5)
    rows = [row for row in window(removed_m2=0.5, area_m2=0.5) if getattr(row, "zone", None) != "win"]
    assert [each.place for each in rests(Case(o.facts([*rows, strip])), LOGGED, RATES, 38.0)] == ["win"]
    rows = [row for row in window(removed_m2=0.5, area_m2=0.5, stopped_at=None) if getattr(row, "zone", None) != "win"]
    assert rests(Case(o.facts([*rows, strip])), LOGGED, RATES, 38.0) == []
