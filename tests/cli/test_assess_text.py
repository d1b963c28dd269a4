"""What an approver reads of an assessment: what is lost first, then each step, place, reason and test once."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import objects as o
import pytest

from collection.cli.text import assessment
from collection.cli.text.decision_sheet import decision_sheet
from collection.cli.text.losses import by_step, worst_of
from collection.compute.case import Case
from collection.language.sentences import described
from collection.records.facts import Facts, ProposalFacts
from collection.records.sheets import Advice, Condition, Decoration, Reserve, Sample, Zone
from collection.rules.assess import assess
from collection.rules.findings import Assessment
from collection.store.base import database, read

BIGGEST = {
    "OHM-1974-21/P5": 460,
    "OHM-1962-7/P5": 415,
    "OHM-1988/5/P1": 380,
    "OHM-1989-2/P1": 350,
    "OHM-1949/1/P1": 160,
}
"""How many lines the sample's biggest proposals took before losses were grouped."""


def one_swab() -> tuple[Facts, ProposalFacts, Assessment]:
    """A swab of acetone on a door of six things: what it did to the varnish at 5 s, and did not do to the colour."""
    rows = o.base(
        Decoration(
            object=o.OBJ, decoration="D1", place="door", kind="lining", scheme="1", state="covered", observed_on="2020"
        ),
        Reserve(object=o.OBJ, reserve="R1", place="door", kind="reserve"),
        Condition(object=o.OBJ, place="door", phenomenon="soiling", observed_on="2023", active="yes"),
        Advice(
            object=o.OBJ,
            advice="A1",
            what="Keep solvents off the red",
            given_on="2011-03",
            given_by="I. Advisor",
            place="body",
            against="solvent; strip",
        ),
        Advice(object=o.OBJ, advice="A2", what="Hang a tag at the door", given_on="2012", place="door"),
        *o.met("T1", 3, "softened", dwell=5, ph=None, passes=2),
        *o.met("T3", 2, "none seen", dwell=5),
    )
    facts, proposal = o.facts(rows), o.proposal({"action": "solvent", "agent": "acetone", "passes": 2, "removes": "2"})
    return facts, proposal, assess(Case(facts), proposal)


GOLDEN = """\
Advice against step 1: Keep solvents off the red. (I. Advisor, March 2011, A1)
T.1/P: DESTROYS  trial
It would take … of documented original finish, … of what survives on this
  object. 5 kept things at stake.
  Destroys: reserve R1. Endangers: maker's red (1: body colour, varnish) at door; lining D1 at door.
  Instead: Test in an inconspicuous place, as harshly as planned, and record what each coat did.
  Open before approval: advice answered, decision on a later scheme, owner's permission.

Step 1: solvent at door with acetone, 10 s, 2 passes, rolled swab; to take off 2
  door
    DESTROYS  reserve R1: Touches a reserve that must stay. Would change it: Mask it and name R1 as
      left out, or leave door out.
    ENDANGERS  lining D1: Softened on a similar coat, 1/varnish, at T1.
    ENDANGERS  1/body colour (S1): Softened on a similar coat, 1/varnish, at T1. Would change it:
      One test at least as harsh as planned (T3 was milder, or the step leaves its conditions
      blank).
    ENDANGERS  1/varnish (S1): Softened at T1. Would change it: Choose another agent, or milder
      conditions that a test of this coat stood.
    UNTESTED  1/preparation (S1): Softened on a similar coat, 1/varnish, at T1.
  What would change the rest: Test in an inconspicuous place, as harshly as planned, and record what
    each coat did.

Finishes: 1 maker's red (original).

Tests
  T1  acetone, 5 s, 2 passes, rolled swab, door, 2 May 2020

If nothing is done
  door: Soiling continues here (seen 2023).

Other advice for these places:
  Hang a tag at the door. (2012, A2)

Before approval:
  [ ] Advice A1 of March 2011 speaks against step 1: “Keep solvents off the red”. Follow it, or
    answer it with a reason when deciding.
  [ ] Scheme 2 (green repaint) is to be removed, and no named person has decided that it may go.
    Record with the scheme whether it stays, why, and who decided it.
  [ ] The owner's permission is not recorded. Record the permission, or where it is kept.

Before work:
  [ ] Step 1 names nothing that would stop it. Name what arrests it, and test that.
  [ ] Lead is suspected in any paint that has not been analysed. Have the coats analysed for lead;
    until then work as if it were there, following local codes and licensed practice.
  [ ] door has no picture. Photograph it in normal and raking light before work.
  [ ] Step 1: acetone was tried in 1 place of this part (door). Test in a second place as well.
  [ ] Step 1: acetone has no recorded trial in an inconspicuous place of this part. Make a trial
    panel in an inconspicuous place, let it dry, and record what each coat did.

Caution: Solvents and other agents can poison and burn: read their safety data sheets, ventilate,
  wear the gloves they name, keep flames away, and follow local codes and licensed practice."""


