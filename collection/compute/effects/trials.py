"""Recorded responses as trials: the coat that was tested, the conditions, and the order of harshness.

Conditions that a test or a step leaves blank become intervals from the policy. Common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from collection.compute.build_up.actions import CLEANING_OR_COATING, KIND_OF_ACTION
from collection.compute.build_up.coats import Coat, Stack, colour_of
from collection.compute.build_up.places import places_of
from collection.compute.build_up.removals import treatment_span
from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case, kept
from collection.language.work_words import WETTING_RUBBING
from collection.records.facts import current
from collection.records.policy import Policy
from collection.records.sheets import Layer, ProposalStep, Response, Test
from collection.values import agents, dates
from collection.values.agents import Agent

Bounds = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Met:
    """A coat that a test was made on. Empty colour: not known, or more than one; role None: not known; `binders` is
    empty unless every reading of the coat names one."""

    scheme: str | None
    role: str | None
    colour: str
    layer: tuple[str, int] | None
    decoration: str | None
    binders: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """One recorded response: the test's conditions as intervals, and the share it stands for; equal only to itself."""

    test: Test
    agent: Agent
    component: str | None
    met: Met
    low: float
    high: float
    response: str
    conditions: Mapping[str, Bounds]
    ended_by: str | None


CONDITIONS = ("dwell_s", "passes", "temperature_c", "conductivity_mscm", "wetting", "rubbing", "acid", "alkaline")
_NEVER_SKIPPED = frozenset({"dwell_s", "wetting", "rubbing", "acid", "alkaline"})
"""Conditions for which a blank never clears, not even where neither the test nor the step states them: otherwise a step
that leaves its application out would be cleared by a test that would not clear any application it could name."""
_AQUEOUS_ONLY = frozenset({"acid", "alkaline", "conductivity_mscm"})
ROOM = (15.0, 25.0)
"""Temperatures in °C that count as equal: a room's, which is also what a blank means."""


def conditions_of(row: Test | ProposalStep, agent: Agent | None) -> Mapping[str, Bounds]:
    """A row's conditions as intervals, where it states them or a blank has a meaning of its own.

    A blank temperature means a room's. Blank passes mean one: in a plan because nothing more is meant, in a test
    because it vouches for no more than it says, and what it did may have needed no more. pH is two distances from 7,
    one to each side; it and conductivity only count where the agent holds water.
    """
    passes = float(row.passes or 1)
    stated: dict[str, Bounds] = {"temperature_c": _warmth(row.temperature_c), "passes": (passes, passes)}
    for name in ("dwell_s", "conductivity_mscm"):
        value = getattr(row, name)
        if value is not None:
            stated[name] = (float(value), float(value))
    if row.application is not None:
        wetting, rubbing = WETTING_RUBBING[row.application]
        stated["wetting"], stated["rubbing"] = (wetting, wetting), (rubbing, rubbing)
    if row.ph is not None:
        acid, alkaline = max(0.0, 7 - row.ph), max(0.0, row.ph - 7)
        stated["acid"], stated["alkaline"] = (acid, acid), (alkaline, alkaline)
    if agent is not None and not agent.aqueous:
        stated = {name: span for name, span in stated.items() if name not in _AQUEOUS_ONLY}
    return stated


def _warmth(stated: float | None) -> Bounds:
    if stated is None or ROOM[0] <= stated <= ROOM[1]:
        return ROOM[1], ROOM[1]
    return float(stated), float(stated)


def surely_as_harsh(harsh: Mapping[str, Bounds], mild: Mapping[str, Bounds], *, aqueous: bool, policy: Policy) -> bool:
    """Whether conditions `harsh` are at least as harsh as `mild`, whatever the blanks stand for.

    Water of far less conductivity may swell what saltier water does not: a plan between half the tested value and the
    value itself is no harsher.
    """
    return all(
        a[0] >= b[1] and (name != "conductivity_mscm" or b[0] >= a[1] / 2)
        for name, a, b in _compared(harsh, mild, aqueous, policy)
    )


