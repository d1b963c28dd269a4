"""What survives of the maker's finish on one object: where, how much, how surely, as of when.

Points are evidence, areas are inference. People are told counts first, intervals second; an interval is
[low, middle, high]: the central 95 % and the expected value. The model of the areas is in `posterior`,
which records count in `survival_evidence`, how places add up in `survival_parts`. Draws belong to the
object and its parts, not to the question.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from collection.compute.survival.decorations import DecorationSurvival, decoration_survival
from collection.compute.survival.evidence import Subject
from collection.compute.survival.figures import PlaceSurvival, Total
from collection.compute.survival.parts import Survey, original, survey
from collection.records.facts import Facts
from collection.records.sheets import Scheme

if TYPE_CHECKING:
    from collection.compute.survival.posterior import Array

__all__ = [
    "DecorationSurvival",
    "ObjectSurvival",
    "PlaceSurvival",
    "SchemeSurvival",
    "Total",
    "counted",
    "decoration_survival",
    "object_survival",
    "place_draws",
    "scheme_places",
    "scheme_survival",
]

HOW_CHOSEN = {"random": "at random", "expected": "where it was expected", "at a loss": "at a loss", "": "not said how"}


@dataclass(frozen=True, slots=True)
class SchemeSurvival(Total):
    """One scheme; `places` are those where it was looked for."""

    scheme: str
    period: str
    places: tuple[PlaceSurvival, ...]

    def as_json(self) -> dict[str, Any]:
        """The scheme as JSON; figures to 6 significant digits."""
        return {
            "scheme": self.scheme,
            "period": self.period,
            **self.figures(),
            "places": [place.as_json() for place in self.places],
        }


@dataclass(frozen=True, slots=True)
class ObjectSurvival(Total):
    """The maker's own finish on one object, and the same for each of its schemes.

    `chosen` counts the spots by how they were chosen, "" = not said: samples are rarely random.
    """

    object: str
    title: str
    places: tuple[PlaceSurvival, ...]
    chosen: tuple[tuple[str, int], ...]
    facts: Facts = field(repr=False, compare=False)

    @property
    def schemes(self) -> tuple[SchemeSurvival, ...]:
        """The same for each scheme."""
        return scheme_survival(self.facts)

    @property
    def decorations(self) -> tuple[DecorationSurvival, ...]:
        """The same for each decoration."""
        return decoration_survival(self.facts)

    @property
    def sentence(self) -> str:
        """The counts, as people read them first."""
        return counted(self.places_seen, self.places_read, self.traces)

    @property
    def without_share(self) -> int:
        """How many places have an area, but nothing to go by: parts that nobody has examined."""
        return sum(p.area_m2 is not None and p.share is None for p in self.places)

    @property
    def how_chosen(self) -> str:
        """How the places were chosen; empty where none was looked at."""
        parts = ", ".join(f"{count} {HOW_CHOSEN[word]}" for word, count in self.chosen)
        return f"Places chosen: {parts}" if parts else ""

    def as_json(self) -> dict[str, Any]:
        """The object as the `survival` command gives it; figures to 6 significant digits."""
        return {
            "object": self.object,
            "title": self.title,
            **self.figures(),
            "sentence": self.sentence,
            "how_chosen": self.how_chosen,
            "places": [place.as_json() for place in self.places],
            "schemes": [scheme.as_json() for scheme in self.schemes],
            "decorations": [decoration.as_json() for decoration in self.decorations],
        }


def counted(seen: int, read: int, traces: int) -> str:
    """Counts of places as people read them first."""
    if not read:
        return "No place has been looked at for original finish"
    noun = "place" if read == 1 else "places"
    some = f" ({traces} trace{'s' if traces > 1 else ''})" if traces else ""
    return f"Original finish seen at {seen} of {read} {noun} looked at{some}"


def object_survival(facts: Facts) -> ObjectSurvival:
    """What survives of the original finish on an object; equal facts always give equal figures."""
    return _object_survival(facts)


@lru_cache(maxsize=16)
def _object_survival(facts: Facts) -> ObjectSurvival:
    found = original(facts)
    how = Counter(found.evidence.chosen)
    return ObjectSurvival(
        **found.total(),
        object=facts.object.object,
        title=facts.object.title,
        places=found.places,
        chosen=tuple((word, how[word]) for word in HOW_CHOSEN if how[word]),
        facts=facts,
    )


def scheme_survival(facts: Facts) -> tuple[SchemeSurvival, ...]:
    """What survives of each scheme, in the order of their codes."""
    return _scheme_survival(facts)


@lru_cache(maxsize=16)
def _scheme_survival(facts: Facts) -> tuple[SchemeSurvival, ...]:
    found = []
    for scheme in facts.schemes:
        own = _of_scheme(facts, scheme)
        looked = tuple(p for p in own.places if p.place in own.evidence.own)
        found.append(SchemeSurvival(**own.total(), scheme=scheme.scheme, period=scheme.period, places=looked))
    return tuple(found)


def scheme_places(facts: Facts) -> list[tuple[str, PlaceSurvival]]:
    """Each scheme at each place where it was looked for; as in `scheme_survival`, without the sums."""
    return [
        (scheme.scheme, place) for scheme in facts.schemes for place in _of_scheme(facts, scheme, only_read=True).places
    ]


def _of_scheme(facts: Facts, scheme: Scheme, *, only_read: bool = False) -> Survey:
    return survey(facts, Subject(frozenset({scheme.scheme}), component=scheme.component), only_read=only_read)


def place_draws(facts: Facts) -> dict[str, Array]:
    """Joint draws of the surviving share of original finish, by place; each of shape (3, 512), 0-1: row 0 for the low
    end of sums, row 1 for their middle, row 2 for their high end, none above the next.

    A place with nothing to go by is left out. Draw i of every place belongs to the same state of the
    object, so that sums over places keep their interval; every question gets the same draws. Weigh them
    with `areas.place_areas`. The arrays are read-only.
    """
    return dict(original(facts).draws)
