"""What must not be done to an object: three cases to follow, and what must hold of any records."""

from __future__ import annotations

from typing import Any

from examined import examined
from hypothesis import given
from objects import OBJ, base, facts, layer, met

from collection.compute.build_up.readings import kept_layers
from collection.compute.case import Case
from collection.compute.effects.trials import trials
from collection.compute.prohibitions import ADVICE, LIQUID, TOOL, Prohibition, prohibitions
from collection.records import sheets as r
from collection.records.facts import facts_of
from collection.records.sheets import Advice, Object, Response, Sample, Treatment, TreatmentStep

ON = "2026-05-03"


def found(rows: Any) -> list[Prohibition]:
    return list(prohibitions(Case(facts(rows)), ON))


def words(rows: Any) -> list[str]:
    return [each.words for each in found(rows)]


def advice(code: str, against: str | None, **more: Any) -> Advice:
    return Advice(object=OBJ, advice=code, what="leave it", given_on="2014-05", against=against, **more)


def test_a_door_with_advice_and_two_liquids_that_took_its_varnish() -> None:
    """The advice stands first though it is about one action; ethanol, which took all of the varnish, before acetone, which
    softened the red; sanding last. What a test did to the green repaint forbids nothing."""
    rows = base(
        *met("C1", 2, "softened", "acetone"),
        *met("C2", 3, "removed", "ethanol"),
        *met("C3", 4, "removed", "xylene"),
        advice("AD1", "heat", place="door"),
        advice("AD2", None),
    )
    assert [(each.kind, each.words, each.place) for each in found(rows)] == [
        (ADVICE, "Do not burn off", "door"),
        (LIQUID, "No alcohol, no methylated spirit", None),
        (LIQUID, "No acetone, no thinners, no paint stripper", None),
        (TOOL, "Do not strip or sand", None),
    ]
    assert [each.records for each in found(rows)] == [
        (("advice", f"{OBJ}/AD1"),),
        (("tests", f"{OBJ}/C2"),),
        (("tests", f"{OBJ}/C1"),),
        (("samples", f"{OBJ}/S1"),),
    ]
    assert [each.why for each in found(rows)][1:] == [
        "Ethanol took off the original varnish at door",
        "Acetone softened the original colour at door",
        "At door only 1 later coat (0.03 mm) lies over the original finish",
    ]


def test_a_door_of_which_little_is_known_has_one_prohibition() -> None:
    """Read once and never tested: nothing speaks for or against a liquid."""
    assert words(base()) == ["Do not strip or sand"]
    assert words(base(sampled=False)) == []


def test_what_came_off_that_need_not_be_kept_forbids_nothing() -> None:
    """The repaint named by its scheme, and dirt; the same of the maker's scheme forbids."""
    one = r.Test(object=OBJ, test="C1", place="door", agent="acetone")
    for scheme, role in (("2", None), ("2", "body colour"), (None, "dirt")):
        rows = base(one, Response(object=OBJ, test="C1", response="removed", scheme=scheme, role=role))
        assert words(rows) == ["Do not strip or sand"], (scheme, role)
    rows = base(one, Response(object=OBJ, test="C1", response="removed", scheme="1"))
    assert words(rows)[0] == "No acetone, no thinners, no paint stripper"


def test_water_that_did_harm_forbids_wetting_whatever_is_in_it() -> None:
    plain, citrate = met("C1", 2, "lifted", "water"), met("C2", 2, "swelled", "water + 1% ammonium citrate")
    assert words(base(*citrate))[0] == "No water with ammonium citrate in it"
    (wet, _) = found(base(*plain, *citrate))
    assert (wet.words, wet.records) == ("Do not wet it", (("tests", f"{OBJ}/C1"), ("tests", f"{OBJ}/C2")))


def test_advice_not_to_wash_the_object_and_a_test_with_water_are_one_thing() -> None:
    """They would take two of the three lines of a tag. Advice for a place says less than the test, and a product of which
    nothing is known is not water."""
    rows = base(*met("C1", 3, "blanched", "water"), *met("C2", 3, "softened", "Cleaner X"))
    (washing, cleaner, *_) = found([*rows, advice("AD1", "aqueous")])
    assert washing.words == "Do not clean with water"
    assert washing.records == (("advice", f"{OBJ}/AD1"), ("tests", f"{OBJ}/C1"))
    assert cleaner.records == (("tests", f"{OBJ}/C2"),)
    for_a_place = words([*rows, advice("AD1", "aqueous", place="door")])
    assert for_a_place[:3] == ["Do not clean with water", "No cleaner x", "Do not wet it"]


def test_a_liquid_of_the_kind_that_stood_the_test_on_the_same_coat_is_not_named() -> None:
    """Dichloromethane did nothing to the red that acetone softens, so the stripper made of it is not forbidden; that it
    did nothing to the varnish says nothing of the red."""
    softened = met("C1", 2, "softened", "acetone")
    assert words(base(*softened, *met("C2", 2, "none seen", "dichloromethane")))[0] == "No acetone, no thinners"
    assert "no paint stripper" in words(base(*softened, *met("C2", 3, "none seen", "dichloromethane")))[0]


