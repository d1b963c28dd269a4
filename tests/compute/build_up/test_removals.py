"""What documented work took of a place.

Tables of cases, each with what must come out and why. `mutants.py` changes the logic and asks whether these notice.
All objects are invented; what they show is common practice, no published source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import changed, door, work
from stacks import CAB, WING

from collection.compute.build_up.removals import mostly_taken, share_of_step, stripped, taken, taken_in_all
from collection.compute.case import Case
from collection.records.sheets import Treatment, TreatmentStep


@pytest.mark.parametrize(
    ("step", "place", "expected"),
    [
        ({"removed_m2": 0.5}, "door", (0.25, 0.25, 0.25)),
        ({"removed_m2": 2.0}, "door", (1.0, 1.0, 1.0)),
        # More than the place has, or no area of what was taken: bounds from above alone.
        ({"removed_m2": 2.5}, "door", (0.0, 0.5, 1.0)),
        ({"area_m2": 0.5}, "door", (0.0, 0.125, 0.25)),
        ({}, "door", (0.0, 0.5, 1.0)),
        ({"removed_m2": 0.5, "area_m2": 0.2}, "door", (0.0, 0.05, 0.1)),
        ({"removed_m2": 0.2, "area_m2": 0.5}, "door", (0.1, 0.1, 0.1)),
        # Done in part, or tried: the same.
        ({"removed_m2": 0.5, "outcome": "partly"}, "door", (0.0, 0.125, 0.25)),
        ({"removed_m2": 0.5, "outcome": "tried and failed"}, "door", (0.0, 0.125, 0.25)),
        ({"removed_m2": 0.5, "step": "partly"}, "door", (0.0, 0.125, 0.25)),
        ({"removed_m2": 0.5, "outcome": "partly", "step": "done"}, "door", (0.25, 0.25, 0.25)),
        # Stripping leaves up to a tenth; not where it was done in part, nor where an area says how much.
        ({"action": "strip"}, "door", (0.9, 0.95, 1.0)),
        ({"action": "strip", "outcome": "partly"}, "door", (0.0, 0.5, 1.0)),
        ({"action": "strip", "removed_m2": 0.5}, "door", (0.25, 0.25, 0.25)),
        # A smaller place in it may be where the work went, or not; another place is not.
        ({"action": "strip"}, "wing", (0.9, 0.95, 1.0)),
        ({"removed_m2": 0.2}, "wing", (0.0, 0.1, 0.4)),
        ({"removed_m2": 0.8}, "wing", (0.0, 0.4, 1.0)),
        ({"place": "wing", "removed_m2": 0.2}, "wing", (0.4, 0.4, 0.4)),
        ({"place": "cab", "removed_m2": 0.2}, "door", (0.0, 0.0, 0.0)),
        ({"place": "cab"}, "wing", (0.0, 0.0, 0.0)),
        # Somewhere, nobody knows where.
        ({"place": "under the step", "removed_m2": 0.2}, "wing", (0.0, 0.0, 0.4)),
    ],
)
def test_a_removal_acts_on_the_share_of_its_own_place_that_it_covered(
    step: dict[str, Any], place: str, expected: tuple[float, float, float]
) -> None:
    step = dict(step)
    """A door of 2 m²; the wing is 0.5 m² of it where the work is told of another place or of the wing itself."""
    zones = [WING] if place == "wing" else []
    own = step.pop("step", None)
    facts = o.facts(
        door(
            *zones,
            *CAB[:1],
            *changed(work(**{"action": "solvent", "removed": "1", **step}), TreatmentStep, outcome=own),
        )
    )
    assert share_of_step(Case(facts), facts.treatments[0], facts.treatment_steps[0], place) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("on", "removed", "role", "expected"),
    [
        ("2021", "1", "varnish", (0.25, 0.25, 0.25)),
        ("2019", "1", "varnish", (0.0, 0.0, 0.0)),
        ("2020", "1", "varnish", (0.0, 0.125, 0.25)),
        ("2019/2020-05-01", "1", "varnish", (0.0, 0.125, 0.25)),
        (None, "1", "varnish", (0.0, 0.125, 0.25)),
        ("2021", "1/varnish", "varnish", (0.25, 0.25, 0.25)),
        ("2021", "1/varnish", "body colour", (0.0, 0.0, 0.0)),
        ("2021", "2", "varnish", (0.0, 0.0, 0.0)),
    ],
)
def test_what_was_read_before_a_removal_lost_its_share_and_dates_that_may_overlap_count_by_half(
    on: str | None, removed: str, role: str, expected: tuple[float, float, float]
) -> None:
    """Read on 1 May 2020; a quarter of the door was worked on."""
    facts = o.facts(door(*work("solvent", on=on, removed=removed, removed_m2=0.5)))
    assert taken(Case(facts), "1", role, "door", "2020-05-01") == pytest.approx(expected)


@pytest.mark.parametrize(
    ("action", "place", "on", "since", "expected"),
    [
        ("strip", "door", "2021", "2020", True),
        ("strip", "door", "2021", "2022", False),
        ("strip", "door", "2021", None, True),
        ("strip", "door", "2021", "2020/2022", True),
        ("strip", "door", "2021", "2021-05", True),
        ("blast", "door", "2021", "2020", True),
        ("solvent", "door", "2021", "2020", False),
        ("strip", "cab", "2021", "2020", False),
        ("strip", "all", "2021", "2020", True),
    ],
)
def test_work_that_takes_all_there_is_may_have_met_a_place_since(
    action: str, place: str, on: str, since: str | None, expected: bool
) -> None:
    facts = o.facts(door(*CAB[:1], *work(action, place=place, on=on)))
    assert stripped(Case(facts), "door", since) == expected
    assert not stripped(Case(o.facts(door(*CAB[:1], *work(action, place=place, on=on, removed="1")))), "door", since)


def test_several_removals_may_have_met_one_surface_or_each_another() -> None:
    """A quarter and a half of the door: at least the half, at most three quarters; taken as independent, 0.625."""
    rows = [*work("solvent", removed="1", removed_m2=0.5), *work("solvent", code="W8", removed="1", removed_m2=1.0)]
    assert taken(Case(o.facts(door(*rows))), "1", None, "door", "2020") == pytest.approx((0.5, 0.625, 0.75))
    assert taken_in_all(Case(o.facts(door(*rows))), "1", "door") == pytest.approx((0.5, 0.625, 0.75))
    assert taken_in_all(Case(o.facts(door(*rows))), "2", "door") == (0.0, 0.0, 0.0)
    assert taken_in_all(Case(o.facts(door(WING, *rows))), "1", "wing", evenly=True)[0] == pytest.approx(0.5)
    assert taken_in_all(Case(o.facts(door(WING, *rows))), "1", "wing")[0] == 0.0
    third = work("solvent", code="W7", removed="1", removed_m2=1.0)
    assert taken(Case(o.facts(door(*rows, *third))), "1", None, "door", "2020")[2] == 1.0


def test_a_treatment_is_dated_by_what_is_known_of_it() -> None:
    """Begun in 2019 and ended in 2021, it may have met what was read in 2020; one date stands for the whole."""
    whole = changed(work("solvent", removed="1", removed_m2=0.5), Treatment, started="2019", ended="2021")
    for change, expected in (
        ({}, (0.0, 0.125, 0.25)),
        ({"ended": None}, (0.0, 0.0, 0.0)),
        ({"started": None}, (0.25, 0.25, 0.25)),
    ):
        rows = door(*changed(whole, Treatment, **change))
        assert taken(Case(o.facts(rows)), "1", None, "door", "2020") == pytest.approx(expected), change
    assert [mostly_taken(share) for share in ((0.9, 0.95, 1.0), (0.89, 1.0, 1.0))] == [True, False]
