"""Which samples speak for a place, and which sections clear liquids of what they lack.

Tables of cases, each with what must come out and why. `mutants.py` changes the logic and asks whether these notice.
All objects are invented; what they show is common practice, no published source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import ACETONE, GREEN, RED, VARNISH, changed, door, section, severity, work
from stacks import CAB, WING, names_of, stack

from collection.compute.build_up.readings import profiles, reading
from collection.compute.build_up.sections import own_samples
from collection.compute.case import Case
from collection.records.sheets import Layer, Sample, Zone


@pytest.mark.parametrize(
    ("place", "expected"), [("door", {"S1"}), ("wing", {"S2"}), ("corner", {"S2"}), ("edge", set()), ("lost", set())]
)
def test_a_zone_that_has_no_sample_keeps_those_of_the_zone_around_it(place: str, expected: set[str]) -> None:
    """The corner is in the wing and nobody read it; the edge is a zone of the door itself."""
    zones = [
        WING,
        Zone(object=o.OBJ, zone="corner", component="door", within="wing"),
        Zone(object=o.OBJ, zone="edge", component="door"),
    ]
    facts = o.facts(
        door(
            *zones,
            *section("S1", RED),
            *section("S2", RED, place="wing"),
            *section("S3", RED, place="edge", method="gauge"),
        )
    )
    assert {s.sample for s in own_samples(Case(facts), place)} == expected


@pytest.mark.parametrize(
    ("removed", "sees", "middle"),
    [
        ("2", {"S1", "S2"}, 0.99),
        ("2/body colour", {"S1", "S2"}, 0.99),
        ("2/varnish", {"S1", "S2"}, 0.52),
        ("1", {"S1", "S2"}, 0.52),
        (None, {"S1"}, 0.99),
    ],
)
def test_what_was_read_in_a_window_counts_for_the_place_around_it_but_for_what_the_opening_took(
    removed: str | None, sees: set[str], middle: float
) -> None:
    """A trace of green was read in the opening: where the opening took the green that says nothing of the door's, which
    is intact in the door's own section. What was opened elsewhere, or not opened, is another matter."""
    panes = [Zone(object=o.OBJ, zone=zone, component="door", area_m2=0.01) for zone in ("pane", "hatch")]
    trace = ("2", "body colour", "green", "trace")
    rows = door(
        *panes,
        *section("S1", GREEN, reaches="no"),
        *section("S2", RED, VARNISH, trace, place="pane"),
        *work("solvent", place="hatch", on="2019", code="W8", removed="2"),
    )
    rows += work("solvent", place="pane", on="2019", removed=removed)
    assert {s.sample for s in own_samples(Case(o.facts(rows)), "door")} == sees
    green, *others = stack(rows).coats
    assert (green.key.colour, green.cover[1]) == ("green", pytest.approx(middle))
    assert {coat.role for coat in others} == ({"varnish", "body colour"} if removed != "1" else set())


def bare(number: int, code: str = "S", **more: Any) -> list[Any]:
    """Sections to the support that show green alone."""
    return [row for n in range(number) for row in section(f"{code}{n}", GREEN, **more)]


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        (bare(4), "clear"),
        (bare(3), "untested"),
        (bare(4, reaches="no"), "clear"),
        (bare(4, x=1.0, y=1.0), "untested"),
        ([*bare(3), *bare(1, "L", chosen="at a loss")], "untested"),
        ([*bare(4), *bare(1, "L", chosen="at a loss")], "untested"),
        (bare(4, chosen="random"), "clear"),
        ([*bare(1, x=1.0), *bare(1, "Y", y=1.0), *bare(1, "Z", x=1.0, y=1.0), *bare(1, "N")], "clear"),
        ([*bare(3, x=1.0), *bare(1, "Z")], "untested"),
        ([*bare(3), *section("S9", GREEN, (None, "body colour", "grey", "intact"))], "untested"),
        ([*bare(3), *section("S9", (None, "dirt", None, "intact"), GREEN)], "clear"),
        ([*bare(3), *section("S9", GREEN, method="surface")], "untested"),
        ([*bare(3), *section("S9", GREEN, ("1", "body colour", None, "absent"), reaches="no")], "untested"),
        ([*bare(4), *work("strip", on="1990", removed="1")], "untested"),
        ([*bare(4), *work("strip", on="1990", removed="1", place="cab"), *CAB[:1]], "clear"),
        ([*bare(4), *work("strip", on="1990", removed="1", place="under the step")], "untested"),
        ([*bare(4), *work("strip", on="1990")], "untested"),
        ([*bare(4), *work("strip", on="1990", place="cab"), *CAB[:1]], "clear"),
        ([*bare(4), *work("solvent", on="1990")], "clear"),
    ],
)
def test_liquids_are_cleared_of_a_finish_that_the_part_never_showed_by_four_whole_sections_at_four_spots(
    rows: list[Any], expected: str
) -> None:
    """Where it was once stripped, remains in recesses are the rule, and no section clears it."""
    if rows == bare(4, reaches="no"):
        assert severity(door(*rows), ACETONE, of="door/below what was seen") == "untested"
    assert severity(door(*rows), ACETONE, of="door/1/not found so far") == expected


