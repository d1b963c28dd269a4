"""Days to look again as a calendar that any calendar program reads: iCalendar, RFC 5545."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

LONGEST_LINE = 75
"""Octets of a line without its end, RFC 5545 section 3.1."""


@dataclass(frozen=True, slots=True)
class Event:
    """One whole day: `about` names what it is about and never changes, so that it is the same event in every calendar
    that is read later; `on` is YYYY-MM-DD, `address` a whole address or None."""

    about: str
    on: str
    title: str
    text: str
    category: str
    address: str | None = None


def calendar(name: str, events: Iterable[Event], *, whose: str, stamp: str, private: bool) -> str:
    """The calendar as text with lines that end as the standard has it.

    :param whose: whose records these are, by code or name: it goes into the ids of the events.
    :param stamp: YYYY-MM-DD, the day of the records; the same records give the same bytes.
    :param private: whether it is for staff.
    """
    at = f"{stamp.replace('-', '')}T000000Z"
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//firstcoat//review dates//EN",
        "CALSCALE:GREGORIAN",
        "METHOD:PUBLISH",
        f"X-WR-CALNAME:{escaped(name)}",
    ]
    for event in events:
        lines += _event(event, whose, at, private)
    return "".join(f"{part}\r\n" for line in [*lines, "END:VCALENDAR"] for part in folded(line))


def _event(event: Event, whose: str, at: str, private: bool) -> Iterator[str]:
    # A name-based UUID, RFC 9562 section 5.5, as RFC 7986 section 5.3 advises in place of host names.
    uid = uuid.uuid5(uuid.NAMESPACE_URL, f"firstcoat:{whose}:{event.about}")
    yield from (
        "BEGIN:VEVENT",
        f"UID:{uid}",
        f"DTSTAMP:{at}",
        f"DTSTART;VALUE=DATE:{event.on.replace('-', '')}",
        f"SUMMARY:{escaped(event.title)}",
        f"DESCRIPTION:{escaped(event.text)}",
        f"CATEGORIES:{escaped(event.category)}",
    )
    if event.address is not None:
        yield f"URL:{event.address}"
    yield from (f"CLASS:{'PRIVATE' if private else 'PUBLIC'}", "TRANSP:TRANSPARENT", "END:VEVENT")


def escaped(text: str) -> str:
    """A text as section 3.3.11 writes it: what parts values and lines is escaped, other control signs are left out."""
    text = text.replace("\r\n", "\n").replace("\\", "\\\\").replace(";", r"\;").replace(",", r"\,").replace("\n", r"\n")
    return "".join(sign for sign in text if sign == "\t" or (sign >= " " and sign != "\x7f"))


def folded(line: str) -> Iterator[str]:
    """A line in pieces of at most 75 octets, all but the first after a space, none cut within a sign."""
    piece, room = "", LONGEST_LINE
    for sign in line:
        size = len(sign.encode())
        if size > room:
            yield piece
            piece, room = " ", LONGEST_LINE - 1
        piece += sign
        room -= size
    yield piece
