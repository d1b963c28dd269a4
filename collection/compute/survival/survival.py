"""What survives of the maker's finish on one object: where, how much, how surely, as of when.

Points are evidence, areas are inference. People are told counts first, intervals second; an interval is [low, middle,
high]: the central 95 % and the expected value. `model` has the model of the areas, `evidence` which records count,
`survey` how places add up. Draws depend on the object and its parts, not on the question.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from collection.compute.build_up.places import places_of
from collection.compute.build_up.readings import samples_of
from collection.compute.case import Case, kept
from collection.compute.survival.decorations import DecorationSurvival, decoration_survival
from collection.compute.survival.evidence import Subject
from collection.compute.survival.figures import PlaceSurvival, Total
from collection.compute.survival.survey import Survey, original, survey
from collection.records.sheets import Scheme

if TYPE_CHECKING:
    from collection.compute.survival.model.posterior import Array

__all__ = [
    "SURVIVING",
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
    "survival_json",
    "surviving_at",
]

HOW_CHOSEN = {
    "random": "at random",
    "expected": "where it was expected",
    "at a loss": "at a loss",
    "": "not recorded how",
}


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
    """The maker's own finish on one object.

    `chosen` counts the spots by how they were chosen, "" = not said: samples are rarely random.
    """

    object: str
    title: str
    places: tuple[PlaceSurvival, ...]
    chosen: tuple[tuple[str, int], ...]

    @property
    def sentence(self) -> str:
        """The counts in a sentence, which people read first."""
        return counted(self.places_seen, self.places_read, self.traces)

    @property
    def without_share(self) -> int:
        """How many places have an area, but nothing to go by: parts that nobody has examined."""
        return sum(p.area_m2 is not None and p.share is None for p in self.places)

    @property
    def how_chosen(self) -> str:
        """How the places were chosen; empty where no place was looked at."""
        parts = ", ".join(f"{count} {HOW_CHOSEN[word]}" for word, count in self.chosen)
        return f"Places chosen: {parts}" if parts else ""


def counted(seen: int, read: int, traces: int) -> str:
    """Counts of places in a sentence, which people read first."""
    if not read:
        return "No place has been looked at for original finish"
    noun = "place" if read == 1 else "places"
    some = f" ({traces} trace{'s' if traces > 1 else ''})" if traces else ""
    return f"Original finish seen at {seen} of {read} {noun} looked at{some}"


@kept
def object_survival(case: Case) -> ObjectSurvival:
    """What survives of the original finish on an object; equal facts always give equal figures."""
    found, samples = original(case), samples_of(case)
    how = Counter(samples[reading.sample].chosen or "" for reading in found.counted)
    return ObjectSurvival(
        **found.total(case),
        object=case.facts.object.object,
        title=case.facts.object.title,
        places=found.places,
        chosen=tuple((word, how[word]) for word in HOW_CHOSEN if how[word]),
    )


SURVIVING = ("original exposed", "original fragmentary", "original covered")
"""The zone states in which original finish survives."""


def surviving_at(case: Case, place: str) -> set[str]:
    """The zone states with surviving original finish among the places that overlap one place."""
    places = places_of(case)
    return {
        row.state for row in object_survival(case).places if row.state in SURVIVING and places.overlap(row.place, place)
    }


@kept
def scheme_survival(case: Case) -> tuple[SchemeSurvival, ...]:
    """What survives of each scheme, in the order of their codes."""
    found = []
    for scheme in case.facts.schemes:
        own = _of_scheme(case, scheme)
        looked = tuple(p for p in own.places if p.place in own.read)
        found.append(SchemeSurvival(**own.total(case), scheme=scheme.scheme, period=scheme.period, places=looked))
    return tuple(found)


def survival_json(case: Case) -> dict[str, Any]:
    """The object, its schemes and its decorations as the `survival` command gives them; figures to 6 significant
    digits."""
    found = object_survival(case)
    return {
        "object": found.object,
        "title": found.title,
        **found.figures(),
        "sentence": found.sentence,
        "how_chosen": found.how_chosen,
        "places": [place.as_json() for place in found.places],
        "schemes": [scheme.as_json() for scheme in scheme_survival(case)],
        "decorations": [decoration.as_json() for decoration in decoration_survival(case)],
    }


def scheme_places(case: Case) -> list[tuple[str, PlaceSurvival]]:
    """Each scheme at each place where it was looked for; as in `scheme_survival`, without the sums."""
    return [
        (scheme.scheme, place)
        for scheme in case.facts.schemes
        for place in _of_scheme(case, scheme, only_read=True).places
    ]


def _of_scheme(case: Case, scheme: Scheme, *, only_read: bool = False) -> Survey:
    return survey(case, Subject(frozenset({scheme.scheme}), component=scheme.component), only_read=only_read)


def place_draws(case: Case) -> dict[str, Array]:
    """Joint draws of the surviving share of original finish, by place; each of shape (3, 512), 0-1: row 0 for the low
    end of sums, row 1 for their middle, row 2 for their high end, none above the next.

    A place with nothing to go by is left out. Draw i of every place belongs to the same state of the object, so that
    sums over places keep their interval; every question gets the same draws. Multiply them by `areas.place_areas`. The
    arrays are read-only.
    """
    return dict(original(case).draws)
