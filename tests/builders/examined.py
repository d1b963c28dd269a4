"""Strategies for examined objects and proposals on them: several parts, zones within zones, samples of every method,
schemes with and without a basis, tests, conditions, treatments, decorations, reserves. Invented."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from collection.language.work_words import RESPONSE
from collection.records.facts import Facts, ProposalFacts, facts_of, proposal_of
from collection.records.sheets import (
    Analysis,
    Claim,
    Component,
    Condition,
    Decoration,
    Hazard,
    Layer,
    Object,
    Proposal,
    ProposalStep,
    Record,
    Reserve,
    Response,
    Sample,
    Scheme,
    Test,
    Treatment,
    TreatmentStep,
    Zone,
)

OBJ = "L.7"
PLACES = ("all", "body", "pole", "door", "sill")
ZONES = ("door", "sill", "panel")
SCHEMES = ("1", "2", "3")
AGENTS = (
    "acetone",
    "ethanol",
    "white spirit",
    "1 acetone + 3 white spirit",
    "1 acetone + 1 white spirit",
    "water",
    "water + 2% ammonium citrate",
    "harbour polish no. 4",
    "toluene",
)
DAYS = (None, "2003", "2015-03", "2020-05-02", "2022~", "2021/2023")
DWELLS = (None, 1.0, 5.0, 30.0, 120.0)
WAYS = (None, "spray", "rolled swab", "rubbed swab", "gel", "immersion")
COVERS = ("intact", None, "partial", "trace", "absent")
ROLES = ("primer", "body colour", "varnish", "lining", "wax")
COLOURS = (None, "red", "green", "cream")
BINDERS = (None, "oil", "oleoresin", "shellac", "cellulose nitrate", "alkyd", "unknown")


def one_of(*choices: Any) -> st.SearchStrategy[Any]:
    return st.sampled_from(choices)


@st.composite
def tested(draw: DrawFn, code: str, spots: list[tuple[str, int]], response: str | None) -> list[Record]:
    """One test with one response, on a coat met in a sample or on a scheme; None: any response."""
    test = Test(
        object=OBJ,
        test=code,
        place=draw(one_of(*PLACES[1:])),
        agent=draw(one_of(*AGENTS)),
        dwell_s=draw(one_of(*DWELLS)),
        application=draw(one_of(*WAYS)),
        tested_on=draw(one_of(*DAYS)),
        ph=draw(one_of(None, None, 5.5, 8.5, 9.5)),
        passes=draw(one_of(None, None, 3.0)),
        after_drying=draw(one_of(None, "yes", "yes", "no")),
        finish=draw(one_of(None, "sound", "failing")),
    )
    said = response or draw(one_of(*RESPONSE.words))
    if spots and bool(draw(st.booleans())):
        sample, position = draw(one_of(*spots))
        return [test, Response(object=OBJ, test=code, sample=sample, position=position, response=said)]
    return [
        test,
        Response(
            object=OBJ,
            test=code,
            scheme=draw(one_of(*SCHEMES)),
            role=draw(one_of(None, "body colour", "varnish")),
            response=said,
        ),
    ]


@st.composite
def examined(draw: DrawFn) -> list[Record]:
    """An object's rows, its tests among them."""
    rows: list[Record] = [
        Component(
            object=OBJ,
            component="body",
            name="body",
            support=draw(one_of(None, "mild steel", "pine", "leather")),
            area_m2=draw(one_of(None, 6.0)),
            origin=draw(one_of(None, "original")),
        ),
        Component(
            object=OBJ, component="pole", name="pole", support="ash", area_m2=1.5, origin=draw(one_of(None, "replaced"))
        ),
        Zone(object=OBJ, zone="door", component="body", area_m2=draw(one_of(None, 2.0)), visibility="visible"),
        Zone(object=OBJ, zone="sill", component="body", area_m2=0.5, visibility="hidden"),
        Zone(object=OBJ, zone="panel", component="body", within="door", area_m2=draw(one_of(None, 0.8))),
        Scheme(object=OBJ, scheme="1", name="first red", period="original", rank=1),
        Scheme(
            object=OBJ,
            scheme="2",
            name="green",
            period=draw(one_of("later", "unknown")),
            rank=draw(one_of(None, 2)),
            basis=draw(one_of(None, "lies on dirt")),
            component=draw(one_of(None, "body")),
        ),
        Scheme(
            object=OBJ,
            scheme="3",
            name="cream",
            period="recent",
            rank=3,
            basis="dated by its pigment",
            keep=draw(one_of(None, "keep")),
            decided_by="N. N.",
        ),
    ]
    spots: list[tuple[str, int]] = []
    for number in range(draw(st.integers(0, 3))):
        code = f"S{number}"
        rows.append(
            Sample(
                object=OBJ,
                sample=code,
                place=draw(one_of("body", "door", "panel", "sill", "pole")),
                method=draw(one_of("cross-section", "exposure", "scraping", "surface")),
                reaches_support=draw(one_of(None, "yes", "no")),
                taken_on=draw(one_of(*DAYS)),
                extent=draw(one_of(None, None, None, "whole place")),
            )
        )
        for position in range(1, draw(st.integers(1, 5)) + 1):
            rows.append(
                Layer(
                    object=OBJ,
                    sample=code,
                    position=position,
                    role=draw(one_of(*ROLES)),
                    scheme=draw(one_of(None, *SCHEMES)),
                    colour=draw(one_of(*COLOURS)),
                    binder=draw(one_of(*BINDERS)),
                    coverage=draw(one_of(*COVERS)),
                    binder_basis=draw(one_of(None, "analysed", "guessed")),
                    thickness_um=draw(one_of(None, 12.0, 30.0, 55.0)),
                )
            )
            spots.append((code, position))
    for number in range(draw(st.integers(0, 4))):
        rows += draw(tested(f"T{number}", spots, None))
    if draw(st.booleans()):
        rows.append(
            Decoration(
                object=OBJ,
                decoration="D1",
                place=draw(one_of("door", "panel", "body")),
                kind="lettering",
                scheme=draw(one_of(None, "1", "2")),
                state=draw(one_of("exposed", "covered", "lost")),
                observed_on=draw(one_of(*DAYS)),
                area_m2=0.1,
            )
        )
    if draw(st.booleans()):
        rows.append(
            Reserve(
                object=OBJ,
                reserve="R1",
                place=draw(one_of("sill", "panel", "body")),
                kind="reserve",
                until=draw(one_of(None, "2030", "2010")),
            )
        )
    if draw(st.booleans()):
        rows.append(condition(draw))
    if draw(st.booleans()):
        rows += [
            Treatment(
                object=OBJ,
                treatment="W1",
                purpose="cleaning",
                started=draw(one_of(*DAYS)),
                outcome=draw(one_of(None, "done", "partly")),
            ),
            TreatmentStep(
                object=OBJ,
                treatment="W1",
                step=1,
                place=draw(one_of(*PLACES)),
                action=draw(one_of("solvent", "strip", "coat", "blast", "abrade")),
                removed=draw(one_of(None, "1", "1/varnish", "2", "3")),
                removed_m2=draw(one_of(None, None, 0.01, 0.4)),
                area_m2=draw(one_of(None, 0.5)),
                outcome=draw(one_of(None, None, "partly")),
            ),
        ]
    if draw(st.booleans()):
        rows += [
            Hazard(object=OBJ, hazard="H1", kind="lead in primer", status="suspected"),
            Claim(object=OBJ, claim="C1", statement="a number under the green", status="untested", place="door"),
            Analysis(object=OBJ, analysis="A1", technique="XRF", result="lead found", place="door"),
        ]
    return rows


