"""An object's drawings with its places by state, its reserves and its sample points, and where one spot lies."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from collection.compute.build_up.places import ALL
from collection.language.sentences import counted
from collection.output.drawings import states
from collection.output.drawings.text import TYPE, address
from collection.output.published.published_object import PublishedObject
from collection.records.codes import natural

Json = dict[str, Any]
Corners = list[tuple[float, float]]
Bounds = tuple[float, float, float, float]
"""Left, top, right, bottom."""

LETTER, POINT = 0.68, 0.6
"""The width of a bold letter, and half a sample's point with its edge, as shares of the letters' height."""
AROUND = 0.2
"""Half the width of the cut-out round a spot, as a share of the drawing's longer side."""


@dataclass(frozen=True)
class Look:
    """How a place is drawn.

    :ivar pattern: the word of a pattern in `drawings/states.py` (a state, a severity, `unknown`); empty for none.
    :ivar fill: a colour, `#rrggbb`, under the pattern.
    :ivar label: what is written on the place; empty for its code.
    :ivar said: what a reader who points at the place is told of it.
    """

    pattern: str = ""
    fill: str | None = None
    label: str = ""
    said: str = ""


@dataclass(frozen=True)
class Shape:
    """The outline of a place; (x, y) is the middle of its label's baseline, in drawing units."""

    code: str
    state: str | None
    points: str
    x: float
    y: float
    name: str | None = None
    said: str = ""


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
        shapes = [_shape(published, code, corners, labels[code]) for code, corners in outlined]
        reserves = [
            Reserve(row["reserve"], _points(_corners(row["outline"])))
            for row in published["reserves"]
            if row.get("outline") and drawing_of(published, row["place"]) == drawing["drawing"]
        ]
        found.append(Elevation(drawing["title"], drawing["file"], box, unit, tuple(shapes), tuple(reserves), spots))
    return found


def _shape(published: PublishedObject, code: str, corners: Corners, label: tuple[float, float]) -> Shape:
    row = published.states.get(code)
    return Shape(
        code, row["state"] if row else None, _points(corners), *label, name=published.name_of(code), said=said_of(row)
    )


def said_of(row: Mapping[str, Any] | None) -> str:
    """A place's state and what it rests on, in a line: `original covered, seen at 3 of 4 spots`."""
    if row is None:
        return "state not known"
    seen = f", seen at {row['present']} of {counted(row['read'], 'spot')}" if row["read"] else ""
    return f"{row['state']}{seen}"


def named(code: str, name: str | None) -> str:
    """A place by its name, its code in brackets."""
    return f"{name} ({code})" if name and name != code else code


def draw(
    view: Elevation, *, name: str, looks: Mapping[str, Look] | None = None, spots: bool = True, here: str | None = None
) -> str:
    """A drawing with its places as one SVG, each place and sample a link; by default the places show their states.

    :param name: begins every id in it, so that several can stand in one page.
    :param looks: by the codes of places; a place without one is only outlined.
    :param spots: whether the samples are marked.
    :param here: a place to stand out.
    """
    shown = {shape.code: _look_of(shape) for shape in view.shapes} if looks is None else looks
    used = {shown[shape.code].pattern for shape in view.shapes if shape.code in shown} - {""}
    words = {word: f"{name}-{word.replace(' ', '-')}" for word in sorted(used)}
    left, top, width, height = view.box
    points = view.spots if spots else ()
    what = counted(len(view.shapes), "place") + (f", {counted(len(points), 'sample')}" if points else "")
    unit = f"{view.unit:g}"
    return "".join(
        [
            f'<svg class="elevation" xmlns="http://www.w3.org/2000/svg" viewBox="{left:g} {top:g} {width:g} {height:g}" '
            f'role="group" aria-labelledby="{name}-t" {TYPE} font-size="{unit}">'
            f'<title id="{name}-t">{escape(view.title)}: {what}</title>',
            "<defs>",
            *(states.pattern(word, id, view.unit) for word, id in words.items()),
            "</defs>",
            f'<path fill="#fff" d="M{left:g} {top:g}h{width:g}v{height:g}h{-width:g}Z"/>',
            f'<image href="@picture/{escape(view.file)}" x="{left:g}" y="{top:g}" width="{width:g}" height="{height:g}"/>',
            # What is common to all places is said once.
            '<g stroke="#1a1d20" stroke-width="1.2" fill-opacity="0.85" fill="none" stroke-linejoin="round">',
            *(_drawn(shape, shown.get(shape.code), words, shape.code == here) for shape in view.shapes),
            "</g>",
            *(_reserve(reserve) for reserve in view.reserves),
            f'<g fill="#fff" stroke="#1a1d20" stroke-width="2">{"".join(_point(spot, view.unit) for spot in points)}</g>'
            if points
            else "",
            "</svg>",
        ]
    )


