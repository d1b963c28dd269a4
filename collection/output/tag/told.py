"""What the tag on an object says, as plain data.

It is the one thing that somebody reads who opens no database, so it says the main thing by itself: whether original
finish survives and where, what must not be done, and whom to ask. What is not known is said as such.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from typing import Any

from collection.compute.prohibitions import Prohibition, prohibitions
from collection.output.drawings.elevation import Elevation, elevations
from collection.output.drawings.marked import OPEN, UNDER, Mark
from collection.output.drawings.text import address
from collection.output.published.published_object import PublishedObject
from collection.records.codes import natural
from collection.records.facts import canonical_json, current, surely_in_state
from collection.values.spoken_dates import in_words

Json = dict[str, Any]

SURVIVES = "Original finish survives under here"
REMAINS = "Remains of the original finish survive here"
IS_ORIGINAL = "This is the original finish"
NOT_FOUND = "No original finish found so far"
REMOVED = "The original finish was taken off here"
NOT_EXAMINED = "Not examined: look before you work"
COVERED, EXPOSED, FRAGMENTARY = "original covered", "original exposed", "original fragmentary"
DONTS = 3
"""So many things not to do are on a tag: nobody reads a fourth."""
MARKED, NAMED = 6, 4
"""So many places are marked on the drawing, and so many are named that nobody examined; the rest are counted."""
LONGEST_ADDRESS = 60
"""A longer address makes a code that is too fine to be read from a tag; it stands as text alone."""
LEAD = "Treat the paint as leaded until it is analysed: no dust, no heat."
HURTS = "Can hurt you: {}."
FOLLOW = "Follow local codes and licensed practice."
INVENTED = "Invented for a demonstration: no such object exists."


def tag_told(published: PublishedObject, about: Mapping[str, str | None]) -> Json:
    """What a tag says of an object.

    :param about: whose collection it is: `collection_name`, `collection_contact`, `collection_address` (a site's, which the
        object's page follows); any may be missing.
    """
    places = _places(published)
    under, open_, remains = (places.get(state, []) for state in (COVERED, EXPOSED, FRAGMENTARY))
    page = page_of(published, about.get("collection_address"))
    surviving = [*under, *remains, *open_]
    view = chosen_view(published, surviving)
    drawn = {shape.code for shape in view.shapes} if view else set()
    on_it = [code for code in surviving if code in drawn][:MARKED]
    beside_it = [code for code in surviving if code not in on_it][: MARKED - len(on_it)]
    return {
        "format": 1,
        "object": published.code,
        "title": published.title,
        "main": _main(places),
        "beside": _beside(published, places),
        "places": [
            {
                "number": n if code in on_it else None,
                "place": code,
                "name": published.name_of(code) or code,
                "state": published.states[code]["state"],
            }
            for n, code in enumerate([*on_it, *beside_it], 1)
        ],
        "more_places": len(surviving) - len(on_it) - len(beside_it),
        "drawing": _drawing(published, view, on_it),
        "not_examined": _not_examined(published, places),
        "donts": [_dont(published, each) for each in prohibitions(published.case, published["changed_on"])[:DONTS]],
        "hazards": _hazards(published),
        "ask": {"name": about.get("collection_name"), "contact": about.get("collection_contact")},
        "address": page,
        "code": page is not None and len(page) <= LONGEST_ADDRESS,
        "invented": INVENTED if published["invented"] else None,
        "day": published["changed_on"],
        "date": in_words(published["changed_on"]),
    }


def tag_hash(told: Mapping[str, Any]) -> str:
    """The SHA-256 (FIPS 180-4) of what a tag says, as canonical JSON, without its date and the address of its page: a tag
    is not out of date because a day has passed, and its address is compared by itself."""
    said = {name: value for name, value in told.items() if name not in ("day", "date", "address", "code")}
    return hashlib.sha256(canonical_json(said).encode()).hexdigest()


def page_of(published: PublishedObject, site: str | None) -> str | None:
    """The lasting address of the object's page; None where none is known, or the object has no page for the public."""
    if not site or published["record"].get("audience") == "staff":
        return None
    return f"{site}object/{address(published.code)}"


def chosen_view(published: PublishedObject, marked: Sequence[str]) -> Elevation | None:
    """The drawing that shows most of some places; of several the first."""
    views = [(sum(shape.code in marked for shape in view.shapes), view) for view in elevations(published)]
    most = max((count for count, _ in views), default=0)
    return next((view for count, view in views if count == most), None) if most else None


def marks_of(told: Mapping[str, Any]) -> dict[str, Mark]:
    """The marks of a tag's places on its drawing, by their codes."""
    return {
        row["place"]: Mark(OPEN if row["state"] == EXPOSED else UNDER, row["number"])
        for row in told["places"]
        if row["number"] is not None
    }


def _places(published: PublishedObject) -> dict[str, list[str]]:
    """The codes of places by their state, zones before whole parts, as people count them."""
    found: dict[str, list[str]] = {}
    for row in sorted(published["survival"]["places"], key=lambda row: natural(row["place"])):
        found.setdefault(row["state"], []).append(row["place"])
    return found


def _main(places: Mapping[str, list[str]]) -> str:
    for state, said in ((COVERED, SURVIVES), (FRAGMENTARY, REMAINS), (EXPOSED, IS_ORIGINAL)):
        if places.get(state):
            return said
    if places.get("original not found"):
        return NOT_FOUND
    return REMOVED if places.get("original removed") and not places.get("not examined") else NOT_EXAMINED


def _beside(published: PublishedObject, places: Mapping[str, list[str]]) -> list[str]:
    """What has to be said beside the main line, in sentences."""
    found = []
    main = _main(places)
    if main == NOT_FOUND:
        absent = places["original not found"]
        found.append(f"Looked for at: {_named(published, absent)}. It may survive where nobody has looked.")
    if main == NOT_EXAMINED:
        found.append("Nobody has looked at what lies under the surface. Original finish may be there.")
    if places.get("original removed") and main != REMOVED:
        found.append(f"Taken off earlier at: {_named(published, places['original removed'])}.")
    kept = [row["name"] for row in published["schemes"] if row.get("keep") == "keep"]
    if kept:
        found.append(f"To be kept as well: {_some(kept)}.")
    reserves = [row["place"] for row in published["reserves"]]
    if reserves:
        found.append(f"Left untouched on purpose: {_named(published, reserves)}.")
    return found


def _not_examined(published: PublishedObject, places: Mapping[str, list[str]]) -> str | None:
    """Which places nobody has examined; of an object that nobody has examined at all nothing more."""
    unseen = places.get("not examined", [])
    if not unseen or _main(places) == NOT_EXAMINED:
        return None
    return f"Not examined, so look before you work: {_named(published, unseen)}."


def _named(published: PublishedObject, codes: Sequence[str]) -> str:
    return _some(list(dict.fromkeys(published.name_of(code) or code for code in codes)))


def _some(names: Sequence[str]) -> str:
    left = len(names) - NAMED
    return "; ".join(names) if left <= 0 else f"{'; '.join(names[:NAMED])}; and {left} more"


def _drawing(published: PublishedObject, view: Elevation | None, shown: Sequence[str]) -> Json | None:
    """Which drawing is shown and what is marked on it: corrected outlines make a tag out of date like any word."""
    if view is None:
        return None
    outlines = {shape.code: shape.points for shape in view.shapes}
    names = ", ".join(published.name_of(code) or code for code in shown)
    return {
        "title": view.title,
        "alt": f"Drawing: {view.title}. Marked on it: {names}.",
        "outlines": [[code, outlines[code]] for code in shown],
    }


def _dont(published: PublishedObject, each: Prohibition) -> Json:
    where = "" if each.place is None else f": {published.name_of(each.place) or each.place}"
    codes = list(dict.fromkeys(_code(published, sheet, key) for sheet, key in each.records))
    return {
        "words": f"{each.words}{where}",
        "why": f"{each.why} ({'; '.join(codes[:DONTS])}).",
        "records": [{"kind": kind, "key": key} for kind, key in each.records],
    }


_SHEETS = {"tests": "test", "advice": "advice", "samples": "sample", "treatment_steps": "treatment"}


def _code(published: PublishedObject, sheet: str, key: str) -> str:
    return f"{_SHEETS[sheet]} {key.removeprefix(published.code + '/')}"


def _hazards(published: PublishedObject) -> list[str]:
    """What can hurt people; lead is suspected in any paint that was not analysed for it, as the rule `lead suspected` has
    it."""
    facts = published.case.facts
    gone = surely_in_state(facts.hazards, "hazard", "status", ("not found",))
    named = [row.kind for code, row in current(facts.hazards, "hazard").items() if code not in gone]
    found = [HURTS.format(_some(list(dict.fromkeys(named))))] if named else []
    words = [*named, *(f"{row.material or ''} {row.result}" for row in facts.analyses)]
    if not any("lead" in each.casefold() for each in words):
        found.append(LEAD)
    return [*found, FOLLOW] if found else []
