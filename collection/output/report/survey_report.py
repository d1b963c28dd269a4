"""The report of a survey for the owner of the collection: what was done, found and advised, object by object, with the
hours. It is kept short, because one survey may cover a whole collection."""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from collection.language.sentences import counted, ended
from collection.output.published import stored_objects
from collection.output.published.audience import Audience, rows_for
from collection.output.published.comparisons import comparisons
from collection.output.published.documents import NESTED, SHOWN, is_invented, object_document, survey_json
from collection.output.published.published_object import PublishedObject, newest
from collection.output.report.object_report import TEMPLATE, paper
from collection.output.tell.blocks import Block, Facts, Grid, Heading, Point, Points, Sentence, Signature, as_data
from collection.output.tell.changes import summary
from collection.output.tell.explained import words_used
from collection.output.tell.object_survival import at, quoted
from collection.output.tell.pdf import pdf
from collection.output.tell.state import advice_in_force
from collection.output.tell.wording import brought, read_counts
from collection.store import comparison
from collection.values.dates import bounds
from collection.values.spoken_dates import in_words

Json = dict[str, Any]
HowFar = Callable[[int, int], None]

NOT_LOGGED = "not logged"
MOST_ADVICE, MOST_WORK = 6, 8
"""So many pieces of advice and works of one object are told; the object's own report has all."""


COUNTED = ("samples", "analyses", "tests", "conditions", "treatments", "reserves", "claims", "proposals", "pictures")
"""What is counted of each object; advice, hazards and work are told."""


@dataclass
class Covered:
    """What a survey did on one object, as it is told: the object itself is let go."""

    code: str
    title: str
    seen: str
    sentence: str
    counts: Counter[str]
    hours: float | None
    hours_between: float | None = None
    advice: list[Point] = field(default_factory=list)
    work: list[Point] = field(default_factory=list)
    hazards: list[str] = field(default_factory=list)
    changed: str = ""
    changed_on: str = ""


def survey_report_pdf(
    connection: sqlite3.Connection,
    code: str,
    audience: Audience,
    about: Mapping[str, str],
    progress: HowFar | None = None,
) -> bytes:
    """The survey's report as PDF/A-2a and PDF/UA-1; the same records give the same bytes.

    :raises NotFound: for a survey that is not stored or was withdrawn.
    :raises CouldNot: where the extra `report` is not installed.
    """
    told = survey_report_told(connection, code, audience, about, progress)
    return pdf(TEMPLATE, told, day=told["day"])


def survey_report_told(
    connection: sqlite3.Connection,
    code: str,
    audience: Audience,
    about: Mapping[str, str],
    progress: HowFar | None = None,
) -> Json:
    """The report as plain data."""
    survey = survey_json(comparison.survey_named(connection, code).model_dump(), audience=audience)
    codes = comparison.objects_of(connection, code)
    found = []
    for number, published in enumerate(_published(connection, codes, audience), 1):
        found.append(_covered(published, survey))
        if progress is not None:
            progress(number, len(codes))
    day = max((row.changed_on for row in found), default="")
    blocks = [*_whole(survey, found), *(block for row in found for block in _object(row))]
    blocks += words_used(blocks)
    blocks += [
        Heading("Signature", name="signature"),
        Signature(
            f"I have read this report on the survey {code}, {survey['title']}, with the records as of "
            f"{in_words(day) or 'no day recorded'}.",
            ("Name", "For whom", "Place and date", "Signature"),
        ),
    ]
    return {
        **paper(about, f"Survey {code} {survey['title']}", in_words(day)),
        "day": day,
        "title": survey["title"],
        "under": f"Report on survey {code} for the owner of the collection",
        "invented": "Invented demonstration data. No such objects, places or people exist."
        if is_invented(survey)
        else "",
        "facts": as_data([_facts(survey, about, day)])[0],
        "portrait": None,
        "blocks": as_data(blocks),
    }


