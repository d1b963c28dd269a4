"""The days on which somebody has to look again at an object: what must come off, runs out, or is planned.

Only what has a day in the records; one that is left open (`2024/..`) is none.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from collection.language.sentences import ended
from collection.output.published.published_object import PublishedObject
from collection.output.tell.object_survival import at
from collection.output.tell.state import advice_in_force
from collection.values.dates import bounds
from collection.values.spoken_dates import in_words

Json = dict[str, Any]

TEMPORARY, ADVICE, RESERVE, WORK = KINDS = ("temporary measure", "advice", "reserve", "approved work")
LAST_YEAR = "9999"


def reviews(published: PublishedObject) -> Iterator[Json]:
    """Rows of one object, each {kind, key, day (YYYY-MM-DD), title, message}; `day` is the last day that the date can mean,
    for planned work the first."""
    for row in published["treatments"]:
        if until := row.get("temporary_until"):
            what = f"Temporary measure: {row['purpose']}"
            yield from _review(TEMPORARY, row, until, what, f"It was to come off by {in_words(until)}.")
    for row in advice_in_force(published):
        if until := row.get("until"):
            place = "" if row.get("place") in (None, "all") else f" at {at(published, row['place'])}"
            what = f"Advice runs out{place}: {row['what']}"
            yield from _review(ADVICE, row, until, what, f"It holds until {in_words(until)}: renew it, or let it go.")
    for row in published["reserves"]:
        if until := row.get("until"):
            what = f"Reserve at {at(published, row['place'])}"
            yield from _review(
                RESERVE, row, until, what, f"It had to stay until {in_words(until)}: see whether longer."
            )
    done = {row.get("proposal") for row in published["treatments"]}
    for row in published["proposals"]:
        made = row["decisions"][-1] if row["decisions"] else None
        planned = row.get("planned_for")
        if planned and made and made["decision"] == "approve" and row["proposal"] not in done:
            told = f"Approved, planned for {in_words(planned)}, and not carried out by the records."
            if made["stale"]:
                told += " Records or rules have changed since: it has to be decided again."
            yield from _review(WORK, row, planned, f"Approved work: {row['title']}", told, first=True)


def _review(kind: str, row: Json, when: str, title: str, message: str, *, first: bool = False) -> Iterator[Json]:
    span = bounds(when)
    day = span.earliest if first else span.latest
    if not day.startswith(LAST_YEAR) and day[:4].isdigit() and int(day[:4]):
        yield {"kind": kind, "key": row["key"], "day": day, "title": title, "message": ended(message)}
