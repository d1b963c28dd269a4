"""Zones within zones: what a part says of a part within it, areas that are never summed twice, and links refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from checked import check_package
from hypothesis import given
from hypothesis import strategies as st
from objects import OBJ, base, facts, layer, met, proposal
from small_package import only, package

from collection.compute.build_up.areas import place_areas
from collection.compute.build_up.places import places_of
from collection.compute.case import Case
from collection.compute.survival.survival import object_survival
from collection.ingest import load
from collection.ingest.crosscheck import circles
from collection.language.errors import InputRefused
from collection.records.facts import Facts
from collection.records.sheets import Component, Record, Sample, Scheme, Zone
from collection.rules.assess import assess
from collection.store.base import database
from collection.store.changes import corrections


@pytest.fixture
def db(tmp_path: Path) -> Path:
    path = tmp_path / "collection.db"
    database.create(path)
    return path


# ---------------------------------------------------------------- areas


def nested() -> Facts:
    """A side of 10 m² with a panel of 4, in it a field of 2.5, in that a roundel of 0.5."""
    return facts(
        [
            Component(object=OBJ, component="side", name="side", area_m2=10.0),
            Zone(object=OBJ, zone="panel", component="side", area_m2=4.0),
            Zone(object=OBJ, zone="field", component="side", within="panel", area_m2=2.5),
            Zone(object=OBJ, zone="roundel", component="side", within="field", area_m2=0.5),
        ]
    )


def test_nested_zones_are_summed_once_and_what_lies_beyond_them_is_shown() -> None:
    """By hand: 10 - 4, 4 - 2.5, 2.5 - 0.5 and 0.5 m²; nobody looked, so each is said to be not examined."""
    assert place_areas(Case(nested())) == {"side": 6.0, "field": 2.0, "panel": 1.5, "roundel": 0.5}
    survival = object_survival(Case(nested()))
    assert survival.area_m2 == 10.0
    assert {p.place: p.state for p in survival.places} == dict.fromkeys(
        ("side", "panel", "field", "roundel"), "not examined"
    )


def test_a_part_keeps_the_readings_of_what_holds_it_until_it_has_its_own() -> None:
    """Twice nested: the roundel speaks for itself, the field and the remainder by the panel's sample."""
    rows = [
        *nested_rows(),
        sample("S1", "panel"),
        layer(1, "body colour", "1", "red", sample="S1"),
        sample("S2", "roundel"),
        layer(1, "body colour", "1", "red", coverage="absent", sample="S2"),
    ]
    found = {p.place: p for p in object_survival(Case(facts(rows))).places}
    assert (found["roundel"].present, found["roundel"].read, found["roundel"].state) == (0, 1, "original not found")
    for place in ("panel", "field"):
        assert (found[place].present, found[place].read) == (1, 1), place
    assert (found["side"].read, found["side"].state) == (0, "not examined")


def nested_rows() -> list[Record]:
    known = nested()
    return [
        *known.components,
        *known.zones,
        Scheme(object=OBJ, scheme="1", name="maker's red", period="original", rank=1),
    ]


def sample(code: str, place: str) -> Sample:
    return Sample(object=OBJ, sample=code, place=place, method="cross-section", taken_on="2020", reaches_support="no")


@given(st.lists(st.floats(0.05, 1.0), min_size=1, max_size=5), st.data())
def test_splitting_a_zone_leaves_the_totals(shares: list[float], data: st.DataObject) -> None:
    """A zone that is read is split into parts within it, some of them split again, some unmeasured: the area, what
    survives of it and what a step on the whole zone would take stay what they were, to rounding."""
    whole = base()
    parts: list[Record] = []
    left = 2.0
    for number, share in enumerate(shares):
        area = left * share * 0.5
        left -= area
        parts.append(Zone(object=OBJ, zone=f"part{number}", component="body", within="door", area_m2=area))
        if data.draw(st.booleans()):
            parts.append(
                Zone(
                    object=OBJ,
                    zone=f"inner{number}",
                    component="body",
                    within=f"part{number}",
                    area_m2=data.draw(st.none() | st.just(area) | st.just(area / 3)),
                )
            )
    one, split = facts(whole), facts([*whole, *parts])
    before, after = object_survival(Case(one)), object_survival(Case(split))
    assert after.area_m2 == pytest.approx(before.area_m2)
    assert after.surviving_m2 == pytest.approx(before.surviving_m2, rel=1e-9)
    assert (after.places_read, after.places_seen) == (before.places_read, before.places_seen)
    step = proposal({"action": "solvent", "agent": "acetone"})
    a, b = assess(Case(one), step), assess(Case(split), step)
    assert a.outcome == b.outcome
    assert b.loss_m2 == pytest.approx(a.loss_m2, rel=1e-9)
    assert b.loss_share == pytest.approx(a.loss_share, rel=1e-9)


def test_a_zone_that_its_parts_fill_has_no_surface_beside_them() -> None:
    """Left and right make up the door, so a step on the door is judged on these two, and no line tells it twice."""
    halves = [Zone(object=OBJ, zone=side, component="body", within="door", area_m2=1.0) for side in ("left", "right")]
    known = facts(base(*halves))
    assert places_of(Case(known)).within("door") == ("left", "right")
    found = assess(Case(known), proposal({"action": "solvent", "agent": "acetone"}))
    assert {loss.place for loss in found.losses} == {"left", "right"}
    assert object_survival(Case(known)).area_m2 == 2.0
    # The reading lies on the whole door and still speaks for both halves.
    assert {p.place: p.read for p in object_survival(Case(known)).places if p.area_m2} == {"left": 1, "right": 1}