def _facts(survey: Json, about: Mapping[str, str], day: str) -> Facts:
    first, last = survey["started"], survey.get("ended")
    rows = (
        ("Survey", survey["code"]),
        ("When", in_words(first) + (f" to {in_words(last)}" if last and last != first else "")),
        ("Led by", survey.get("lead")),
        ("Carried out by", survey.get("institution")),
        ("Collection", about.get("collection_name") or "not recorded"),
        ("Whom to ask", about.get("collection_contact") or "not recorded"),
        ("Records as of", in_words(day) or "no day recorded"),
    )
    return Facts(tuple((name, text) for name, text in rows if text))


def _published(connection: sqlite3.Connection, codes: Iterable[str], audience: Audience) -> Iterator[PublishedObject]:
    """Objects straight from the database, one at a time, as they would be published but without files; those that are
    not for this audience are left out."""
    everyone = frozenset(stored_objects.objects_for(audience, connection))
    surveys = {row["code"]: row for row in stored_objects.surveys(connection)}
    newest_change = stored_objects.newest_change(connection)
    day = newest_change["at"][:10] if newest_change else ""
    for stored in stored_objects.objects(connection, [code for code in codes if code in everyone]):
        public = rows_for(audience, stored.rows, everyone)
        yield PublishedObject(object_document(stored, public, surveys, {}, {}, audience=audience, on=day))


def _whole(survey: Json, found: list[Covered]) -> Iterator[Block]:
    """The survey as a whole: what it was, what it brought, how long it took, each object in a line."""
    counts = sum((row.counts for row in found), Counter[str]())
    hours = [row.hours for row in found if row.hours is not None]
    told = brought({"objects": len(found), **counts})
    yield Heading("In short", name="short")
    yield Sentence(f"{counted(len(found), 'object')} covered.", "lead")
    if told:
        yield Sentence(f"The survey brought: {ended(', '.join(told[1:]) or 'nothing else')}")
    between = [row.hours_between for row in found if row.hours_between is not None]
    said = (
        f"{sum(hours):g} h of work on the objects are logged in the days of the survey."
        if hours
        else "No hours of work on the objects are logged in the days of the survey.",
        f"Of work since the survey before, which this one recorded, {sum(between):g} h are logged." if between else "",
        f"Its first and last day are {_days(survey)} days apart; hours of looking are not recorded.",
    )
    yield Sentence(" ".join(part for part in said if part))
    if survey.get("scope"):
        yield Sentence(f"Scope: {ended(survey['scope'])}")
    yield Sentence(f"Methods and their limits: {ended(survey.get('method') or 'not recorded')}")
    rows = tuple(
        (
            f"{row.title} ({row.code})",
            row.seen,
            str(len(row.advice)) if row.advice else "none",
            str(row.counts["samples"] or "none"),
            str(row.counts["tests"] or "none"),
            NOT_LOGGED if row.hours is None else f"{row.hours:g} h",
        )
        for row in found
    )
    if rows:
        yield Grid(
            "The objects, with what this survey did on each",
            ("Object", "Original finish seen", "Advice given", "Samples read", "Cleaning tests", "Work logged"),
            rows,
        )
        yield Heading("Object by object", name="objects")


def _days(survey: Json) -> int:
    """The most days that can lie between the first and the last."""
    first, last = bounds(survey["started"]).earliest, bounds(survey.get("ended") or survey["started"]).latest
    return (date.fromisoformat(last) - date.fromisoformat(first)).days


def _object(row: Covered) -> Iterator[Block]:
    """One object, in the order: what survives, what changed, what was done, what is advised."""
    yield Heading(f"{row.title} ({row.code})", 2)
    yield Sentence(ended(row.sentence))
    told = brought({sheet: number for sheet, number in row.counts.items() if sheet in COUNTED})
    said = (f"In this survey: {', '.join(told)}." if told else "", row.changed, *row.hazards)
    yield Sentence(" ".join(part for part in said if part))
    if row.work or row.advice:
        yield Points((*row.work[:MOST_WORK], *row.advice[:MOST_ADVICE]))
    left = max(0, len(row.work) - MOST_WORK) + max(0, len(row.advice) - MOST_ADVICE)
    if left:
        yield Sentence(f"{left} more in the object’s own report.", "aside")


