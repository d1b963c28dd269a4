"""An object's samples side by side, to scale, their correlated coats joined: one SVG.

Coats have their recorded colours. What tells campaigns apart is the letter and the hatching between the samples, so
that the drawing reads in grey as well; a coat without a thickness has a broken outline and a height that says nothing.
"""

from __future__ import annotations

from html import escape
from itertools import groupby, pairwise
from string import ascii_uppercase

from collection.compute.stratigraphy.strata import Placing, Strata
from collection.output.drawings.colours import colour_of_row
from collection.records.facts import Facts
from collection.records.sheets import Layer

BAND, GAP, LEFT, TOP, ROOM = 34, 34, 64, 44, 300.0
UNMEASURED, THINNEST, SUPPORT = 10.0, 1.5, 14.0
HATCHES = (
    "M0 4H8",
    "M0 8L8 0",
    "M4 0V8",
    "M0 0L8 8",
    "M0 4H8M4 0V8",
    "M0 8L8 0M0 0L8 8",
    "M0 2H8M0 6H8",
    "M2 0V8M6 0V8",
)
"""Patterns of the joins, by campaign, told apart without colour."""
_STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000)
_TYPE = 'font-family="Liberation Sans, Arial, sans-serif" font-size="11"'


def letter(campaign: int) -> str:
    """The letter of a campaign, from the support outward: A, B …, AA and on after Z."""
    number, text = campaign, ""
    while number:
        number, rest = divmod(number - 1, 26)
        text = ascii_uppercase[rest] + text
    return text or "–"


def side_by_side(facts: Facts, found: Strata) -> str:
    """The SVG text; samples from left to right in the order of their codes, the support at the foot."""
    layers = {(layer.sample, layer.position): layer for layer in facts.layers}
    by_sample: dict[str, list[Placing]] = {sample: [] for sample in found.samples}
    for placing in found.placings:
        by_sample[placing.sample].append(placing)
    sums = [sum(layers[p.sample, p.position].thickness_um or 0.0 for p in stack) for stack in by_sample.values()]
    scale = ROOM / max(max(sums, default=0.0), 1e-9) if any(sums) else 0.0
    reaches = {s.sample: s.reaches_support == "yes" for s in facts.samples}
    tops: dict[tuple[str, int], tuple[float, float]] = {}
    heights = {
        sample: sum(_height(layers[p.sample, p.position], scale) for p in stack) for sample, stack in by_sample.items()
    }
    floor = TOP + max(heights.values(), default=0.0)
    joins: list[str] = []
    bands: list[str] = []
    for at, (sample, stack) in enumerate(by_sample.items()):
        x, y = LEFT + at * (BAND + GAP), floor
        place = next(s.place for s in facts.samples if s.sample == sample)
        bands.append(
            f'<text font-size="13" font-weight="bold" x="{x}" y="{TOP - 22}">{escape(sample)}</text>'
            f'<text font-size="9" x="{x}" y="{TOP - 10}">{escape(_short(place))}</text>'
        )
        bands.append(_foot(x, floor, reaches.get(sample, False)))
        for placing in stack:
            layer = layers[placing.sample, placing.position]
            height = _height(layer, scale)
            y -= height
            tops[placing.sample, placing.position] = (y, height)
            bands.append(_band(layer, placing, x, y, height))
        bands += _campaign_marks(stack, tops, x)
    shown = list(by_sample)
    for unit in found.units:
        where = sorted(((shown.index(sample), (sample, position)) for sample, position in unit.coats))
        for (one, first), (two, second) in pairwise(where):
            joins.append(
                _join(
                    unit.campaign if two == one + 1 else None,
                    LEFT + one * (BAND + GAP) + BAND,
                    LEFT + two * (BAND + GAP),
                    tops[first],
                    tops[second],
                )
            )
    width = max(LEFT + len(shown) * (BAND + GAP), 360)
    key = _key(found, floor + 44)
    height = floor + 52 + 16 * len(key)
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
            f'{_TYPE} role="img" aria-labelledby="t d"><title id="t">{escape(found.object)}: samples side by side</title>',
            f'<desc id="d">{escape(_described(found))}</desc>',
            _hatches(found),
            *joins,
            *bands,
            _scale_bar(scale, floor),
            *key,
            "</svg>",
            "",
        ]
    )


