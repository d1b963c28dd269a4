"""A survey of the made world that errs: what a conservator reads, tries and writes down, as the rows of a package.

- *Sections* stand at cells drawn at random, where finish was expected (the best of three), or at a loss. A section
  reads the cell, and says of each coat how much of it is left within one cell around. Some stop short, miss a thin
  coat, take two coats for one, or give a coat to the neighbouring scheme. A binder is guessed, looked at or analysed,
  once for each coat.
- *Tests* come in ladders: one agent, one coordinate rising (pH, seconds, passes, share of the acting liquid, additive,
  temperature) until something is seen, or the ladder or the patience ends. Under a hundredth of a coat taken nothing is
  seen; now and then what is seen is misjudged, oftener where it was judged wet. What is taken right through lays open
  the next coat, which is then met too.
- *Conditions*: nine of ten zones with failing finish are recorded as such, a few sound ones wrongly.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from world_made import Knobs
from world_truth import (
    ACTING,
    CELLS,
    DILUENTS,
    FOREIGN,
    KEPT,
    PREPARATION,
    SIDE,
    TREATED,
    WATER_ALONE,
    Agent,
    Coat,
    Part,
    Thing,
    Use,
    Zone,
)

SEEN = 0.01
WORDS = {
    "gloss change": (0.0, 0.1),
    "blanched": (0.0, 0.1),
    "colour on swab": (0.05, 0.3),
    "swelled": (0.1, 0.4),
    "softened": (0.2, 0.6),
    "lifted": (0.3, 0.9),
    "partly removed": (0.5, 0.9),
    "removed": (0.9, 1.0),
}
"""What share of a coat a person has before the eyes who writes these words (section 5.3 of the design)."""
ORDER = ("none seen", *WORDS)


@dataclass(frozen=True)
class Tried:
    """One test as it was made and written down: what was left blank, and what was said of each coat met."""

    code: str
    part: str
    zone: str
    use: Use
    blank: frozenset[str]
    dried: str
    year: int
    met: tuple[tuple[Coat, str], ...]


@dataclass
class Survey:
    """The rows of one object by sheet, and what the judge may know of how they came about."""

    schema: int = 2
    sheets: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    tried: list[Tried] = field(default_factory=list)
    sections: dict[str, int] = field(default_factory=dict)
    told_failing: set[str] = field(default_factory=set)
    reserved: dict[str, str] = field(default_factory=dict)
    readings: dict[str, list[tuple[bool, frozenset[str]]]] = field(default_factory=dict)
    """By place: whether each section reached the support, and the things written in it."""

    def add(self, sheet: str, **cells: Any) -> None:
        self.sheets.setdefault(sheet, []).append(cells)


def examine(thing: Thing, past: list[tuple[str, dict[str, Any]]], rng: np.random.Generator, knobs: Knobs) -> Survey:
    """Everything that is written down of one object, but for proposals."""
    survey = Survey(knobs.schema)
    survey.add("objects", object=thing.code, title=f"Made object {thing.code}", kind="made object")
    for code, period in thing.schemes.items():
        survey.add(
            "schemes",
            object=thing.code,
            scheme=code,
            name=f"scheme {code}",
            rank=code,
            period=period,
            certainty=str(rng.choice(["confirmed", "probable"])),
            basis="" if period in KEPT else "dirt lies beneath it",
        )
    for part in thing.parts:
        survey.add(
            "components",
            object=thing.code,
            component=part.code,
            name=f"part {part.code}",
            support=part.support,
            area_m2=round(sum(zone.area_m2 for zone in part.zones), 4),
            origin=part.origin,
        )
        binders = {id(one): _binder(one, rng) for zone in part.zones for one in zone.stack}
        spots: list[Spot] = []
        for zone in part.zones:
            if zone.listed:
                survey.add(
                    "zones",
                    object=thing.code,
                    zone=zone.code,
                    component=part.code,
                    area_m2=zone.area_m2,
                    area_basis="measured",
                )
                spots += _sections(thing, zone, binders, survey, rng, knobs)
                _decoration(thing, zone, survey, rng)
                if knobs.schema > 1 and rng.random() < 0.08:
                    _whole(thing, zone, survey, rng)
                if knobs.schema > 1 and rng.random() < 0.05:
                    survey.reserved[zone.code] = f"R-{zone.code}"
                    survey.add(
                        "reserves",
                        object=thing.code,
                        reserve=f"R-{zone.code}",
                        place=zone.code,
                        kind="reserve",
                        area_m2=round(0.02 * zone.area_m2, 6),
                        shows="left as found",
                        made_on="2024-05",
                    )
            _condition(thing, zone, survey, rng)
        for number in range(rng.poisson(knobs.ladders / len(thing.parts))):
            _ladder(thing, part, spots, f"{part.code}-L{number + 1}", survey, rng, knobs)
    for sheet, row in past:
        survey.add(sheet, **row)
    return survey


def _binder(one: Coat, rng: np.random.Generator) -> dict[str, str]:
    """What is written of a coat's binder, and on what ground."""
    basis = str(rng.choice(["analysed", "looked", "guessed", ""], p=[0.25, 0.4, 0.25, 0.1]))
    if not basis or not one.binder:
        return {}
    wrong = rng.random() < {"analysed": 0.0, "looked": 0.1, "guessed": 0.3}[basis]
    others = [name for name in ("oil", "oleoresin", "alkyd", "natural resin", "shellac") if name != one.binder]
    return {"binder": str(rng.choice(others)) if wrong else one.binder, "binder_basis": basis}


