"""What a step does to a coat, from recorded tests: examples of the practice, and what reviews found. The objects are made
by hand and invented."""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import severities

from collection.compute.case import Case
from collection.compute.loss.outcome import outcomes
from collection.records.policy import default_policy
from collection.records.sheets import Component, Decoration, Record, Reserve, Sample, Treatment, TreatmentStep, Zone
from collection.rules.effect import effect_findings

SWAB = {"action": "solvent", "agent": "acetone"}


def again(rows: list[Any], code: str = "S2") -> list[Any]:
    """A second section like the first."""
    return [row.model_copy(update={"sample": code}) for row in rows if row.sheet in ("samples", "layers")]


def test_work_that_cannot_reach_a_coat_raises_nothing() -> None:
    for action in ("dust", "dry sponge", "drain", "wrap", "oil mechanism", "operate", "display outdoors"):
        assert severities(o.base(), {"action": action}) == {}


def test_stripping_destroys_every_kept_coat() -> None:
    found = severities(o.base(), {"action": "strip"})
    assert found["door/1/body colour"] == found["door/1/varnish"] == found["door/1/preparation"] == "destroys"


def test_a_later_scheme_with_a_basis_is_no_loss_but_without_one_is() -> None:
    assert not any("2/" in key for key in severities(o.base(), {"action": "strip"}))
    rows = [
        r.model_copy(update={"basis": None}) if getattr(r, "scheme", "") == "2" and r.sheet == "schemes" else r
        for r in o.base()
    ]
    assert severities(rows, {"action": "strip"})["door/2/body colour"] == "destroys"


def test_what_was_never_tested_is_untested_not_harmless() -> None:
    assert severities(o.base(), SWAB)["door/1/varnish"] == "untested"


def test_a_harmless_test_as_harsh_as_planned_on_the_covering_coat_shields_what_lies_under_it() -> None:
    """Where three sections show it whole; fewer leave what lies under it untested."""
    rows = o.base(*o.met("T1", 4, "none seen"))
    assert set(severities([*rows, *again(rows)], SWAB).values()) == {"untested"}
    assert set(severities([*rows, *again(rows), *again(rows, "S3")], SWAB).values()) == {"stood"}


def test_a_covering_coat_with_gaps_shields_less() -> None:
    found = severities(o.base(*o.met("T1", 4, "none seen"), later_cover="partial"), SWAB)
    assert found["door/1/varnish"] == "untested"


@pytest.mark.parametrize(
    "change", [{"dwell": None}, {"dwell": 5}, {"on": None}, {"on": "2001"}, {"application": None}, {"agent": "ethanol"}]
)
def test_a_milder_blank_older_or_other_test_clears_nothing(change: dict[str, Any]) -> None:
    found = severities(o.base(*o.met("T1", 3, "none seen", **change), later_cover="absent"), SWAB)
    assert found["door/1/varnish"] == "untested"


def test_a_step_that_leaves_its_dwell_blank_is_not_cleared() -> None:
    rows = o.base(*o.met("T1", 3, "none seen"), later_cover="absent")
    assert severities(rows, {**SWAB, "dwell_s": None})["door/1/varnish"] == "untested"
    assert severities(rows, SWAB)["door/1/varnish"] == "stood"


def test_an_effect_of_this_agent_endangers_and_a_strong_one_as_planned_destroys() -> None:
    weak = o.base(*o.met("T1", 3, "softened", dwell=60), later_cover="absent")
    assert severities(weak, SWAB)["door/1/varnish"] == "endangers"
    strong = o.base(*o.met("T1", 3, "removed", dwell=10), later_cover="absent")
    assert severities(strong, SWAB)["door/1/varnish"] == "destroys"


def test_a_milder_test_that_did_something_overrules_a_harsher_one_that_did_not() -> None:
    """An odd harmless test never clears (design of tier 1)."""
    rows = o.base(*o.met("T1", 3, "none seen", dwell=60), *o.met("T2", 3, "softened", dwell=5), later_cover="absent")
    assert severities(rows, SWAB)["door/1/varnish"] == "endangers"