def test_what_was_read_in_a_part_does_not_examine_the_rest_of_its_zone() -> None:
    """The panel is sampled, the door around it is not: work on the door meets what nobody has seen."""
    rows = [
        *base(sampled=False),
        Zone(object=OBJ, zone="panel", component="body", within="door", area_m2=0.5),
        sample("S1", "panel"),
        layer(1, "body colour", "1", "red", sample="S1"),
    ]
    known = facts(rows)
    assert {p.place: p.state for p in object_survival(Case(known)).places}["door"] == "not examined"
    found = assess(Case(known), proposal({"action": "solvent", "agent": "acetone"}))
    assert "not examined" in {loss.thing for loss in found.losses if loss.place == "door"}


def test_a_step_on_a_part_leaves_its_zone_and_a_step_on_the_zone_meets_the_part() -> None:
    part = Zone(object=OBJ, zone="panel", component="body", within="door", area_m2=0.5)
    known = facts(base(part, *met("T1", 2, "none seen", dwell=60)))
    assert {
        loss.place
        for loss in assess(Case(known), proposal({"action": "solvent", "agent": "acetone", "place": "panel"})).losses
    } == {"panel"}
    assert {loss.place for loss in assess(Case(known), proposal({"action": "solvent", "agent": "acetone"})).losses} == {
        "door",
        "panel",
    }


def test_a_ring_that_got_in_all_the_same_hides_no_surface() -> None:
    """Rows stored by other means may lie within each other; each then counts as a zone of its part."""
    rows = [
        Component(object=OBJ, component="side", name="side", area_m2=5.0),
        *(Zone(object=OBJ, zone=a, component="side", within=b, area_m2=1.0) for a, b in ("pq", "qp")),
    ]
    assert place_areas(Case(facts(rows))) == {"side": 3.0, "p": 1.0, "q": 1.0}
    assert object_survival(Case(facts(rows))).area_m2 == 5.0
    assert (
        assess(Case(facts(rows)), proposal({"action": "solvent", "agent": "acetone", "place": "all"})).outcome
        == "untested"
    )


# ---------------------------------------------------------------- refused at the door


@given(st.integers(1, 7), st.data())
def test_every_ring_of_zones_is_refused_with_its_row_and_nothing_else_is(size: int, data: st.DataObject) -> None:
    """A forest of zones is let through; one link that closes a ring is found, with its whole way (against a plain
    walk up the links)."""
    up = {f"Z{n}": f"Z{data.draw(st.integers(0, n - 1))}" for n in range(1, size + 1)}
    assert circles((thing, parent, row) for row, (thing, parent) in enumerate(up.items(), 2)) == []
    start = data.draw(st.sampled_from(sorted(up)))
    way, here = [start], start
    while here in up:
        here = up[here]
        way.append(here)
    closing = data.draw(st.sampled_from(way))
    ((row, _, chain),) = circles(
        [*((t, p, n) for n, (t, p) in enumerate(up.items(), 2) if t != closing), (closing, start, 99)]
    )
    assert row is not None
    assert set(chain) == set(way[: way.index(closing) + 1])


@pytest.mark.parametrize(
    ("zones", "rows"),
    [
        ("T1,Z1,body,Z1\n", [2]),
        ("T1,Z1,body,Z2\nT1,Z2,body,Z1\n", [2]),
        ("T1,Z1,body,Z2\nT1,Z2,body,Z3\nT1,Z3,body,Z1\nT1,Z4,body,Z3\n", [2]),
    ],
)
def test_a_zone_within_itself_is_a_fault_with_its_row(tmp_path: Path, zones: str, rows: list[int]) -> None:
    folder = package(tmp_path / "p", zones="object,zone,component,within\n" + zones, samples=None, layers=None)
    with pytest.raises(InputRefused) as refused:
        check_package(folder)
    assert [(f.file, f.row, f.column) for f in refused.value.faults] == [("zones.csv", row, "within") for row in rows]
    assert "leads back to itself of T1" in refused.value.faults[0].message


def test_a_zone_within_a_zone_of_another_part_is_a_fault(db: Path, tmp_path: Path) -> None:
    """In one package, against what is stored from either side, and by a correction; what is stored stays."""
    zones = "object,zone,component,within\nT1,Z1,body,\nT1,Z2,door,Z1\n"
    with pytest.raises(InputRefused) as refused:
        load.ingest(db, package(tmp_path / "a", zones=zones, samples=None, layers=None))
    (fault,) = refused.value.faults
    assert (fault.row, fault.column, fault.value) == (3, "within", "Z1")
    assert "on door" in fault.message
    assert "on body" in fault.message
    load.ingest(
        db,
        package(
            tmp_path / "b",
            zones="object,zone,component,within\nT1,Z1,body,\nT1,Z2,body,Z1\n",
            samples=None,
            layers=None,
        ),
    )
    with pytest.raises(InputRefused, match="1 fault"):
        load.ingest(db, only(tmp_path / "c", "harbour-2", zones="object,zone,component,within\nT1,Z3,door,Z1\n"))
    with pytest.raises(InputRefused, match="1 fault"):
        load.ingest(
            db,
            only(tmp_path / "d", "harbour-2", zones="object,zone,component\nT1,Z1,door\n"),
            amend="moved",
            by="N. N.",
        )
    for values in ({"component": "door"}, {"component": "door", "within": "not recorded"}):
        with pytest.raises(InputRefused, match="1 fault"):
            corrections.correct(db, "zones", "T1/Z1", values, "N. N.", "moved")
    with pytest.raises(InputRefused) as refused:
        corrections.correct(db, "zones", "T1/Z1", {"within": "Z2"}, "N. N.", "the other way round")
    assert "within itself" in refused.value.faults[0].message
    corrections.correct(
        db, "zones", "T1/Z2", {"component": "door", "within": "not recorded"}, "N. N.", "it is on the door"
    )
