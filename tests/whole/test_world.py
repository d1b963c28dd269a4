"""The made world of `bench/world/judge.py`: whether it is sane, and whether the warnings hold in it what they are to hold.

The truth is checked by properties that any paint has; the survey by what it may not know; the intervals against
statsmodels. The bounds are those of section 6 of the design. They are held on a small fixed world, so a figure fails
only where its whole 95 % interval lies on the wrong side; the full run is `python tests/bench/world/judge.py`.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint
from world.judge import Judged, judge
from world.ladders import rising
from world.made import Knobs, coat, make
from world.materials import PH_LIMITS, RANKS
from world.outcome import truth
from world.past import befall
from world.records import WORDS
from world.survey import examine
from world.tables import Count, Result, difference, held
from world.taken import taken_by
from world.truth import CELLS, PATCHINESS, WATER_ALONE, Agent, Step, Thing, Use, Zone
from world.works import OLDEST, as_stated, basis, milder, propose

pytestmark = pytest.mark.slow

OBJECTS, SEED = 120, 20261128
seeds = st.integers(0, 10**6)
shares = st.floats(0, 1)


def drawn(seed: int) -> tuple[Thing, np.random.Generator]:
    rng = np.random.default_rng(seed)
    return make("W", rng, Knobs()), rng


def a_zone(seed: int) -> Zone:
    thing, rng = drawn(seed)
    zones = [zone for zone in thing.zones() if zone.stack]
    return zones[int(rng.integers(len(zones)))]


@st.composite
def uses(draw: st.DrawFn) -> tuple[Use, Use]:
    """A use, and one that is harsher or equal in every coordinate but the liquid."""
    mild = rising(np.random.default_rng(draw(seeds)))[0]
    harsher = [
        name
        for name, (wet, rub) in RANKS.items()
        if wet >= RANKS[mild.application][0] and rub >= RANKS[mild.application][1]
    ]
    harsh = replace(
        mild,
        application=draw(st.sampled_from(harsher)),
        dwell_s=mild.dwell_s * draw(st.floats(1, 20)),
        passes=mild.passes * draw(st.integers(1, 10)),
        temperature_c=20 + draw(st.floats(0, 40)),
    )
    if mild.ph is not None:
        harsh = replace(
            harsh,
            ph=mild.ph + draw(st.floats(0, 4)) * (1 if mild.ph >= 7 else -1),
            agent=replace(
                mild.agent,
                additives=tuple((name, share * draw(st.floats(1, 5))) for name, share in mild.agent.additives),
            ),
        )
    return mild, harsh


@given(seeds, st.sampled_from(sorted(PH_LIMITS)), uses())
def test_harsher_never_takes_less(seed: int, binder: str, pair: tuple[Use, Use]) -> None:
    mild, harsh = pair
    paint = coat("1", "body colour", binder, "red", "original", np.random.default_rng(seed))
    assert 0 <= paint.taken(mild) <= paint.taken(harsh) <= 1
    assert milder(mild, harsh) or mild.ph != harsh.ph, "work and truth call the same things harsher"


@given(seeds, seeds, uses(), st.floats(0.05, 1))
def test_of_a_zone_harsher_wider_and_more_work_never_take_less(
    seed: int, chance: int, pair: tuple[Use, Use], area: float
) -> None:
    zone = a_zone(seed)
    mild, harsh = (Step(zone.code, "solvent", use) for use in pair)

    def left(*steps: Step) -> np.ndarray:
        rest, touched = taken_by(zone, list(steps), np.random.default_rng(chance))
        assert ((rest >= 0) & (rest <= zone.present)).all(), "nothing grows, and what is not there is not lost"
        assert ((touched >= 0) & (touched <= 1)).all()
        assert (zone.present - rest <= touched + 1e-9).all(), "what is lost was touched"
        return rest

    once = left(mild)
    assert (left(harsh) <= once + 1e-12).all()
    assert (left(mild, mild) <= once + 1e-12).all()
    assert (left(replace(mild, area=area)) >= once - 1e-12).all()
    assert (left(Step(zone.code, "drain")) == zone.present).all()
    assert left(Step(zone.code, "strip")).sum() <= 0.01 * zone.present.sum()


@given(seeds, seeds, st.floats(0, 300), st.floats(0, 300))
def test_a_deeper_cut_never_takes_less(seed: int, chance: int, one: float, other: float) -> None:
    zone = a_zone(seed)
    shallow, deep = (
        taken_by(zone, [Step(zone.code, "scrape", depth_um=depth, depth_sd_um=0.0)], np.random.default_rng(chance))[0]
        for depth in sorted((one, other))
    )
    assert (deep <= shallow + 1e-12).all()
    everything = taken_by(zone, [Step(zone.code, "abrade")], np.random.default_rng(chance))[0]
    assert not everything.any()


@given(seeds, st.sampled_from(("oil", "shellac", "cellulose nitrate")))
def test_what_stands_shields_what_lies_beneath(seed: int, binder: str) -> None:
    """A coat that acetone does not move is put over one that it takes: whole, then over three quarters."""
    rng = np.random.default_rng(seed)
    taken, stands = (np.array([15.5, 10.4, 7.0]), np.eye(3)), (np.array([15.5, 60.0, 7.0]), np.eye(3))
    paint = replace(coat("1", "body colour", binder, "red", "original", rng), region=taken)
    cover = replace(coat("2", "body colour", "acrylic", "grey", "later", rng), region=stands)
    nowhere = np.zeros(CELLS, dtype=bool)
    whole, open_ = np.ones((2, CELLS), dtype=bool), np.ones((2, CELLS), dtype=bool)
    open_[1, :100] = False
    step = Step("Z", "solvent", Use(Agent((("acetone", 1),)), dwell_s=30.0))
    for present, lost in ((whole, 0.0), (open_, 0.25)):
        zone = Zone("Z", "C", 1.0, [paint, cover], present, np.full((2, CELLS), 20.0), 1.0, nowhere, 0, nowhere)
        left, touched = taken_by(zone, [step], np.random.default_rng(0))
        assert 1 - left[0].mean() == pytest.approx(lost * paint.taken(step.use))
        assert touched[0].mean() == pytest.approx(lost)


@given(seeds)
def test_objects_are_whole(seed: int) -> None:
    """Every zone has one row of cells for each coat, films are thick, and what survives is a share."""
    thing, rng = drawn(seed)
    befall(thing, rng, Knobs())
    assert thing.patchiness in PATCHINESS
    for zone in thing.zones():
        assert zone.present.shape == zone.thick.shape == (len(zone.stack), CELLS)
        assert (zone.thick > 0).all()
        assert zone.area_m2 > 0
        places = zone.places()
        assert sum(int(cells.sum()) for cells in places.values()) == CELLS, "a zone and its windows share no cell"
        assert all(0 <= zone.surviving(cells) <= 1 for cells in places.values())


@given(seeds)
def test_a_survey_reads_what_is_there_where_it_does_not_err(seed: int) -> None:
    """Without errors every coat that is written was in its zone, in order, and every section reaches the support."""
    exact = replace(Knobs(), short=0, missed=0, merged=0, misassigned=0, colour_blank=0, coverage_wrong=0, misjudged=0)
    thing, rng = drawn(seed)
    survey = examine(thing, befall(thing, rng, exact), rng, exact)
    coats = {zone.code: [(one.scheme or "", one.role) for one in zone.stack] for zone in thing.zones()}
    place = {row["sample"]: row["place"].removesuffix("W") for row in survey.sheets.get("samples", [])}
    read: dict[str, list[tuple[str, str]]] = {}
    for row in survey.sheets.get("layers", []):
        read.setdefault(row["sample"], []).append((row["scheme"], row["role"]))
    for sample, rows in read.items():
        following = iter(coats[place[sample]])
        assert all(row in following for row in rows), sample
    sections = [row for row in survey.sheets.get("samples", []) if row["method"] != "surface"]
    assert all(row["reaches_support"] == "yes" for row in sections)
    for test in survey.tried:
        for one, word in test.met:
            zone = next(each for each in thing.zones() if each.code == test.zone)
            share = one.taken(test.use, zone.strength)
            low, high = WORDS.get(word, (0.0, 0.03))
            assert low <= share <= high, "nothing seen is under three hundredths"


@given(seeds)
def test_careful_work_is_milder_than_a_test_that_did_nothing(seed: int) -> None:
    thing, rng = drawn(seed)
    survey = examine(thing, befall(thing, rng, Knobs()), rng, Knobs())
    zones = {zone.code: zone for zone in thing.zones()}
    for work in propose(thing, survey, rng, Knobs()):
        for one in truth(thing, work, survey, rng, Knobs()):
            assert 0 <= one.lost <= one.touched + 1e-9 <= 1 + 2e-9
            assert one.met or not one.known
        if work.kind == "careful":
            use = next(step.use for step in work.steps if step.action in ("aqueous", "solvent"))
            vouching = [
                test
                for test in survey.tried
                if basis(test, zones) and milder(use, as_stated(test)) and test.met[0][1] == "none seen"
            ]
            assert vouching, work
            assert all(test.year >= OLDEST and test.dried != "no" for test in vouching)


def test_milder_is_read_coordinate_by_coordinate() -> None:
    """One harsher coordinate is enough, another liquid is not comparable, and what is left unsaid is not milder."""
    test = Use(WATER_ALONE, "cloth", 30.0, 2, 25.0, 8.5)
    assert milder(test, test)
    assert milder(replace(test, ph=7.0, dwell_s=5.0, application="rolled swab"), test)
    for harsher in (
        {"ph": 9.0},
        {"ph": 6.5},
        {"ph": None},
        {"dwell_s": 31.0},
        {"passes": 3},
        {"temperature_c": 26.0},
        {"application": "gel"},
        {"application": "rubbed swab"},
        {"agent": Agent((("acetone", 1),))},
        {"agent": replace(WATER_ALONE, additives=(("triammonium citrate", 0.5),))},
    ):
        assert not milder(replace(test, **harsher), test), harsher
    mixed = Use(Agent((("acetone", 1), ("isooctane", 1))))
    assert milder(replace(mixed, agent=Agent((("acetone", 1), ("isooctane", 3)))), mixed)
    assert not milder(replace(mixed, agent=Agent((("acetone", 2), ("isooctane", 1)))), mixed)
    assert not milder(mixed, replace(mixed, agent=Agent((("acetone", 1),)))), "a pure liquid vouches for no mixture"


@given(st.integers(0, 400), st.integers(1, 400), st.integers(0, 400), st.integers(1, 400))
def test_intervals_are_those_of_statsmodels(hits: int, of: int, others: int, of_others: int) -> None:
    one, other = Count(min(hits, of), of), Count(min(others, of_others), of_others)
    assert one.interval == pytest.approx(proportion_confint(one.hits, one.of, method="wilson"), abs=1e-6)
    expected = confint_proportions_2indep(other.hits, other.of, one.hits, one.of, method="newcomb", compare="diff")
    assert difference(one, other) == pytest.approx(expected, abs=1e-6)


def test_an_interval_holds_what_lies_within_half_a_per_cent_of_it() -> None:
    assert held([0.2, 0.3, 0.4], 0.196)
    assert held([0.2, 0.3, 0.4], 0.404)
    assert not held([0.2, 0.3, 0.4], 0.19)
    assert not held([0.2, 0.3, 0.4], 0.41)


@pytest.fixture(scope="module")
def small() -> tuple[Result, list[Judged]]:
    """The small fixed world, asked through the command line."""
    result, judged, _ = judge(OBJECTS, SEED)
    return result, judged


def test_the_small_world_has_something_to_judge(small: tuple[Result, list[Judged]]) -> None:
    """Every kind of work is there, some of it truly harms and some does not, and everything was answered."""
    result, judged = small
    assert result.proposals == len(judged) > 8 * OBJECTS
    kinds = {row.kind for row in judged}
    assert kinds == {"careful", "everyday", "wax", "harmful", "removal", "cut", "window", "any"}
    for kind in kinds - {"harmful"}:
        assert any(row.lost > 0.02 for row in judged if row.kind == kind), kind
        assert any(row.lost <= 0.01 for row in judged if row.kind == kind), kind
    harmful = [row for row in judged if row.kind == "harmful"]
    assert sum(row.lost > 0.5 for row in harmful) > 0.5 * len(harmful)


AT_MOST = {
    "cleared_harm": 0.01,
    "cleared_touching_harm": 0.02,
    "careful_alarmed": 0.25,
    "careful_met_alarmed": 0.05,
    "everyday_alarmed": 0.05,
}
AT_LEAST = {
    "loss_held": 0.93,
    "loss_held_where_lost": 0.93,
    "loss_held_where_patchy": 0.93,
    "survival_held": 0.93,
    "survival_held_where_patchy": 0.93,
}


def ends(counted: Count) -> tuple[float, float]:
    """A Wilson interval as wide as ten figures at once ask for (Bonferroni), for a chance of one in twenty in all."""
    low, high = proportion_confint(counted.hits, counted.of, alpha=0.05 / len({**AT_MOST, **AT_LEAST}), method="wilson")
    return float(low), float(high)


@pytest.mark.parametrize("figure", AT_MOST)
def test_no_figure_is_surely_above_its_bound(small: tuple[Result, list[Judged]], figure: str) -> None:
    counted: Count = getattr(small[0], figure)
    assert counted.of >= 10, "too few to say anything"
    assert ends(counted)[0] <= AT_MOST[figure], f"{figure}: {counted}"


@pytest.mark.parametrize("figure", AT_LEAST)
def test_no_interval_surely_holds_the_truth_too_seldom(small: tuple[Result, list[Judged]], figure: str) -> None:
    counted: Count = getattr(small[0], figure)
    assert counted.of >= 100, "too few to say anything"
    assert ends(counted)[1] >= AT_LEAST[figure], f"{figure}: {counted}"


def test_five_sections_do_no_worse_than_one(small: tuple[Result, list[Judged]]) -> None:
    result = small[0]
    assert result.one_section.of >= 20
    assert result.five_sections.of >= 20
    assert difference(result.one_section, result.five_sections)[0] <= 0, f"{result.one_section}; {result.five_sections}"
