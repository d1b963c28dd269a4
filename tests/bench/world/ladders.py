"""Ladders of tests on the made world: one agent, one coordinate rising, until something is seen. See `survey`."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from world.made import Knobs
from world.materials import ACTING, DILUENTS, PREPARATION
from world.records import ORDER, SEEN, WORDS, Spot, Survey, Tried, coats_at
from world.truth import CELLS, TREATED, WATER_ALONE, Agent, Part, Thing, Use, Zone


def ladder(
    thing: Thing, part: Part, spots: list[Spot], code: str, survey: Survey, rng: np.random.Generator, knobs: Knobs
) -> None:
    """One ladder at one spot; where somebody is thorough, again on each other coat that lies open in that zone."""
    at = spots[int(rng.integers(len(spots)))] if spots and rng.random() < 0.6 else None
    listed = [zone for zone in part.zones if zone.listed]
    zone = at.zone if at is not None else listed[int(rng.integers(len(listed)))]
    year = int(rng.choice([2007, 2015, 2024], p=[0.04, 0.26, 0.7]))
    cell = at.cell if at is not None else int(rng.choice(np.flatnonzero(zone.places()[zone.code])))
    uses = rising(rng)
    there = coats_at(zone, cell, year)
    if there:
        depth = 0 if rng.random() < 0.6 else int(rng.integers(len(there)))
        _climb(thing, part, zone, at, cell, year, there[: len(there) - depth], uses, code, survey, rng, knobs)
    if rng.random() < knobs.thorough:
        for number, other in enumerate(_open(zone, year)):
            if other != cell and coats_at(zone, other, year)[-1] != (there or [-1])[-1]:
                _climb(
                    thing,
                    part,
                    zone,
                    None,
                    other,
                    year,
                    coats_at(zone, other, year),
                    uses,
                    f"{code}{'abcdef'[number]}",
                    survey,
                    rng,
                    knobs,
                )


def _open(zone: Zone, year: int) -> list[int]:
    """A spot of each coat that lies outermost over more than a twentieth of the zone."""
    outermost: dict[int, list[int]] = {}
    for cell in np.flatnonzero(zone.places()[zone.code]):
        there = coats_at(zone, int(cell), year)
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
