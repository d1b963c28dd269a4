"""Everything that threatens the original finish of one object: what its records show, what is proposed, and its tags.

Which reasons count, and in which order, is common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from collection.compute.risk.standing import STRIPPED
from collection.compute.risk.threat import (
    ALL_KINDS,
    CLAIMED,
    COVERED,
    DESTROYED,
    ENDANGERED,
    FORBIDDEN,
    OVERTAKEN,
    UNTAGGED,
    Hanging,
    Planned,
    Threat,
)
from collection.language.sentences import counted


def all_threats(
    standing: Iterable[Threat],
    planned: Sequence[Planned],
    on: str,
    *,
    hanging: Sequence[Hanging] = (),
    tags_used: bool = False,
    on_loan: bool = False,
    published: bool = False,
) -> tuple[Threat, ...]:
    """Everything that threatens an object on a day, gravest kind first.

    :param standing: what its records alone show.
    :param published: whether a published page tells of it.
    """
    held = [each for each in standing if each.holds(on)]
    found = [
        *_planned(planned),
        *_with_tags(held, hanging, published=published),
        *_untagged(held, planned, hanging, tags_used=tags_used, on_loan=on_loan),
    ]
    return tuple(sorted(found, key=lambda each: ALL_KINDS.index(each.kind)))


def _planned(planned: Sequence[Planned]) -> Iterator[Threat]:
    for each in planned:
        if each.may_happen:
            for found in _of_work(each):
                yield replace(
                    found,
                    evidence=(*found.evidence, ("proposals", each.key)),
                    soon=f"{each.stands} work",
                    event=each.key,
                )


def _of_work(each: Planned) -> Iterator[Threat]:
    """What one proposal threatens with; it stands behind each as evidence."""
    if each.destroys:
        yield Threat(
            DESTROYED,
            None,
            f"“{each.title}” is {each.stands} and would destroy {counted(each.destroys, 'thing')} of original finish.",
            "Refuse it, or ask for another way of doing it.",
            (),
            share=each.takes,
            act="refuse",
        )
    elif each.endangers or each.untested:
        yield Threat(
            ENDANGERED,
            None,
            f"“{each.title}” is {each.stands} and would endanger {counted(each.endangers, 'thing')} of original finish."
            if each.endangers
            else f"“{each.title}” is {each.stands}, and nobody has tested what it does to "
            f"{counted(each.untested, 'thing')} that may be original finish.",
            "Send it back: it wants another way of doing it, or a test first.",
            (),
            share=each.takes,
            act="refuse",
        )
    if each.overtaken and each.decision == "approve":
        yield Threat(
            OVERTAKEN,
            None,
            f"“{each.title}” was approved, but what it was based on has changed since.",
            "Assess it again and decide again, before anybody starts.",
            (),
            share=each.takes,
            act="reassess",
        )
    if each.unanswered:
        many = len(each.unanswered)
        yield Threat(
            FORBIDDEN,
            None,
            f"{counted(many, 'piece')} of advice {'speaks' if many == 1 else 'speak'} against “{each.title}”, and nobody "
            "has answered.",
            "Answer it with a reason, or follow it.",
            tuple(("advice", key) for key in each.unanswered),
            share=each.takes_forbidden,
            act="answer",
            amount=many,
        )
    if each.claims:
        many = len(each.claims)
        yield Threat(
            CLAIMED,
            None,
            f"“{each.title}” would work where {counted(many, 'claim')} {'is' if many == 1 else 'are'} open: what "
            f"{'it speaks' if many == 1 else 'they speak'} of may lie there.",
            "Settle it by a sample, or make it a condition.",
            tuple(("claims", key) for key in each.claims),
            share=each.takes_claimed,
            act="claim",
            amount=many,
        )


def _with_tags(held: Sequence[Threat], hanging: Sequence[Hanging], *, published: bool) -> Iterator[Threat]:
    """What the records show, with what tells people of it beside them."""
    # One that nobody judged is told to hang; that alone keeps a hand off.
    good = [each.up_to_date for each in hanging if each.up_to_date is not False]
    for each in held:
        if each.kind != COVERED:
            yield each
        elif good:
            at = each.message.partition(";")[0]
            tags = tuple(("tags", tag.key) for tag in hanging)
            said = "a tag tells of it" if any(good) else "a tag hangs on it"
            yield replace(each, message=f"{at}; {said}.", soon="tag hangs", act="", evidence=tags)
        elif published and each.soon == "untold":
            at = each.message.partition(";")[0]
            yield replace(each, message=f"{at}; a published page tells of it, and no tag.", soon="told on paper")
        else:
            yield each


def _untagged(
    held: Sequence[Threat], planned: Sequence[Planned], hanging: Sequence[Hanging], *, tags_used: bool, on_loan: bool
) -> Iterator[Threat]:
    """A tag that no longer says what is known, and a missing one where hands are coming near: work is proposed or
    approved, or the object is out on loan. Most objects hang quietly in a store: listing each of them without a tag
    here would hide those that are lost first; `firstcoat tags` lists them all."""
    covered = next((each for each in held if each.kind == COVERED), None)
    share = covered.share if covered else (0.0, 0.0, 0.0)
    for each in hanging:
        if each.up_to_date is False:
            yield Threat(
                UNTAGGED,
                None,
                f"The {each.kind} that hangs on it no longer says what is known.",
                "Print it again, and hang the new one in its place.",
                (("tags", each.key),),
                soon="told on paper",
                share=share,
                event=STRIPPED,
                act="tag",
            )
    if not tags_used or hanging or covered is None:
        return
    work = [row for row in planned if row.may_happen]
    if work or on_loan:
        why = f"“{work[0].title}” is in hand" if work else "it is on loan"
        yield Threat(
            UNTAGGED,
            None,
            f"Original finish lies under later paint, {why}, and no tag hangs on it.",
            "Print a tag and hang it where the work begins.",
            tuple(("proposals", row.key) for row in work),
            soon="untold, work at hand",
            share=share,
            event=STRIPPED,
            act="tag",
        )
