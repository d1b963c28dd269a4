"""The pages that list an object's records in full: its history, its cleaning tests, and everything else."""

from __future__ import annotations

from typing import Any

from collection.language.sentences import counted
from collection.output.published.addresses import Addresses
from collection.output.published.published_object import PublishedObject, newest
from collection.output.tell.lighting import views
from collection.output.tell.response_grid import ResponseGrid, response_grid
from collection.output.tell.state import decorations_told, withheld_told
from collection.output.tell.wording import conditions_of
from collection.values.dates import bounds
from firstcoat_site.pages.sample import test_lines

Json = dict[str, Any]

REST = (
    "components",
    "zones",
    "schemes",
    "decorations",
    "reserves",
    "conditions",
    "claims",
    "hazards",
    "analyses",
    "pictures",
    "sources",
)
"""Sheets shown on the page of all other records."""
TITLES = {
    "schemes": "Finishes",
    "decorations": "Decoration",
    "reserves": "Must stay untouched",
    "conditions": "Condition",
    "claims": "Claims",
    "hazards": "Hazards",
    "analyses": "Analyses",
    "views": "Pictures",
}
ID = {"conditions": "condition", "views": "pictures"}
"""Sections whose mark on the page has another name than what they show."""


def timeline_page(published: PublishedObject, data: Json, to: Addresses) -> Json:
    """What the template of the history shows: every event with its record, and the picture."""
    events = [
        {**event, "row": _worked(published.rows.get((event["record"]["kind"], event["record"]["key"])))}
        for event in data["events"]
    ]
    return {"events": events, "life": published.figure("life")}


def _worked(row: Json | None) -> Json | None:
    """A treatment with the conditions of each step in words; other records unchanged."""
    if row is None or "treatment_steps" not in row:
        return row
    return {**row, "treatment_steps": [{**step, "conditions": conditions_of(step)} for step in row["treatment_steps"]]}


def tests_data(published: PublishedObject) -> Json:
    """Every cleaning test with its responses."""
    return {"format": 1, "object": published.code, "tests": published["tests"]}


def tests_page(published: PublishedObject, data: Json, to: Addresses) -> Json:
    """What the template of the tests shows."""
    found = response_grid(published, data["tests"], to.record)
    return {
        "test_lines": test_lines(published, data["tests"], to),
        "found": found,
        "said": _tested(data["tests"], found),
    }


def _tested(tests: list[Json], found: ResponseGrid | None) -> str:
    """How much was tested, in a sentence."""
    coats = 0 if found is None else len(found.columns)
    agents = len({row["agent"] for row in tests})
    return f"{counted(len(tests), 'test')} with {counted(agents, 'agent')} on {counted(coats, 'coat')}"


def records_data(published: PublishedObject) -> Json:
    """Every record that has no page of its own."""
    return {
        "format": 1,
        "object": published.code,
        **{sheet: published[sheet] for sheet in REST},
        "withheld": published["withheld"],
    }


def records_page(published: PublishedObject, data: Json, to: Addresses) -> Json:
    """What the template of the records shows."""
    shown = {
        "schemes": sorted(published["schemes"], key=lambda row: (row.get("rank") is None, row.get("rank") or 0)),
        "decorations": decorations_told(published),
        "reserves": published["reserves"],
        "conditions": sorted(published["conditions"], key=lambda row: bounds(row["observed_on"]).latest, reverse=True),
        "claims": newest(published["claims"], "claim"),
        "hazards": newest(published["hazards"], "hazard"),
        "analyses": [row for row in published["analyses"] if not row.get("sample")],
        "views": views(row for row in published["pictures"] if not row.get("sample")),
    }
    return {
        **shown,
        "contents": [(ID.get(name, name), TITLES[name], len(rows)) for name, rows in shown.items() if rows],
        "names": {row["scheme"]: row["name"] for row in published["schemes"]},
        "withheld": withheld_told(published),
    }
