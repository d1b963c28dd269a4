"""An object's drawings with its places by state, its reserves and its sample points, and where one spot lies."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from collection.output.published_object import PublishedObject

Json = dict[str, Any]
Corners = list[tuple[float, float]]
Bounds = tuple[float, float, float, float]
"""Left, top, right, bottom."""

LETTER, POINT = 0.68, 0.6
"""The width of a bold letter, and half a sample's point with its edge, as shares of the letters' height."""
AROUND = 0.2
"""Half the width of the cut-out round a spot, as a share of the drawing's longer side."""


@dataclass(frozen=True)
class Shape:
    """The outline of a place; (x, y) is the middle of its label's baseline, in drawing units."""

    code: str
    state: str | None
    points: str
    x: float
    y: float


@dataclass(frozen=True)
class Reserve:
    """The outline of a reserve."""

    code: str
    points: str


@dataclass(frozen=True)
class Elevation:
    """One drawing. `box` is its view box; `unit` is about 12 px where it is shown 700 px wide."""

    title: str
    file: str
    box: tuple[float, float, float, float]
    unit: float
    shapes: tuple[Shape, ...]
    reserves: tuple[Reserve, ...]
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


def elevations(published: PublishedObject) -> list[Elevation]:
    """The drawings that have a file, each with its places; smaller places lie above larger ones."""
    found = []
    for drawing in published["drawings"]:
        if not drawing.get("file") or not drawing.get("box"):
            continue
        box = tuple(drawing["box"])
        unit = round(max(box[2] / 58, box[3] / 40), 2)
        spots = tuple(_spots(published, drawing["drawing"]))
        outlined = [
            (row["zone"], _corners(row["outline"]))
            for row in published["zones"]
            if row.get("drawing") == drawing["drawing"] and row.get("outline")
        ]
        outlined.sort(key=lambda place: -_extent(_bounds(place[1])))
        labels = _labels(outlined, spots, unit)
        shapes = [
            Shape(code, published.states.get(code, {}).get("state"), _points(corners), *labels[code])
            for code, corners in outlined
        ]
        reserves = [
            Reserve(row["reserve"], _points(_corners(row["outline"])))
            for row in published["reserves"]
            if row.get("outline") and drawing_of(published, row["place"]) == drawing["drawing"]
        ]
        found.append(Elevation(drawing["title"], drawing["file"], box, unit, tuple(shapes), tuple(reserves), spots))
    return found


def spot_of(published: PublishedObject, sample: Json) -> Spot | None:
    """Where a sample was read; None where nobody marked it, or the drawing is missing."""
    if sample.get("x") is None or sample.get("y") is None:
        return None
    code = drawing_of(published, sample["place"])
    drawing = next((row for row in published["drawings"] if row["drawing"] == code), None)
    if drawing is None or not drawing.get("file") or not drawing.get("box"):
        return None
    left, top, width, height = drawing["box"]
    half = AROUND * max(width, height)
    cut = (round(sample["x"] - half, 1), round(sample["y"] - half, 1), round(2 * half, 1), round(2 * half, 1))
    return Spot(drawing["title"], drawing["file"], (left, top, width, height), cut, sample["x"], sample["y"])


def drawing_of(published: PublishedObject, place: str) -> str | None:
    """The drawing of a place: its own, else that of the zone it lies in."""
    zones = {row["zone"]: row for row in published["zones"]}
    seen = set()
    while place in zones and place not in seen:
        seen.add(place)
        if zones[place].get("drawing"):
            code: str = zones[place]["drawing"]
            return code
        place = zones[place].get("within") or ""
    return None


def _spots(published: PublishedObject, drawing: str) -> Iterator[tuple[str, float, float]]:
    for sample in published["samples"]:
        if (
            sample.get("x") is not None
            and sample.get("y") is not None
            and drawing_of(published, sample["place"]) == drawing
        ):
            yield sample["sample"], sample["x"], sample["y"]


def _labels(
    places: Sequence[tuple[str, Corners]], spots: Iterable[tuple[str, float, float]], unit: float
) -> dict[str, tuple[float, float]]:
    """Where each place's label stands: in the place, or just above or below a small one, clear of samples, other labels
    and the smaller places on it, or where it covers least of them.

    :param places: larger before smaller ones, as they are drawn.
    """
    half = POINT * unit
    taken = [(x - half, y - half, x + half, y + half) for _, x, y in spots]
    found = {}
    for at in range(len(places) - 1, -1, -1):
        code, corners = places[at]
        width = LETTER * unit * len(code)
        on_it = [*taken, *(_bounds(smaller) for _, smaller in places[at + 1 :])]
        left, top, right, bottom = _bounds(corners)
        # High in the place first, because samples are mostly taken from its middle.
        feet = (top + min(unit * 1.2, (bottom - top) * 0.6), (top + bottom) / 2 + unit * 0.35, bottom - unit * 0.4)
        middle, room = (left + right) / 2, max(0.0, right - left - width)
        ways = [
            (x, y)
            for y in feet
            for share in (0, -0.25, 0.25, -0.5, 0.5)
            if _holds(corners, x := middle + share * room, y)
        ] or [(middle, feet[0])]
        if not room or bottom - top < unit * 2:
            # A place smaller than its label may have it beside it.
            ways += [(middle, top - unit * 0.5), (middle, bottom + unit * 1.1)]
        boxes = [(x - width / 2, y - unit, x + width / 2, y + unit * 0.25) for x, y in ways]
        covered = [sum(_shared(box, other) for other in on_it) for box in boxes]
        best = covered.index(min(covered))
        taken.append(boxes[best])
        found[code] = round(ways[best][0], 1), round(ways[best][1], 1)
    return found


def _shared(one: Bounds, other: Bounds) -> float:
    """The area that two boxes share."""
    across, down = min(one[2], other[2]) - max(one[0], other[0]), min(one[3], other[3]) - max(one[1], other[1])
    return max(across, 0.0) * max(down, 0.0)


def _holds(corners: Corners, x: float, y: float) -> bool:
    """Whether a point lies in an outline: a ray from it crosses the outline an odd number of times."""
    crossed = sum(
        (y1 > y) != (y2 > y) and x < x1 + (x2 - x1) * (y - y1) / (y2 - y1)
        for (x1, y1), (x2, y2) in zip(corners, [*corners[1:], corners[0]], strict=True)
    )
    return crossed % 2 == 1


def _extent(bounds: Bounds) -> float:
    left, top, right, bottom = bounds
    return (right - left) * (bottom - top)


def _bounds(corners: Corners) -> Bounds:
    across, down = zip(*corners, strict=True)
    return min(across), min(down), max(across), max(down)


def _points(corners: Corners) -> str:
    return " ".join(f"{x:g},{y:g}" for x, y in corners)


def _corners(outline: str) -> Corners:
    numbers = [float(number) for number in outline.replace(",", " ").split()]
    return list(zip(numbers[::2], numbers[1::2], strict=True))
