"""The page of one place: the evidence for its state, coat by coat, and what was advised and done there."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from collection.language.words import SEVERITY_RANK
from collection.output.drawings.elevation import drawing_of, elevations
from collection.output.drawings.stack import notes, panels, stack_of
from collection.output.published_object import PublishedObject, newest
from firstcoat_site.addresses import Addresses
from firstcoat_site.pages import evidence
from firstcoat_site.pages.before import CLEARED
from firstcoat_site.pages.lighting import views
from firstcoat_site.pages.object import place
from firstcoat_site.pages.sample import test_lines

Json = dict[str, Any]

SHEETS = ("samples", "tests", "conditions", "decorations", "reserves", "claims", "pictures", "advice")


def place_data(published: PublishedObject, code: str) -> Json | None:
    """Everything published about one place and what lies in it, as plain data; None where there is no such place.

    Records of places that hold this one stand under `of_the_whole`.
    """
    if not published.has_place(code):
        return None
    inside = {other for other in (*published.named, code) if published.places.contains(code, other)}
    around = [other for other in published.places.around(code) if other != code]
    return {
        "format": 1,
        "object": published.code,
        "place": code,
        "name": published.name_of(code),
        "components": [row for row in published["components"] if row["component"] == code],
        "zones": [row for row in published["zones"] if row["zone"] == code],
        "survival": published.states.get(code),
        "lies_in": around,
        "holds": sorted(inside - {code}),
        **{sheet: _at(published[sheet], inside) for sheet in SHEETS},
        "treatments": _work(published, inside),
        "losses": _losses(published, inside),
        "of_the_whole": {
            **{sheet: _at(published[sheet], set(around)) for sheet in ("conditions", "reserves", "claims", "advice")},
            "treatments": _work(published, set(around)),
        },
    }


def place_page(published: PublishedObject, data: Json, to: Addresses) -> Json:
    """What the template of a place shows beside its data."""
    code, state = data["place"], data["survival"]
    drawn = drawing_of(published, code)
    removed = [step for row in data["treatments"] for step in row["treatment_steps"] if step.get("removed")]
    rests_on = [{"kind": "samples", "key": row["key"]} for row in data["samples"]]
    rests_on += [{"kind": "treatment_steps", "key": step["key"]} for step in removed]
    read = [row for row in data["samples"] if row["layers"]]
    stacks = [stack_of(published, row["sample"]) for row in read]
    return {
        "state_row": None if state is None else place(published, state),
        "rests_on": evidence.cards(published, rests_on, to),
        "inner": [place(published, published.states[other]) for other in data["holds"] if other in published.states],
        "outer": [other for other in data["lies_in"] if published.has_place(other)],
        "elevations": [view for view in elevations(published) if any(shape.code == code for shape in view.shapes)]
        if drawn
        else [],
        "stacks": list(zip(read, panels(stacks, name="stack"), strict=True)),
        "stack_notes": notes(stacks),
        "views": views(row for row in data["pictures"] if not row.get("sample")),
        "test_lines": test_lines(published, data["tests"], to),
        "claims": newest([*data["claims"], *data["of_the_whole"]["claims"]], "claim"),
        "proposed": _by_proposal(data["losses"], to),
    }


def _at(rows: Iterable[Json], places: set[str]) -> list[Json]:
    return [row for row in rows if (row.get("place") or "all") in places]


def _work(published: PublishedObject, places: set[str]) -> list[Json]:
    """Treatments with their steps in some places."""
    found = []
    for row in published["treatments"]:
        steps = _at(row["treatment_steps"], places)
        if steps:
            found.append({**row, "treatment_steps": steps})
    return found


def _by_proposal(losses: list[Json], to: Addresses) -> list[Json]:
    """The losses here by proposal, the worst first; what is cleared is only counted."""
    found: dict[str, Json] = {}
    for loss in losses:
        row = found.setdefault(
            loss["proposal"],
            {
                "title": loss["title"],
                "outcome": loss["severity"],
                "lines": [],
                "cleared": 0,
                "url": to.proposal(loss["proposal"]),
            },
        )
        if loss["severity"] in CLEARED:
            row["cleared"] += 1
        else:
            row["lines"].append({**loss, "url": to.loss(loss["proposal"], loss["id"])})
    return list(found.values())


def _losses(published: PublishedObject, places: set[str]) -> list[Json]:
    found = [
        {
            "proposal": row["proposal"],
            "title": row["title"],
            **{name: loss[name] for name in ("id", "severity", "message")},
        }
        for row in published["proposals"]
        for loss in row["assessment"]["losses"]
        if loss["place"] in places
    ]
    return sorted(found, key=lambda loss: -SEVERITY_RANK[loss["severity"]])
