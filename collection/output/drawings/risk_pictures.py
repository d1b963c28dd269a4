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
from collection.output.drawings.states import INK, PAPER, WASH
from collection.output.drawings.text import TYPE, fitted, width_of, wrapped
from collection.records.policy import Interval, RiskPolicy

WIDTH, SIZE, RULE = 900, 13, "#c4cace"
LEFT, LINE, TOP = 300, 450, 104
"""In drawing units: where the bars begin, how long 15 steps are, and where the first bar is."""
EACH, BAR = 40, 16
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
    height = TOP + EACH * max(1, len(rows)) + 34
    said = "; ".join(
        f"{row.rank}, {row.said}: A {row.a:.1f}, B {row.b:.1f}, C {row.c:.1f}, {_magnitude(row)}" for row in rows
    )
    parts = [
        *_head(
            "What makes each magnitude",
            f"A, B and C of each threat as lengths that add up to its magnitude of risk. {said}",
            height,
            name,
        ),
        f'<defs><pattern id="{name}-b" width="7" height="7" patternUnits="userSpaceOnUse"><path fill="{PAPER}" d="M0 0H7V7H0Z"/>'
        f'<path d="M-1 8L8-1" stroke="{INK}" stroke-width="1.3"/></pattern></defs>',
        *_key(name),
        *_scale(TOP - 8, TOP + EACH * max(1, len(rows)) - 6),
    ]
    for at, row in enumerate(rows):
        parts += _sum(TOP + EACH * at, row, name)
    if not rows:
        parts.append(f'<text x="20" y="{TOP + 18}">No threat is known.</text>')
    parts.append(
        f'<text x="20" y="{height - 12}">One step more is ten times the loss. Thin line below a bar: from the low to the '
        "high end of the magnitude.</text>"
    )
    return "\n".join([*parts, "</svg>", ""])


def _head(title: str, told: str, height: float, name: str) -> list[str]:
    ids = f"{name}-title", f"{name}-desc"
    return [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:g}" width="{WIDTH}" height="{height:g}" '
        f'role="img" aria-labelledby="{ids[0]} {ids[1]}" {TYPE} font-size="{SIZE}" fill="{INK}">',
        f'<title id="{ids[0]}">{escape(title)}</title>',
        f'<desc id="{ids[1]}">{escape(told)}.</desc>',
        f'<rect width="{WIDTH}" height="{height:g}" fill="{PAPER}"/>',
        f'<text x="20" y="28" font-size="17" font-weight="bold">{escape(title)}</text>',
    ]


def _key(name: str) -> Iterator[str]:
    x = 20.0
    for letter, meaning in (
        ("a", "A: how soon"),
        ("b", "B: how much of the object"),
        ("c", "C: how much of the collection"),
    ):
        yield f'<rect x="{x:g}" y="44" width="26" height="{BAR}" {_look(letter, name)}/>'
        yield f'<text x="{x + 34:g}" y="57">{meaning}</text>'
        x += 34 + width_of(meaning, SIZE) + 24


def _look(letter: str, name: str) -> str:
    fill = {"a": WASH, "b": f"url(#{name}-b)", "c": PAPER}[letter]
    return f'fill="{fill}" stroke="{INK}"'


def _x(steps: float) -> float:
    return round(LEFT + LINE * steps / MOST, 1)


def _scale(top: float, foot: float) -> Iterator[str]:
    for steps in range(0, int(MOST) + 1, 5):
        yield f'<path d="M{_x(steps)} {top}V{foot}" stroke="{RULE}"/>'
        yield f'<text x="{_x(steps)}" y="{top - 5}" font-size="11" text-anchor="middle">{steps}</text>'


def _sum(top: int, row: Pictured, name: str) -> Iterator[str]:
    label = f"{row.rank}. {row.title}"
    yield f'<text x="20" y="{top + 12}">{escape(fitted(label, LEFT - 36, SIZE))}</text>'
    what = f"{row.kind}{f', {row.place}' if row.place else ''}"
    yield f'<text x="20" y="{top + 28}" font-size="11.5">{escape(fitted(what, LEFT - 36, 11.5))}</text>'
    at = 0.0
    for letter, score in (("a", row.a), ("b", row.b), ("c", row.c)):
        # Below a hundred-thousandth a score is under nothing, and has no length.
        length = max(0.0, score)
        yield f'<rect x="{_x(at)}" y="{top}" width="{_x(at + length) - _x(at):.1f}" height="{BAR}" {_look(letter, name)}/>'
        at += length
    low, middle, high = row.magnitude
    ends = f"M{_x(low)} {top + BAR + 2}v6M{_x(high)} {top + BAR + 2}v6"
    yield f'<path d="M{_x(low)} {top + BAR + 5}H{_x(high)}{ends}" stroke="{INK}"/>'
    yield f'<text x="{LEFT + LINE + 12}" y="{top + 13}">{middle:.1f} ({low:.1f}–{high:.1f})</text>'


