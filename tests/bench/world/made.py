"""Objects of the made world, drawn at random: their parts, zones, stacks, cover and films. See `truth` for what is
assumed."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from world.materials import PH_LIMITS, PREPARATION, SOFTENS, SPHERES, WATER
from world.taken import cut_at, smooth
from world.truth import CELLS, CONCENTRATION, PATCHINESS, Coat, Part, Thing, Zone

COLOURS = ("dark green", "signal red", "cream", "deep blue", "brown", "ochre", "black", "white", "grey", "chocolate")
FILMS = {
    "primer": 40.0,
    "ground": 120.0,
    "sealer": 8.0,
    "body colour": 28.0,
    "lining": 10.0,
    "varnish": 15.0,
    "dirt": 4.0,
    "wax": 3.0,
}
SCALE = np.array([2.0, 1.0, 1.0])


@dataclass(frozen=True)
class Knobs:
    """What can be turned. Rates are chances per record; `sections` are those of each zone (None: 0 to 5, mostly 1 or
    2).

    `short`: a section stops above the support; `missed`: a thin coat is; `merged`: two coats of one role are taken
    for one; `misassigned`: a coat is given to the neighbouring scheme; `misjudged`: a response is, four times as
    often where it was judged wet; `ladders`: of tests for each object; `thorough`: a ladder is repeated on each coat
    that lies open; `zone_sd`: how much a zone's paint differs from its part's (log scale); `schema`: 1 leaves out the
    columns that its second version added; `least_share`: of a place that a thing has to cover to be judged.
    """

    sections: int | None = None
    patchiness: str = "mixed"
    short: float = 0.12
    missed: float = 0.02
    merged: float = 0.2
    misassigned: float = 0.02
    colour_blank: float = 0.12
    coverage_wrong: float = 0.05
    misjudged: float = 0.03
    condition_blank: float = 0.15
    failing: float = 0.10
    zone_sd: float = 0.10
    ladders: float = 4.0
    thorough: float = 0.6
    schema: int = 2
    least_share: float = 0.01


def make(code: str, rng: np.random.Generator, knobs: Knobs) -> Thing:
    """One object."""
    sections = (
        knobs.sections if knobs.sections is not None else int(rng.choice(6, p=[0.08, 0.27, 0.22, 0.17, 0.12, 0.14]))
    )
    patchiness = knobs.patchiness
    if patchiness == "mixed":
        patchiness = str(rng.choice(PATCHINESS, p=[0.3, 0.3, 0.3, 0.1]))
    later = int(rng.choice(5, p=[0.12, 0.3, 0.28, 0.2, 0.1]))
    early = rng.random() < 0.12
    schemes = {"1": "original"}
    if early:
        schemes["2"] = "early"
    for _ in range(later):
        schemes[str(len(schemes) + 1)] = str(
            rng.choice(["later", "restoration", "recent", "unknown"], p=[0.59, 0.2, 0.19, 0.02])
        )
    master = {scheme: _scheme(scheme, period, rng) for scheme, period in schemes.items()}
    parts = []
    for n in range(int(rng.integers(1, 4))):
        origin = "replaced" if n > 0 and rng.random() < 0.06 else "original"
        support = str(rng.choice(["oak", "mahogany", "cast iron"], p=[0.4, 0.35, 0.25]))
        parts.append(_part(f"C{n + 1}", origin, support, patchiness, master, rng, knobs))
    return Thing(code, parts, schemes, sections, patchiness)


def _scheme(code: str, period: str, rng: np.random.Generator) -> list[Coat]:
    """The coats of one campaign, from the support outward."""
    old = period in ("original", "early")
    binders = ["oil", "oleoresin", "cellulose nitrate", "alkyd", "acrylic"]
    paint = str(rng.choice(binders, p=[0.65, 0.25, 0.1, 0, 0] if old else [0.3, 0.15, 0.1, 0.4, 0.05]))
    coats = []
    if old or rng.random() < 0.4:
        binder = str(rng.choice(["oil", "glue"], p=[0.8, 0.2]) if old else "oil" if paint == "oil" else paint)
        role, colour = ("ground", "white") if binder == "glue" else ("primer", "red-brown")
        coats.append(coat(code, role, binder, colour, period, rng))
    colours = rng.choice(COLOURS, size=2, replace=False)
    for colour in colours[: 1 + (rng.random() < 0.25)]:
        coats.append(coat(code, "body colour", paint, str(colour), period, rng))
    if rng.random() < (0.8 if period == "original" else 0.35):
        binder = str(
            rng.choice(["oleoresin", "natural resin", "shellac"], p=[0.55, 0.25, 0.2])
            if old
            else rng.choice(["oleoresin", "alkyd", "cellulose nitrate"])
        )
        coats.append(coat(code, "varnish", binder, "", period, rng))
    return coats


def coat(scheme: str | None, role: str, binder: str, colour: str, period: str, rng: np.random.Generator) -> Coat:
    """A coat with its own true limits."""
    if role in ("dirt", "wax"):
        return Coat(scheme, role, "", colour, period, None, 1.0, 0.0, 14.0, 0.0, 0.0, 0.0, FILMS[role])
    aged = (
        period in ("original", "early", "later")
        and binder in ("oil", "oleoresin", "natural resin", "alkyd")
        and rng.random() < 0.5
    )
    acid, alkali = PH_LIMITS[binder]
    return Coat(
        scheme,
        role,
        binder,
        colour,
        period,
        _region(binder, aged, rng),
        float(np.exp(rng.normal(-0.5 if aged else 0.0, 0.4))),
        float(acid + rng.normal(0, 0.5)),
        float(alkali + rng.normal(0, 0.6)),
        float(WATER[binder] * np.exp(rng.normal(0, 0.7))),
        float(np.exp(rng.normal(0, 0.4))),
        float(SOFTENS[binder] + rng.normal(0, 12)),
        float(FILMS[role] * np.exp(rng.normal(0, 0.35))),
    )


def _region(binder: str, aged: bool, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray] | None:
    """Centre and matrix of the ellipsoid in which a coat dissolves; None for what no organic solvent moves."""
    if not SPHERES[binder]:
        return None
    row = np.array(SPHERES[binder][rng.integers(len(SPHERES[binder]))])
    centre = row[:3] + rng.normal(0, [0.8, 1.6, 1.6])
    radius = row[3] * float(np.exp(rng.normal(0, 0.2)))
    if aged:
        centre = centre + np.array([0.0, 1.0, 1.0]) * rng.uniform(0, 4)
        radius *= rng.uniform(0.9, 1.3)
    matrix = np.diag(SCALE / radius)
    if rng.random() < 0.3:
        turned, _ = np.linalg.qr(rng.normal(size=(3, 3)))
        matrix = np.diag(np.exp(-rng.normal(0, 0.3, 3))) @ turned @ matrix
    return centre, matrix


def _part(
    code: str,
    origin: str,
    support: str,
    patchiness: str,
    master: dict[str, list[Coat]],
    rng: np.random.Generator,
    knobs: Knobs,
) -> Part:
    """One part with its zones; one scheme in five was painted on it from another pot, and differs from the others'."""
    own: dict[str, list[Coat]] = {}
    carried = [
        scheme
        for n, scheme in enumerate(master)
        if not (origin == "replaced" and n == 0) and (n == 0 or rng.random() < 0.85)
    ]
    for scheme in carried:
        coats = master[scheme]
        if rng.random() < 0.2:
            colour = str(rng.choice(COLOURS))
            coats = [
                coat(c.scheme, c.role, c.binder, colour if c.role == "body colour" else c.colour, c.period, rng)
                for c in coats
            ]
            own[scheme] = _distinct(coats)
        else:
            own[scheme] = coats
    colours = {one.colour for coats in own.values() for one in coats}
    free = str(next(c for c in rng.permutation(COLOURS) if c not in colours))
    lining = coat("1", "lining", "oil", free, "original", rng)
    if "1" in own:
        at = len(own["1"]) - (own["1"][-1].role == "varnish")
        own["1"] = [*own["1"][:at], lining, *own["1"][at:]]
    mean = float(rng.beta(2.2, 1.1))
    zones = [
        _zone(f"{code}-Z{n + 1}", code, own, patchiness, mean, lining, rng, knobs)
        for n in range(int(rng.integers(1, 4)))
    ]
    if rng.random() < 0.12:
        rest = _zone(code, code, own, patchiness, mean, lining, rng, knobs)
        rest.listed = False
        rest.area_m2 = round(0.15 * sum(zone.area_m2 for zone in zones), 4)
        zones.append(rest)
    return Part(code, support, origin, patchiness, zones)


