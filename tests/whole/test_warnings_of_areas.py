"""What the warning says of areas in small surveys: windows, points and figures; what they must not clear.

Each case is one small object made by hand; all are invented, and what they show is common practice, no published
source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import ACETONE, BLACK, GREEN, RED, door, said, section, severity, window

from collection.compute.case import Case
from collection.compute.survival.survival import object_survival
from collection.records.sheets import Component, Decoration, Layer, Reserve, Sample, Treatment, TreatmentStep, Zone
from collection.rules.assess import assess

ORDER = ("clear", "stood", "untested", "endangers", "destroys")


# A small window clears nothing but itself.


def corner() -> list[Any]:
    """2 m², intact in 2 of 2 sections; a window of 0.01 m², where 0.0005 m² of the original went."""
    return door(*section("S1", RED), *section("S2", RED), *window("door", "1", area=0.01, gone=0.0005))


def test_a_window_of_a_square_decimetre_leaves_the_rest_of_the_door_in_danger() -> None:
    assert severity(corner(), {"action": "strip"}, of="door/1/body colour") == "destroys"


def test_a_window_takes_from_what_survives_no_more_than_its_own_surface() -> None:
    with_window, without = (
        object_survival(Case(o.facts(rows))).surviving_m2
        for rows in (corner(), door(*section("S1", RED), *section("S2", RED)))
    )
    assert with_window[2] > 1.9, "most of the door may bear it"
    assert without[0] - with_window[0] < 0.01, "no more is gone than the window"


def test_a_later_point_in_the_window_does_not_bare_the_whole_door() -> None:
    later = section("S3", ("1", "body colour", None, "absent"), on="2022")
    assert severity([*corner(), *later], {"action": "strip"}, of="door/1/body colour") == "destroys"


@pytest.mark.parametrize(("gone", "least"), [(0.04, 0.96), (None, 0.0)])
def test_a_window_through_black_leaves_the_rest_black(gone: float | None, least: float) -> None:
    """2 % measured leaves 98 % of the intact black; unmeasured, nothing is surely left."""
    from collection.compute.build_up.stack import stack_of

    rows = door(
        *(row for n in range(3) for row in section(f"S{n}", RED, BLACK)), *window("door", "2", area=None, gone=gone)
    )
    black = stack_of(Case(o.facts(rows)), "door").coats[0]
    assert black.key.colour == "black"
    assert black.cover[0] == pytest.approx(least, abs=0.005)
    assert black.cover[2] == pytest.approx(0.98 if gone else 1.0)


def test_a_zone_beside_the_window_is_not_bared_by_it() -> None:
    rows = door(
        Zone(object=o.OBJ, zone="opening", component="door", area_m2=0.01),
        Zone(object=o.OBJ, zone="panel", component="door", area_m2=0.5),
        *section("S1", RED, GREEN),
        *section("S2", RED, GREEN, place="panel"),
        *window("opening", "1", area=0.01, gone=0.01),
    )
    for place in ("door", "panel"):
        assert severity(rows, {"action": "strip"}, of=f"{place}/1/body colour") == "destroys", place


# Points clear no area.


def test_how_deep_a_place_was_read_is_told_by_its_own_samples() -> None:
    """The wing has a complete section, the door's own stops short: what lies deeper in the door nobody has seen."""
    rows = door(
        Zone(object=o.OBJ, zone="wing", component="door", area_m2=0.5),
        *section("S1", GREEN, reaches="no"),
        *section("S2", GREEN, place="wing"),
    )
    assert severity(rows, {"action": "strip"}, of="door/below what was seen") == "untested"


BARE = [("2", "body colour", "green", "intact")]


@pytest.mark.parametrize(
    ("sections", "step", "expected"),
    [
        (1, {"action": "strip"}, "untested"),
        (4, {"action": "strip"}, "untested"),
        (1, ACETONE, "untested"),
        (3, ACETONE, "untested"),
        (4, ACETONE, "clear"),
        (4, {"action": "abrade"}, "untested"),
        (5, {"action": "replace"}, "untested"),
    ],
)
def test_sections_without_the_finish_clear_liquids_from_four_on_and_nothing_else(
    sections: int, step: dict[str, str], expected: str
) -> None:
    rows = door(*(row for n in range(sections) for row in section(f"S{n}", *BARE)))
    assert severity(rows, step, of="door/1/not found so far") == expected


