"""A drawing with its key under it, as one SVG, for paper: what each pattern on it stands for."""

from __future__ import annotations

from html import escape

from collection.language.words import ZONE_STATE
from collection.output.drawings import states
from collection.output.drawings.elevation import Elevation, draw
from collection.output.drawings.text import TYPE, width_of

WIDTH, LETTER, SWATCH, ROW = 700.0, 12.0, 26.0, 22.0
SAMPLE = f'<circle fill="#fff" stroke="{states.INK}" stroke-width="2" cx="13" cy="8" r="5"/>'
RESERVE = '<path fill="#fff" stroke="#6b1f7a" stroke-width="2.5" stroke-dasharray="6 3" d="M2 2H24V14H2Z"/>'


def with_key(view: Elevation, *, name: str) -> str:
    """A drawing whose places show their states, and the key of what is on it.

    :param name: begins every id in it.
    """
    scale = LETTER / view.unit
    width, height = round(view.box[2] * scale, 1), round(view.box[3] * scale, 1)
    placed = draw(view, name=name).replace(
        '<svg class="elevation" ',
        f'<svg class="elevation" x="{(WIDTH - width) / 2:g}" y="0" width="{width:g}" height="{height:g}" ',
        1,
    )
    keyed, foot = _key(view, name, height + 10)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {foot:g}" width="{WIDTH:g}" height="{foot:g}" '
        f'{TYPE} font-size="{LETTER:g}"><rect width="{WIDTH:g}" height="{foot:g}" fill="#fff"/>{placed}{keyed}</svg>'
    )


def words_of(view: Elevation) -> list[tuple[str, str]]:
    """What stands on a drawing: the sign of each, as SVG of 26 by 16, and its words."""
    shown = {shape.state for shape in view.shapes}
    found = [(states.framed(word, ""), word) for word in ZONE_STATE.words if word in shown]
    if view.spots:
        found.append((SAMPLE, "sample"))
    if view.reserves:
        found.append((RESERVE, "must stay untouched"))
    return found


def _key(view: Elevation, name: str, top: float) -> tuple[str, float]:
    parts = []
    x, y = 0.0, top
    for number, (sign, word) in enumerate(words_of(view)):
        if word in ZONE_STATE.words:
            sign = states.framed(word, f"{name}-key{number}")
        wide = SWATCH + 8 + width_of(word, LETTER) + 14
        if x and x + wide > WIDTH:
            x, y = 0.0, y + ROW
        parts.append(
            f'<g transform="translate({x:g} {y:g})">{sign}<text x="{SWATCH + 8:g}" y="12.5" fill="{states.INK}">'
            f"{escape(word)}</text></g>"
        )
        x += wide
    return "".join(parts), y + ROW if parts else top
