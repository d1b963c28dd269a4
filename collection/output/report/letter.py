"""A letter of one page: which threats to original finish are new or worse since a day, and which are better or gone.

It is addressed to nobody by name, and dated by the newest change. What has no room is counted, the graver told first.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from collection.compute.risk.ranking import FROM_MEMORY
from collection.compute.risk.watch import TOLD, Moved
from collection.language.sentences import ended
from collection.output.drawings.text import wrapped
from collection.output.report.object_report import TEMPLATE, cut, paper
from collection.output.tell.blocks import Block, Facts, Heading, Point, Points, Sentence, as_data
from collection.output.tell.pdf import pdf
from collection.output.tell.watched import HEADS, in_short, moved_in_words, when
from collection.records.policy import RiskPolicy
from collection.store.watch import Watched
from collection.values.spoken_dates import in_words

Json = dict[str, Any]

ROOM, SECTION, LINE, BETWEEN = 660.0, 60.0, 12.5, 1.0
"""In points, measured on the printed page and rounded up: what a page holds below its head and above the last lines, a
heading with what is counted below it, a line of text, and the space between two points of a list."""
WIDTH, SIZE = 470.0, 10.0
KEPT = 2 * 3 * LINE
"""What each section that follows is kept for its gravest, beside its heading."""
LONGEST = 330
"""So many signs of one threat are told."""


def letter_pdf(found: Watched, policy: RiskPolicy, about: Mapping[str, str]) -> bytes:
    """The letter as PDF/A-2a and PDF/UA-1; the same records and days give the same bytes.

    :raises CouldNot: where the extra `report` is not installed.
    """
    told = letter_told(found, policy, about)
    return pdf(TEMPLATE, told, day=told["day"])


def letter_told(found: Watched, policy: RiskPolicy, about: Mapping[str, str]) -> Json:
    """The letter as plain data."""
    day = found.newest[1][:10] if found.newest else ""
    title = f"What changed since {when(found.since)}"
    rows = (
        ("Collection", about.get("collection_name") or "not recorded"),
        ("Whom to ask", about.get("collection_contact") or "not recorded"),
        ("Records as of", in_words(day) or "no day recorded"),
        ("What runs out, judged on", in_words(found.on)),
    )
    return {
        **paper(about, title, in_words(day)),
        "day": day,
        "title": title,
        "under": "Letter on what threatens the collection’s original finish",
        "invented": "",
        "facts": as_data([Facts(tuple((name, cut(text, 90)) for name, text in rows))])[0],
        "portrait": None,
        "blocks": as_data(_blocks(found, policy)),
    }


def _blocks(found: Watched, policy: RiskPolicy) -> Iterator[Block]:
    yield Sentence(in_short(found), "lead")
    room = ROOM
    sections = [(what, [row for row in found.moved if row.what == what]) for what in TOLD]
    sections = [(what, rows) for what, rows in sections if rows]
    for at, (what, rows) in enumerate(sections):
        room -= SECTION
        kept = (SECTION + KEPT) * (len(sections) - at - 1)
        points = []
        for row in rows:
            point = _point(row, policy)
            high = LINE * len(wrapped(f"{point.strong}: {point.text} ({point.aside})", WIDTH, SIZE)) + BETWEEN
            if high > room - kept:
                break
            points.append(point)
            room -= high
        yield Heading(f"{HEADS[what]} ({len(rows):,})", name=what)
        if points:
            yield Points(tuple(points))
        if len(points) < len(rows):
            more = len(rows) - len(points)
            yield Sentence(f"{more:,} more, no graver than these, for which this page has no room.", "aside")
    yield Sentence(
        "MR is the magnitude of risk, at most 15: one step more is ten times the expected loss. " + FROM_MEMORY, "aside"
    )


def _point(row: Moved, policy: RiskPolicy) -> Point:
    threat, _ = row.shown
    remedy = f" {ended(threat.remedy)}" if row.alarms else ""
    # What is told of the threat gives way to what to do about it.
    said = cut(ended(threat.message), LONGEST - len(remedy))
    at = f" at {threat.place}" if threat.place else ""
    return Point(
        f"{said}{remedy}",
        strong=f"{cut(row.title, 60)} ({row.object}){at}",
        aside=f"{threat.kind}, {moved_in_words(row, policy)}",
    )
