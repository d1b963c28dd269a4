"""What the lists of the site show of an object at a glance: a small picture, its places by state, how grave its danger is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Any

from collection.compute.build_up.places import ALL
from collection.compute.risk.threat import gravity
from collection.language.words import ZONE_STATE

Json = dict[str, Any]

STATES = {word: word.removeprefix("original ").replace(" ", "_") for word in ZONE_STATE.words}
"""The column that counts the places of each state."""
MOST_COUNTED = 9999


def glance(document: Json, thumb: str | None) -> Json:
    """The row of one object.

    :param thumb: the published file of its small picture.
    """
    survival = document["survival"]
    states = Counter(row["state"] for row in survival["places"] if row["place"] != ALL)
    counts = {column: states.get(word, 0) for word, column in STATES.items()}
    numbers = gravity(threat["kind"] for threat in document["threats"])
    examined = survival["read"] > 0 or any(counts[column] for column in counts if column != "not_examined")
    return {
        "title": document["title"],
        "kind": document["record"]["kind"],
        "thumb": thumb,
        **counts,
        "seen": survival["present"] / survival["read"] if survival["read"] else None,
        "looked": "yes" if examined else "never",
        "risk": "".join(f"{min(number, MOST_COUNTED):04d}" for number in numbers) if any(numbers) else None,
        "newest": max((row["started"] for row in document["surveys"] if row.get("started")), default=None),
    }


def best_picture(document: Json) -> Json | None:
    """The picture or drawing that stands for an object in a list; None where there is none."""
    pictures = [row for row in document["pictures"] if row["file"] and not row.get("sample")]
    whole = [row for row in pictures if (row.get("place") or ALL) == ALL]
    drawings = [row for row in document["drawings"] if row["file"]]
    return portrait(whole) or next(iter(drawings), None) or portrait(pictures)


def portrait(pictures: Iterable[Json]) -> Json | None:
    """The picture that shows the whole object best: the newest whole view in normal light, else the first that there is."""
    found = [row for row in pictures if row["file"]]
    whole = [row for row in found if row.get("view") == "whole" and row.get("lighting") in ("normal", None)]
    if whole:
        return max(whole, key=lambda row: row.get("taken_on") or "")
    return found[0] if found else None
