"""The decorations of a place as kept things of their own, each under what surely covers it."""

from __future__ import annotations

from collections.abc import Sequence

from collection.compute.build_up.coats import Coat, CoatKey
from collection.compute.build_up.places import places_of
from collection.compute.build_up.readings import shown_later
from collection.compute.case import Case
from collection.language.words import CLEAR_ROLES
from collection.records.facts import current, surely_in_state
from collection.records.sheets import Decoration


def decorations_in(case: Case, place: str, coats: tuple[Coat, ...], *, around: bool = False) -> tuple[Coat, ...]:
    """The decorations of a place as kept things of their own, each under what surely covers it.

    With `around`, those recorded only for a larger place that holds this one.
    """
    places = places_of(case)
    schemes = {s.scheme: s for s in case.facts.schemes}
    found = []
    gone = surely_in_state(case.facts.decorations, "decoration", "state", ("lost", "not found"))
    for code, row in sorted(current(case.facts.decorations, "decoration").items()):
        here = row.place != place and places.contains(row.place, place) if around else row.place == place
        scheme = schemes.get(row.scheme or "")
        if not here or code in gone or (scheme is not None and shown_later(scheme)):
            continue
        same = [c for c in coats if c.scheme == row.scheme and c.role == row.kind and row.scheme is not None]
        # A coat read in the place itself is the decoration; only if there is none, those that the rest of the part
        # shows.
        same = [c for c in same if c.seen_here] or same
        like = [
            other
            for other in current(case.facts.decorations, "decoration").values()
            if (other.scheme, other.kind) == (row.scheme, row.kind) and places.overlap(other.place, row.place)
        ]
        colour = same[0].key.colour if len(same) == 1 else ""
        key = CoatKey(row.scheme, row.kind, colour, 0, f"decoration {code}", None)
        found.append(
            Coat(
                key=key,
                thing=code,
                kept=True,
                cover=(0.0, 0.0, 0.0),
                seen_here=not around,
                above=_over_decoration(row, same, coats),
                evidence=(("decorations", row.key_text()),),
                layers=tuple(spot for coat in same for spot in coat.layers),
                decoration=code,
                may_be=tuple(sorted({binder for coat in same for binder in coat.may_be})),
                basis=same[0].basis if len(same) == 1 else None,
                alone=len(same) == 1 and len(like) == 1,
            )
        )
    return tuple(found)


def _over_decoration(row: Decoration, same: Sequence[Coat], coats: tuple[Coat, ...]) -> frozenset[CoatKey]:
    """The coats that surely lie over a decoration: none where it is exposed or its scheme is not known."""
    if row.state == "exposed" or row.scheme is None:
        return frozenset()
    if same:
        return frozenset.intersection(*(coat.above for coat in same))
    own = [i for i, coat in enumerate(coats) if coat.scheme == row.scheme]
    if not own:
        return frozenset()
    last = min(own)
    if row.lies == "under varnish":
        while last < len(coats) and coats[last].scheme == row.scheme and coats[last].role in CLEAR_ROLES:
            last += 1
    return frozenset(coat.key for coat in coats[:last])