@pytest.mark.parametrize("number", [2, 3, 4, 9])
def test_what_the_part_shows_elsewhere_no_number_of_sections_without_it_clears(number: int) -> None:
    """The door has the maker's red; the wing was read down to the support at so many spots, and green was all there. Paint
    that survives beside a place survives in its corners: spots between them say nothing."""
    rows = door(WING, *section("S9", RED, GREEN), *bare(number, place="wing"))
    assert severity(rows, {**ACETONE, "place": "wing"}, of="wing/1/not found so far") == "untested"
    assert severity(rows, {"action": "strip", "place": "wing"}, of="wing/1/not found so far") == "endangers"


PRIMED = ("1", "primer", None, "intact")
WHOLE: dict[str, Any] = {"method": "surface", "extent": "whole place"}
FINISH = "door/1/finish not found so far"


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        (section("S1", PRIMED), "untested"),
        ([*section("S1", PRIMED), *bare(6, "N")], "untested"),
        ([*section("S1", PRIMED), *section("S2", ("1", "ground", None, "intact"), PRIMED)], "untested"),
        ([*section("S1", PRIMED), *section("S2", PRIMED, RED, place="wing"), WING], "clear"),
        ([*section("S1", PRIMED), *section("S2", PRIMED, RED)], "clear"),
        ([*section("S1", PRIMED, place="wing"), WING, *section("S2", GREEN)], "clear"),
        ([*section("S1", PRIMED), *section("S2", PRIMED, **WHOLE)], "clear"),
        ([*section("S1", PRIMED), *section("S2", GREEN, **WHOLE)], "untested"),
        ([*section("S1", PRIMED), *section("S2", ("1", "primer", None, "partial"), **WHOLE)], "untested"),
        ([*section("S1", PRIMED), *section("S2", ("1", "primer", None, None), **WHOLE)], "untested"),
        (
            [*section("S1", PRIMED), *section("S2", PRIMED, ("2", "body colour", "green", "partial"), **WHOLE)],
            "untested",
        ),
        ([*section("S1", PRIMED), *section("S2", PRIMED, (None, "dirt", None, "intact"), **WHOLE)], "clear"),
    ],
)
def test_where_only_the_preparation_was_found_the_finish_may_be_left_elsewhere(rows: list[Any], expected: str) -> None:
    """Nobody stops at a primer. A test that the primer stood says nothing of the varnish that once lay on it. The finish that
    the part shows is a thing of its own; where the primer is missing too, all of it is; a reading of the whole surface
    that shows the primer open everywhere, under dirt at most, leaves no room for it; under a later coat it may be left."""
    stood = o.met("T1", 1, "none seen")
    assert severity(door(*rows, *stood), ACETONE, of=FINISH) == expected


def test_it_says_that_only_the_preparation_was_found() -> None:
    loss = o.said(door(*section("S1", PRIMED)), ACETONE)[FINISH]
    assert (
        "Step 1 (solvent): Only its preparation was found; what stood on it may be left elsewhere here: look first."
        in loss.message
    )
    assert loss.would_change_it == (
        "Look over all of door for it, and record that as a sample: method surface, extent whole place."
    )


def test_a_surface_is_seen_through_dirt_and_no_deeper_than_its_finish() -> None:
    rows = door(*section("S1", RED, GREEN, (None, "dirt", None, "intact"), method="surface"))
    assert names_of(stack(rows)) == ["S1/3", "2/body colour"]
    gone = door(*section("S1", RED, ("2", "body colour", "green", "absent"), method="surface"))
    assert names_of(stack(gone)) == ["1/body colour"]


