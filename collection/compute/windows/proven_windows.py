"""Working windows that recorded tests prove: an agent took one coat off under conditions that the other coat stood.

The steps considered are the tests themselves, repeated, with all their coordinates together. A step is proven where an
assessment on the same day clears it on the coat to keep, and it is surely as harsh as a test that took the coat to
remove off. From there the window reaches to the harshest test that the kept coat stood; its limit is the test that
harmed that coat, given in one coordinate only where all others are equal. Common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from collection.compute.effects.contact import Rate
from collection.compute.effects.ladders import (
    Limit,
    all_named,
    conditions_in_words,
    differences,
    ladder_of,
    named,
    nearest_limit,
    no_harsher,
    one_side_of_7,
    step_of,
)
from collection.compute.effects.trials import Trial
from collection.compute.windows.windows import Pair, hazard, rate_on_kept
from collection.records.policy import Policy
from collection.records.sheets import ProposalStep
from collection.values import agents
from collection.values.agents import Agent

MOVED = 0.2
"""The least share that a response must stand for to count as taking the coat off: colour on the swab and swelling do
not."""


@dataclass(frozen=True, eq=False)
class Proven:
    """One window, from the mildest to the harshest that is proven: under the conditions of the test `start`, written as
    a `step`, the tests `moved` took one coat off and the other is cleared, with the `rate` that an assessment gives;
    the window reaches to each of `stood`, the harshest tests that the kept coat stood; `limits` are those in one
    coordinate, and `harmed` is the nearest test that went too far."""

    start: Trial
    step: ProposalStep
    rate: Rate
    moved: tuple[Trial, ...]
    stood: tuple[Trial, ...]
    limits: tuple[Limit, ...]
    harmed: Trial | None

    @property
    def tests(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(t.test.test for t in (*self.moved, *self.stood)))

    @property
    def agent(self) -> str:
        return self.start.agent.text

    def head(self) -> str:
        """`water + 1% ammonium citrate: pH 8.5, 30 s, rolled swab`."""
        return f"{self.agent}: {conditions_in_words(self.start, plain=True)}"

    def sentences(self, removed: str, kept: str) -> list[str]:
        moved, stood = all_named(self.moved), all_named(self.stood)
        found = [
            f"{moved} took {removed} off and left {kept} as it was."
            if moved == stood
            else f"It took {removed} off ({moved}), and {kept} stood up to {stood}."
        ]
        found += [f"Limit: {limit.sentence()}." for limit in self.limits]
        if not self.limits and self.harmed is not None:
            found.append(
                f"{self.harmed.response.capitalize()} at {named(self.harmed)}, which differs in more than one "
                "condition: nothing is known between them."
            )
        if not self.limits and self.harmed is None:
            found.append(f"No test has found the limit of what {kept} stands.")
        if self.rate.undried:
            found.append("Whether the spot was looked at again when dry is not recorded: look again.")
        return found

    def as_json(self) -> dict[str, Any]:
        step = self.step
        return {
            "agent": step.agent,
            "ph": step.ph,
            "conductivity_mscm": step.conductivity_mscm,
            "application": step.application,
            "dwell_s": step.dwell_s,
            "passes": step.passes,
            "temperature_c": step.temperature_c,
            "moved_by": [t.test.test for t in self.moved],
            "stood_by": [t.test.test for t in self.stood],
            "limits": [limit.as_json() for limit in self.limits],
            "harmed_by": None if self.harmed is None else self.harmed.test.test,
        }


def proven_windows(pair: Pair) -> list[Proven]:
    """The windows that the tests of a pair prove, the mildest start of each; least hazardous liquids first."""
    clears = _clears(pair)
    found = []
    movers = [t for t in pair.on_removed if t.low >= MOVED]
    for start in _once([*movers, *(t for t in pair.on_kept if t.high == 0)]):
        step = step_of(start, pair.place)
        moved = tuple(t for t in movers if no_harsher(t, start.agent, start.conditions, pair.case.policy))
        rate = rate_on_kept(pair, step) if moved else None
        if rate is None or not rate.cleared:
            continue
        ladder = ladder_of(pair.on_kept, start.agent, pair.case.policy, clears)
        # The test that cleared it may have other proportions; then it is no end of this window, but all that is known.
        stood = tuple(t for t in ladder.stood if within(start, t, pair.case.policy)) or tuple(
            t for t in pair.on_kept if t.high == 0 and f"{t.test.object}/{t.test.test}" in rate.tests
        )
        limits = {
            limit.sentence(): limit
            for limit in ladder.limits()
            if limit.stood.test.test in {t.test.test for t in stood}
        }
        harmed = nearest_limit(stood[0], [t for t in pair.on_kept if one_side_of_7(t, start)]) if stood else None
        found.append(Proven(start, step, rate, moved, stood, tuple(limits.values()), harmed))
    mildest = [
        each
        for each in found
        if not any(_milder(other.start, each.start, pair.case.policy) for other in found if other is not each)
    ]
    return sorted(
        mildest,
        key=lambda each: (
            hazard(each.start.agent, pair.case.policy, pair.case.reference),
            each.agent,
            abs((each.step.ph or 7) - 7),
            each.step.dwell_s or 0,
            each.start.test.test,
        ),
    )


@dataclass(frozen=True, slots=True)
class Held:
    """The ladder of the coat to keep for one kind of agent: the harshest tests that clear it on the day, the mildest
    that did something to it, and the limits that lie in one condition alone."""

    agent: str
    stood: tuple[Trial, ...]
    harmed: tuple[Trial, ...]
    limits: tuple[Limit, ...]

    def sentence(self) -> str:
        in_limits = {t.test.test for limit in self.limits for t in (limit.stood, limit.harmed)}
        stood, harmed = ([t for t in trials if t.test.test not in in_limits] for trials in (self.stood, self.harmed))
        parts = [limit.sentence() for limit in self.limits]
        parts += [f"stood {all_named(stood)}"] if stood else [] if self.stood else ["no test clears any of it"]
        parts += [f"harmed by {all_named(harmed)}"] if harmed else [] if self.harmed else ["no limit was found"]
        return f"{self.agent}: {'; '.join(parts)}."

    def as_json(self) -> dict[str, Any]:
        return {
            "agent": self.agent,
            "stood": [t.test.test for t in self.stood],
            "harmed": [t.test.test for t in self.harmed],
            "limits": [limit.as_json() for limit in self.limits],
        }


def held_by_kept(pair: Pair) -> list[Held]:
    """What the coat to keep stood and what harmed it, for each kind of agent, by name."""
    kinds: list[Agent] = []
    for trial in pair.on_kept:
        if not any(agents.same_agent(trial.agent, kind) for kind in kinds):
            kinds.append(trial.agent)
    found = []
    for kind in kinds:
        ladder = ladder_of(pair.on_kept, kind, pair.case.policy, _clears(pair))
        found.append(Held(kind.text, ladder.stood, ladder.harmed, tuple(ladder.limits())))
    return sorted(found, key=lambda each: each.agent)


def _clears(pair: Pair) -> Callable[[Trial], bool]:
    """A function that says whether an assessment would clear a repeat of a test on the coat to keep."""
    return lambda trial: rate_on_kept(pair, step_of(trial, pair.place)).cleared


def _once(met: Sequence[Trial]) -> list[Trial]:
    """The tests without repeats of the same conditions."""
    found: list[Trial] = []
    for trial in met:
        if not any(not differences(trial, other) for other in found):
            found.append(trial)
    return found


def within(mild: Trial, harsh: Trial, policy: Policy) -> bool:
    """Whether one test is surely as harsh as another of the same liquids."""
    return agents.agent_clears(harsh.agent, mild.agent, ()) and no_harsher(mild, harsh.agent, harsh.conditions, policy)


def _milder(one: Trial, other: Trial, policy: Policy) -> bool:
    return within(one, other, policy) and not (within(other, one, policy) and one.test.test > other.test.test)


def parted_but(pair: Pair) -> list[tuple[Trial, str]]:
    """Tests that took one coat off and were seen to do nothing to the other, but that prove nothing as they are
    recorded, each with what would let it prove a window."""
    quiet = {t.test.test for t in pair.on_kept if t.high == 0} - {t.test.test for t in pair.on_kept if t.high > 0}
    found = []
    for trial in pair.on_removed:
        if trial.low < MOVED or trial.test.test not in quiet:
            continue
        rate = rate_on_kept(pair, step_of(trial, pair.place))
        if not (rate.cleared or rate.effect or rate.failing) and rate.wanting is not None:
            found.append((trial, rate.wanting))
    return found


def ph_spans(windows: Sequence[Proven]) -> list[dict[str, Any]]:
    """The windows by pH alone: from the start to the furthest end that differs from it only in pH."""
    found = []
    for each in windows:
        if each.step.ph is None:
            continue
        ends = [t for t in each.stood if differences(each.start, t) == ["ph"] and t.test.ph is not None]
        last = max((t.test.ph for t in ends if t.test.ph is not None), key=lambda ph: abs(ph - 7), default=each.step.ph)
        at = next((limit.harmed.test.ph for limit in each.limits if limit.condition == "ph"), None)
        found.append(
            {"agent": each.agent, "ph": sorted((each.step.ph, last)), "harmed_at": at, "tests": list(each.tests)}
        )
    return found
