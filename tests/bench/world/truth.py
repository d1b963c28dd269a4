"""Invented painted objects whose whole truth is known: stacks, patchy cover, what dissolves them, how thick they are.

Everything here is hidden from the product, which sees only what `survey` writes down. A zone is a grid of 20 by
20 cells; in each cell a coat is there or not, so that what truly lies open, what a section reads at a spot, and what
work takes are all exact. The assumptions, none of them measured on real objects (common practice, no published source,
but for the spheres):

- *Stacks.* A maker's scheme (preparation, one or two colours, mostly a varnish, here and there a lining), now and then
  an early second scheme that counts as kept, none to four later campaigns, dirt, wax. Some parts are replacements and
  carry the later campaigns only.
- *Cover.* A part has a mean share of surviving finish; zones are drawn about it by a beta distribution (`even`,
  `middling`, `patchy`) or are whole or bare (`all or nothing`). Within a zone losses are smooth random fields cut at
  the share, of three grains, and coats of one scheme are mostly lost together. Later campaigns cover nearly all, one in
  four only part.
- *Liquids.* A coat has an ellipsoid in Hansen space: the published sphere of its binder (Hansen 2007, Table A.2), its
  centre moved, its radius changed, sometimes tilted, sometimes aged towards the polar side. The rate falls by e⁻⁹ per
  unit of RED. Water is judged by pH between two limits of the coat, by a small sensitivity to water as such, and by
  additives that multiply its rate.
- *Dose.* Rates are multiplied by dwell and passes to the power 0.7, double every 15 °C, and grow with both ranks of the
  application; the share taken is a Hill curve of the dose (exponent 2.5), so that there is a threshold, and harsher in
  any coordinate never takes less. A zone's paint is a little weaker or stronger than the part's.
- *Contact.* A coat that is left shields what lies under it, unless it is itself acted on, then it lets some through.
  Dirt and wax shield nothing. Stripping and blasting that is proposed is judged as done to the end. Where finish fails
  (flakes), liquids get under it and a touch takes some of it off.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from world.materials import ADDITIVES, FOREIGN, LIQUIDS, PREPARATION, RANKS

SIDE = 20
CELLS = SIDE * SIDE
PATCHINESS = ("even", "middling", "patchy", "all or nothing")
TREATED = 2019
"""The year of what was done between the two seasons of the survey."""
KEPT = frozenset({"original", "early", "unknown"})
CONCENTRATION = {"even": 40.0, "middling": 8.0, "patchy": 1.5}


@dataclass(frozen=True)
class Agent:
    """Liquids in parts by volume, and additives of water in per cent."""

    liquids: tuple[tuple[str, int], ...]
    additives: tuple[tuple[str, float], ...] = ()

    @property
    def text(self) -> str:
        """As it is written on a jar."""
        liquids = [f"{parts} {name}" if len(self.liquids) > 1 else name for name, parts in self.liquids]
        return " + ".join([*liquids, *(f"{share:g}% {name}" for name, share in self.additives)])

    @property
    def aqueous(self) -> bool:
        return any(name == "water" for name, _ in self.liquids)

    @property
    def hansen(self) -> np.ndarray:
        """Mean by volume, (3,) in MPa^½."""
        total = sum(parts for _, parts in self.liquids)
        return sum((np.array(LIQUIDS[name]) * parts / total for name, parts in self.liquids), np.zeros(3))

    def share(self, name: str) -> float:
        """Volume fraction of one liquid."""
        return sum(parts for other, parts in self.liquids if other == name) / sum(parts for _, parts in self.liquids)


WATER_ALONE = Agent((("water", 1),))


@dataclass(frozen=True)
class Use:
    """How an agent is used; a pH for water only."""

    agent: Agent
    application: str = "rolled swab"
    dwell_s: float = 10.0
    passes: int = 1
    temperature_c: float = 20.0
    ph: float | None = None

    @property
    def dose(self) -> float:
        """How much of it acts, 1 for half a minute of one rolled swab at 20 °C."""
        wet, rub = RANKS[self.application]
        return float(
            (self.dwell_s / 30) ** 0.7
            * self.passes**0.7
            * 2 ** ((self.temperature_c - 20) / 15)
            * 1.5 ** (wet - 1)
            * 1.3 ** (rub - 1)
        )


@dataclass(frozen=True, eq=False)
class Coat:
    """One coat of one part as it truly is; the same object wherever it is the same paint."""

    scheme: str | None
    role: str
    binder: str
    colour: str
    period: str
    region: tuple[np.ndarray, np.ndarray] | None
    gain: float
    acid: float
    alkali: float
    water: float
    additive: float
    softens_c: float
    thick_um: float

    @property
    def kept(self) -> bool:
        """Whatever is not shown to be later."""
        return self.scheme is not None and self.period in KEPT

    @property
    def thing(self) -> str:
        """As an assessment names it after the place."""
        return f"{self.scheme}/{'preparation' if self.role in PREPARATION else self.role}"

    @property
    def shields(self) -> bool:
        return self.role not in FOREIGN

    def red(self, agent: Agent) -> float:
        """Distance from the middle of the true region over its radius; infinite without a region."""
        if self.region is None:
            return float("inf")
        centre, matrix = self.region
        return float(np.linalg.norm(matrix @ (agent.hansen - centre)))

    def rate(self, use: Use) -> float:
        """Of what half a minute does; grows with a pH further from 7, and with additives."""
        if not use.agent.aqueous:
            return self.gain * min(60.0, float(np.exp(-9 * (self.red(use.agent) - 1))))
        ph = 7.0 if use.ph is None else use.ph
        more = 1 + self.additive * sum(ADDITIVES[name] * share for name, share in use.agent.additives)
        return more * (10 ** (0.9 * (ph - self.alkali)) + 10 ** (0.9 * (self.acid - ph)) + self.water)

    def taken(self, use: Use, strength: float = 1.0) -> float:
        """The share of this coat that contact takes, 0 to 1; harsher never takes less. `strength` is the zone's."""
        dose = (use.dose * self.rate(use) * strength) ** 2.5
        share = dose / (1 + dose)
        return share if share >= 0.002 else 0.0

    def heated(self, temperature_c: float) -> float:
        """The share that a hot air gun and a scraper take."""
        return float(1 / (1 + np.exp((self.softens_c - temperature_c) / 12)))


