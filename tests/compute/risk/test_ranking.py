"""What objects are worth, how threats are ranked, and the order of work, by cases a person can follow."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.compute.risk.acts import act_for, after, loss_of
from collection.compute.risk.ranking import AtRisk, Item, order, plan, rank, together, values
from collection.compute.risk.threat import ALL_KINDS, COVERED, FAILING, NOT_KNOWN, PAST, UNSEEN, Threat
from collection.records.policy import default_policy

POLICY = default_policy().risk


def threat(kind: str = FAILING, soon: str = "failing, severe", share: float = 0.5, **said: object) -> Threat:
    made = Threat(kind, None, "It goes.", "Stop it.", (("conditions", "X"),), soon=soon, share=(share,) * 3)
    return replace(made, **{"event": kind, **said})  # type: ignore[arg-type]


def test_equal_shares_where_nobody_gave_points() -> None:
    assert values([Item("A"), Item("B"), Item("C", left=True)]) == {"A": 0.5, "B": 0.5}


def test_points_and_the_average_of_them_for_what_has_none() -> None:
    """30 and 10 points; the third counts as 20: 30, 10 and 20 of 60."""
    assert values([Item("A", points=30), Item("B", points=10), Item("C")]) == pytest.approx(
        {"A": 0.5, "B": 1 / 6, "C": 1 / 3}
    )


def test_a_set_counts_once() -> None:
    """A service of three with one other object: half of the value each, and a third of that half for each piece. By
    points: 9 for the service and 1 beside it; the lid has three of four of its pieces' points."""
    assert values([Item("T"), Item("T.1", "T"), Item("T.2", "T"), Item("U")]) == pytest.approx(
        {"T": 1 / 6, "T.1": 1 / 6, "T.2": 1 / 6, "U": 0.5}
    )
    assert values([Item("T", points=9), Item("T.1", "T", 3), Item("T.2", "T", 1), Item("U", points=1)]) == (
        pytest.approx({"T": 0.9 * 2 / 6, "T.1": 0.9 * 3 / 6, "T.2": 0.9 * 1 / 6, "U": 0.1})
    )


items = st.lists(
    st.tuples(st.none() | st.integers(0, 9), st.none() | st.floats(0, 1e6), st.booleans()), min_size=1, max_size=10
).map(
    lambda rows: [
        Item(f"O{n}", None if above is None else f"O{above}", points, left)
        for n, (above, points, left) in enumerate(rows)
    ]
)


@given(items)
def test_values_add_up_to_the_collection(made: list[Item]) -> None:
    """Whatever belongs to what, rings and objects that have left among them."""
    found = values(made)
    assert set(found) == {item.object for item in made if not item.left}
    assert all(share >= 0 for share in found.values())
    assert sum(found.values()) == pytest.approx(1.0) or all(share == 0 for share in found.values())


threats = st.builds(
    lambda kind, soon, ends, place: Threat(
        kind, place, "", "", (), soon=soon, share=(ends[0], ends[1], ends[2]), event=f"{kind} {place}", act="secure"
    ),
    st.sampled_from(ALL_KINDS),
    st.sampled_from(sorted(POLICY.soon)),
    st.lists(st.floats(0, 1), min_size=3, max_size=3).map(sorted),
    st.sampled_from(("A", "B", None)),
)
collections = st.lists(st.lists(threats, max_size=4), min_size=1, max_size=5).map(
    lambda rows: [AtRisk(f"O{n}", "", 1 / len(rows), tuple(own)) for n, own in enumerate(rows)]
)


@given(collections)
def test_every_object_twice_leaves_the_order_and_halves_the_value(made: list[AtRisk]) -> None:
    twice = [replace(each, object=each.object + copy, value=each.value / 2) for each in made for copy in ("", "/b")]
    before = [(each.object, at) for each, at in order(made, POLICY)]
    own = [(each.object, at) for each, at in order(twice, POLICY) if not each.object.endswith("/b")]
    assert own == before
    assert together(twice, POLICY) == pytest.approx(together(made, POLICY))


@given(collections)
def test_the_first_of_the_list_are_the_same_however_many_are_asked_for(made: list[AtRisk]) -> None:
    whole = order(made, POLICY)
    for most in range(len(whole) + 1):
        assert order(made, POLICY, most) == whole[:most]


