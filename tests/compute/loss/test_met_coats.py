"""Which coat a test speaks of, coats that only tests met, and what models are told of them.

Tables of cases, each with what must come out and why. `mutants.py` changes the logic and asks whether these notice.
All objects are invented; what they show is common practice, no published source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import ACETONE, COAT, GREEN, RED, VARNISH, WATER, door, once, said, section, severity
from stacks import CAB, PRIMER, WING, names_of, stack

from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case
from collection.compute.effects import contact
from collection.compute.effects.contact import contact_rate
from collection.compute.effects.relations import harmful_trials, trials_of
from collection.compute.effects.work import Work
from collection.records.sheets import Decoration, Layer

# Which coat a test speaks of.


OIL = {"binder": "oil", "binder_basis": "analysed"}


def met_as(response: str, **columns: Any) -> list[Any]:
    """A test of acetone on the door with one response, told as a scheme, a coat of it, or a decoration."""
    test, answer = o.met("T1", 1, response, sample="S1", dwell=10)
    return [test, answer.model_copy(update={"sample": None, "position": None, **columns})]


LINING = [Decoration(object=o.OBJ, decoration="D1", place="door", kind="lining", scheme="1", state="exposed")]
TWO = door(*section("S1", ("1", "body colour", "red", "partial"), ("1", "varnish", None, "partial")))


@pytest.mark.parametrize(
    ("rows", "columns", "harmless", "harmful"),
    [
        # The very coat, by its place in the section; by its scheme and role; its scheme's outermost coat is the varnish.
        (TWO, {"sample": "S1", "position": 1}, "stood", "destroys"),
        (TWO, {"scheme": "1", "role": "body colour"}, "stood", "destroys"),
        (TWO, {"scheme": "1"}, "untested", "endangers"),
        (TWO, {"sample": "S1", "position": 2}, "untested", "endangers"),
        # Another scheme, a sample that does not exist, a decoration: nothing, or fear for its like.
        (TWO, {"scheme": "2"}, "untested", "untested"),
        (TWO, {"sample": "S9", "position": 1}, "untested", "untested"),
        ([*TWO, *LINING], {"decoration": "D1"}, "untested", "endangers"),
        ([*TWO, *LINING], {"decoration": "D9"}, "untested", "untested"),
        # On another part's section in the place of the test.
        ([*TWO, *CAB], {"sample": "S7", "position": 1}, "stood", "destroys"),
    ],
)
def test_a_response_speaks_of_the_coat_that_was_met(
    rows: list[Any], columns: dict[str, Any], harmless: str, harmful: str
) -> None:
    """The maker's red beneath its varnish, both in part: acetone that did nothing, and that took it off."""
    assert severity([*rows, *met_as("none seen", **columns)], ACETONE, of=COAT) == harmless
    assert severity([*rows, *met_as("removed", **columns)], ACETONE, of=COAT) == harmful


@pytest.mark.parametrize(
    ("colour", "met", "role", "harmless", "harmful"),
    [
        ("red", "red", "body colour", "cleared", "effect"),
        ("red", "Red ", "body colour", "cleared", "effect"),
        ("red", "black", "body colour", "", "feared"),
        ("red", None, "body colour", "", "effect"),
        (None, "red", "body colour", "", "effect"),
        ("red", "amber", "varnish", "", "feared"),
        (None, None, "varnish", "cleared", "effect"),
        ("clear", "amber", "varnish", "cleared", "effect"),
    ],
)
def test_coats_are_told_apart_by_their_colour_and_clear_ones_need_none(
    colour: str | None, met: str | None, role: str, harmless: str, harmful: str
) -> None:
    """One coat of the scheme in S1, another in S2, which is the one that was met."""
    own = role if colour in (None, "clear") else "body colour"
    found = []
    for response in ("none seen", "removed"):
        rows = door(
            *section("S1", ("1", own, colour, "intact")),
            *section("S2", ("1", role, met, "intact")),
            *o.met("T1", 1, response, sample="S2", dwell=10),
        )
        facts = o.facts(rows)
        stack = stack_of(Case(facts), "door")
        coat = next(c for c in stack.coats if ("S1", 1) in c.layers)
        got = contact_rate(Work(Case(facts), stack, o.proposal(ACETONE).steps[0], "2024"), coat)
        found.append("cleared" if got.cleared else "effect" if got.effect else "feared" if got.feared else "")
    assert found == [harmless, harmful]


def test_the_same_coat_of_another_part_may_alarm_and_never_clears() -> None:
    on_cab = [
        row.model_copy(update={"place": "cab"}) if row.sheet == "tests" else row
        for response in ("none seen", "removed")
        for row in met_as(response, sample="S7", position=1)
    ]
    assert severity([*TWO, *CAB, *on_cab[:2]], ACETONE, of=COAT) == "untested"
    assert severity([*TWO, *CAB, *on_cab[2:]], ACETONE, of=COAT) == "endangers"


