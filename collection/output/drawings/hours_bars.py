"""Hours per m² by kind of work, as bars with their middle on one line from few to many hours, ten times as many at each
stroke. One SVG.

A bar is the 90 % interval of one more such step, with a stroke at its middle, and a dot for each step that was logged.
Work without a figure is named below. It reads in grey.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from collection.compute.effort.hours import ActionRate, KindRate
from collection.language.sentences import counted, figure
from collection.output.drawings.states import INK, PAPER, WASH
from collection.output.drawings.text import TYPE, fitted, wrapped

WIDTH, LEFT, LINE, TOP = 900, 210, 430, 84
"""In drawing units: the whole, where the line of hours begins, how long it is, and where the first bar is."""
EACH, BAR, SIZE = 26, 13, 13


def draw(title: str, rows: Sequence[ActionRate], note: str, *, name: str) -> str:
    """The SVG text of some actions, in their order; below an action its kinds, where it was logged on several binders.

    :param note: a sentence below the bars: what counts.
    :param name: begins the ids in it.
    """
    lines = [
        (each.kind.binder or "binder not known" if under else each.kind.action, under, each)
        for row in rows
        if row.kinds
        for under, each in [(False, row.whole), *((True, kind) for kind in row.kinds if len(row.kinds) > 1)]
    ]
    spans = [each.hours_per_m2 for _, _, each in lines if each.hours_per_m2 is not None]
    ends = [*(end for span in spans for end in span), *(rate for _, _, each in lines for rate in each.logged)] or [1.0]
    least = math.floor(math.log10(min(ends)))
    most = max(least + 1, math.ceil(math.log10(max(ends))))
    without = [row.whole.kind.action for row in rows if not row.kinds]
    foot = wrapped(note, WIDTH - 40, SIZE)
    if without:
        foot += wrapped(f"No figure, as no log of them counts: {', '.join(without)}.", WIDTH - 40, SIZE)
    height = TOP + EACH * max(1, len(lines)) + 22 + 18 * len(foot)
    said = "; ".join(f"{each.kind.said() if under else label}: {_said(each)}" for label, under, each in lines)
    ids = f"{name}-title", f"{name}-desc"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" height="{height}" '
        f'role="img" aria-labelledby="{ids[0]} {ids[1]}" {TYPE} font-size="{SIZE}" fill="{INK}">',
        f'<title id="{ids[0]}">{escape(title)}</title>',
        f'<desc id="{ids[1]}">Hours per m² of one more step of each kind of work, with 90 % intervals. '
        f"{escape(said)}.</desc>",
        f'<rect width="{WIDTH}" height="{height}" fill="{PAPER}"/>',
        f'<text x="20" y="28" font-size="17" font-weight="bold">{escape(title)}</text>',
        '<text x="20" y="50">Hours per m² of one more such step, 90 % intervals. Dots: the steps that were logged.</text>',
    ]
    for power in range(least, most + 1):
        x = LEFT + LINE * (power - least) / (most - least)
        parts += [
            f'<path d="M{x:.1f} {TOP - 6}V{TOP + EACH * max(1, len(lines))}" stroke="#d5dadd"/>',
            f'<text x="{x:.1f}" y="{TOP - 12}" font-size="11" text-anchor="middle">{figure(10.0**power)} h</text>',
        ]
    for at, (label, under, each) in enumerate(lines):
        weight = "" if under else ' font-weight="bold"'
        y = TOP + EACH * at
        parts += [
            f'<text x="{LEFT - 10}" y="{y + 15}" text-anchor="end"{weight}>'
            f"{escape(fitted(label, LEFT - 30, SIZE))}</text>",
            *_bar(y, each, least, most, WASH if not under else PAPER),
        ]
    if not lines:
        parts.append(f'<text x="20" y="{TOP + 16}">No work is logged.</text>')
    parts += [
        f'<text x="20" y="{TOP + EACH * max(1, len(lines)) + 26 + 18 * at}">{escape(line)}</text>'
        for at, line in enumerate(foot)
    ]
    return "\n".join([*parts, "</svg>", ""])


def _bar(top: int, each: KindRate, least: int, most: int, fill: str) -> list[str]:
    assert each.hours_per_m2 is not None

    def x(rate: float) -> float:
        return LEFT + LINE * (math.log10(rate) - least) / (most - least)

    low, middle, high = map(x, each.hours_per_m2)
    return [
        f'<rect x="{low:.1f}" y="{top + 4}" width="{max(2.0, high - low):.1f}" height="{BAR}" fill="{fill}" '
        f'stroke="{INK}"/>',
        f'<path d="M{middle:.1f} {top + 2}v{BAR + 4}" stroke="{INK}" stroke-width="4"/>',
        *(
            f'<circle cx="{x(rate):.1f}" cy="{top + 4 + BAR / 2:g}" r="3.5" fill="{INK}" stroke="{PAPER}"/>'
            for rate in each.logged
        ),
        f'<text x="{LEFT + LINE + 14}" y="{top + 15}">{escape(_said(each))}</text>',
    ]


def _said(each: KindRate) -> str:
    assert each.hours_per_m2 is not None
    low, middle, high = map(figure, each.hours_per_m2)
    return f"{middle} h/m² ({low}–{high}); {counted(each.logs, 'log')}"