def _covered(published: PublishedObject, survey: Json) -> Covered:
    code = survey["code"]
    survival = published["survival"]
    own = [row for row in published["treatments"] if row["survey"] == code]
    works = [row for row in own if _overlaps(row, survey["started"], survey.get("ended") or survey["started"])]
    earlier = [row["started"] for row in published["surveys"] if _first(row["started"]) < _first(survey["started"])]
    before = max(earlier, key=_first, default=None)
    since = [row for row in own if before and row not in works and _overlaps(row, before, survey["started"])]
    standing = {row["advice"]: row for row in advice_in_force(published)}
    given = [row for row in published["advice"] if row["survey"] == code]
    return Covered(
        published.code,
        published.title,
        f"at {read_counts(survival)}" if survival["read"] else "not looked for",
        survival["sentence"],
        _counts(published, code),
        _hours(works),
        _hours(since),
        [_advised(published, row, row["advice"] in standing) for row in given],
        [
            *(_worked(published, row, "Done") for row in works),
            *(_worked(published, row, "Done since the survey before") for row in since),
        ],
        [
            f"Hazard: {row['kind']}, {row['status']}."
            for row in newest(published["hazards"], "hazard")
            if row["survey"] == code
        ],
        _changed(published, code),
        published["changed_on"],
    )


def _first(day: str) -> str:
    return bounds(day).earliest


def _overlaps(row: Json, start: str, end: str) -> bool:
    """Whether work may have been done between two days, those two counted."""
    when = row.get("started") or row.get("ended")
    if not when:
        return False
    return bounds(when).earliest <= bounds(end).latest and bounds(row.get("ended") or when).latest >= _first(start)


def _hours(works: list[Json]) -> float | None:
    """The hours that are logged; None where none are."""
    found = [step["hours"] for row in works for step in row["treatment_steps"] if step.get("hours") is not None]
    return sum(found) if found else None


def _counts(published: PublishedObject, code: str) -> Counter[str]:
    """How many records of each kind the survey brought."""
    found: Counter[str] = Counter()
    for sheet in SHOWN:
        rows = published.with_coats(published[sheet]) if sheet == "samples" else published[sheet]
        for row in rows:
            found[sheet] += row["survey"] == code
            for inner, (outer, _) in NESTED.items():
                if outer == sheet:
                    found[inner] += sum(each["survey"] == code for each in row[inner])
    return +found


def _advised(published: PublishedObject, row: Json, stands: bool) -> Point:
    said = (row.get("given_by"), in_words(row["given_on"]), row.get("priority") and f"to be done {row['priority']}")
    return Point(
        quoted(row),
        strong="Advised" if stands else "Advised, no longer in force",
        aside=", ".join(part for part in said if part),
        record=("advice", row["key"]),
        place=row.get("place") or "",
        place_name="" if row.get("place") in (None, "all") else at(published, row["place"]),
    )


def _worked(published: PublishedObject, row: Json, when: str) -> Point:
    hours = _hours([row])
    places = dict.fromkeys(at(published, step["place"]) for step in row["treatment_steps"])
    said = (
        row.get("treated_by"),
        in_words(row.get("started") or row.get("ended")),
        NOT_LOGGED if hours is None else f"{hours:g} h",
    )
    outcome = f" ({row['outcome']})" if row.get("outcome") else ""
    return Point(
        ended(f"{row['purpose']}{outcome}" + (f", at {', '.join(places)}" if places else "")),
        strong=when,
        aside=", ".join(part for part in said if part),
        record=("treatments", row["key"]),
    )


def _changed(published: PublishedObject, code: str) -> str:
    """What changed since the survey before this one, in a sentence; empty for the first."""
    titles = {row["code"]: in_words(row["started"])[-4:] for row in published["surveys"]}
    for row in comparisons(published):
        earlier, later = (each["code"] for each in row["surveys"])
        if later == code:
            said = summary(row)
            return (
                f"Since {titles[earlier]}: {said[:1].lower()}{said[1:]}"
                if said
                else f"Since {titles[earlier]}: nothing graver."
            )
    return ""