@pytest.mark.parametrize(
    ("varnish", "colour", "expected"),
    [
        ("natural resin", "oil", "untested"),
        ("oil", "oil", "endangers"),
        (None, "oil", "endangers"),
        ("natural resin", None, "endangers"),
        ("unknown", "oil", "endangers"),
        ("mixed", "oil", "endangers"),
    ],
)
def test_what_was_done_to_the_varnish_is_not_feared_for_a_coat_of_another_known_binder(
    varnish: str | None, colour: str | None, expected: str
) -> None:
    rows = [
        row.model_copy(update={"binder": varnish if row.role == "varnish" else colour})
        if isinstance(row, Layer)
        else row
        for row in TWO
    ]
    step = {"action": "solvent", "agent": "isooctane"}
    test, answer = o.met("T1", 2, "swelled", "isooctane", sample="S1")
    by_name = answer.model_copy(update={"sample": None, "position": None, "scheme": "1", "role": "varnish"})
    for told in (answer, by_name):
        assert severity([*rows, test, told], step, of=COAT) == expected


def test_a_decoration_is_cleared_by_what_met_it_alone() -> None:
    """D1 and D2 are both linings of the maker's: what D1 stood says nothing of D2, and what harmed it is feared."""
    two = [*TWO, *LINING, LINING[0].model_copy(update={"decoration": "D2"})]
    for response, here, other in (("none seen", "stood", "untested"), ("removed", "destroys", "endangers")):
        found = said([*two, *met_as(response, decoration="D1")], ACETONE)
        assert (found["door/D1"].severity, found["door/D2"].severity) == (here, other)
    read = [*section("S2", ("1", "lining", "gold", "intact")), *o.met("T2", 1, "none seen", sample="S2")]
    assert said([*TWO, *LINING, *read], ACETONE)["door/D1"].severity == "stood", "the one lining there is, as read"
    assert said([*two, *read], ACETONE)["door/D1"].severity == "untested", "which of the two was read, nobody knows"


# What models are told, and what windows are made of.


@pytest.mark.parametrize(
    ("rows", "step", "expected"),
    [
        (once(), ACETONE, [("T1", False)]),
        (once("softened"), ACETONE, [("T1", True)]),
        (once("gloss change", agent="ethanol", dwell=500), ACETONE, [("T1", True)]),
        (once(agent="ethanol"), ACETONE, [("T1", False)]),
        # What it stood as harshly as planned, lately, and looked at dry; an effect of whatever age.
        (once(dwell=5), ACETONE, []),
        (once(on="1990"), ACETONE, []),
        (once(after_drying="no"), ACETONE, []),
        (once("lifted", on="1990"), ACETONE, [("T1", True)]),
        (once(agent="water", ph=5.0), {**WATER, "ph": 9.0}, [("T1", False)]),
        (once(agent="water", ph=8.0, conductivity_mscm=1.0), {**WATER, "ph": 8.0, "conductivity_mscm": 2.0}, []),
        # Of its like nothing.
        (door(*section("S1", RED, VARNISH), *o.met("T1", 2, "lifted", sample="S1")), ACETONE, []),
    ],
)
def test_models_are_told_what_a_coat_did_and_what_it_stood_as_harshly_as_planned(
    rows: list[Any], step: dict[str, Any], expected: list[tuple[str, bool]]
) -> None:
    facts = o.facts(rows)
    found = stack_of(Case(facts), "door")
    red = next(c for c in found.coats if c.role == "body colour")
    heard = contact.tested_of(Work(Case(facts), found, o.proposal(step).steps[0], "2024-06-01"), red)
    assert [(each.name, each.acted) for each in heard] == expected


def test_a_coats_trials_are_those_that_met_it_and_the_harmful_ones_those_of_its_like_too() -> None:
    rows = door(
        *section("S1", RED, VARNISH),
        *o.met("T1", 1, "none seen", sample="S1"),
        *o.met("T2", 1, "lifted", sample="S1"),
        *o.met("T3", 2, "lifted", sample="S1"),
        *o.met("T4", 2, "none seen", sample="S1"),
    )
    facts = o.facts(rows)
    found = stack_of(Case(facts), "door")
    red = next(c for c in found.coats if c.role == "body colour")
    assert [t.test.test for t in trials_of(Case(facts), found, red)] == ["T1", "T2"]
    assert [t.test.test for t in harmful_trials(Case(facts), found, red)] == ["T2", "T3"]


# Coats that only tests met.


def met_only(
    response: str = "lifted", scheme: str = "1", role: str | None = "varnish", place: str = "door"
) -> list[Any]:
    test, answer = o.met("T1", 1, response, sample="S1", place=place)
    return [test, answer.model_copy(update={"sample": None, "position": None, "scheme": scheme, "role": role})]


