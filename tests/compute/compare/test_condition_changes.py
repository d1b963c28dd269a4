"""What became of conditions: each kind of change by one case, and what is no change because nobody looked again."""

from __future__ import annotations

from typing import Any

import pytest
from two_looks import GREEN, NOW, RED, THEN, looked, read, seen

from collection.compute.compare import conditions as c
from collection.values import dates

SLIGHT: dict[str, Any] = {"severity": 1, "extent_pct": 5.0}
SEVERE: dict[str, Any] = {"severity": 3, "extent_pct": 30.0}
NONE: dict[str, Any] = {"severity": 0}


@pytest.mark.parametrize(
    ("then", "now", "kinds"),
    [
        (SLIGHT, SEVERE, (c.WORSE,)),
        (SEVERE, SLIGHT, (c.BETTER,)),
        ({"severity": 2, "extent_pct": 20.0}, {"severity": 2, "extent_pct": 25.0}, (c.WORSE,)),
        ({"severity": 2, "extent_pct": 20.0}, {"severity": 3, "extent_pct": 10.0}, (c.WORSE, c.BETTER)),
        ({"severity": 2, "extent_pct": 20.0}, {"severity": 2, "extent_pct": 20.0}, (c.SAME,)),
        ({"severity": 2}, {"severity": 2, "extent_pct": 90.0}, (c.SAME,)),
        ({"severity": 2, "active": "no"}, {"severity": 2, "active": "yes"}, (c.ACTIVE,)),
        ({"severity": 1, "active": "no"}, {"severity": 2, "active": "yes"}, (c.ACTIVE, c.WORSE)),
        ({"severity": 2, "active": "unknown"}, {"severity": 2, "active": "yes"}, (c.KNOWN,)),
        ({"severity": 2}, {"severity": 2, "active": "yes"}, (c.KNOWN,)),
        ({"severity": 2, "active": "yes"}, {"severity": 2, "active": "no"}, (c.RESTS,)),
        ({"severity": 2, "active": "yes"}, {"severity": 2, "active": "unknown"}, (c.SAME,)),
        (NONE, SLIGHT, (c.NEW,)),
        (SLIGHT, NONE, (c.GONE,)),
        (SLIGHT, {"extent_pct": 0.0}, (c.GONE,)),
        (NONE, NONE, (c.SAME,)),
        ({"severity": 2}, {"extent_pct": 20.0}, (c.UNCLEAR,)),
    ],
)
def test_one_place_and_phenomenon_looked_at_twice(
    then: dict[str, Any], now: dict[str, Any], kinds: tuple[str, ...]
) -> None:
    """Grade and extent are compared each with itself. Whether it was active and is not known counts for nothing."""
    (found,) = looked([seen(THEN, **then)], [seen(NOW, **now)]).conditions
    assert found.kinds == kinds


def test_what_was_not_looked_at_again_is_never_gone() -> None:
    """The flaking of 2014 has no row of 2024: it is neither gone nor unchanged."""
    found = looked([seen(THEN, **SEVERE)], [seen(NOW, "foot", **SLIGHT)])
    assert [each.kind for each in found.conditions] == [c.FIRST]
    assert [(each.then.place, each.closed) for each in found.not_seen_again] == [("top", False)]
    assert found.not_looked_at == ("top",)


def test_a_place_that_could_not_be_reached_is_not_looked_at_again_and_says_why() -> None:
    found = looked([seen(THEN, **SEVERE)], [seen(NOW, "door", "not accessible")])
    assert [(each.then.place, each.closed) for each in found.not_seen_again] == [("top", True)]
    assert found.conditions == ()


def test_none_seen_speaks_for_every_scheme_where_it_names_none() -> None:
    """Flaking of scheme 2 in 2014; in 2024 somebody looked for any flaking there and found none."""
    (found,) = looked([seen(THEN, scheme="2", **SLIGHT)], [seen(NOW, **NONE)]).conditions
    assert (found.kind, found.scheme) == (c.GONE, "2")


def test_none_seen_says_nothing_once_something_was_seen_again() -> None:
    """No flaking in April, flaking of nobody knows what in July: that of scheme 2 is not known to be gone."""
    rows = [seen("2024-04-01", **NONE), seen("2024-07-01", **SEVERE)]
    found = looked([seen(THEN, scheme="2", **SLIGHT)], rows)
    assert {each.kind for each in found.conditions} == {c.UNCLEAR}


def test_the_gravest_and_then_those_of_original_finish_come_first() -> None:
    then = [seen(THEN, scheme=scheme, severity=1) for scheme in ("1", "2")]
    then += [seen(THEN, "foot", "bloom", severity=1, active="no"), seen(THEN, "foot", severity=1)]
    now = [row.model_copy(update={"observed_on": NOW, "severity": 2}) for row in then]
    now[2] = now[2].model_copy(update={"active": "yes"})
    found = looked(then, now).conditions
    assert [(each.place, each.phenomenon, each.scheme) for each in found] == [
        ("foot", "bloom", None),
        ("top", "flaking", "1"),
        ("foot", "flaking", None),
        ("top", "flaking", "2"),
    ]