@dataclass(frozen=True)
class Spot:
    """Where a section was read: its code, zone and cell, the year, and the position at which each coat was written."""

    code: str
    zone: Zone
    cell: int
    year: int
    written: dict[int, int]


def _state(zone: Zone, year: int) -> np.ndarray:
    """What was there in that year."""
    return zone.before if zone.before is not None and year < TREATED else zone.present


def _sections(
    thing: Thing, zone: Zone, binders: dict[int, dict[str, str]], survey: Survey, rng: np.random.Generator, knobs: Knobs
) -> list[Spot]:
    count = 0 if knobs.sections is None and rng.random() < 0.1 else thing.sections
    survey.sections[zone.code] = count
    spots = []
    for number in range(count):
        year = int(rng.choice([2015, 2024], p=[0.3, 0.7]))
        spots.append(
            _section(
                thing,
                zone,
                f"{zone.code}-S{number + 1}",
                zone.code,
                _cell(zone, year, rng),
                year,
                binders,
                survey,
                rng,
                knobs,
            )
        )
    for code, cells in zone.windows.items():
        if count and rng.random() < 0.7:
            cell = int(rng.choice(np.flatnonzero(cells)))
            spots.append(_section(thing, zone, f"{code}-S1", code, (cell, "random"), 2024, binders, survey, rng, knobs))
    return spots


def _cell(zone: Zone, year: int, rng: np.random.Generator) -> tuple[int, str]:
    """A spot outside windows, and how it was chosen."""
    free = np.flatnonzero(zone.places()[zone.code])
    kept = np.array([n for n, one in enumerate(zone.stack) if one.kept], dtype=int)
    chosen = str(rng.choice(["random", "expected", "at a loss"], p=[0.7, 0.2, 0.1]))
    if chosen == "random":
        return int(rng.choice(free)), chosen
    three = rng.choice(free, 3)
    best = sorted(three, key=lambda cell: int(_state(zone, year)[kept, cell].sum()))
    return int(best[-1] if chosen == "expected" else best[0]), chosen


def _section(
    thing: Thing,
    zone: Zone,
    code: str,
    place: str,
    where: tuple[int, str],
    year: int,
    binders: dict[int, dict[str, str]],
    survey: Survey,
    rng: np.random.Generator,
    knobs: Knobs,
) -> Spot:
    cell, chosen = where
    present = _state(zone, year)
    around = _around(cell)
    seen = [n for n in range(len(zone.stack)) if present[n, cell]]
    painted = sum(zone.stack[n].scheme is not None for n in seen)
    stops = painted > 1 and rng.random() < knobs.short
    if stops:
        seen = seen[int(rng.integers(1, painted)) :]
    seen = [n for n in seen if not (rng.random() < knobs.missed and zone.thick[n, cell] < 25)]
    survey.add(
        "samples",
        object=thing.code,
        sample=code,
        place=place,
        method=str(rng.choice(["cross-section", "exposure"], p=[0.85, 0.15])),
        taken_on=f"{year}-05",
        chosen=chosen,
        reaches_support="no" if stops else "yes",
    )
    schemes = list(thing.schemes)
    written: dict[int, int] = {}
    position = 0
    last: Coat | None = None
    for n in seen:
        one = zone.stack[n]
        if last is not None and last.scheme == one.scheme and last.role == one.role and rng.random() < knobs.merged:
            written[id(one)] = position
            continue
        last = one
        position += 1
        written[id(one)] = position
        scheme = one.scheme
        if scheme is not None and rng.random() < knobs.misassigned and len(schemes) > 1:
            at = schemes.index(scheme)
            scheme = schemes[at - 1 if at else at + 1]
        survey.add(
            "layers",
            object=thing.code,
            sample=code,
            position=position,
            role=one.role,
            scheme=scheme or "",
            colour="" if rng.random() < knobs.colour_blank else one.colour,
            coverage=_coverage(float(present[n, around].mean()), rng, knobs),
            thickness_um=""
            if one.role in FOREIGN or rng.random() < 0.2
            else round(float(zone.thick[n, cell] * np.exp(rng.normal(0, 0.08))), 1),
            **({} if rng.random() < 0.1 else binders[id(one)]),
        )
    survey.readings.setdefault(place, []).append(
        (not stops, frozenset(one.thing for one in zone.stack if id(one) in written))
    )
    return Spot(code, zone, cell, year, written)


