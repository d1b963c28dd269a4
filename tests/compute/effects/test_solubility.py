"""The model of solubility: published points and spheres, and the laws it is built on.

Published values are of Hansen 2007, Hansen Solubility Parameters: A User's Handbook, Tables A.1 and A.2, single rows as
transcribed in public, and of the package chemicals 1.5.2; each is named where it is used.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import objects as o
import pytest
from chemicals import solubility as library
from hypothesis import given, settings
from hypothesis import strategies as st
from objects import POLICY
from objects import REFERENCE as TABLES
from published_points import COLUMNS, INSIDE, RED, names

from collection.compute.case import Case
from collection.compute.effects import models
from collection.compute.effects.models import candidate_points, opinion, published
from collection.compute.effects.solubility import Observed, ph_region, region
from collection.compute.loss.outcome import outcomes
from collection.language.words import SEVERITY_RANK
from collection.rules.severity import severity_of
from collection.values import agents, reference

some = settings(max_examples=max(1, settings().max_examples // 2))


def sphere(binder: str, row: str) -> reference.Sphere:
    return next(s for s in TABLES.spheres[binder] if s.source_row == row)


def at(text: str) -> tuple[float, float, float]:
    found = agents.parse(text, TABLES.solvents).hansen
    assert found is not None
    return found


@pytest.mark.parametrize("liquid", sorted(RED))
def test_relative_distances_are_those_worked_out_from_the_published_rows(liquid: str) -> None:
    """LIBRARY chemicals 1.5.2 (Pa^½) against Hansen 2007, Table A.2; our triple is the library's."""
    row = TABLES.solvents.find(liquid)
    theirs = tuple(
        part(row.cas) / 1000 for part in (library.hansen_delta_d, library.hansen_delta_p, library.hansen_delta_h)
    )
    assert row.hansen == pytest.approx(theirs, abs=1e-9)
    for (binder, number), red in zip(COLUMNS, RED[liquid], strict=True):
        ball = sphere(binder, number)
        assert agents.ra(theirs, ball.centre) / ball.radius == pytest.approx(red, abs=0.006), (binder, number)


def test_the_worked_example_of_acetone_on_dried_oil() -> None:
    """Ra = √(4·0.5² + 4.4² + 0²) = 4.512, RED 0.902 (Hansen 2007, Table A.2, row 366; solvent by chemicals 1.5.2)."""
    ball = sphere("oil", "366")
    assert agents.ra(at("acetone"), ball.centre) == pytest.approx(4.512, abs=5e-4)
    assert agents.ra(at("acetone"), ball.centre) / ball.radius == pytest.approx(0.902, abs=5e-4)


def test_mixtures_lie_at_the_mean_by_volume() -> None:
    """Acetone and toluene 1 : 1 by volume lie at (16.75, 5.90, 4.50) (chemicals 1.5.2, arithmetic mean)."""
    assert at("1 acetone + 1 toluene") == pytest.approx((16.75, 5.90, 4.50), abs=1e-9)
    assert candidate_points(agents.parse("1 acetone + 1 toluene", TABLES.solvents), TABLES, POLICY) == (
        pytest.approx((16.75, 5.90, 4.50), abs=1e-9),
    )


def said(
    binder: str, agent: str, *tests: tuple[str, bool], ph: float | None = None, basis: str | None = "analysed"
) -> Any:
    tested = tuple(
        models.Tested(agents.parse(text, TABLES.solvents), None, did, f"T{i}") for i, (text, did) in enumerate(tests)
    )
    question = models.Question((binder,) if binder else (), basis, agents.parse(agent, TABLES.solvents), ph, tested)
    return opinion(question, POLICY, TABLES)