def _height(layer: Layer, scale: float) -> float:
    return max(THINNEST, layer.thickness_um * scale) if layer.thickness_um and scale else UNMEASURED


def _band(layer: Layer, placing: Placing, x: float, y: float, height: float) -> str:
    colour = colour_of_row(vars(layer))
    fill = colour[0] if colour else "#ffffff"
    broken = "" if layer.thickness_um else ' stroke-dasharray="3 2"'
    said = f"{layer.sample}/{layer.position}: {layer.colour or ''} {layer.role}, campaign {letter(placing.campaign)}"
    if not placing.given and placing.campaign:
        said += f", {placing.chance:.0%} sure"
    label = (
        f'<text font-size="9" x="{x - 3}" y="{y + height / 2 + 3:.1f}" text-anchor="end">{layer.position}</text>'
        if height >= 7
        else ""
    )
    return (
        f'<rect x="{x}" y="{y:.1f}" width="{BAND}" height="{height:.1f}" fill="{fill}" stroke="#222" '
        f'stroke-width="0.7"{broken}><title>{escape(" ".join(said.split()))}</title></rect>{label}'
    )


def _campaign_marks(stack: list[Placing], tops: dict[tuple[str, int], tuple[float, float]], x: float) -> list[str]:
    """The letter of each campaign beside its coats."""
    marks = []
    for number, run in groupby((p for p in stack if p.campaign), key=lambda p: p.campaign):
        spans = [tops[p.sample, p.position] for p in run]
        middle = (min(top for top, _ in spans) + max(top + height for top, height in spans)) / 2
        marks.append(
            f'<text x="{x + BAND + 3}" y="{middle + 4:.1f}" stroke="#fff" stroke-width="3" '
            f'paint-order="stroke">{letter(number)}</text>'
        )
    return marks


def _join(campaign: int | None, x1: float, x2: float, one: tuple[float, float], two: tuple[float, float]) -> str:
    """Neighbours by a hatched field, samples further apart by one thin line."""
    if campaign is None:
        return (
            f'<path d="M{x1} {one[0] + one[1] / 2:.1f}L{x2} {two[0] + two[1] / 2:.1f}" fill="none" stroke="#999" '
            'stroke-width="0.4" stroke-dasharray="2 3"/>'
        )
    fill = f"url(#h{campaign % len(HATCHES)})" if campaign else "none"
    return (
        f'<path d="M{x1} {one[0]:.1f}L{x2} {two[0]:.1f}V{two[0] + two[1]:.1f}L{x1} {one[0] + one[1]:.1f}Z" '
        f'fill="{fill}" stroke="#777" stroke-width="0.5"/>'
    )


def _foot(x: float, y: float, reaches: bool) -> str:
    if reaches:
        return f'<path d="M{x} {y}h{BAND}v{SUPPORT}h-{BAND}z" fill="#cfc4b0" stroke="#222" stroke-width="0.7"/>'
    wave = "".join(f"q{BAND / 8} 5 {BAND / 4} 0" for _ in range(4))
    return f'<path d="M{x} {y + 2}{wave}" fill="none" stroke="#222" stroke-width="0.7"/>'


def _hatches(found: Strata) -> str:
    used = sorted({unit.campaign % len(HATCHES) for unit in found.units if unit.campaign})
    return (
        "<defs>"
        + "".join(
            f'<pattern id="h{number}" width="8" height="8" patternUnits="userSpaceOnUse"><path d="{HATCHES[number]}" '
            'stroke="#888" stroke-width="0.6" fill="none"/></pattern>'
            for number in used
        )
        + "</defs>"
    )


def _scale_bar(scale: float, floor: float) -> str:
    if not scale:
        return ""
    length = max((step for step in _STEPS if step * scale <= ROOM / 3), default=1)
    return (
        f'<path d="M14 {floor - length * scale:.1f}h6M17 {floor - length * scale:.1f}V{floor}M14 {floor}h6" '
        f'stroke="#222" fill="none"/><text font-size="9" x="4" y="{floor + 12}">{length} µm</text>'
    )


