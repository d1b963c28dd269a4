"""Logged hours: which steps of recorded work say how long how much surface took, and why the others do not.

A step counts when it says its own hours and how much surface it was, and came out done or partly. What was partly done
counts with the surface that was worked on.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from collection.compute.build_up.places import ALL, places_of
from collection.compute.case import Case, kept
from collection.records.sheets import ProposalStep, Treatment, TreatmentStep

OTHER = "other"
"""The action of whatever has no word of its own: two such steps are not of one kind."""
WHOLE = ("drain", "oil mechanism", "operate", "move", "display outdoors", "dismantle")
"""Actions whose hours do not grow with the surface."""
FAILED, PARTLY = "tried and failed", "partly"
NO_BINDER = ("unknown", "mixed")
NO_HOURS, NO_AREA, SHARED = "says no hours", "says hours but no area", "shares its hours with steps that say none"
TRIED, NO_KIND, NOT_BY_AREA = "was tried and failed", "is work of no named kind", "is not work by the square metre"
WHY_NOT = (NO_HOURS, NO_AREA, SHARED, TRIED, NO_KIND, NOT_BY_AREA)
"""Why a logged step says nothing about hours per m², as said of one of them, in the order in which it is told."""
_OF_SEVERAL = {
    NO_HOURS: "say no hours",
    NO_AREA: "say hours but no area",
    SHARED: "share their hours with steps that say none",
    TRIED: "were tried and failed",
    NO_KIND: "are work of no named kind",
    NOT_BY_AREA: "are not work by the square metre",
}


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of work: its action, and the binder of the coat taken off, or put on where none was; None = not known."""

    action: str
    binder: str | None = None

    def said(self) -> str:
        return self.action if self.binder in (None, self.action) else f"{self.action}, {self.binder}"


@dataclass(frozen=True, slots=True)
class Log:
    """One step that counts: `hours` for `area_m2`, at one part of one object (`part`: `OBJECT/PART`), by `worker`
    ("" = not said). `key` is the step's key, `partly` whether it came out so."""

    key: str
    kind: Kind
    part: str
    worker: str
    hours: float
    area_m2: float
    partly: bool = False

    @property
    def log_rate(self) -> float:
        """The natural logarithm of its hours per m²."""
        return math.log(self.hours / self.area_m2)


@dataclass(frozen=True)
class Logged:
    """What was read: the steps that count; how many of each action do not, by (action, why); and the hours of those
    that have hours but no surface, by action."""

    logs: tuple[Log, ...] = ()
    not_counted: tuple[tuple[str, str, int], ...] = ()
    hours_alone: tuple[tuple[str, tuple[float, ...]], ...] = ()

    @property
    def steps(self) -> int:
        return len(self.logs) + sum(count for _, _, count in self.not_counted)

    def why_not(self, action: str | None = None) -> dict[str, int]:
        """How many steps do not count, by why; of one action, or of all."""
        found = Counter[str]()
        for of, why, count in self.not_counted:
            if action in (None, of):
                found[why] += count
        return {why: found[why] for why in WHY_NOT if found[why]}

    def sentence(self, action: str | None = None) -> str:
        """`30 of 119 logged steps count: 76 say no hours, …`."""
        why = self.why_not(action)
        own = [log for log in self.logs if action in (None, log.kind.action)]
        whole = len(own) + sum(why.values())
        if not whole:
            return "No step is logged."
        rest = ", ".join(f"{count} {said if count == 1 else _OF_SEVERAL[said]}" for said, count in why.items())
        if not own:
            return f"{whole} logged, none counts: {rest}." if whole > 1 else f"1 logged, and it {next(iter(why))}."
        return f"{len(own)} of {whole} logged steps count{f'; of the others {rest}' if rest else ''}."

    def partly(self) -> str | None:
        """What those that came out partly say, where there are any."""
        partly = sum(log.partly for log in self.logs)
        if not partly:
            return None
        return (
            f"{partly} of those that count came out partly: their hours are for the surface worked on, and finishing it "
            "would have taken more."
        )


