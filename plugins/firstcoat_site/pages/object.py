"""The object page: what survives, where, and what endangers it; everything else is one click away."""

from __future__ import annotations

from typing import Any

from collection.output.drawings.elevation import elevations, unplaced
from collection.output.published.addresses import Addresses
from collection.output.published.glances import portrait
from collection.output.published.published_object import PublishedObject
from collection.output.tell import object_survival, object_work
from collection.output.tell.blocks import as_data
from collection.output.tell.lighting import View, views
from collection.output.tell.state import (
    decorations_told,
    figures,
    finishes_told,
    listed_told,
    place_told,
    proposals_told,
    tags_told,
    withheld_told,
)
from collection.records.codes import natural
from firstcoat_site.pages import finishes

Json = dict[str, Any]

MOST_THREATS = 5
ALONE = "not examined"
"""The state that is said once of all the places of a part."""


def object_page(published: PublishedObject, to: Addresses) -> Json:
    """What the template of an object shows."""
    survival = published["survival"]
    whole = [row for row in published["pictures"] if (row.get("place") or "all") == "all" and not row.get("sample")]
    first = portrait(whole)
    shown = [view for view in views(whole) if not _is_portrait(view, first)]
    drawn, others = parts(published, to)
    return {
        "record": published["record"],
        "lead": f"{survival['sentence']}.",
        "figures": figures(survival),
        "portrait": first,
        "tags": tags_told(published),
        "elevations": elevations(published),
        "outlined": drawn,
        "others": others,
        "finishes": finishes_told(published),
        "first_finish": finishes.pictures(published, 1),
        "life": published.figure("life"),
        "decorations": decorations_told(published),
        "proposals": [{**row, "url": to.proposal(row["proposal"])} for row in proposals_told(published)],
        "told": {
            "advice": as_data(object_survival.advice(published)),
            "hazards": as_data(object_work.hazards(published)),
            "reserves": as_data(object_work.reserves(published)),
            "claims": as_data(object_work.claims(published)),
            "threats": as_data(object_survival.threats(published, MOST_THREATS)),
        },
        "views": shown,
        # A picture that stands again below among its lights is told there in full.
        "portrait_again": any(row is first for view in shown for _, row in view.pictures),
        "numbers": {sheet: len(published[sheet]) for sheet in ("samples", "tests", "treatments", "advice", "pictures")},
        "listed": listed_told(published),
        "withheld": withheld_told(published),
    }


def _is_portrait(view: View, first: Json | None) -> bool:
    """Whether a view is nothing but the picture at the top."""
    return not view.is_switched and view.pictures[0][1] is first


def parts(published: PublishedObject, to: Addresses) -> tuple[list[Json], list[Json]]:
    """The places in groups by part: those on the drawings, and those on none. Each group has a name, its places that
    somebody has examined, and the others by their state, because of those there is nothing else to say."""
    missing = {code for _, codes in unplaced(published) for code in codes}
    groups: tuple[dict[str, list[Json]], dict[str, list[Json]]] = ({}, {})
    rows = sorted(
        published["survival"]["places"],
        key=lambda r: (
            r["place"] == "all",
            natural(r["component"] or ""),
            r["place"] != r["component"],
            natural(r["place"]),
        ),
    )
    for row in rows:
        shown = {
            **place_told(published, row),
            "url": to.place(row["place"]) if published.has_place(row["place"]) else None,
        }
        groups[row["place"] in missing].setdefault(row["component"] or "", []).append(shown)
    drawn, others = ([_group(published, part, rows) for part, rows in each.items()] for each in groups)
    return drawn, others


def _group(published: PublishedObject, part: str, rows: list[Json]) -> Json:
    return {
        "code": part,
        "name": published.name_of(part) if part else "the whole object",
        # A part with places of its own stands for what lies outside them.
        "rest": any(zone["component"] == part for zone in published["zones"]),
        "told": [row for row in rows if row["state"] != ALONE],
        "unseen": [row for row in rows if row["state"] == ALONE],
    }