def covered(place: str, cover: str) -> list[Record]:
    """One more sample: the maker's red under a recent cream of that coverage."""
    return [
        Sample(
            object=OBJ, sample="SX", place=place, method="cross-section", reaches_support="yes", taken_on="2020-05-01"
        ),
        Layer(
            object=OBJ,
            sample="SX",
            position=1,
            role="body colour",
            scheme="1",
            colour="red",
            coverage="intact",
            thickness_um=30.0,
        ),
        Layer(
            object=OBJ,
            sample="SX",
            position=2,
            role="body colour",
            scheme="3",
            colour="cream",
            coverage=cover,
            thickness_um=30.0,
        ),
    ]


def condition(draw: DrawFn) -> Record:
    return Condition(
        object=OBJ,
        place=draw(one_of(*PLACES)),
        phenomenon=draw(one_of("flaking", "blistering", "chalking")),
        observed_on=draw(one_of("2020", "2023-04")),
        severity=draw(one_of(None, 1, 3)),
        extent_pct=draw(one_of(None, 2.0, 40.0)),
        scheme=draw(one_of(None, *SCHEMES)),
        active=draw(one_of(None, "yes", "no")),
    )


@st.composite
def steps(draw: DrawFn, *actions: str) -> dict[str, Any]:
    """One step of a proposal as its columns."""
    action = draw(
        one_of(
            *(
                actions
                or (
                    "solvent",
                    "aqueous",
                    "wash",
                    "scrape",
                    "abrade",
                    "polish",
                    "heat",
                    "strip",
                    "coat",
                    "wax",
                    "consolidate",
                    "lay flakes",
                    "facing",
                    "dismantle",
                    "fix to",
                    "replace",
                    "laser",
                    "dust",
                    "wrap",
                    "operate",
                    "display outdoors",
                )
            )
        )
    )
    found: dict[str, Any] = {"action": action, "place": draw(one_of(*PLACES))}
    if action in ("solvent", "aqueous", "wash", "coat", "wax", "consolidate", "lay flakes", "facing"):
        found |= {
            "agent": draw(one_of(None, *AGENTS)),
            "dwell_s": draw(one_of(*DWELLS)),
            "application": draw(one_of(*WAYS)),
            "ph": draw(one_of(None, 6.0, 9.0)),
        }
    if action in ("scrape", "abrade", "polish"):
        found |= {
            "depth_um": draw(one_of(None, 0.0, 5.0, 40.0)),
            "depth_sd_um": draw(one_of(None, 1.0, 5.0)),
            "stop_at": draw(one_of(None, "1", "2/varnish")),
        }
    if action == "heat":
        found |= {"temperature_c": draw(one_of(None, 40.0, 90.0, 300.0))}
    if action in ("coat", "wax"):
        found |= {
            "adds": "clear coat",
            "removable_with": draw(one_of(None, "white spirit")),
            "adds_gloss_gu": draw(one_of(None, 40.0)),
        }
    found |= {
        "removes": draw(one_of(None, None, "2", "3", "1/varnish")),
        "area_m2": draw(one_of(None, None, 0.2)),
        "passes": draw(one_of(None, None, 2.0)),
    }
    return found


plans = st.lists(steps(), min_size=1, max_size=3)


def facts(rows: list[Record]) -> Facts:
    return facts_of(Object(object=OBJ, title="trial cart", kind="cart", materials="wood, iron"), rows)


def proposal(plan: list[dict[str, Any]]) -> ProposalFacts:
    head = Proposal(object=OBJ, proposal="P", title="trial", proposed_by="N. N.", proposed_on="2024-06-01")
    return proposal_of(
        head, [ProposalStep(object=OBJ, proposal="P", step=number, **step) for number, step in enumerate(plan, 1)]
    )
