"""Which advice is in force on a day: given, and not yet followed, replaced or expired."""

from __future__ import annotations

from collections.abc import Iterable

from collection.records.facts import Facts
from collection.records.sheets import Advice, Treatment
from collection.values import dates

FOLLOWED = (None, "done")
"""Outcomes with which a treatment counts as having followed the advice that names it; a blank outcome counts as
done."""


def in_force(facts: Facts, day: str) -> list[Advice]:
    """The advice in force on a day, newest first: not done, not replaced, not past its last day.

    :param day: EDTF; where it may overlap the last day, the advice is still in force.
    """
    return standing(facts.advice, facts.treatments, day)


def standing(advice: Iterable[Advice], treatments: Iterable[Treatment], day: str | None) -> list[Advice]:
    """The same of some advice and treatments; with no day, advice counts as not past its last."""
    followed = {row.treatment for row in treatments if row.outcome in FOLLOWED}
    known = {row.advice: row for row in advice}
    found = [
        row
        for row in known.values()
        if row.done_by not in followed
        and not _is_replaced(row, known)
        and not (day and row.until and dates.bounds(row.until).latest < dates.bounds(day).earliest)
    ]
    return sorted(found, key=lambda row: (dates.bounds(row.given_on).latest, row.advice), reverse=True)


def _is_replaced(row: Advice, known: dict[str, Advice]) -> bool:
    """Whether other advice in account has replaced it; advice replaced in a circle stays in force."""
    seen = {row.advice}
    while row.replaced_by in known:
        row = known[row.replaced_by]
        if row.advice in seen:
            return False
        seen.add(row.advice)
    return len(seen) > 1
