"""What works against the original finish of an object: each kind of threat, and what is none."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from planned_work import planned

from collection.compute.case import Case
from collection.compute.risk.standing import standing_threats
from collection.compute.risk.threat import (
    ADVISED,
    DESTROYED,
    FAILING,
    KINDS,
    OVERTAKEN,
    PAST,
    UNEXAMINED,
    UNTAGGED,
    Hanging,
    Planned,
    gravity,
)
from collection.compute.risk.threats import all_threats
from collection.records.facts import facts_of
from collection.records.sheets import (
    Advice,
    Component,
    Condition,
    Layer,
    Object,
    Sample,
    Scheme,
    Treatment,
    TreatmentStep,
)

OBJ = "T.1"
READ = [
    Component(object=OBJ, component="door", name="door"),
    Component(object=OBJ, component="roof", name="roof"),
    Scheme(object=OBJ, scheme="1", name="first red", period="original"),
    Sample(object=OBJ, sample="S1", place="door", method="cross-section", reaches_support="yes", taken_on="2014-05-02"),
    Layer(object=OBJ, sample="S1", position=1, role="body colour", scheme="1", coverage="intact"),
]


def found(
    *rows: Any,
    planned: list[Planned] | tuple[Any, ...] = (),
    on: str = "2026-01-01",
    read: list[Any] = READ,
    status: str | None = None,
    **tags: Any,
) -> list[Any]:
    facts = facts_of(Object(object=OBJ, title="a door", kind="door", status=status), [*read, *rows])
    standing = standing_threats(Case(facts))
    told = all_threats(standing, planned, on, on_loan=status == "on loan", **tags)
    return [(each.kind, each.place) for each in told if each.kind in KINDS]


def test_nothing_recorded_against_it_is_no_threat() -> None:
    assert found() == []


def test_work_that_destroys_is_a_threat_until_it_is_refused_or_done() -> None:
    assert found(planned=[planned()]) == [(DESTROYED, None)]
    assert found(planned=[planned(decision="approve", overtaken=True)]) == [(DESTROYED, None), (OVERTAKEN, None)]
    assert found(planned=[planned(decision="approve", overtaken=True, destroys=0)]) == [(OVERTAKEN, None)]
    for gone in (planned(decision="refuse"), planned(carried_out=True), planned(destroys=0)):
        assert found(planned=[gone]) == []


def condition(place: str = "door", **said: Any) -> Condition:
    return Condition(
        **{
            "object": OBJ,
            "place": place,
            "phenomenon": "flaking",
            "observed_on": "2020-02",
            "severity": 2,
            "active": "yes",
            **said,
        }
    )


def test_what_goes_on_is_a_threat_where_original_finish_survives() -> None:
    assert found(condition()) == [(FAILING, "door")]
    assert found(condition("all")) == [(FAILING, "all")]
    assert found(condition("roof")) == []  # nobody has looked there
    assert found(condition(active="no")) == []
    assert found(condition(), condition(observed_on="2023", severity=0, active=None)) == []


def test_a_temporary_measure_is_a_threat_after_its_date() -> None:
    facing = Treatment(object=OBJ, treatment="T1", purpose="Facing", started="2014", temporary_until="2015-06")
    assert found(facing, on="2015-06-30") == []
    assert found(facing, on="2015-07-01") == [(PAST, None)]


def advice(what: str, **said: Any) -> Advice:
    return Advice(object=OBJ, advice="A1", what=what, given_on="2014", **{"place": "door", **said})


def test_advice_is_a_threat_where_nothing_followed_it() -> None:
    assert found(advice("Lay the flakes")) == [(ADVISED, "door")]
    done = Treatment(object=OBJ, treatment="T1", purpose="Flakes laid", started="2015")
    assert found(advice("Lay the flakes", done_by="T1"), done) == []
    assert found(advice("Mend the roof", place="roof")) == []


def test_advice_against_work_is_followed_by_doing_nothing() -> None:
    """What it speaks against says so, and not how its words begin."""
    assert found(advice("Do not wash it again", against="wash")) == []
    assert found(advice("Water has no business here", against="all")) == []
    assert found(advice("Do not wait: lay the flakes")) == [(ADVISED, "door")]


def test_advice_that_ran_out_or_was_replaced_is_no_longer_left_undone() -> None:
    assert found(advice("Lay the flakes", until="2014-12"), on="2015-01-01") == []
    assert found(advice("Lay the flakes", until="2015-12"), on="2015-01-01") == [(ADVISED, "door")]
    other = Advice(object=OBJ, advice="A2", what="Lay them with wax", given_on="2014-06", place="roof")
    assert found(advice("Lay the flakes", replaced_by="A2"), other) == []


def test_painted_again_and_never_read_is_a_threat() -> None:
    again = [
        Treatment(object=OBJ, treatment="T1", purpose="Repainted", started="1951"),
        TreatmentStep(object=OBJ, treatment="T1", step=1, place="all", action="coat"),
    ]
    assert found(*again, read=READ[:2]) == [(UNEXAMINED, None)]
    assert found(*again) == []
    assert found(read=READ[:2]) == []


@given(st.lists(st.sampled_from(KINDS)), st.lists(st.sampled_from(KINDS)))
def test_a_graver_kind_outweighs_any_number_of_lesser_ones(some: list[str], more: list[str]) -> None:
    """The order is total, and one more threat never makes an object stand lower."""
    assert gravity([*some, *more]) >= gravity(some)
    if some and more and min(map(KINDS.index, some)) < min(map(KINDS.index, more)):
        assert gravity(some) > gravity(more)
    assert sum(gravity(some)) == len(some)


COVER = [
    Scheme(object=OBJ, scheme="2", name="green", period="later", rank=2, basis="lies on dirt"),
    Layer(object=OBJ, sample="S1", position=2, role="body colour", scheme="2", coverage="intact"),
]


def test_a_tag_that_is_out_of_date_is_a_threat() -> None:
    """One that holds is none, nor is one of which nothing may be told."""
    assert found(hanging=[Hanging(f"{OBJ}/1", "tag", False), Hanging(f"{OBJ}/2", "label", True)]) == [(UNTAGGED, None)]
    assert found(hanging=[Hanging(f"{OBJ}/1", "tag", None)]) == []


def test_a_missing_tag_is_a_threat_only_where_hands_come_near() -> None:
    """Covered original in a store, without a tag, is what most objects are; with work proposed, or on loan, it is told.
    Where tags are not used, where one hangs, where nothing is covered, and where the work is off, nothing is missing."""
    gentle = planned(destroys=0)
    missing = [(UNTAGGED, None)]
    assert found(*COVER, tags_used=True) == []
    assert found(*COVER, tags_used=True, planned=[gentle]) == missing
    assert found(*COVER, tags_used=True, status="on loan") == missing
    assert found(*COVER, planned=[gentle]) == []
    assert found(*COVER, tags_used=True, planned=[gentle], hanging=[Hanging(f"{OBJ}/1", "tag", True)]) == []
    assert found(tags_used=True, planned=[gentle]) == []
    for gone in (planned(destroys=0, decision="refuse"), planned(destroys=0, carried_out=True)):
        assert found(*COVER, tags_used=True, planned=[gone]) == []