@pytest.mark.parametrize(
    ("binder", "agent", "alarms"),
    [
        # Reality checks that the published spheres get right: check of Hansen 2007, Table A.2, by chemicals 1.5.2.
        ("shellac", "ethanol", True),
        ("shellac", "toluene", False),
        ("natural resin", "toluene", True),
        ("acrylic", "toluene", True),
        ("cellulose nitrate", "acetone", True),
        ("cellulose nitrate", "n-heptane", False),
        ("shellac", "white spirit", False),
        # Phenix 1998 and 2002: what swells dried oil, and that an aged film bears white spirit better.
        ("oil", "acetone", True),
        ("oil", "ethanol", True),
        ("oil", "white spirit", False),
        ("oil", "white spirit 17%", False),
        ("oil", "petroleum spirit", False),
        # Strippers of oil paint outside its sphere: common practice, no published source.
        ("oil", "n-methyl-2-pyrrolidone", True),
        ("oil", "dimethylformamide", True),
        ("oil", "benzyl alcohol", True),
        ("oleoresin", "n-methyl-2-pyrrolidone", True),
    ],
)
def test_what_a_class_alone_is_known_for(binder: Any, agent: Any, alarms: Any) -> None:
    assert (said(binder, agent).high >= POLICY.model_rate) is alarms, said(binder, agent)


@pytest.mark.parametrize(
    "agent", ["white spirit", "white spirit 25%", "petroleum spirit 80-100", "isooctane", "n-heptane"]
)
@pytest.mark.parametrize("basis", [None, "guessed", "looked", "tested", "analysed"])
def test_white_spirit_on_oil_is_no_alarm_by_class_alone(agent: Any, basis: Any) -> None:
    """However the binder was told: a warning that every oil coat raises is one that nobody reads."""
    assert 0 < said("oil", agent, basis=basis).high < POLICY.model_rate


def test_outside_the_sphere_is_never_harmless() -> None:
    """NMP 1.49, benzyl alcohol 1.65 and DMF 1.85 of the radius of the published sphere of dried oil (Hansen 2007, Table
    A.2, row 366) strip oil paint (common practice, no published source): its prior keeps real mass there by itself."""
    spheres, bands = published(["oil"], TABLES)
    points = np.array([at(name) for name in ("n-methyl-2-pyrrolidone", "benzyl alcohol", "dimethylformamide")])
    assert (region(spheres, "analysed", [], POLICY, bands=bands).acts(points)[:, 2] > 0.1).all()
    assert (region(spheres, None, [], POLICY, bands=bands).acts(points)[:, 2] > 0.15).all()


def test_a_guessed_binder_is_wider_than_an_analysed_one() -> None:
    ball = [sphere("shellac", "219")]
    centre, far = np.array([ball[0].centre]), np.array([at("n-heptane")])
    sure, guessed = (region(ball, basis, [], POLICY) for basis in ("analysed", "guessed"))
    assert guessed.acts(centre)[0, 1] < sure.acts(centre)[0, 1]
    assert guessed.acts(far)[0, 1] > sure.acts(far)[0, 1]


def test_a_liquid_of_several_published_triples_may_lie_at_any() -> None:
    """Dichloromethane (17.0, 7.3, 7.1) by chemicals 1.5.2, (18.2, 6.3, 6.1) by Hansen 2007, Table A.1."""
    assert candidate_points(agents.parse("dichloromethane", TABLES.solvents), TABLES, POLICY) == (
        (17.0, 7.3, 7.1),
        (18.2, 6.3, 6.1),
    )
    assert len(candidate_points(agents.parse("white spirit", TABLES.solvents), TABLES, POLICY)) == 2
    assert len(candidate_points(agents.parse("white spirit 17%", TABLES.solvents), TABLES, POLICY)) == 1
    assert candidate_points(agents.parse("water", TABLES.solvents), TABLES, POLICY) == ()
    assert candidate_points(agents.parse("harbour polish no. 4", TABLES.solvents), TABLES, POLICY) == ()


