"""The arithmetic of loss: what an ordered list of steps takes from one kept coat under others.

All shares are of the kept coat's own area. `low` holds for any overlap of the gaps in the coats above, `middle` for
independent coats, `high` for any overlap and for liquids that seep through; in `high` a coat shields only if evidence
shows it unaffected so far. Own derivation; its laws are property tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from collection.records.policy import Interval

Rates = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class StepEffect:
    """What one step does to a stack.

    `covers` are the rates [L, M, U] on each coat above the kept one, outermost first; `kept` those on the kept coat.
    With `cut` the rates are shares of all that is there, not of what is touched: a blade reaches through the coats
    above. `adds` lays a new coat on top after the step; `area` is the share of the place that the step covers.
    """

    covers: tuple[Rates, ...]
    kept: Rates
    cut: bool = False
    adds: bool = False
    area: Interval = (1.0, 1.0, 1.0)


@dataclass(frozen=True, slots=True)
class StepLoss:
    """The state after one step: the share lost so far, the largest share it may have touched and the share it is
    expected to have touched, as if every step covered the whole place; `of_place` is the share lost with the areas that
    the steps really cover."""

    lost: Interval
    contact: float
    opened: float
    of_place: Interval


def losses(covers: Sequence[Interval], steps: Sequence[StepEffect], surely_above: Sequence[bool]) -> list[StepLoss]:
    """The kept coat's loss after each step.

    `covers`: [low, middle, high] cover of each coat above the kept one, outermost first; `surely_above`
    says which of them surely lie above it: only those can shield in the high end.
    """
    low, (middle, opened), high = _low(covers, steps), _middle(covers, steps), _high(covers, steps, surely_above)
    # Rounding in the last digits must not turn an interval the wrong way round.
    lost = [(min(a, b), min(b, c), c) for a, b, (c, _) in zip(low, middle, high, strict=True)]
    return [
        StepLoss(whole, touched, open_share, of_place)
        for whole, (_, touched), open_share, of_place in zip(
            lost, high, opened, _of_place(covers, steps, lost), strict=True
        )
    ]


def _of_place(covers: Sequence[Interval], steps: Sequence[StepEffect], lost: Sequence[Interval]) -> list[Interval]:
    """What is lost by steps that cover part of the place: the low end holds wherever those parts lie, the middle
    assumes that smaller ones lie within larger ones, the high end adds them up."""
    if all(step.area == (1.0, 1.0, 1.0) for step in steps):
        return list(lost)
    low = _low(
        covers,
        [
            replace(
                step,
                covers=tuple((r[0] * step.area[0], *r[1:]) for r in step.covers),
                kept=(step.kept[0] * step.area[0], *step.kept[1:]),
            )
            for step in steps
        ],
    )
    middle, high, found = _nested(covers, steps), 0.0, []
    for step, least, expected, whole in zip(steps, low, middle, lost, strict=True):
        high += step.kept[2] * step.area[2]
        most = min(high, whole[2])
        found.append((min(least, most), min(max(expected, least), most), most))
    return found


def _nested(covers: Sequence[Interval], steps: Sequence[StepEffect]) -> list[float]:
    """The middle of the loss if smaller parts lie within larger ones: each ring with the steps that reach it."""
    sums, inner = [0.0] * len(steps), 0.0
    for outer in sorted({step.area[1] for step in steps}):
        reaching = [at for at, step in enumerate(steps) if step.area[1] >= outer]
        lost = dict(zip(reaching, _middle(covers, [steps[at] for at in reaching])[0], strict=True))
        now = 0.0
        for at in range(len(steps)):
            now = lost.get(at, now)
            sums[at] += now * (outer - inner)
        inner = outer
    return sums


def _low(covers: Sequence[Interval], steps: Sequence[StepEffect]) -> list[float]:
    """The least loss for any overlap of gaps: coat j is surely open on R_j − Σ R_i of the coats above."""
    rest = [c[2] for c in covers]
    kept, added, found = 1.0, 0.0, []
    for step in steps:
        if step.cut:
            rest = [r * (1 - rate[0]) for r, rate in zip(rest, step.covers, strict=True)]
            kept *= 1 - step.kept[0]
        else:
            above = added
            for j, rate in enumerate(step.covers):
                rest[j] -= rate[0] * max(0.0, rest[j] - above)
                above += rest[j]
            kept -= step.kept[0] * max(0.0, kept - above)
        if step.adds:
            added = 1.0
        found.append(1 - kept)
    return found


def _middle(covers: Sequence[Interval], steps: Sequence[StepEffect]) -> tuple[list[float], list[float]]:
    """The loss if the coats' gaps are independent, and the share that has lain open to a step so far: f_j is the share
    on which coat j lies outermost."""
    cover = [c[1] for c in covers]
    n = len(cover)
    f, open_share = [], 1.0
    for c in cover:
        f.append(open_share * c)
        open_share *= 1 - c
    f.append(open_share)
    added, lost, found = 0.0, 0.0, []
    touched, opened = 0.0, []
    for step in steps:
        if step.cut:
            gone = step.kept[1]
            touched = max(touched, f[n], gone)
            lost += (sum(f) + added) * gone
            f = [share * (1 - gone) for share in f]
            added *= 1 - gone
            _open(
                f,
                cover,
                [0.0 if gone >= 1 else min(1.0, max(0.0, (rate[1] - gone) / (1 - gone))) for rate in step.covers],
            )
        else:
            if added:
                # For an added coat nothing is recorded, so it takes a fixed middle rate.
                _spread(f, cover, added * ADDED_COAT_RATE)
                added *= 1 - ADDED_COAT_RATE
            _open(f, cover, [rate[1] for rate in step.covers])
            touched = max(touched, f[n])
            taken = f[n] * step.kept[1]
            f[n] -= taken
            lost += taken
        if step.adds:
            added = added + sum(f)
            f = [0.0] * (n + 1)
        found.append(lost)
        opened.append(touched)
    return found, opened


ADDED_COAT_RATE = 0.5
"""The middle rate for a coat that a step of the same proposal added: nothing about it is recorded."""


def _open(f: list[float], cover: Sequence[float], rates: Sequence[float]) -> None:
    """Take from each coat its rate of what lies outermost, from the outside inward, and move it to what then lies
    open."""
    moving = 0.0
    for j, (c, rate) in enumerate(zip(cover, rates, strict=True)):
        here = f[j] + moving * c
        taken = here * rate
        f[j] = here - taken
        moving = moving * (1 - c) + taken
    f[-1] += moving


def _spread(f: list[float], cover: Sequence[float], moved: float) -> None:
    for i, c in enumerate(cover):
        f[i] += moved * c
        moved *= 1 - c
    f[-1] += moved


def _high(
    covers: Sequence[Interval], steps: Sequence[StepEffect], surely_above: Sequence[bool]
) -> list[tuple[float, float]]:
    """The most that may be lost, and the share that may have been touched, after each step."""
    shields = list(surely_above)
    sigma, bare, found = 1.0, 0.0, []
    for step in steps:
        shields = [still and rate[2] == 0 for still, rate in zip(shields, step.covers, strict=True)]
        shielded = min(sigma, max((c[0] for c, still in zip(covers, shields, strict=True) if still), default=0.0))
        if step.cut and step.kept[2] > 0:
            shielded = 0.0
        bare = (bare + sigma - shielded) * (1 - step.kept[2])
        sigma = shielded
        found.append((1 - sigma - bare, 1 - sigma))
    return found
