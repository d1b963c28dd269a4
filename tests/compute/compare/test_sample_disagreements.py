"""Later samples against earlier ones of the same place: what is another stack, and what is none."""

from __future__ import annotations

from typing import Any

import pytest
from two_looks import GREEN, NOW, RED, THEN, VARNISH, looked, read, work

from collection.compute.compare.samples import Disagreement

LETTER = ("1", "lettering", "gold")
LEAF = ("1", "metal leaf", "gold")
DIRT = (None, "dirt", "black")
STACK = read("S1", THEN, RED, VARNISH, GREEN)


def differs(then: list[Any], now: list[Any]) -> tuple[Disagreement, ...]:
    return looked(then, now).disagreements


def only(found: Disagreement) -> list[tuple[str | None, str | None]]:
    """The coats of each difference, as (role in the earlier, role in the later)."""
    return [(d.then.role if d.then else None, d.now.role if d.now else None) for d in found.differences]


@pytest.mark.parametrize(
    ("coats", "more", "expected"),
    [
        ((RED, VARNISH, GREEN), {}, None),  # the same stack
        ((RED, VARNISH, DIRT, GREEN), {}, None),  # dirt lies where it lies
        ((RED, GREEN), {}, [("varnish", None)]),
        ((GREEN,), {}, [("varnish", None), ("body colour", None)]),
        ((RED, VARNISH), {}, [("body colour", None)]),
        ((RED, LEAF, VARNISH, GREEN), {}, [(None, "metal leaf")]),
        ((RED, LETTER, VARNISH, GREEN), {}, None),  # a letter does not cover the place
        ((RED, (*LEAF, "trace"), VARNISH, GREEN), {}, None),  # broken here, so it may be missing there
        ((VARNISH, GREEN), {"reaches_support": "no"}, None),  # it stops short
        ((GREEN,), {"reaches_support": None}, None),  # nobody says how deep it went
        ((("1", "primer", "grey"), RED, VARNISH, GREEN), {}, [(None, "primer")]),
        ((GREEN,), {"method": "surface", "reaches_support": "no"}, None),  # the same outermost coat
        ((RED,), {"method": "surface", "reaches_support": "no"}, [("body colour", "body colour")]),
        (((*RED, "partial"),), {"method": "surface", "reaches_support": "no"}, None),  # worn in spots
        ((), {"method": "gauge"}, None),
        ((DIRT,), {"reaches_support": "no"}, None),  # it saw nothing but dirt
        ((RED, ("1", "retouching", "red"), VARNISH, GREEN), {}, None),  # nor does a retouching
    ],
)
def test_a_later_sample_of_the_same_place(coats: Any, more: Any, expected: Any) -> None:
    """Red, varnish and green in 2014. What the later one lacks counts only as far down as both were read."""
    found = differs(STACK, read("S2", NOW, *coats, **more))
    assert [only(each) for each in found] == ([] if expected is None else [expected])


def test_a_coat_below_the_end_of_the_earlier_sample_is_no_disagreement() -> None:
    """In 2014 the reading stopped on the green; what lies beneath was not looked for."""
    assert differs(read("S1", THEN, GREEN, reaches_support="no"), read("S2", NOW, RED, VARNISH, GREEN)) == ()


def test_a_letter_that_was_looked_for_and_not_found_is_one() -> None:
    (found,) = differs(read("S1", THEN, RED, LETTER, GREEN), read("S2", NOW, RED, (*LETTER, "absent"), GREEN))
    assert (only(found), found.differences[0].looked) == ([("lettering", None)], True)


def test_the_bare_support_against_a_stack() -> None:
    """A section down to the support that shows no coat, where the earlier showed two."""
    bare = read("S2", NOW, (None, "support", "pine"))
    (found,) = differs(read("S1", THEN, RED, GREEN), bare)
    assert [d.then.colour for d in found.differences] == ["green", "red"]
    assert found.original


def test_a_coat_described_as_another_material_is_told_with_both() -> None:
    """The coat of scheme 1 was read as varnish, and is read as a primer."""
    (found,) = differs(read("S1", THEN, ("1", "varnish", "amber")), read("S2", NOW, ("1", "primer", "grey")))
    assert only(found) == [("varnish", "primer")]
    assert not found.original


@pytest.mark.parametrize(("coats", "original"), [((GREEN,), True), ((RED, VARNISH), False)])
def test_missing_original_finish_is_said(coats: Any, original: bool) -> None:
    (found,) = differs(STACK, read("S2", NOW, *coats))
    assert found.original == original


def test_one_earlier_sample_that_agrees_is_enough() -> None:
    """The place was known to be uneven: one spot of 2014 had the varnish, another had not."""
    assert differs([*STACK, *read("S3", THEN, RED, GREEN)], read("S2", NOW, RED, GREEN)) == ()


def test_of_several_earlier_ones_the_most_similar_is_named() -> None:
    other = read("S0", THEN, RED, VARNISH, LEAF, VARNISH, GREEN)
    (found,) = differs([*STACK, *other], read("S2", NOW, RED, GREEN))
    assert found.then == "S1"


def test_samples_of_different_places_are_not_compared() -> None:
    assert differs(STACK, read("S2", NOW, GREEN, place="foot")) == ()


def test_work_between_them_may_be_why() -> None:
    """T1 took the green off in 2019: that the later sample has none is what one would expect."""
    now = [*read("S2", NOW, RED, VARNISH), *work("T1", "2019", {"removed": "2"})]
    (found,) = differs(STACK, now)
    assert (only(found), found.by) == ([("body colour", None)], ("T1",))
    assert found.as_json()["by"] == ["T1"]
