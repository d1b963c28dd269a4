"""Which threats the records of an object show, how much of it they reach, and that an act counted is the act recorded."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from planned_work import planned

from collection.compute.case import Case
from collection.compute.risk.acts import act_for, after, loss_of
from collection.compute.risk.ranking import AtRisk, rank
from collection.compute.risk.standing import standing_threats
from collection.compute.risk.surface import surfaces, total
from collection.compute.risk.threat import (
    CLAIMED,
    COVERED,
    DESTROYED,
    ENDANGERED,
    EVIDENCE,
    EXPOSED,
    FAILING,
    FORBIDDEN,
    NOT_KNOWN,
    OVERTAKEN,
    UNEXAMINED,
    UNSEEN,
    UNTAGGED,
    WHOLE,
    Hanging,
    Paper,
    Planned,
    Threat,
)
from collection.compute.risk.threats import all_threats
from collection.language.words import SURROUNDINGS
from collection.records.facts import facts_of
from collection.records.policy import default_policy
from collection.records.sheets import (
    Component,
    Condition,
    Layer,
    Object,
    Picture,
    Sample,
    Scheme,
    Treatment,
    TreatmentStep,
    Zone,
)

OBJ = "T.1"
POLICY = default_policy().risk
DOOR = Component(object=OBJ, component="door", name="door", area_m2=3.0)
ROOF = Component(object=OBJ, component="roof", name="roof", area_m2=1.0)
RED = Scheme(object=OBJ, scheme="1", name="first red", period="original")
GREY = Scheme(object=OBJ, scheme="2", name="grey", period="later")


def read(place: str = "door", sample: str = "S1", *, covered: bool = True, coverage: str = "intact") -> list[Any]:
    own = Sample(
        object=OBJ, sample=sample, place=place, method="cross-section", reaches_support="yes", taken_on="2014-05-02"
    )
    coats = [Layer(object=OBJ, sample=sample, position=1, role="body colour", scheme="1", coverage=coverage)]
    if covered:
        coats.append(Layer(object=OBJ, sample=sample, position=2, role="body colour", scheme="2", coverage="intact"))
    return [own, *coats]


def case(*rows: Any, **said: Any) -> Case:
    return Case(facts_of(Object(object=OBJ, title="a door", kind="door", **said), [DOOR, ROOF, RED, GREY, *rows]))


def of_kind(threats: Any, *kinds: str) -> list[Threat]:
    return [each for each in threats if each.kind in kinds]


def test_places_add_up_to_one_object_and_what_nobody_measured_weighs_as_the_average() -> None:
    """3 and 1 m², and a shelf without area that counts as 2: half, a sixth, a third."""
    shelf = Component(object=OBJ, component="shelf", name="shelf")
    found = surfaces(case(shelf))
    assert {code: surface.part for code, surface in found.items()} == pytest.approx(
        {"door": 1 / 2, "roof": 1 / 6, "shelf": 1 / 3}
    )
    assert total(case(shelf), lambda *_: WHOLE) == pytest.approx(NOT_KNOWN)


def test_nothing_known_is_the_whole_interval_and_has_a_magnitude() -> None:
    """No part, no sample, no repainting on record: one threat, that nobody has looked, over 0 to 1."""
    bare = Case(facts_of(Object(object=OBJ, title="a box", kind="box"), []))
    (unseen,) = standing_threats(bare)
    assert (unseen.kind, unseen.share, unseen.act) == (UNSEEN, NOT_KNOWN, "sample")
    (ranked,) = rank([AtRisk(OBJ, "a box", 1.0, (unseen,))], POLICY)
    assert ranked.magnitude.exact[1] > 0
    assert ranked.lowered is not None
    assert ranked.lowered.drop > 0


def test_repainted_and_never_looked_at_is_sooner() -> None:
    painted = [
        Treatment(object=OBJ, treatment="T1", purpose="repaint"),
        TreatmentStep(object=OBJ, treatment="T1", step=1, place="door", action="coat"),
    ]
    (again,), (never,) = standing_threats(case(*painted)), standing_threats(case())
    assert (again.kind, never.kind) == (UNEXAMINED, UNSEEN)
    assert again.share == never.share == NOT_KNOWN
    assert loss_of([again], POLICY)[1] > loss_of([never], POLICY)[1]
    assert again.evidence == (("treatment_steps", f"{OBJ}/T1/1"),)


def test_the_part_that_nobody_read_is_told_beside_the_one_that_was() -> None:
    found = standing_threats(case(*read("door")))
    (unseen,), (covered,) = of_kind(found, UNSEEN), of_kind(found, COVERED)
    assert (unseen.place, unseen.share) == ("roof", pytest.approx((0.0, 0.125, 0.25)))
    assert covered.place == "door"
    assert covered.share[2] == pytest.approx(0.75, abs=0.01)


@pytest.mark.parametrize("around", [None, *SURROUNDINGS.words])
def test_what_lies_open_wears_by_its_surroundings(around: str | None) -> None:
    (found,) = of_kind(standing_threats(case(*read(covered=False), surroundings=around)), EXPOSED)
    assert found.soon in POLICY.soon
    assert found.evidence == (("samples", f"{OBJ}/S1"),)


def test_out_of_doors_is_sooner_than_under_a_roof_and_that_than_indoors() -> None:
    costs = [
        loss_of(of_kind(standing_threats(case(*read(covered=False), surroundings=around)), EXPOSED), POLICY)[1]
        for around in ("outdoors", "sheltered", "indoors", "indoors steady")
    ]
    assert costs == sorted(costs, reverse=True)
    assert len(set(costs)) == 4


def test_what_nobody_looked_at_may_lie_open_to_the_weather() -> None:
    """Indoors it is told as not examined alone."""
    assert len(of_kind(standing_threats(case(surroundings="outdoors")), EXPOSED)) == 1
    assert of_kind(standing_threats(case(surroundings="indoors")), EXPOSED) == []


def flakes(extent: float | None, on: str = "2024-05-01", **said: Any) -> Condition:
    return Condition(
        object=OBJ, place="door", phenomenon="flaking", observed_on=on, active="yes", extent_pct=extent, **said
    )


def test_flakes_reach_their_extent_of_what_survives_there() -> None:
    """A fifth of the door, which is three quarters of the object; without an extent anything from none to all of it."""
    sure, wide = (of_kind(standing_threats(case(*read(), flakes(extent))), FAILING)[0] for extent in (20.0, None))
    assert sure.share[2] == pytest.approx(0.2 * 0.75, abs=0.002)
    assert (wide.share[0], wide.share[2]) == (0.0, pytest.approx(0.75, abs=0.01))
    assert sure.area_m2 == pytest.approx(0.6)


def test_two_looks_tell_a_pace() -> None:
    """From 10 to 30 % in ten years: as much again as flakes now takes fifteen."""
    found = of_kind(standing_threats(case(*read(), flakes(10.0, "2014-05-01"), flakes(30.0, "2024-05-01"))), FAILING)
    assert [each.pace_years for each in found] == [pytest.approx(15.0, abs=0.05)]
    shrunk = of_kind(standing_threats(case(*read(), flakes(30.0, "2014-05-01"), flakes(10.0))), FAILING)
    assert [each.pace_years for each in shrunk] == [None]


@given(st.floats(0, 100), st.floats(0, 100), st.integers(1, 3), st.integers(1, 3))
def test_more_flakes_and_worse_ones_never_cost_less(one: float, other: float, bad: int, worse: int) -> None:
    def cost(extent: float, severity: int) -> float:
        found = of_kind(standing_threats(case(*read(), flakes(extent, severity=severity))), FAILING)
        return loss_of(found, POLICY)[1]

    less, more = sorted((one, other))
    assert cost(less, min(bad, worse)) <= cost(more, max(bad, worse)) + 1e-12


def test_evidence_of_which_there_is_one_piece() -> None:
    """One of two papers has no copy here, the one sample no picture, one of three coats neither scheme nor period;
    dirt has none."""
    loose = [
        Layer(object=OBJ, sample="S1", position=2, role="dirt"),
        Layer(object=OBJ, sample="S1", position=3, role="varnish"),
    ]
    found = of_kind(
        standing_threats(
            case(*read(covered=False), *loose),
            [Paper(f"{OBJ}/R1", "report", False), Paper(f"{OBJ}/R2", "photograph", True)],
        ),
        EVIDENCE,
    )
    assert [(each.act, each.amount, each.share[1]) for each in found] == [
        ("copy", 1, 0.5),
        ("photograph", 1, 1.0),
        ("assign", 1, pytest.approx(1 / 3)),
    ]


def all_of(one: Case, planned: list[Planned] = [], papers: list[Paper] = [], **said: Any) -> tuple[Threat, ...]:  # noqa: B006
    return all_threats(standing_threats(one, papers), planned, "2026-01-01", **said)


def test_every_way_in_which_work_threatens() -> None:
    found = all_of(
        case(),
        [
            planned(decision="approve", overtaken=True, unanswered=(f"{OBJ}/A1",), claims=(f"{OBJ}/C1", f"{OBJ}/C2")),
            planned(key=f"{OBJ}/P2", destroys=0, untested=1),
            planned(key=f"{OBJ}/P3", destroys=0),
        ],
    )
    assert [(each.kind, each.soon, each.event[-2:], each.amount) for each in found if each.kind != UNSEEN] == [
        (DESTROYED, "approved work", "P1", 1),
        (OVERTAKEN, "approved work", "P1", 1),
        (ENDANGERED, "open work", "P2", 1),
        (FORBIDDEN, "approved work", "P1", 1),
        (CLAIMED, "approved work", "P1", 2),
    ]


def done(one: Case, planned: list[Planned], name: str, kind: str, **said: Any) -> tuple[Threat, ...]:
    before = all_of(one, planned, **said)
    (threat,) = of_kind(before, kind)
    act = act_for(threat, POLICY)
    assert act is not None
    assert act.name == name
    return after(act, before, POLICY)


def costs(threats: tuple[Threat, ...]) -> tuple[float, ...]:
    return loss_of(threats, POLICY)


def test_an_act_that_is_counted_costs_what_it_costs_once_it_is_recorded() -> None:
    """A tag that hangs, a proposal that was refused, advice answered, a sample with its picture."""
    one = case(*read())
    tag = Hanging(f"{OBJ}/1", "tag", True)
    assert costs(done(one, [], "tag", COVERED)) == costs(all_of(one, hanging=[tag]))
    used = all_of(one, [planned()], hanging=[tag], tags_used=True)
    assert costs(done(one, [planned()], "tag", UNTAGGED, tags_used=True)) == costs(used)
    assert costs(done(one, [planned()], "refuse", DESTROYED)) == costs(all_of(one, [planned(decision="refuse")]))
    asked = planned(unanswered=(f"{OBJ}/A1",), takes_forbidden=(0.1, 0.9, 1.0))
    assert costs(done(one, [asked], "answer", FORBIDDEN)) == costs(all_of(one, [planned()]))
    pictured = case(*read(), Picture(object=OBJ, picture="K1", file="k.png", sample="S1"))
    assert costs(done(one, [], "photograph", EVIDENCE)) == costs(all_of(pictured))


def test_a_page_or_a_report_tells_less_than_a_tag() -> None:
    one = case(*read())

    def covered(**said: Any) -> float:
        return loss_of(of_kind(all_of(one, **said), COVERED), POLICY)[1]

    page, report = covered(published=True), covered(papers=[Paper(f"{OBJ}/R", "report", True)])
    assert covered() > page == report > covered(hanging=[Hanging(f"{OBJ}/1", "tag", True)]) > 0
    assert covered(hanging=[Hanging(f"{OBJ}/1", "tag", False)]) == covered()


def test_a_zone_of_the_object_is_named_where_it_alone_lies_under_paint() -> None:
    zone = Zone(object=OBJ, zone="panel", component="door", area_m2=1.0)
    (found,) = of_kind(standing_threats(case(zone, *read("panel"))), COVERED)
    assert found.place == "panel"
