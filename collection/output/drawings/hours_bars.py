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
from collection.language.sentences import around, counted
from collection.output.drawings.chart import CLEAR, EDGE, ROOM, RULE, SIZE, SMALL, WIDTH, chart
from collection.output.drawings.states import INK, PAPER, WASH
from collection.output.drawings.text import fitted, width_of

LEFT, LINE, TOP = EDGE + 8, ROOM - 16, 34
"""In drawing units: where the line of hours begins, how long it is, and where the first bar is."""
EACH, BAR = 42, 12


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
    if without:
        note += f" No figure, as no log of them counts: {', '.join(without)}."
    said = "; ".join(f"{each.kind.said() if under else label}: {_said(each)}" for label, under, each in lines)
    foot = TOP + EACH * max(1, len(lines))
    parts = []
    for power in range(least, most + 1):
        x = LEFT + LINE * (power - least) / (most - least)
        parts += [
            f'<path d="M{x:.1f} {TOP - 8}V{foot - 4}" stroke="{RULE}"/>',
            f'<text x="{x:.1f}" y="{TOP - 13}" font-size="11" text-anchor="middle">{10.0**power:,g} h</text>',
        ]
    for at, (label, under, each) in enumerate(lines):
        parts += _bar(TOP + EACH * at, label, under, each, (least, most))
    if not lines:
        parts.append(f'<text x="{EDGE}" y="{TOP + 16}">No work is logged.</text>')
    return chart(
        title,
        f"Hours per m² of one more step of each kind of work, with 90 % intervals. {said}",
        "Hours per m² of one more such step, 90 % intervals. Dots: the steps that were logged.",
        parts,
        foot,
        note,
        name=name,
    )


def _bar(top: int, label: str, under: bool, each: KindRate, ends: tuple[int, int]) -> list[str]:
    assert each.hours_per_m2 is not None
    least, most = ends

    def x(rate: float) -> float:
        return LEFT + LINE * (math.log10(rate) - least) / (most - least)

    low, middle, high = map(x, each.hours_per_m2)
    said, bar = _said(each), top + 18
    left = EDGE + 12 * under
    label = fitted(label, ROOM - width_of(said, SMALL) - 24, SIZE)
    weight = "" if under else ' font-weight="bold"'
    return [
        f'<text x="{left}" y="{top + 12}"{weight} {CLEAR}>{escape(label)}</text>',
        f'<text x="{WIDTH - EDGE}" y="{top + 12}" font-size="{SMALL}" text-anchor="end" {CLEAR}>{escape(said)}</text>',
        f'<rect x="{low:.1f}" y="{bar}" width="{max(2.0, high - low):.1f}" height="{BAR}" fill="{PAPER if under else WASH}" '
        f'stroke="{INK}"/>',
        f'<path d="M{middle:.1f} {bar - 2}v{BAR + 4}" stroke="{INK}" stroke-width="4"/>',
        *(
            f'<circle cx="{x(rate):.1f}" cy="{bar + BAR / 2:g}" r="3.5" fill="{INK}" stroke="{PAPER}"/>'
            for rate in each.logged
        ),
    ]


def _said(each: KindRate) -> str:
    assert each.hours_per_m2 is not None
    return f"{around(each.hours_per_m2)} h/m²; {counted(each.logs, 'log')}"
