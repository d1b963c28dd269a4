"""What survives on an object, as blocks: the sentence, the drawings, its places and finishes, and how sure each figure is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from collection.language.sentences import counted, ended, percent, some, square_metres
from collection.output.drawings.elevation import Elevation, elevations
from collection.output.drawings.elevation_key import with_key
from collection.output.published.glances import portrait
from collection.output.published.published_object import PublishedObject, newest
from collection.output.tell.blocks import Block, Facts, Figure, Grid, Heading, Point, Points, Sentence
from collection.output.tell.state import (
    advice_in_force,
    decorations_told,
    figures,
    finishes_told,
    place_told,
    threats_told,
    withheld_told,
)
from collection.values.spoken_dates import in_words

Json = dict[str, Any]

NOT_EXAMINED = "not examined"
MOST_UNSEEN = 24
"""So many places that nobody has examined are named before the others are counted."""


def at(published: PublishedObject, code: str | None) -> str:
    """A place by its name, its code in brackets."""
    name = published.name_of(code or "all")
    return name if name and (code or "all") == "all" else f"{name} ({code})" if name and name != code else code or ""


def facts(published: PublishedObject, about: Mapping[str, str]) -> Facts:
    """What the object is, whose it is, and whom to ask."""
    record = published["record"]
    rows = (
        ("Number", published.code),
        ("Other numbers", record.get("other_numbers")),
        ("Kind", record["kind"]),
        ("Maker", record.get("maker")),
        ("Made", in_words(record.get("made"))),
        ("Materials", record.get("materials")),
        ("Size", record.get("dimensions")),
        ("Part of", record.get("part_of")),
        ("Collection", about.get("collection_name") or "not recorded"),
        ("Owner", record.get("owner")),
        ("Whom to ask", about.get("collection_contact") or "not recorded"),
        ("Held", {"held": "in the collection"}.get(record.get("status") or "", record.get("status"))),
        ("On show", record.get("public_place")),
        ("Store", record.get("store_place")),
        ("Hazards", ", ".join(f"{row['kind']} ({row['status']})" for row in newest(published["hazards"], "hazard"))),
        ("Surroundings", record.get("surroundings")),
        ("Condition as listed", record.get("listed_condition")),
        ("Notes", record.get("notes")),
        ("Records as of", in_words(published["changed_on"]) or "no day recorded"),
    )
    return Facts(tuple((name, text) for name, text in rows if text))


def invented(published: PublishedObject) -> str:
    """That what follows is made up for a demonstration; empty where it is not."""
    if not published["invented"]:
        return ""
    made_up = [row["title"] for row in published["surveys"] if row.get("invented") == "yes"]
    if len(made_up) == len(published["surveys"]):
        return "Invented demonstration data. No such object, place or person exists."
    return f"Some of this is invented for a demonstration: what {', '.join(made_up)} brought."


def portrait_of(published: PublishedObject) -> Figure | None:
    """The picture by which the object is known; None where there is none of the whole."""
    whole = [row for row in published["pictures"] if (row.get("place") or "all") == "all" and not row.get("sample")]
    row = portrait(whole)
    if row is None:
        return None
    return Figure(alt=row.get("caption") or f"{published.title}, the whole", caption=_credit(row), picture=row["file"])


def _credit(row: Json) -> str:
    said = (in_words(row.get("taken_on")), row.get("rights") or "Rights not recorded: do not show it outside")
    return ended(". ".join(part for part in said if part))


def survives(published: PublishedObject) -> list[Block]:
    """The sentence, and the drawing that shows most of it with its key."""
    survival = published["survival"]
    views = _most_told_first(published)
    found: list[Block] = [Heading("What survives", name="survives"), Sentence(ended(survival["sentence"]), "lead")]
    if not survival["read"] and all(row["state"] == NOT_EXAMINED for row in survival["places"]):
        found.append(
            Sentence(
                "Nobody has examined this object, which does not mean that nothing is there. Look before you work."
            )
        )
    if views:
        found.append(_drawn(views[0], 0))
    elif (first := portrait_of(published)) is not None:
        found.append(Figure(first.alt, first.caption, picture=first.picture, share=0.6))
    as_of = survival["as_of"] and f"The newest evidence is of {in_words(survival['as_of'])}."
    told = [part for part in (as_of, *figures(survival)) if part]
    if told:
        found.append(Sentence(" ".join(told)))
    return found


def _most_told_first(published: PublishedObject) -> list[Elevation]:
    views = elevations(published)
    return sorted(views, key=lambda view: -sum(shape.state not in (None, NOT_EXAMINED) for shape in view.shapes))


def _drawn(view: Elevation, number: int) -> Figure:
    names = "; ".join(
        f"{shape.name or shape.code} ({shape.code}): {shape.said}" if shape.name else f"{shape.code}: {shape.said}"
        for shape in view.shapes
    )
    return Figure(
        alt=ended(f"Drawing: {view.title}. {names}" if names else f"Drawing: {view.title}, no place outlined on it"),
        caption=f"{view.title}. Each place by its state.",
        svg=with_key(view, name=f"view{number}"),
        share=0.75 if number else 1.0,
    )


def advice(published: PublishedObject) -> list[Block]:
    """The advice in force in its authors' words, newest first; nothing where there is none."""
    rows = advice_in_force(published)
    if not rows:
        return []
    items = []
    for row in rows:
        urgent = f"{row['priority']}" if row.get("priority") else ""
        said = (
            row.get("given_by"),
            in_words(row["given_on"]),
            urgent and f"to be done {urgent}",
            row.get("until") and f"until {in_words(row['until'])}",
        )
        items.append(
            Point(
                quoted(row),
                strong=f"Speaks against: {row['opposed']}" if row["opposed"] else "",
                aside=", ".join(part for part in said if part),
                record=("advice", row["key"]),
                place=row.get("place") or "",
                place_name=_elsewhere(published, row.get("place")),
            )
        )
    return [Heading("Advice in force", name="advice"), Points(tuple(items), kind="words")]