def test_one_swab_on_six_things_is_told_in_a_screen() -> None:
    """The figures in it are tested where they are computed."""
    assert FIGURES.sub("…", assessment.assessment(*one_swab())) == GOLDEN


FIGURES = re.compile(r"[\d.]+ m² \([^)]*\)|\d+ % \([^)]*\)")


TOLD_OF_NOBODY = "described the surface of"
"""Where `all` would say nothing: the places are named after it."""


def every(harbour: Path) -> Iterator[tuple[str, Facts, ProposalFacts, Assessment]]:
    with database.opened(harbour, write=False) as connection:
        for key in read.proposal_keys(connection):
            facts, proposal = read.facts_rows(connection, key[0]), read.load_proposal(connection, *key)
            yield "/".join(key), facts, proposal, assess(Case(facts), proposal)


@pytest.fixture(scope="module")
def sample(harbour: Path) -> list[tuple[str, Facts, ProposalFacts, Assessment]]:
    return list(every(harbour))


def test_the_sample_is_told_in_a_fifth_to_a_third_of_the_lines(sample: list[Any]) -> None:
    lines = {key: len(assessment.assessment(*rest).splitlines()) for key, *rest in sample}
    print({key: (before, lines[key]) for key, before in BIGGEST.items()})
    assert sum(lines[key] for key in BIGGEST) < sum(BIGGEST.values()) / 3
    for key, before in BIGGEST.items():
        assert lines[key] < before / 2, key


def test_the_first_ten_lines_are_enough_to_decide(sample: Any) -> None:
    """After the advice against it: the outcome, how much, what, where, what to do instead, what is open."""
    for key, facts, proposal, found in sample:
        text = assessment.assessment(facts, proposal, found)
        head = text.split("\n\n")[0]
        advice = sum(len(assessment.wrap(f"Advice against step 1: {row.said()}").splitlines()) for row in found.advice)
        assert len(head.splitlines()) <= 10 + advice, key
        assert head.startswith("Advice against " if found.advice else f"{key}: "), key
        flat = " ".join(head.split())
        for row in found.advice:
            assert row.said() in flat
        if found.outcome in ("destroys", "endangers", "untested"):
            worst = [loss for loss in found.losses if loss.severity == found.outcome]
            assert any(loss.place in flat or TOLD_OF_NOBODY in flat for loss in worst), key
            assert "Instead: " in flat or not any(loss.would_change_it for loss in worst), key
        assert ("Open before approval: " in flat) == bool(found.open_before_approval), key


def test_what_is_lost_is_named_before_what_must_stay(
    sample: list[tuple[str, Facts, ProposalFacts, Assessment]],
) -> None:
    full = {key: worst_of(facts, found) for key, facts, _, found in sample}
    said = full["OHM-1974-21/P5"]
    assert said.startswith("Destroys: Carver's finish: cream body, gilded and glazed trappings (1) at ")
    assert said.index("metal leaf DG2") < said.index("reserves RS1, RW1")
    for key, facts, _, found in sample:
        named = {
            loss.scheme
            for loss in found.losses
            if loss.severity == found.outcome
            and loss.scheme
            and loss.decoration is None
            and loss.causes[0].looked is None
        }
        if named and found.outcome not in ("clear", "stood"):
            assert any(f"{row.name} ({row.scheme}" in full[key] for row in facts.schemes if row.scheme in named), key


def test_every_loss_is_told_once_with_its_place_and_the_steps_say_each_reason_once(
    sample: list[tuple[str, Facts, ProposalFacts, Assessment]],
) -> None:
    for key, facts, proposal, found in sample:
        steps = re.split(r"(?m)^Step", "\n".join(line.text for line in by_step(facts, proposal, found)))
        for loss in found.losses:
            own = next(part for part in steps if part.startswith(f" {loss.steps[0]}:"))
            thing = loss.thing.removesuffix("/not found so far").removesuffix("not found so far").rstrip()
            thing = f"scheme {thing.removesuffix('/finish')}" if thing.endswith("/finish") else thing
            place = TOLD_OF_NOBODY if loss.id == "all/not examined" else loss.place
            assert re.search(rf"(?<![\w-]){re.escape(place)}(?![\w-])", own), (key, loss.id)
            assert thing in own or thing in ("not examined", "below what was seen"), (key, loss.id)
        for part in steps[1:]:
            for severity in ("DESTROYS", "ENDANGERS"):
                reasons = Counter(
                    line.split(": ", 1)[-1]
                    for line in part.splitlines()
                    if line.startswith(severity) and "reserve" not in line
                )
                assert not [reason for reason, times in reasons.items() if times > 1], (key, reasons)


