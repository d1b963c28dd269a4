"""How much the readings of one place count at each end of its share, before and after documented removals.

A reading counts as the share of its spot that it gives: the least that it may mean at the low end, the most at the high
end. That share is multiplied by what later work left of the place: as little as it may have left at the low end, as
much as it may have left at the high end. If a place was read several times, each time gives an answer from its own and
later readings, times what work has left since; the best answer counts, but none counts for more than all readings
together. Own derivation; its laws are property tests.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import NamedTuple, TypeVar

from collection.compute.build_up.removals import NOTHING
from collection.compute.survival.model.posterior import NONE, Counts, in_steps
from collection.records.policy import Interval

ENDS = (0, 1, 2)
Value = TypeVar("Value")


class Seen(NamedTuple):
    """One reading: the share of its spot that was there, and the share of the place that work took off since."""

    share: Interval
    gone: Interval = NOTHING


class Since(NamedTuple):
    """What was seen at one time and after it, at most `most`, and the share that later work left of it."""

    seen: Counts
    most: Counts
    left: float


class Weight(NamedTuple):
    """One end of a place's share: `every` reading together and, where work came between readings, what counts since
    each time."""

    every: Counts = NONE
    since: tuple[Since, ...] = ()


Weights = tuple[Weight, Weight, Weight]
UNREAD: Weights = (Weight(), Weight(), Weight())


def weights_of(seen: Sequence[Seen], ever: Interval = NOTHING) -> Weights:
    """The weights of a place's readings; `ever` is the share of the place that all work on record took off, which
    counts where nothing was found or nobody looked."""
    if ever == NOTHING and all(s.gone == NOTHING for s in seen):
        return of_shares(tuple(s.share for s in seen))
    low, middle, high = (_weight(seen, ever, end) for end in ENDS)
    return low, middle, high


@lru_cache(maxsize=4096)
def of_shares(shares: tuple[Interval, ...]) -> Weights:
    """The weights of readings that give these shares, where no removal is on record."""
    seen = [Seen(share) for share in shares]
    return Weight(_counts(seen, 0)), Weight(_counts(seen, 1)), Weight(_counts(seen, 2))


def _weight(seen: Sequence[Seen], ever: Interval, end: int) -> Weight:
    other = 2 - end
    every = _counts(seen, end)
    times = sorted({s.gone[other] for s in seen if s.share[end]})
    if not times:
        # Work explains an absence, so at the high end no absence counts against what the work is assumed to have left.
        bare = NONE if end == 2 else every
        return Weight(every, (Since(bare, bare, 1 - ever[other]),) if ever[2] else ())
    if times == [0.0]:
        return Weight(every)
    since = []
    for time in times:
        seen_since, most = _counts([s for s in seen if s.gone[other] <= time], end), every
        if end == 2:
            # An absence after the work may be due to the work: it counts against what was there before only in `every`.
            absent = _counts([s for s in seen if s.gone[other] == time], end)[1]
            seen_since = seen_since[0], absent
            most = every[0], _counts([s for s in seen if s.gone[other] >= time], end)[1]
        since.append(Since(seen_since, most, 1 - time))
    return Weight(every, tuple(since))


def _counts(seen: Sequence[Seen], end: int) -> Counts:
    return in_steps(math.fsum(s.share[end] for s in seen), len(seen), end)


def weighed(
    weight: Weight,
    share: Callable[[Counts, float], Value],
    least: Callable[[Value, Value], Value],
    most: Callable[[Value, Value], Value],
) -> Value:
    """One end of a share, or draws of it. `share` computes it from counts and from what work left; `least` and `most`
    return the smaller and the larger of two."""
    every = share(weight.every, 1.0)
    if not weight.since:
        return every
    first, *rest = (least(share(then.seen, then.left), share(then.most, then.left)) for then in weight.since)
    for further in rest:
        first = most(first, further)
    return least(every, first)