def test_two_harmless_liquids_never_clear_their_mixture() -> None:
    """Ethanol and ether each leave cellulose nitrate, together they dissolve it. Common practice, no
    published source seen."""
    rows = o.base(
        *o.met("T1", 3, "none seen", "ethanol"), *o.met("T2", 3, "none seen", "diethyl ether"), later_cover="absent"
    )
    mixed = {"action": "solvent", "agent": "1 ethanol + 1 diethyl ether"}
    assert severities(rows, mixed)["door/1/varnish"] == "untested"
    assert severities(rows, {"action": "solvent", "agent": "ethanol"})["door/1/varnish"] == "stood"


def test_a_later_coating_in_the_place_ends_clearing_but_never_alarming() -> None:
    coated = [
        Treatment(object=o.OBJ, treatment="W", purpose="wax", started="2021"),
        TreatmentStep(object=o.OBJ, treatment="W", step=1, place="body", action="wax"),
    ]
    harmless = o.base(*o.met("T1", 3, "none seen"), *coated, later_cover="absent")
    assert severities(harmless, SWAB)["door/1/varnish"] == "untested"
    harmful = o.base(*o.met("T1", 3, "removed", dwell=10), *coated, later_cover="absent")
    assert severities(harmful, SWAB)["door/1/varnish"] == "destroys"


def test_the_same_scheme_in_another_colour_is_not_the_coat_that_was_met() -> None:
    rows = o.base(*o.met("T1", 2, "none seen"), later_cover="absent")
    rows = [r for r in rows if not (r.sheet == "layers" and r.position == 3)]
    assert severities(rows, SWAB)["door/1/body colour"] == "stood"
    blank = [r.model_copy(update={"colour": None}) if r.sheet == "layers" and r.position == 2 else r for r in rows]
    assert severities(blank, SWAB)["door/1/body colour"] == "stood", "the very layer that was met is itself"
    elsewhere = [
        *blank,
        *[r.model_copy(update={"sample": "S2"}) for r in rows if r.sheet == "samples"],
        o.layer(1, "body colour", "1", "black", sample="S2"),
    ]
    assert severities(elsewhere, SWAB)["door/1/body colour"] == "untested", "black was never met"


def test_a_place_never_examined_is_untested_whatever_its_part_shows() -> None:
    found = severities(o.base(sampled=False), SWAB)
    assert found["door/not examined"] == "untested"


def test_a_cut_without_depth_or_stop_goes_to_the_support() -> None:
    assert severities(o.base(), {"action": "abrade"})["door/1/body colour"] == "destroys"


def test_a_shallow_cut_stands_only_on_three_measured_films() -> None:
    cut = {"action": "polish", "depth_um": 2.0, "depth_sd_um": 0.5}
    assert severities(o.base(), cut)["door/1/body colour"] == "endangers"
    more = []
    for code in ("S2", "S3"):
        more.append(next(r for r in o.base() if r.sheet == "samples").model_copy(update={"sample": code}))
        more += [r.model_copy(update={"sample": code}) for r in o.base() if r.sheet == "layers"]
    assert severities(o.base(*more), cut)["door/1/body colour"] == "stood"


def stripped(outcome: str = "done", on: str = "1990") -> list:
    """A second zone of the body whose maker's scheme was taken off, and what a sample there shows since."""
    return [
        Zone(object=o.OBJ, zone="lid", component="body", area_m2=0.5),
        Treatment(object=o.OBJ, treatment="T", purpose="boiled off", started=on, ended=on, outcome=outcome),
        TreatmentStep(object=o.OBJ, treatment="T", step=1, place="lid", action="strip", removed="1"),
        Sample(
            object=o.OBJ, sample="L", place="lid", method="cross-section", reaches_support="no", taken_on="2020-05-01"
        ),
        o.layer(1, "body colour", "2", "green", sample="L"),
    ]


