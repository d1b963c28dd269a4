"""What stands for a state and for a severity in every drawing, key and list: one pattern each, told apart without colour.

Every pattern is dark ink or one blue-grey wash on white paper, so that it reads in grey, on a dark page and in print.
"""

from __future__ import annotations

from collection.language.words import ZONE_STATE

INK, WASH, PAPER = "#1a1d20", "#8fb3c1", "#ffffff"
TILE = 8
"""The side of a pattern's tile. A drawing scales it so that a tile is about 11 px where letters are 12 px high."""

STATES = ZONE_STATE.words
_FILLED, _DRAWN = 'fill="{}"', 'fill="none" stroke="{}" stroke-width="{}"'
_WASH = _FILLED.format(WASH)
_TILES: dict[str, tuple[tuple[str, str], ...]] = {
    "original exposed": (("M0 0H8V8H0Z", _WASH),),
    "original covered": (("M0 4H8V8H0Z", _WASH), ("M0 4H8", _DRAWN.format("#2d4a56", 0.9))),
    "original fragmentary": (("M.8 6.4 2 1.6 4.4 4.4ZM5 4.4 6.8 .8 7.6 4.2ZM4.2 7.6 5.4 5.8 7 7Z", _WASH),),
    "original not found": (("M1.5 4H5.5", _DRAWN.format("#2d4a56", 0.9)),),
    "original removed": (("M1 1 5 5M5 1 1 5", _DRAWN.format(INK, 0.9)),),
    "not examined": (("M1.2 2A.8 .8 0 1 1 2.8 2 .8 .8 0 1 1 1.2 2Z", _FILLED.format(INK)),),
    "destroys": (("M0 0H8V8H0Z", _FILLED.format("#c9776f")), ("M1 1 7 7M7 1 1 7", _DRAWN.format("#5c0f09", 1.6))),
    "endangers": (("M-2 2 2-2M-2 10 10-2M6 10 10 6", _DRAWN.format("#8a4300", 2)),),
    "untested": (("M2 2H6V6H2Z", _DRAWN.format("#55427f", 1)),),
    "stood": (("M1.5 4.5 3.5 6.5 7 1.5", _DRAWN.format("#2a5f45", 1)),),
    "clear": (("M3.2 4H4.8", _DRAWN.format("#51575d", 0.8)),),
    "unknown": (("M-1 1 1-1M-1 9 9-1M7 9 9 7", _DRAWN.format("#51575d", 0.8)),),
}
_MARKS: dict[str, str] = {
    "destroys": '<path fill="currentColor" d="M1 1H15V15H1Z"/><path stroke="#fff" stroke-width="2" d="M4 4 12 12M12 4 4 12"/>',
    "endangers": '<path fill="currentColor" d="M1 15H15V1Z"/>',
    "untested": '<path fill="none" stroke="currentColor" stroke-width="2" stroke-dasharray="3 2" d="M1.5 1.5H14.5V14.5H1.5Z"/>',
    "stood": '<path fill="none" stroke="currentColor" stroke-width="2" d="M1.5 1.5H14.5V14.5H1.5ZM4 8.5 7 11.5 12 5"/>',
    "clear": '<path fill="none" stroke="currentColor" stroke-width="2" d="M1.5 14.5H14.5M1.5 4H14.5"/>',
}


def pattern(word: str, id: str, unit: float) -> str:
    """The pattern of a state, of a severity, or of what is not known (`unknown`), as an SVG `<pattern>`.

    :param unit: the height of a letter of about 12 px, in drawing units.
    """
    scale = round(unit / 9, 3)
    return (
        f'<pattern id="{id}" width="{TILE}" height="{TILE}" patternUnits="userSpaceOnUse" '
        f'patternTransform="scale({scale:g})">{tile(word)}</pattern>'
    )


def tile(word: str) -> str:
    """One tile of a pattern."""
    return "".join(f'<path d="{path}" {look}/>' for path, look in _TILES[word])


def swatch(word: str, *, name: str = "swatch") -> str:
    """The pattern in a frame of 26 by 16, for keys and lists; beside it stands the word."""
    id = f"{name}-{word.replace(' ', '-')}"
    return f'<svg class="swatch" viewBox="0 0 26 16" width="26" height="16" aria-hidden="true">{framed(word, id)}</svg>'


def framed(word: str, id: str) -> str:
    """What a swatch holds: its pattern on white paper in a frame; dashed where nobody has looked."""
    dashed = ' stroke-dasharray="3 2"' if word == "not examined" else ""
    return (
        f'<defs>{pattern(word, id, 9)}</defs><path fill="{PAPER}" d="M0 0H26V16H0Z"/>'
        f'<path fill="url(#{id})" stroke="{INK}"{dashed} d="M1 1H25V15H1Z"/>'
    )


def coloured(fill: str | None, *, name: str = "swatch") -> str:
    """A swatch of one colour; hatched where it is not known."""
    if fill is None:
        return swatch("unknown", name=name)
    return (
        '<svg class="swatch" viewBox="0 0 26 16" width="26" height="16" aria-hidden="true">'
        f'<path fill="{fill}" stroke="{INK}" d="M1 1H25V15H1Z"/></svg>'
    )


def mark(severity: str) -> str:
    """The sign of a severity, 16 by 16, in the colour of the text it stands in."""
    return (
        f'<svg class="mark" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">{mark_paths(severity)}</svg>'
    )


def mark_paths(severity: str) -> str:
    """What the sign of a severity holds."""
    return _MARKS[severity]


def symbols() -> str:
    """Every swatch and mark once, as symbols `s-covered`, `s-not-examined`, `m-destroys`, for a page that shows many."""
    short = {word: word.removeprefix("original ").replace(" ", "-") for word in STATES}
    swatches = (
        f'<symbol id="s-{name}" viewBox="0 0 26 16">{framed(word, f"p-{name}")}</symbol>'
        for word, name in short.items()
    )
    marks = (f'<symbol id="m-{word}" viewBox="0 0 16 16">{paths}</symbol>' for word, paths in _MARKS.items())
    held = "".join((*swatches, *marks))
    return f'<svg class="defs" width="0" height="0" aria-hidden="true" focusable="false"><defs>{held}</defs></svg>'