def test_a_milder_test_does_not_take_back_what_a_longer_one_did() -> None:
    """Two seconds left the varnish as it was, a minute dissolved it: on a tag there is no room for seconds."""
    rows = base(*met("C1", 3, "removed", "ethanol", dwell=60), *met("C2", 3, "none seen", "ethanol", dwell=2))
    assert words(rows)[0] == "No alcohol, no methylated spirit"


def test_of_a_mixture_the_liquid_is_named_that_did_not_stand_the_test_alone() -> None:
    mixed = met("C1", 2, "softened", "1 ethanol + 1 acetone")
    assert words(base(*mixed, *met("C2", 2, "none seen", "ethanol")))[0].startswith("No acetone")
    both = (*met("C2", 2, "none seen", "ethanol"), *met("C3", 2, "none seen", "acetone"))
    assert words(base(*mixed, *both))[0] == "No mixture of acetone and ethanol"


def test_a_trade_name_is_forbidden_as_it_was_written() -> None:
    assert words(base(*met("C1", 2, "removed", "harbour polish no. 4")))[0] == "No harbour polish no. 4"


def test_what_took_the_finish_off_before_is_named_with_its_year() -> None:
    lost = [
        Treatment(object=OBJ, treatment="T1", purpose="for the parade", started="1962"),
        TreatmentStep(object=OBJ, treatment="T1", step=1, place="door", action="blast", removed="1"),
        TreatmentStep(object=OBJ, treatment="T1", step=2, place="door", action="scrape", removed="2"),
    ]
    (one,) = [each for each in found(base(*lost)) if each.kind == TOOL]
    assert one.words == "Do not blast, strip or sand"
    assert one.why == "“maker's red” was lost that way at door (1962)"
    assert one.records[0] == ("treatment_steps", f"{OBJ}/T1/1")
    # Scraping took the green alone.
    assert "scrape" not in one.words


def test_advice_that_was_followed_or_has_run_out_forbids_nothing() -> None:
    assert words(base(advice("AD1", "heat", until="2020"))) == ["Do not strip or sand"]
    assert words(base(advice("AD1", "heat; abrade"), advice("AD2", "display outdoors"))) == [
        "Do not burn off or sand",
        "Do not strip or sand",
        "Do not stand it outdoors",
    ]


def test_the_gravest_and_then_the_more_urgent_advice_comes_first() -> None:
    rows = [
        advice("AD1", "polish", priority="now"),
        advice("AD2", "all", place="door"),
        advice("AD3", "wash", priority="soon"),
        advice("AD4", "wax", priority="now"),
    ]
    assert words(base(*rows))[:4] == ["Do nothing before you have asked", "Do not polish", "Do not wax", "Do not wash"]


def test_where_the_finish_is_the_surface_that_is_the_reason() -> None:
    rows = base(
        Sample(object=OBJ, sample="S2", place="body", method="surface", taken_on="2021"),
        layer(1, "body colour", "1", "red", sample="S2"),
        layer(2, "dirt", None, None, sample="S2"),
    )
    (tool,) = found(rows)
    assert tool.why == "At body the original finish is the surface"
    assert tool.records == (("samples", f"{OBJ}/S2"), ("samples", f"{OBJ}/S1"))


@given(examined())
def test_nothing_is_forbidden_without_a_record(rows: Any) -> None:
    made = facts_of(Object(object="L.7", title="a lorry", kind="lorry"), rows)
    known = {("tests", row.key_text()) for row in made.tests} | {("samples", row.key_text()) for row in made.samples}
    known |= {("advice", row.key_text()) for row in made.advice}
    known |= {("treatment_steps", row.key_text()) for row in made.treatment_steps}
    every = prohibitions(Case(made), ON)
    assert all(each.records and set(each.records) <= known for each in every)
    assert len({(each.words, each.place) for each in every}) == len(every)


@given(examined())
def test_a_liquid_is_forbidden_for_what_a_test_of_its_records_did(rows: Any) -> None:
    """Each test behind it did something; where the coats that it met are known from a sample, one of them is kept. And no
    liquid that did nothing to the one coat that was harmed is named for its kind alone."""
    case = Case(facts_of(Object(object="L.7", title="a lorry", kind="lorry"), rows))
    harmed = {trial.test.key_text(): trial for trial in trials(case) if trial.high > 0}
    for each in prohibitions(case, ON):
        if each.kind != LIQUID:
            continue
        behind = [harmed[key] for _, key in each.records]
        for trial in behind:
            if trial.met.layer is not None:
                assert kept_layers(case)[trial.met.layer]
        tested = {name for trial in behind for name, _ in trial.agent.liquids}
        for trial in trials(case):
            alone = {name for name, _ in trial.agent.liquids}
            one_coat = len({other.met for other in behind}) == 1 and trial.met == behind[0].met
            if trial.high == 0 and one_coat and trial.met.layer and len(alone) == 1:
                assert not (alone - tested) & each.liquids, (each.words, trial.agent.text)
