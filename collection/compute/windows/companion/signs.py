"""What to watch for at the swab: the signs that mean stop, whether this spot is still wet from the last test, and a
line on the dangers of each liquid.

Signs and waiting are common practice, no published source; how long to wait is the policy's judgement.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from collection.compute.build_up.coats import Coat
from collection.compute.build_up.places import places_of
from collection.compute.case import Case
from collection.compute.safety import Safety, safety
from collection.compute.windows.companion.coats import colours_of, tests_here
from collection.compute.windows.windows import Pair, spot
from collection.language.sentences import figure
from collection.records.facts import ProposalFacts, current, surely_in_state
from collection.records.sheets import Decoration, Proposal, Test
from collection.values import agents, dates
from collection.values.agents import Agent

WETTED = frozenset({"swelled", "softened", "lifted", "partly removed", "removed"})
"""Responses after which a film stays wet for a while."""


@dataclass(frozen=True, slots=True)
class Wait:
    """The last tests in a place, all of one day (None = not dated): `softened` are those that left a coat swollen or
    soft, `same_day` says whether that may be the day of the work."""

    day: str | None
    tests: tuple[str, ...]
    softened: tuple[str, ...]
    same_day: bool


def stop_signs(pair: Pair) -> tuple[str, ...]:
    """The signs that mean stop, most telling first: the kept coat's colour on the swab, a change in that coat,
    decoration nearby."""
    kept, gone = colours_of(pair.case, pair.keep), colours_of(pair.case, pair.remove)
    signs = []
    if not kept:
        signs.append(
            f"any colour comes other than that of the coat to remove{f' ({_or(gone)})' if gone else ''}: "
            f"{pair.keep.thing} has no colour on record"
        )
    elif _alike(kept, gone):
        signs.append(f"the swab is {_or(kept)}, as both coats are: colour alone tells you nothing, look with a loupe")
    else:
        signs.append(f"{_or(kept)} on the swab")
    signs.append("its gloss changes, it blanches, swells, or gives under a point")
    near = decorations_near(pair.case, pair.place)
    if near:
        signs.append("anything of " + _and([_in_words(row) for row in near]) + " is within reach of the wet edge")
    return tuple(signs)


def decorations_near(case: Case, place: str) -> tuple[Decoration, ...]:
    """Lettering, leaf and the like that may lie in or around a place and are not surely gone."""
    places = places_of(case)
    gone = surely_in_state(case.facts.decorations, "decoration", "state", ("lost", "not found"))
    return tuple(
        row
        for code, row in sorted(current(case.facts.decorations, "decoration").items())
        if code not in gone and places.overlap(row.place, place)
    )


def reserves_near(case: Case, place: str) -> tuple[str, ...]:
    """The codes of the reserves in or around a place, which have to stay untouched."""
    return tuple(dict.fromkeys(row.reserve for row in case.facts.reserves if places_of(case).overlap(row.place, place)))


def last_tests(case: Case, place: str, day: str | None) -> Wait | None:
    """The newest tests with a spot that may lie in a place; an undated one may be the newest.

    :param day: when the work goes on.
    """
    own = tests_here(case, place)
    if not own:
        return None
    newest = max(dates.bounds(test.tested_on).latest for test in own)
    last = [test for test in own if dates.bounds(test.tested_on).latest == newest]
    wet = {row.test for row in case.facts.responses if row.response in WETTED}
    now = dates.bounds(day)
    return Wait(
        last[0].tested_on,
        tuple(test.test for test in last),
        tuple(test.test for test in last if test.test in wet),
        any(_may_be_one_day(test, now) for test in last),
    )


def _may_be_one_day(test: Test, now: dates.Span) -> bool:
    tested = dates.bounds(test.tested_on)
    return tested.earliest <= now.latest and now.earliest <= tested.latest


def dangers(case: Case, place: str, used: Iterable[tuple[Agent, str]]) -> Safety:
    """The dangers of the liquids of a test and of what arrests it, and of the object, as for a proposal."""
    steps = [
        spot(case.policy, agent).model_copy(
            update={"object": case.facts.object.object, "place": place, "step": number, "action": purpose}
        )
        for number, (agent, purpose) in enumerate(used, 1)
    ]
    head = Proposal.model_construct(object=case.facts.object.object, proposal="bench", title="spot test")
    return safety(case, ProposalFacts(head, tuple(steps)))


def vapour(found: Safety) -> tuple[str, ...]:
    """A line for each liquid: what is known about its fire risk and its lowest 8-hour limit, and what is not."""
    lines = []
    for liquid in found.liquids:
        row = liquid.row
        if liquid.name == agents.WATER:
            continue
        parts = []
        if row is not None and row.flash is not None:
            parts.append(f"flash point {row.flash:g} °C")
        means = [limit for limit in liquid.limits if limit.kind == "8-hour mean" and limit.unit == "ppm"]
        if means:
            low = min(means, key=lambda limit: (limit.value, limit.body))
            parts.append(f"lowest 8-hour limit on record {figure(low.value)} ppm ({low.body})")
        lacking = [
            text
            for text, there in (
                ("flash point", row is not None and row.flash is not None),
                ("8-hour limit", bool(means)),
            )
            if not there
        ]
        if lacking:
            parts.append(f"no {' and no '.join(lacking)} on record")
        lines.append(f"{liquid.name}: {', '.join(parts)}")
    return tuple(lines)


def _alike(one: Sequence[str], other: Sequence[str]) -> bool:
    """Whether a colour of each ends in the same word: `dark red` and `red`."""
    return bool({text.casefold().split()[-1] for text in one} & {text.casefold().split()[-1] for text in other})


def _in_words(row: Decoration) -> str:
    return f"{row.kind} {row.decoration}"


def _or(texts: Sequence[str]) -> str:
    return " or ".join(texts[:3])


def _and(texts: Sequence[str]) -> str:
    return ", ".join(texts[:4]) + (f" and {len(texts) - 4} more" if len(texts) > 4 else "")


def coat_in_words(case: Case, coat: Coat) -> str:
    """`2/body colour, green`, or with its decoration's code."""
    colours = colours_of(case, coat)
    return f"{coat.thing}{f', {_or(colours)}' if colours else ''}"
