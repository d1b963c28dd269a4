"""Laws over the chain from recorded tests to severity, on drawn evidence. The objects are invented."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import objects as o
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.strategies._internal.random import ArtificialRandom
from objects import severities

from collection.compute.case import Case
from collection.compute.loss.outcome import outcomes
from collection.language.words import SEVERITY_RANK
from collection.language.work_words import RESPONSE


def ends(rows: list[Any], *steps: dict[str, Any]) -> dict[str, tuple[float, float, float]]:
    """The loss interval of each kept thing; of several coats the worst."""
    found = outcomes(Case(o.facts(rows)), o.proposal(*steps))
    result: dict[str, Any] = {}
    for outcome in found:
        key = f"{outcome.place}/{outcome.thing}"
        old = result.get(key, (0.0, 0.0, 0.0))
        result[key] = tuple(max(a, b) for a, b in zip(old, outcome.lost, strict=True))
    return result


responses = st.sampled_from(RESPONSE.words)
tests_ = st.tuples(
    st.integers(2, 4),
    responses,
    st.sampled_from(("acetone", "ethanol", "1 acetone + 3 white spirit")),
    st.sampled_from((None, 5.0, 10.0, 30.0, 120.0)),
    st.sampled_from((None, "spray", "rolled swab", "rubbed swab", "immersion")),
    st.sampled_from((None, "2015-03", "2020-05-02", "2022~")),
)
many = st.lists(tests_, max_size=5)
covers = st.sampled_from(("intact", None, "partial", "trace", "absent"))
step = st.fixed_dictionaries(
    {
        "action": st.just("solvent"),
        "agent": st.sampled_from(("acetone", "ethanol", "1 acetone + 3 white spirit")),
        "dwell_s": st.sampled_from((None, 5.0, 10.0, 60.0)),
        "application": st.sampled_from((None, "spray", "rolled swab", "rubbed swab")),
    }
)
other = st.sampled_from(
    (
        {"action": "dust"},
        {"action": "heat"},
        {"action": "strip"},
        {"action": "polish", "depth_um": 5.0, "depth_sd_um": 1.0},
    )
)
plans = st.lists(st.one_of(step, other), min_size=1, max_size=3)


def rows_of(evidence: list[Any], cover: str | None, start: int = 0) -> list[Any]:
    rows = []
    for i, (position, response, agent, dwell, application, on) in enumerate(evidence, start):
        rows += o.met(f"T{i}", position, response, agent, dwell=dwell, application=application, on=on)
    return o.base(*rows, later_cover=cover)


def never_lower(before: dict[str, str], after: dict[str, str]) -> None:
    for key, severity in before.items():
        assert SEVERITY_RANK[after.get(key, "clear")] >= SEVERITY_RANK[severity], (key, severity, after.get(key))


@given(many, covers, plans, tests_)
def test_unfavourable_evidence_added_never_lowers_a_severity_or_the_low_end(
    evidence: list[Any], cover: str | None, plan: list[Any], extra: tuple[Any, ...]
) -> None:
    if extra[1] == "none seen":
        return
    before, after = rows_of(evidence, cover), rows_of([*evidence, extra], cover)
    never_lower(severities(before, *plan), severities(after, *plan))
    low, more = ends(before, *plan), ends(after, *plan)
    assert all(more[key][0] >= low[key][0] - 1e-9 for key in low)


@given(many, covers, plans, tests_)
def test_a_none_seen_never_raises_and_its_removal_never_lowers(
    evidence: list[Any], cover: str | None, plan: list[Any], extra: tuple[Any, ...]
) -> None:
    extra = (extra[0], "none seen", *extra[2:])
    without, with_it = rows_of(evidence, cover), rows_of([*evidence, extra], cover)
    never_lower(severities(with_it, *plan), severities(without, *plan))
    a, b = ends(with_it, *plan), ends(without, *plan)
    assert all(x <= y + 1e-9 for key in a for x, y in zip(a[key], b[key], strict=True))


@given(many, plans)
def test_a_thinner_cover_never_lowers_a_severity(evidence: list[Any], plan: list[Any]) -> None:
    order = ["intact", "partial", "trace", "absent"]
    found = [severities(rows_of(evidence, cover), *plan) for cover in order]
    for thick, thin in pairwise(found):
        never_lower(thick, thin)


@given(many, covers, plans, st.one_of(step, other))
def test_one_more_step_never_lowers_a_severity(
    evidence: list[Any], cover: str, plan: list[Any], extra: dict[str, Any]
) -> None:
    rows = rows_of(evidence, cover)
    never_lower(severities(rows, *plan), severities(rows, *plan, extra))
    never_lower(severities(rows, *plan), severities(rows, extra, *plan))


@given(many, covers, step, st.sampled_from(("dwell_s", "application")))
def test_leaving_a_condition_of_the_step_out_never_clears(
    evidence: list[Any], cover: str, plan: dict[str, Any], name: str
) -> None:
    rows = rows_of(evidence, cover)
    blank = severities(rows, {**plan, name: None})
    for key, severity in severities(rows, plan).items():
        if blank[key] in ("stood", "clear"):
            assert severity in ("stood", "clear")


@given(many, covers, step, st.sampled_from((2.0, 10.0)))
def test_harsher_conditions_never_lower_a_severity_or_an_end(
    evidence: list[Any], cover: str | None, plan: dict[str, Any], by: float
) -> None:
    if plan["dwell_s"] is None:
        return
    rows, longer = rows_of(evidence, cover), {**plan, "dwell_s": plan["dwell_s"] * by}
    never_lower(severities(rows, plan), severities(rows, longer))
    a, b = ends(rows, plan), ends(rows, longer)
    assert all(y >= x - 1e-9 for key in a for x, y in zip(a[key], b[key], strict=True))


@given(many, covers, plans, st.randoms(use_true_random=False))
def test_the_order_of_records_makes_no_difference(
    evidence: list[Any], cover: str | None, plan: list[Any], random: ArtificialRandom
) -> None:
    rows = rows_of(evidence, cover)
    shuffled = rows[:]
    random.shuffle(shuffled)
    assert o.facts(shuffled).sha256 == o.facts(rows).sha256
    assert severities(shuffled, *plan) == severities(rows, *plan)


@given(many, covers, plans)
def test_leaving_every_colour_out_never_clears(evidence: list[Any], cover: str, plan: list[Any]) -> None:
    rows = rows_of(evidence, cover)
    blank = [r.model_copy(update={"colour": None}) if r.sheet == "layers" else r for r in rows]
    never_lower(severities(rows, *plan), severities(blank, *plan))
