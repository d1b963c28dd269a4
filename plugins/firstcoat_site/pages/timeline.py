"""An object's history in order of time, and the same as a picture to scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from collection.output.published_object import PublishedObject
from collection.values.dates import bounds

Json = dict[str, Any]

ROWS = ("finish", "work", "advice", "claim", "survey", "decision")
ROW_NAMES = {
    "finish": "Finishes",
    "work": "Work",
    "advice": "Advice",
    "claim": "Claims",
    "survey": "Surveys",
    "decision": "Decisions",
}
WIDTH, LEFT, RIGHT, HEIGHT = 900.0, 84.0, 14.0, 26.0
_STEPS = (1, 2, 5, 10, 20, 25, 50, 100, 200, 500)
MOST_TICKS = 9
OPEN_START, OPEN_END = "0001", "9000"


@dataclass(frozen=True)
class Mark:
    """One event as drawn: from `x` to `x2`, in drawing units; `open` where an end of it is not known."""

    row: str
    x: float
    x2: float
    y: float
    open: bool


@dataclass(frozen=True)
class Plot:
    """The picture: marks, the years under it, and the rows that hold something."""

    marks: tuple[Mark, ...]
    ticks: tuple[tuple[int, float], ...]
    rows: tuple[tuple[str, float], ...]
    height: float
    first: int
    last: int


def timeline_data(published: PublishedObject) -> Json:
    """`events` in the order of time, undated ones last: `{"kind", "when", "earliest", "latest", "what", "record"}`."""
    events = [
        _event("finish", row.get("made"), f"Scheme {row['scheme']}: {row['name']}", "schemes", row)
        for row in published["schemes"]
        if row.get("made")
    ]
    events += [
        _event("work", _span(row.get("started"), row.get("ended")), row["purpose"], "treatments", row)
        for row in published["treatments"]
    ]
    events += [_event("advice", row.get("given_on"), row["what"], "advice", row) for row in published["advice"]]
    events += [
        _event("claim", row["observed_on"], f"{row['statement']}: {row['status']}", "claims", row)
        for row in published["claims"]
        if row.get("observed_on")
    ]
    events += [
        _event("survey", _span(row["started"], row.get("ended")), row["title"], "surveys", {**row, "key": row["code"]})
        for row in published["surveys"]
    ]
    events += [
        _event("decision", made["decided_at"][:10], f"{row['title']}: {made['decision']}", "proposals", row)
        for row in published["proposals"]
        for made in row["decisions"]
    ]
    return {
        "format": 1,
        "object": published.code,
        "events": sorted(events, key=lambda e: (e["earliest"] or "~", e["latest"] or "~")),
    }


def plot(data: Json) -> Plot | None:
    """The picture of the dated events; None where there are fewer than two."""
    spans = []
    for event in data["events"]:
        if event["earliest"] is None:
            continue
        start, end = _year(event["earliest"]), _year(event["latest"])
        is_open = event["earliest"] < OPEN_START or event["latest"] > OPEN_END
        spans.append(
            (
                event["kind"],
                end if event["earliest"] < OPEN_START else start,
                start if event["latest"] > OPEN_END else end,
                is_open,
            )
        )
    if len(spans) < 2:
        return None
    first, last = min(span[1] for span in spans), max(span[2] for span in spans)
    step = next((s for s in _STEPS if (last - first) / s <= MOST_TICKS), 1000)
    low, high = int(first // step * step), int(-(-last // step) * step)
    high = max(high, low + 1)
    scale = (WIDTH - LEFT - RIGHT) / (high - low)
    used = [row for row in ROWS if any(span[0] == row for span in spans)]
    marks = tuple(
        Mark(
            kind,
            round(LEFT + (start - low) * scale, 1),
            round(LEFT + (end - low) * scale, 1),
            used.index(kind) * HEIGHT + HEIGHT / 2,
            is_open,
        )
        for kind, start, end, is_open in spans
    )
    ticks = tuple((year, round(LEFT + (year - low) * scale, 1)) for year in range(low, high + 1, step))
    rows = tuple((ROW_NAMES[row], number * HEIGHT + HEIGHT / 2) for number, row in enumerate(used))
    return Plot(marks, ticks, rows, len(used) * HEIGHT, low, high)


def _event(kind: str, when: str | None, what: str, sheet: str, row: Json) -> Json:
    span = bounds(when) if when else None
    return {
        "kind": kind,
        "when": when,
        "earliest": span and span.earliest,
        "latest": span and span.latest,
        "what": what,
        "record": {"kind": sheet, "key": row["key"]},
    }


def _span(start: str | None, end: str | None) -> str | None:
    """One date of a beginning and an end, either of which may be blank."""
    if start is None or end is None or start == end:
        return start or end
    return f"{bounds(start).earliest}/{bounds(end).latest}"


def _year(day: str) -> float:
    year, month = day[:4], day[5:7]
    return int(year) + (int(month or 1) - 1) / 12