def test_none_on_one_scheme_does_not_speak_for_another() -> None:
    """Nobody says that the flaking of scheme 2 is gone because scheme 1 does not flake."""
    found = looked([seen(THEN, scheme="2", **SLIGHT)], [seen(NOW, scheme="1", **NONE)])
    assert [each.kind for each in found.conditions] == [c.UNCLEAR]
    assert "scheme 1" in found.conditions[0].why


def test_a_larger_place_is_not_the_same_place() -> None:
    """Flaking of the whole door in 2024 says neither that the top got worse nor that it is the flaking of 2014."""
    found = looked([seen(THEN, **SLIGHT)], [seen(NOW, "door", **SEVERE)])
    assert {each.kind for each in found.conditions} == {c.UNCLEAR}
    assert found.not_seen_again == ()


@pytest.mark.parametrize(
    ("then", "now", "kind"),
    [
        ("2014", "2024", c.WORSE),
        ("201X", "2019", c.UNCLEAR),  # may be of the same year
        ("2014~", "2018", c.UNCLEAR),  # about 2014 reaches to 2019
    ],
)
def test_dates_that_may_overlap_make_no_change(then: str, now: str, kind: str) -> None:
    surveys: dict[str, Any] = {"one": ("A", dates.bounds("2010/2014")), "other": ("B", dates.bounds("2018/2024"))}
    (found,) = looked([seen(then, **SLIGHT)], [seen(now, **SEVERE)], **surveys).conditions
    assert found.kind == kind
    assert (found.then.observed_on, found.now.observed_on) == (then, now)
    assert (found.why == "both may be of the same time") == (kind == c.UNCLEAR)


def test_what_the_later_survey_found_in_old_papers_is_no_look_of_its_own() -> None:
    """The survey of 2024 brings a note of 1990; it says nothing of what became of the flaking of 2014."""
    found = looked([seen(THEN, **SLIGHT)], [seen("1990", **SEVERE)])
    assert found.conditions == ()
    assert [each.then.observed_on for each in found.not_seen_again] == [THEN]


def test_of_several_rows_the_newest_counts() -> None:
    """Worse in April, better again in July than it was in 2014."""
    rows = [seen("2024-04-01", **SEVERE), seen("2024-07-01", severity=1, extent_pct=2.0)]
    (found,) = looked([seen(THEN, **SLIGHT)], rows).conditions
    assert (found.kind, found.now.observed_on) == (c.BETTER, "2024-07-01")


def test_where_several_may_be_the_newest_and_differ_nothing_is_said() -> None:
    rows = [seen("2024-04", **SEVERE), seen("2024-04-15", severity=1, extent_pct=2.0)]
    (found,) = looked([seen(THEN, **SLIGHT)], rows).conditions
    assert (found.kind, found.why) == (c.UNCLEAR, "several records may be the newest, and they differ")
    assert (found.then.observed_on, found.now.observed_on[:7]) == (THEN, "2024-04")


@pytest.mark.parametrize(
    ("scheme", "place", "original"),
    [("1", "top", True), ("2", "top", False), (None, "top", True), (None, "foot", False)],
)
def test_whether_it_may_be_of_original_finish(scheme: str | None, place: str, original: bool) -> None:
    """Of a named scheme its period decides; else whether original finish survives there: it was read at the top only."""
    rows = [seen(THEN, place, scheme=scheme, **SLIGHT), *read("S1", THEN, RED, GREEN)]
    (found,) = looked(rows, [seen(NOW, place, scheme=scheme, **SEVERE)]).conditions
    assert (found.kind, found.original) == (c.WORSE, original)


@pytest.mark.parametrize(
    ("phenomenon", "scheme", "then", "now", "lost"),
    [
        ("loss", "1", SLIGHT, SEVERE, True),
        ("loss", "1", NONE, SLIGHT, True),
        ("loss", "1", SEVERE, SLIGHT, False),
        ("loss", "2", SLIGHT, SEVERE, False),
        ("loss", None, SLIGHT, SEVERE, False),  # of what, nobody says
        ("flaking", "1", SLIGHT, SEVERE, False),  # it still clings
    ],
)
def test_more_loss_of_an_original_scheme_is_original_finish_lost(
    phenomenon: str, scheme: str | None, then: dict[str, Any], now: dict[str, Any], lost: bool
) -> None:
    rows = [seen(THEN, phenomenon=phenomenon, scheme=scheme, **then), *read("S1", THEN, RED)]
    (found,) = looked(rows, [seen(NOW, phenomenon=phenomenon, scheme=scheme, **now)]).conditions
    assert found.lost == found.as_json()["original_lost"] == lost


def test_the_words_that_programs_read() -> None:
    assert c.KINDS == (
        "became active",
        "worse",
        "new",
        "known to be active",
        "first recorded",
        "better",
        "came to rest",
        "gone",
        "unclear",
        "unchanged",
    )
