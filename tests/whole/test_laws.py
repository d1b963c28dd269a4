"""The laws of the warning, over the whole of `assess`: precaution, and work that touches nothing raises nothing.

Objects and proposals are drawn at random (tests/builders/examined.py); FIRSTCOAT_EXAMPLES sets how many of each.
"""

from __future__ import annotations

from typing import Any

import examined as e
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.strategies._internal.random import ArtificialRandom

from collection.compute.build_up.actions import KIND_OF_ACTION, LAYS
from collection.compute.case import Case
from collection.compute.loss.outcome import NOT_EXAMINED
from collection.language.words import SEVERITY_RANK
from collection.language.work_words import REACH_OF_ACTION, WETTING_RUBBING
from collection.records import sheets as r
from collection.records.sheets import Condition, Layer, Record, Reserve, Response
from collection.rules.assess import assess
from collection.rules.findings import Assessment, Loss

some = settings(max_examples=max(1, settings().max_examples // 3))
CLEARED = ("stood", "clear")


def assessed(rows: list[Record], plan: list[dict[str, Any]]) -> Assessment:
    return assess(Case(e.facts(rows)), e.proposal(plan))


def told_instead(loss: Loss, after: Assessment) -> list[Loss]:
    """The lines of `after` that tell of a loss: its own; else what is told of its scheme in the place, found or not, or
    of the place as one that was never examined."""
    same = [each for each in after.losses if each.id == loss.id]
    return same or [
        each
        for each in after.losses
        if (each.place == loss.place and (each.thing.split("/")[0] == loss.thing.split("/")[0]))
        or (each.thing == NOT_EXAMINED and (loss.thing == NOT_EXAMINED or each.place in (loss.place, "all")))
    ]


def never_lower(before: Assessment, after: Assessment, *, ends: int = 3, only: str | None = "*") -> None:
    """No loss of `before` is less severe, nor any of the first `ends` ends of its share lower, in `after`; of one
    scheme `only`."""
    for loss in before.losses:
        if only not in ("*", loss.scheme):
            continue
        found = max(told_instead(loss, after), key=lambda each: SEVERITY_RANK[each.severity], default=None)
        assert SEVERITY_RANK[found.severity if found else "clear"] >= SEVERITY_RANK[loss.severity], (
            loss.id,
            loss.severity,
            loss.message,
            found and (found.severity, found.message),
        )
        if found is not None and found.id == loss.id and loss.share is not None and found.share is not None:
            assert all(a >= b - 1e-9 for a, b in zip(found.share[:ends], loss.share[:ends], strict=True)), (
                loss.id,
                loss.share,
                found.share,
            )
    assert only != "*" or SEVERITY_RANK[after.outcome] >= SEVERITY_RANK[before.outcome]


def spots(rows: list[Record]) -> list[tuple[str, int]]:
    return [(row.sample, row.position) for row in rows if isinstance(row, Layer)]


@some
@given(e.examined(), e.plans)
def test_intervals_run_from_low_to_high_within_one(rows: list[Any], plan: list[Any]) -> None:
    found = assessed(rows, plan)
    shares = [loss.share for loss in found.losses] + [finding.share for finding in found.findings]
    for share in shares:
        assert share is None or 0 <= share[0] <= share[1] <= share[2] <= 1 + 1e-9
    for total in (found.surviving_m2, found.loss_m2, found.loss_share, found.intended_m2):
        assert total is None or 0 <= total[0] <= total[1] + 1e-9 <= total[2] + 2e-9


@some
@given(e.examined(), e.plans, st.data())
def test_unfavourable_evidence_added_never_lowers(rows: list[Any], plan: list[Any], data: st.DataObject) -> None:
    what = data.draw(e.one_of("test", "test", "condition", "reserve"))
    if what == "test":
        extra: list[Any] = data.draw(e.tested("TX", spots(rows), None))
        assume(extra[-1].response != "none seen")
    elif what == "condition":
        extra = [
            Condition(
                object=e.OBJ,
                place=data.draw(e.one_of(*e.PLACES)),
                phenomenon="flaking",
                observed_on="2024-01",
                severity=2,
                active="yes",
            )
        ]
    else:
        extra = [Reserve(object=e.OBJ, reserve="RX", place=data.draw(e.one_of(*e.PLACES)), kind="window")]
    # A first test that only drew colour bounds what it takes, and with it what lies under it, from above.
    never_lower(assessed(rows, plan), assessed([*rows, *extra], plan), ends=1 if what == "test" else 3)


@some
@given(e.examined(), e.plans, st.data())
def test_a_none_seen_added_never_raises(rows: list[Any], plan: list[Any], data: st.DataObject) -> None:
    extra = data.draw(e.tested("TX", spots(rows), "none seen"))
    never_lower(assessed([*rows, *extra], plan), assessed(rows, plan))


@some
@given(e.examined(), e.plans, st.data())
def test_an_absence_taken_away_never_lowers(rows: list[Any], plan: list[Any], data: st.DataObject) -> None:
    absent = [row for row in rows if isinstance(row, Layer) and row.coverage == "absent"]
    assume(absent)
    gone = data.draw(e.one_of(*absent))
    # Its tests met nothing that is still there to be named.
    left = [
        row
        for row in rows
        if row is not gone
        and not (isinstance(row, Response) and (row.sample, row.position) == (gone.sample, gone.position))
    ]
    named = {row.test for row in left if isinstance(row, Response)}
    left = [row for row in left if not (isinstance(row, r.Test) and row.test not in named)]
    same = [row for row in rows if row in left or row is gone]
    # For what lies beneath it an absence is a thinner cover.
    never_lower(assessed(same, plan), assessed(left, plan), ends=0, only=gone.scheme)


@some
@given(e.examined(), e.plans, st.data())
def test_a_smaller_window_never_clears_more_than_a_larger_one(
    rows: list[Any], plan: list[Any], data: st.DataObject
) -> None:
    """Its severities are those of the larger, and no end of what it takes is more. Work that lays failing finish or
    leaves a coat keeps more from what follows the more of the place it meets."""
    number, (small, large) = data.draw(st.integers(0, len(plan) - 1)), data.draw(e.one_of((0.1, 0.4), (0.01, None)))
    assume(KIND_OF_ACTION[plan[number]["action"]] != "adds")
    less, more = (
        assessed(rows, [*plan[:number], {**plan[number], "area_m2": area}, *plan[number + 1 :]])
        for area in (small, large)
    )
    assert {loss.id: loss.severity for loss in less.losses} == {loss.id: loss.severity for loss in more.losses}
    never_lower(less, more)


@some
@given(e.examined(), e.plans, e.steps(), st.data())
def test_one_more_step_never_lowers(
    rows: list[Any], plan: list[Any], extra: dict[str, str | None], data: st.DataObject
) -> None:
    assume(extra["action"] not in LAYS)
    adds = KIND_OF_ACTION[extra["action"]] == "adds"
    # A coat that is added first lies on top in the middle of what follows.
    at = len(plan) if adds else data.draw(st.integers(0, len(plan)))
    never_lower(assessed(rows, plan), assessed(rows, [*plan[:at], extra, *plan[at:]]))


@some
@given(e.examined(), e.plans, st.data())
def test_harsher_conditions_never_lower(rows: list[Any], plan: list[Any], data: st.DataObject) -> None:
    number = data.draw(st.integers(0, len(plan) - 1))
    step = plan[number]
    harsher = dict(step)
    if step.get("dwell_s") is not None:
        harsher["dwell_s"] = step["dwell_s"] * data.draw(e.one_of(1.0, 3.0, 50.0))
    if step.get("ph") is not None:
        harsher["ph"] = step["ph"] + (0.8 if step["ph"] > 7 else -0.8)
    if step.get("application") is not None:
        wet, rub = WETTING_RUBBING[step["application"]]
        harsher["application"] = data.draw(
            e.one_of(*(way for way, (w, r) in WETTING_RUBBING.items() if w >= wet and r >= rub))
        )
    if step.get("depth_um"):
        harsher["depth_um"] = step["depth_um"] * 2
    if step.get("temperature_c") is not None:
        harsher["temperature_c"] = step["temperature_c"] + data.draw(e.one_of(0.0, 25.0, 200.0))
    never_lower(assessed(rows, plan), assessed(rows, [*plan[:number], harsher, *plan[number + 1 :]]))


@some
@given(e.examined(), e.plans, st.data())
def test_leaving_a_number_out_never_clears(rows: list[Any], plan: list[Any], data: st.DataObject) -> None:
    number = data.draw(st.integers(0, len(plan) - 1))
    given_ = [
        name
        for name in ("dwell_s", "application", "ph", "temperature_c", "depth_um", "depth_sd_um", "agent", "stop_at")
        if plan[number].get(name) is not None
    ]
    assume(given_)
    blank = {**plan[number], data.draw(e.one_of(*given_)): None}
    before, after = assessed(rows, plan), assessed(rows, [*plan[:number], blank, *plan[number + 1 :]])
    for loss in before.losses:
        if loss.severity not in CLEARED:
            assert any(found.severity not in CLEARED for found in told_instead(loss, after)), (loss.id, loss.severity)


@some
@given(e.examined(), e.plans, st.data())
def test_a_blank_in_a_test_or_a_coat_never_clears(rows: list[Any], plan: list[Any], data: st.DataObject) -> None:
    """Leaving out a condition of a test, or what was seen of a coat."""
    columns: dict[type[Any], tuple[str, ...]] = {
        r.Test: ("dwell_s", "application", "tested_on", "passes"),
        Layer: ("colour", "binder", "thickness_um", "binder_basis"),
    }
    able = [
        (index, name)
        for index, row in enumerate(rows)
        for name in columns.get(type(row)) or ()
        if getattr(row, name) is not None
    ]
    assume(able)
    index, name = data.draw(e.one_of(*able))
    blanked = [*rows[:index], rows[index].model_copy(update={name: None}), *rows[index + 1 :]]
    before, after = assessed(rows, plan), assessed(blanked, plan)
    if before.outcome not in CLEARED:
        assert after.outcome not in CLEARED, (name, before.outcome, after.outcome)


@some
@given(e.examined(), e.plans, st.data())
def test_a_thinner_cover_never_lowers_what_lies_under_it(rows: list[Any], plan: list[Any], data: st.DataObject) -> None:
    """Of a coat that is shown to be later and may go."""
    order = ["intact", "partial", "trace", "absent"]
    at = data.draw(st.integers(0, len(order) - 2))
    place = data.draw(e.one_of("door", "panel", "body", "sill"))
    may_go = [
        row.model_copy(update={"keep": "may go"}) if isinstance(row, r.Scheme) and row.scheme == "3" else row
        for row in rows
    ]
    thick, thin = ([*may_go, *e.covered(place, cover)] for cover in order[at : at + 2])
    never_lower(assessed(thick, plan), assessed(thin, plan), ends=0)


@some
@given(e.examined(), e.plans, st.data())
def test_work_that_cannot_touch_a_coat_changes_nothing(rows: list[Any], plan: list[Any], data: st.DataObject) -> None:
    idle = [action for action, reach in REACH_OF_ACTION.items() if reach == "none"]
    extra = {"action": data.draw(e.one_of(*idle)), "place": data.draw(e.one_of(*e.PLACES))}
    assert assessed(rows, [extra]).losses == ()
    assert assessed(rows, [extra]).outcome == "clear"
    before, after = assessed(rows, plan), assessed(rows, [*plan, extra])
    assert before.losses == after.losses
    assert (before.outcome, before.loss_m2, before.loss_share) == (after.outcome, after.loss_m2, after.loss_share)


@some
@given(e.examined(), e.plans, st.randoms(use_true_random=False))
def test_the_order_of_records_makes_no_difference(rows: list[Any], plan: list[Any], random: ArtificialRandom) -> None:
    shuffled = rows[:]
    random.shuffle(shuffled)
    before, after = assessed(rows, plan), assessed(shuffled, plan)
    assert before == after


@some
@given(e.examined(), e.steps(), e.steps())
def test_steps_in_different_places_may_be_done_in_either_order(
    rows: list[Any], one: dict[str, str | None], other: dict[str, str | None]
) -> None:
    one, other = {**one, "place": "pole"}, {**other, "place": "sill"}
    first, second = assessed(rows, [one, other]), assessed(rows, [other, one])
    assert {loss.id: (loss.severity, loss.share) for loss in first.losses} == {
        loss.id: (loss.severity, loss.share) for loss in second.losses
    }
    assert first.loss_m2 == pytest.approx(second.loss_m2) if first.loss_m2 else second.loss_m2 is None