def _distinct(coats: list[Coat]) -> list[Coat]:
    """Two colours of one scheme are never called alike."""
    seen: set[str] = set()
    out = []
    for one in coats:
        if one.role == "body colour" and one.colour in seen:
            one = replace(one, colour=next(c for c in COLOURS if c not in seen))
        seen.add(one.colour)
        out.append(one)
    return out


def _zone(
    code: str,
    part: str,
    own: dict[str, list[Coat]],
    patchiness: str,
    mean: float,
    lining: Coat,
    rng: np.random.Generator,
    knobs: Knobs,
) -> Zone:
    stack: list[Coat] = []
    rows: list[np.ndarray] = []
    grain = int(rng.choice([0, 1, 3]))
    for coats in own.values():
        share = (
            _share(patchiness, mean, rng)
            if coats[0].kept
            else float(rng.uniform(0.93, 1.0) if rng.random() < 0.75 else rng.uniform(0.2, 0.95))
        )
        common, prepared, painted = smooth(rng, grain), None, None
        for one in coats:
            if one is lining and rng.random() < 0.7:
                continue
            own_field = 0.85 * common + 0.5 * smooth(rng, grain)
            if one.role in PREPARATION:
                here, prepared = cut_at(own_field, 1 - (1 - share) * 0.6), len(rows)
            elif one.role == "varnish":
                here = cut_at(own_field, share * (rng.uniform(0.5, 1.0) if one.kept else 1.0)) & painted
            elif one.role == "lining":
                here = _stripe(rng) & painted
            elif painted is not None:
                here = cut_at(own_field, share * rng.uniform(0.85, 1.0)) & painted
            else:
                here = painted = cut_at(own_field, share)
                if prepared is not None:
                    rows[prepared] = rows[prepared] | here
            stack.append(one)
            rows.append(here)
    for role, chance in (("dirt", 0.5), ("wax", 0.15)):
        if rng.random() < chance:
            stack.append(coat(None, role, "", "", "unknown", rng))
            rows.append(np.ones(CELLS, dtype=bool))
    present = np.array(rows, dtype=bool).reshape(len(stack), CELLS)
    films = [one.thick_um * np.exp(rng.normal(0, 0.15) + 0.2 * smooth(rng, 2)) for one in stack]
    thick = np.array(films).reshape(len(stack), CELLS)
    failing, start = np.zeros(CELLS, dtype=bool), 0
    if rng.random() < knobs.failing:
        failing = cut_at(smooth(rng, 1), float(rng.uniform(0.01, 0.3)))
        start = int(rng.integers(0, max(1, len(stack) - 1)))
    return Zone(
        code,
        part,
        round(float(np.exp(rng.normal(-0.7, 0.7))), 4),
        stack,
        present,
        thick,
        float(np.exp(rng.normal(0, knobs.zone_sd))),
        failing,
        start,
        rng.random(CELLS) < 0.02,
    )


def _share(patchiness: str, mean: float, rng: np.random.Generator) -> float:
    if patchiness == "all or nothing":
        return float(rng.random() < mean)
    weight = CONCENTRATION[patchiness]
    return float(rng.beta(mean * weight, (1 - mean) * weight))


def _stripe(rng: np.random.Generator) -> np.ndarray:
    """A line two cells wide across the zone."""
    cells = np.zeros((20, 20), dtype=bool)
    row = int(rng.integers(1, 18))
    cells[row : row + 2] = True
    return cells.ravel()
