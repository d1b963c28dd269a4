"""An object's history in order of time."""

from __future__ import annotations

from typing import Any

from collection.output.published.published_object import PublishedObject
from collection.values.dates import bounds, from_to

Json = dict[str, Any]


def timeline_data(published: PublishedObject) -> Json:
    """`events` in the order of time, undated ones last: `{"kind", "when", "earliest", "latest", "what", "record"}`."""
    events = [
        _event("finish", row.get("made"), f"Scheme {row['scheme']}: {row['name']}", "schemes", row)
        for row in published["schemes"]
        if row.get("made")
    ]
    events += [
        _event("work", from_to(row.get("started"), row.get("ended")), row["purpose"], "treatments", row)
        for row in published["treatments"]
    ]
    events += [_event("advice", row.get("given_on"), row["what"], "advice", row) for row in published["advice"]]
    events += [
        _event("claim", row["observed_on"], f"{row['statement']}: {row['status']}", "claims", row)
        for row in published["claims"]
        if row.get("observed_on")
    ]
    events += [
        _event(
            "survey", from_to(row["started"], row.get("ended")), row["title"], "surveys", {**row, "key": row["code"]}
        )
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
