"""The state of an object in words: what survives, where and how surely, what was advised, its finishes and decorations."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from collection.compute.advice import standing
from collection.compute.risk.threat import ADVISED, DESTROYED, OVERTAKEN
from collection.language.sentences import percent, square_metres
from collection.language.words import SEVERITY_RANK, parts_of
from collection.output.drawings import finishes as drawn
from collection.output.published.published_object import PublishedObject, as_record, newest
from collection.output.tell.wording import DECIDED, SHEET_NAMES, area, read_counts
from collection.records.sheets import Advice, Treatment
from collection.values.spoken_dates import in_words

Json = dict[str, Any]


def advice_in_force(published: PublishedObject) -> list[Json]:
    """The advice in force, newest first, each row with what it speaks against in words as `opposed`."""
    rows = {row["advice"]: row for row in published["advice"]}
    found = standing(
        [as_record(Advice, row) for row in rows.values()],
        [as_record(Treatment, row) for row in published["treatments"]],
        published["survival"]["as_of"],
    )
    return [{**rows[each.advice], "opposed": _opposed(each.against)} for each in found]


def _opposed(against: str | None) -> str:
    actions = parts_of(against) if against else []
    return "any work here" if "all" in actions else ", ".join(actions)


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


def place_told(published: PublishedObject, row: Json) -> Json:
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


def decorations_told(published: PublishedObject) -> list[Json]:
    """Decorations in their newest state, with what survives of each."""
    survives = {row["decoration"]: row for row in published["survival"]["decorations"]}
    return [
        {**row, "survives": survives.get(row["decoration"])} for row in newest(published["decorations"], "decoration")
    ]


def proposals_told(published: PublishedObject) -> list[Json]:
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
                "proposal": row["proposal"],
                "said": ", ".join(part for part in said if part),
            }
        )
    return found


def withheld_told(published: PublishedObject) -> list[str]:
    """How many records of each kind are not published, in words."""
    return [f"{number} × {SHEET_NAMES[sheet]}" for sheet, number in published["withheld"].items()]


def listed_told(published: PublishedObject) -> list[tuple[str, list[Json]]]:
    """The cells of lists that no column took whole, by the row that they stand in; on a site for staff alone."""
    rows: dict[str, list[Json]] = {}
    for cell in published.get("listed", ()):
        rows.setdefault(_stood(cell), []).append(
            {**cell, "before": [(_stood(old), old["text"]) for old in cell["earlier"]]}
        )
    return list(rows.items())


def _stood(cell: Json) -> str:
    return ", ".join(part for part in (cell["list"], cell["row"] and f"row {cell['row']}", cell["on"]) if part)


def finishes_told(published: PublishedObject) -> list[Json]:
    """What is told of each finish."""
    decorations = newest(published["decorations"], "decoration")
    return [
        {
            "number": finish.number,
            "title": finish.title,
            "schemes": list(finish.schemes),
            "decorations": [row for row in decorations if row.get("scheme") in finish.codes],
        }
        for finish in drawn.finishes(published["schemes"])
    ]


def threats_told(published: PublishedObject) -> list[Json]:
    """What works against the original finish; what is proposed, and what was advised, is told in its own words."""
    return [row for row in published["threats"] if row["kind"] not in (DESTROYED, OVERTAKEN, ADVISED)]


def tags_told(published: PublishedObject) -> list[str]:
    """A sentence for each tag that hangs on it, and whether it still holds; where it hangs is in the staff's records."""
    says = {True: "; it says what is known today", False: "; it is out of date", None: ""}
    return [
        f"A {row['kind']} has hung on it since {in_words(row['hung_on'])}"
        + (f" ({row['hangs_at']}; hung by {row['hung_by']})" if row.get("hangs_at") else "")
        + f"{says[row['up_to_date']]}."
        for row in published.get("tags", ())
    ]