def test_sections_at_one_spot_or_at_a_loss_clear_no_liquid() -> None:
    for more in ({"x": 1.0, "y": 2.0}, {"chosen": "at a loss"}):
        rows = door(*(row for n in range(4) for row in section(f"S{n}", *BARE, **more)))
        assert severity(rows, ACETONE, of="door/1/not found so far") == "untested", more


def test_what_the_rest_of_the_part_shows_and_a_place_does_not_is_in_danger_there() -> None:
    """Found on the door, not in the panel's two sections: stripping the panel endangers what may be there."""
    rows = door(
        Zone(object=o.OBJ, zone="panel", component="door", area_m2=0.5),
        *section("S1", RED, GREEN),
        *section("S2", GREEN, place="panel"),
        *section("S3", GREEN, place="panel"),
    )
    loss = said(rows, {"action": "strip", "place": "panel"})["panel/1/not found so far"]
    assert loss.severity == "endangers"
    survives = next(p for p in object_survival(Case(o.facts(rows))).places if p.place == "panel")
    assert "Not found at 2 of 2 spots" in loss.message
    assert f"up to {100 * survives.share[2]:.0f} % of the place could still have it: look first" in loss.message


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        (
            [
                Sample(
                    object=o.OBJ,
                    sample="S9",
                    place="door",
                    method="surface",
                    extent="whole place",
                    reaches_support="yes",
                    taken_on="2022",
                ),
                o.layer(1, "support", None, None, sample="S9"),
            ],
            "clear",
        ),
        (
            [
                Sample(
                    object=o.OBJ, sample="S9", place="door", method="surface", reaches_support="yes", taken_on="2022"
                ),
                o.layer(1, "support", None, None, sample="S9"),
            ],
            "endangers",
        ),
        (
            [
                Sample(
                    object=o.OBJ,
                    sample="S9",
                    place="door",
                    method="surface",
                    extent="whole place",
                    reaches_support="yes",
                    taken_on="2019",
                ),
                o.layer(1, "support", None, None, sample="S9"),
            ],
            "endangers",
        ),
    ],
)
def test_stripping_is_cleared_by_the_whole_surface_read_bare_since_and_not_by_a_spot(
    rows: list[Any], expected: str
) -> None:
    """The red was read in 2020 and stripped in 2021; then the surface was looked at."""
    stripped = [
        Treatment(object=o.OBJ, treatment="W1", purpose="strip", started="2021", ended="2021"),
        TreatmentStep(object=o.OBJ, treatment="W1", step=1, place="door", action="strip", removed="1"),
    ]
    found = said(door(*section("S1", RED), *stripped, *rows), {"action": "blast"})
    assert (
        max(
            (loss.severity for key, loss in found.items() if key.startswith("door/1/")),
            key=ORDER.index,
            default="clear",
        )
        == expected
    )


def test_a_part_that_is_not_the_makers_cannot_bear_the_makers_finish() -> None:
    rows = [
        row.model_copy(update={"origin": "replaced"}) if isinstance(row, Component) else row
        for row in door(*section("S1", *BARE))
    ]
    assert severity(rows, {"action": "strip"}, of="door/1/not found so far") == "clear"


@pytest.mark.parametrize(
    ("sections", "harmed", "expected"),
    [
        (1, 10, "endangers"),
        (2, 10, "endangers"),
        (3, 10, "stood"),
        (1, 120, "untested"),
        (2, 120, "untested"),
        (3, 120, "stood"),
        (1, None, "untested"),
        (2, None, "untested"),
        (3, None, "stood"),
    ],
)
def test_a_cover_shields_what_lies_beneath_by_three_whole_readings(
    sections: int, harmed: int | None, expected: str
) -> None:
    """Green stood 30 s of acetone. The red beneath softened in so many seconds (None: it was never met), and 10 s are
    planned: three sections shield it; harm from no more than is planned alarms meanwhile."""
    rows = door(
        *(row for n in range(1, sections + 1) for row in section(f"S{n}", RED, GREEN)),
        *o.met("T1", 2, "none seen", sample="S1"),
        *(o.met("T2", 1, "softened", sample="S1", dwell=harmed) if harmed else []),
    )
    assert severity(rows, ACETONE, of="door/1/body colour") == expected


