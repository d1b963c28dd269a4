"""The cells of lists from elsewhere that no column took whole, as a terminal shows them."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from collection.cli.text.assessment import wrap

if TYPE_CHECKING:
    from collection.store.base.listed_cells import ListedCell


def listed_lines(cells: list[ListedCell]) -> list[str]:
    """Each row of a list with its cells, newest first; what a cell said before stands below it."""
    if not cells:
        return ["No list brought a cell that no column took whole."]
    lines = ["CELLS OF LISTS that no column took whole, private"]
    for (where, counts), some in groupby(cells, key=lambda cell: (cell.where, cell.in_account)):
        lines.append(wrap(where if counts else f"{where}, of a survey that was withdrawn"))
        for cell in some:
            lines += _written(f"{cell.heading}: {cell.text}", "  ")
            for earlier in cell.earlier:
                lines += _written(f"before, {earlier.where}: {earlier.text}", "    ")
    return lines


def _written(text: str, indent: str) -> list[str]:
    """A text on lines that fit, its own line breaks kept."""
    first, *more = text.splitlines() or [""]
    return [wrap(first, indent), *(wrap(line, indent + "  ") for line in more if line.strip())]