def _around(cell: int) -> np.ndarray:
    y, x = divmod(cell, SIDE)
    return np.array(
        [v * SIDE + u for v in range(max(0, y - 1), min(SIDE, y + 2)) for u in range(max(0, x - 1), min(SIDE, x + 2))]
    )


def _coverage(share: float, rng: np.random.Generator, knobs: Knobs) -> str:
    words = ["trace", "partial", "intact"]
    word = 2 if share >= 0.95 else 0 if share <= 0.12 else 1
    if rng.random() < knobs.coverage_wrong:
        word = int(np.clip(word + rng.choice([-1, 1]), 0, 2))
    return "" if rng.random() < 0.15 else words[word]


def _whole(thing: Thing, zone: Zone, survey: Survey, rng: np.random.Generator) -> None:
    """The whole surface looked over: how far the coat that lies outermost over most of it covers it."""
    top = [(there[-1] if there else -1) for there in (_there(zone, cell, 2024) for cell in range(CELLS))]
    n = max(set(top), key=top.count)
    if n < 0:
        return
    share = top.count(n) / CELLS
    one = zone.stack[n]
    survey.add(
        "samples",
        object=thing.code,
        sample=f"{zone.code}-A",
        place=zone.code,
        method="surface",
        taken_on="2024-06",
        extent="whole place",
        reaches_support="no",
    )
    told = {} if share > 0.99 else {"coverage_pct": round(float(np.clip(100 * share + rng.normal(0, 2), 1, 99)))}
    survey.add(
        "layers",
        object=thing.code,
        sample=f"{zone.code}-A",
        position=1,
        role=one.role,
        scheme=one.scheme,
        colour=one.colour,
        coverage="intact" if share > 0.99 else "partial",
        **told,
    )


def _decoration(thing: Thing, zone: Zone, survey: Survey, rng: np.random.Generator) -> None:
    """A line that somebody listed for itself."""
    for n, one in enumerate(zone.stack):
        share = float(zone.present[n].mean())
        if one.role == "lining" and share > 0 and rng.random() < 0.5:
            outermost = not zone.present[n + 1 :].any()
            survey.add(
                "decorations",
                object=thing.code,
                decoration=f"D-{zone.code}",
                place=zone.code,
                kind="lining",
                scheme=one.scheme,
                state="exposed" if outermost else "covered",
                observed_on="2024-05",
                area_m2=round(zone.area_m2 * share * float(np.exp(rng.normal(0, 0.2))), 5),
            )


def _condition(thing: Thing, zone: Zone, survey: Survey, rng: np.random.Generator) -> None:
    """Flaking as it was looked for in the second season."""
    share = float(zone.failing.mean())
    told = rng.random() < 0.9 if share else rng.random() < 0.02
    if told:
        extent = max(1.0, 100 * share * float(np.exp(rng.normal(0, 0.3)))) if share else 2.0
        survey.told_failing.add(zone.code)
        survey.add(
            "conditions",
            object=thing.code,
            place=zone.code,
            observed_on="2024-05",
            phenomenon=str(rng.choice(["flaking", "blistering"])),
            severity=1 if extent < 4 else 2 if extent < 15 else 3,
            extent_pct=round(min(100.0, extent), 1),
            active=str(rng.choice(["yes", "unknown", ""])),
        )
    elif rng.random() < 0.3:
        survey.add(
            "conditions",
            object=thing.code,
            place=zone.code,
            phenomenon="flaking",
            observed_on="2024-05",
            severity=0,
            extent_pct=0,
            active="no",
        )