def test_each_test_is_described_once_and_cited_by_its_code(
    sample: list[tuple[str, Facts, ProposalFacts, Assessment]],
) -> None:
    for key, facts, proposal, found in sample:
        text = " ".join(assessment.assessment(facts, proposal, found).split())
        for test in facts.tests:
            shown = described(vars(test))
            assert text.count(f"{test.test} {shown}") <= 1
            assert f"{test.test} ({shown})" not in text, (key, test.test)
        for code in re.findall(r"\bat ([A-Z]\d+)\.", text.split(" Tests ")[0]):
            assert f" {code} " in f" {text.split(' Tests ')[-1]}", (key, code)


def test_what_stood_names_its_tests_and_what_nobody_examined_is_one_line() -> None:
    rows = [
        *o.base(*o.met("T1", 3, "none seen", dwell=60, after_drying="yes", passes=1), later_cover="partial"),
        *(Zone(object=o.OBJ, zone=f"Z{n}", component="body", area_m2=0.1) for n in range(9)),
    ]
    facts, proposal = o.facts(rows), o.proposal({"action": "solvent", "agent": "acetone", "place": "body"})
    text = assessment.assessment(facts, proposal, assess(Case(facts), proposal))
    unseen = [line for line in text.splitlines() if "Never examined: " in line]
    assert len(unseen) == 1
    assert "Z0, Z1, Z2, Z3, Z4, Z5, Z6, Z7, Z8" in unseen[0]
    assert "T1  acetone, 60 s, 1 pass, rolled swab, door, 2 May 2020" in text
    assert "STOOD THE TEST  1/varnish (S1): Stood T1." in text


def test_the_sheet_has_a_box_for_each_line_and_the_advice_first() -> None:
    facts, proposal, found = one_swab()
    sheet = decision_sheet(facts, proposal, found)
    body = sheet.split("-" * 80 + "\n")[1]
    assert body.startswith(
        "ADVICE AGAINST STEP 1: Keep solvents off the red. (I. Advisor, March 2011, A1)\n  Answer  ..."
    )
    signed = [line for line in sheet.splitlines() if line.startswith("[    ]")]
    assert len(signed) == sum(line.sign for line in by_step(facts, proposal, found))
    assert signed


def test_a_coat_that_is_missing_where_its_finish_was_met_is_not_said_to_be_missing_with_it() -> None:
    """The door's section shows the red and its varnish, the sill's the red alone."""
    rows = [
        *o.base(),
        Zone(object=o.OBJ, zone="sill", component="body", area_m2=0.1),
        Sample(object=o.OBJ, sample="S2", place="sill", method="cross-section", reaches_support="yes"),
        o.layer(1, "body colour", "1", "red", sample="S2"),
    ]
    found = assess(Case(o.facts(rows)), o.proposal({"action": "strip", "place": "sill"}))
    (loss,) = [loss for loss in found.losses if loss.thing == "1/varnish not found so far"]
    assert "Its finish was found at 1 of 1 spot here, but not this coat of it so far" in loss.message


def test_a_place_where_nothing_but_the_primer_was_found_is_told_so_once() -> None:
    rows = [
        *o.base(sampled=False),
        Zone(object=o.OBJ, zone="sill", component="body", area_m2=0.1),
        *(
            row
            for at, place in (("S1", "door"), ("S2", "sill"))
            for row in (
                Sample(object=o.OBJ, sample=at, place=place, method="cross-section", reaches_support="yes"),
                o.layer(1, "primer", "1", "white", sample=at),
            )
        ),
    ]
    facts, proposal = o.facts(rows), o.proposal({"action": "solvent", "agent": "acetone", "place": "body"})
    lines = [line.text for line in by_step(facts, proposal, assess(Case(facts), proposal))]
    assert [line for line in lines if "preparation" in line and line.startswith("UNTESTED  Only")] == [
        "UNTESTED  Only the preparation was found, and what stood on it may be left elsewhere: scheme 1 at door; "
        "scheme 1 at sill. Would change it: A sample of the surface of each, extent whole place."
    ]


def test_a_place_where_one_of_the_makers_finishes_is_missing_is_counted_for_that_finish() -> None:
    """Of two finishes of the maker's one was seen at the only spot read: the other was missing at 1 of 1."""
    ground = o.Scheme(object=o.OBJ, scheme="0", name="maker's ground", period="original", rank=0)
    rows = [
        *o.base(sampled=False),
        ground,
        Zone(object=o.OBJ, zone="sill", component="body", area_m2=0.1),
        Sample(object=o.OBJ, sample="S1", place="door", method="cross-section", reaches_support="yes"),
        o.layer(1, "body colour", "0", "grey"),
        o.layer(2, "body colour", "1", "red"),
        Sample(object=o.OBJ, sample="S2", place="sill", method="cross-section", reaches_support="yes"),
        o.layer(1, "body colour", "0", "grey", sample="S2"),
    ]
    found = assess(Case(o.facts(rows)), o.proposal({"action": "strip", "place": "sill"}))
    (loss,) = [loss for loss in found.losses if loss.thing == "1/not found so far"]
    assert loss.causes[0].looked.missing == 1
    assert loss.causes[0].looked.read == 1
    assert "Not found at 1 of 1 spot" in loss.message