@dataclass
class Zone:
    """One bounded area: which coats are there in which cell, and how thick. `stack` runs from the support outward."""

    code: str
    part: str
    area_m2: float
    stack: list[Coat]
    present: np.ndarray
    thick: np.ndarray
    strength: float
    failing: np.ndarray
    fails_from: int
    edges: np.ndarray
    listed: bool = True
    before: np.ndarray | None = None
    """What was there before the work of `TREATED`, where there was any."""
    windows: dict[str, np.ndarray] = field(default_factory=dict)
    past: str = ""
    """What befell it: stripped, uncovered, window, slip, waxed."""

    def places(self) -> dict[str, np.ndarray]:
        """Each place that has things of its own with its cells: the zone without its windows, and each window."""
        rest = np.ones(CELLS, dtype=bool)
        for cells in self.windows.values():
            rest &= ~cells
        return {self.code: rest, **self.windows}

    def surviving(self, cells: np.ndarray) -> float:
        """Share of these cells on which any original finish is left."""
        rows = [
            n
            for n, coat in enumerate(self.stack)
            if coat.period == "original" and coat.scheme is not None and coat.role not in PREPARATION
        ]
        return float(np.any(self.present[rows], axis=0)[cells].mean()) if rows else 0.0


@dataclass
class Part:
    code: str
    support: str
    origin: str
    patchiness: str
    zones: list[Zone]


@dataclass
class Thing:
    """One object."""

    code: str
    parts: list[Part]
    schemes: dict[str, str]
    sections: int
    patchiness: str

    def zones(self) -> list[Zone]:
        return [zone for part in self.parts for zone in part.zones]


@dataclass(frozen=True)
class Step:
    """One step of work on one place, as it would truly be done. `area` is the share of the place that is worked on."""

    place: str
    action: str
    use: Use | None = None
    depth_um: float | None = None
    depth_sd_um: float | None = None
    stop_at: str | None = None
    removes: str | None = None
    area: float = 1.0
    heat_c: float | None = None
