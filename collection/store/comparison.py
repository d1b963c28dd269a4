"""What changed between two surveys or two dates, object by object; see `compute.compare`."""

from __future__ import annotations

import difflib
import sqlite3
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from collection.compute.case import Case
from collection.compute.compare.comparison import Comparison, compare
from collection.compute.compare.finish import EXPOSED, MAY_BE_LOST, PART
from collection.compute.compare.sides import Sides, by_dates, by_survey
from collection.language.errors import Fault, NotFound
from collection.records.codes import natural
from collection.records.sheets import BY_SHEET, Survey
from collection.rules.track_record import Foreseen, foreseen
from collection.store.base import keys, names, read
from collection.store.survey_rows import survey_row
from collection.values import dates

HowFar = Callable[[int, int], None]
Brought = dict[str, dict[str, set[tuple[str, str]]]]
"""For each object and survey, (sheet, key) of what the survey brought, under present codes."""


@dataclass(frozen=True, slots=True)
class Compared:
    """One object: what changed, and what became of predictions about the work done between."""

    comparison: Comparison
    foreseen: tuple[Foreseen, ...]

    @property
    def numbers(self) -> dict[str, int]:
        """How much is graver than it was, the gravest first: the order in which objects are listed."""
        one, kinds = self.comparison, Counter(change.kind for change in self.comparison.finish)
        missed = sum(seen.missed for work in self.foreseen for seen in work.seen)
        return {
            "lost": kinds[PART] + one.losses + missed,
            "may_be_lost": kinds[MAY_BE_LOST] + sum(sample.original for sample in one.unexplained),
            "worse_original": sum(change.original for change in one.worse),
            "exposed": kinds[EXPOSED],
            "worse": len(one.worse),
            "disagree": len(one.unexplained),
        }

    def as_json(self) -> dict[str, Any]:
        return {**self.comparison.as_json(), "predictions": [each.as_json() for each in self.foreseen]}


@dataclass(frozen=True, slots=True)
class SurveysCompared:
    """Two surveys, the one that began first first; `only` are the objects that have records of only one of them, by
    its code; `overlap` says that neither surely ended before the other began."""

    surveys: tuple[Survey, Survey]
    objects: tuple[Compared, ...]
    only: dict[str, tuple[str, ...]]
    overlap: bool


def compare_surveys(
    db: sqlite3.Connection, one: str, other: str, objects: Sequence[str] = (), progress: HowFar | None = None
) -> SurveysCompared:
    """What changed between two surveys, in the order of the objects' numbers.

    :param objects: only these; empty = every object that both have records of.
    :raises NotFound: for a survey that is not stored or was withdrawn, or an object that is not in account.
    """
    found = [survey_named(db, code) for code in (one, other)]
    earlier, later = sorted(found, key=lambda survey: (span_of(survey), survey.code))
    brought = _brought(db, {one, other})
    wanted = set(_wanted(db, objects)) if objects else None
    both, only = [], {earlier.code: [], later.code: []}  # type: ignore[var-annotated]
    for code in sorted(brought):
        if wanted is None or code in wanted:
            own = [survey.code for survey in (earlier, later) if brought[code].get(survey.code)]
            if len(own) == 2:
                both.append(code)
            else:
                only[own[0]].append(code)

    def sides(case: Case) -> Sides:
        mine = brought[case.facts.object.object]
        return by_survey(
            case, (earlier.code, span_of(earlier)), (later.code, span_of(later)), lambda code: mine.get(code, set())
        )

    return SurveysCompared(
        (earlier, later),
        tuple(_compared(db, both, sides, progress)),
        {code: tuple(own) for code, own in only.items()},
        one != other and span_of(earlier).latest >= span_of(later).earliest,
    )


def compare_dates(
    db: sqlite3.Connection, one: str, other: str, objects: Sequence[str] = (), progress: HowFar | None = None
) -> tuple[Compared, ...]:
    """What changed between two dates, in the order of the objects' numbers; a date that is not exact ends with its last
    day.

    :raises NotFound: for an object that is not in account.
    """
    codes = _wanted(db, objects) if objects else read.object_codes(db)
    return tuple(_compared(db, codes, lambda case: by_dates(case, one, other), progress))


def span_of(survey: Survey) -> dates.Span:
    """The first and last day that a survey may have taken."""
    return dates.Span(dates.bounds(survey.started).earliest, dates.bounds(survey.ended or survey.started).latest)


def end_of(day: str) -> tuple[str, str]:
    """The last and the first day of a date, by which two dates are put in order."""
    span = dates.bounds(day)
    return span.latest, span.earliest


def _compared(
    db: sqlite3.Connection, codes: Sequence[str], sides_of: Callable[[Case], Sides], progress: HowFar | None
) -> Iterator[Compared]:
    proposals: dict[str, list[str]] = defaultdict(list)
    for object_code, proposal in read.proposal_keys(db):
        proposals[object_code].append(proposal)
    for number, code in enumerate(codes, 1):
        case = Case(read.load_facts(db, code))
        carried_out = {t.proposal for t in case.facts.treatments if t.proposal in proposals[code]}
        planned = {proposal: read.load_proposal(db, code, proposal) for proposal in sorted(filter(None, carried_out))}
        sides = sides_of(case)
        yield Compared(compare(case, sides), foreseen(case, sides, planned))
        if progress is not None:
            progress(number, len(codes))


def _wanted(db: sqlite3.Connection, objects: Iterable[str]) -> list[str]:
    """The present numbers of some objects, all of which are in account."""
    return sorted({read.load_facts(db, code).object.object for code in objects})


def objects_of(db: sqlite3.Connection, survey: str) -> list[str]:
    """The objects of which a survey brought records that are in account, in the order of their numbers."""
    return sorted((code for code, own in _brought(db, {survey}).items() if own[survey]), key=natural)


def survey_named(db: sqlite3.Connection, code: str) -> Survey:
    """A survey in account.

    :raises NotFound: for one that is not stored or was withdrawn, with what is near it.
    """
    found = survey_row(db, code)
    if found is not None:
        return found
    stored = dict(db.execute("SELECT code, withdrawn FROM surveys"))
    if stored.get(code) is not None:
        message = (
            "This survey was withdrawn, so its records do not count; `firstcoat show … --history` says why, and "
            "`firstcoat reinstate` brings it back."
        )
        raise NotFound([Fault("the database", "survey", None, None, code, message)])
    standing = sorted(name for name, withdrawn in stored.items() if withdrawn is None)
    message = f"No such survey is stored; there is {', '.join(standing)}." if standing else "No survey is stored."
    nearest = next(iter(difflib.get_close_matches(code, standing, n=1)), None)
    raise NotFound([Fault("the database", "survey", None, None, code, message, nearest)])


def _brought(db: sqlite3.Connection, surveys: set[str]) -> Brought:
    """What each of some surveys brought and is in account. A record stays with the survey that brought it, whoever
    amended it since."""
    known = names.load(db)
    found: Brought = defaultdict(lambda: defaultdict(set))
    marks = ", ".join("?" * len(surveys))
    for sheet, record in BY_SHEET.items():
        if sheet == "survey":
            continue
        for survey, *key in db.execute(
            f"SELECT survey, {', '.join(record.key)} FROM live_{record.table} WHERE survey IN ({marks})",
            sorted(surveys),
        ):
            called = dict(zip(record.key, key, strict=True))
            if known is not None:
                now = known.translate(record, called)
                called = {name: now[name] for name in record.key}
            found[called["object"]][survey].add((sheet, keys.shown(sheet, tuple(called.values()))))
    return found
