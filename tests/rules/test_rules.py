"""Rules beyond the coats: what carries them, parts, joints, added coats, heat, flaking paint, trials and reserves.

Objects are invented; facts of the trade are common practice without a published source unless one is named.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest

from collection.compute.case import Case
from collection.language.words import SEVERITY_RANK
from collection.records.policy import default_policy
from collection.records.sheets import Component, Condition, Decoration, Hazard, Layer, Reserve, Scheme, Treatment, Zone
from collection.records.sheets import Test as Trial
from collection.records.sheets import TreatmentStep as Step
from collection.rules.assess import assess
from collection.rules.findings import Assessment, Loss, Requirement
from collection.values.reference import packaged


def judged(rows: list[Any], *steps: dict[str, Any]) -> Assessment:
    return assess(Case(o.facts(rows)), o.proposal(*steps))


def losses(rows: list[Any], *steps: dict[str, Any]) -> dict[str, Loss]:
    return {loss.id: loss for loss in judged(rows, *steps).losses}


def asked(rows: list[Any], *steps: dict[str, Any]) -> dict[str, Requirement]:
    return {r.id: r for r in judged(rows, *steps).requirements}


def on(support: str, *more: Condition, **base: Any) -> list[Any]:
    """The trial door on another support."""
    return [
        row.model_copy(update={"support": support}) if isinstance(row, Component) else row
        for row in o.base(*more, **base)
    ]


def broken(
    phenomenon: str = "flaking", severity: int = 2, active: str = "yes", on: str = "2022", **more: Any
) -> Condition:
    return Condition(
        object=o.OBJ,
        place=more.pop("place", "door"),
        phenomenon=phenomenon,
        observed_on=on,
        severity=severity,
        active=active,
        **more,
    )


WASH = {"action": "wash", "agent": "water", "ph": 7.0}


def test_water_on_iron_is_a_finding_only_through_broken_paint() -> None:
    assert "door/support" not in losses(on("mild steel"), WASH)
    found = losses(on("mild steel", broken()), WASH)["door/support"]
    assert found.severity == "endangers"
    assert "rusts" in found.message
    assert ("conditions", "T.1/door/flaking/2022") in [(kind, key.rstrip("/")) for kind, key in found.evidence]
    assert "door/support" not in losses(on("mild steel", broken()), {"action": "solvent", "agent": "acetone"})
    assert "door/support" not in losses(on("pine", broken()), WASH)


def test_an_agent_that_is_not_named_may_hold_water() -> None:
    unnamed = {"action": "solvent"}
    found = losses(on("mild steel", broken()), unnamed)["door/support"]
    assert found.severity == "untested"
    assert "No agent is named" in found.message
    assert "door/support" not in losses(on("pine", broken()), unnamed)
    assert losses(on("mild steel", broken()), {"action": "wash"})["door/support"].severity == "endangers"


def test_a_condition_that_was_looked_for_again_and_not_found_no_longer_counts() -> None:
    assert "door/support" not in losses(on("mild steel", broken(), broken(on="2023", severity=0)), WASH)
    # Dates that may overlap leave both standing.
    assert "door/support" in losses(on("mild steel", broken(), broken(on="2022~", severity=0)), WASH)


@pytest.mark.parametrize("support", ["leather over ash", "mahogany veneer"])
def test_water_that_soaks_leather_or_veneer_is_a_finding(support: str) -> None:
    assert losses(on(support), {**WASH, "application": "sponge"}).get("door/support") is None
    assert losses(on(support), {**WASH, "application": "brush"})["door/support"].severity == "endangers"
    assert losses(on(support), {**WASH, "application": None})["door/support"].severity == "endangers"


def test_heat_on_leather_is_a_finding_whatever_the_temperature() -> None:
    for degrees in (None, 35.0, 120.0):
        found = losses(on("leather"), {"action": "heat", "temperature_c": degrees})
        assert found["door/support"].severity == "endangers"
    assert "door/support" not in losses(on("pine"), {"action": "heat", "temperature_c": 120.0})


def test_polish_on_plating_adds_up_over_the_history() -> None:
    rows = on("nickel-plated brass")
    for year in ("1931", "1954"):
        rows += [
            Treatment(object=o.OBJ, treatment=f"W{year}", purpose="polishing", started=year, outcome="done"),
            Step(object=o.OBJ, treatment=f"W{year}", step=1, place="door", action="polish"),
        ]
    found = losses(rows, {"action": "polish", "depth_um": 1.0, "depth_sd_um": 0.5})["door/support"]
    assert "polished 2 times (W1931, W1954)" in found.message
    assert "door/support" not in losses(on("pine"), {"action": "polish", "depth_um": 1.0})


def test_a_part_of_the_makers_or_of_unknown_origin_is_a_loss_when_it_is_replaced() -> None:
    def with_origin(origin: str | None) -> list[Any]:
        return [row.model_copy(update={"origin": origin}) if isinstance(row, Component) else row for row in o.base()]

    for origin in (None, "original", "unknown"):
        assert losses(with_origin(origin), {"action": "replace", "place": "body"})["body/part"].severity == "destroys"
    assert "body/part" not in losses(with_origin("replaced"), {"action": "replace", "place": "body"})


def test_opening_breaks_paint_at_the_joints_and_is_one_line() -> None:
    found = losses(o.base(), {"action": "dismantle", "place": "body"})
    assert {key: loss.severity for key, loss in found.items()} == {"body/paint over the joint": "endangers"}
    assert (
        losses(o.base(sampled=False), {"action": "dismantle", "place": "body"})["body/paint over the joint"].severity
        == "untested"
    )


def test_flaking_paint_lets_everything_through_and_comes_off_at_a_touch() -> None:
    """The green that stood the test no longer shields where it flakes; the varnish beneath is in danger where it may be
    what flakes, and only untested where the green alone does."""
    stood = o.met("T1", 4, "none seen")
    swab = {"action": "solvent", "agent": "acetone"}
    for rows, expected in (
        ([], "stood"),
        ([broken()], "endangers"),
        ([broken(scheme="2")], "untested"),
        ([broken(scheme="1")], "endangers"),
        ([broken(severity=0)], "stood"),
        ([broken(active="no")], "stood"),
        ([broken(active="unknown")], "endangers"),
    ):
        read = o.base(*stood, *rows)
        read += [
            row.model_copy(update={"sample": code})
            for row in read
            if row.sheet in ("samples", "layers")
            for code in ("S2", "S3")
        ]
        assert losses(read, swab)["door/1/varnish"].severity == expected, rows


def test_heat_alarms_where_the_binder_softens_and_clears_nothing() -> None:
    rows = [
        row.model_copy(update={"binder": "shellac"}) if isinstance(row, Layer) and row.role == "varnish" else row
        for row in o.base(later_cover="absent")
    ]
    severities = {
        degrees: losses(rows, {"action": "heat", "temperature_c": degrees})["door/1/varnish"].severity
        for degrees in (None, 20.0, 44.0, 45.0, 200.0)
    }
    assert severities == {None: "endangers", 20.0: "untested", 44.0: "untested", 45.0: "endangers", 200.0: "endangers"}
    # Another binder, or none on record, stays untested: never better.
    assert (
        losses(o.base(later_cover="absent"), {"action": "heat", "temperature_c": 45.0})["door/1/varnish"].severity
        == "untested"
    )


def coated(*more: Any, removable: str | None = "white spirit 18%", **step: Any) -> dict[str, Requirement]:
    return asked(
        [*o.base(*more)],
        {"action": "coat", "adds": "clear coat", "agent": "white spirit 18%", "removable_with": removable, **step},
    )


def test_an_added_coat_has_to_come_off_without_what_lies_under_it() -> None:
    kept_green = [
        row.model_copy(update={"basis": None}) if isinstance(row, Scheme) and row.scheme == "2" else row
        for row in o.base()
    ]
    step = {"action": "coat", "adds": "clear coat", "agent": "isooctane", "removable_with": "acetone"}
    assert asked(kept_green, step)["comes off again:door:1"].met
    harmed = asked([*kept_green, *o.met("T1", 4, "softened")], step)["comes off again:door:1"]
    assert not harmed.met
    assert "T1" in harmed.message
    assert asked([*kept_green, *o.met("T2", 4, "none seen", dwell=60)], step)["comes off again:door:1"].met
    assert not coated(removable=None)["comes off again:door:1"].met


def test_a_new_clear_coats_sheen_is_matched_to_the_weathered_surface() -> None:
    """ISO 2813: 85° below 10 GU, 20° above 70 GU. Asked only where gloss was measured."""
    assert "sheen:door:1" not in coated()
    measured = [
        row.model_copy(update={"gloss_gu": 6.0}) if isinstance(row, Layer) and row.position == 4 else row
        for row in o.base()
    ]
    step = {"action": "coat", "adds": "clear coat", "agent": "isooctane", "removable_with": "isooctane"}
    assert not asked(measured, step)["sheen:door:1"].met
    near, far = (asked(measured, {**step, "adds_gloss_gu": gloss})["sheen:door:1"] for gloss in (12.0, 60.0))
    assert near.met
    assert not far.met
    assert "85°" in far.message


REMOVE = {"action": "solvent", "agent": "acetone", "removes": "2"}


def test_work_that_takes_a_coat_off_is_tried_where_nobody_looks_and_in_a_second_place() -> None:
    hidden = Zone(object=o.OBJ, zone="under", component="body", visibility="hidden")
    none = asked(o.base(hidden), REMOVE)
    assert not none["trial panel:door:1"].met
    assert not none["second test place:door:1"].met
    tried = [
        Trial(object=o.OBJ, test=f"T{place}", place=place, agent="acetone", dwell_s=10.0) for place in ("door", "under")
    ]
    both = asked(o.base(hidden, *tried), REMOVE)
    assert both["trial panel:door:1"].met
    assert both["second test place:door:1"].met
    other = [row.model_copy(update={"agent": "ethanol"}) for row in tried]
    assert not asked(o.base(hidden, *other), REMOVE)["trial panel:door:1"].met


def test_of_a_decoration_that_is_stripped_something_stays() -> None:
    line = Decoration(object=o.OBJ, decoration="D1", place="door", kind="lining", scheme="1", state="covered")
    assert not asked(o.base(line), {"action": "strip"})["one reserve per decoration:door:D1"].met
    kept = Reserve(object=o.OBJ, reserve="R1", place="door", kind="reserve", until="2020")
    assert asked(o.base(line, kept), {"action": "strip"})["one reserve per decoration:door:D1"].met
    gone = line.model_copy(update={"state": "lost"})
    assert "one reserve per decoration:door:D1" not in asked(o.base(gone), {"action": "strip"})


def test_hazards_of_other_parts_are_not_asked_for() -> None:
    rows = o.base(
        Component(object=o.OBJ, component="cab", name="cab"),
        Hazard(object=o.OBJ, hazard="H1", kind="asbestos", status="confirmed", component="cab"),
        Hazard(object=o.OBJ, hazard="H2", kind="lead", status="confirmed"),
    )
    here = asked(rows, REMOVE)
    assert not any("H1" in key for key in here)
    assert any("H2" in key for key in here)
    assert any("H1" in key for key in asked(rows, {**REMOVE, "place": "all"}))


def test_every_finding_says_its_reason_its_reference_and_what_to_do() -> None:
    rows = on("mild steel", broken())
    for step in (WASH, {"action": "dismantle", "place": "body"}, {"action": "replace", "place": "body"}):
        for finding in judged(rows, step).findings:
            if finding.rule not in ("effect", "reserve"):
                assert finding.remedy
                assert finding.reference
                assert SEVERITY_RANK[finding.severity] >= SEVERITY_RANK["untested"]


def test_the_policy_holds_the_temperatures() -> None:
    assert default_policy().softens["shellac"] == 45
    assert packaged().solvents.find("acetone") is not None
