"""How much of each object's painted surface still bears its original finish: one bar an object, with its interval. One SVG.

A bar is the 95 % interval with a stroke at its middle, on a line from nothing to all. Where nobody has looked the whole
line stands open, dashed. It reads in grey.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from collection.language.sentences import figure, percent
from collection.output.drawings.chart import EDGE, ROOM, RULE, SIZE, SMALL, chart
from collection.output.drawings.states import INK, WASH
from collection.output.drawings.text import fitted
from collection.records.policy import Interval

LEFT, LINE, TOP = EDGE, ROOM, 30
EACH, BAR = 56, 12


@dataclass(frozen=True, slots=True)
class Surviving:
    """One object: its painted area where all of it is measured, the area that survives of the original finish [low, middle,
    high] in m², and at how many of the places looked at it was seen."""

    object: str
    title: str
    area_m2: float | None
    surviving_m2: Interval | None
    present: int
    read: int

    @property
    def share(self) -> Interval | None:
        """Of its painted surface, 0-1; None where that is not measured."""
        if not self.area_m2 or self.surviving_m2 is None or not self.read:
            return None
        low, middle, high = (min(1.0, end / self.area_m2) for end in self.surviving_m2)
        return low, middle, high

    @property
    def short(self) -> str:
        """What stands beside its bar."""
        if not self.read:
            return "nobody has looked"
        seen = f"{self.present} of {self.read} places"
        return f"{seen}; surface not measured" if self.share is None else f"{percent(self.share)}; {seen}"

    @property
    def said(self) -> str:
        if not self.read:
            return "nobody has looked"
        seen = f"seen at {self.present} of {self.read} places"
        if self.share is None or self.area_m2 is None:
            return f"{seen}; surface not measured"
        return f"{percent(self.share)} of {figure(self.area_m2)} m²; {seen}"


def draw(rows: Sequence[Surviving], *, name: str) -> str:
    """The SVG text of some objects, in their order; `name` begins the ids in it."""
    foot = TOP + EACH * max(1, len(rows))
    said = "; ".join(f"{row.title} ({row.object}): {row.said}" for row in rows)
    parts = []
    for share, anchor in ((0, "start"), (0.5, "middle"), (1, "end")):
        x = LEFT + LINE * share
        parts.append(f'<text x="{x:g}" y="{TOP - 15}" font-size="11" text-anchor="{anchor}">{100 * share:g} %</text>')
    for at, row in enumerate(rows):
        parts += _bar(TOP + EACH * at, row)
    if not rows:
        parts.append(f'<text x="{EDGE}" y="{TOP + 14}">No object is recorded.</text>')
    return chart(
        "What survives of the original finish",
        f"The share of the painted surface of each object, with 95 % intervals. {said}",
        "Share of each object’s painted surface, 95 % intervals, and at how many of the places looked at it was seen. "
        "Dashed: nobody has looked.",
        parts,
        foot,
        name=name,
    )


def _bar(top: int, row: Surviving) -> list[str]:
    bar = top + 31
    parts = [
        f'<text x="{EDGE}" y="{top + 12}">{escape(fitted(row.title, ROOM, SIZE))}</text>',
        f'<text x="{EDGE}" y="{top + 26}" font-size="{SMALL}">{escape(row.short)}</text>',
    ]
    if not row.read:
        return [
            *parts,
            f'<rect x="{LEFT}" y="{bar}" width="{LINE}" height="{BAR}" fill="none" stroke="{INK}" stroke-dasharray="4 3"/>',
        ]
    if row.share is None:
        return parts
    low, middle, high = (round(LEFT + LINE * end, 1) for end in row.share)
    return [
        *parts,
        f'<path d="M{LEFT} {bar + BAR // 2}h{LINE}" stroke="{RULE}"/>',
        f'<rect x="{low}" y="{bar}" width="{max(2.0, high - low):.1f}" height="{BAR}" fill="{WASH}" stroke="{INK}"/>',
        f'<path d="M{middle} {bar - 2}v{BAR + 4}" stroke="{INK}" stroke-width="4"/>',
    ]
