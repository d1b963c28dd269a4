"""The object page: what survives, where, and what endangers it; everything else is one click away."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from collection.compute.advice import standing
from collection.compute.threats import ADVISED, DESTROYED, OVERTAKEN
from collection.language.sentences import percent, square_metres
from collection.language.words import SEVERITY_RANK, parts_of
from collection.output.drawings.elevation import elevations, unplaced
from collection.output.published_object import PublishedObject, as_record, newest
from collection.output.site.glances import portrait
from collection.records.codes import natural
from collection.records.sheets import Advice, Treatment
from collection.values.spoken_dates import in_words
from firstcoat_site.addresses import Addresses
from firstcoat_site.pages import finishes
from firstcoat_site.pages.lighting import View, views
from firstcoat_site.wording import DECIDED, SHEET_NAMES, area, read_counts

Json = dict[str, Any]

MOST_THREATS = 5
ALONE = "not examined"
"""The state that is said once of all the places of a part."""


def object_page(published: PublishedObject, to: Addresses) -> Json:
    """What the template of an object shows."""
    survival = published["survival"]
    # What is proposed, and what was advised, stands above in its own words.
    against = [row for row in published["threats"] if row["kind"] not in (DESTROYED, OVERTAKEN, ADVISED)]
    whole = [row for row in published["pictures"] if (row.get("place") or "all") == "all" and not row.get("sample")]
    first = portrait(whole)
    shown = [view for view in views(whole) if not _is_portrait(view, first)]
    drawn, others = parts(published, to)
    return {
        "record": published["record"],
        "lead": f"{survival['sentence']}.",
        "figures": figures(survival),
        "portrait": first,
        "advice": advice(published),
        "hazards": newest(published["hazards"], "hazard"),
        "tags": tags(published),
        "elevations": elevations(published),
        "outlined": drawn,
        "others": others,
        "finishes": finishes.told(published),
        "first_finish": finishes.pictures(published, 1),
        "life": published.figure("life"),
        "decorations": decorations(published),
        "claims": newest(published["claims"], "claim"),
        "proposals": proposals(published, to),
        "threats": against[:MOST_THREATS],
        "more_threats": max(0, len(against) - MOST_THREATS),
        "views": shown,
        # A picture that stands again below among its lights is told there in full.
        "portrait_again": any(row is first for view in shown for _, row in view.pictures),
        "numbers": {sheet: len(published[sheet]) for sheet in ("samples", "tests", "treatments", "advice", "pictures")},
        "listed": listed(published),
        "withheld": withheld(published),
    }


def _is_portrait(view: View, first: Json | None) -> bool:
    """Whether a view is nothing but the picture at the top."""
    return not view.is_switched and view.pictures[0][1] is first


def advice(published: PublishedObject) -> list[Json]:
    """The advice in force, newest first, each row with what it speaks against in words as `opposed`."""
    rows = {row["advice"]: row for row in published["advice"]}
    found = standing(
        [as_record(Advice, row) for row in rows.values()],
        [as_record(Treatment, row) for row in published["treatments"]],
        published["survival"]["as_of"],
    )
    return [{**rows[each.advice], "opposed": _opposed(each.against)} for each in found]


def tags(published: PublishedObject) -> list[str]:
    """A sentence for each tag that hangs on it, and whether it still holds; where it hangs is in the staff's file alone."""
    says = {True: "; it says what is known today", False: "; it is out of date", None: ""}
    return [
        f"A {row['kind']} has hung on it since {in_words(row['hung_on'])}"
        + (f" ({row['hangs_at']}; hung by {row['hung_by']})" if row.get("hangs_at") else "")
        + f"{says[row['up_to_date']]}."
        for row in published.get("tags", ())
    ]


def _opposed(against: str | None) -> str:
    actions = parts_of(against) if against else []
    return "any work here" if "all" in actions else ", ".join(actions)


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
        shown = {**place(published, row), "url": to.place(row["place"]) if published.has_place(row["place"]) else None}
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
        # The bar of the percentage, in hundredths.
        "bar": [round(100 * end) for end in row["share"]] if row["read"] and row["share"] else None,
        "area": area(row["area_m2"], own.get("area_m2")),
    }


def _said_of(row: Json, own: Json) -> list[str]:
    """What else a reader should know about a place at a glance."""
    part = row["place"] == row["component"]
    said = [
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
            f"proposed {in_words(row['proposed_on'])}",
            f"{DECIDED[made['decision']]} {in_words(made['decided_at'][:10])}" if made else "not decided",
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