def _magnitude(row: Pictured) -> str:
    low, middle, high = row.magnitude
    return f"magnitude {middle:.1f}, from {low:.1f} to {high:.1f}, {row.advice}"


PLOT_TOP, PLOT_LEFT, PLOT_WIDTH, PLOT_HEIGHT, STRIP, NUMBERED = 84, 70, 410, 420, 80, 9
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
        return PLOT_LEFT + PLOT_WIDTH + 14 + (row.rank * 7) % (STRIP - 24), self.down(middle)


def _plot(rows: Sequence[Pictured], high_from: float, wide_from: float) -> _Plot:
    middles = [high_from, *(row.magnitude[1] for row in rows)]
    widths = [2 * wide_from, *(row.magnitude[2] - row.magnitude[0] for row in rows if row.magnitude[0] > 0)]
    return _Plot(
        math.floor(max(widths)) + 1, max(0, math.floor(min(middles)) - 1), min(int(MOST), math.ceil(max(middles)) + 1)
    )


def against_uncertainty(rows: Sequence[Pictured], total: int, high_from: float, wide_from: float, *, name: str) -> str:
    """Magnitude against the steps between its ends, cut where the method's table 22 cuts, with what it advises in each
    part. The first rows bear their rank; beside it stands what they are.

    :param total: how many threats there are; the rest, less grave, is not drawn, which is said.
    :param high_from: the magnitude from which a risk is high; `wide_from`: the steps from which it is uncertain.
    """
    plot, foot, right = _plot(rows, high_from, wide_from), PLOT_TOP + PLOT_HEIGHT, PLOT_LEFT + PLOT_WIDTH + STRIP
    numbers = {word: sum(row.advice == word for row in rows) for word in (TREAT, REVIEW, NO_ACTION, LATER)}
    told = ", ".join(f"{word} {counted(number, 'threat')}" for word, number in numbers.items())
    listed = "; ".join(f"{row.rank}, {row.said}: {_magnitude(row)}" for row in rows[:NUMBERED])
    drawn = f" The {len(rows)} gravest of {total:,}." if len(rows) < total else ""
    return "\n".join(
        [
            *_head(
                "Magnitude, and how sure it is",
                f"Each threat by its magnitude and by the steps between its ends. {told}. The gravest: {listed}",
                foot + 62,
                name,
            ),
            f'<text x="20" y="50">With what the method advises: high from magnitude {high_from:g}, unsure from '
            f"{wide_from:g} steps between the ends.{drawn}</text>",
            *_axes(plot, foot, right),
            f'<path d="M{PLOT_LEFT} {plot.down(high_from)}H{right}M{plot.across(wide_from)} {PLOT_TOP}V{foot}" '
            f'stroke="{INK}" stroke-dasharray="6 4"/>',
            *_advised(numbers, foot, right),
            *(_dot(*plot.spot(row)) for row in rows[NUMBERED:]),
            *_badges([(row.rank, *plot.spot(row)) for row in rows[:NUMBERED]]),
            *_named(rows[:NUMBERED], right + 24),
            "</svg>",
            "",
        ]
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
    yield (
        f'<text x="{edge - 8}" y="{foot + 34}" font-size="11" text-anchor="end">steps between its ends: the more, the '
        "less sure</text>"
    )
    for at, words in enumerate(("or nothing", "at all")):
        yield f'<text x="{edge + STRIP // 2}" y="{foot + 16 + 14 * at}" font-size="11" text-anchor="middle">{words}</text>'


def _advised(numbers: Mapping[str, int], foot: int, right: int) -> Iterator[str]:
    for word, across, down, anchor in (
        (TREAT, PLOT_LEFT + 8, PLOT_TOP + 16, "start"),
        (REVIEW, right - 6, PLOT_TOP + 16, "end"),
        (NO_ACTION, PLOT_LEFT + 8, foot - 10, "start"),
        (LATER, right - 6, foot - 10, "end"),
    ):
        yield f'<text x="{across}" y="{down}" font-weight="bold" text-anchor="{anchor}">{word}: {numbers[word]}</text>'


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


def _named(rows: Sequence[Pictured], left: int) -> Iterator[str]:
    y = PLOT_TOP + 6.0
    room = WIDTH - left - 16
    for row in rows:
        lines = wrapped(f"{row.rank}  {row.title}", room, 12)[:2]
        for line in lines:
            yield f'<text x="{left}" y="{y:g}" font-size="12">{escape(line)}</text>'
            y += 15
        yield f'<text x="{left}" y="{y:g}" font-size="11" fill="#51575d">{escape(fitted(row.kind, room, 11))}</text>'
        y += 22