def _look_of(shape: Shape) -> Look:
    return Look(pattern=shape.state or "", said=shape.said)


def _drawn(shape: Shape, look: Look | None, words: Mapping[str, str], is_here: bool) -> str:
    """One place; the pattern lies over the colour."""
    line = ' vector-effect="non-scaling-stroke"'
    if is_here:
        line = ' stroke="#b34700" stroke-width="4"' + line
    fills = [] if look is None else [look.fill, look.pattern and f"url(#{words[look.pattern]})"]
    painted = [fill for fill in fills if fill] or [""]
    own = f'class="zone{" here" if is_here else ""}" points="{shape.points}"'
    polygons = "".join(f"<polygon {own}{_filled(fill)}{line}/>" for fill in painted)
    said = f": {look.said}" if look is not None and look.said else ""
    # Among places that are told something of, the others are outlines.
    label = "" if look is None else look.label or shape.code
    text = (
        f'<text x="{shape.x:g}" y="{shape.y:g}" fill="#000" stroke="#fff" stroke-width=".3em" paint-order="stroke" '
        f'font-weight="600" text-anchor="middle">{escape(label)}</text>'
        if label
        else ""
    )
    return (
        f'<a href="@/place/{address(shape.code)}"><title>{escape(named(shape.code, shape.name) + said)}</title>{polygons}'
        f"{text}</a>"
    )


def _filled(fill: str) -> str:
    """A pattern lets the drawing through; a colour is told exactly."""
    if fill.startswith("#"):
        return f' fill="{fill}" fill-opacity="1"'
    return f' fill="{fill}"' if fill else ""


def _reserve(reserve: Reserve) -> str:
    return (
        f'<polygon class="reserve" points="{reserve.points}" fill="none" stroke="#6b1f7a" stroke-width="2.5" '
        f'stroke-dasharray="6 3" vector-effect="non-scaling-stroke"><title>Reserve {escape(reserve.code)}: must stay '
        "untouched</title></polygon>"
    )


def _point(spot: tuple[str, float, float], unit: float) -> str:
    code, x, y = spot
    return (
        f'<a href="@/sample/{address(code)}"><title>Sample {escape(code)}</title><circle class="point" cx="{x:g}" '
        f'cy="{y:g}" r="{unit * 0.38:.2f}" vector-effect="non-scaling-stroke"/></a>'
    )


def unplaced(published: PublishedObject) -> list[tuple[str | None, list[str]]]:
    """The places in account that are on no drawing, in groups by the part they lie on: its code, then theirs.

    The whole object has a place on none, and is left out; a part whose zones are all drawn is not missing.
    """
    drawings = {row["drawing"] for row in published["drawings"] if row.get("file") and row.get("box")}
    drawn = {row["zone"] for row in published["zones"] if row.get("outline") and row.get("drawing") in drawings}
    parts_drawn = {row["component"] for row in published["zones"] if row["zone"] in drawn}
    groups: dict[str | None, list[str]] = {}
    for row in published["survival"]["places"]:
        code = row["place"]
        if code == ALL or code in drawn or (code == row["component"] and code in parts_drawn):
            continue
        groups.setdefault(row["component"], []).append(code)
    return [
        (part, sorted(codes, key=lambda code: (code != part, natural(code))))
        for part, codes in sorted(groups.items(), key=lambda group: natural(group[0] or ""))
    ]


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
    extents = [_bounds(corners) for _, corners in places]
    found = {}
    for at in range(len(places) - 1, -1, -1):
        code, corners = places[at]
        width = LETTER * unit * len(code)
        left, top, right, bottom = extents[at]
        # Only what lies near can be covered.
        near = (
            min(left, (left + right - width) / 2),
            top - 2 * unit,
            max(right, (left + right + width) / 2),
            bottom + 2 * unit,
        )
        on_it = [other for other in (*taken, *extents[at + 1 :]) if _shared(near, other)]
        # High in the place first, because samples are mostly taken from its middle.
        feet = (top + min(unit * 1.2, (bottom - top) * 0.6), (top + bottom) / 2 + unit * 0.35, bottom - unit * 0.4)
        middle, room = (left + right) / 2, max(0.0, right - left - width)
        ways = [
            (x, y)
            for y in feet
            for share in (0, -0.25, 0.25, -0.5, 0.5)
            if holds(corners, x := middle + share * room, y)
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


def holds(corners: Corners, x: float, y: float) -> bool:
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
