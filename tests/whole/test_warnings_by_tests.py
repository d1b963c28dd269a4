"""What the warning concludes from tests in small surveys: wet, blank and old ones, ladders, likes and covers.

Each case is one small object made by hand; all are invented, and what they show is common practice, no published
source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import ACETONE, GREEN, RED, WATER, door, said, section, severity

from collection.compute.case import Case
from collection.records.sheets import Layer, Zone
from collection.rules.assess import assess

# Wet, blank and wrong ends.


@pytest.mark.parametrize(("dried", "expected"), [("yes", "stood"), (None, "stood"), ("no", "untested")])
def test_a_test_judged_only_wet_clears_nothing_and_a_blank_asks_to_look_again(dried: str | None, expected: str) -> None:
    rows = door(*section("S1", RED), *o.met("T1", 1, "none seen", sample="S1", after_drying=dried))
    found = assess(Case(o.facts(rows)), o.proposal(ACETONE))
    loss = next(each for each in found.losses if each.thing == "1/body colour")
    assert loss.severity == expected
    assert ("look again dry" in {r.rule for r in found.requirements}) == (dried is None)
    assert ("only wet" in (loss.would_change_it or "")) == (dried == "no")


@pytest.mark.parametrize(
    ("tested", "planned", "expected"),
    [
        (None, None, "stood"),
        (None, 1, "stood"),
        (1, None, "stood"),
        (3, 3, "stood"),
        (3, None, "stood"),
        (None, 10, "untested"),
        (3, 10, "untested"),
        (1, 2, "untested"),
    ],
)
def test_passes_left_blank_are_one(tested: int | None, planned: int | None, expected: str) -> None:
    rows = door(*section("S1", RED), *o.met("T1", 1, "none seen", sample="S1", passes=tested))
    assert severity(rows, {**ACETONE, "passes": planned}, of="door/1/body colour") == expected
    if tested is None and expected == "stood":
        assert (
            "T1 does not say how many passes"
            in said(rows, {**ACETONE, "passes": planned})["door/1/body colour"].message
        )


def test_a_cut_stops_at_the_outermost_coat_of_the_scheme_it_names() -> None:
    """Red under varnish under green: `stop_at` 1 stops at the varnish, so the green goes and the red lies a film
    deeper. A hand misses by about a fifth of the 30 µm of green: 6 µm, against 30 µm of varnish."""
    coats = (("1", "body colour", "red", "intact"), ("1", "varnish", None, "intact"), GREEN)
    rows = door(*(row for n in range(3) for row in section(f"S{n}", *coats)))
    found = said(rows, {"action": "scrape", "stop_at": "1"})
    assert found["door/1/varnish"].severity == found["door/1/body colour"].severity == "endangers"
    assert found["door/1/varnish"].share[0] < 0.05, "the varnish is reached, not gone"
    assert found["door/1/varnish"].share[2] > 0.4
    assert found["door/1/body colour"].share[2] < 0.05


# Ladders.


def rung(code: str, response: str, **conditions: Any) -> list[Any]:
    """One step of a ladder on the red of S1."""
    given: dict[str, Any] = {"agent": "water", "application": "rolled swab", "dwell": 30.0, **conditions}
    return o.met(code, 1, response, given.pop("agent"), sample="S1", **given)


LADDERS = [
    ("pH up", {"ph": 8.5}, {"ph": 9.5}, {"ph": 8.0}, {"ph": 9.0}),
    ("pH down", {"ph": 5.5}, {"ph": 4.5}, {"ph": 6.0}, {"ph": 5.0}),
    (
        "seconds",
        {"ph": 8.0, "dwell": 30.0},
        {"ph": 8.0, "dwell": 90.0},
        {"ph": 8.0, "dwell_s": 20.0},
        {"ph": 8.0, "dwell_s": 60.0},
    ),
    ("passes", {"ph": 8.0, "passes": 2}, {"ph": 8.0, "passes": 6}, {"ph": 8.0, "passes": 1}, {"ph": 8.0, "passes": 4}),
    (
        "warmth",
        {"ph": 8.0, "temperature_c": 30.0},
        {"ph": 8.0, "temperature_c": 50.0},
        {"ph": 8.0, "temperature_c": 28.0},
        {"ph": 8.0, "temperature_c": 40.0},
    ),
    ("application", {"ph": 8.0}, {"ph": 8.0, "application": "brush"}, {"ph": 8.0}, {"ph": 8.0, "application": "cloth"}),
    (
        "salt",
        {"ph": 8.0, "conductivity_mscm": 4.0},
        {"ph": 8.0, "conductivity_mscm": 8.0},
        {"ph": 8.0, "conductivity_mscm": 3.0},
        {"ph": 8.0, "conductivity_mscm": 6.0},
    ),
    (
        "share",
        {"agent": "1 acetone + 3 isooctane"},
        {"agent": "2 acetone + 1 isooctane"},
        {"agent": "1 acetone + 3 isooctane"},
        {"agent": "1 acetone + 1 isooctane"},
    ),
    ("additive", *({"ph": 8.0, "agent": f"water + {share}% ammonium citrate"} for share in ("1", "3", "0.5", "2"))),
]


@pytest.mark.parametrize(
    ("harmless", "harmful", "milder", "between"), [row[1:] for row in LADDERS], ids=[str(row[0]) for row in LADDERS]
)
def test_the_step_that_harmed_says_where_the_limit_lies_and_not_more(
    harmless: dict[str, Any], harmful: dict[str, Any], milder: dict[str, Any], between: dict[str, Any]
) -> None:
    rows = door(*section("S1", RED), *rung("T1", "none seen", **harmless), *rung("T2", "softened", **harmful))
    found = said(rows, {**WATER, **milder})["door/1/body colour"]
    assert found.severity == "stood", found.message
    assert "T2" in found.message
    assert "that is the limit" in found.message
    assert severity(rows, {**WATER, **between}, of="door/1/body colour") == "endangers"


@pytest.mark.parametrize(("ph", "expected"), [(8.7, "endangers"), (8.8, "endangers"), (9.0, "stood")])
def test_an_effect_within_the_margin_of_a_harmless_step_overrules_it(ph: float, expected: str) -> None:
    rows = door(*section("S1", RED), *rung("T1", "none seen", ph=8.5), *rung("T2", "softened", ph=ph))
    assert severity(rows, {**WATER, "ph": 8.0}, of="door/1/body colour") == expected


def test_two_short_ladders_do_not_make_a_long_one() -> None:
    """None at 8.5 for 10 s, and none at 8.0 for 60 s, say nothing of 8.5 for 60 s."""
    rows = door(
        *section("S1", RED), *rung("T1", "none seen", ph=8.5, dwell=10.0), *rung("T2", "none seen", ph=8.0, dwell=60.0)
    )
    for ph, dwell, expected in ((8.5, 10.0, "stood"), (8.0, 60.0, "stood"), (8.5, 60.0, "untested")):
        assert severity(rows, {**WATER, "ph": ph, "dwell_s": dwell}, of="door/1/body colour") == expected


def test_a_milder_step_that_did_something_overrules_a_harsher_one_that_did_not() -> None:
    rows = door(*section("S1", RED), *rung("T1", "none seen", ph=9.0), *rung("T2", "colour on swab", ph=8.0))
    assert severity(rows, {**WATER, "ph": 8.5}, of="door/1/body colour") == "endangers"


# Likes, and coats that only their sample tells apart.


def test_a_like_that_itself_stood_the_plan_does_not_alarm() -> None:
    """The varnish of scheme 1 stood 30 s and softened at 120 s; its body colour was never met."""
    coats = (("1", "body colour", "red", "partial"), ("1", "varnish", None, "partial"))
    harmed = o.met("T2", 2, "softened", sample="S1", dwell=120)
    feared = door(*section("S1", *coats), *harmed)
    assert severity(feared, ACETONE, of="door/1/body colour") == "endangers"
    assert (
        severity([*feared, *o.met("T1", 2, "none seen", sample="S1", dwell=30)], ACETONE, of="door/1/body colour")
        == "untested"
    )


def test_more_readings_of_one_coat_do_not_make_it_less_known() -> None:
    """Its colour is not written down, so one harmless test clears it in no second section; nor does a harsher step that
    harmed alarm there, since what the records do not tell apart from it stood the plan."""
    plain = ("1", "body colour", None, "intact")
    tests = [*o.met("T1", 1, "none seen", sample="S1", dwell=30), *o.met("T2", 1, "softened", sample="S1", dwell=120)]
    for sections, expected in ((1, "stood"), (2, "untested"), (5, "untested")):
        rows = door(*(row for n in range(1, sections + 1) for row in section(f"S{n}", plain)), *tests)
        assert severity(rows, ACETONE, of="door/1/body colour") == expected, sections


# What voids nothing.


def test_dirt_that_nobody_measured_voids_no_cut() -> None:
    dirt = [
        row.model_copy(update={"thickness_um": None}) if isinstance(row, Layer) and row.role == "dirt" else row
        for n in range(3)
        for row in section(f"S{n}", RED, GREEN, (None, "dirt", None, "intact"))
    ]
    assert (
        severity(door(*dirt), {"action": "polish", "depth_um": 2.0, "depth_sd_um": 0.5}, of="door/1/body colour")
        == "stood"
    )


@pytest.mark.parametrize(
    ("tested", "planned", "expected"),
    [
        (None, None, "stood"),
        (20.0, None, "stood"),
        (None, 22.0, "stood"),
        (18.0, 24.0, "stood"),
        (None, 30.0, "untested"),
        (30.0, None, "stood"),
    ],
)
def test_a_blank_temperature_is_a_rooms(tested: float | None, planned: float | None, expected: str) -> None:
    rows = door(*section("S1", RED), *o.met("T1", 1, "none seen", sample="S1", temperature_c=tested))
    assert severity(rows, {**ACETONE, "temperature_c": planned}, of="door/1/body colour") == expected


def test_a_test_that_is_too_old_is_named_with_its_age() -> None:
    rows = door(*section("S1", RED), *o.met("T1", 1, "none seen", sample="S1", on="1998-04-02"))
    loss = said(rows, ACETONE)["door/1/body colour"]
    assert (loss.severity, loss.would_change_it) == (
        "untested",
        "Test again: T1 of 2 April 1998 is 26 years old, and a test clears for 15.",
    )


# What lies under a coat that stood.


def of_nitrate(rows: list[Any]) -> list[Any]:
    """The maker's coats are of cellulose nitrate, on which acetone acts by its published sphere (Hansen 2007, Table
    A.2)."""
    return [
        row.model_copy(update={"binder": "cellulose nitrate"}) if isinstance(row, Layer) and row.scheme == "1" else row
        for row in rows
    ]


@pytest.mark.parametrize(("coverage", "expected"), [("intact", "stood"), ("partial", "endangers")])
def test_what_its_like_or_a_model_speaks_against_is_feared_only_where_it_is_expected_to_lie_open(
    coverage: str, expected: str
) -> None:
    """The green over it stood, in three sections alike."""
    green = ("2", "body colour", "green", coverage)
    rows = of_nitrate(
        door(
            *(row for n in range(1, 4) for row in section(f"S{n}", RED, green)),
            *o.met("T1", 2, "none seen", sample="S1"),
        )
    )
    assert severity(rows, ACETONE, of="door/1/body colour") == expected


def test_where_a_cover_that_stood_was_never_read_itself_one_test_would_settle_what_lies_beneath() -> None:
    """Green was whole where it was read, but never in the panel itself: no alarm there, and no clearance."""
    panel = Zone(object=o.OBJ, zone="panel", component="door", area_m2=0.5)
    rows = of_nitrate(
        door(
            panel,
            *section("S1", RED, GREEN),
            *section("S2", GREEN, reaches="no"),
            *section("S3", ("2", "varnish", None, "intact"), place="panel", reaches="no"),
            *o.met("T1", 2, "none seen", sample="S1"),
            *o.met("T2", 1, "none seen", sample="S3", place="panel"),
        )
    )
    rows = [
        row.model_copy(update={"coverage": None}) if isinstance(row, Layer) and row.sample == "S3" else row
        for row in rows
    ]
    loss = said(rows, {**ACETONE, "place": "panel"})["panel/1/body colour"]
    assert loss.severity == "untested"
    assert "One test of acetone on this coat" in loss.would_change_it