@pytest.mark.parametrize(
    ("met", "expected"),
    [
        (met_only(), ["2/body colour", "1/varnish", "1/body colour", "1/preparation"]),
        (met_only(role="primer"), ["2/body colour", "1/body colour", "1/preparation"]),
        (met_only(role="glaze"), ["2/body colour", "1/glaze", "1/body colour", "1/preparation"]),
        (met_only(role="sealer"), ["2/body colour", "1/body colour", "1/preparation", "1/preparation"]),
        (met_only("none seen"), ["2/body colour", "1/body colour", "1/preparation"]),
        (met_only(role="dirt"), ["2/body colour", "1/body colour", "1/preparation"]),
        (met_only(scheme="2"), ["2/body colour", "1/body colour", "1/preparation"]),
        (met_only(role=None), ["2/body colour", "1/body colour", "1/preparation"]),
        (met_only(place="cab"), ["2/body colour", "1/body colour", "1/preparation"]),
        # Met elsewhere on the part: not found in a place whose own section goes to the support.
        (met_only(place="wing"), ["2/body colour", "(1/varnish not found so far)", "1/body colour", "1/preparation"]),
    ],
)
def test_a_kept_coat_that_a_test_did_something_to_is_there_though_no_section_shows_it(
    met: list[Any], expected: list[str]
) -> None:
    rows = door(WING, *CAB[:1], *section("S1", PRIMER, RED, GREEN), *met)
    found = stack(rows)
    assert names_of(found) == expected
    varnish = [coat for coat in found.coats if coat.role == "varnish"]
    assert all(
        coat.kept and coat.evidence == (("tests", "T.1/T1"),) and coat.seen_here == (coat.found) for coat in varnish
    )
    assert all(coat.cover == ((0.0, 0.5, 1.0) if coat.found else (0.0, 0.0, 1.0)) for coat in varnish)
    assert all({key.scheme for key in coat.above} == {"2"} for coat in varnish)


COACH = (
    ("primer", "oil", "N 8"),
    ("primer", "oil", "N 6"),
    ("filler", "oil", "10YR 6/6"),
    ("ground", "oil", "10R 3/6"),
    ("body colour", "oil", "7.5R 3/8"),
    ("varnish", "oleoresin", None),
    ("body colour", "alkyd", "5G 3/6"),
)


def test_coats_without_a_scheme_that_the_sequence_of_all_sections_joins_are_the_same() -> None:
    """Seven coats alike in both sections, none assigned: acetone that lifted the red of S2 lifts that of S1, and not
    its green; what the red of S2 stood clears nothing; on another part it is feared."""

    def alike(code: str, place: str = "door") -> list[Any]:
        rows = section(code, *[(None, role, None, "intact") for role, _, _ in COACH], place=place)
        return [
            row.model_copy(update=dict(zip(("binder", "munsell"), COACH[row.position - 1][1:], strict=True)))
            if isinstance(row, Layer)
            else row
            for row in rows
        ]

    for place, response, red, green in (
        ("door", "lifted", "effect", ""),
        ("door", "none seen", "", ""),
        ("cab", "lifted", "feared", ""),
    ):
        rows = door(
            *CAB[:1],
            *alike("S1"),
            *alike("S2", place),
            *o.met("T1", 5, response, "1 acetone + 3 isooctane", sample="S2", place=place, dwell=10),
        )
        facts = o.facts(rows)
        case = Case(facts)
        found = stack_of(case, "door")
        work = Work(case, found, o.proposal({**ACETONE, "agent": "1 acetone + 3 isooctane"}).steps[0], "2024")
        got = {
            position: contact_rate(work, next(c for c in found.coats if ("S1", position) in c.layers))
            for position in (5, 7)
        }
        told = {
            at: "cleared" if r.cleared else "effect" if r.effect else "feared" if r.feared else ""
            for at, r in got.items()
        }
        assert told == {5: red, 7: green}, (place, response)


def test_what_a_whole_scheme_did_where_none_of_it_was_seen_counts_against_all_its_coats() -> None:
    """The wing was never read: which of the scheme's coats acetone lifted there, nobody wrote down."""
    rows = door(WING, *section("S1", RED))
    for response, expected in (("removed", "destroys"), ("none seen", "untested")):
        test, answer = o.met("T1", 1, response, sample="S1", place="wing", dwell=10)
        told = [test, answer.model_copy(update={"sample": None, "position": None, "scheme": "1"})]
        assert severity([*rows, *told], ACETONE, of=COAT) == expected


def test_an_alarm_of_a_model_says_whether_the_agent_was_tried_at_all() -> None:
    """Ethanol acts on shellac by its published sphere; a shorter test of ethanol clears nothing, and is not passed over."""
    varnish = o.layer(1, "varnish", "1", None, binder="shellac", binder_basis="analysed")
    rows = door(*section("S1"), varnish, *o.met("T1", 1, "none seen", "isooctane"))
    step = {"action": "solvent", "agent": "ethanol", "dwell_s": 30.0, "application": "rolled swab"}
    never = o.said(rows, step)["door/1/varnish"].message
    shorter = o.said([*rows, *o.met("T2", 1, "none seen", "ethanol", dwell=5)], step)["door/1/varnish"].message
    assert "No test of ethanol on this coat; " in never
    assert "No test of ethanol on this coat as harsh as planned; " in shorter
