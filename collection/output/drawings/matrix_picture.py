"""The Harris matrix of an object's coats, where their order branches: one SVG, and the same for Graphviz."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from collection.compute.stratigraphy.strata import Strata
from collection.output.drawings.text import TYPE, fitted


def dot(found: Strata) -> str:
    """The Harris matrix in the DOT language of Graphviz: units, and the relations that are left."""

    def quoted(text: str) -> str:
        return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'

    nodes = [f"  {quoted(u.code)} [label={quoted(f'{u.code} {u.role}')}];" for u in found.units]
    edges = [f"  {quoted(upper)} -> {quoted(lower)};" for upper, lower in found.matrix.relations]
    return "\n".join(["digraph {", "  node [shape=box];", *nodes, *edges, "}", ""])


def branches(rows: Sequence[Sequence[str]]) -> bool:
    """Whether coats stand beside each other in the rows of a matrix: else it is a list, and a drawing says no more."""
    return any(len(row) > 1 for row in rows)


def draw(found: Strata, *, name: str = "matrix") -> str:
    """The Harris matrix as SVG: a row for each depth, outermost at the top, a line for each relation that is left."""
    role = {unit.code: unit.role for unit in found.units}
    rows = found.matrix.rows
    broad = max((len(row) for row in rows), default=1)
    at: dict[str, tuple[float, float]] = {}
    for depth, row in enumerate(rows):
        for place, unit in enumerate(row):
            at[unit] = (20 + (place + 0.5 + (broad - len(row)) / 2) * 150, 20 + depth * 52)
    lines = [_line(at[a], at[b]) for a, b in found.matrix.relations if a in at and b in at]
    boxes = [
        f'<rect x="{x - 66}" y="{y}" width="132" height="32" fill="#fff" stroke="#222"/>'
        f'<text font-size="11" x="{x}" y="{y + 13}" text-anchor="middle">{escape(role.get(unit, ""))}</text>'
        f'<text font-size="11" fill="#555" x="{x}" y="{y + 27}" text-anchor="middle">{escape(fitted(unit, 126, 11))}</text>'
        for unit, (x, y) in at.items()
    ]
    width, height = 40 + broad * 150, 40 + len(rows) * 52
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
            f'{TYPE} role="img" aria-labelledby="{name}-t"><title id="{name}-t">{escape(found.object)}: Harris matrix</title>',
            *lines,
            *boxes,
            "</svg>",
            "",
        ]
    )


def _line(upper: tuple[float, float], lower: tuple[float, float]) -> str:
    (x1, y1), (x2, y2) = upper, lower
    half = y2 - 8
    return f'<path d="M{x1} {y1 + 32}V{half}H{x2}V{y2}" fill="none" stroke="#555" stroke-width="0.8"/>'
