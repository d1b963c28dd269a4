"""Threats as pictures: what makes each magnitude, and magnitude against how sure it is. One SVG each.

They read in grey: lengths, hatchings and numbers tell things apart, never a colour.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape

from collection.compute.risk.magnitude import (
    LATER,
    MOST,
    NO_ACTION,
    REVIEW,
    TREAT,
    advice,
    of,
    score_of_share,
    score_of_years,
)
from collection.compute.risk.ranking import AtRisk, order
from collection.language.sentences import counted
from collection.output.drawings.chart import CLEAR, EDGE, ROOM, RULE, SIZE, SMALL, chart
from collection.output.drawings.states import INK, PAPER, WASH
from collection.output.drawings.text import fitted
from collection.records.policy import Interval, RiskPolicy

LINE, TOP, EACH, BAR = ROOM, 92, 60, 14
"""In drawing units: how long 15 steps are, where the first threat stands, how high each is, and its bar."""
MOST_BARS, MOST_DOTS = 12, 200
"""So many of the gravest threats are drawn as bars, and as dots."""


@dataclass(frozen=True, slots=True)
class Pictured:
    """One threat as it is drawn: its rank, its object by title and number, its kind and place, the exact scores A, B and C
    of its middle, its magnitude, and what the method advises."""

    rank: int
    object: str
    title: str
    kind: str
    place: str | None
    a: float
    b: float
    c: float
    magnitude: Interval
    advice: str

    @property
    def said(self) -> str:
        """Where and what, in words."""
        return f"{self.title} ({self.object}){f' at {self.place}' if self.place else ''}: {self.kind}"


def pictured(objects: Iterable[AtRisk], policy: RiskPolicy, most: int = MOST_DOTS) -> list[Pictured]:
    """The gravest threats of a collection as they are drawn, in their order."""
    rows = []
    for rank, (each, threat) in enumerate(order(objects, policy, most), 1):
        found = of(policy, threat, each.value)
        scores = score_of_years(found.years[1]), score_of_share(found.share[1]), score_of_share(found.of_collection)
        rows.append(
            Pictured(
                rank, each.object, each.title, threat.kind, threat.place, *scores, found.exact, advice(policy, found)
            )
        )
    return rows


def made_of(rows: Sequence[Pictured], *, name: str) -> str:
    """What makes each magnitude: A, B and C as lengths that add up, with the interval of the whole below.

    :param name: begins the ids in it.
    """
    said = "; ".join(
        f"{row.rank}, {row.said}: A {row.a:.1f}, B {row.b:.1f}, C {row.c:.1f}, {_magnitude(row)}" for row in rows
    )
    foot = TOP + EACH * max(1, len(rows))
    parts = [
        f'<defs><pattern id="{name}-b" width="7" height="7" patternUnits="userSpaceOnUse"><path fill="{PAPER}" d="M0 0H7V7H0Z"/>'
        f'<path d="M-1 8L8-1" stroke="{INK}" stroke-width="1.3"/></pattern></defs>',
        *_key(name),
        *_scale(TOP - 10, foot - 4),
        *(part for at, row in enumerate(rows) for part in _sum(TOP + EACH * at, row, name)),
    ]
    if not rows:
        parts.append(f'<text x="{EDGE}" y="{TOP + 18}">No threat is known.</text>')
    return chart(
        "What makes each magnitude",
        f"A, B and C of each threat as lengths that add up to its magnitude of risk. {said}",
        "One step more is ten times the loss.",
        parts,
        foot,
        "Thin line below a bar: from the low to the high end of the magnitude.",
        name=name,
    )


def _key(name: str) -> Iterator[str]:
    for at, (letter, meaning) in enumerate(
        (("a", "A: how soon"), ("b", "B: how much of the object"), ("c", "C: how much of the collection"))
    ):
        yield f'<rect x="{EDGE}" y="{4 + 20 * at}" width="26" height="{BAR}" {_look(letter, name)}/>'
        yield f'<text x="{EDGE + 34}" y="{15 + 20 * at}">{meaning}</text>'


def _look(letter: str, name: str) -> str:
    fill = {"a": WASH, "b": f"url(#{name}-b)", "c": PAPER}[letter]
    return f'fill="{fill}" stroke="{INK}"'


def _x(steps: float) -> float:
    return round(EDGE + LINE * steps / MOST, 1)


def _scale(top: float, foot: float) -> Iterator[str]:
    for steps in range(0, int(MOST) + 1, 5):
        anchor = "start" if steps == 0 else "end" if steps == MOST else "middle"
        yield f'<path d="M{_x(steps)} {top}V{foot}" stroke="{RULE}"/>'
        yield f'<text x="{_x(steps)}" y="{top - 5}" font-size="11" text-anchor="{anchor}">{steps}</text>'


def _sum(top: int, row: Pictured, name: str) -> Iterator[str]:
    low, middle, high = row.magnitude
    what = f"{middle:.1f} ({low:.1f}–{high:.1f})  {row.kind}{f', {row.place}' if row.place else ''}"
    yield f'<text x="{EDGE}" y="{top + 12}" {CLEAR}>{escape(fitted(f"{row.rank}. {row.title}", ROOM, SIZE))}</text>'
    yield f'<text x="{EDGE}" y="{top + 27}" font-size="{SMALL}" {CLEAR}>{escape(fitted(what, ROOM, SMALL))}</text>'
    bar, at = top + 32, 0.0
    for letter, score in (("a", row.a), ("b", row.b), ("c", row.c)):
        # Below a hundred-thousandth a score is under nothing, and has no length.
        length = max(0.0, score)
        yield f'<rect x="{_x(at)}" y="{bar}" width="{_x(at + length) - _x(at):.1f}" height="{BAR}" {_look(letter, name)}/>'
        at += length
    ends = f"M{_x(low)} {bar + BAR + 2}v6M{_x(high)} {bar + BAR + 2}v6"
    yield f'<path d="M{_x(low)} {bar + BAR + 5}H{_x(high)}{ends}" stroke="{INK}"/>'


def _magnitude(row: Pictured) -> str:
    low, middle, high = row.magnitude
    return f"magnitude {middle:.1f}, from {low:.1f} to {high:.1f}, {row.advice}"


PLOT_TOP, PLOT_LEFT, PLOT_WIDTH, PLOT_HEIGHT, STRIP, NUMBERED = 22, 36, 258, 380, 70, 9
"""In drawing units: where the plot begins and how large it is, how wide the strip beside it for what may be nothing; how
many bear their rank."""


@dataclass(frozen=True, slots=True)
class _Plot:
    """Where a threat stands: steps between its ends from the left, its magnitude from the foot."""

    widest: int
    least: int
    most: int

    def across(self, steps: float) -> float:
        return round(PLOT_LEFT + PLOT_WIDTH * steps / self.widest, 1)

    def down(self, magnitude: float) -> float:
        return round(PLOT_TOP + PLOT_HEIGHT * (self.most - magnitude) / (self.most - self.least), 1)

    def spot(self, row: Pictured) -> tuple[float, float]:
        low, middle, high = row.magnitude
        if low > 0:
            return self.across(high - low), self.down(middle)
        # Beside each other by rank, as the steps to nothing are no measure.
        return PLOT_LEFT + PLOT_WIDTH + 12 + (row.rank * 7) % (STRIP - 20), self.down(middle)


def _plot(rows: Sequence[Pictured], high_from: float, wide_from: float) -> _Plot:
    middles = [high_from, *(row.magnitude[1] for row in rows)]
    widths = [2 * wide_from, *(row.magnitude[2] - row.magnitude[0] for row in rows if row.magnitude[0] > 0)]
    return _Plot(
        math.floor(max(widths)) + 1, max(0, math.floor(min(middles)) - 1), min(int(MOST), math.ceil(max(middles)) + 1)
    )


def against_uncertainty(rows: Sequence[Pictured], total: int, high_from: float, wide_from: float, *, name: str) -> str:
    """Magnitude against the steps between its ends, cut where the method's table 22 cuts, with what it advises in each
    part. The first rows bear their rank.

    :param total: how many threats there are; the rest, less grave, is not drawn, which is said.
    :param high_from: the magnitude from which a risk is high; `wide_from`: the steps from which it is uncertain.
    """
    plot, foot, right = _plot(rows, high_from, wide_from), PLOT_TOP + PLOT_HEIGHT, PLOT_LEFT + PLOT_WIDTH + STRIP
    numbers = {word: sum(row.advice == word for row in rows) for word in (TREAT, REVIEW, NO_ACTION, LATER)}
    told = ", ".join(f"{word} {counted(number, 'threat')}" for word, number in numbers.items())
    listed = "; ".join(f"{row.rank}, {row.said}: {_magnitude(row)}" for row in rows[:NUMBERED])
    drawn = f" The {len(rows)} gravest of {total:,}." if len(rows) < total else ""
    return chart(
        "Magnitude, and how sure it is",
        f"Each threat by its magnitude and by the steps between its ends. {told}. The gravest: {listed}",
        f"With what the method advises: high from magnitude {high_from:g}, unsure from {wide_from:g} steps between the "
        f"ends.{drawn}",
        [
            *_axes(plot, foot, right),
            f'<path d="M{PLOT_LEFT} {plot.down(high_from)}H{right}M{plot.across(wide_from)} {PLOT_TOP}V{foot}" '
            f'stroke="{INK}" stroke-dasharray="6 4"/>',
            *_advised(numbers, foot, right),
            *(_dot(*plot.spot(row)) for row in rows[NUMBERED:]),
            *_badges([(row.rank, *plot.spot(row)) for row in rows[:NUMBERED]]),
        ],
        foot + 46,
        "Numbers are ranks: what they are stands beside the bars.",
        name=name,
    )


def _axes(plot: _Plot, foot: int, right: int) -> Iterator[str]:
    edge = PLOT_LEFT + PLOT_WIDTH
    yield f'<path d="M{PLOT_LEFT} {PLOT_TOP}V{foot}H{right}" fill="none" stroke="{INK}"/>'
    yield f'<path d="M{edge} {PLOT_TOP}V{foot}" stroke="{RULE}"/>'
    for steps in range(plot.least, plot.most + 1):
        yield f'<text x="{PLOT_LEFT - 8}" y="{plot.down(steps) + 4:g}" font-size="11" text-anchor="end">{steps}</text>'
    for steps in range(plot.widest):
        yield f'<text x="{plot.across(steps)}" y="{foot + 16}" font-size="11" text-anchor="middle">{steps}</text>'
    yield f'<text x="{PLOT_LEFT}" y="{PLOT_TOP - 10}" font-size="11">magnitude</text>'
    yield (f'<text x="{edge - 8}" y="{foot + 34}" font-size="11" text-anchor="end">steps between its ends</text>')
    for at, words in enumerate(("or nothing", "at all")):
        yield f'<text x="{edge + STRIP // 2}" y="{foot + 16 + 14 * at}" font-size="11" text-anchor="middle">{words}</text>'


def _advised(numbers: Mapping[str, int], foot: int, right: int) -> Iterator[str]:
    for word, across, down, anchor in (
        (TREAT, PLOT_LEFT + 8, PLOT_TOP + 16, "start"),
        (REVIEW, right - 6, PLOT_TOP + 16, "end"),
        (NO_ACTION, PLOT_LEFT + 8, foot - 10, "start"),
        (LATER, right - 6, foot - 10, "end"),
    ):
        said = f"{word}: {numbers[word]}"
        yield f'<text x="{across}" y="{down}" font-weight="bold" text-anchor="{anchor}" {CLEAR}>{said}</text>'


def _dot(across: float, down: float) -> str:
    return f'<circle cx="{across:g}" cy="{down:g}" r="3.5" fill="none" stroke="{INK}"/>'


def _badges(points: Sequence[tuple[int, float, float]]) -> Iterator[str]:
    """Numbers in discs, each moved beside the ones before it where they would hide each other, with a line to its spot."""
    taken: list[tuple[float, float]] = []
    for rank, x, y in points:
        at = next((spot for spot in _around(x, y) if all(math.dist(spot, each) >= 19 for each in taken)), (x, y))
        taken.append(at)
        if at != (x, y):
            yield f'<path d="M{x:g} {y:g}L{at[0]:g} {at[1]:g}" stroke="{INK}"/><circle cx="{x:g}" cy="{y:g}" r="2.5"/>'
        yield f'<circle cx="{at[0]:g}" cy="{at[1]:g}" r="9" fill="{PAPER}" stroke="{INK}" stroke-width="1.4"/>'
        yield f'<text x="{at[0]:g}" y="{at[1] + 4:g}" font-size="11" font-weight="bold" text-anchor="middle">{rank}</text>'


def _around(x: float, y: float) -> Iterator[tuple[float, float]]:
    """A spot and those around it, the nearest rings first."""
    for ring in range(9):
        for a in range(-ring, ring + 1):
            for b in range(-ring, ring + 1):
                if max(abs(a), abs(b)) == ring:
                    yield x + 20 * a, y + 20 * b
