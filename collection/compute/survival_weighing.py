"""How the readings of one place weigh at each end of its share, before and after documented removals.

A reading counts as the share of its spot that it says: the least of it at the low end, the most at the high end. What
work later than a reading took off is a share of the place, by which what that reading stands for is multiplied: at the
low end the most of it, at the high end the least. Of a place read at several times each day is asked what it leaves
of the readings up to there; the best answer stands, but none above what all readings say together. Own derivation; its
laws are property tests.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple, TypeVar

from collection.compute.posterior import NONE, Counts, in_steps
from collection.compute.removals import NOTHING
from collection.policy import Interval

ENDS = (0, 1, 2)
Value = TypeVar("Value")


class Seen(NamedTuple):
    """One reading: the share of its spot that was there, and the share of the place that work took off since."""

    share: Interval
    gone: Interval = NOTHING


class Weight(NamedTuple):
    """One end of a place's share: `every` reading together, and where work came between, each time's readings with the
    share that work later than that time left."""

    every: Counts = NONE
    since: tuple[tuple[Counts, float], ...] = ()


Weights = tuple[Weight, Weight, Weight]
UNREAD: Weights = (Weight(), Weight(), Weight())


def weights_of(seen: Sequence[Seen], ever: Interval = NOTHING) -> Weights:
    """The weights of a place's readings; `ever` is the share of the place that all work on record took off, which
    speaks where nothing was found, or nobody looked."""
    low, middle, high = (_weight(seen, ever, end) for end in ENDS)
    return low, middle, high


def _weight(seen: Sequence[Seen], ever: Interval, end: int) -> Weight:
    other = 2 - end
    every = _counts(seen, end)
    times = sorted({s.gone[other] for s in seen if s.share[end]})
    if not times:
        # Work explains an absence: at the high end none speaks against what work is taken to have left.
        return Weight(every, ((NONE if end == 2 else every, 1 - ever[other]),) if ever[2] else ())
    if times == [0.0]:
        return Weight(every)
    since = []
    for time in times:
        upto = [s for s in seen if s.gone[other] <= time]
        present, absent = _counts(upto, end)
        if end == 2:
            # An absence after the work may be the work's: it speaks against what was there before only in `every`.
            absent = _counts([s for s in upto if s.gone[other] == time], end)[1]
        since.append(((present, absent), 1 - time))
    return Weight(every, tuple(since))


def _counts(seen: Sequence[Seen], end: int) -> Counts:
    return in_steps(sum(s.share[end] for s in seen), len(seen), end)


def weighed(weight: Weight, share: Callable[[Counts, float], Value], least: Callable[[Value, Value], Value],
            most: Callable[[Value, Value], Value]) -> Value:
    """One end of a share, or draws of it. `share` gives it from counts and from what work left, `least` and `most` are
    the smaller and the larger of two."""
    every = share(weight.every, 1.0)
    if not weight.since:
        return every
    first, *rest = (share(counts, left) for counts, left in weight.since)
    for further in rest:
        first = most(first, further)
    return least(every, first)