def quoted(row: Json) -> str:
    """Advice in its author's words, with the reason given for it."""
    return f"“{ended(row['what'])}”" + (f" {ended(row['why'])}" if row.get("why") else "")


def _elsewhere(published: PublishedObject, code: str | None) -> str:
    """The name of a place; empty for the whole object, which goes without saying."""
    return "" if code in (None, "all") else published.name_of(code or "") or code or ""


def drawings(published: PublishedObject) -> list[Block]:
    """The other drawings, and every place with its state; what nobody has examined is named once."""
    found: list[Block] = [_drawn(view, number) for number, view in enumerate(_most_told_first(published)[1:], 1)]
    rows, unseen = [], []
    for row in published["survival"]["places"]:
        told = place_told(published, row)
        if row["state"] == NOT_EXAMINED and not row["read"]:
            if row["place"] != "all":
                unseen.append(at(published, row["place"]))
            continue
        rows.append(
            (
                at(published, row["place"]),
                ", ".join((row["state"], *told["said"])),
                told["counts"],
                told["percent"] or "no figure",
                told["area"] or "not measured",
            )
        )
    if rows:
        found.append(
            Grid(
                "The places that somebody has examined",
                ("Place", "State", "Maker’s finish seen at", "Share that survives (95 % interval)", "Area"),
                tuple(rows),
            )
        )
    if unseen:
        found.append(Sentence(f"Not examined; nobody has looked there: {ended(some(unseen, MOST_UNSEEN))}"))
    return [Heading("Where it survives", name="places"), *found] if found else []


def parts(published: PublishedObject) -> list[Block]:
    """The parts of the object: what each is made of, whether it is the maker's, whether it is there."""
    rows = [row for row in published.named.values() if "component" in row and "zone" not in row]
    if not rows:
        return []
    named = {row["component"]: row["name"] for row in rows}
    return [
        Heading("Its parts", name="parts"),
        Grid(
            "Parts, in their newest recorded state",
            ("Part", "Belongs to", "Support of the coats", "Origin", "Is it there"),
            tuple(
                (
                    at(published, row["component"]),
                    str(named.get(row.get("parent"), row.get("parent") or "")),
                    row.get("support") or "not recorded",
                    ", fitted ".join(
                        part for part in (row.get("origin") or "unknown", in_words(row.get("fitted"))) if part
                    ),
                    ", ".join(
                        part
                        for part in (row.get("presence") or "not recorded", in_words(row.get("observed_on")))
                        if part
                    ),
                )
                for row in rows
            ),
        ),
    ]


def finishes(published: PublishedObject) -> list[Block]:
    """The finishes in the order in which they were put on, with what each rests on; and the decorations."""
    told = finishes_told(published)
    found: list[Block] = []
    if told:
        rows = []
        for each in told:
            for row in each["schemes"]:
                sure = ", ".join(part for part in (row["period"], row.get("certainty")) if part)
                kept = row.get("keep") and f"Decided: {row['keep']}"
                why = ", ".join(part for part in (row.get("keep_why"), row.get("decided_by")) if part)
                rows.append(
                    (
                        f"{row['name']} ({row['scheme']})",
                        in_words(row.get("made")) or "not dated",
                        sure,
                        " ".join(
                            ended(p) for p in (row.get("basis"), kept and (f"{kept}: {why}" if why else kept)) if p
                        )
                        or "not recorded",
                    )
                )
        found.append(
            Grid(
                "From the first to the last",
                ("Finish", "Put on", "Period, how sure", "What that rests on"),
                tuple(rows),
            )
        )
    decorated = decorations_told(published)
    if decorated:
        found.append(Grid("Decoration", _DECORATED, tuple(_decoration(published, row) for row in decorated)))
    drawn = published.figure("finish-1-1") if told else None
    if drawn and told:
        caption = f"{ended(told[0]['title'])} As the samples record it: a reconstruction, hatched where nobody knows."
        found.insert(0, Figure(f"Drawing of the first finish: {caption}", caption, svg=drawn, share=0.7))
    return [Heading("Its finishes", name="finishes"), *found] if found else []