def together(several: Iterable[Logged]) -> Logged:
    """The logs of many objects as those of one collection, in the order of their keys."""
    logs: list[Log] = []
    counts: Counter[tuple[str, str]] = Counter()
    hours: dict[str, list[float]] = {}
    for one in several:
        logs += one.logs
        for action, why, count in one.not_counted:
            counts[action, why] += count
        for action, values in one.hours_alone:
            hours.setdefault(action, []).extend(values)
    return Logged(
        tuple(sorted(logs, key=lambda log: log.key)),
        tuple((action, why, count) for (action, why), count in sorted(counts.items())),
        tuple((action, tuple(sorted(values))) for action, values in sorted(hours.items())),
    )


@kept
def logged(case: Case) -> Logged:
    """What the records of one object say of hours."""
    by_code = {t.treatment: t for t in case.facts.treatments}
    logs, counts = [], Counter[tuple[str, str]]()
    hours: dict[str, list[float]] = {}
    for step in case.facts.treatment_steps:
        treatment = by_code.get(step.treatment)
        if treatment is None:
            continue
        why = _why_not(case, treatment, step)
        if why is None:
            logs.append(_log(case, treatment, step))
            continue
        counts[step.action, why] += 1
        if why in (NO_AREA, NOT_BY_AREA) and step.hours is not None:
            hours.setdefault(step.action, []).append(step.hours)
    return together(
        [
            Logged(
                tuple(logs),
                tuple((action, why, count) for (action, why), count in counts.items()),
                tuple((action, tuple(values)) for action, values in hours.items()),
            )
        ]
    )


def _why_not(case: Case, treatment: Treatment, step: TreatmentStep) -> str | None:
    if not step.hours:
        return NO_HOURS
    if came_out(treatment, step) == FAILED:
        return TRIED
    if step.action == OTHER:
        return NO_KIND
    if step.action in WHOLE:
        return NOT_BY_AREA
    if not worked_m2(step):
        return NO_AREA
    # One figure may have been noted for a whole day's work in one place: then it is not that of this step.
    overlap = places_of(case).overlap
    beside = [
        other
        for other in case.facts.treatment_steps
        if other.treatment == step.treatment and other is not step and overlap(other.place, step.place)
    ]
    return SHARED if any(other.hours is None for other in beside) else None


def _log(case: Case, treatment: Treatment, step: TreatmentStep) -> Log:
    area = worked_m2(step)
    assert step.hours
    assert area
    return Log(
        step.key_text(),
        kind_of(case, step),
        part_of(case, step.place),
        treatment.treated_by or "",
        step.hours,
        area,
        came_out(treatment, step) == PARTLY,
    )


def came_out(treatment: Treatment, step: TreatmentStep) -> str:
    """How a step came out; a blank one as its treatment did."""
    return step.outcome or treatment.outcome or "done"


def worked_m2(step: TreatmentStep) -> float | None:
    """The surface that a step's hours went into: what was worked on, else what was taken off."""
    return step.removed_m2 if step.area_m2 is None else step.area_m2


def part_of(case: Case, place: str) -> str:
    """The part of the object that a place lies on, named with its object; `all` where it lies on no single one."""
    return f"{case.facts.object.object}/{places_of(case).component_of(place) or ALL}"


def kind_of(case: Case, step: TreatmentStep | ProposalStep) -> Kind:
    """The kind of work that a logged or proposed step is."""
    coat = step.removed if isinstance(step, TreatmentStep) else step.removes
    binder = step.adds_binder if coat is None else binder_of(case, coat, step.place)
    return Kind(step.action, None if binder in NO_BINDER else binder)


def binder_of(case: Case, coat: str, place: str) -> str | None:
    """The binder of a coat (a scheme, or scheme/role) as read in a place, else anywhere on the object; None where
    nothing says it, or readings differ."""
    scheme, _, role = coat.partition("/")
    at = {sample.sample: sample.place for sample in case.facts.samples}
    layers = [
        layer
        for layer in case.facts.layers
        if layer.scheme == scheme
        and role in ("", layer.role)
        and layer.binder not in (None, *NO_BINDER)
        and layer.coverage != "absent"
    ]
    overlap = places_of(case).overlap
    here = [layer for layer in layers if overlap(at.get(layer.sample, ALL), place)]
    binders = {layer.binder for layer in here or layers}
    # A scheme's primer and varnish may differ; its body colour is what most of the work goes into.
    body = {layer.binder for layer in here or layers if layer.role == "body colour"}
    return next((found.pop() for found in (binders, body) if len(found) == 1), None)
