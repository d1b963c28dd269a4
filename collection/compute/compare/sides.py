"""The two sides of a comparison: what each survey brought, or what was on record by each of two dates."""

from __future__ import annotations

from collections.abc import Callable, Container
from dataclasses import dataclass
from typing import TypeVar

from collection.compute.build_up.removals import treatment_span
from collection.compute.case import Case
from collection.compute.survival.as_of import DATED, as_of
from collection.records.facts import FACT_SHEETS, Facts
from collection.records.sheets import Record, Treatment
from collection.values import dates

R = TypeVar("R", bound=Record)


@dataclass(frozen=True, eq=False)
class Side:
    """One side: what it is called, when it was, and the records of one object that it brought."""

    name: str
    span: dates.Span
    brought: Facts


@dataclass(frozen=True, eq=False)
class Sides:
    """Both sides for one object, the earlier first; `before` and `after` are cases of what was true by the end of
    each, whoever brought it."""

    earlier: Side
    later: Side
    before: Case
    after: Case

    def since(self, treatment: Treatment) -> bool | None:
        """Whether a treatment was done after the earlier side and no later than the later one; None = may have been.

        What the earlier side itself brought was done by then, whatever its date.
        """
        span = treatment_span(treatment)
        if treatment in self.earlier.brought.treatments or span.latest <= self.earlier.span.latest:
            return False
        if span.earliest > self.later.span.latest:
            return False
        sure = span.earliest > self.earlier.span.latest and span.latest <= self.later.span.latest
        if sure:
            return True
        dated = bool(treatment.started or treatment.ended)
        return None if dated or treatment in self.later.brought.treatments else False


def by_survey(
    case: Case,
    one: tuple[str, dates.Span],
    other: tuple[str, dates.Span],
    brought_by: Callable[[str], Container[tuple[str, str]]],
) -> Sides:
    """The sides of two surveys, by code and date; the one that began first is the earlier, whichever is named first.

    :param brought_by: (sheet, key) of the records that a survey brought, by its code.
    """
    (first, began), (second, later) = sorted((one, other), key=lambda survey: (survey[1], survey[0]))
    earlier = _only(case.facts, lambda row: (row.sheet, row.key_text()) in brought_by(first))
    # What a survey found in old papers is no look of its own.
    since = _only(
        case.facts, lambda row: (row.sheet, row.key_text()) in brought_by(second) and not _before(row, began.earliest)
    )
    return _sides(case, Side(first, _lasting(began, earlier), earlier), Side(second, _lasting(later, since), since))


def _lasting(span: dates.Span, brought: Facts) -> dates.Span:
    """When a survey was: it lasted at least until what it saw last, whatever end is written down for it."""
    seen = [
        dates.bounds(getattr(row, DATED[sheet])).earliest
        for sheet in ("samples", "tests", "conditions", "decorations")
        for row in getattr(brought, sheet)
    ]
    return dates.Span(span.earliest, max(span.latest, *seen, ""))


def by_dates(case: Case, one: str, other: str) -> Sides:
    """The sides of two dates, written in EDTF: all that may date from the first or earlier, and all that is surely
    later, up to the second. Rows without a date belong to the first."""
    first, second = sorted((one, other), key=lambda day: dates.bounds(day)[::-1])
    before, after = as_of(case.facts, first), as_of(case.facts, second)
    known = {(row.sheet, row.key_text()) for sheet in FACT_SHEETS for row in getattr(before, sheet)}
    since = (
        before
        if dates.bounds(first) == dates.bounds(second)
        else _only(after, lambda row: (row.sheet, row.key_text()) not in known)
    )
    last = dates.bounds(first).latest
    done = _only(before, lambda row: not isinstance(row, Treatment) or _done_by(row, last))
    return _sides(case, Side(first, dates.bounds(first), done), Side(second, dates.bounds(second), since))


def _done_by(treatment: Treatment, day: str) -> bool:
    return not (treatment.started or treatment.ended) or treatment_span(treatment).latest <= day


def _sides(case: Case, earlier: Side, later: Side) -> Sides:
    then, now = (Case(as_of(case.facts, side.span.latest), case.policy, case.reference) for side in (earlier, later))
    return Sides(earlier, later, then, now)


def _only(facts: Facts, wanted: Callable[[Record], bool]) -> Facts:
    return Facts(
        facts.object, **{sheet: tuple(row for row in getattr(facts, sheet) if wanted(row)) for sheet in FACT_SHEETS}
    )


def _before(row: Record, day: str) -> bool:
    column = DATED.get(row.sheet)
    return column is not None and dates.bounds(getattr(row, column)).latest < day


def newest(rows: list[R], column: str = "observed_on") -> list[R]:
    """The rows that may be the newest: none is surely later."""
    return [
        row
        for row in rows
        if not any(dates.surely_before(getattr(row, column), getattr(other, column)) for other in rows)
    ]
