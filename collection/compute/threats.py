"""What threatens the original finish of one object, each threat with its records and the cheapest thing to do about it.

A list of reasons, not a figure: objects are ordered by their gravest reason. Which reasons count, and in which order,
is common practice, no published source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from collection.compute.advice import in_force
from collection.compute.build_up.condition import standing
from collection.compute.case import Case
from collection.compute.survival.survival import surviving_at
from collection.language.sentences import counted, ended
from collection.values import dates
from collection.values.spoken_dates import in_words

DESTROYED, OVERTAKEN, FAILING, PAST, ADVISED, UNEXAMINED, UNTAGGED = KINDS = (
    "work that destroys",
    "approval overtaken",
    "finish that fails",
    "past its date",
    "advice not followed",
    "never examined",
    "tag missing or out of date",
)
"""The kinds of threat, gravest first."""
ALL, COVERED = "all", "original covered"


@dataclass(frozen=True, slots=True)
class Planned:
    """A proposal as it is now: how many things it would destroy, the newest decision, and whether later records have
    changed what that rests on."""

    key: str
    title: str
    destroys: int
    decision: str | None
    overtaken: bool
    carried_out: bool


@dataclass(frozen=True, slots=True)
class Hanging:
    """A tag that hangs on the object: its key, `OBJECT/NUMBER`, whether it is a tag or a label, and whether it says what
    is known now; None where that is not told."""

    key: str
    kind: str
    up_to_date: bool | None


@dataclass(frozen=True, slots=True)
class Threat:
    """One thing that threatens the original finish."""

    kind: str
    place: str | None
    message: str
    remedy: str
    evidence: tuple[tuple[str, str], ...]

    def as_json(self) -> dict[str, Any]:
        return {
            "kind": self.kind,
            "place": self.place,
            "message": self.message,
            "remedy": self.remedy,
            "evidence": [{"kind": kind, "key": key} for kind, key in self.evidence],
        }


def threats(
    case: Case, planned: Sequence[Planned], on: str, *, hanging: Sequence[Hanging] = (), tags_used: bool = False
) -> tuple[Threat, ...]:
    """Everything that threatens the original finish of an object on a day, gravest first.

    :param planned: every proposal for the object.
    :param on: the day, YYYY-MM-DD, by which something is past its date or not.
    :param hanging: the tags that hang on the object.
    :param tags_used: whether this collection hangs tags, so that a missing one is told.
    """
    found = [
        *_planned(planned),
        *_failing(case),
        *_past_its_date(case, on),
        *_advised(case, on),
        *_unexamined(case),
        *_untagged(case, planned, hanging, tags_used),
    ]
    return tuple(sorted(found, key=lambda each: KINDS.index(each.kind)))


def gravity(kinds: Iterable[str]) -> tuple[int, ...]:
    """The sort key of an object, the greatest first: how many threats it has of each kind, gravest kind first."""
    number: Mapping[str, int] = Counter(kinds)
    return tuple(number.get(kind, 0) for kind in KINDS)


def _planned(planned: Sequence[Planned]) -> Iterator[Threat]:
    for each in planned:
        if each.carried_out or each.decision == "refuse":
            continue
        stands = "approved" if each.decision == "approve" else "deferred" if each.decision == "defer" else "open"
        if each.destroys:
            yield Threat(
                DESTROYED,
                None,
                f"“{each.title}” is {stands} and would destroy {counted(each.destroys, 'thing')} of original finish.",
                "Refuse it, or ask for another way of doing it.",
                (("proposals", each.key),),
            )
        if each.overtaken and each.decision == "approve":
            yield Threat(
                OVERTAKEN,
                None,
                f"“{each.title}” was approved, but what it was based on has changed since.",
                "Assess it again and decide again, before anybody starts.",
                (("proposals", each.key),),
            )


def _failing(case: Case) -> Iterator[Threat]:
    """Conditions still at work where original finish survives."""
    for row in standing(case):
        if row.active != "yes":
            continue
        at = surviving_at(case, row.place)
        if at:
            where = "where original finish lies open" if "original exposed" in at else "where original finish survives"
            yield Threat(
                FAILING,
                row.place,
                f"{row.phenomenon.capitalize()} continues {where} (seen {in_words(row.observed_on)}).",
                "Have it looked at and secured; until then keep it still, dry and shaded.",
                (("conditions", row.key_text()),),
            )


def _past_its_date(case: Case, on: str) -> Iterator[Threat]:
    for row in case.facts.treatments:
        if row.temporary_until and dates.bounds(row.temporary_until).latest < on:
            yield Threat(
                PAST,
                None,
                f"“{row.purpose}” was to stay no longer than {in_words(row.temporary_until)}, and "
                "no record says that it came off.",
                "Check whether it is still on, and take it off or renew it.",
                (("treatments", row.key_text()),),
            )


def _advised(case: Case, on: str) -> Iterator[Threat]:
    """Advice to do something, in force and not done. Advice against work is followed by doing nothing, which no
    treatment can show; anybody who proposes such work sees it then."""
    for row in in_force(case.facts, on):
        if row.against is None and surviving_at(case, row.place or "all"):
            yield Threat(
                ADVISED,
                row.place,
                f"Advised {in_words(row.given_on)}, and no recorded treatment has followed it: {ended(row.what)}",
                "Do it, or write down why not.",
                (("advice", row.key_text()),),
            )


def _unexamined(case: Case) -> Iterator[Threat]:
    """An object that was repainted and on which nobody has read any coat."""
    if case.facts.samples:
        return
    again = [step for step in case.facts.treatment_steps if step.action == "coat"]
    if again:
        yield Threat(
            UNEXAMINED,
            None,
            f"Records show that it was repainted ({counted(len(again), 'time')}), and nobody "
            "has looked at what lies under it.",
            "Have one small place read first; leave it alone until then.",
            tuple(("treatment_steps", step.key_text()) for step in again),
        )


def _untagged(case: Case, planned: Sequence[Planned], hanging: Sequence[Hanging], tags_used: bool) -> Iterator[Threat]:
    """A tag that no longer says what is known, and a missing one where hands are coming near: work is proposed or
    approved, or the object is out on loan. Most objects hang quietly in a store: listing each of them without a tag
    here would hide those that are lost first; `firstcoat tags` lists them all."""
    for each in hanging:
        if each.up_to_date is False:
            yield Threat(
                UNTAGGED,
                None,
                f"The {each.kind} that hangs on it no longer says what is known.",
                "Print it again, and hang the new one in its place.",
                (("tags", each.key),),
            )
    if not tags_used or hanging or COVERED not in surviving_at(case, ALL):
        return
    work = [row for row in planned if not row.carried_out and row.decision != "refuse"]
    if work or case.facts.object.status == "on loan":
        why = f"“{work[0].title}” is in hand" if work else "it is on loan"
        yield Threat(
            UNTAGGED,
            None,
            f"Original finish lies under later paint, {why}, and no tag hangs on it.",
            "Print a tag and hang it where the work begins.",
            tuple(("proposals", row.key) for row in work),
        )
