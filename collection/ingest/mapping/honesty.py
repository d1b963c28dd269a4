"""What a mapping may state itself, the same for every row, and what only the list may state.

Whoever writes a constant into a mapping has looked at no object. So a constant may name and group things, and it may
choose the word that clears nothing; it may not date, measure, place evidence, or say that anything is later, gone,
settled, permitted or not found. A cell of the list that says so is evidence; a line of a mapping is not.
"""

from __future__ import annotations

from collections.abc import Mapping

from collection.records.cells import EVERYWHERE
from collection.records.columns import Column
from collection.records.sheets import Record

WORDS_THAT_CLEAR_NOTHING: Mapping[tuple[str, str], tuple[str, ...]] = {
    ("objects", "status"): ("held", "on loan"),
    ("objects", "surroundings"): ("outdoors", "unknown"),
    ("components", "origin"): ("unknown",),
    ("zones", "area_basis"): ("estimated",),
    ("zones", "visibility"): ("visible",),
    ("sources", "kind"): ("report", "letter", "photograph", "analysis", "spoken", "other"),
    ("schemes", "period"): ("unknown",),
    ("schemes", "certainty"): ("possible",),
    ("schemes", "keep"): ("keep",),
    ("samples", "method"): ("cross-section", "exposure", "scraping", "surface", "gauge"),
    ("samples", "counted_from"): ("support", "surface"),
    ("samples", "extent"): ("spot",),
    ("samples", "reaches_support"): ("no",),
    ("samples", "chosen"): ("expected", "at a loss"),
    ("layers", "binder"): ("unknown",),
    ("layers", "binder_basis"): ("guessed",),
    ("layers", "period"): ("unknown",),
    ("layers", "certainty"): ("possible",),
    ("decorations", "kind"): ("lining", "lettering", "ornament", "metal leaf", "bronze paint", "transfer"),
    ("decorations", "lies"): ("unknown",),
    ("decorations", "certainty"): ("possible",),
    ("reserves", "kind"): ("reserve", "window", "sample site"),
    ("conditions", "active"): ("unknown",),
    ("treatment_steps", "adds_binder"): ("unknown",),
    ("proposal_steps", "adds_binder"): ("unknown",),
    ("advice", "priority"): ("now", "soon", "when convenient"),
    ("claims", "status"): ("untested",),
    ("hazards", "status"): ("suspected",),
}
"""Words of closed lists that a mapping may say for all rows; of other columns with a closed list it may say
none, `audience` apart."""

ONLY_FROM_THE_LIST = frozenset(
    {
        ("schemes", "keep_why"),
        ("schemes", "decided_by"),
        ("schemes", "basis"),
        ("decorations", "basis"),
        ("claims", "resolved_by"),
        ("hazards", "basis"),
        ("proposals", "permission"),
        ("treatments", "authorised_by"),
        ("analyses", "result"),
        ("analyses", "material"),
        ("layers", "colour"),
        ("layers", "munsell"),
        ("reserves", "shows"),
        ("objects", "listed_condition"),
    }
)
"""Texts and names that report what somebody saw, found, decided or allowed."""

PLACE_MAY_BE_ALL = frozenset({"conditions", "reserves", "advice", "claims"})
"""Sheets whose rows raise alarms or protect, so that they may be said of the whole object. A reserve of the whole is
touched by any step, and meets no requirement: that asks for one on the part itself."""

MAY_POINT = frozenset({("objects", "part_of"), ("components", "parent"), ("zones", "component")})
"""References, beside `source`, that a mapping may say: what a thing is a part of. Any other would tie evidence to one
coat, sample or part, and so take it away from the rest."""


def why_not(record: type[Record], column: Column, word: str) -> str | None:
    """The sentence why a mapping may not say this of every row; None where it may."""
    spot = (record.sheet, column.name)
    instead = f"make no rows of {record.sheet}" if column.required else "leave the column out"
    from_list = f"Name the heading that says it, or {instead}: the cells then stay with the record."
    if column.kind == "date":
        return f"No date is said for all rows at once: it would be made up where nobody looked. {from_list}"
    if column.is_number:
        return f"No figure is said for all rows at once: nobody measured them. {from_list}"
    if column.kind in ("agent", "coat", "list", "points", "file"):
        return f"Only the list can say this, row by row. {from_list}"
    if column.reference == "place":
        if record.sheet in PLACE_MAY_BE_ALL:
            return (
                None
                if word == EVERYWHERE
                else (
                    "For all rows alike a mapping may only say all, the whole of each object: a narrower place takes the "
                    f"rest of the object out of view. {from_list}"
                )
            )
        return (
            "Where evidence was taken, or work was done, is not said for all rows at once: evidence that is placed "
            f"too widely clears what nobody looked at. {from_list}"
        )
    if column.reference is not None and column.name != "source" and spot not in MAY_POINT:
        return f"What a row belongs to is not said for all rows at once. {from_list}"
    if spot in ONLY_FROM_THE_LIST:
        return f"This says what somebody saw, decided or allowed, and a mapping did none of it. {from_list}"
    if column.words is not None and column.name != "audience" and not column.words.open_list:
        allowed = WORDS_THAT_CLEAR_NOTHING.get(spot, ())
        if word in allowed:
            return None
        may = f"It may say {', '.join(allowed)}." if allowed else "It may say none of the words."
        return f"A mapping may not say {word!r} here for all rows, because nobody looked. {may} {from_list}"
    return None