@pytest.mark.parametrize(
    ("binder", "agent", "ph", "why"),
    [
        ("", "acetone", None, "binder is not recorded"),
        ("bitumen", "acetone", None, "no published sphere of bitumen"),
        ("oil", "harbour polish no. 4", None, "harbour polish no. 4 is not in the solvent table"),
        ("oil", "water", 9.0, "no published sensitivity of oil"),
        ("oleoresin", "water", None, "the pH is not stated: water is known to act on oleoresin from pH 8 up"),
    ],
)
def test_where_no_model_speaks_it_is_told_why(binder: Any, agent: Any, ph: Any, why: Any) -> None:
    found = said(binder, agent, ph=ph)
    assert found.span is None
    assert why in found.why


def test_the_reason_names_row_and_distance_and_the_reference_its_sources() -> None:
    found = said("shellac", "ethanol")
    assert found.why.startswith(INSIDE)
    assert "hansen_delta_d('64-17-5')" in found.reference
    assert "row 219" in found.reference
    assert "standing in for oleoresin" in said("oleoresin", "acetone").why
    assert "alternatives.csv" in said("shellac", "methanol").reference
    outside = said("oil", "toluene")
    assert "band in which oil swells (Phenix 1998, fig. 4-15) puts it inside (18.2 MPa^½" in outside.why


def test_the_coats_own_tests_bear_on_other_liquids() -> None:
    """A coat that acetone took is likelier to lose to butanone, one that bore acetone less: their points lie close."""
    bare = said("shellac", "butanone")
    assert said("shellac", "butanone", ("acetone", True)).span[1] > bare.span[1] + 0.2
    assert said("shellac", "butanone", ("acetone", False)).span[1] < bare.span[1] - 0.1
    assert "what T0 did to this coat" in said("shellac", "butanone", ("acetone", True)).why.lower().replace("t0", "T0")


# Laws of the model itself.

near = st.tuples(st.floats(13, 21), st.floats(0, 19), st.floats(0, 26))
tests_ = st.lists(st.tuples(near, st.booleans()), max_size=6)
GRID = np.array([at(n) for n in RED if n != "water"])


def shares(binder: Any, basis: Any, tests: Any) -> Any:
    spheres, bands = published([binder], TABLES)
    return region(spheres, basis, [Observed(p, did) for p, did in tests], POLICY, bands=bands).acts(GRID)


@some
@given(st.sampled_from(names), st.sampled_from((None, "analysed")), tests_, near, st.booleans())
def test_an_effect_never_lowers_and_a_none_seen_never_raises_any_end_for_any_liquid(
    binder: Any, basis: Any, tests: Any, point: Any, did: Any
) -> None:
    before, after = shares(binder, basis, tests), shares(binder, basis, [*tests, (point, did)])
    assert (after >= before).all() if did else (after <= before).all()


@some
@given(st.sampled_from(names), st.sampled_from((None, "analysed")), tests_, st.randoms(use_true_random=False))
def test_shares_run_from_low_to_high_whatever_the_order_of_tests(
    binder: Any, basis: Any, tests: Any, random: Any
) -> None:
    found = shares(binder, basis, tests)
    assert (found >= 0).all()
    assert (found[:, 0] <= found[:, 1]).all()
    assert (found[:, 1] <= found[:, 2]).all()
    assert (found <= 1).all()
    mixed = random.sample(tests, len(tests))
    assert found.tobytes() == shares(binder, basis, mixed).tobytes()


