"""What is at hand beside the swab: the jars and their mixtures, and what tests in this place did."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from collection.compute.effects.trials import Trial, conditions_of, may_be_milder
from collection.compute.windows.companion.coats import tests_here
from collection.compute.windows.companion.ladder import Tried, tried_here
from collection.compute.windows.mixtures import Jar, jars_of
from collection.compute.windows.windows import Pair, spot
from collection.records.sheets import ProposalStep
from collection.values import agents

LIQUIDS_MIXED = 2
"""A mixture of three liquids changes two things at once, and nobody mixes one by eye at the bench; jars mixed
beforehand may hold more."""


@dataclass(frozen=True)
class AtHand:
    """The jars that may be tried on a pair of coats, applied by `application`, and the trials of tests in this place
    (`codes`) on either coat. `held_back` are jars whose tests cannot be read, `doubtful` those tests."""

    pair: Pair
    jars: tuple[Jar, ...]
    application: str | None
    codes: frozenset[str]
    on_removed: tuple[Trial, ...]
    on_kept: tuple[Trial, ...]
    doubtful: frozenset[str]
    held_back: frozenset[str]

    def holds(self, jar: Jar) -> bool:
        """Whether a jar is at hand, or can be mixed from those that are."""
        return any(each.text == jar.text for each in self.jars)

    def harmed(self) -> list[Trial]:
        """The tests that did something to the coat to keep."""
        return [t for t in self.on_kept if t.high > 0]

    def idle(self) -> list[Trial]:
        """The tests of jars that never did anything to the coat to remove."""
        acted = {jar_of(t).text for t in self.on_removed if t.high > 0}
        return [t for t in self.on_removed if jar_of(t).text not in acted]

    def tried(self) -> list[Tried]:
        """The tests made here that can be read, oldest first."""
        every = tried_here(self.on_removed, self.on_kept)
        return [each for each in every if each.trial.test.test not in self.doubtful]

    def swab(self, jar: Jar) -> ProposalStep:
        """A spot test of a jar in this place."""
        step = spot(self.pair.case.policy, jar, application=self.application)
        return step.model_copy(update={"place": self.pair.place})

    def tells_nothing_new(self, jar: Jar) -> bool:
        """Whether tests that may have been as harsh as a spot test of a jar have results on both coats, or did nothing
        to the one to remove."""
        conditions, policy = conditions_of(self.swab(jar), jar.agent), self.pair.case.policy
        removed, kept = (
            [
                t
                for t in met
                if jar_of(t).text == jar.text
                and may_be_milder(conditions, t.conditions, aqueous=jar.agent.aqueous, policy=policy)
            ]
            for met in (self.on_removed, self.on_kept)
        )
        return bool(removed and (kept or all(t.high == 0 for t in removed)))


def at_hand(pair: Pair, bottles: Sequence[Jar], application: str | None, doubtful: Collection[str]) -> AtHand:
    """What is at hand for a pair of coats, from the bottles and their mixtures.

    :param doubtful: tests that cannot be fully read: what they were made with is not tried again.
    """
    reference, own = pair.case.reference, tests_here(pair.case, pair.place)
    codes = frozenset(test.test for test in own)
    held_back = frozenset(
        Jar(agents.parse(test.agent, reference.solvents), test.ph).text for test in own if test.test in doubtful
    )
    return AtHand(
        pair,
        tuple(jar for jar in jars_of(bottles, reference, most=LIQUIDS_MIXED) if jar.text not in held_back),
        application,
        codes,
        tuple(t for t in pair.on_removed if t.test.test in codes),
        tuple(t for t in pair.on_kept if t.test.test in codes),
        frozenset(doubtful),
        held_back,
    )


def jar_of(trial: Trial) -> Jar:
    """What a test was made with."""
    return Jar(trial.agent, trial.test.ph)
