"""Original finish lost, exposed, covered, or only read for the first time; and by which work."""

from __future__ import annotations

from typing import Any

import pytest
from two_looks import GREEN, NOW, OBJ, RED, THEN, VARNISH, looked, read, seen, sides, work

from collection.compute.compare import finish as f
from collection.compute.compare.comparison import compare
from collection.compute.compare.sides import by_dates
from collection.records.sheets import Component, Decoration

COVERED = read("S1", THEN, RED, VARNISH, GREEN)
STEP: dict[str, Any] = {"removed": "2", "removed_m2": 1.0}


def told(then: list[Any], now: list[Any], others: list[Any] | tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    return [(c.kind, c.place, c.scheme or c.decoration, c.by) for c in looked(then, now, others).finish]


def test_a_repaint_taken_off_exposes_the_original_and_the_treatment_is_named() -> None:
    """In 2014 the red lay under green; T1 of 2019 took the green off the whole top."""
    assert told(COVERED, work("T1", "2019", STEP)) == [(f.EXPOSED, "top", None, ("T1",))]


def test_work_whose_record_says_that_it_took_original_finish_lost_it() -> None:
    (found,) = looked(COVERED, work("T1", "2019", {"removed": "1", "removed_m2": 1.0})).finish
    assert (found.kind, found.place, found.scheme, found.by, found.area_m2) == (f.LOST, "top", "1", ("T1",), 1.0)
    assert (found.then, found.now) == ("original covered", "original removed")


def test_work_on_a_part_of_the_place_loses_that_part() -> None:
    """0.3 of 1 m²: the rest survives, so the place is fragmentary, and the loss is told once."""
    (found,) = [c for c in looked(COVERED, work("T1", "2019", {"removed": "1", "removed_m2": 0.3})).finish if c.by]
    assert (found.kind, found.area_m2, found.now) == (f.LOST, 0.3, "original fragmentary")


@pytest.mark.parametrize("outcome", ["tried and failed"])
def test_work_that_failed_loses_nothing(outcome: str) -> None:
    assert told(COVERED, work("T1", "2019", {"removed": "1"}, outcome=outcome)) == []
    assert told(COVERED, work("T1", "2019", {"removed": "1", "outcome": outcome})) == []


def test_work_that_does_not_say_what_it_took_may_have_taken_the_original() -> None:
    assert told(COVERED, work("T1", "2019", {"action": "strip"})) == [(f.MAY_BE_LOST, "top", None, ("T1",))]


def test_a_place_read_bare_was_lost_and_no_record_says_by_what() -> None:
    """In 2024 the whole top was read and is bare; nobody wrote down how that came."""
    bare = read("S2", NOW, ("1", "body colour", "red", "absent"), extent="whole place")
    assert told(COVERED, bare) == [(f.LOST, "top", None, ())]


def test_one_bare_spot_is_no_loss_of_the_place() -> None:
    """The top reads as fragmentary since, and may always have been so."""
    assert told(COVERED, read("S2", NOW, ("1", "body colour", "red", "absent"))) == [(f.FRAGMENT, "top", None, ())]


def test_what_was_read_for_the_first_time_is_no_change() -> None:
    assert told(COVERED, read("S2", NOW, RED, GREEN, place="foot")) == [(f.FIRST, "foot", None, ())]


def test_what_had_not_been_found_was_found() -> None:
    assert told(read("S1", THEN, GREEN), read("S2", NOW, RED, GREEN)) == [(f.FOUND, "top", None, ())]


def test_a_coat_put_over_exposed_original_covers_it() -> None:
    coated = work("T1", "2019", {"action": "coat", "adds": "varnish"})
    assert told(read("S1", THEN, RED), coated) == [(f.COVERED, "top", None, ("T1",))]


@pytest.mark.parametrize(
    ("when", "mine", "kinds"),
    [
        ("2019", False, [f.LOST]),
        ("2012", False, []),  # before the earlier survey
        ("2025", False, []),  # after the later one
        ("201X", False, [f.MAY_BE_LOST]),  # may be before or after 2014
        ("201X", True, []),  # the survey of 2014 brought it, so it was done by then
        (None, False, [f.MAY_BE_LOST]),  # undated, and only the survey of 2024 knows of it
    ],
)
def test_work_counts_from_the_earlier_survey_to_the_later(when: str | None, mine: bool, kinds: list[str]) -> None:
    """Where its date may lie on either side, it may have taken the finish since."""
    done = work("T1", when, {"removed": "1"})
    then, now = ([*COVERED, *done], []) if mine else (COVERED, done)
    assert [c.kind for c in looked(then, now).finish if c.by] == kinds


def test_undated_work_that_neither_survey_brought_says_nothing() -> None:
    assert [kind for kind, *_, by in told(COVERED, [], work("T1", None, {"removed": "1"})) if by] == []


@pytest.mark.parametrize(
    ("then", "now", "kind"),
    [
        ("covered", "lost", f.LOST),
        ("covered", "not found", f.MAY_BE_LOST),
        ("covered", "exposed", f.EXPOSED),
        ("exposed", "covered", f.COVERED),
        ("exposed", "fragment", f.FRAGMENT),
        ("not found", "covered", f.FOUND),
        ("covered", "covered", None),
        ("fragment", "covered", None),  # more was seen of it; it was there
        ("not found", "fragment", f.FOUND),
        (None, "covered", None),
    ],
)
def test_states_of_a_decoration(then: str | None, now: str, kind: str | None) -> None:
    def state(on: str, word: str | None) -> Decoration:
        return Decoration(object=OBJ, decoration="D1", place="top", kind="lining", observed_on=on, state=word)

    expected = [] if kind is None else [(kind, "top", "D1", ())]
    assert told([state(THEN, then)], [state(NOW, now)]) == expected
    assert told([state("201X", then)], [state("2019", now)]) == []  # the order is not sure


def test_a_missing_part_was_there_only_if_somebody_said_so() -> None:
    """A part first recorded as missing may have been missing for long."""

    def lamp(on: str | None, presence: str | None, origin: str | None = None) -> Component:
        return Component(object=OBJ, component="lamp", name="lamp", presence=presence, observed_on=on, origin=origin)

    gone = lamp(NOW, "missing")
    assert told([lamp(THEN, "present")], [gone]) == [(f.PART, "lamp", None, ())]
    assert told([], [gone]) == []
    assert told([lamp(THEN, "missing")], [gone]) == []
    for origin in ("original", "unknown"):
        assert told([lamp(THEN, "present", origin)], [lamp(NOW, "missing", origin)]) == [(f.PART, "lamp", None, ())]
    assert told([lamp(THEN, "present", "replaced")], [lamp(NOW, "missing", "replaced")]) == []


def test_nothing_is_said_of_a_place_that_nobody_looked_at_again() -> None:
    """The foot was read in 2014 and not in 2024: the finish there is neither lost nor kept."""
    found = looked([*COVERED, *read("S3", THEN, RED, GREEN, place="foot")], read("S2", NOW, RED, VARNISH, GREEN))
    assert found.finish == ()
    assert found.not_looked_at == ("foot",)


def test_between_dates_blurred_work_may_be_since() -> None:
    """Work of the 2010s between the end of 2014 and the end of 2024."""
    case, _ = sides([*COVERED, *work("T1", "201X", {"removed": "1"}), seen(THEN, severity=1)], [seen(NOW, severity=2)])
    found = compare(case, by_dates(case, "2014", "2024"))
    assert [(c.kind, c.by) for c in found.finish] == [(f.MAY_BE_LOST, ("T1",))]
    assert [c.kind for c in found.conditions] == ["worse"]