def may_be_milder(mild: Mapping[str, Bounds], than: Mapping[str, Bounds], *, aqueous: bool, policy: Policy) -> bool:
    """Whether conditions `mild` may have been no harsher than `than`, as closely as such things are measured."""
    return all(a[0] <= policy.margin.reach(name, b[1]) + 1e-9 for name, a, b in _compared(mild, than, aqueous, policy))


def _compared(
    one: Mapping[str, Bounds], other: Mapping[str, Bounds], aqueous: bool, policy: Policy
) -> list[tuple[str, Bounds, Bounds]]:
    found = []
    for name in CONDITIONS:
        if name in _AQUEOUS_ONLY and not aqueous:
            continue
        if name not in one and name not in other and name not in _NEVER_SKIPPED:
            continue
        found.append((name, one.get(name) or policy.blank[name], other.get(name) or policy.blank[name]))
    return found


@kept
def trials(case: Case) -> tuple[Trial, ...]:
    """Every recorded response as a trial, in the order of its key."""
    tests = {t.test: t for t in case.facts.tests}
    places = places_of(case)
    layers = {(la.sample, la.position): la for la in case.facts.layers}
    found = []
    for response in case.facts.responses:
        test = tests.get(response.test)
        if test is None or KIND_OF_ACTION[test.action or "solvent"] not in ("contact", "adds"):
            continue
        agent = agents.parse(test.agent, case.reference.solvents)
        low, high = case.policy.response[response.response]
        found.append(
            Trial(
                test,
                agent,
                places.component_of(test.place),
                _met(case, response, test, stack_of(case, test.place), layers),
                low,
                high,
                response.response,
                conditions_of(test, agent),
                _ended_by(case, test),
            )
        )
    return tuple(found)


def _met(case: Case, response: Response, test: Test, stack: Stack, layers: Mapping[tuple[str, int], Layer]) -> Met:
    if response.decoration:
        row = current(case.facts.decorations, "decoration").get(response.decoration)
        return Met(row.scheme if row else None, row.kind if row else None, "", None, response.decoration)
    if response.sample and response.position:
        layer = layers.get((response.sample, response.position))
        if layer is None:
            return Met(None, None, "", (response.sample, response.position), None)
        known = () if layer.binder in (None, "unknown", "mixed") else (layer.binder,)
        return Met(layer.scheme, layer.role, colour_of(layer), (layer.sample, layer.position), None, known)
    here = [c for c in stack.coats if c.scheme == response.scheme and c.seen_here]
    if response.role:
        here = [c for c in here if c.role == response.role]
        colours = {c.key.colour for c in here}
        return Met(
            response.scheme or None,
            response.role,
            colours.pop() if len(colours) == 1 else "",
            None,
            None,
            _binders(here),
        )
    # A response of a whole scheme is that of its outermost coat where the test was made.
    outermost = here[0] if here else None
    return Met(
        response.scheme or None,
        outermost.role if outermost else None,
        outermost.key.colour if outermost else "",
        None,
        None,
        _binders(here[:1]),
    )


def _binders(coats: Sequence[Coat]) -> tuple[str, ...]:
    return tuple(sorted({b for coat in coats for b in coat.binders})) if all(c.binders for c in coats) else ()


def _ended_by(case: Case, test: Test) -> str | None:
    """The later work in the place that ends a test's clearing; its date may overlap the test's."""
    places = places_of(case)
    by_code = {t.treatment: t for t in case.facts.treatments}
    tested = dates.bounds(test.tested_on)
    for step in case.facts.treatment_steps:
        treatment = by_code.get(step.treatment)
        if treatment is None or step.action not in CLEANING_OR_COATING or not places.overlap(step.place, test.place):
            continue
        if treatment_span(treatment).latest >= tested.earliest:
            return treatment.treatment
    return None