def test_a_record_of_stripping_clears_no_place_of_remains() -> None:
    """A scheme documented to be taken off a zone is not found so far there, and untested; a removal in part, or one
    that a later sample contradicts, leaves it as the rest of the part shows it."""
    step = {"place": "lid", "agent": "acetone", "action": "solvent"}

    def things(*rows: Record) -> set[str]:
        return {thing for thing in severities(o.base(*rows), step) if thing.startswith("lid/1")}

    remains = {"lid/1/not found so far"}
    assert things(*stripped()) == remains
    assert things(*stripped("partly")) > remains or things(*stripped("partly")) == {
        "lid/1/preparation",
        "lid/1/body colour",
        "lid/1/varnish",
    }
    assert "lid/1/varnish" in things(*stripped(), o.layer(2, "varnish", "1", None, sample="L"))


def test_a_window_without_thicknesses_never_makes_a_cut_milder() -> None:
    """Where three measured films let a cut reach the coat, one more sample that measured nothing does not unsay it."""
    cut = {"action": "abrade", "depth_um": 60.0, "depth_sd_um": 10.0}
    more = []
    for code in ("S2", "S3"):
        more.append(next(r for r in o.base() if r.sheet == "samples").model_copy(update={"sample": code}))
        more += [r.model_copy(update={"sample": code}) for r in o.base() if r.sheet == "layers"]
    first = next(r for r in o.base() if r.sheet == "samples")
    window = [
        first.model_copy(update={"sample": "W", "method": "exposure"}),
        *(r.model_copy(update={"sample": "W", "thickness_um": None}) for r in o.base() if r.sheet == "layers"),
    ]
    assert severities(o.base(*more), cut)["door/1/body colour"] == "endangers"
    assert severities(o.base(*more, *window), cut)["door/1/body colour"] == "endangers"
    shallow = {"action": "polish", "depth_um": 2.0, "depth_sd_um": 0.5}
    assert severities(o.base(*more, *window), shallow)["door/1/body colour"] == "untested"


def test_nothing_recorded_names_heat_harmless() -> None:
    assert severities(o.base(), {"action": "heat", "temperature_c": 60.0})["door/1/varnish"] == "untested"


def test_a_reserve_that_is_touched_is_a_loss_of_its_own() -> None:
    """Destroyed by what takes something off, in danger from whatever else touches it, safe from dust, from handling,
    and from a step that masks it, where a mask can hold."""
    rows = o.base(Reserve(object=o.OBJ, reserve="R1", place="door", kind="reserve"))
    policy, f = default_policy(), o.facts(rows)

    def of_reserve(**step: Any) -> list[str]:
        p = o.proposal(step)
        lines = effect_findings(Case(f, policy), p, outcomes(Case(f, policy), p))
        return [f.severity for line in lines if line.thing == "reserve R1" for f in line.findings]

    for step, expected in (
        (SWAB, ["endangers"]),
        ({**SWAB, "removes": "2"}, ["destroys"]),
        ({"action": "strip"}, ["destroys"]),
        ({"action": "abrade"}, ["destroys"]),
        ({"action": "wax"}, ["endangers"]),
        ({"action": "dust"}, []),
        ({"action": "operate"}, []),
        ({"action": "display outdoors"}, []),
        ({**SWAB, "spares": "R1"}, []),
        ({**SWAB, "spares": "R2"}, ["endangers"]),
        ({"action": "strip", "spares": "R1"}, []),
        ({**SWAB, "application": "immersion", "spares": "R1"}, ["endangers"]),
        ({"action": "electrolytic", "spares": "R1"}, ["destroys"]),
        ({"action": "heat", "spares": "R1"}, ["destroys"]),
        ({"action": "replace", "spares": "R1"}, ["destroys"]),
    ):
        assert of_reserve(**step) == expected, step


# What reviews found: each was a way round a law.


def two_samples(colour_one: str | None, colour_two: str | None) -> list[Any]:
    """The door's red, met by a harmless test, and a second section with another coat of the same role."""
    rows = [
        r
        for r in o.base(*o.met("T1", 2, "none seen"), later_cover="absent")
        if not (r.sheet == "layers" and r.position in (2, 3))
    ]
    second = next(r for r in o.base() if r.sheet == "samples").model_copy(update={"sample": "S2"})
    return [
        *rows,
        o.layer(2, "body colour", "1", colour_one),
        second,
        o.layer(1, "primer", "1", "grey", sample="S2"),
        o.layer(2, "body colour", "1", colour_two, sample="S2"),
    ]


