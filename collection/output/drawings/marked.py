"""A drawing of hand size in black and white: some places hatched and numbered, their names stand beside it.

Letters and lines are measured in shares of the drawing's width, so that they are as large on paper whatever its scale.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from html import escape
from math import dist

from collection.output.drawings.elevation import Elevation, holds
from collection.output.drawings.text import TYPE

UNDER, OPEN = "under", "open"
_LETTER, _LINE, _TILE = 0.062, 0.005, 0.032
"""Shares of the longer side of the drawing; of its side a tile of the hatching is one."""
_DISC, _STEPS = 0.72, 10
"""The radius of the disc behind a number, in letters; and so many steps a place is wide and tall when looking for room."""
_HATCHES = {UNDER: "M-1 1 1-1M-1 9 9-1M7 9 9 7", OPEN: "M-1 1 1-1M-1 9 9-1M7 9 9 7M-1 7 1 9M-1-1 9 9M7-1 9 1"}


@dataclass(frozen=True)
class Mark:
    """How a place is marked: its hatching, `under` (later paint) or `open`, and its number."""

    hatch: str
    number: int


def draw_marked(view: Elevation, marks: Mapping[str, Mark], *, name: str, background: bool) -> str:
    """The drawing as one SVG.

    :param marks: by the codes of places; places without one are left out.
    :param name: begins every id in it.
    :param background: whether the drawing itself is put in, as `@picture/FILE`; else its places stand in a frame.
    """
    left, top, width, height = view.box
    side = max(width, height)
    letter, line = side * _LETTER, side * _LINE
    shown = [shape for shape in view.shapes if shape.code in marks]
    spots = _spots([shape.points for shape in shown], letter * _DISC * 2.1)
    box = f'x="{left:g}" y="{top:g}" width="{width:g}" height="{height:g}"'
    ground = (
        f'<image href="@picture/{escape(view.file)}" {box}/>'
        if background
        else f'<rect {box} fill="none" stroke="#000" stroke-width="{line:g}"/>'
    )
    return "".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{left:g} {top:g} {width:g} {height:g}" {TYPE} '
            f'font-size="{letter:g}" font-weight="700"><defs>',
            *(_hatch(each, name, side) for each in sorted({marks[shape.code].hatch for shape in shown})),
            f'</defs><path fill="#fff" d="M{left:g} {top:g}h{width:g}v{height:g}h{-width:g}Z"/>',
            ground,
            f'<g stroke="#000" stroke-width="{line:g}" stroke-linejoin="round">',
            *(f'<polygon points="{shape.points}" fill="url(#{name}-{marks[shape.code].hatch})"/>' for shape in shown),
            "</g>",
            *(_number(marks[shape.code].number, *spot, letter, line) for shape, spot in zip(shown, spots, strict=True)),
            "</svg>",
        ]
    )


def _hatch(hatch: str, name: str, side: float) -> str:
    return (
        f'<pattern id="{name}-{hatch}" width="8" height="8" patternUnits="userSpaceOnUse" '
        f'patternTransform="scale({side * _TILE / 8:g})"><path d="{_HATCHES[hatch]}" fill="none" stroke="#000" '
        'stroke-width="1.1"/></pattern>'
    )


def _number(number: int, x: float, y: float, letter: float, line: float) -> str:
    """A place's number on a white disc."""
    return (
        f'<circle cx="{x:g}" cy="{y:g}" r="{letter * _DISC:g}" fill="#fff" stroke="#000" stroke-width="{line:g}"/>'
        f'<text x="{x:g}" y="{y + letter * 0.36:g}" text-anchor="middle" fill="#000">{number}</text>'
    )


def _spots(outlines: Sequence[str], wanted: float) -> list[tuple[float, float]]:
    """Where the number of each place stands: in the place, clear of other numbers, as near its middle as that goes. Small
    places, which come after the larger ones they lie on, choose first."""
    found: list[tuple[float, float]] = []
    for points in reversed(outlines):
        corners = [(float(x), float(y)) for x, y in (corner.split(",") for corner in points.split())]
        across, down = zip(*corners, strict=True)
        left, top, wide, tall = min(across), min(down), max(across) - min(across), max(down) - min(down)
        middle = (left + wide / 2, top + tall / 2)
        grid = ((left + wide * i / _STEPS, top + tall * j / _STEPS) for i in range(1, _STEPS) for j in range(1, _STEPS))
        ways = [way for way in grid if holds(corners, *way)] or [middle]
        found.append(min(ways, key=partial(_clear, middle, tuple(found), wanted)))
    return found[::-1]


def _clear(
    middle: tuple[float, float], taken: Sequence[tuple[float, float]], wanted: float, way: tuple[float, float]
) -> tuple[float, float]:
    """How little a spot lacks of the room that is wanted, and then how near the middle it is; the least is best."""
    room = min((dist(way, other) for other in taken), default=wanted)
    return -min(room, wanted), dist(way, middle)
