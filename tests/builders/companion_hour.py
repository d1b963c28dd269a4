"""A made-up hour at the bench: two coats with a hidden truth answer each proposed test, in facts, without a clock.

The truth is not the model's: a region is a published sphere of the binder moved, stretched and tilted into an
ellipsoid; a response is never misread. In `timed` hours a longer swab reaches further and a shorter one less far; in
hours with water a coat gives way from some pH on, sooner the longer the swab stays. Both are made up. Only cases in
which something at hand parts the coats are kept, because in the others the one right answer is to leave.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol

import numpy as np

from collection.compute.case import Case
from collection.compute.effects.models import candidate_points
from collection.compute.windows.companion.coats import coats_of
from collection.compute.windows.companion.next_step import next_step
from collection.compute.windows.mixtures import Jar, mixed, read_jar
from collection.compute.windows.windows import pair_of, spot
from collection.records.facts import Facts, facts_of
from collection.records.policy import Policy
from collection.records.sheets import BY_SHEET, ProposalStep, Record
from collection.values import agents
from collection.values.agents import Agent
from collection.values.reference import Reference

CODE, PLACE = "EX-1", "PANEL"
PAIRS = (
    ("alkyd", "oil"),
    ("natural resin", "oil"),
    ("cellulose nitrate", "oil"),
    ("acrylic", "oil"),
    ("acrylic", "alkyd"),
    ("natural resin", "alkyd"),
    ("shellac", "oil"),
    ("alkyd", "shellac"),
)
BOTTLES = ("isooctane", "dearomatised white spirit", "xylene", "ethanol", "2-propanol", "acetone", "ethyl acetate")
WATERS = tuple(f"water pH {ph:g}" for ph in (7, 7.5, 8, 8.5, 9, 9.5, 10))
LONGER = 0.35
"""By how much of the square of its half-axes a region grows with each doubling of the time, in timed hours."""
SOONER = 0.4
"""How many units of pH each doubling of the time makes up for, in hours with water."""


def record(sheet: str, **values: object) -> Any:
    kind = BY_SHEET[sheet]
    cells: dict[str, Any] = {name: values.get(name) for name in kind.model_fields}
    return kind.model_construct(**cells)


class Truth(Protocol):
    """What a plan does to a coat."""

    def acts(self, plan: ProposalStep, policy: Policy, reference: Reference) -> bool: ...


@dataclass
class Region:
    """A tilted ellipsoid in Hansen space in which liquids act on a coat."""

    centre: np.ndarray
    shape: np.ndarray
    timed: bool = False

    def acts(self, plan: ProposalStep, policy: Policy, reference: Reference) -> bool:
        agent = agents.parse(plan.agent or "", reference.solvents)
        points = np.asarray(candidate_points(agent, reference, policy))
        away = (points.mean(axis=0) - self.centre) @ self.shape
        doublings = math.log2((plan.dwell_s or 30.0) / 30) if self.timed else 0.0
        return bool((away**2).sum() < 1 + LONGER * doublings)


@dataclass
class FromPh:
    """Water acts on a coat from this pH up, at 30 s."""

    at: float

    def acts(self, plan: ProposalStep, policy: Policy, reference: Reference) -> bool:
        return (plan.ph or 7.0) + SOONER * math.log2((plan.dwell_s or 30.0) / 30) >= self.at


def truth(binder: str, chance: random.Random, reference: Reference, timed: bool = False) -> Region:
    """Moved by 1.5 MPa^½ (half along the dispersion part), each half-axis 0.7 to 1.3 of the radius, turned anyhow."""
    sphere = chance.choice(reference.spheres[binder])
    centre = np.asarray(sphere.centre) + np.asarray([chance.gauss(0, sd) for sd in (0.75, 1.5, 1.5)])
    turn, _ = np.linalg.qr(np.asarray([[chance.gauss(0, 1) for _ in range(3)] for _ in range(3)]))
    axes = [sphere.radius * chance.uniform(0.7, 1.3) for _ in range(3)]
    return Region(centre, np.diag([2.0, 1.0, 1.0]) @ turn @ np.diag([1 / axis for axis in axes]), timed)


@dataclass
class Hour:
    """One spot, its truth, and what was written so far."""

    binders: tuple[str | None, str | None]
    remove: Truth
    keep: Truth
    policy: Policy
    reference: Reference
    at_hand: tuple[str, ...] = BOTTLES
    rows: list[Record] = field(default_factory=list)
    made: list[ProposalStep] = field(default_factory=list)
    harmed: list[ProposalStep] = field(default_factory=list)

    def facts(self) -> Facts:
        later, first = self.binders
        return facts_of(
            record("objects", object=CODE, title="Panel (invented)", kind="panel"),
            [
                record("components", object=CODE, component=PLACE, name="panel"),
                record("schemes", object=CODE, scheme="1", name="first", period="original", rank=1, basis="lowest"),
                record(
                    "schemes",
                    object=CODE,
                    scheme="2",
                    name="repaint",
                    period="later",
                    rank=2,
                    basis="on dirt",
                    certainty="confirmed",
                ),
                record("samples", object=CODE, sample="S1", place=PLACE, method="cross-section", reaches_support="yes"),
                record(
                    "layers",
                    object=CODE,
                    sample="S1",
                    position=1,
                    role="body colour",
                    colour="red",
                    scheme="1",
                    binder=first,
                    binder_basis="analysed",
                    coverage="intact",
                ),
                record(
                    "layers",
                    object=CODE,
                    sample="S1",
                    position=2,
                    role="body colour",
                    colour="green",
                    scheme="2",
                    binder=later,
                    binder_basis="analysed",
                    coverage="intact",
                ),
                *self.rows,
            ],
        )

    def plan(self, jar: Jar | Agent) -> ProposalStep:
        return spot(self.policy, jar)

    def does(self, plan: ProposalStep) -> tuple[bool, bool]:
        """Whether a plan acts on the coat to remove, and on the coat to keep."""
        return (self.remove.acts(plan, self.policy, self.reference), self.keep.acts(plan, self.policy, self.reference))

    def parts(self, plan: ProposalStep) -> bool:
        return self.does(plan) == (True, False)

    def write(self, plan: ProposalStep) -> bool:
        """Make a test on both coats, and write what it did; whether it parts them."""
        code = f"C{len(self.made) + 1:02}"
        self.made.append(plan)
        self.rows.append(
            record(
                "tests",
                object=CODE,
                test=code,
                place=PLACE,
                agent=plan.agent,
                action="solvent",
                ph=plan.ph,
                application=plan.application,
                dwell_s=plan.dwell_s,
                passes=plan.passes,
                tested_on="2024-05-02",
            )
        )
        did = self.does(plan)
        words = ("removed" if did[0] else "none seen", "softened" if did[1] else "none seen")
        self.rows += [
            record("responses", object=CODE, test=code, response=word, sample="S1", position=position)
            for position, word in zip((2, 1), words, strict=True)
        ]
        if did[1]:
            self.harmed.append(plan)
        return did == (True, False)


def hours(count: int, seed: int, policy: Policy, reference: Reference, *, timed: bool = False) -> list[Hour]:
    """Cases in which at least one mixture of the bottles parts the coats; in timed ones in 10 s or in 30 s."""
    chance = random.Random(seed)
    found: list[Hour] = []
    every = mixed(BOTTLES, reference)
    while len(found) < count:
        binders = PAIRS[len(found) % len(PAIRS)]
        made = Hour(
            binders,
            truth(binders[0], chance, reference, timed),
            truth(binders[1], chance, reference, timed),
            policy,
            reference,
        )
        plans = [
            made.plan(agent).model_copy(update={"dwell_s": dwell})
            for agent in every
            for dwell in ((10.0, 30.0) if timed else (30.0,))
        ]
        if any(made.parts(plan) for plan in plans):
            found.append(made)
    return found


def water_hours(count: int, seed: int, policy: Policy, reference: Reference) -> list[Hour]:
    """Two coats of binders that nobody told; the later gives way from pH 7.5 to 9.5, the first 0.6 to 2 above it, and
    one of the jars parts them in 30 s or in 60 s."""
    chance = random.Random(seed)
    found: list[Hour] = []
    while len(found) < count:
        moved = chance.uniform(7.5, 9.5)
        made = Hour((None, None), FromPh(moved), FromPh(moved + chance.uniform(0.6, 2.0)), policy, reference, WATERS)
        plans = [
            made.plan(jar).model_copy(update={"dwell_s": dwell})
            for jar in bottles(reference, WATERS)
            for dwell in (30.0, 60.0)
        ]
        if any(made.parts(plan) for plan in plans):
            found.append(made)
    return found


def bottles(reference: Reference, written: Sequence[str] = BOTTLES) -> tuple[Jar, ...]:
    return tuple(read_jar(name, reference.solvents) for name in written)


def by_companion(hour: Hour, most: int) -> int | None:
    """Tests until one parts the coats, as proposed; None where none of `most` does, or it says to leave."""
    have = bottles(hour.reference, hour.at_hand)
    for number in range(1, most + 1):
        facts = hour.facts()
        coats = coats_of(Case(facts, hour.policy), PLACE)
        assert coats.remove is not None
        assert coats.keep is not None
        pair = pair_of(
            Case(facts, hour.policy, hour.reference), PLACE, coats.remove.thing, coats.keep.thing, "2024-05-02"
        )
        step = next_step(pair, have)
        if step.plan is None:
            return None
        if hour.write(step.plan):
            return number
    return None


def by_chance(hour: Hour, most: int, chance: random.Random, among: Sequence[Jar | Agent]) -> int | None:
    """The same, choosing at random among all mixtures of the bottles, none twice."""
    for number, jar in enumerate(chance.sample(list(among), most), 1):
        if hour.write(hour.plan(jar)):
            return number
    return None
