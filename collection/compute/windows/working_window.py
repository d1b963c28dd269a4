"""One complete working window: what tests prove, ranked mixtures, what stops the best of them, the most telling test,
and what is missing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from collection.compute.build_up.places import places_of
from collection.compute.case import Case
from collection.compute.windows.arrest import Arrest, arresting
from collection.compute.windows.mixtures import jars_of, read_jar
from collection.compute.windows.proven_windows import Held, Proven, held_by_kept, ph_spans, proven_windows
from collection.compute.windows.spot_tests import Telling, most_telling
from collection.compute.windows.windows import (
    SPOT_TEST,
    Candidate,
    Pair,
    candidates,
    missing,
    rate_on_kept,
    spot,
    surely_harms,
)
from collection.language import cautions
from collection.language.sentences import counted
from collection.values.agents import Agent

LEAST_MARGIN = 0.2
"""Below this margin no mixture is said to part the coats; our own judgement."""
TOLD_ABOUT = 200
"""How many of the best candidates, besides the pure liquids, the most telling test is chosen from."""


@dataclass(frozen=True, eq=False)
class Window:
    """Everything that a window says; `where` is where to test first; `lay` says that the coat to keep is failing, so
    that no swab may touch it yet and no test is proposed."""

    pair: Pair
    proven: list[Proven]
    held: list[Held]
    ranked: list[Candidate]
    arrests: list[Arrest]
    telling: list[Telling]
    missing: list[str]
    where: str
    application: str
    dwell_s: float
    lay: bool

    @property
    def parts_well(self) -> bool:
        """Whether the best mixture's margin is large enough to say that it parts the coats."""
        return bool(self.ranked) and self.ranked[0].margin >= LEAST_MARGIN

    @property
    def note(self) -> str:
        return f"{SPOT_TEST} The shares come from models and say nothing about this coat until it is tested."

    @property
    def cautions(self) -> tuple[str, ...]:
        return (cautions.SOLVENT,)

    @property
    def standing(self) -> str:
        count, kept = (len({t.test.test for t in met}) for met in (self.pair.on_removed, self.pair.on_kept))
        binders = "; ".join(", ".join(coat.may_be) or "not recorded" for coat in (self.pair.remove, self.pair.keep))
        return (
            f"Based on {counted(count, 'recorded test')} on the coat to remove and {kept} on the coat to keep, and on what "
            f"is published about their binders ({binders})."
        )

    @property
    def to_stop(self) -> Agent | None:
        """The agent that the arresting liquids are for: that of the first proven window, else of the best mixture."""
        return self.proven[0].start.agent if self.proven else self.ranked[0].agent if self.ranked else None

    def as_json(self, object_code: str, count: int) -> dict[str, Any]:
        return {
            "format": 1,
            "object": object_code,
            "place": self.pair.place,
            "remove": self.pair.remove.thing,
            "keep": self.pair.keep.thing,
            "proven": [each.as_json() for each in self.proven],
            "kept_stood": [each.as_json() for each in self.held],
            "candidates": [each.as_json() for each in self.ranked[:count]],
            "arrest_of": None if self.to_stop is None else self.to_stop.text,
            "arrest": [each.as_json() for each in self.arrests],
            "ph": ph_spans(self.proven),
            "next_test": {
                "agent": self.telling[0].agent.text,
                "bits": self.telling[0].bits,
                "where": self.where,
                "application": self.application,
                "dwell_s": self.dwell_s,
            }
            if self.telling
            else None,
            "lay_first": self.lay,
            "missing": self.missing,
            "cautions": list(self.cautions),
            "note": self.note,
        }


def working_window(pair: Pair, liquids: Sequence[str]) -> Window:
    """The window between a coat to remove and a coat to keep, from these liquids, as `read_jar` reads them.

    :raises BadValue: for a liquid that cannot be read.
    """
    case = pair.case
    alone = [read_jar(text, case.reference.solvents) for text in liquids]
    pure = [jar.agent for jar in jars_of(alone, case.reference, most=1) if jar.ph is None]
    ranked = candidates(pair, jars_of(alone, case.reference))
    asked = list(
        {
            each.text: each
            for each in (*(c.agent for c in ranked[:TOLD_ABOUT]), *pure)
            if not surely_harms(pair, spot(case.policy, each))
        }.values()
    )
    lay = rate_on_kept(pair, spot(case.policy)).failing
    found = Window(
        pair,
        proven_windows(pair),
        held_by_kept(pair),
        ranked,
        [],
        [] if lay else most_telling(pair, ranked, asked),
        missing(pair),
        where_first(case, pair.place),
        case.policy.window.application,
        case.policy.window.dwell_s,
        lay,
    )
    if found.to_stop is None:
        return found
    return replace(found, arrests=arresting(pair, found.to_stop, pure))


def where_first(case: Case, place: str) -> str:
    """Where to test first: in the place if it is out of sight, else on its part where nobody looks."""
    places = places_of(case)
    zone = places.zones.get(place)
    if zone is not None and zone.visibility in ("hidden", "inconspicuous"):
        return f"in {place}, which is {zone.visibility}"
    part = places.component_of(place)
    kept = {reserve.place for reserve in case.facts.reserves}
    unseen = sorted(
        (z.visibility != "hidden", z.zone)
        for z in places.zones.values()
        if z.component == part and z.visibility in ("hidden", "inconspicuous") and z.zone not in kept
    )
    if unseen:
        return f"in {unseen[0][1]} first, where nobody looks"
    return f"at an inconspicuous edge of {place} first"
