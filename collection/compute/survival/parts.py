"""What the places of one part share: the surviving share of each, and draws that belong together.

Places of one part share what is uncertain about it; parts are independent of each other. Each end of a share has counts
of its own: a reading counts for the least it may mean at the low end, and for the most at the high end
(`model.weighing`).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from collection.compute.build_up.places import ALL, places_of
from collection.compute.case import Case
from collection.compute.survival.evidence import REMOVED, At, Evidence
from collection.compute.survival.model import posterior as model
from collection.compute.survival.model.lattice import DRAWS, shuffled
from collection.compute.survival.model.weighing import (
    ENDS,
    UNREAD,
    Seen,
    Weight,
    Weights,
    of_shares,
    weighed,
    weights_of,
)
from collection.records.policy import Interval

if TYPE_CHECKING:
    from collection.compute.survival.model.posterior import Array

Ends = tuple[model.Counts, model.Counts, model.Counts]


class Drawing(NamedTuple):
    """How the draws of a place are made: from its readings with a `dimension` of its own (none if never read), at most
    `most`; or evenly over a `whole` that was read directly. If some of its readings do not count for what the places of
    its part share, because they are history or count for the place around it, `shared` are those that do."""

    weights: Weights = UNREAD
    dimension: int = model.UNREAD
    most: float = 1.0
    whole: Interval | None = None
    shared: Ends | None = None


class Part:
    """The places of one part, which share its uncertainty."""

    def __init__(self, case: Case, evidence: Evidence, component: str | None, members: Sequence[str]) -> None:
        # On an object with parts, readings known only to lie somewhere on it say nothing about any one part.
        self.located = component is not None or not places_of(case).components
        self.own = {place: at for place in members if (at := evidence.own.get(place)) is not None}
        shared = {
            place: _every(at) for place, at in self.own.items() if at.state != REMOVED and place not in evidence.windows
        }
        in_order = sorted(
            (counts[1], counts[0], counts[2], place) for place, counts in shared.items() if counts[1] != model.NONE
        )
        self.shared = {place: shared[place] for *_, place in in_order}
        self.dimension = {
            place: model.FIRST + number
            for number, place in enumerate(
                [*self.shared, *(place for place in sorted(self.own) if place not in self.shared)]
            )
        }
        self.believed = tuple(
            model.posterior(model.pattern_of(counts[end] for counts in self.shared.values())) for end in ENDS
        )
        self.same = self.believed[0] is self.believed[1] is self.believed[2]
        self.key = f"{case.facts.object.object}/{component or ALL}"
        self._made: dict[tuple[Drawing, int], Array] = {}
        self._intervals: dict[Drawing, Interval] = {}

    def share(
        self, evidence: Evidence, place: str, source: str | None, at: At
    ) -> tuple[Interval, Interval, Drawing] | None:
        """The share of one place for which the readings of `source` count; the same share for sums, where work in a
        larger place is spread evenly over it; and how it is drawn. None where there is nothing to go by."""
        shown = self._drawing(evidence, place, source, at, evenly=False)
        if shown is None:
            return None
        even = self._drawing(evidence, place, source, at, evenly=True) if evidence.worked_on else shown
        share = self.interval(shown)
        return share, share if even in (None, shown) else self.interval(even or shown), even or shown

    def _drawing(self, evidence: Evidence, place: str, source: str | None, at: At, *, evenly: bool) -> Drawing | None:
        most = evidence.losses[0].get(place, 1.0)
        if at.whole is not None and (self.located or at.whole[0] == at.whole[2]):
            gone = [evidence.gone(r, place, evenly=evenly) for r in at.whole_rows]
            low, middle, high = (
                min(most, share * (1 - max(g[2 - end] for g in gone))) for end, share in enumerate(at.whole)
            )
            return Drawing(whole=(low, middle, high))
        if not self.located or not self.own:
            return None
        if source is None and not self.shared:
            return None
        if not evidence.worked_on:
            if source is None:
                return Drawing(most=most)
            weights = of_shares(tuple(r.share for r in at.rows))
        else:
            ever = evidence.ever_gone(place, evenly=evenly)
            weights = weights_of([Seen(r.share, evidence.gone(r, place, evenly=evenly)) for r in at.rows], ever)
            if source is None:
                return Drawing(weights, most=most)
        shared = self.shared.get(source, (model.NONE, model.NONE, model.NONE))
        return Drawing(
            weights,
            self.dimension.get(source, model.UNREAD),
            most,
            shared=None if shared == tuple(weight.every for weight in weights) else shared,
        )

    def interval(self, how: Drawing) -> Interval:
        """[low, middle, high] of the share of a place drawn this way."""
        if how.whole is not None:
            return how.whole
        if how not in self._intervals:
            if self.exact(how):
                self._intervals[how] = self._posterior(0, how).share(how.weights[0].every, how.most)
            else:
                low, middle, high = (self._end(how.weights[end], end, how) for end in ENDS)
                self._intervals[how] = min(low, middle), middle, max(middle, high)
        return self._intervals[how]

    def _end(self, weight: Weight, end: int, how: Drawing) -> float:
        believed = self._posterior(end, how)
        if not weight.since:
            return believed.share(weight.every, how.most)[end]
        return weighed(
            weight,
            lambda counts, left: left * believed.share(counts, min(1.0, how.most / left) if left else 1.0)[end],
            min,
            max,
        )

    def exact(self, how: Drawing) -> bool:
        """Whether its draws are the same at each end, because neither the words of the readings nor later work leave
        anything open."""
        one = how.weights[0]
        return how.whole is not None or (self.same and not one.since and one == how.weights[1] == how.weights[2])

    def _posterior(self, end: int, how: Drawing) -> model.Posterior:
        believed = self.believed[end]
        if how.shared is None:
            return believed
        others, own = list(believed.pattern), model.pattern_of([how.shared[end]])[0]
        if own in others:
            others.remove(own)
        return model.posterior(model.pattern_of([*others, how.weights[end].every]))

    def draws(self, how: Drawing, end: int) -> Array:
        """Joint draws of the shares of this part's places at one end; of shape (512,), read-only."""
        if (how, end) not in self._made:
            self._made[how, end] = sealed(self.in_own_order(self.drawn(how, end)))
        return self._made[how, end]

    def drawn(self, how: Drawing, end: int) -> Array:
        """The same, before they are put in the part's own order: draws of places of one part belong together."""
        import numpy as np

        if how.whole is not None:
            # If readings of the whole differ, the share may be anything between them.
            return np.linspace(how.whole[0], how.whole[2], DRAWS)
        weight = how.weights[end]
        believed = self._posterior(end, how)
        drawn: Array = weighed(
            weight, lambda counts, left: left * believed.draws(counts, how.dimension), np.minimum, np.maximum
        )
        return drawn if how.most >= 1 else _at_most(drawn, how.most)

    def in_own_order(self, drawn: Array) -> Array:
        """Draws in this part's own order, so that they are independent of those of other parts."""
        reordered: Array = drawn[shuffled(self.key)]
        return reordered


def _every(at: At) -> Ends:
    """What the place's readings that are not history count for in its part; a reading of the whole place counts as
    one."""
    weights = of_shares((at.whole,) if at.whole is not None else tuple(r.share for r in at.rows if not r.history))
    return weights[0].every, weights[1].every, weights[2].every


def _at_most(drawn: Array, most: float) -> Array:
    import numpy as np

    found: Array = np.minimum(drawn, most)
    return found


def sealed(drawn: Array) -> Array:
    drawn.flags.writeable = False
    return drawn