_DECORATED = ("Decoration", "Where", "What it shows", "State", "What survives")


def _decoration(published: PublishedObject, row: Json) -> tuple[str, ...]:
    survives = row["survives"]
    share = survives and survives.get("share")
    seen = ", ".join(part for part in (row.get("state"), in_words(row.get("observed_on"))) if part)
    return (
        f"{row['kind']} {row['decoration']}",
        at(published, row["place"]),
        row.get("description") or "not recorded",
        seen or "not recorded",
        percent(share) if share else "no figure",
    )


def threats(published: PublishedObject, most: int | None = None) -> list[Block]:
    """What works against the original finish, the gravest first; nothing where nothing is known to.

    :param most: so many are told, and the others counted.
    """
    rows = threats_told(published)
    if not rows:
        return []
    items = [
        Point(
            row["message"],
            aside=row.get("remedy") or "",
            place=row.get("place") or "",
            place_name=_elsewhere(published, row.get("place")),
        )
        for row in rows[:most]
    ]
    found: list[Block] = [Heading("What works against it", name="threats"), Points(tuple(items))]
    if len(items) < len(rows):
        found.append(Sentence(f"{len(rows) - len(items)} more, in the history and the condition.", "aside"))
    return found


def certainty(published: PublishedObject) -> list[Block]:
    """How sure each figure is: what was read, how the places were chosen, what nobody has examined, what is held back."""
    survival = published["survival"]
    samples = published["samples"]
    silent = sum(row["original"] is None for row in samples)
    items = [
        "Observed are the coats, responses, conditions and measurements. Worked out from them are the states of the places, "
        "the shares and areas, and what proposed work would take; nobody typed these in."
    ]
    if survival["read"]:
        items.append(
            f"The maker’s finish was seen at {survival['present']} of {counted(survival['read'], 'place')} read"
            + (f", {counted(survival['traces'], 'trace')} among them" if survival["traces"] else "")
            + ". A share is given as expected value (low–high): if places like these were read again and again, the "
            "interval would hold the true share in 95 of 100 cases, as far as the places read stand for the others."
        )
    else:
        items.append("No reading says whether the maker’s finish is there, so no share and no area is given.")
    if survival["how_chosen"]:
        items.append(
            f"{ended(survival['how_chosen'])} Places chosen where the finish was expected, or at a loss, stand for the rest "
            "less well than those chosen at random."
        )
    if silent:
        items.append(f"{counted(silent, 'sample')} of {len(samples)} say nothing of the maker’s finish.")
    if survival["unexamined_places"]:
        items.append(
            f"{counted(survival['unexamined_places'], 'place')} nobody has examined; nothing is claimed of them."
        )
    if survival["unmeasured_places"]:
        items.append(f"{counted(survival['unmeasured_places'], 'place')} without a recorded area stand in no area.")
    if survival["withheld_readings"]:
        items.append(f"{counted(survival['withheld_readings'], 'reading')} count and are not published.")
    wholes = [
        (row["name"], row["figures"])
        for row in ({"name": _scheme(published, each["scheme"]), "figures": each} for each in survival["schemes"])
    ]
    rows = [
        (
            name,
            f"{each['present']} of {each['read']}",
            _area(each["surviving_m2"]),
            in_words(each["as_of"]) or "no day known",
        )
        for name, each in wholes
        if each["read"]
    ]
    found: list[Block] = [
        Heading("How sure each figure is", name="certainty"),
        Points(tuple(Point(text) for text in items)),
    ]
    if rows:
        found.append(
            Grid(
                "What survives of each finish",
                ("Finish", "Seen at", "Survives (95 % interval)", "Evidence of"),
                tuple(rows),
            )
        )
    held = withheld_told(published)
    if held:
        found.append(Sentence(f"Not published of this object: {', '.join(held)}.", "aside"))
    return found


def _scheme(published: PublishedObject, code: str) -> str:
    row = next((row for row in published["schemes"] if row["scheme"] == code), None)
    return f"{row['name']} ({code})" if row else code


def _area(span: list[float] | None) -> str:
    return "no figure" if span is None else square_metres(span)
