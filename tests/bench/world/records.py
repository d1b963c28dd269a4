"""What a survey of the made world writes down, and what the judge may know of how it came about."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from world.truth import TREATED, Coat, Use, Zone

SEEN = 0.01
WORDS = {
    "gloss change": (0.0, 0.1),
    "blanched": (0.0, 0.1),
    "colour on swab": (0.05, 0.3),
    "swelled": (0.1, 0.4),
    "softened": (0.2, 0.6),
    "lifted": (0.3, 0.9),
    "partly removed": (0.5, 0.9),
    "removed": (0.9, 1.0),
}
"""What share of a coat a person has before the eyes who writes these words (section 5.3 of the design)."""
ORDER = ("none seen", *WORDS)


@dataclass(frozen=True)
class Tried:
    """One test as it was made and written down: what was left blank, and what was said of each coat met."""

    code: str
    part: str
    zone: str
    use: Use
    blank: frozenset[str]
    dried: str
    year: int
    met: tuple[tuple[Coat, str], ...]


@dataclass
class Survey:
    """The rows of one object by sheet, and what the judge may know of how they came about."""

    schema: int = 2
    sheets: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    tried: list[Tried] = field(default_factory=list)
    sections: dict[str, int] = field(default_factory=dict)
    told_failing: set[str] = field(default_factory=set)
    reserved: dict[str, str] = field(default_factory=dict)
    readings: dict[str, list[tuple[bool, frozenset[str]]]] = field(default_factory=dict)
    """By place: whether each section reached the support, and the things written in it."""

    def add(self, sheet: str, **cells: Any) -> None:
        self.sheets.setdefault(sheet, []).append(cells)


@dataclass(frozen=True)
class Spot:
    """Where a section was read: its code, zone and cell, the year, and the position at which each coat was written."""

    code: str
    zone: Zone
    cell: int
    year: int
    written: dict[int, int]


def present_in(zone: Zone, year: int) -> np.ndarray:
    """What was there in that year."""
    return zone.before if zone.before is not None and year < TREATED else zone.present


def coats_at(zone: Zone, cell: int, year: int) -> list[int]:
    """The coats of a spot from the support outward, dirt and wax left out."""
    return [n for n in range(len(zone.stack)) if present_in(zone, year)[n, cell] and zone.stack[n].scheme is not None]
