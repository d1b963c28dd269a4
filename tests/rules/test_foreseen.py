"""What would have been said of work on the day before, against what was found since."""

from __future__ import annotations

from typing import Any

import pytest
from two_looks import GREEN, NOW, OBJ, RED, THEN, VARNISH, read, sides, work

from collection.records.facts import ProposalFacts, proposal_of
from collection.records.sheets import Proposal, ProposalStep, Response
from collection.records.sheets import Test as CleaningTest
from collection.rules.track_record import Foreseen, foreseen

STACK = [
    row
    for code in ("S1", "S3", "S5")
    for row in read(code, THEN, RED, VARNISH, GREEN, chosen="random", x=float(code[1]), y=1.0)
]
SWAB: dict[str, Any] = {
    "action": "solvent",
    "agent": "acetone",
    "application": "rolled swab",
    "dwell_s": 10.0,
    "passes": 1,
}


def swabbed(response: str, scheme: str, role: str) -> list[Any]:
    """A swab of acetone for a minute, and what it did."""
    code = f"C-{scheme}-{role[0]}"
    return [
        CleaningTest(
            object=OBJ,
            test=code,
            place="top",
            agent="acetone",
            application="rolled swab",
            dwell_s=60.0,
            passes=1,
            after_drying="yes",
            tested_on=THEN,
        ),
        Response(object=OBJ, test=code, response=response, scheme=scheme, role=role),
    ]


STOOD = [
    row
    for coat in (("1", "varnish"), ("1", "body colour"), ("2", "body colour"))
    for row in swabbed("none seen", *coat)
]
HARMED = [
    *swabbed("removed", "1", "varnish"),
    *swabbed("removed", "2", "body colour"),
    *swabbed("none seen", "1", "body colour"),
]
SURVIVES = read("S2", NOW, RED, VARNISH, GREEN)
LOST = read("S2", NOW, RED, ("1", "varnish", "amber", "absent"))


def of(tests: list[Any], since: list[Any], step: dict[str, Any] = SWAB, when: str = "2019") -> dict[str, Any]:
    """Each thing: what was predicted, what was found, and whether it came true."""
    case, both = sides([*STACK, *tests], [*work("T1", when, step), *since])
    found = foreseen(case, both, {})
    return {s.loss: (s.predicted, s.found, s.came_true) for each in found for s in each.seen}


def test_tests_that_stood_and_held() -> None:
    """Acetone did nothing in a minute; T1 used it for ten seconds; ten years later the varnish is there."""
    assert of(STOOD, SURVIVES)["top/1/varnish"] == ("stood", "survives", True)


def test_tests_that_stood_and_did_not_hold() -> None:
    """The varnish is gone although the test had done nothing: the gravest thing a comparison can tell."""
    case, both = sides([*STACK, *STOOD], [*work("T1", "2019", SWAB), *LOST])
    (found,) = foreseen(case, both, {})
    (varnish,) = [seen for seen in found.seen if seen.loss == "top/1/varnish"]
    assert (varnish.predicted, varnish.found, varnish.came_true, varnish.missed) == ("stood", "lost", False, True)
    assert varnish.by == "S2"


def test_the_record_of_the_work_shows_it_too() -> None:
    """Its own record says that the varnish came off; what it took is not read as what was planned."""
    taken = {**SWAB, "removed": "1/varnish", "removed_m2": 1.0}
    assert of(STOOD, [], taken)["top/1/varnish"] == ("stood", "lost", False)


@pytest.mark.parametrize(
    ("since", "expected"), [(LOST, ("lost", True)), (SURVIVES, ("survives", None)), ([], ("not looked since", None))]
)
def test_what_was_endangered(since: list[Any], expected: tuple[str, bool | None]) -> None:
    """A thing that survived dangerous work does not speak against the warning."""
    predicted, found, came_true = of(HARMED, since)["top/1/varnish"]
    assert predicted in ("destroys", "endangers")
    if predicted == "destroys" and found == "survives":
        expected = ("survives", False)
    assert (found, came_true) == expected


@pytest.mark.parametrize("when", ["2012", "2025", "201X"])
def test_work_that_was_not_surely_between_is_not_judged(when: str) -> None:
    assert of(STOOD, SURVIVES, when=when) == {}


def test_only_what_was_on_record_before_the_work_counts() -> None:
    """The test that did nothing was made in 2020, after the work of 2019: it could not clear it."""
    late = [row.model_copy(update={"tested_on": "2020"}) if isinstance(row, CleaningTest) else row for row in STOOD]
    case, both = sides(STACK, [*work("T1", "2019", SWAB), *SURVIVES, *late])
    (found,) = foreseen(case, both, {})
    assert [seen.predicted for seen in found.seen if seen.loss == "top/1/varnish"] == ["untested"]


def test_a_proposal_that_was_carried_out_is_judged_by_its_own_steps() -> None:
    """P1 meant to scrape to the support; the work that names it used a swab. What was proposed is what was foretold."""
    head = Proposal(object=OBJ, proposal="P1", title="scrape", proposed_by="N. N.", proposed_on="2018")
    plan = proposal_of(head, [ProposalStep(object=OBJ, proposal="P1", step=1, place="top", action="scrape")])

    def told(proposals: dict[str, ProposalFacts]) -> tuple[Foreseen, ...]:
        case, both = sides([*STACK, *STOOD], [*work("T1", "2019", SWAB, proposal="P1"), *SURVIVES])
        return foreseen(case, both, proposals)

    (planned,) = told({"P1": plan})
    assert (planned.treatment, planned.proposal) == ("T1", f"{OBJ}/P1")
    assert {s.predicted for s in planned.seen if s.loss == "top/1/varnish"} == {"destroys"}
    assert [s.came_true for s in planned.seen if s.loss == "top/1/varnish"] == [False]
    (unknown,) = told({})  # the proposal is out of account: the work's own record is read
    assert unknown.proposal is None


def test_work_that_touches_nothing_is_not_judged() -> None:
    case, both = sides(STACK, work("T1", "2019", {"action": "drain"}))
    assert foreseen(case, both, {}) == ()
