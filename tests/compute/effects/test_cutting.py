"""Cuts: depth against films in µm. Red under varnish under green, each 30 µm, unless a case says otherwise.

Tables of cases, each with what must come out and why. `mutants.py` changes the logic and asks whether these notice.
All objects are invented; what they show is common practice, no published source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import GREEN, POLICY, RED, VARNISH, changed, door, section
from stacks import CAB, WING

from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case
from collection.compute.effects.cutting import CutRate, cut_rate
from collection.compute.effects.thickness import chance_through, surely_through
from collection.compute.effects.work import Work
from collection.records.sheets import Layer, ProposalStep


def cut(
    step: dict[str, Any],
    *,
    films: int = 3,
    of: str = "1",
    role: str = "varnish",
    disturbed: bool = False,
    thickness: list[Any] | None = None,
    rows: list[Any] | tuple[Any, ...] = (),
) -> CutRate:
    """The rate of a cut on the varnish beneath 30 µm of green."""
    every = [row for n in range(films) for row in section(f"S{n}", RED, VARNISH, GREEN)]
    if thickness is not None:
        every = [
            row.model_copy(update={"thickness_um": thickness[int(row.sample[1]) % len(thickness)]})
            if isinstance(row, Layer) and row.scheme == "2"
            else row
            for row in every
        ]
    facts = o.facts(door(WING, *every, *rows))
    found = stack_of(Case(facts), "door")
    coat = next(c for c in found.coats if c.scheme == of and c.role == role)
    asked = ProposalStep(object=o.OBJ, proposal="P", step=1, place="door", action="scrape", **step)
    return cut_rate(Work(Case(facts), found, asked, None, thinned=disturbed), coat)


DEEP = {"depth_um": 45.0, "depth_sd_um": 1.0}
SHALLOW = {"depth_um": 5.0, "depth_sd_um": 0.5}
THROUGH_30 = chance_through(45.0, 1.0, [30.0] * 3, POLICY.least_log_sd)
THROUGH_60 = surely_through(45.0, 1.0, [60.0] * 3, POLICY.least_log_sd)


@pytest.mark.parametrize(
    ("given", "low", "middle", "high", "readings", "word"),
    [
        # To the support, unless it says where it stops; nothing of no depth.
        ((({}),), 1.0, 1.0, 1.0, 0, "Neither depth nor a coat to stop at is stated"),
        (({"depth_um": 0.0},), 0.0, 0.0, 0.0, 3, "The cut has no depth."),
        # Through 30 µm and into what lies beneath: as often as a film is thinner (`test_loss` holds that against scipy).
        (
            (DEEP,),
            THROUGH_60,
            (THROUGH_60 + THROUGH_30) / 2,
            THROUGH_30,
            3,
            "A cut of 45 ± 1 µm against 3 measured films of 30–30 µm above it.",
        ),
        ((SHALLOW,), 0.0, 0.0, 0.0, 3, "A cut of 5 ± 0.5 µm against 3 measured films"),
        (({"depth_um": 45.0},), 0.0, 0.5, 1.0, 3, "The spread of the depth is not stated."),
    ],
)
def test_a_cut_is_measured_against_the_films_above(
    given: tuple[dict[str, float]], low: float, middle: float, high: float, readings: int, word: str
) -> None:
    found = cut(*given)
    assert (found.low, found.middle, found.high) == pytest.approx((low, middle, high), abs=0.005)
    assert (found.readings, found.stops) == (readings, False)
    assert found.why.startswith(word)


def test_a_cut_goes_through_what_is_thinner_than_it_and_stays_above_what_is_thicker() -> None:
    """150 µm deep through 60 µm down to the red: gone; 75 µm in the middle of the red: reached."""
    assert cut({"depth_um": 150.0, "depth_sd_um": 1.0}, role="varnish").low > 0.95
    reached = cut({"depth_um": 75.0, "depth_sd_um": 1.0}, role="body colour")
    assert reached.low < 0.3 < 0.7 < reached.high


@pytest.mark.parametrize(
    ("depth", "options", "films", "readings", "wanted"),
    [
        (25.0, {"films": 1}, "half", 1, "measure at least 3 thicknesses"),
        (25.0, {"disturbed": True}, "half", 3, "measure again after the step before"),
        (25.0, {"thickness": [None]}, [], 0, "measure the thickness of every coat above it"),
        (25.0, {"thickness": [30.0, 30.0, None]}, [30.0, 30.0], 2, "measure the thickness of every coat above it"),
        (
            5.0,
            {"films": 4, "thickness": [30.0, 30.0, 30.0, None]},
            [30.0] * 3,
            0,
            "measure the thickness of every coat above it",
        ),
        (5.0, {"films": 2, "thickness": [30.0, None]}, [30.0], 1, "measure the thickness of every coat above it"),
        (
            5.0,
            {"films": 4, "thickness": [30.0, 30.0, 30.0, None], "sd": 30.0},
            [30.0] * 3,
            3,
            "measure the thickness of every coat above it",
        ),
    ],
)
def test_films_that_are_few_unmeasured_or_thinned_bound_nothing(
    depth: float, options: dict[str, Any], films: Any, readings: int, wanted: str
) -> None:
    """What was measured goes on telling that the cut may reach the coat; one film alone rules nothing out, and as much
    is expected as a hand misses."""
    sd = options.get("sd", 0.5)
    found = cut({"depth_um": depth, "depth_sd_um": sd}, **{key: v for key, v in options.items() if key != "sd"})
    reach = 0.5 if films == "half" else chance_through(depth, sd, films, POLICY.least_log_sd)
    expected = POLICY.hand_misses if reach is None else reach
    assert (found.low, found.middle, found.high) == pytest.approx((0.0, expected, 1.0), abs=0.02)
    assert (found.readings, found.wanting) == (readings, wanted)


def test_a_cut_that_surely_goes_through_does_so_whatever_is_not_known_of_it() -> None:
    cases: tuple[dict[str, Any], ...] = ({"disturbed": True}, {})
    for options in cases:
        found = cut({"depth_um": 150.0, "depth_sd_um": 1.0}, **options)
        assert found.low > 0.95
        assert found.middle == pytest.approx((found.low + found.high) / 2)
    assert cut({"depth_um": 150.0}).low == 0.0
    assert cut({"depth_um": 150.0, "depth_sd_um": 1.0}, films=2).low == 0.0, "two films are too few to say so"


def test_dirt_that_nobody_measured_counts_as_nothing_and_a_film_between_its_extremes() -> None:
    dirty = section("S9", RED, VARNISH, GREEN, (None, "dirt", None, "intact"))
    dirty = [
        row.model_copy(update={"thickness_um": None}) if isinstance(row, Layer) and row.role == "dirt" else row
        for row in dirty
    ]
    assert cut(SHALLOW, rows=dirty).readings == 4
    between = [
        row.model_copy(update={"thickness_um": None, "thickness_min_um": 20.0, "thickness_max_um": 40.0})
        if isinstance(row, Layer) and row.scheme == "2"
        else row
        for row in section("S9", RED, VARNISH, GREEN)
    ]
    assert "4 measured films of 30–30 µm" in cut(SHALLOW, rows=between).why
    half = changed(between, Layer, thickness_max_um=None)
    assert cut(SHALLOW, rows=half).wanting == "measure the thickness of every coat above it"


def test_a_place_with_few_films_of_its_own_takes_those_of_its_part() -> None:
    wing = [row for n in range(3, 6) for row in section(f"S{n}", RED, VARNISH, GREEN, place="wing")]
    cab = [row for n in range(6, 9) for row in section(f"S{n}", RED, VARNISH, GREEN, place="cab")]
    assert cut(SHALLOW, films=2, rows=[*wing, *CAB[:1], *cab]).readings == 5
    assert cut(SHALLOW, films=3, rows=wing).readings == 3


@pytest.mark.parametrize(
    ("stop", "of", "role", "low", "high", "stops"),
    [
        # At the scheme: its outermost coat, the varnish. What lies above goes; beneath it, a film deeper, may be reached.
        ("1", "2", "body colour", 1.0, 1.0, False),
        ("1", "1", "varnish", 0.0, 0.5, True),
        ("1", "1", "body colour", 0.0, 0.0, True),
        # At a coat of it: the varnish lies above and goes.
        ("1/body colour", "1", "varnish", 1.0, 1.0, False),
        ("1/body colour", "1", "body colour", 0.0, 0.5, True),
        # At a coat that was not seen here: anywhere.
        ("1/primer", "1", "varnish", 0.0, 1.0, True),
        ("9", "1", "varnish", 0.0, 1.0, True),
    ],
)
def test_a_cut_that_is_to_stop_at_a_coat_takes_what_lies_above_it(
    stop: str, of: str, role: str, low: float, high: float, stops: bool
) -> None:
    """A hand misses by a fifth of the film above where it stops: half of the time it goes too far."""
    found = cut({"stop_at": stop}, of=of, role=role)
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.02)
    assert found.middle == pytest.approx((found.low + found.high) / 2)
    assert found.stops == stops


def test_a_hand_misses_by_a_share_of_the_film_and_the_place_has_films_of_its_own() -> None:
    """A fifth of 30 µm is 6 µm, against 40 µm down to the red; in the wing the green is only 5 µm, so 1 µm."""
    thin = [
        row.model_copy(update={"thickness_um": 10.0}) if isinstance(row, Layer) and row.role == "varnish" else row
        for n in range(3)
        for row in section(f"S{n}", RED, VARNISH, GREEN)
    ]
    wing = [
        row.model_copy(update={"thickness_um": 5.0}) if isinstance(row, Layer) and row.scheme == "2" else row
        for n in range(3, 6)
        for row in section(f"S{n}", RED, VARNISH, GREEN, place="wing")
    ]
    facts = o.facts(door(WING, *thin, *wing))
    for place, depth, films in (("door", 30.0, 40.0), ("wing", 5.0, 35.0)):
        found = stack_of(Case(facts), place)
        red = next(c for c in found.coats if c.role == "body colour" and c.scheme == "1")
        asked = ProposalStep(object=o.OBJ, proposal="P", step=1, place=place, action="scrape", stop_at="1/varnish")
        expected = chance_through(depth, POLICY.hand_misses * depth, [films] * 3, POLICY.least_log_sd)
        assert cut_rate(Work(Case(facts), found, asked, None), red).high == pytest.approx(expected), place


def test_a_hand_that_has_no_films_to_go_by_may_miss_by_all() -> None:
    for options in ({"films": 1}, {"thickness": [None]}, {"thickness": [30.0, None]}, {"thickness": [0.0]}):
        found = cut({"stop_at": "1/varnish"}, **options)
        assert (found.low, found.middle, found.high, found.stops) == (0.0, POLICY.hand_misses, 1.0, True), options
    assert cut({"stop_at": "2"}, of="2", role="body colour").high == 1.0, "nothing lies above it to measure by"
    assert cut({"stop_at": "1/varnish"}, films=2).high < 0.6
