"""A made-up hour at the bench: two coats with a hidden truth answer each proposed test, in facts, without a clock.

The truth is not the model's: a region is a published sphere of the binder moved, stretched and tilted into an
ellipsoid; a response is never misread. Only cases in which some mixture of the bottles parts the coats are kept,
because in the others the one right answer is to leave.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from collection.agents import Agent
from collection.compute.bench import coats_of, next_step
from collection.compute.mixtures import Jar, mixed, read_jar
from collection.compute.models import candidate_points
from collection.compute.windows import pair_of
from collection.facts import Facts, facts_of
from collection.policy import Policy
from collection.records import BY_SHEET, Record
from collection.reference import Reference

CODE, PLACE = "EX-1", "PANEL"
PAIRS = (("alkyd", "oil"), ("natural resin", "oil"), ("cellulose nitrate", "oil"), ("acrylic", "oil"),
         ("acrylic", "alkyd"), ("natural resin", "alkyd"), ("shellac", "oil"), ("alkyd", "shellac"))
BOTTLES = ("isooctane", "dearomatised white spirit", "xylene", "ethanol", "2-propanol", "acetone", "ethyl acetate")


def record(sheet: str, **values: object) -> Record:
    kind = BY_SHEET[sheet]
    return kind.model_construct(**{name: values.get(name) for name in kind.model_fields})


@dataclass
class Truth:
    """A tilted ellipsoid in Hansen space in which liquids act on a coat."""

    centre: np.ndarray
    shape: np.ndarray

    def acts(self, agent: Agent, policy: Policy, reference: Reference) -> bool:
        points = np.asarray(candidate_points(agent, reference, policy))
        away = (points.mean(axis=0) - self.centre) @ self.shape
        return bool((away ** 2).sum() < 1)


def truth(binder: str, chance: random.Random, reference: Reference) -> Truth:
    """Moved by 1.5 MPa^½ (half along the dispersion part), each half-axis 0.7 to 1.3 of the radius, turned anyhow."""
    sphere = chance.choice(reference.spheres[binder])
    centre = np.asarray(sphere.centre) + np.asarray([chance.gauss(0, sd) for sd in (0.75, 1.5, 1.5)])
    turn, _ = np.linalg.qr(np.asarray([[chance.gauss(0, 1) for _ in range(3)] for _ in range(3)]))
    axes = [sphere.radius * chance.uniform(0.7, 1.3) for _ in range(3)]
    return Truth(centre, np.diag([2.0, 1.0, 1.0]) @ turn @ np.diag([1 / axis for axis in axes]))


@dataclass
class Hour:
    """One spot, its truth, and what was written so far."""

    binders: tuple[str, str]
    remove: Truth
    keep: Truth
    policy: Policy
    reference: Reference
    rows: list[Record] = field(default_factory=list)
    made: list[Agent] = field(default_factory=list)
    harmed: list[Agent] = field(default_factory=list)

    def facts(self) -> Facts:
        later, first = self.binders
        return facts_of(record("objects", object=CODE, title="Panel (invented)", kind="panel"), [  # type: ignore[arg-type]
            record("components", object=CODE, component=PLACE, name="panel"),
            record("schemes", object=CODE, scheme="1", name="first", period="original", rank=1, basis="lowest"),
            record("schemes", object=CODE, scheme="2", name="repaint", period="later", rank=2, basis="on dirt",
                   certainty="confirmed"),
            record("samples", object=CODE, sample="S1", place=PLACE, method="cross-section", reaches_support="yes"),
            record("layers", object=CODE, sample="S1", position=1, role="body colour", colour="red", scheme="1",
                   binder=first, binder_basis="analysed", coverage="intact"),
            record("layers", object=CODE, sample="S1", position=2, role="body colour", colour="green", scheme="2",
                   binder=later, binder_basis="analysed", coverage="intact"), *self.rows])

    def parts(self, agent: Agent) -> bool:
        return (self.remove.acts(agent, self.policy, self.reference)
                and not self.keep.acts(agent, self.policy, self.reference))

    def write(self, agent: Agent) -> bool:
        """Make a test of an agent on both coats, and write what it did; whether it parts them."""
        code = f"C{len(self.made) + 1:02}"
        self.made.append(agent)
        self.rows.append(record("tests", object=CODE, test=code, place=PLACE, agent=agent.text, action="solvent",
                                application=self.policy.window.application, dwell_s=self.policy.window.dwell_s,
                                tested_on="2024-05-02"))
        did = [which.acts(agent, self.policy, self.reference) for which in (self.remove, self.keep)]
        words = ("removed" if did[0] else "none seen", "softened" if did[1] else "none seen")
        self.rows += [record("responses", object=CODE, test=code, response=word, sample="S1", position=position)
                      for position, word in zip((2, 1), words, strict=True)]
        if did[1]:
            self.harmed.append(agent)
        return did[0] and not did[1]


def hours(count: int, seed: int, policy: Policy, reference: Reference) -> list[Hour]:
    """Cases in which at least one mixture of the bottles parts the coats."""
    chance = random.Random(seed)
    found: list[Hour] = []
    every = mixed(BOTTLES, reference)
    while len(found) < count:
        binders = PAIRS[len(found) % len(PAIRS)]
        made = Hour(binders, truth(binders[0], chance, reference), truth(binders[1], chance, reference), policy,
                    reference)
        if any(made.parts(agent) for agent in every):
            found.append(made)
    return found


def bottles(reference: Reference) -> tuple[Jar, ...]:
    return tuple(read_jar(name, reference.solvents) for name in BOTTLES)


def by_companion(hour: Hour, most: int) -> int | None:
    """Tests until one parts the coats, as proposed; None where none of `most` does, or it says to leave."""
    have = bottles(hour.reference)
    for number in range(1, most + 1):
        facts = hour.facts()
        coats = coats_of(facts, PLACE, hour.policy)
        assert coats.remove is not None
        assert coats.keep is not None
        pair = pair_of(facts, PLACE, coats.remove.thing, coats.keep.thing, "2024-05-02", hour.policy, hour.reference)
        step = next_step(facts, pair, have, hour.policy, hour.reference)
        if step.agent is None:
            return None
        if hour.write(step.agent):
            return number
    return None


def by_chance(hour: Hour, most: int, chance: random.Random, among: Sequence[Agent]) -> int | None:
    """The same, choosing at random among all mixtures of the bottles, none twice."""
    for number, agent in enumerate(chance.sample(list(among), most), 1):
        if hour.write(agent):
            return number
    return None