def _ladder(
    thing: Thing, part: Part, spots: list[Spot], code: str, survey: Survey, rng: np.random.Generator, knobs: Knobs
) -> None:
    """One ladder at one spot; where somebody is thorough, again on each other coat that lies open in that zone."""
    at = spots[int(rng.integers(len(spots)))] if spots and rng.random() < 0.6 else None
    listed = [zone for zone in part.zones if zone.listed]
    zone = at.zone if at is not None else listed[int(rng.integers(len(listed)))]
    year = int(rng.choice([2007, 2015, 2024], p=[0.04, 0.26, 0.7]))
    cell = at.cell if at is not None else int(rng.choice(np.flatnonzero(zone.places()[zone.code])))
    uses = rising(rng)
    there = _there(zone, cell, year)
    if there:
        depth = 0 if rng.random() < 0.6 else int(rng.integers(len(there)))
        _climb(thing, part, zone, at, cell, year, there[: len(there) - depth], uses, code, survey, rng, knobs)
    if rng.random() < knobs.thorough:
        for number, other in enumerate(_open(zone, year)):
            if other != cell and _there(zone, other, year)[-1] != (there or [-1])[-1]:
                _climb(
                    thing,
                    part,
                    zone,
                    None,
                    other,
                    year,
                    _there(zone, other, year),
                    uses,
                    f"{code}{'abcdef'[number]}",
                    survey,
                    rng,
                    knobs,
                )


def _there(zone: Zone, cell: int, year: int) -> list[int]:
    """The coats of a spot from the support outward, dirt and wax left out."""
    return [n for n in range(len(zone.stack)) if _state(zone, year)[n, cell] and zone.stack[n].scheme is not None]