def _key(found: Strata, y: float) -> list[str]:
    """The key, one line per campaign: its hatching, letter, scheme and coats."""
    lines = []
    numbers = sorted({unit.campaign for unit in found.units if unit.campaign}, reverse=True)
    for row, number in enumerate(numbers):
        units = [unit for unit in found.units if unit.campaign == number]
        scheme = next((unit.scheme for unit in units if unit.scheme), None)
        named = f"scheme {scheme}" if scheme else "no scheme named"
        samples = len({sample for unit in units for sample, _ in unit.coats})
        text = f"{letter(number)}  {named}: {_counted(len(units), 'coat')} in {_counted(samples, 'sample')}"
        lines.append(
            f'<rect x="{LEFT}" y="{y + row * 16:.1f}" width="22" height="11" '
            f'fill="url(#h{number % len(HATCHES)})" stroke="#777" stroke-width="0.5"/>'
            f'<text x="{LEFT + 30}" y="{y + row * 16 + 9:.1f}">{escape(text)}</text>'
        )
    lines.append(
        f'<text font-size="9" x="{LEFT}" y="{y + len(numbers) * 16 + 9:.1f}">Broken outline: thickness not '
        "measured. Wave at the foot: the sample stops short of the support.</text>"
    )
    return lines


def _described(found: Strata) -> str:
    campaigns = len({unit.campaign for unit in found.units if unit.campaign})
    return (
        f"{_counted(len(found.samples), 'sample')}, {_counted(len(found.units), 'coat')} in "
        f"{_counted(campaigns, 'campaign')}; coats judged to be one are joined between neighbouring samples."
    )


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def _short(text: str) -> str:
    return text if len(text) <= 10 else text[:9] + "…"


def dot(found: Strata) -> str:
    """The Harris matrix in the DOT language of Graphviz: units, and the relations that are left."""

    def quoted(text: str) -> str:
        return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'

    nodes = [f"  {quoted(u.code)} [label={quoted(f'{u.code} {u.role}')}];" for u in found.units]
    edges = [f"  {quoted(upper)} -> {quoted(lower)};" for upper, lower in found.matrix.relations]
    return "\n".join(["digraph {", "  node [shape=box];", *nodes, *edges, "}", ""])


def matrix_picture(found: Strata) -> str:
    """The Harris matrix as SVG: a row for each depth, outermost at the top, a line for each relation that is left."""
    role = {unit.code: unit.role for unit in found.units}
    rows = found.matrix.rows
    broad = max((len(row) for row in rows), default=1)
    at: dict[str, tuple[float, float]] = {}
    for depth, row in enumerate(rows):
        for place, unit in enumerate(row):
            at[unit] = (20 + (place + 0.5 + (broad - len(row)) / 2) * 150, 20 + depth * 46)
    lines = [_line(at[a], at[b]) for a, b in found.matrix.relations if a in at and b in at]
    boxes = [
        f'<rect x="{x - 66}" y="{y}" width="132" height="26" fill="#fff" stroke="#222"/>'
        f'<text font-size="9" x="{x}" y="{y + 11}" text-anchor="middle">{escape(unit)}</text>'
        f'<text font-size="9" x="{x}" y="{y + 22}" text-anchor="middle">{escape(role.get(unit, ""))}</text>'
        for unit, (x, y) in at.items()
    ]
    width, height = 40 + broad * 150, 40 + len(rows) * 46
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
            f'{_TYPE} role="img" aria-labelledby="t"><title id="t">{escape(found.object)}: Harris matrix</title>',
            *lines,
            *boxes,
            "</svg>",
            "",
        ]
    )


def _line(upper: tuple[float, float], lower: tuple[float, float]) -> str:
    (x1, y1), (x2, y2) = upper, lower
    half = y2 - 8
    return f'<path d="M{x1} {y1 + 26}V{half}H{x2}V{y2}" fill="none" stroke="#555" stroke-width="0.8"/>'
