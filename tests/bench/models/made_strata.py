"""Synthetic objects whose campaigns of finishing are known, to measure how well sections are correlated.

One to six campaigns of 1 to 14 coats: preparation, colour, local decoration, varnish; coats worn or sanded away from
the top, campaigns that took in one part only, dirt between them, missing varnishes, samples that stop short, coats read
as one, roles misjudged, colours that come again. Everything is invented; nothing here is a finding about real finishes.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import Any

from collection.records.facts import Facts, facts_of
from collection.records.sheets import Component, Layer, Object, Sample, Scheme

Lab = tuple[float, float, float]

COLOURS = (
    (35, 45, 25),
    (30, -20, 8),
    (25, 5, -25),
    (82, 2, 14),
    (60, 8, 40),
    (20, 1, 1),
    (45, 20, 30),
    (55, -5, -15),
    (28, 22, 10),
    (70, 0, 3),
)
EARTHS = ((75, 1, 6), (55, 0, 2), (62, 8, 28), (38, 22, 18), (85, 0, 5))
BINDERS = ("oil", "oleoresin", "alkyd", "cellulose nitrate", "acrylic dispersion")
GLOWS = ("none", "bluish white", "greenish", "orange", "dull yellow")
MISREAD = {
    "primer": "ground",
    "ground": "body colour",
    "filler": "primer",
    "body colour": "ground",
    "varnish": "glaze",
    "lining": "body colour",
    "lettering": "body colour",
    "metal leaf": "bronze paint",
    "dirt": "varnish",
}
THICK = {
    "primer": 25,
    "filler": 60,
    "ground": 40,
    "body colour": 30,
    "lining": 15,
    "lettering": 20,
    "metal leaf": 1,
    "varnish": 18,
    "dirt": 4,
}


@dataclass(frozen=True)
class Setting:
    """How many samples, and the shares of attributes left out, and of coats whose scheme the surveyor gave."""

    samples: int
    missing: float
    given: float = 0.0

    def __str__(self) -> str:
        given = f", {self.given:.0%} given" if self.given else ""
        return f"{self.samples} samples, {self.missing:.0%} missing{given}"


SETTINGS = (Setting(3, 0.3), Setting(6, 0.1), Setting(6, 0.3), Setting(6, 0.6), Setting(9, 0.3), Setting(6, 0.3, 0.3))


@dataclass(frozen=True)
class Made:
    """An object as it would be recorded, and the campaign (from 1) of every coat; 0 for what belongs to none."""

    facts: Facts
    truth: dict[tuple[str, int], int]


@dataclass
class _Coat:
    campaign: int
    role: str
    binder: str
    lab: tuple[float, float, float]
    glow: str
    thick: float
    local: frozenset[int] | None = None


def made(rng: random.Random, setting: Setting) -> Made:
    campaigns = _campaigns(rng, setting.samples)
    part_of = [rng.randrange(2) for _ in range(setting.samples)]
    stacks: list[list[_Coat]] = [[] for _ in range(setting.samples)]
    for number, (coats, only, dirty, sanded) in enumerate(campaigns, 1):
        for at, stack in enumerate(stacks):
            if only is not None and part_of[at] != only:
                continue
            if number > 1:
                _wear(rng, stack, sanded)
                if rng.random() < dirty:
                    stack.append(_Coat(0, "dirt", "unknown", (25, 2, 6), "none", 4))
            stack.extend(coat for coat in coats if _here(rng, coat, at))
    return _recorded(rng, setting, stacks, part_of, len(campaigns))


def _campaigns(rng: random.Random, samples: int) -> list[tuple[list[_Coat], int | None, float, bool]]:
    made_so_far: list[Lab] = []
    found = []
    for number in range(1, rng.randint(1, 6) + 1):
        colour = rng.choice(made_so_far) if made_so_far and rng.random() < 0.35 else rng.choice(COLOURS)
        made_so_far.append(colour)
        binder, glow = rng.choice(BINDERS), rng.choice(GLOWS)
        total = rng.choice((1, 2, 3, 3, 4, 4, 5, 6, 8, 11, 14))
        varnishes = rng.choice((0, 0, 1, 1, 2, 3)) if total > 1 else 0
        varnishes = min(varnishes, total - 1)
        colours = min(rng.choice((1, 1, 2)), total - varnishes)
        coats = []
        for place in range(total - varnishes - colours):
            role = "primer" if place == 0 else rng.choice(("filler", "filler", "ground", "primer"))
            coats.append(_coat(rng, number, role, binder, rng.choice(EARTHS), rng.choice(GLOWS)))
        coats += [_coat(rng, number, "body colour", binder, colour, glow) for _ in range(colours)]
        for _ in range(varnishes):
            if rng.random() < 0.5:
                where = frozenset(at for at in range(samples) if rng.random() < 0.4)
                local = _coat(
                    rng,
                    number,
                    rng.choice(("lining", "lettering", "metal leaf")),
                    binder,
                    rng.choice(COLOURS),
                    rng.choice(GLOWS),
                )
                local.local = where
                coats.append(local)
            coats.append(
                _coat(
                    rng,
                    number,
                    "varnish",
                    rng.choice(("natural resin", "oleoresin", binder)),
                    (60, 8, 30 + rng.random() * 15),
                    rng.choice(GLOWS[1:]),
                )
            )
        only = rng.randrange(2) if number > 1 and rng.random() < 0.25 else None
        found.append((coats, only, rng.choice((0.0, 0.2, 0.6)), rng.random() < 0.6))
    return found


def _coat(rng: random.Random, number: int, role: str, binder: str, lab: Lab, glow: str) -> _Coat:
    drawn = (lab[0] + rng.gauss(0, 2), lab[1] + rng.gauss(0, 2), lab[2] + rng.gauss(0, 2))
    return _Coat(number, role, binder, drawn, glow, THICK[role] * rng.lognormvariate(0, 0.35))


def _here(rng: random.Random, coat: _Coat, at: int) -> bool:
    if coat.local is not None and at not in coat.local:
        return False
    return not (coat.role == "varnish" and rng.random() < 0.2)


def _wear(rng: random.Random, stack: list[_Coat], sanded: bool) -> None:
    lost = 0
    if sanded:
        while rng.random() < 0.55:
            lost += 1
        if rng.random() < 0.08:
            lost = len(stack)
    elif rng.random() < 0.4:
        lost = 1
    del stack[max(0, len(stack) - lost) :]


def _recorded(
    rng: random.Random, setting: Setting, stacks: list[list[_Coat]], part_of: list[int], campaigns: int
) -> Made:
    samples, layers, truth = [], [], {}
    for at, stack in enumerate(stacks):
        code, rows, short = f"S{at + 1:02}", list(stack), False
        if len(rows) > 2 and rng.random() < 0.2:
            rows, short = rows[rng.randint(1, len(rows) - 2) :], True
        rows = _read_as_one(rng, rows)
        samples.append(
            Sample(
                object="X",
                sample=code,
                place="AB"[part_of[at]],
                method="cross-section",
                counted_from="support",
                reaches_support="no" if short else "yes",
            )
        )
        for position, coat in enumerate(rows, 1):
            layers.append(_layer(rng, setting, code, position, coat))
            truth[code, position] = coat.campaign
    schemes = (
        [
            Scheme(
                object="X",
                scheme=str(n),
                name=f"finish {n}",
                period="original" if n == 1 else "later",
                rank=n,
                basis="known",
            )
            for n in range(1, campaigns + 1)
        ]
        if setting.given
        else []
    )
    parts = [Component(object="X", component=name, name=name) for name in "AB"]
    about = Object(object="X", title="made", kind="made")
    return Made(facts_of(about, [*parts, *schemes, *samples, *layers]), truth)


def _read_as_one(rng: random.Random, rows: list[_Coat]) -> list[_Coat]:
    found: list[_Coat] = []
    for coat in rows:
        if found and found[-1].role == coat.role and found[-1].campaign == coat.campaign and rng.random() < 0.25:
            continue
        found.append(coat)
    return found


def _layer(rng: random.Random, setting: Setting, code: str, position: int, coat: _Coat) -> Layer:
    def seen(value: Any) -> Any:
        return None if rng.random() < setting.missing else value

    role = MISREAD.get(coat.role, coat.role) if rng.random() < 0.1 else coat.role
    lab = seen(tuple(min(max(v + rng.gauss(0, 2.5), -99), 99) for v in coat.lab))
    binder = coat.binder if rng.random() < 0.9 else rng.choice(BINDERS)
    glow = coat.glow if rng.random() < 0.85 else rng.choice(GLOWS)
    thick = round(coat.thick * rng.lognormvariate(0, 0.35), 2)
    given = coat.campaign and rng.random() < setting.given
    return Layer(
        object="X",
        sample=code,
        position=position,
        role=role,
        binder=seen(binder),
        fluorescence=seen(glow),
        thickness_um=seen(thick),
        lab_l=lab and abs(lab[0]),
        lab_a=lab and lab[1],
        lab_b=lab and lab[2],
        scheme=str(coat.campaign) if given else None,
    )
