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

from typing import Any

import numpy as np
from world.ladders import ladder
from world.made import Knobs
from world.materials import FOREIGN
from world.records import Spot, Survey, coats_at, present_in
from world.truth import CELLS, KEPT, SIDE, Coat, Thing, Zone


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
            ladder(thing, part, spots, f"{part.code}-L{number + 1}", survey, rng, knobs)
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
    best = sorted(three, key=lambda cell: int(present_in(zone, year)[kept, cell].sum()))
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
    present = present_in(zone, year)
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
    top = [(there[-1] if there else -1) for there in (coats_at(zone, cell, 2024) for cell in range(CELLS))]
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
