"""Invented painted objects whose whole truth is known: stacks, patchy cover, what dissolves them, how thick they are.

Everything here is hidden from the product, which sees only what `world_survey` writes down. A zone is a grid of 20 by
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

SIDE = 20
CELLS = SIDE * SIDE
PATCHINESS = ("even", "middling", "patchy", "all or nothing")
TREATED = 2019
"""The year of what was done between the two seasons of the survey."""
KEPT = frozenset({"original", "early", "unknown"})
CONCENTRATION = {"even": 40.0, "middling": 8.0, "patchy": 1.5}

LIQUIDS = {
    "acetone": (15.5, 10.4, 7.0),
    "butanone": (16.0, 9.0, 5.1),
    "ethyl acetate": (15.8, 5.3, 7.2),
    "n-butyl acetate": (15.8, 3.7, 6.3),
    "ethanol": (15.8, 8.8, 19.4),
    "2-propanol": (15.8, 6.1, 16.4),
    "1-butanol": (16.0, 5.7, 15.8),
    "benzyl alcohol": (18.4, 6.3, 13.7),
    "diacetone alcohol": (15.8, 8.2, 10.8),
    "1-methoxy-2-propanol": (15.6, 6.3, 11.6),
    "ethyl lactate": (16.0, 7.6, 12.5),
    "toluene": (18.0, 1.4, 2.0),
    "xylene": (17.6, 1.0, 3.1),
    "dichloromethane": (17.0, 7.3, 7.1),
    "n-methyl-2-pyrrolidone": (18.0, 12.3, 7.2),
    "dimethyl sulfoxide": (18.4, 16.4, 10.2),
    "n-heptane": (15.3, 0.0, 0.0),
    "isooctane": (14.1, 0.0, 0.0),
    "cyclohexane": (16.8, 0.0, 0.2),
    "dearomatised white spirit": (16.0, 0.0, 0.0),
    "turpentine": (16.9, 1.8, 3.1),
}
"""Hansen parameters in MPa^½ (Hansen 2007, Table A.1, as `chemicals` 1.5.2 gives them); the last two by stand-ins,
n-dodecane and alpha-pinene."""
DILUENTS = ("isooctane", "n-heptane", "cyclohexane", "dearomatised white spirit")
ACTING = (
    "acetone",
    "ethanol",
    "2-propanol",
    "butanone",
    "ethyl acetate",
    "benzyl alcohol",
    "diacetone alcohol",
    "1-methoxy-2-propanol",
    "n-butyl acetate",
    "ethyl lactate",
    "xylene",
)
SPHERES = {
    "oil": ((16.0, 6.0, 7.0, 5.0),),
    "oleoresin": ((16.0, 6.0, 7.0, 5.0), (16.9, 4.5, 6.5, 9.2)),
    "alkyd": ((17.5, 2.3, 7.7, 10.0), (18.5, 9.21, 4.91, 10.64)),
    "cellulose nitrate": ((16.9, 13.5, 10.3, 9.9), (15.41, 14.73, 8.84, 11.46)),
    "shellac": ((19.7, 10.1, 15.1, 10.7),),
    "natural resin": ((18.4, 4.2, 7.8, 8.3), (19.0, 2.0, 9.0, 9.0)),
    "acrylic": ((17.6, 7.4, 5.6, 9.4), (18.64, 10.52, 7.51, 8.59)),
    "glue": (),
}
"""Published spheres of the binders used here: centre and radius in MPa^½ (Hansen 2007, Table A.2)."""
PH_LIMITS = {
    "oil": (3.5, 9.4),
    "oleoresin": (3.8, 8.9),
    "alkyd": (3.0, 10.0),
    "cellulose nitrate": (2.8, 10.5),
    "shellac": (4.0, 8.6),
    "natural resin": (4.2, 8.7),
    "acrylic": (3.0, 10.5),
    "glue": (4.0, 9.0),
}
"""Middle of the pH below and above which half a minute takes half; invented, in the order that practice knows."""
WATER = {
    "oil": 0.01,
    "oleoresin": 0.02,
    "alkyd": 0.01,
    "cellulose nitrate": 0.01,
    "shellac": 0.05,
    "natural resin": 0.03,
    "acrylic": 0.03,
    "glue": 2.0,
}
SOFTENS = {
    "oil": 110.0,
    "oleoresin": 80.0,
    "alkyd": 100.0,
    "cellulose nitrate": 75.0,
    "shellac": 55.0,
    "natural resin": 60.0,
    "acrylic": 55.0,
    "glue": 140.0,
}
"""°C, invented about the figures that the policy holds."""
ADDITIVES = {"triammonium citrate": 1.0, "household detergent": 0.5, "sodium carbonate": 0.5}
"""How much one per cent adds to the rate of water."""
RANKS = {
    "spray": (1, 0),
    "rolled swab": (1, 1),
    "cloth": (1, 2),
    "sponge": (2, 2),
    "rubbed swab": (2, 3),
    "brush": (3, 3),
    "tissue": (3, 0),
    "gel": (4, 0),
    "poultice": (4, 0),
    "immersion": (5, 0),
}
"""Wetting and rubbing of an application, as section 2 of the design gives them."""
FORCE = {
    "spray": 0.1,
    "rolled swab": 0.3,
    "cloth": 0.5,
    "sponge": 0.5,
    "rubbed swab": 0.7,
    "brush": 0.7,
    "tissue": 0.2,
    "gel": 0.3,
    "poultice": 0.5,
    "immersion": 0.5,
}
TOUCH = {"dust": 0.1, "dry sponge": 0.3, "wrap": 0.05, "operate": 0.03, "move": 0.05}
"""Share of failing finish that a touch takes off."""
PREPARATION = frozenset({"sealer", "primer", "ground"})
FOREIGN = frozenset({"dirt", "wax"})


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
        return sum(np.array(LIQUIDS[name]) * parts / total for name, parts in self.liquids)

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
        return float(self.present[rows].any(axis=0)[cells].mean()) if rows else 0.0


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


def taken_by(zone: Zone, steps: list[Step], rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """What is left of every coat after the steps, in order, and how much of it was ever touched.

    Both of shape (coats, cells), shares 0 to 1 of the cell; the touched share counts only where the coat is there.
    Steps that are not on this zone have to be left out before.
    """
    left = zone.present.astype(float)
    touched = np.zeros_like(left)
    failing = zone.failing.copy()
    for step in steps:
        worked = _worked(zone, step, rng)
        _fail(zone, step, left, touched, failing, worked, rng)
        if step.action in ("strip", "blast"):
            left *= 1 - worked * rng.uniform(0.996, 1.0)
            _touch(touched, worked)
        elif step.action in ("scrape", "abrade"):
            _cut(zone, step, left, touched, worked, rng)
        elif step.use is not None or step.heat_c is not None:
            _contact(zone, step, left, touched, failing, worked)
    return left, touched


def _touch(touched: np.ndarray, now: np.ndarray) -> None:
    """Add what is touched now; within a cell steps meet by chance, as losses do."""
    touched[...] = 1 - (1 - touched) * (1 - now)


def _worked(zone: Zone, step: Step, rng: np.random.Generator) -> np.ndarray:
    """The share of each cell that the step works on."""
    cells = zone.windows[step.place] if step.place in zone.windows else np.ones(CELLS, dtype=bool)
    if step.area >= 1:
        return cells.astype(float)
    start = rng.integers(CELLS)
    share = np.zeros(CELLS)
    whole = step.area * CELLS
    order = (start + np.arange(CELLS)) % CELLS
    share[order[: int(whole)]] = 1
    share[order[int(whole) % CELLS]] = whole - int(whole)
    return share * cells


def _fail(
    zone: Zone,
    step: Step,
    left: np.ndarray,
    touched: np.ndarray,
    failing: np.ndarray,
    worked: np.ndarray,
    rng: np.random.Generator,
) -> None:
    """What a touch takes of finish that no longer holds; laying it down ends that for nearly all."""
    force = TOUCH.get(step.action, FORCE[step.use.application] if step.use is not None else 0.0)
    if force == 0 or not failing.any():
        return
    if step.action in ("consolidate", "lay flakes"):
        failing &= rng.random(CELLS) < 0.1
        force = 0.02
    hit = failing * worked
    left[zone.fails_from :] *= 1 - force * hit
    _touch(touched, hit)


def _contact(
    zone: Zone, step: Step, left: np.ndarray, touched: np.ndarray, failing: np.ndarray, worked: np.ndarray
) -> None:
    """A liquid, or hot air, from the outside inward: what is taken lays open what lies beneath."""
    opened = worked.copy()
    for row in range(len(zone.stack) - 1, -1, -1):
        coat = zone.stack[row]
        share = coat.taken(step.use, zone.strength) if step.use is not None else coat.heated(step.heat_c or 0.0)
        _touch(touched[row], opened)
        left[row] *= 1 - share * opened
        if coat.shields:
            through = 1 - left[row] * (1 - (0.5 * share if share >= 0.02 else 0.0))
            opened = opened * np.where(failing, 1.0, through)


def _cut(
    zone: Zone, step: Step, left: np.ndarray, touched: np.ndarray, worked: np.ndarray, rng: np.random.Generator
) -> None:
    """A blade or paper: takes films from the outside to its depth; at edges it goes half as deep again."""
    film = zone.thick * left
    if step.depth_um is None and step.stop_at is None:
        left *= 1 - worked
        _touch(touched, worked)
        return
    hand = smooth(rng, 2)
    if step.stop_at is not None:
        scheme = step.stop_at.split("/")[0]
        order = [coat.scheme for coat in zone.stack]
        inside = max((n for n, code in enumerate(order) if code == scheme), default=-1)
        above = film[inside + 1 :].sum(axis=0)
        depth = above + 0.2 * hand * above
        if step.depth_um is not None:
            depth = np.minimum(depth, step.depth_um)
    else:
        sd = step.depth_sd_um if step.depth_sd_um is not None else 0.2 * step.depth_um
        depth = step.depth_um + sd * hand
    depth = np.maximum(0, depth) * np.where(zone.edges, 1.5, 1.0)
    for row in range(len(zone.stack) - 1, -1, -1):
        share = np.where(film[row] > 0, np.minimum(1, depth / np.maximum(film[row], 1e-9)), 0.0)
        left[row] *= 1 - share * worked
        _touch(touched[row], (depth > 0) * worked)
        depth = np.maximum(0, depth - film[row])


_KERNELS: dict[int, np.ndarray] = {}


def smooth(rng: np.random.Generator, grain: int) -> np.ndarray:
    """A smooth random field over the cells with mean 0 and standard deviation 1; `grain` in cells."""
    if grain not in _KERNELS:
        apart = np.arange(SIDE)[:, None] - np.arange(SIDE)[None, :]
        _KERNELS[grain] = np.exp(-0.5 * (apart / max(grain, 0.3)) ** 2)
    kernel = _KERNELS[grain]
    drawn = kernel @ rng.normal(size=(SIDE, SIDE)) @ kernel.T
    return ((drawn - drawn.mean()) / max(float(drawn.std()), 1e-9)).ravel()


def cut_at(values: np.ndarray, share: float) -> np.ndarray:
    """The cells with the least values, as many as the share of all asks for."""
    count = round(min(1.0, max(0.0, share)) * CELLS)
    chosen = np.zeros(CELLS, dtype=bool)
    chosen[np.argsort(values, kind="stable")[:count]] = True
    return chosen
