"""How much of each object's painted surface still bears its original finish: one bar an object, with its interval. One SVG.

A bar is the 95 % interval with a stroke at its middle, on a line from nothing to all. Where nobody has looked the whole
line stands open, dashed. It reads in grey.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from collection.language.sentences import figure, percent
from collection.output.drawings.states import INK, PAPER, WASH
from collection.output.drawings.text import TYPE, fitted
from collection.records.policy import Interval

WIDTH, LEFT, LINE, TOP = 900, 300, 330, 96
EACH, BAR, SIZE = 30, 14, 13


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
    height = TOP + EACH * max(1, len(rows)) + 30
    ids = f"{name}-title", f"{name}-desc"
    said = "; ".join(f"{row.title} ({row.object}): {row.said}" for row in rows)
    title = "What survives of the original finish"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" height="{height}" '
        f'role="img" aria-labelledby="{ids[0]} {ids[1]}" {TYPE} font-size="{SIZE}" fill="{INK}">',
        f'<title id="{ids[0]}">{title}</title>',
        f'<desc id="{ids[1]}">The share of the painted surface of each object, with 95 % intervals. {escape(said)}.</desc>',
        f'<rect width="{WIDTH}" height="{height}" fill="{PAPER}"/>',
        f'<text x="20" y="28" font-size="17" font-weight="bold">{title}</text>',
        '<text x="20" y="50">Share of each object’s painted surface, 95 % intervals. Beside them: at how many of the places '
        "looked at it was seen. Dashed: nobody has looked.</text>",
    ]
    for share in (0, 0.5, 1):
        x = LEFT + LINE * share
        parts += [
            f'<path d="M{x:g} {TOP - 10}V{TOP + EACH * max(1, len(rows)) - 8}" stroke="#c4cace"/>',
            f'<text x="{x:g}" y="{TOP - 15}" font-size="11" text-anchor="middle">{100 * share:g} %</text>',
        ]
    for at, row in enumerate(rows):
        parts += _bar(TOP + EACH * at, row)
    if not rows:
        parts.append(f'<text x="20" y="{TOP + 14}">No object is recorded.</text>')
    return "\n".join([*parts, "</svg>", ""])


def _bar(top: int, row: Surviving) -> list[str]:
    parts = [
        f'<text x="20" y="{top + 12}">{escape(fitted(row.title, LEFT - 36, SIZE))}</text>',
        f'<text x="{LEFT + LINE + 14}" y="{top + 12}" font-size="12">{escape(row.short)}</text>',
    ]
    if not row.read:
        return [
            *parts,
            f'<rect x="{LEFT}" y="{top}" width="{LINE}" height="{BAR}" fill="none" stroke="{INK}" stroke-dasharray="4 3"/>',
        ]
    if row.share is None:
        return parts
    low, middle, high = (round(LEFT + LINE * end, 1) for end in row.share)
    return [
        *parts,
        f'<rect x="{low}" y="{top}" width="{max(2.0, high - low):.1f}" height="{BAR}" fill="{WASH}" stroke="{INK}"/>',
        f'<path d="M{middle} {top - 2}v{BAR + 4}" stroke="{INK}" stroke-width="4"/>',
    ]
