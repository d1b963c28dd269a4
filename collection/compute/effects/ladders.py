"""Tests made in rising steps: where a coat still stood, and where it no longer did.

Conservators test one agent in rising steps until something happens. The step that harmed says where the limit lies and
does not speak against the milder ones that did nothing, while a milder step that did something overrules a harsher one
that did not. Assessments, working windows and the bench all use this one reading, so that they never contradict each
other. Common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from collection.compute.effects.trials import Bounds, Trial, may_be_milder, surely_as_harsh
from collection.records.policy import Policy
from collection.records.sheets import ProposalStep
from collection.values import agents
from collection.values.agents import Agent

UNITS = {
    "dwell_s": ("for {:g} s", "{:g} s"),
    "passes": ("in {:g} passes", "{:g} passes"),
    "temperature_c": ("at {:g} °C", "{:g} °C"),
    "ph": ("at pH {:g}", "pH {:g}"),
    "conductivity_mscm": ("at {:g} mS/cm", "{:g} mS/cm"),
}
"""How a condition is written in a sentence."""


def at_most(trial: Trial, trials: Iterable[Trial], policy: Policy) -> float:
    """The most that is known to come off a coat under a test's conditions: the largest share that this test, or any
    that may have been milder, stands for. Share of the coat, 0 to 1."""
    return max(
        (other.high for other in trials if other is trial or is_milder(other, trial, policy)), default=trial.high
    )


def is_milder(other: Trial, than: Trial, policy: Policy) -> bool:
    """Whether one test may have been no harsher than another, by agent and conditions."""
    return agents.may_be_weaker(other.agent, than.agent, policy.margin.factor) and may_be_milder(
        other.conditions, than.conditions, aqueous=other.agent.aqueous or than.agent.aqueous, policy=policy
    )


def no_harsher(trial: Trial, agent: Agent, conditions: Mapping[str, Bounds], policy: Policy) -> bool:
    """Whether a plan, by its agent and conditions, is surely as harsh as a test."""
    return agents.agent_alarms(trial.agent, agent) and surely_as_harsh(
        conditions, trial.conditions, aqueous=agent.aqueous, policy=policy
    )


def step_of(trial: Trial, place: str) -> ProposalStep:
    """A test written as a step of a proposal."""
    test = trial.test
    return ProposalStep(
        object=test.object,
        proposal="-",
        step=1,
        place=place,
        action=test.action or "solvent",
        agent=trial.agent.text,
        ph=test.ph,
        conductivity_mscm=test.conductivity_mscm,
        application=test.application,
        dwell_s=test.dwell_s,
        passes=test.passes,
        temperature_c=test.temperature_c,
    )


@dataclass(frozen=True, slots=True)
class Ladder:
    """The tests of one coat with one kind of agent: `stood` are the harshest that did nothing and still clear, `harmed`
    the mildest that did something."""

    stood: tuple[Trial, ...]
    harmed: tuple[Trial, ...]

    def limits(self) -> list[Limit]:
        """The limits that lie in one condition alone, between a test that stood and one that harmed."""
        found = [
            Limit(name, low, high)
            for low in self.stood
            for high in self.harmed
            if (name := only_difference(low, high)) is not None and one_side_of_7(low, high)
        ]
        return sorted(found, key=lambda each: (each.condition, each.stood.test.test, each.harmed.test.test))


@dataclass(frozen=True, slots=True)
class Limit:
    """The one condition in which two tests differ: the coat stood the milder and the harsher harmed it."""

    condition: str
    stood: Trial
    harmed: Trial

    def sentence(self) -> str:
        """Such as: stood at pH 8.5 for 30 s (T3), harmed at pH 9.5 (T4): keep to pH 8.5 for 30 s."""
        held, gone = conditions_in_words(self.stood), conditions_in_words(self.harmed, only=self.condition)
        keep = conditions_in_words(self.stood, plain=True)
        if self.condition == "agent":
            held, keep = f"with {self.stood.agent.text} {held}", f"{self.stood.agent.text}, {keep}"
        return (
            f"stood {held} ({self.stood.test.test}), {self.harmed.response} {gone} ({self.harmed.test.test}): "
            f"keep to {keep}"
        )

    def as_json(self) -> dict[str, object]:
        return {
            "condition": self.condition,
            "stood": self.stood.test.test,
            "harmed": self.harmed.test.test,
            "sentence": self.sentence(),
        }


def ladder_of(trials: Sequence[Trial], agent: Agent, policy: Policy, clears: Callable[[Trial], bool]) -> Ladder:
    """The ladder of those tests of one coat that used the liquids and additives of `agent`.

    :param clears: whether an assessment on the day asked about clears a test's own conditions.
    """
    kind = [t for t in trials if agents.same_agent(t.agent, agent)]
    stood = [t for t in kind if clears(t)]
    harmed = [t for t in kind if t.high > 0]
    return Ladder(
        tuple(t for t in stood if not any(_harsher(other, t, policy) for other in stood)),
        tuple(t for t in harmed if not any(_harsher(t, other, policy) for other in harmed)),
    )


def _harsher(one: Trial, other: Trial, policy: Policy) -> bool:
    """Whether one test was harsher than another, and not the other way round."""
    return is_milder(other, one, policy) and not is_milder(one, other, policy)


def only_difference(one: Trial, other: Trial) -> str | None:
    """The one condition in which two tests differ, as recorded; None where they differ in no condition or in
    several."""
    return None if len(found := differences(one, other)) != 1 else found[0]


def differences(one: Trial, other: Trial) -> list[str]:
    """The conditions, agent included, that two tests record differently."""
    found = [
        name
        for name in ("dwell_s", "ph", "conductivity_mscm", "application")
        if getattr(one.test, name) != getattr(other.test, name)
    ]
    if one.conditions["passes"] != other.conditions["passes"]:
        found.append("passes")
    if one.conditions["temperature_c"] != other.conditions["temperature_c"]:
        found.append("temperature_c")
    if one.agent != other.agent:
        found.append("agent")
    return found


def one_side_of_7(one: Trial, other: Trial) -> bool:
    """Whether two tests may lie on the same side of pH 7."""
    return one.test.ph is None or other.test.ph is None or (one.test.ph - 7) * (other.test.ph - 7) >= 0


def conditions_in_words(trial: Trial, *, only: str | None = None, plain: bool = False) -> str:
    """A test's conditions in words: all that it records, or `only` one of them; `plain` for `keep to …`."""
    names = ("ph", "conductivity_mscm", "dwell_s", "passes", "temperature_c") if only is None else (only,)
    parts = [
        UNITS[name][int(plain)].format(value)
        for name in names
        if name in UNITS and (value := getattr(trial.test, name)) is not None
    ]
    parts = ["1 pass" if part == "1 passes" else "in 1 pass" if part == "in 1 passes" else part for part in parts]
    if only == "agent":
        parts.append(f"with {trial.agent.text}")
    if only in (None, "application") and trial.test.application:
        parts.append(f"by {trial.test.application}" if not plain else trial.test.application)
    return (", " if plain else " ").join(parts) or ("those conditions" if plain else "under conditions not recorded")


def nearest_limit(stood: Trial, trials: Iterable[Trial]) -> Trial | None:
    """Among tests of the same kind of agent that did something, the one that differs least from a test that stood."""
    harmed = [t for t in trials if t.high > 0 and agents.same_agent(t.agent, stood.agent)]
    return min(harmed, key=lambda t: (len(differences(stood, t)), t.test.test), default=None)


def named(trial: Trial) -> str:
    """A test with the conditions that make it more or less harsh: `T3 (pH 8.5, 30 s, 2 passes, rolled swab)`."""
    if all(getattr(trial.test, name) is None for name in (*UNITS, "application")):
        return trial.test.test
    return f"{trial.test.test} ({conditions_in_words(trial, plain=True)})"


def all_named(trials: Iterable[Trial]) -> str:
    """Tests in a list, each once."""
    return ", ".join(dict.fromkeys(named(trial) for trial in trials))
