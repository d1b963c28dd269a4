"""An object's drawings with its places by state, its reserves and its sample points, and where one spot lies."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from firstcoat_site.told import Told

Json = dict[str, Any]

AROUND = 0.2
"""Half the width of the cut-out round a spot, as a share of the drawing's longer side."""


@dataclass(frozen=True)
class Shape:
    """A place, or a reserve, as outlined. `size` is that of its label, which stands at (x, y), in drawing units."""

    code: str
    state: str | None
    points: str
    x: float
    y: float


@dataclass(frozen=True)
class Elevation:
    """One drawing. `box` is its view box; `unit` about what 12 px are where it is shown 700 px wide."""

    title: str
    file: str
    box: tuple[float, float, float, float]
    unit: float
    shapes: tuple[Shape, ...]
    reserves: tuple[Shape, ...]
    spots: tuple[tuple[str, float, float], ...]


@dataclass(frozen=True)
class Spot:
    """Where on a drawing something was read: the point, the whole box, and the cut-out round the point."""

    title: str
    file: str
    box: tuple[float, float, float, float]
    cut: tuple[float, float, float, float]
    x: float
    y: float


def elevations(told: Told) -> list[Elevation]:
    """The drawings that have a file, each with what lies on it; smaller places above larger ones."""
    found = []
    for drawing in told["drawings"]:
        if not drawing.get("file") or not drawing.get("box"):
            continue
        box = tuple(drawing["box"])
        unit = round(max(box[2] / 58, box[3] / 40), 2)
        outlined = [row for row in told["zones"] if row.get("drawing") == drawing["drawing"] and row.get("outline")]
        shapes = [_shape(row["zone"], row["outline"], told.states.get(row["zone"], {}).get("state"), unit)
                  for row in outlined]
        shapes.sort(key=lambda shape: -_extent(shape.points))
        reserves = [_shape(row["reserve"], row["outline"], None, unit) for row in told["reserves"]
                    if row.get("outline") and drawing_of(told, row["place"]) == drawing["drawing"]]
        found.append(Elevation(drawing["title"], drawing["file"], box, unit, tuple(shapes), tuple(reserves),
                               tuple(_spots(told, drawing["drawing"]))))
    return found


def spot_of(told: Told, sample: Json) -> Spot | None:
    """Where a sample was read; None where nobody marked it, or its drawing is not there."""
    if sample.get("x") is None or sample.get("y") is None:
        return None
    code = drawing_of(told, sample["place"])
    drawing = next((row for row in told["drawings"] if row["drawing"] == code), None)
    if drawing is None or not drawing.get("file") or not drawing.get("box"):
        return None
    left, top, width, height = drawing["box"]
    half = AROUND * max(width, height)
    cut = (round(sample["x"] - half, 1), round(sample["y"] - half, 1), round(2 * half, 1), round(2 * half, 1))
    return Spot(drawing["title"], drawing["file"], (left, top, width, height), cut, sample["x"], sample["y"])


def drawing_of(told: Told, place: str) -> str | None:
    """The drawing that a place lies on: its own, else that of the zone it is a part of."""
    zones = {row["zone"]: row for row in told["zones"]}
    seen = set()
    while place in zones and place not in seen:
        seen.add(place)
        if zones[place].get("drawing"):
            code: str = zones[place]["drawing"]
            return code
        place = zones[place].get("within") or ""
    return None


def _spots(told: Told, drawing: str) -> Iterator[tuple[str, float, float]]:
    for sample in told["samples"]:
        if sample.get("x") is not None and sample.get("y") is not None and drawing_of(
                told, sample["place"]) == drawing:
            yield sample["sample"], sample["x"], sample["y"]


def _shape(code: str, outline: str, state: str | None, unit: float) -> Shape:
    corners = _corners(outline)
    across, down = zip(*corners, strict=True)
    # High in the place, because samples are mostly taken from its middle.
    return Shape(code, state, " ".join(f"{x:g},{y:g}" for x, y in corners), round((min(across) + max(across)) / 2, 1),
                 round(min(down) + min(unit * 1.2, (max(down) - min(down)) * 0.6), 1))


def _extent(points: str) -> float:
    corners = _corners(points)
    across, down = [x for x, _ in corners], [y for _, y in corners]
    return (max(across) - min(across)) * (max(down) - min(down))


def _corners(outline: str) -> list[tuple[float, float]]:
    numbers = [float(number) for number in outline.replace(",", " ").split()]
    return list(zip(numbers[::2], numbers[1::2], strict=True))
