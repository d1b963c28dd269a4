"""Sections of one object correlated into one sequence; contradictions and doubts become questions."""

from __future__ import annotations

import random
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from models.made_strata import SETTINGS, Setting, made

from collection.compute.case import Case
from collection.compute.stratigraphy.strata import Question, strata
from collection.records.facts import Facts, facts_of
from collection.records.sheets import Layer, Object, Sample, Scheme

ABOUT = Object(object="X", title="a thing", kind="thing")
# Roles, binders and Munsell colours of two finishes with dirt between them.
RED = [
    ("primer", "oil", "N 8"),
    ("ground", "oil", "10R 4/6"),
    ("body colour", "oil", "7.5R 3/10"),
    ("varnish", "natural resin", None),
]
GREEN = [("primer", "alkyd", "N 5"), ("body colour", "alkyd", "5G 3/6"), ("varnish", "alkyd", None)]
DIRT = [("dirt", None, "N 2")]
# J. W. Burgess, A Practical Treatise on Coach-Building: a body panel has twelve coats before colour, then colour and
# varnish, with lining between varnishes.
COACH = [
    ("primer", "oil", "N 8"),
    *[("primer", "oil", "N 6")] * 2,
    *[("filler", "oil", "10YR 6/6")] * 5,
    ("ground", "oil", "10YR 4/4"),
    *[("ground", "oil", "10R 3/6")] * 2,
    ("ground", "oil", "N 4"),
    ("body colour", "oil", "7.5R 3/8"),
    ("varnish", "oleoresin", None),
    ("lining", "oil", "5Y 8/8"),
    ("varnish", "oleoresin", None),
]


def sample(code: str, coats: list[Any], *, schemes: list[Any] | None = None, reaches: str = "yes") -> list[Any]:
    """A sample with its coats from the support outward; `schemes` gives the scheme of each."""
    rows: list[Any] = [
        Sample(
            object="X", sample=code, place="P", method="cross-section", counted_from="support", reaches_support=reaches
        )
    ]
    for position, (role, binder, munsell) in enumerate(coats, 1):
        scheme = schemes[position - 1] if schemes else None
        rows.append(
            Layer(object="X", sample=code, position=position, role=role, binder=binder, munsell=munsell, scheme=scheme)
        )
    return rows


def scheme(code: str, rank: int | None = None, period: str = "unknown") -> Scheme:
    return Scheme(object="X", scheme=code, name=code, period=period, rank=rank)


def campaigns_of(facts: Facts) -> dict[tuple[str, int], int]:
    return {(p.sample, p.position): p.campaign for p in strata(Case(facts)).placings}


def questions_of(facts: Facts, kind: str) -> list[Question]:
    return [q for q in strata(Case(facts)).questions if q.kind == kind]


def test_a_coachs_sixteen_coats_are_one_campaign() -> None:
    """A coach body's coats, which a rule of one repaint per pigmented layer would call many, are one finish."""
    facts = facts_of(ABOUT, [*sample("S1", COACH), *sample("S2", COACH)])
    assert set(campaigns_of(facts).values()) == {1}
    assert len(strata(Case(facts)).units) == len(COACH)


def test_two_finishes_with_dirt_between_are_two() -> None:
    """Preparation after varnish, over dirt, begins a campaign; dirt belongs to none."""
    found = campaigns_of(facts_of(ABOUT, [*sample("S1", RED + DIRT + GREEN), *sample("S2", RED + DIRT + GREEN)]))
    assert [found["S1", n] for n in range(1, 9)] == [1, 1, 1, 1, 0, 2, 2, 2]


def test_the_same_colour_may_come_twice() -> None:
    """A red over a green over the same red: the outer red is not laid upon the inner one."""
    whole = RED + DIRT + GREEN + DIRT + RED
    found = campaigns_of(
        facts_of(ABOUT, [*sample("S1", whole), *sample("S2", whole), *sample("S3", GREEN + DIRT + RED, reaches="no")])
    )
    assert found["S1", 3] == 1
    assert found["S1", 12] == 3
    assert found["S3", 7] == 3


def test_lining_in_one_sample_stays_inside_its_finish() -> None:
    """Local lining between two varnishes is a unit of its own in the same campaign."""
    plain = [*RED, ("varnish", "natural resin", None)]
    lined = [*RED, ("lining", "oil", "5Y 8/8"), ("varnish", "natural resin", None)]
    facts = facts_of(ABOUT, [*sample("S1", plain), *sample("S2", plain), *sample("S3", lined)])
    assert set(campaigns_of(facts).values()) == {1}
    unit = next(u for u in strata(Case(facts)).units if u.role == "lining")
    assert unit.coats == (("S3", 5),)


def test_a_sample_that_stops_short_is_laid_at_the_outer_end() -> None:
    """What lies deeper than a sample went is not said to be missing there."""
    facts = facts_of(
        ABOUT,
        [*sample("S1", RED + DIRT + GREEN), *sample("S2", RED + DIRT + GREEN), *sample("S3", GREEN, reaches="no")],
    )
    found = campaigns_of(facts)
    assert [found["S3", n] for n in (1, 2, 3)] == [2, 2, 2]


