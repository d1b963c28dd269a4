"""What work truly takes of a zone of the made world, and the smooth random fields that losses follow.

What is assumed stands in `truth`.
"""

from __future__ import annotations

import numpy as np
from world.materials import FORCE, TOUCH
from world.truth import CELLS, SIDE, Step, Zone


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
        asked = step.depth_um or 0.0
        sd = step.depth_sd_um if step.depth_sd_um is not None else 0.2 * asked
        depth = asked + sd * hand
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
