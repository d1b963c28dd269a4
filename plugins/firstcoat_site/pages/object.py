"""The object page: what survives, where, and what endangers it; everything else is one click away."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from collection.compute.threats import DESTROYED, OVERTAKEN
from collection.language.sentences import percent, square_metres
from collection.language.words import SEVERITY_RANK
from collection.output.drawings.elevation import elevations
from collection.output.published_object import PublishedObject, newest
from collection.records.codes import natural
from collection.values.dates import bounds
from firstcoat_site.addresses import Addresses
from firstcoat_site.pages.lighting import views
from firstcoat_site.wording import DECIDED, SHEET_NAMES, area, read_counts

Json = dict[str, Any]

LATEST_WORK, MOST_THREATS = 3, 5


def object_page(published: PublishedObject, to: Addresses) -> Json:
    """What the template of an object shows."""
    survival = published["survival"]
    # What is proposed stands above with its own outcome.
    against = [row for row in published["threats"] if row["kind"] not in (DESTROYED, OVERTAKEN)]
    return {
        "record": published["record"],
        "lead": f"{survival['sentence']}.",
        "figures": figures(survival),
        "places": places(published, to),
        "elevations": elevations(published),
        "hazards": newest(published["hazards"], "hazard"),
        "decorations": decorations(published),
        "claims": newest(published["claims"], "claim"),
        "proposals": proposals(published, to),
        "work": _latest_work(published),
        "threats": against[:MOST_THREATS],
        "more_threats": max(0, len(against) - MOST_THREATS),
        "views": views(
            row for row in published["pictures"] if (row.get("place") or "all") == "all" and not row.get("sample")
        ),
        "numbers": {sheet: len(published[sheet]) for sheet in ("samples", "tests", "treatments", "advice", "pictures")},
        "listed": listed(published),
        "withheld": withheld(published),
    }


def listed(published: PublishedObject) -> list[tuple[str, list[Json]]]:
    """The cells of lists that no column took whole, by the row that they stand in; on a site for staff alone."""
    rows: dict[str, list[Json]] = {}
    for cell in published.get("listed", ()):
        rows.setdefault(_stood(cell), []).append(
            {**cell, "before": [(_stood(old), old["text"]) for old in cell["earlier"]]}
        )
    return list(rows.items())


def _stood(cell: Json) -> str:
    return ", ".join(part for part in (cell["list"], cell["row"] and f"row {cell['row']}", cell["on"]) if part)


def withheld(published: PublishedObject) -> list[str]:
    """How many records of each kind are not published, in words."""
    return [f"{number} × {SHEET_NAMES[sheet]}" for sheet, number in published["withheld"].items()]


def figures(survival: Mapping[str, Any]) -> list[str]:
    """The figures worked out from the readings, in sentences that say how far to trust them."""
    found = []
    if survival["surviving_m2"] is not None and survival["read"]:
        found.append(
            f"Worked out from these places, {square_metres(survival['surviving_m2'])} of it survives (95 % interval)."
        )
    unmeasured, unexamined = survival["unmeasured_places"], survival["unexamined_places"]
    if unmeasured:
        found.append(
            "One place has no recorded area." if unmeasured == 1 else f"{unmeasured} places have no recorded area."
        )
    if unexamined:
        found.append(
            "Nobody has examined one of the places listed below."
            if unexamined == 1
            else f"Nobody has examined {unexamined} of the places listed below."
        )
    if survival["how_chosen"]:
        found.append(f"{survival['how_chosen']}.")
    if survival["withheld_readings"]:
        number = survival["withheld_readings"]
        found.append(f"{number} of these readings {'is' if number == 1 else 'are'} not published.")
    return found


def places(published: PublishedObject, to: Addresses) -> list[Json]:
    """Every place with its state, in the order of part and zone; the whole object's own row last."""
    readings: dict[str, list[Json]] = {}
    for sample in published["samples"]:
        if sample["original"] is not None:
            readings.setdefault(sample["place"], []).append(sample)
    return [
        {
            **place(published, row),
            "url": to.place(row["place"]) if published.has_place(row["place"]) else None,
            "readings": readings.get(row["place"], []),
        }
        for row in sorted(
            published["survival"]["places"],
            key=lambda r: (
                r["place"] == "all",
                natural(r["component"] or ""),
                r["place"] != r["component"],
                natural(r["place"]),
            ),
        )
    ]


def place(published: PublishedObject, row: Json) -> Json:
    """A place with its figures in words."""
    own = published.named.get(row["place"], {})
    return {
        **row,
        "name": published.name_of(row["place"]),
        "said": _said_of(row, own),
        "counts": read_counts(row),
        # A place that nobody has read gets no figure that looks like knowledge.
        "percent": percent(row["share"]) if row["read"] and row["share"] else None,
        "area": area(row["area_m2"], own.get("area_m2")),
    }


def _said_of(row: Json, own: Json) -> list[str]:
    """What else a reader should know about a place at a glance."""
    part = row["place"] == row["component"]
    said = [
        f"on {row['component']}" if row["component"] and not part else None,
        own.get("presence") if own.get("presence") != "present" else None,
        f"part is {own['origin']}" if part and own.get("origin") not in (None, "original") else None,
        own.get("visibility") if own.get("visibility") != "visible" else None,
    ]
    return [part for part in said if part]


def decorations(published: PublishedObject) -> list[Json]:
    """Decorations in their newest state, with what survives of each."""
    survives = {row["decoration"]: row for row in published["survival"]["decorations"]}
    return [
        {**row, "survives": survives.get(row["decoration"])} for row in newest(published["decorations"], "decoration")
    ]


def proposals(published: PublishedObject, to: Addresses) -> list[Json]:
    """The proposals, worst first, each with its decision in a word."""
    carried_out = {row["proposal"] for row in published["treatments"] if row.get("proposal")}
    found = []
    for row in sorted(published["proposals"], key=lambda row: -SEVERITY_RANK[row["assessment"]["outcome"]]):
        made = row["decisions"][-1] if row["decisions"] else None
        said = [
            f"proposed {row['proposed_on']}",
            DECIDED[made["decision"]] if made else None,
            "and overtaken by later records" if made and made["stale"] else None,
            "carried out" if row["proposal"] in carried_out else None,
        ]
        found.append(
            {
                "title": row["title"],
                "outcome": row["assessment"]["outcome"],
                "url": to.proposal(row["proposal"]),
                "said": ", ".join(part for part in said if part),
            }
        )
    return found


def _latest_work(published: PublishedObject) -> list[Json]:
    dated = [row for row in published["treatments"] if row.get("started") or row.get("ended")]
    dated.sort(key=lambda row: bounds(row.get("ended") or row["started"]).latest, reverse=True)
    return dated[:LATEST_WORK]