def test_the_surveyors_schemes_are_fixed_points() -> None:
    """Coats that were put into different schemes are never one unit, however alike they look."""
    facts = facts_of(
        ABOUT, [scheme("A"), scheme("B"), *sample("S1", RED, schemes=["A"] * 4), *sample("S2", RED, schemes=["B"] * 4)]
    )
    for unit in strata(Case(facts)).units:
        assert len({code for code, _ in unit.coats}) == 1
    assert {p.scheme for p in strata(Case(facts)).placings if p.sample == "S2"} == {"B"}


def test_an_absent_row_keeps_its_scheme_out() -> None:
    """Where a scheme was looked for and not found, no coat of that sample is laid upon it."""
    gone = Layer(object="X", sample="S2", position=9, role="body colour", scheme="1", coverage="absent")
    facts = facts_of(ABOUT, [scheme("1"), *sample("S1", RED, schemes=["1"] * 4), *sample("S2", RED), gone])
    assert all({"S1", "S2"} - {code for code, _ in unit.coats} for unit in strata(Case(facts)).units)
    assert ("S2", 9) not in {(p.sample, p.position) for p in strata(Case(facts)).placings}


def test_contradictory_samples_are_named_both() -> None:
    """Two samples in which two schemes lie over each other the other way round are a question that names both."""
    facts = facts_of(
        ABOUT,
        [
            scheme("R"),
            scheme("G"),
            *sample("S1", RED + GREEN, schemes=["R"] * 4 + ["G"] * 3),
            *sample("S2", GREEN + RED, schemes=["G"] * 3 + ["R"] * 4),
        ],
    )
    [question] = questions_of(facts, "contradiction")
    assert "S1" in question.message
    assert "S2" in question.message


def test_a_section_against_the_ranks_is_a_question() -> None:
    """A scheme that is the earlier by rank and lies over a later one is asked about."""
    facts = facts_of(ABOUT, [scheme("R", 2), scheme("G", 1), *sample("S1", RED + GREEN, schemes=["R"] * 4 + ["G"] * 3)])
    [question] = questions_of(facts, "contradiction")
    assert "S1" in question.message


def test_a_misread_assignment_is_doubted_not_changed() -> None:
    """A coat assigned against the look of all its peers stays as it was given, and becomes a question."""
    both = ["R"] * 4 + [None] + ["G"] * 3
    wrong = ["R"] * 4 + [None] + ["R", "G", "G"]
    rows = [row for n in range(1, 6) for row in sample(f"S{n}", RED + DIRT + GREEN, schemes=both)]
    facts = facts_of(ABOUT, [scheme("R"), scheme("G"), *rows, *sample("S6", RED + DIRT + GREEN, schemes=wrong)])
    placing = next(p for p in strata(Case(facts)).placings if (p.sample, p.position) == ("S6", 6))
    assert placing.scheme == "R"
    assert [q.coats for q in questions_of(facts, "doubt")] == [(("S6", 6),)]


def test_an_unassigned_coat_is_suggested_not_assigned() -> None:
    """A coat that lies where a scheme lies elsewhere is asked about, with the command that would say so."""
    both = ["R"] * 4 + [None] + ["G"] * 3
    rows = [row for n in range(1, 5) for row in sample(f"S{n}", RED + DIRT + GREEN, schemes=both)]
    facts = facts_of(ABOUT, [scheme("R"), scheme("G"), *rows, *sample("S5", RED + DIRT + GREEN)])
    asked = {q.coats[0]: q.remedy for q in questions_of(facts, "assign")}
    assert "scheme=R" in asked["S5", 3]
    assert "scheme=G" in asked["S5", 7]
    assert next(layer for layer in facts.layers if layer.sample == "S5").scheme is None


def test_relations_said_from_one_side_only_are_named() -> None:
    """Schemes ranked and never met in one section, and sections without ranks, are one-sided."""
    facts = facts_of(
        ABOUT,
        [
            scheme("1", 1),
            scheme("2", 2),
            scheme("3", 3),
            *sample("S1", RED + GREEN, schemes=["1"] * 4 + ["2"] * 3),
            *sample("S2", RED + GREEN, schemes=["1"] * 4 + ["3"] * 3),
        ],
    )
    assert strata(Case(facts)).one_sided == (("3", "2"),)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(SETTINGS))
def test_the_sequence_keeps_every_samples_order(seed: int, setting: Setting) -> None:
    """In every made object each coat has one unit, units hold one coat of a sample, and no order is contradicted."""
    facts = made(random.Random(seed), setting).facts
    found = strata(Case(facts))
    held = [key for unit in found.units for key in unit.coats]
    assert sorted(held) == sorted((layer.sample, layer.position) for layer in facts.layers)
    assert all(len({code for code, _ in unit.coats}) == len(unit.coats) for unit in found.units)
    assert not found.matrix.loop
    assert all(0 <= p.chance <= 1 for p in found.placings)


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10_000))
def test_the_answer_does_not_hang_on_names(seed: int) -> None:
    """Giving the samples other codes, in the same order, changes no unit and no chance."""
    case = made(random.Random(seed), SETTINGS[2])
    renamed = [
        row.model_copy(update={"sample": f"N-{row.sample}"})
        for rows in (case.facts.samples, case.facts.layers)
        for row in rows
    ]
    one, other = strata(Case(case.facts)), strata(Case(facts_of(ABOUT, renamed)))
    assert [(p.position, p.campaign, p.chance) for p in one.placings] == [
        (p.position, p.campaign, p.chance) for p in other.placings
    ]
