"""The pictures of risk beside each other in one SVG, for a file that stands alone."""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape

from collection.compute.risk.ranking import AtRisk
from collection.output.drawings import risk_pictures, surviving_bars
from collection.output.drawings.states import PAPER
from collection.output.drawings.surviving_bars import Surviving
from collection.records.policy import RiskPolicy

_SIZE = re.compile(r'viewBox="0 0 (\d+) (\d+)"')
MOST_OBJECTS = 30
"""So many objects are drawn, those of which most is expected to be lost first."""


def pictures(
    objects: Sequence[AtRisk], surviving: Sequence[Surviving], policy: RiskPolicy, name: str = "risk"
) -> dict[str, str]:
    """The three pictures by name: `made_of`, `sure`, `surviving`.

    :param surviving: in the order in which they are drawn, cut already.
    """
    rows = risk_pictures.pictured(objects, policy)
    total = sum(len(each.threats) for each in objects)
    return {
        "made_of": risk_pictures.made_of(rows[: risk_pictures.MOST_BARS], name=f"{name}-made"),
        "sure": risk_pictures.against_uncertainty(rows, total, policy.high_from, policy.wide_from, name=f"{name}-sure"),
        "surviving": surviving_bars.draw(surviving, name=f"{name}-left"),
    }


def sheet(title: str, drawn: Sequence[str], *, name: str) -> str:
    """Drawings beside each other.

    :param name: begins the ids in it.
    """
    parts, left, height = [], 0, 0
    for svg in drawn:
        found = _SIZE.search(svg)
        assert found is not None
        parts.append(svg.replace("<svg ", f'<svg x="{left}" ', 1).rstrip("\n"))
        left, height = left + int(found[1]), max(height, int(found[2]))
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {left} {height}" width="{left}" height="{height}" '
            f'aria-labelledby="{name}-title">',
            f'<title id="{name}-title">{escape(title)}</title>',
            f'<rect width="{left}" height="{height}" fill="{PAPER}"/>',
            *parts,
            "</svg>",
            "",
        ]
    )
