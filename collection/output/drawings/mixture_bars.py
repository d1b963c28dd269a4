"""Mixtures as two bars each: the share that it acts on of the coat to go, and of the coat to stay. One SVG.

A bar is the interval, with a stroke at its middle, on a line from 0 to 100 %. The coat to go is hatched, the coat to stay
plain, so that the drawing reads in grey.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from collection.compute.windows.windows import Candidate
from collection.compute.windows.working_window import Window
from collection.language.sentences import percent
from collection.records.policy import Interval

WIDTH, LEFT, LINE, TOP = 900, 200, 400, 92
"""In drawing units: the whole, where the lines from 0 to 100 % begin, how long they are, and where the first mixture is."""
EACH, BAR = 104, 16
"""How much room a mixture takes, and how high a bar is."""
FONT = "Liberation Sans, Arial, sans-serif"


def draw(title: str, window: Window, shown: Sequence[Candidate], *, name: str) -> str:
    """The SVG text of some mixtures, in their order.

    :param name: begins the ids in it.
    """
    go, stay = window.pair.remove.thing, window.pair.keep.thing
    said = [
        f"{number}, {each.jar.text}: {go} to go {percent(each.removes)}, {stay} to stay {percent(each.keeps)}"
        for number, each in enumerate(shown, 1)
    ]
    height = TOP + EACH * max(1, len(shown)) + 40
    ids = f"{name}-title", f"{name}-desc"
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" height="{height}" '
            f'role="img" aria-labelledby="{ids[0]} {ids[1]}" font-family="{FONT}" font-size="13" fill="#222">',
            f'<title id="{ids[0]}">{escape(title)}: take off {escape(go)}, leave {escape(stay)}</title>',
            f'<desc id="{ids[1]}">The share of each coat that each mixture acts on. {escape("; ".join(said))}.</desc>',
            f'<defs><pattern id="{name}-go" width="7" height="7" patternUnits="userSpaceOnUse">'
            '<rect width="7" height="7" fill="#ddd"/><path d="M-1 8L8-1" stroke="#222" stroke-width="1.4"/></pattern></defs>',
            f'<rect width="{WIDTH}" height="{height}" fill="#fff"/>',
            f'<text x="20" y="28" font-size="17" font-weight="bold">{escape(title)}</text>',
            f'<text x="20" y="50">Take off {escape(go)} (hatched), leave {escape(stay)} (plain). '
            "Share of each coat that a mixture acts on, with 95 % intervals.</text>",
            *_scale(TOP - 14),
            *(
                line
                for at, each in enumerate(shown)
                for line in _mixture(TOP + EACH * at, at + 1, each, go, stay, name)
            ),
            *([] if shown else [f'<text x="20" y="{TOP + 20}">No mixture of these liquids can be ranked.</text>']),
            f'<text x="20" y="{height - 18}">{escape(window.note)}</text>',
            "</svg>",
            "",
        ]
    )


def _scale(y: float) -> list[str]:
    return [
        f'<text x="{LEFT + LINE * at / 100:g}" y="{y}" font-size="11" text-anchor="middle">{at} %</text>'
        for at in (0, 25, 50, 75, 100)
    ]


def _mixture(top: int, number: int, each: Candidate, go: str, stay: str, name: str) -> list[str]:
    stood = ", stood the test" if each.stood else ""
    return [
        f'<text x="20" y="{top + 14}"><tspan font-weight="bold">{number}. {escape(each.jar.text)}</tspan>'
        f", margin {each.margin:+.2f}</text>",
        *_bar(top + 24, f"to go, {go}", each.removes, percent(each.removes), f"url(#{name}-go)"),
        *_bar(top + 24 + BAR + 6, f"to stay, {stay}", each.keeps, percent(each.keeps) + stood, "#fff"),
        f'<text x="{LEFT}" y="{top + 84}" font-size="11">{escape(each.tests_in_words())}</text>',
    ]


def _bar(y: int, label: str, span: Interval, said: str, fill: str) -> list[str]:
    low, middle, high = (LEFT + LINE * end for end in span)
    line = y + BAR / 2
    return [
        f'<text x="{LEFT - 10}" y="{y + 13}" text-anchor="end">{escape(label)}</text>',
        f'<path d="M{LEFT} {line:g}h{LINE}" stroke="#aaa"/>',
        f'<rect x="{low:.1f}" y="{y}" width="{max(2.0, high - low):.1f}" height="{BAR}" fill="{fill}" stroke="#222"/>',
        f'<path d="M{middle:.1f} {y - 2}v{BAR + 4}" stroke="#222" stroke-width="4"/>',
        f'<text x="{LEFT + LINE + 14}" y="{y + 13}">{escape(said)}</text>',
    ]
