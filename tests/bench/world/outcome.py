"""What becomes of the kept things of the made world under a proposal, and whether tests vouched for it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from world.made import Knobs
from world.records import Survey, Tried
from world.taken import taken_by
from world.truth import Coat, Part, Step, Thing, Zone
from world.works import Work, as_stated, basis, milder

REACHED = 0.02
"""Share of a kept coat that has to be touched for it to count as reached: less could never lose over 2 %."""


@dataclass(frozen=True)
class Kept:
    """One kept thing at one place: how much of the place it covers, the share of it that truly is lost and is touched.

    `known`: all of its coats were met by a test that did nothing and is as harsh as the work; `met`: those were
    of which more than `REACHED` is touched.
    """

    place: str
    part: str
    thing: str
    share: float
    lost: float
    touched: float
    met: bool
    known: bool


def truth(thing: Thing, work: Work, survey: Survey, rng: np.random.Generator, knobs: Knobs) -> list[Kept]:
    """What becomes of every kept thing in the places that the work is on, but for what covers under `least_share`."""
    zones = {each.code: each for each in thing.zones()}
    out = []
    for part in thing.parts:
        for zone in part.zones:
            steps = [
                step for step in work.steps if step.place in ("all", part.code, zone.code) or step.place in zone.windows
            ]
            if zone.code == part.code:
                steps = [step for step in steps if step.place in ("all", part.code)]
            if steps:
                left, touched = taken_by(zone, steps, rng)
                out += _things(part, zone, steps, left, touched, survey.tried, zones, knobs)
    return out


def _things(
    part: Part,
    zone: Zone,
    steps: list[Step],
    left: np.ndarray,
    touched: np.ndarray,
    tried: list[Tried],
    zones: dict[str, Zone],
    knobs: Knobs,
) -> list[Kept]:
    out = []
    for place, cells in zone.places().items():
        if all(step.place in zone.windows for step in steps) and place not in {step.place for step in steps}:
            continue
        things: dict[str, list[tuple[float, float, float, bool, bool]]] = {}
        for row, one in enumerate(zone.stack):
            present = zone.present[row] & cells
            if not one.kept or present.sum() < knobs.least_share * cells.sum():
                continue
            lost = 1 - float(left[row][present].mean())
            reached = float(touched[row][present].mean())
            known = _met(one, part, steps, tried, zones)
            things.setdefault(one.thing, []).append(
                (lost, reached, float(present.sum() / cells.sum()), known or reached <= REACHED, known)
            )
        for name, coats in things.items():
            out.append(
                Kept(
                    place,
                    part.code,
                    name,
                    max(c[2] for c in coats),
                    max(c[0] for c in coats),
                    max(c[1] for c in coats),
                    all(c[3] for c in coats),
                    all(c[4] for c in coats),
                )
            )
    return out


def _met(one: Coat, part: Part, steps: list[Step], tried: list[Tried], zones: dict[str, Zone]) -> bool:
    """Whether tests that did nothing, as harsh as every wetting step, met this very coat on this part."""
    return all(
        any(
            test.part == part.code
            and basis(test, zones)
            and milder(step.use, as_stated(test))
            and any(coat is one and word == "none seen" for coat, word in test.met)
            for test in tried
        )
        for step in steps
        if step.use is not None
    )