def test_a_cover_whose_removal_may_be_later_than_its_reading_shields_nothing() -> None:
    """Green was read in 2020, and taken off "2018 to 2022": nothing of it is surely left."""
    read = door(
        *(row for n in range(1, 4) for row in section(f"S{n}", RED, GREEN)),
        *o.met("T1", 2, "none seen", sample="S1", on="2023"),
    )
    assert severity(read, ACETONE, of="door/1/body colour") == "stood"
    assert (
        severity([*read, *window("door", "2", area=None, on="2018/2022")], ACETONE, of="door/1/body colour")
        == "untested"
    )


# Figures.


def test_a_decoration_without_an_area_has_none() -> None:
    rows = door(
        *section("S1", RED),
        Decoration(
            object=o.OBJ, decoration="D1", place="door", kind="lining", scheme="1", state="exposed", observed_on="2020"
        ),
    )
    assert said(rows, {"action": "strip"})["door/D1"].area_m2 is None


def test_stripping_a_whole_object_takes_all_that_survives() -> None:
    rows = door(*section("S1", RED), *section("S2", RED))
    found = assess(Case(o.facts(rows)), o.proposal({"action": "strip", "place": "all"}))
    assert found.loss_share == pytest.approx((1.0, 1.0, 1.0))
    assert found.loss_m2 == pytest.approx(found.surviving_m2)


@pytest.mark.parametrize("area", [0.2, 0.02, 1.0])
def test_a_smaller_window_never_clears_more_and_takes_its_share(area: float) -> None:
    rows = door(*section("S1", ("1", "body colour", "red", None)), *o.met("T1", 1, "removed", sample="S1", dwell=10))
    rows = [row.model_copy(update={"coverage_pct": 100.0}) if isinstance(row, Layer) else row for row in rows]
    whole, part = (said(rows, {**ACETONE, **more})["door/1/body colour"] for more in ({}, {"area_m2": area}))
    assert part.severity == whole.severity == "destroys"
    assert part.share[2] == pytest.approx(area / 2.0)
    assert part.share[0] == pytest.approx(whole.share[0] * area / 2.0)


def test_what_is_spared_is_no_loss_and_the_mask_is_asked_for() -> None:
    rows = door(
        Zone(object=o.OBJ, zone="panel", component="door", area_m2=0.5),
        *section("S1", RED),
        *section("S2", RED, place="panel"),
        Reserve(object=o.OBJ, reserve="R1", place="panel", kind="reserve"),
    )
    found = assess(Case(o.facts(rows)), o.proposal({"action": "strip", "spares": "panel"}))
    assert {loss.place for loss in found.losses} == {"door"}
    assert "mask" in {r.rule for r in found.requirements if r.when == "work" and not r.met}
    assert "panel" in {loss.place for loss in assess(Case(o.facts(rows)), o.proposal({"action": "strip"})).losses}


def test_a_weaker_mixture_is_judged_by_the_model_and_not_by_what_the_stronger_one_did() -> None:
    """1 part in 2 stood, 2 in 3 harmed; 1 part in 12 lies nearer to what is published for oil, so it is not cleared,
    but the harm was the limit of the stronger mixture (Hansen 2007, Table A.2, as in the reference tables)."""

    def tested(code: str, response: str, agent: str) -> list[Any]:
        return o.met(code, 1, response, agent, sample="S1", dwell=30)

    rows = [
        row.model_copy(update={"binder": "oil"}) if isinstance(row, Layer) else row
        for row in door(
            *section("S1", RED),
            *tested("T1", "none seen", "1 1-methoxy-2-propanol + 1 dearomatised white spirit"),
            *tested("T2", "gloss change", "2 1-methoxy-2-propanol + 1 dearomatised white spirit"),
        )
    ]
    weaker = {**ACETONE, "agent": "1 1-methoxy-2-propanol + 11 dearomatised white spirit"}
    loss = said(rows, weaker)["door/1/body colour"]
    assert loss.severity != "stood"
    assert "T2" not in loss.message
