"""Objects made by hand for the tests: one part with a zone, a maker's scheme under a later one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from collection.compute.case import Case
from collection.compute.loss.outcome import outcomes
from collection.records.facts import Facts, ProposalFacts, facts_of, proposal_of
from collection.records.policy import default_policy
from collection.records.sheets import (
    Advice,
    Component,
    Condition,
    Layer,
    Object,
    Proposal,
    ProposalStep,
    Record,
    Response,
    Sample,
    Scheme,
    Test,
    Treatment,
    TreatmentStep,
    Zone,
)
from collection.rules.assess import assess
from collection.rules.findings import Loss
from collection.rules.severity import severity_of, worst
from collection.values import reference

OBJ = "T.1"
Rows = Sequence[Record]
Step = Mapping[str, Any]
Coat = tuple[str | None, str, str | None, str | None]
"""Scheme, role, colour, coverage."""


def base(*more: Record, later_cover: str | None = "intact", sampled: bool = True) -> list[Any]:
    """A door: red body colour and varnish of the maker's, under a green repaint shown to be later."""
    rows: list[Record] = [
        Component(object=OBJ, component="body", name="body", support="mild steel", area_m2=2.0),
        Zone(object=OBJ, zone="door", component="body", area_m2=2.0),
        Scheme(object=OBJ, scheme="1", name="maker's red", period="original", rank=1),
        Scheme(object=OBJ, scheme="2", name="green repaint", period="later", rank=2, basis="lies on dirt"),
    ]
    if sampled:
        rows += [
            Sample(
                object=OBJ,
                sample="S1",
                place="door",
                method="cross-section",
                reaches_support="yes",
                taken_on="2020-05-01",
            ),
            layer(1, "primer", "1", "grey"),
            layer(2, "body colour", "1", "red"),
            layer(3, "varnish", "1", None),
            layer(4, "body colour", "2", "green", coverage=later_cover),
        ]
    return [*rows, *more]


def layer(
    position: int,
    role: str,
    scheme: str | None,
    colour: str | None,
    coverage: str | None = "intact",
    sample: str = "S1",
    **more: Any,
) -> Layer:
    """One coat; its binder is not known unless said, so that only recorded tests speak."""
    more.setdefault("thickness_um", 30.0)
    return Layer(
        object=OBJ, sample=sample, position=position, role=role, scheme=scheme, colour=colour, coverage=coverage, **more
    )


def met(
    code: str,
    position: int,
    response: str,
    agent: str = "acetone",
    *,
    sample: str = "S1",
    dwell: float | None = 30,
    application: str | None = "rolled swab",
    on: str | None = "2020-05-02",
    place: str = "door",
    **more: Any,
) -> list[Any]:
    """One test and what it did to one coat."""
    return [
        Test(
            object=OBJ,
            test=code,
            place=place,
            agent=agent,
            dwell_s=dwell,
            application=application,
            tested_on=on,
            **more,
        ),
        Response(object=OBJ, test=code, sample=sample, position=position, response=response),
    ]


def facts(rows: Rows) -> Facts:
    return facts_of(Object(object=OBJ, title="trial door", kind="door"), rows)


def proposal(*steps: Step) -> ProposalFacts:
    """Steps given as their columns; place `door` and, for liquids, 10 s with a rolled swab unless said."""
    head = Proposal(object=OBJ, proposal="P", title="trial", proposed_by="N. N.", proposed_on="2024-06-01")
    rows = []
    for number, step in enumerate(steps, 1):
        given: dict[str, Any] = {"place": "door", **step}
        if "agent" in given:
            given = {"dwell_s": 10.0, "application": "rolled swab", **given}
        rows.append(ProposalStep(object=OBJ, proposal="P", step=number, **given))
    return proposal_of(head, rows)


def said(rows: Rows, *steps: Step) -> dict[str, Loss]:
    """The severity and message of each loss, by its id."""
    found = assess(Case(facts(rows)), proposal(*steps))
    return {loss.id: loss for loss in found.losses}


def severity(rows: Rows, *steps: Step, of: str = "door/1/varnish") -> str:
    found = said(rows, *steps)
    return found[of].severity if of in found else "clear"


