"""A triangle of fractional solubility parameters with every recorded test of two coats: one SVG.

Shape and fill show what a test did, never colour: a square is the coat to remove, a ring the coat to keep,
filled where something was seen and open where nothing was. Candidates are numbered crosses. It reads in grey.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from html import escape

from collection.compute.effects.models import candidate_points
from collection.compute.windows.fractional_parameters import HEIGHT, fractions, in_triangle
from collection.compute.windows.windows import SPOT_TEST, Candidate, Pair
from collection.values.agents import Agent

SIDE, LEFT, TOP, KEY = 520.0, 70.0, 60.0, 300.0
SHOWN = 6
_STYLE = (
    "text{font:11px 'Liberation Sans',Arial,sans-serif;fill:#222}.s{font-size:9px}.h{font-size:14px;"
    "font-weight:bold}.g{stroke:#bbb;stroke-width:.6}.e{stroke:#222;stroke-width:1.4;fill:none}"
)
_SOURCE = (
    "Fractions after Teas 1968, from Hansen parameters of the solvent table; mixtures are mixed in Hansen space "
    "first. The triangle tells nothing of how strong a liquid's cohesion is."
)


def teas_picture(title: str, pair: Pair, ranked: Sequence[Candidate]) -> str:
    """The SVG text: tests of both coats and the best candidates; liquids without known parameters are listed below."""
    tests: dict[str, dict[str, list[tuple[str, str]]]] = defaultdict(lambda: {"remove": [], "keep": []})
    liquids: dict[str, Agent] = {}
    for which, met in (("remove", pair.on_removed), ("keep", pair.on_kept)):
        for trial in met:
            tests[trial.agent.text][which].append((trial.test.test, trial.response))
            liquids[trial.agent.text] = trial.agent
    marks, unplaced, told = [], [], []
    for text in sorted(tests):
        points = candidate_points(liquids[text], pair.case.reference, pair.case.policy)
        said = _said(text, tests[text])
        told.append(said)
        if not points:
            unplaced.append(said)
            continue
        x, y = _at(points[0])
        marks.append(_mark(x, y, tests[text], f"{text}: {said}"))
    for number, each in enumerate(ranked[:SHOWN], 1):
        points = candidate_points(each.agent, pair.case.reference, pair.case.policy)
        if points:
            x, y = _at(points[0])
            marks.append(
                f'<path class="e" d="M{x - 5:.1f} {y:.1f}h10M{x:.1f} {y - 5:.1f}v10"/>'
                f'<text class="s" x="{x + 6:.1f}" y="{y - 4:.1f}">{number}</text>'
            )
    height = TOP + SIDE * HEIGHT + 70 + 14 * (len(unplaced) + 3)
    described = (
        f"Triangle of dispersion, polar and hydrogen-bonding fractions. {len(tests)} tested liquids: "
        + ("; ".join(told) or "none")
        + ". Candidates: "
        + ("; ".join(each.agent.text for each in ranked[:SHOWN]) or "none")
        + "."
    )
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {LEFT * 2 + SIDE + KEY:.0f} {height:.0f}" role="img" '
            f'aria-labelledby="t d"><title id="t">{escape(title)}</title><desc id="d">{escape(described)}</desc>'
            f"<style>{_STYLE}</style>",
            f'<text class="h" x="{LEFT}" y="24">{escape(title)}</text>',
            *_grid(),
            *marks,
            *_key(pair, ranked),
            *_foot(unplaced),
            "</svg>",
            "",
        ]
    )


def _at(point: tuple[float, float, float]) -> tuple[float, float]:
    x, y = in_triangle(fractions(point))
    return LEFT + SIDE * x, TOP + SIDE * (HEIGHT - y)


def _spot(d: float, p: float) -> tuple[float, float]:
    x, y = in_triangle((d, p, 100 - d - p))
    return LEFT + SIDE * x, TOP + SIDE * (HEIGHT - y)


def _grid() -> list[str]:
    corners = " ".join(f"{x:.1f},{y:.1f}" for x, y in (_spot(0, 0), _spot(100, 0), _spot(0, 100)))
    lines = [f'<polygon class="e" points="{corners}"/>']
    for step in range(10, 100, 10):
        for a, b in (
            (_spot(step, 0), _spot(step, 100 - step)),
            (_spot(0, step), _spot(100 - step, step)),
            (_spot(100 - step, 0), _spot(0, 100 - step)),
        ):
            lines.append(f'<path class="g" d="M{a[0]:.1f} {a[1]:.1f}L{b[0]:.1f} {b[1]:.1f}"/>')
        for (x, y), (dx, dy) in (
            (_spot(step, 0), (-4, 13)),
            (_spot(100 - step, step), (5, 3)),
            (_spot(0, 100 - step), (-20, 3)),
        ):
            lines.append(f'<text class="s" x="{x + dx:.1f}" y="{y + dy:.1f}">{step}</text>')
    base = TOP + SIDE * HEIGHT
    middle = TOP + SIDE * HEIGHT / 2
    lines += [
        f'<text x="{LEFT + SIDE / 2:.0f}" y="{base + 32:.0f}" text-anchor="middle">dispersion, % →</text>',
        f'<text transform="translate({LEFT + SIDE * 0.82:.0f} {middle:.0f}) rotate(60)" text-anchor="middle">'
        "← polar, %</text>",
        f'<text transform="translate({LEFT + SIDE * 0.18:.0f} {middle:.0f}) rotate(-60)" text-anchor="middle">'
        "← hydrogen bonding, %</text>",
    ]
    return lines


def _mark(x: float, y: float, responses: dict[str, list[tuple[str, str]]], said: str) -> str:
    parts = [f"<g><title>{escape(said)}</title>"]
    if responses["remove"]:
        filled = any(response != "none seen" for _, response in responses["remove"])
        parts.append(
            f'<rect x="{x - 7:.1f}" y="{y - 7:.1f}" width="14" height="14" stroke="#222" stroke-width="1.4" '
            f'fill="{"#999" if filled else "#fff"}"/>'
        )
    if responses["keep"]:
        filled = any(response != "none seen" for _, response in responses["keep"])
        parts.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4.5" stroke="#222" stroke-width="1.8" '
            f'fill="{"#222" if filled else "#fff"}"/>'
        )
    codes = ", ".join(dict.fromkeys(code for which in ("remove", "keep") for code, _ in responses[which]))
    parts.append(f'<text class="s" x="{x + 10:.1f}" y="{y + 3:.1f}">{escape(codes)}</text></g>')
    return "".join(parts)


def _said(text: str, responses: dict[str, list[tuple[str, str]]]) -> str:
    return f"{text}, " + ", ".join(
        f"{code} {'on the coat to remove' if which == 'remove' else 'on the coat to keep'} {response}"
        for which in ("remove", "keep")
        for code, response in responses[which]
    )


def _key(pair: Pair, ranked: Sequence[Candidate]) -> list[str]:
    x, y = LEFT + SIDE + 40, TOP + 10
    square, ring = (
        '<rect y="-10" width="12" height="12" stroke="#222" fill="{}"/>',
        '<circle cx="6" cy="-4" r="4.5" stroke="#222" stroke-width="1.8" fill="{}"/>',
    )
    rows = [
        (f"to remove, {pair.remove.thing}: it did something", square.format("#999")),
        ("nothing seen", square.format("#fff")),
        (f"to keep, {pair.keep.thing}: it did something", ring.format("#222")),
        ("nothing seen", ring.format("#fff")),
    ]
    found = []
    for text, glyph in rows:
        found.append(f'<g transform="translate({x:.0f} {y:.0f})">{glyph}<text x="20">{escape(text)}</text></g>')
        y += 20
    y += 8
    found.append(f'<text x="{x:.0f}" y="{y:.0f}">Candidates (+), best first:</text>')
    for number, each in enumerate(ranked[:SHOWN], 1):
        y += 16
        found.append(f'<text x="{x:.0f}" y="{y:.0f}">{number}  {escape(each.agent.text)}</text>')
    return found


def _foot(unplaced: Sequence[str]) -> list[str]:
    y = TOP + SIDE * HEIGHT + 60
    lines = [
        *(f"Not in the triangle (no Hansen parameters, or water): {text}" for text in unplaced),
        SPOT_TEST,
        _SOURCE,
    ]
    return [f'<text class="s" x="{LEFT}" y="{y + 14 * at:.0f}">{escape(text)}</text>' for at, text in enumerate(lines)]
