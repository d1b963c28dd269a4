"""Groups pictures of one view by their lighting, so that a reader can change the light on the spot."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from collection.language.words import LIGHTING

Json = dict[str, Any]

NO_LIGHT = "light not recorded"


@dataclass(frozen=True)
class View:
    """Pictures of one view, each in a different light, in the order of the word list; `name` is unique on its page."""

    name: str
    pictures: tuple[tuple[str, Json], ...]

    @property
    def is_switched(self) -> bool:
        return len(self.pictures) > 1


def views(pictures: Iterable[Json]) -> list[View]:
    """Pictures of one sample or place, view, stage and day, no two in the same light, as one view."""
    groups: dict[tuple[Any, ...], list[dict[str, Json]]] = {}
    for row in pictures:
        if not row["file"]:
            continue
        same = groups.setdefault(
            tuple(row.get(name) for name in ("sample", "place", "test", "treatment", "view", "stage", "taken_on")), []
        )
        light = row.get("lighting") or NO_LIGHT
        room = next((group for group in same if light not in group), None)
        if room is None or light == NO_LIGHT:
            room = {}
            same.append(room)
        room[light] = row
    order = {word: number for number, word in enumerate(LIGHTING.words)}
    found = [group for same in groups.values() for group in same]
    return [
        View(f"light{number}", tuple(sorted(group.items(), key=lambda item: order.get(item[0], len(order)))))
        for number, group in enumerate(found, 1)
    ]