def severities(rows: list[Any], *steps: dict[str, Any]) -> dict[str, str]:
    """The severity of each kept thing, by its id."""
    policy = default_policy()
    found = outcomes(Case(facts(rows), policy), proposal(*steps))
    result: dict[str, str] = {}
    for outcome in found:
        key = f"{outcome.place}/{outcome.thing}"
        now = worst(severity_of(outcome, step, policy) for step in outcome.steps)
        result[key] = worst([now, result.get(key, "clear")])
    return {key: severity for key, severity in result.items() if severity != "clear"}


def section(code: str, *coats: Coat, place: str = "door", reaches: str = "yes", **more: Any) -> list[Any]:
    """A cross-section: coats from the support outward, each (scheme, role, colour, coverage)."""
    rows: list[Record] = [
        Sample(
            object=OBJ,
            sample=code,
            place=place,
            method=more.pop("method", "cross-section"),
            reaches_support=reaches,
            taken_on=more.pop("on", "2020-05-01"),
            **more,
        )
    ]
    for position, (scheme, role, colour, coverage) in enumerate(coats, 1):
        rows.append(layer(position, role, scheme, colour, coverage, sample=code))
    return rows


RED, GREEN = ("1", "body colour", "red", "intact"), ("2", "body colour", "green", "intact")
BLACK = ("2", "body colour", "black", "intact")


def door(*more: Record) -> list[Any]:
    """A part of 2 m² with the maker's scheme 1 and a repaint 2 that may go, and nothing read yet."""
    return [
        Component(object=OBJ, component="door", name="door", support="mild steel", area_m2=2.0),
        Scheme(object=OBJ, scheme="1", name="maker's red", period="original", rank=1),
        Scheme(
            object=OBJ,
            scheme="2",
            name="repaint",
            period="later",
            rank=2,
            basis="lies on dirt",
            keep="may go",
            decided_by="N. N.",
        ),
        *more,
    ]


def window(
    place: str, removed: str | None, *, area: float | None = 0.01, gone: float | None = None, on: str = "2021"
) -> list[Any]:
    """A recorded opening: what it took, where, and how much of it."""
    return [
        Treatment(object=OBJ, treatment="W1", purpose="window", started=on, ended=on, outcome="done"),
        TreatmentStep(
            object=OBJ,
            treatment="W1",
            step=1,
            place=place,
            action="solvent",
            agent="acetone",
            removed=removed,
            removed_m2=gone,
            area_m2=area,
        ),
    ]


def fails(place: str = "door", phenomenon: str = "flaking", active: str | None = "yes", **more: Any) -> list[Any]:
    return [
        Condition(
            object=OBJ,
            place=place,
            phenomenon=phenomenon,
            observed_on=more.pop("on", "2022"),
            active=active,
            severity=more.pop("severity", 2),
            **more,
        )
    ]


POLICY, REFERENCE = default_policy(), reference.packaged()
ACETONE = {"action": "solvent", "agent": "acetone"}
WATER = {"action": "aqueous", "agent": "water", "application": "rolled swab", "dwell_s": 30.0}
GUESS = 0.5 * POLICY.model.taken_where_it_acts
"""What is expected of ten seconds of something of which nobody knows whether it acts."""
COAT = "door/1/body colour"
VARNISH = ("1", "varnish", None, "intact")


def changed(rows: Rows, kind: type[Record], **values: Any) -> list[Any]:
    """The rows with every row of a kind changed."""
    return [row.model_copy(update=values) if isinstance(row, kind) else row for row in rows]


def work(
    action: str = "wax",
    place: str = "door",
    on: str = "2021",
    code: str = "W9",
    outcome: str | None = None,
    **more: Any,
) -> list[Any]:
    """A recorded treatment of one step."""
    return [
        Treatment(object=OBJ, treatment=code, purpose="work", started=on, ended=on, outcome=outcome),
        TreatmentStep(object=OBJ, treatment=code, step=1, place=place, action=action, **more),
    ]


def once(response: str = "none seen", code: str = "T1", agent: str = "acetone", **conditions: Any) -> list[Any]:
    """The maker's red in one section, and one test of it."""
    return door(*section("S1", RED), *met(code, 1, response, agent, sample="S1", **conditions))


def advice(code: str = "A1", what: str = "Do not wash it again", **said: Any) -> Advice:
    return Advice(object=OBJ, advice=code, what=what, **{"given_on": "2010-05", "place": "door", **said})