@some
@given(st.sampled_from(names), tests_, st.integers(0, len(GRID) - 1), st.integers(1, 5000))
def test_a_liquid_asked_alone_and_among_many_gets_the_same_answer_to_the_last_byte(
    binder: Any, tests: Any, which: Any, many: Any
) -> None:
    spheres, bands = published([binder], TABLES)
    own = region(spheres, "analysed", [Observed(p, did) for p, did in tests], POLICY, bands=bands)
    crowd = np.resize(GRID, (many, 3))
    crowd[many // 2] = GRID[which]
    assert own.acts(GRID[[which]])[0].tobytes() == own.acts(crowd)[many // 2].tobytes()


@given(tests_)
def test_weights_are_the_posterior_over_the_particles(tests: Any) -> None:
    spheres, bands = published(["oil"], TABLES)
    own = region(spheres, "analysed", [Observed(p, did) for p, did in tests], POLICY, bands=bands)
    inside = own.inside(GRID)
    assert inside.shape == (len(GRID), len(own.weights))
    assert own.weights.sum() == pytest.approx(1)
    assert inside.min() >= 0
    assert inside.max() <= 1
    # By Bayes' rule, straight from the definition.
    byhand = np.ones(len(own.weights))
    for point, did in tests:
        member = own.inside(np.array([point]))[0]
        byhand *= POLICY.model.misjudged + (1 - 2 * POLICY.model.misjudged) * (member if did else 1 - member)
    distinct = len(set(tests)) == len(tests)
    assert not distinct or own.weights == pytest.approx(byhand / byhand.sum(), rel=1e-9)


@given(st.lists(st.tuples(st.floats(2, 12), st.booleans()), max_size=6), st.floats(2, 12), st.booleans())
def test_the_same_laws_hold_in_one_dimension_for_ph(tests: Any, ph: Any, did: Any) -> None:
    asked = np.linspace(2, 12, 21)
    before, after = (ph_region(found, POLICY).acts(asked) for found in (tests, [*tests, (ph, did)]))
    assert (after >= before).all() if did else (after <= before).all()
    # Further from 7 on the same side is harsher.
    middle = ph_region(tests, POLICY).acts(asked)[:, 1]
    assert (np.diff(middle[asked >= 7]) >= 0).all()
    assert (np.diff(middle[asked <= 7]) <= 0).all()
    assert ph_region(tests, POLICY).inside(asked).shape == (21, len(ph_region(tests, POLICY).weights))


def test_without_tests_the_ph_that_paint_bears_is_wide_open() -> None:
    """No published pH sensitivity is shipped: half the way to pH 14 is about as likely harmless as not."""
    assert ph_region([], POLICY).acts(np.array([7.0, 10.5, 14.0]))[:, 1] == pytest.approx([0.1, 0.55, 1.0], abs=0.02)


liquids = st.sampled_from(
    (
        "acetone",
        "ethanol",
        "toluene",
        "benzyl alcohol",
        "white spirit 17%",
        "1 acetone + 1 toluene",
        "white spirit",
        "water",
    )
)
tried = st.tuples(
    liquids,
    st.sampled_from(("none seen", "none seen", "blanched", "softened", "removed")),
    st.sampled_from((None, 5.0, 30.0)),
    st.sampled_from((None, 8.5, 10.0)),
)


@some
@given(st.lists(tried, max_size=4), tried, liquids, st.sampled_from(names), st.sampled_from((None, 8.0, 9.5)))
def test_from_records_to_severity_an_effect_never_lowers_and_a_none_seen_never_raises(
    tests: Any, extra: Any, agent: Any, binder: Any, ph: Any
) -> None:
    def step_of(tests: Any) -> Any:
        rows = [
            row
            for i, (liquid, response, dwell, at_ph) in enumerate(tests)
            for row in o.met(f"T{i}", 3, response, liquid, dwell=dwell, ph=at_ph if liquid == "water" else None)
        ]
        found = [
            row.model_copy(update={"binder": binder}) if row.sheet == "layers" else row
            for row in o.base(*rows, later_cover="absent")
        ]
        plan = o.proposal({"action": "solvent", "agent": agent, "ph": ph if agent == "water" else None})
        outcome = next(each for each in outcomes(Case(o.facts(found)), plan) if each.thing == "1/varnish")
        return outcome.steps[0].touch.rate, SEVERITY_RANK[severity_of(outcome, outcome.steps[0], POLICY)]

    (rate, rank), (rate_after, rank_after) = step_of(tests), step_of([*tests, extra])
    if extra[1] == "none seen":
        rate, rank, rate_after, rank_after = rate_after, rank_after, rate, rank
    assert rank_after >= rank
    assert rate_after.low >= rate.low
    if rate.model is not None and not rate_after.cleared:
        assert rate_after.model is not None
        assert all(b >= a for a, b in zip(rate.model, rate_after.model, strict=True))