def test_leaving_colours_out_never_clears() -> None:
    """Red stood, black was never met; unnamed, they are not told apart, and neither is cleared."""
    assert severities(two_samples("red", "red"), SWAB)["door/1/body colour"] == "stood"
    assert severities(two_samples("red", "black"), SWAB)["door/1/body colour"] == "untested"
    for colours in ((None, None), ("red", None), (None, "black")):
        assert severities(two_samples(*colours), SWAB)["door/1/body colour"] == "untested"


@pytest.mark.parametrize("colours", [("red", "red"), (None, None), ("red", None)])
def test_leaving_colours_out_takes_no_effect_away(colours: tuple[Any, ...]) -> None:
    rows = [*two_samples(*colours), *o.met("T2", 2, "removed", dwell=10)]
    assert severities(rows, SWAB)["door/1/body colour"] == "destroys"


def test_a_reserve_whose_zone_is_out_of_account_may_lie_anywhere() -> None:
    policy = default_policy()
    f = o.facts(o.base(Reserve(object=o.OBJ, reserve="R1", place="gone", kind="reserve")))
    p = o.proposal(SWAB)
    lines = effect_findings(Case(f, policy), p, outcomes(Case(f, policy), p))
    assert "reserve R1" in [line.thing for line in lines]


def test_what_lies_on_an_absent_later_coat_is_not_later_by_it() -> None:
    """Superposition needs something to lie on: an `absent` row is no part of the stack."""

    def build(coverage: str) -> list[Any]:
        rows = [r for r in o.base() if not (r.sheet == "layers" and r.position == 4)]
        return [
            *rows,
            o.layer(4, "body colour", None, "green", coverage, period="later", certainty="confirmed"),
            o.layer(5, "body colour", None, "blue"),
        ]

    assert "door/S1/5" not in severities(build("intact"), {"action": "strip"})
    assert severities(build("absent"), {"action": "strip"})["door/S1/5"] == "destroys"


@pytest.mark.parametrize(
    ("there", "gone", "kept"),
    [("2014", "2020", False), ("2014", "201X", True), ("2020~", "2021", True), (None, "2021", True)],
)
def test_a_decoration_is_gone_only_where_that_is_surely_its_newest_state(
    there: str | None, gone: str, kept: bool
) -> None:
    """Two dates that may overlap are read in the way that clears less."""
    rows = [
        Decoration(
            object=o.OBJ, decoration="D1", place="door", kind="lettering", scheme="1", state=state, observed_on=on
        )
        for state, on in (("covered", there), ("lost", gone))
    ]
    assert ("door/D1" in severities(o.base(*rows), {"action": "strip"})) is kept


@pytest.mark.parametrize(("there", "gone", "kept"), [("2014", "2020", False), ("2014", "201X", True)])
def test_a_part_is_missing_only_where_that_is_surely_its_newest_state(there: str, gone: str, kept: bool) -> None:
    rows = [
        Component(object=o.OBJ, component="body", name="body", area_m2=2.0, presence=presence, observed_on=on)
        for presence, on in (("present", there), ("missing", gone))
    ]
    found = severities([*[r for r in o.base() if r.sheet != "components"], *rows], {"action": "strip"})
    assert bool(found) is kept


def test_a_name_for_several_liquids_clears_nothing_and_still_alarms() -> None:
    """White spirit is several liquids: the test may have used the weakest, the work uses the strongest."""
    plan = {"action": "solvent", "agent": "white spirit"}
    assert (
        severities(o.base(*o.met("T1", 3, "none seen", "white spirit"), later_cover="absent"), plan)["door/1/varnish"]
        == "untested"
    )
    named = "white spirit 17%"
    assert (
        severities(o.base(*o.met("T1", 3, "none seen", named), later_cover="absent"), {**plan, "agent": named})[
            "door/1/varnish"
        ]
        == "stood"
    )
    harmed = o.base(*o.met("T1", 3, "softened", named), later_cover="absent")
    assert severities(harmed, plan)["door/1/varnish"] == "endangers"
