"""What survives on an object as one bar, for the lists."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from collection.language.sentences import counted
from collection.output.published.glances import STATES

Json = dict[str, Any]


def state_bar(row: Json) -> Markup:
    """How many of an object's places are in each state, as a bar in the patterns of the drawings."""
    counts = [(word, row[column]) for word, column in STATES.items() if row[column]]
    whole = sum(number for _, number in counts)
    said = ", ".join(f"{counted(number, 'place')} {word}" for word, number in counts) or "no place recorded"
    parts, x = [], 0.0
    for word, number in counts:
        width = 200 * number / whole
        name = word.removeprefix("original ").replace(" ", "-")
        parts.append(
            f'<rect x="{x:.1f}" y="1" width="{width:.1f}" height="14" fill="url(#p-{name})" stroke="#1a1d20"/>'
        )
        x += width
    # Nothing of the records is in it but figures.
    return Markup(
        f'<svg class="bar" viewBox="0 0 200 16" role="img" aria-label="{said}" preserveAspectRatio="none">'
        f'<rect y="1" width="200" height="14" fill="#fff"/>{"".join(parts)}</svg>'
    )