def test_one_event_costs_once() -> None:
    """Work that destroys and an approval of it that was overtaken are one loss; two places that flake are two."""
    once = threat(event="P1")
    assert loss_of([once, replace(once, kind=PAST)], POLICY) == loss_of([once], POLICY)
    assert loss_of([once, replace(once, event="P2")], POLICY)[1] == pytest.approx(2 * loss_of([once], POLICY)[1])


def test_an_object_that_nobody_examined_is_never_last_and_never_harmless() -> None:
    """Beside one that was read and carries a tag it comes first; its high end is that of losing all of it, and with its
    low end at nothing it is told as uncertain."""
    unseen = threat(UNSEEN, "not examined", act="sample")
    unseen = replace(unseen, share=NOT_KNOWN)
    read = threat(COVERED, "tag hangs", 1.0)
    found = rank([AtRisk("A", "", 0.5, (read,)), AtRisk("B", "", 0.5, (unseen,))], POLICY)
    assert [each.object for each in found] == ["B", "A"]
    assert found[0].magnitude.share == (0.0, 0.5, 1.0)
    assert found[0].magnitude.as_json(POLICY)["advice"] in ("review soon", "review later")


@given(collections, st.sampled_from(sorted(POLICY.acts)))
def test_no_act_ever_makes_a_threat_worse(made: list[AtRisk], name: str) -> None:
    if name == "set up":
        return
    for each in made:
        for one in each.threats:
            act = act_for(replace(one, act=name), POLICY)
            assert act is not None
            before, left = loss_of(each.threats, POLICY), loss_of(after(act, each.threats, POLICY), POLICY)
            assert all(b <= a * (1 + 1e-12) for a, b in zip(before, left, strict=True))


@given(collections)
def test_the_drops_of_the_plan_are_those_counted_again(made: list[AtRisk]) -> None:
    """Doing the plan act by act: what each object is expected to lose before less after is the drop that was told, and no
    other act on any object would have saved more by the hour at that point."""
    now = {each.object: each for each in made}
    for step in plan(made, POLICY, 200):

        def saved(each: AtRisk, act: object) -> float:
            left = loss_of(after(act, each.threats, POLICY), POLICY)[1]  # type: ignore[arg-type]
            return each.value * (loss_of(each.threats, POLICY)[1] - left)

        each = now[step.object]
        assert step.drop == pytest.approx(saved(each, step.act))
        others = [
            saved(other, act) / act.hours[1]
            for other in now.values()
            for one in other.threats
            if (act := act_for(one, POLICY)) is not None
        ]
        assert step.drop / step.act.hours[1] >= max(others) * (1 - 1e-9)
        now[step.object] = replace(each, threats=after(step.act, each.threats, POLICY))
        assert step.left == pytest.approx(now[step.object].value * loss_of(now[step.object].threats, POLICY)[1])


def test_a_plan_in_weeks_by_hand() -> None:
    """Ten hours a week. A tag (half an hour) brings "untold" (300 years) to 3,000; laying loose flakes (ten hours) brings
    0.7 in 5 years to 0.2 in 100. Of all of A under paint a tag saves 1/300 - 1/3000 = 0.003 of half the collection, 0.003
    an hour; of all of B flaking ten hours save 0.7/5 - 0.2/100 = 0.138 of the other half, 0.0069 an hour: B first."""
    covered = threat(COVERED, "untold", 1.0, act="tag")
    flakes = threat(FAILING, "failing, severe", 1.0, act="secure")
    steps = plan([AtRisk("A", "", 0.5, (covered,)), AtRisk("B", "", 0.5, (flakes,))], POLICY, 20)
    assert [(step.object, step.act.name, step.weeks(10)) for step in steps] == [
        ("B", "secure", (1, 1)),
        ("A", "tag", (2, 2)),
    ]
    assert steps[0].drop == pytest.approx(0.5 * (0.7 / 5 - 0.2 / 100))
    assert steps[1].drop == pytest.approx(0.5 * (1 / 300 - 1 / 3000))


def test_logged_hours_take_the_place_of_judgement() -> None:
    """2 m² at 3 h/m², with an hour to set up."""
    flakes = threat(act="secure", action="lay flakes", area_m2=2.0)
    act = act_for(
        flakes, POLICY, lambda action, area: (area * 2, area * 3, area * 4) if action == "lay flakes" else None
    )
    assert act is not None
    assert (act.hours, act.hours_are) == ((4.5, 7.0, 10.0), "logged work")
    judged = act_for(flakes, POLICY, lambda *_: None)
    assert judged is not None
    assert (judged.hours, judged.hours_are) == (POLICY.acts["secure"], "judgement")
