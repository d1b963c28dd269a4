"""What charts of a collection share: a width that a phone shows whole, a title, a note below it, and what the chart says in
words. One SVG each, which reads in grey."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from collection.output.drawings.states import INK, PAPER
from collection.output.drawings.text import TYPE, wrapped

WIDTH, EDGE = 380, 16
ROOM = WIDTH - 2 * EDGE
SIZE, SMALL, RULE = 13, 11.5, "#c4cace"
CLEAR = f'stroke="{PAPER}" stroke-width="4" paint-order="stroke"'
"""For a text that no line behind it may cross."""


def chart(title: str, told: str, note: str, drawn: Iterable[str], height: float, foot: str = "", *, name: str) -> str:
    """The SVG text of a chart.

    :param told: what it shows, for those who do not see it.
    :param note: a sentence below the title.
    :param drawn: its parts, from 0 downwards to `height`, in drawing units.
    :param foot: sentences below it.
    :param name: begins the ids in it.
    """
    above, below = wrapped(note, ROOM, SMALL), wrapped(foot, ROOM, SMALL)
    top = 40 + 15 * len(above)
    whole = round(top + height + 15 * len(below) + EDGE)
    ids = f"{name}-title", f"{name}-desc"
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {whole}" width="{WIDTH}" height="{whole}" '
            f'role="img" aria-labelledby="{ids[0]} {ids[1]}" {TYPE} font-size="{SIZE}" fill="{INK}">',
            f'<title id="{ids[0]}">{escape(title)}</title>',
            f'<desc id="{ids[1]}">{escape(told)}.</desc>',
            f'<rect width="{WIDTH}" height="{whole}" fill="{PAPER}"/>',
            f'<text x="{EDGE}" y="28" font-size="17" font-weight="bold">{escape(title)}</text>',
            *_lines(above, 48),
            f'<g transform="translate(0 {top})">',
            *drawn,
            "</g>",
            *_lines(below, top + height + 15),
            "</svg>",
            "",
        ]
    )


def _lines(lines: Iterable[str], top: float) -> Iterable[str]:
    for at, line in enumerate(lines):
        yield f'<text x="{EDGE}" y="{top + 15 * at:g}" font-size="{SMALL}">{escape(line)}</text>'
