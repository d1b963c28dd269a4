"""What was done to the objects of the made world before anybody asks: strippings, removals, windows, waxing.

It changes the truth, and is written down as a careful registrar would, but for one old stripping in four, of which
nobody knows. A zone has at most one such event. Everything of `truth.TREATED` lies between the two seasons of the
survey, so that what was read and tried before it is history.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from world.made import Knobs, coat
from world.taken import cut_at, smooth
from world.truth import CELLS, KEPT, SIDE, TREATED, Thing, Zone

Rows = Iterator[tuple[str, dict[str, Any]]]


def befall(thing: Thing, rng: np.random.Generator, knobs: Knobs) -> list[tuple[str, dict[str, Any]]]:
    """Let it happen; the rows of treatments, their steps and of windows that are zones."""
    rows: list[tuple[str, dict[str, Any]]] = []
    for number, zone in enumerate(thing.zones()):
        if not zone.listed:
            continue
        later = [
            code
            for code in thing.schemes
            if thing.schemes[code] not in KEPT and any(one.scheme == code for one in zone.stack)
        ]
        kind = str(
            rng.choice(["", "stripped", "uncovered", "window", "slip", "waxed"], p=[0.64, 0.08, 0.07, 0.1, 0.06, 0.05])
        )
        head = {"object": thing.code, "treatment": f"T{number + 1}"}
        if kind == "waxed" or (kind and later):
            zone.past = kind
        if kind == "waxed":
            rows += _waxed(zone, head, rng)
        elif kind and later:
            rows += {"stripped": _stripped, "uncovered": _uncovered, "window": _window, "slip": _slip}[kind](
                zone, head, later, rng, knobs
            )
    return rows


def _treatment(head: dict[str, Any], purpose: str, when: str, outcome: str = "done") -> tuple[str, dict[str, Any]]:
    return "treatments", {**head, "purpose": purpose, "started": when, "ended": when, "outcome": outcome}


def _step(head: dict[str, Any], step: int, place: str, action: str, **cells: Any) -> tuple[str, dict[str, Any]]:
    return "treatment_steps", {**head, "step": step, "place": place, "action": action, **cells}


def _rows_of(zone: Zone, schemes: list[str]) -> list[int]:
    return [n for n, one in enumerate(zone.stack) if one.scheme in schemes]


def _stripped(zone: Zone, head: dict[str, Any], later: list[str], rng: np.random.Generator, knobs: Knobs) -> Rows:
    """Long ago, before the later campaigns: remains in recesses only."""
    remains = cut_at(smooth(rng, 1), float(rng.uniform(0, 0.06)))
    kept = np.array([n for n, one in enumerate(zone.stack) if one.kept], dtype=int)
    zone.present[kept] &= remains
    if rng.random() < 0.75:
        yield _treatment(head, "Stripped and painted anew", "195X", str(rng.choice(["done", ""])))
        yield _step(
            head,
            1,
            zone.code,
            str(rng.choice(["strip", "scrape"])),
            removed="1" if rng.random() < 0.6 and zone.stack[0].scheme == "1" else "",
        )


def _uncovered(zone: Zone, head: dict[str, Any], later: list[str], rng: np.random.Generator, knobs: Knobs) -> Rows:
    """The outermost campaign taken off, whole or in part, between the seasons."""
    outer = later[-1]
    zone.before = zone.present.copy()
    partly = rng.random() < 0.3
    left = float(rng.uniform(0.2, 0.6) if partly else rng.uniform(0, 0.03))
    taken = ~cut_at(smooth(rng, 1), left)
    zone.present[_rows_of(zone, [outer])] &= ~taken
    _scrape_beneath(zone, taken, outer, rng)
    area = round(zone.area_m2 * float(taken.mean()), 4)
    stated = {"removed_m2": area, "outcome": "partly" if partly else ""} if knobs.schema > 1 else {}
    when = f"{TREATED}-06"
    yield _treatment(head, "The last paint taken off", when, "partly" if partly else "done")
    yield _step(
        head,
        1,
        zone.code,
        str(rng.choice(["scrape", "solvent"])),
        removed=outer,
        stopped_at=_beneath(zone, outer),
        area_m2=zone.area_m2,
        **stated,
    )


def _window(zone: Zone, head: dict[str, Any], later: list[str], rng: np.random.Generator, knobs: Knobs) -> Rows:
    """A window through the later campaigns, recorded as a zone of its own."""
    cells = _patch(3, rng)
    zone.before = zone.present.copy()
    zone.present[np.ix_(np.array(_rows_of(zone, later)), np.flatnonzero(cells))] = False
    _scrape_beneath(zone, cells, later[0], rng)
    code = f"{zone.code}W"
    zone.windows[code] = cells
    area = round(zone.area_m2 * float(cells.mean()), 6)
    when = f"{TREATED}-05"
    yield (
        "zones",
        {
            "object": head["object"],
            "zone": code,
            "component": zone.part,
            "within": zone.code,
            "name": "window",
            "area_m2": area,
            "area_basis": "measured",
        },
    )
    yield _treatment(head, "A window down to the maker's finish", when)
    for n, scheme in enumerate(reversed(later)):
        stated = {"removed_m2": area} if knobs.schema > 1 else {}
        yield _step(
            head, n + 1, code, "scrape", removed=scheme, stopped_at=_beneath(zone, scheme), area_m2=area, **stated
        )


def _slip(zone: Zone, head: dict[str, Any], later: list[str], rng: np.random.Generator, knobs: Knobs) -> Rows:
    """A small trial on the zone itself, at which some of the maker's finish went too."""
    cells = _patch(2, rng)
    zone.before = zone.present.copy()
    lost = [n for n, one in enumerate(zone.stack) if one.scheme is not None]
    slipped = cells & (rng.random(CELLS) < 0.5)
    zone.present[np.ix_(np.array(_rows_of(zone, later)), np.flatnonzero(cells))] = False
    zone.present[np.ix_(np.array(lost), np.flatnonzero(slipped))] = False
    area = round(zone.area_m2 * float(cells.mean()), 6)
    when = f"{TREATED}-05"
    yield _treatment(head, "A trial", when)
    for n, scheme in enumerate(reversed([*(["1"] if zone.stack[0].scheme == "1" else []), *later])):
        share = float(slipped.mean()) if scheme == "1" else float(cells.mean())
        if share == 0:
            continue
        stated = {"removed_m2": round(zone.area_m2 * share, 6)} if knobs.schema > 1 else {}
        yield _step(head, n + 1, zone.code, "solvent", agent="acetone", removed=scheme, area_m2=area, **stated)


