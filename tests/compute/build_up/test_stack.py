"""The stack of a place: which coats, in which order, and how much they cover.

Tables of cases, each with what must come out and why. `mutants.py` changes the logic and asks whether these notice.
All objects are invented; what they show is common practice, no published source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import pytest
from objects import GREEN, RED, VARNISH, changed, door, fails, section, work
from stacks import CAB, PRIMER, WING, names_of, stack

from collection.records.sheets import Component, Layer, Scheme


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        # A section as it was read, from the outside inward.
        (section("S1", PRIMER, RED, VARNISH, GREEN), ["2/body colour", "1/varnish", "1/body colour", "1/preparation"]),
        # The part's other sections fill in, by superposition; where none decides, the ranks of the schemes do.
        (
            [*section("S1", RED, reaches="no"), *section("S2", PRIMER, RED, GREEN, place="wing")],
            ["2/body colour", "1/body colour", "1/preparation"],
        ),
        (
            [*section("S1", RED, reaches="no"), *section("S2", GREEN, place="wing", reaches="no")],
            ["2/body colour", "1/body colour"],
        ),
        (
            [*section("S1", GREEN, reaches="no"), *section("S2", RED, place="wing", reaches="no")],
            ["2/body colour", "1/body colour"],
        ),
        # A contradiction hides no coat.
        ([*section("S1", RED, GREEN), *section("S2", GREEN, RED)], ["2/body colour", "1/body colour"]),
        # What its own complete section lacks: a kept coat may be there, one that may go is not; what it has, it has.
        ([*section("S1", GREEN), *section("S2", RED, GREEN, place="wing")], ["2/body colour", "(1/not found so far)"]),
        ([*section("S1", RED), *section("S2", RED, GREEN, place="wing")], ["1/body colour"]),
        (
            [*section("S1", VARNISH), *section("S2", RED, VARNISH, place="wing")],
            ["1/varnish", "(1/body colour not found so far)"],
        ),
        # The same of a row that says so.
        (
            [
                *section("S1", ("1", "varnish", None, "absent"), reaches="no"),
                *section("S2", RED, VARNISH, place="wing"),
            ],
            ["(1/varnish not found so far)", "1/body colour"],
        ),
        # A coat that is assigned to no scheme is only itself, and a complete own section leaves no room for another's.
        (
            [
                *section("S1", (None, "body colour", "grey", "intact"), reaches="no"),
                *section("S2", (None, "body colour", "grey", "intact"), place="wing", reaches="no"),
            ],
            ["S2/1", "S1/1"],
        ),
        (
            [*section("S1", RED), *section("S2", (None, "body colour", "grey", "intact"), place="wing")],
            ["1/body colour"],
        ),
        # Two coats of one colour in one section are two.
        (section("S1", RED, VARNISH, RED), ["1/body colour", "1/varnish", "1/body colour"]),
        # A gauge reads thicknesses and no coats.
        ([*section("S1", RED), *section("S2", GREEN, method="gauge")], ["1/body colour"]),
        ([*section("S1", RED, reaches="no"), *section("S2", GREEN, place="wing", method="gauge")], ["1/body colour"]),
        # Another part's coats are not this one's; and what work took of one coat leaves the others.
        ([*section("S1", RED, reaches="no"), *section("S7", GREEN, place="cab")], ["1/body colour"]),
        (
            [
                *section("S1", VARNISH, reaches="no"),
                *section("S2", RED, GREEN, place="wing"),
                *work("strip", removed="1"),
            ],
            ["2/body colour", "(1/not found so far)", "(1/not found so far)"],
        ),
        (
            [
                *section("S1", RED, reaches="no"),
                *section("S2", RED, GREEN, place="wing"),
                *work("strip", removed="2/glaze"),
            ],
            ["2/body colour", "1/body colour"],
        ),
        (
            [*section("S1", RED, reaches="no"), *section("S2", RED, GREEN, place="wing"), *work("strip", removed="2")],
            ["1/body colour"],
        ),
    ],
)
def test_a_place_is_built_up_of_what_its_samples_and_its_part_show(rows: list[Any], expected: list[str]) -> None:
    found = stack(door(WING, *CAB[:1], *rows))
    assert names_of(found) == expected
    assert all(coat.cover == (0.0, 0.0, 1.0) for coat in found.coats if not coat.found), "it shields nothing"


def test_coats_of_one_rank_lie_above_each_other_only_where_a_section_shows_it() -> None:
    for second, above in (
        (section("S2", VARNISH, place="wing", reaches="no"), False),
        (section("S2", RED, VARNISH, place="wing", reaches="no"), True),
    ):
        red = next(
            c for c in stack(door(WING, *section("S1", RED, reaches="no"), *second)).coats if c.role == "body colour"
        )
        assert any(key.role == "varnish" for key in red.above) == above


@pytest.mark.parametrize(
    ("coverage", "expected"),
    [
        ("intact", (0.98, 0.99, 1.0)),
        ("partial", (0.1, 0.54, 0.98)),
        ("trace", (0.0, 0.05, 0.1)),
        (None, (0.0, 0.5, 1.0)),
        (40.0, (0.4, 0.4, 0.4)),
        (99.0, (0.99, 0.99, 0.99)),
        ("intact 90", (0.9, 0.9, 0.9)),
    ],
)
def test_what_is_not_intact_covers_nothing_surely_and_a_measured_share_speaks_before_the_word(
    coverage: float | str | None, expected: tuple[float, float, float]
) -> None:
    """The green in three sections that say the same; only what is intact in all of them surely covers."""
    word, _, pct = coverage.partition(" ") if isinstance(coverage, str) else (None, "", coverage)
    rows = door(*(row for n in range(3) for row in section(f"S{n}", RED, ("2", "body colour", "green", word))))
    rows = [
        row.model_copy(update={"coverage_pct": float(pct) if pct else None})
        if isinstance(row, Layer) and row.scheme == "2"
        else row
        for row in rows
    ]
    green = stack(rows).coats[0]
    assert green.cover[1:] == pytest.approx(expected[1:])
    sure = expected[0] if coverage in ("intact", 99.0, "intact 90") else 0.0
    assert green.cover[0] == pytest.approx(sure)


@pytest.mark.parametrize(
    ("others", "expected"),
    [
        (["intact", "intact"], (0.98, 0.99, 1.0)),
        (["intact"], (0.0, 0.99, 1.0)),
        ([], (0.0, 0.99, 1.0)),
        (["intact", "partial"], (0.0, 0.84, 1.0)),
        (["intact", "intact", "partial"], (0.0, 0.8775, 1.0)),
        (["intact", "trace"], (0.0, 0.67666667, 1.0)),
        (["lacking", "intact"], (0.0, 0.66, 1.0)),
        (["intact", "intact", "lacking"], (0.0, 0.7425, 1.0)),
    ],
)
def test_a_cover_spans_what_its_sections_read_and_one_that_lacks_it_reads_none(
    others: list[str], expected: tuple[float, float, float]
) -> None:
    """The green is intact in S1, and in the others as told; from three whole readings on something is sure."""
    rows = door(*section("S1", RED, GREEN))
    for number, word in enumerate(others, 2):
        coats = (RED,) if word == "lacking" else (RED, ("2", "body colour", "green", word))
        rows += section(f"S{number}", *coats)
    green = stack(rows).coats[0]
    assert green.cover == pytest.approx(expected)


def test_one_reading_of_the_whole_surface_covers_surely() -> None:
    rows = door(
        *section("S1", GREEN, method="surface", extent="whole place"), *section("S2", RED, GREEN, place="wing"), WING
    )
    assert stack(rows).coats[0].cover[0] == 0.98
    grey = (None, "body colour", "grey", "intact")
    assert stack(door(*section("S1", grey, method="surface", extent="whole place"))).coats[0].cover[0] == 0.98


def test_failing_finish_shields_nothing_and_only_where_it_fails() -> None:
    rows = door(WING, *CAB[:1], *(row for n in range(3) for row in section(f"S{n}", RED, GREEN)))
    for more, expected in (
        ([], 0.98),
        (fails(), 0.0),
        (fails(scheme="2"), 0.0),
        (fails(scheme="1"), 0.98),
        (fails("wing"), 0.98),
        (fails(active="no"), 0.98),
        # Work that takes all there is may have met it since, though nobody wrote down what it took.
        (work("strip"), 0.0),
        (work("strip", on="2020"), 0.0),
        (work("strip", on="2019"), 0.98),
        (work("strip", place="cab"), 0.98),
        (work("solvent"), 0.98),
    ):
        assert stack([*rows, *more]).coats[0].cover[0] == expected, more


@pytest.mark.parametrize(
    ("binders", "basis", "expected"),
    [
        (("oil", "oil"), ("analysed", "analysed"), (("oil",), ("oil",), "analysed")),
        (("oil", "alkyd"), ("analysed", "guessed"), (("alkyd", "oil"), ("alkyd", "oil"), None)),
        (("oil", None), ("analysed", None), ((), ("oil",), None)),
        (("oil", "unknown"), ("looked", "looked"), ((), ("oil",), "looked")),
        (("mixed", "mixed"), (None, None), ((), (), None)),
    ],
)
def test_a_binder_is_known_only_where_every_reading_names_it(
    binders: tuple[Any, ...], basis: tuple[Any, ...], expected: tuple[Any, ...]
) -> None:
    rows = door(*section("S1", RED), *section("S2", RED))
    rows = [
        row.model_copy(
            update=dict(
                zip(
                    ("binder", "binder_basis"),
                    ((binders[0], basis[0]) if row.sample == "S1" else (binders[1], basis[1])),
                    strict=True,
                )
            )
        )
        if isinstance(row, Layer)
        else row
        for row in rows
    ]
    red = stack(rows).coats[0]
    assert (red.binders, red.may_be, red.basis) == expected


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({}, [("1", "1/not found so far", ())]),
        ({"period": "later", "basis": "lies on dirt"}, []),
        ({"period": "later"}, [("1", "1/not found so far", ())]),
        ({"component": "cab"}, []),
        ({"component": "door"}, [("1", "1/not found so far", ())]),
    ],
)
def test_a_scheme_that_no_sample_shows_may_be_there_all_the_same(
    change: dict[str, str], expected: list[tuple[str, str, tuple[Any, ...]]]
) -> None:
    """Only green was ever found on the door; the list of schemes has the maker's."""
    rows = [
        row.model_copy(update=change) if isinstance(row, Scheme) and row.scheme == "1" else row
        for row in door(*CAB[:1], *section("S1", GREEN))
    ]
    assert list(stack(rows).unfound) == expected
    for reaches, coats in (("no", (GREEN,)), ("yes", (RED, GREEN))):
        assert stack(door(*section("S1", *coats, reaches=reaches))).unfound == ()


@pytest.mark.parametrize(
    ("origin", "expected"),
    [("original", ["1"]), ("reused", ["1"]), ("unknown", ["1"]), (None, ["1"]), ("replaced", []), ("added", [])],
)
def test_parts_that_are_not_the_makers_never_bore_their_finish(origin: str | None, expected: list[str]) -> None:
    rows = changed(door(*section("S1", GREEN)), Component, origin=origin)
    assert [scheme for scheme, _, _ in stack(rows).unfound] == expected