def _open(zone: Zone, year: int) -> list[int]:
    """A spot of each coat that lies outermost over more than a twentieth of the zone."""
    outermost: dict[int, list[int]] = {}
    for cell in np.flatnonzero(zone.places()[zone.code]):
        there = _there(zone, int(cell), year)
        if there:
            outermost.setdefault(there[-1], []).append(int(cell))
    return [cells[len(cells) // 2] for _, cells in sorted(outermost.items()) if len(cells) > 0.05 * CELLS][:6]


def _climb(
    thing: Thing,
    part: Part,
    zone: Zone,
    at: Spot | None,
    cell: int,
    year: int,
    there: list[int],
    uses: list[Use],
    code: str,
    survey: Survey,
    rng: np.random.Generator,
    knobs: Knobs,
) -> None:
    """Try one use after the other on the outermost of these coats until something happens."""
    place = next((name for name, cells in zone.windows.items() if cells[cell] and year > TREATED), zone.code)
    dried = str(rng.choice(["yes", "", "no"], p=[0.8, 0.12, 0.08]))
    blank = frozenset(
        name
        for name, chance in (
            ("dwell_s", 0.3),
            ("passes", 1.0),
            ("temperature_c", 2.5),
            ("application", 0.3),
            ("ph", 0.5),
        )
        if rng.random() < knobs.condition_blank * chance
    )
    for number, use in enumerate(uses):
        met = []
        for n in reversed(there):
            share = zone.stack[n].taken(use, zone.strength)
            met.append((zone.stack[n], _judged(share, dried, rng, knobs)))
            if share < 0.5:
                break
        test = Tried(f"{code}.{number + 1}", part.code, zone.code, use, blank, dried, year, tuple(met))
        survey.tried.append(_write(thing, place, at, test, there, zone, survey, rng))
        if met[0][1] != "none seen" or rng.random() < 0.1:
            return


def _write(
    thing: Thing,
    place: str,
    at: Spot | None,
    test: Tried,
    there: list[int],
    zone: Zone,
    survey: Survey,
    rng: np.random.Generator,
) -> Tried:
    """Write a test down; given back with the coats that got a row, one for several that a row cannot tell apart."""
    use = test.use
    cells: dict[str, Any] = {
        "ph": use.ph if use.ph is not None else "",
        "application": use.application,
        "dwell_s": use.dwell_s,
        "passes": use.passes,
        "temperature_c": use.temperature_c,
    }
    cells.update(dict.fromkeys(test.blank, ""))
    survey.add(
        "tests",
        object=thing.code,
        test=test.code,
        place=place,
        agent=use.agent.text,
        action="aqueous" if use.agent.aqueous else "solvent",
        sample=at.code if at is not None else "",
        **cells,
        after_drying=test.dried,
        tested_on=f"{test.year}-06",
        finish="sound" if rng.random() < 0.5 and not zone.failing.any() else "",
    )
    rows: dict[tuple[Any, ...], dict[str, Any]] = {}
    written = []
    for one, word in test.met:
        row: dict[str, Any] = {"sample": "", "position": "", "scheme": "", "role": ""}
        if at is not None and id(one) in at.written and rng.random() < 0.6:
            row |= {"sample": at.code, "position": at.written[id(one)]}
        else:
            outer = [zone.stack[n] for n in there if zone.stack[n].scheme == one.scheme][-1] is one
            whole = outer and one.role not in PREPARATION and rng.random() < 0.12
            row |= {"scheme": one.scheme, "role": "" if whole else one.role}
        if tuple(row.values()) not in rows:
            rows[tuple(row.values())] = row
            written.append((one, word))
            survey.add("responses", object=thing.code, test=test.code, response=word, **row)
    return replace(test, met=tuple(written))


def _judged(share: float, dried: str, rng: np.random.Generator, knobs: Knobs) -> str:
    """The word that is written for a share truly taken."""
    fitting = [word for word, (low, high) in WORDS.items() if low <= share <= high]
    word = "none seen" if share < SEEN or (share < 3 * SEEN and rng.random() < 0.3) else str(rng.choice(fitting))
    if rng.random() < knobs.misjudged * (4 if dried == "no" else 1):
        if word == "none seen":
            return str(rng.choice(["gloss change", "colour on swab"]))
        return ORDER[max(0, ORDER.index(word) - int(rng.integers(1, 4)))]
    return word


def rising(rng: np.random.Generator) -> list[Use]:
    """The uses of one ladder, each harsher than the one before in one coordinate."""
    application = str(
        rng.choice(
            ["rolled swab", "cloth", "rubbed swab", "brush", "sponge", "gel"], p=[0.6, 0.1, 0.1, 0.05, 0.05, 0.1]
        )
    )
    base = Use(WATER_ALONE, application, float(rng.choice([5, 10, 20, 30, 60])), int(rng.choice([1, 2, 3, 5])), 20.0)
    kind = str(
        rng.choice(["ph", "dwell", "passes", "share", "additive", "temperature"], p=[0.25, 0.2, 0.12, 0.28, 0.1, 0.05])
    )
    additive = (("triammonium citrate", 1.0),) if rng.random() < 0.4 else ()
    if kind == "ph":
        rising = [7.0, 7.5, 8.0, 8.5, 9.0, 9.5] if rng.random() < 0.8 else [7.0, 6.5, 6.0, 5.5, 5.0]
        return [replace(base, agent=replace(WATER_ALONE, additives=additive), ph=ph) for ph in rising]
    acting, diluent = str(rng.choice(ACTING)), str(rng.choice(DILUENTS))
    mixtures = [Agent(((acting, a), (diluent, d))) for a, d in ((1, 9), (1, 4), (1, 2), (1, 1), (2, 1))]
    if kind == "share":
        return [replace(base, agent=agent) for agent in [*mixtures, Agent(((acting, 1),))]]
    if kind == "additive":
        ph = float(rng.choice([7.0, 7.5, 8.0, 8.5]))
        return [
            replace(base, agent=replace(WATER_ALONE, additives=(("triammonium citrate", share),)), ph=ph)
            for share in (0.5, 1.0, 2.0, 4.0)
        ]
    if rng.random() < 0.4 or kind == "temperature":
        base = replace(base, agent=replace(WATER_ALONE, additives=additive), ph=float(rng.choice([7.0, 8.0, 8.5])))
    else:
        liquids = [*mixtures, *(Agent(((name, 1),)) for name in (acting, "dearomatised white spirit", "turpentine"))]
        base = replace(base, agent=liquids[int(rng.integers(len(liquids)))])
    if kind == "temperature":
        return [replace(base, temperature_c=t) for t in (20.0, 25.0, 30.0, 40.0)]
    if kind == "passes":
        return [replace(base, passes=n) for n in (1, 2, 4, 8)]
    return [replace(base, dwell_s=s) for s in (5.0, 15.0, 30.0, 60.0, 120.0, 300.0)]