def _waxed(zone: Zone, head: dict[str, Any], rng: np.random.Generator) -> Rows:
    zone.before = np.vstack([zone.present, np.zeros((1, CELLS), dtype=bool)])
    zone.stack.append(coat(None, "wax", "", "", "unknown", rng))
    zone.present = np.vstack([zone.present, np.ones((1, CELLS), dtype=bool)])
    zone.thick = np.vstack([zone.thick, np.full((1, CELLS), 3.0)])
    yield _treatment(head, "Waxed", f"{TREATED}-03")
    yield _step(
        head,
        1,
        zone.code,
        "wax",
        agent="turpentine",
        application="cloth",
        adds="wax",
        adds_binder="wax",
        removable_with="dearomatised white spirit",
    )


def _scrape_beneath(zone: Zone, cells: np.ndarray, above: str, rng: np.random.Generator) -> None:
    """Now and then the blade takes what lies next beneath."""
    lower = _beneath(zone, above)
    if lower:
        rows = _rows_of(zone, [lower])
        zone.present[rows[-1]] &= ~(cells & (rng.random(CELLS) < 0.03))


def _beneath(zone: Zone, scheme: str) -> str:
    codes = list(dict.fromkeys(one.scheme for one in zone.stack if one.scheme is not None))
    at = codes.index(scheme)
    return codes[at - 1] if at else ""


def _patch(side: int, rng: np.random.Generator) -> np.ndarray:
    cells = np.zeros((SIDE, SIDE), dtype=bool)
    y, x = rng.integers(0, SIDE - side, 2)
    cells[y : y + side, x : x + side] = True
    return cells.ravel()
