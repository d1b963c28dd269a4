"""Lines of pictures in a notebook, as rows: one line for all lightings of one view."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from notebook_cells import NotebookFault, Row

LIGHTS = {
    "n": ("normal", "normal light"),
    "r": ("raking", "raking light"),
    "u": ("ultraviolet fluorescence", "ultraviolet fluorescence"),
}
SECTION_PX = 128
"""Pixels over which a section's coats are spread; the scale follows from their thickness."""


def picture_rows(
    row: Row, short: str, year: str, stack: Sequence[Row], taken: Sequence[str], survey: dict[str, Any]
) -> list[Row]:
    """The rows of one line; codes count on from the one that is written, file names from what they show.

    :raises NotebookFault: for a lighting that is not n, r or u, or a section without thicknesses.
    """
    section = "sample" in row
    rows = []
    letters, number = re.fullmatch(r"(\D*)(\d+)", row["picture"]).groups()  # type: ignore[union-attr]
    for step, light in enumerate(row.pop("_lights").split()):
        if light not in LIGHTS:
            raise NotebookFault(f"{light!r} is no lighting: n, r and u are")
        lighting, spoken = LIGHTS[light]
        one = {**row, "picture": f"{letters}{int(number) + step:0{len(number)}}", "lighting": lighting}
        stem = f"pictures/{short}-{row['sample'] if section else row['place']}-{light}"
        names = [f"{stem}{ending}.png" for ending in (f"-{row['_named']}" if "_named" in row else "", f"-{year}")]
        one["file"] = next((name for name in names if name not in taken), names[-1])
        if section:
            thick = sum(float(coat.get("thickness_um") or 0) for coat in stack)
            if not thick:
                raise NotebookFault(f"{row['sample']} has no thicknesses to draw a section from")
            one["um_per_px"] = f"{round(thick / SECTION_PX, 2):g}"
            one["caption"] = f"Invented micrograph of {row['sample']}, drawn from its layers"
            one.setdefault("view", "micrograph")
            one.setdefault("stage", "other")
        else:
            one["caption"] = f"Invented picture: {row['caption']}, {spoken}"
            one.setdefault("view", "whole" if row["place"] == "all" else "detail")
            one.setdefault("stage", "before")
        one.setdefault("rights", survey["rights"])
        rows.append(one)
    return rows
