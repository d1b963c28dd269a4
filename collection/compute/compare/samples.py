"""Samples that disagree with earlier ones of the same place: another stack, as far down as both were read.

Two stacks are aligned as in the stratigraphy, the surveyor's schemes as fixed points. Dirt, wax and the like differ from
spot to spot, and so does painted decoration, which does not cover its place: neither counts, unless it was looked for
and not found. A reading that stops short says nothing of what lies deeper; one of the bare surface only of what lies
outermost. One earlier sample that agrees is enough. Common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from collection.compute.build_up.places import places_of
from collection.compute.build_up.readings import coverage_level, is_absent, layers_by_sample, original_schemes, profiles
from collection.compute.case import Case
from collection.compute.compare.sides import Sides
from collection.compute.stratigraphy.alignment import align
from collection.compute.stratigraphy.likeness import fixed, kind_of, likeness
from collection.language.words import FOREIGN_ROLES
from collection.records.sheets import Layer, Sample
from collection.values import dates

PATCHY = frozenset({"lining", "lettering", "ornament", "transfer", "retouching"})
"""Roles that do not cover their place, so that a spot without them says nothing."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One coat that only one of two samples has, or that each describes in another way; `then` in the earlier sample,
    `now` in the later."""

    then: Layer | None
    now: Layer | None
    looked: bool = False
    """Whether the sample without it says that it was looked for."""


@dataclass(frozen=True, slots=True)
class Disagreement:
    """A later sample against the most similar earlier one of its place. `by` are treatments between them that may be
    why; `original` = original finish of the earlier sample is missing in the later one."""

    place: str
    then: str
    now: str
    differences: tuple[Difference, ...]
    original: bool
    by: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        return {
            "place": self.place,
            "then": self.then,
            "now": self.now,
            "original_missing": self.original,
            "by": list(self.by),
            "differences": [
                {"then": _coat(each.then), "now": _coat(each.now), "looked_for": each.looked}
                for each in self.differences
            ],
        }


def disagreements(case: Case, sides: Sides) -> tuple[Disagreement, ...]:
    """The later samples that differ from every earlier one of their place; original finish missing first."""
    found = []
    for now in sides.later.brought.samples:
        earlier = [
            then
            for then in sides.earlier.brought.samples
            if then.place == now.place
            and then.sample != now.sample
            and then not in sides.later.brought.samples
            and not dates.surely_before(now.taken_on, then.taken_on)
        ]
        known = profiles(case)
        if now.sample not in known:
            continue
        compared = [(differences(case, then, now), then) for then in earlier if then.sample in known]
        if not compared or any(not found for found, _ in compared):
            continue
        fewest, then = min(compared, key=lambda pair: (len(pair[0]), pair[1].sample))
        found.append(
            Disagreement(
                now.place,
                then.sample,
                now.sample,
                fewest,
                _original_missing(case, then, now, fewest),
                _work_between(case, sides, now.place),
            )
        )
    return tuple(sorted(found, key=lambda each: (bool(each.by), not each.original, each.place, each.now)))


def differences(case: Case, then: Sample, now: Sample) -> tuple[Difference, ...]:
    """What two samples of one place cannot both be right about, from outside inward; none = they agree."""
    stacks = [_stack(case, sample) for sample in (then, now)]
    if "surface" in (then.method, now.method):
        outer = [stack[-1] if stack else None for stack in stacks]
        one, other = outer
        if one is None or other is None or _broken(one) or _broken(other) or _alike(one, other):
            return ()
        return (Difference(one, other),)
    reaches = [sample.reaches_support == "yes" for sample in (then, now)]
    coats = [*stacks[0], *stacks[1]]
    if not all(stacks):
        # One shows the bare support: every coat of the other is missing there, if both were read down to it.
        return tuple(_missing(case, then, now, coats[::-1])) if all(reaches) else ()
    numbers = [list(range(len(stacks[0]))), list(range(len(stacks[0]), len(coats)))]
    plain = likeness(coats)
    found: list[list[Difference]] = []
    # Of alignments that are equally good the one that claims less counts, so it does not matter which sample is first.
    for order in ((0, 1), (1, 0)):
        columns = align([numbers[at] for at in order], plain + fixed(coats), [reaches[at] for at in order]).columns
        read_from = max(
            0 if reach else min(at for at, column in enumerate(columns) if set(column) & set(stack))
            for stack, reach in zip(numbers, reaches, strict=True)
        )
        found.append([])
        for column in reversed(columns[read_from:]):
            own = [coats[number] for number in sorted(column)]
            if len(own) == 1:
                found[-1] += _missing(case, then, now, own)
            elif plain[tuple(sorted(column))] <= 0:
                found[-1].append(Difference(own[0], own[1]))
    forth, back = found
    return tuple(back if len(back) < len(forth) else forth)


def _stack(case: Case, sample: Sample) -> list[Layer]:
    """A sample's coats from the support outward, without dirt and the like."""
    rows = reversed(layers_by_sample(case)[sample.sample])
    return [row for row in rows if not is_absent(row) and row.role not in FOREIGN_ROLES]


def _broken(coat: Layer) -> bool:
    return coverage_level(coat) in ("partial", "trace")


def _alike(one: Layer, other: Layer) -> bool:
    """Whether two coats that lie outermost may be one."""
    return bool((likeness([one, other]) + fixed([one, other]))[0, 1] > 0) and kind_of(one.role) == kind_of(other.role)


def _missing(case: Case, then: Sample, now: Sample, coats: Sequence[Layer]) -> Iterator[Difference]:
    """Coats that one of two samples has and the other should have too."""
    for coat in coats:
        looked = _looked_for(case, then, now, coat)
        if not _broken(coat) and (looked or coat.role not in PATCHY):
            yield Difference(coat, None, looked) if coat.sample == then.sample else Difference(None, coat, looked)


def _looked_for(case: Case, then: Sample, now: Sample, coat: Layer) -> bool:
    """Whether the sample without a coat has a row that says it was looked for and is absent."""
    other = now if coat.sample == then.sample else then
    return any(
        is_absent(row) and row.scheme == coat.scheme and row.role == coat.role
        for row in layers_by_sample(case)[other.sample]
    )


def _original_missing(case: Case, then: Sample, now: Sample, found: Sequence[Difference]) -> bool:
    """Whether the later sample lacks original finish of the earlier; of a bare surface, whether deeper original finish
    lies open in its stead."""
    schemes = set(original_schemes(case))

    def is_original(coat: Layer | None) -> bool:
        return coat is not None and (coat.scheme in schemes or (not coat.scheme and coat.period == "original"))

    surface = "surface" in (then.method, now.method)
    return any(is_original(d.then) and (is_original(d.now) if surface else d.now is None) for d in found)


def _work_between(case: Case, sides: Sides, place: str) -> tuple[str, ...]:
    """Work since the earlier side that changed the coats of a place."""
    places = places_of(case)
    changing = {
        step.treatment
        for step in case.facts.treatment_steps
        if (step.removed or step.adds or step.stopped_at) and places.overlap(step.place, place)
    }
    return tuple(t.treatment for t in case.facts.treatments if t.treatment in changing and sides.since(t) is not False)


def _coat(layer: Layer | None) -> dict[str, Any] | None:
    return (
        None
        if layer is None
        else {
            "sample": layer.sample,
            "position": layer.position,
            "scheme": layer.scheme,
            "role": layer.role,
            "colour": layer.colour,
        }
    )