def test_a_whole_surface_read_without_a_coat_ends_it_unless_it_was_seen_since() -> None:
    """In 2020 a section met the red; in 2022 the whole surface was read without it; then a section met it again."""
    lacking = section("S2", ("1", "body colour", None, "absent"), GREEN, extent="whole place", on="2022")
    rows = door(*section("S1", RED, GREEN), *lacking)
    assert names_of(stack(rows)) == ["2/body colour"]
    for on, expected in (("2023", True), ("2022", True), ("2021", False), ("2021/2023", True)):
        again = section("S3", RED, GREEN, on=on)
        assert ("1/body colour" in names_of(stack([*rows, *again]))) == expected, on
    assert "1/body colour" in names_of(stack(changed(rows, Sample, extent="spot"))), "a spot clears no area"


@pytest.mark.parametrize(
    ("role", "coverage", "pct", "level", "share"),
    [
        ("body colour", "intact", None, "intact", (1.0, 1.0, 1.0)),
        ("body colour", None, None, "present", (1.0, 1.0, 1.0)),
        ("body colour", "partial", None, "partial", (0.1, 0.54, 0.98)),
        ("body colour", "trace", None, "trace", (0.0, 0.05, 0.1)),
        ("body colour", None, 98.0, "intact", (0.98, 0.98, 0.98)),
        ("body colour", None, 97.0, "partial", (0.97,) * 3),
        ("body colour", None, 11.0, "partial", (0.11,) * 3),
        ("body colour", None, 10.0, "trace", (0.1,) * 3),
        ("body colour", "intact", 40.0, "intact", (0.4,) * 3),
        ("body colour", "absent", None, "absent", (0.0,) * 3),
        ("body colour", None, 0.0, "absent", (0.0,) * 3),
        ("primer", "intact", 90.0, "trace", (0.0, 0.05, 0.1)),
    ],
)
def test_a_reading_says_how_much_of_its_spot_was_covered(
    role: str, coverage: str | None, pct: float | None, level: str, share: tuple[float, float, float]
) -> None:
    """As measured, else as the policy takes the word; preparation alone is a trace of the finish."""
    rows = door(*section("S1", ("1", role, "red", coverage), (None, "dirt", None, "intact")))
    rows = [
        row.model_copy(update={"coverage_pct": pct}) if isinstance(row, Layer) and row.scheme else row for row in rows
    ]
    facts = o.facts(rows)
    found = reading(Case(facts), facts.samples[0], ["1"])
    assert (found.level, found.share) == (level, pytest.approx(share))


def test_of_several_coats_the_best_kept_speaks_and_of_equals_the_one_that_most_is_left_of() -> None:
    coats = [("1", "body colour", "red", "partial"), ("1", "varnish", None, "partial")]
    rows = [
        row.model_copy(update={"coverage_pct": 60.0}) if isinstance(row, Layer) and row.role == "varnish" else row
        for row in door(*section("S1", *coats))
    ]
    little = [
        row.model_copy(update={"coverage_pct": 30.0}) if isinstance(row, Layer) and row.role == "varnish" else row
        for row in rows
    ]
    facts = o.facts(little)
    assert reading(Case(facts), facts.samples[0], ["1"]).role == "body colour", "54 % are expected of what is partial"
    for more, role, share in (
        ([], "varnish", 0.6),
        (work("solvent", on="2022", removed="1/varnish"), "body colour", 0.54),
        (work("strip", on="2022", removed="1/varnish"), "body colour", 0.54),
    ):
        facts = o.facts([*rows, *more])
        found = reading(Case(facts), facts.samples[0], ["1"])
        assert (found.role, found.level, found.share[1]) == (role, "partial", pytest.approx(share)), more
        assert not found.history


@pytest.mark.parametrize(
    ("removed", "outermost"),
    [
        (None, {"2"}),
        ({"removed_m2": 1.9}, {"1"}),
        ({"removed_m2": 0.5}, {"2"}),
        ({}, {"2", "1"}),
        ({"action": "strip"}, {"1"}),
    ],
)
def test_what_may_lie_outermost_since_work_took_a_share_of_the_green(
    removed: dict[str, Any] | None, outermost: set[str]
) -> None:
    more = [] if removed is None else work(**{"action": "solvent", "on": "2022", "removed": "2", **removed})
    facts = o.facts(door(*section("S1", RED, GREEN), *more))
    assert profiles(Case(facts))["S1"].outermost == outermost
