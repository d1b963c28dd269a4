"""Warnings that are kept with the record: it is stored, but somebody should look again.

The bounds are those of the design: an area that differs from its outline by over a fifth, a thickness outside
its minimum and maximum, a sample outside the outline of its zone.
"""

from __future__ import annotations

import calendar
import difflib
import re
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache

from collection.ingest.package.faults import shortened
from collection.ingest.package.sheets import Sheet
from collection.language.errors import BadValue, Fault
from collection.language.word_list import WordList
from collection.records.cells import points
from collection.store.stage import warnings as questions
from collection.store.stage.checks import Against
from collection.store.stage.stage import Stage
from collection.values import agents, reference

LARGEST_DIFFERENCE = 0.2
"""Share of a stated area by which its outline may differ before somebody should look again."""

Corners = tuple[tuple[float, float], ...]


def find_doubts(stage: Stage, sheets: Mapping[str, Sheet], against: Against) -> Iterator[tuple[Fault, int]]:
    """Every warning with the number of the row that it belongs to."""

    def doubt(
        sheet: str, row: int, column: str, value: object, message: str, near: str | None = None
    ) -> tuple[Fault, int]:
        held = sheets[sheet]
        shown = f"{value:g}" if isinstance(value, float) else str(value)
        return Fault(held.file, sheet, held.row_of(row, column), column, shown, message, near), row

    for row, middle, low, high in questions.thickness_outside(stage):
        yield doubt(
            "layers",
            row,
            "thickness_um",
            middle,
            f"This thickness is outside the minimum and maximum given beside it ({_span(low, high)} µm).",
        )
    for row, position, from_surface in questions.supports_outside(stage, against):
        ends = ("surface", "support") if from_surface else ("support", "surface")
        yield doubt(
            "layers",
            row,
            "position",
            position,
            f"The support lies over other coats of this sample, whose "
            f"positions count from the {ends[0]}. Number them the other way round, or write {ends[1]} under "
            "counted_from in samples.",
        )
    for sheet, row, column, text in questions.texts_of_nothing(stage):
        yield doubt(sheet, row, column, text, "This says nothing, and is kept as a text. Empty the cell.")
    for sheet, row, stated, outline, mm_per_unit in questions.outlined_areas(stage, against):
        drawn = area(_corners(outline)) * (mm_per_unit / 1000) ** 2
        if abs(drawn - stated) > LARGEST_DIFFERENCE * stated:
            yield doubt(
                sheet,
                row,
                "area_m2",
                stated,
                f"The outline encloses {drawn:.3g} m² by the scale of its drawing, which differs by over a "
                "fifth. One of area, outline and mm_per_unit is wrong, or the surface is not flat.",
            )
    for row, worked, place, whole in questions.opened_parts(stage, against):
        yield doubt(
            "treatment_steps",
            row,
            "place",
            place,
            f"{worked:g} m² of the {whole:g} m² of {place} were opened. Give the window a zone of its own "
            f"within {place}, with its area, so that what it showed and what it took stay with it.",
        )
    for row, place, x, y, outline in questions.placed_samples(stage, against):
        if not encloses(_corners(outline), x, y):
            yield doubt("samples", row, "place", place, f"The point {x:g},{y:g} lies outside the outline of this zone.")
    for sheet, row, column, text in questions.staged_agents(stage):
        for message in _agent_doubts(text):
            yield doubt(sheet, row, column, text, message)
    for sheet, row, column, text in questions.months_of_years(stage):
        if (years := years_instead(text)) is not None:
            month = f"{calendar.month_name[int(text[5:7])]} {text[:4]}"
            yield doubt(
                sheet,
                row,
                column,
                text,
                f"This was read as {month}, which is what it says in EDTF (ISO 8601-2). For the years "
                f"{years.replace('/', ' to ')} write {years}.",
            )
    for sheet, row, column, text, words in questions.open_words(stage):
        yield doubt(
            sheet,
            row,
            column,
            text,
            f"This is not in the list for {words.name}, so searches for a word of "
            "the list will not find it. It is kept as written.",
            _nearest_word(words, text),
        )
    computed = {name for name, sheet in sheets.items() if sheet.traits.formulas}
    for sheet, row, column, text in questions.formula_texts(stage, computed):
        yield doubt(
            sheet,
            row,
            column,
            shortened(text),
            "This begins like a formula. It is kept as the text that it "
            "is; a spreadsheet that opens it again may compute it, so begin it with a word.",
        )


_MONTH = re.compile(r"(?P<century>[0-9]{2})(?P<year>[0-9]{2})-(?P<month>0[1-9]|1[0-2])[?~%]?")


def years_instead(text: str) -> str | None:
    """The years that a month may have been meant for: `1910-12` is December 1910, and on a list often 1910 to 1912.

    The standard knows one reading: `1985-04` is a month and `1964/2008` an interval (EDTF, level 0, the profile of ISO
    8601-2:2019). So the month is what is stored and computed with, and a person is asked. None where the figures after
    the dash are no later year.
    """
    found = _MONTH.fullmatch(text)
    if found is None or found["month"] <= found["year"]:
        return None
    return f"{found['century']}{found['year']}/{found['century']}{found['month']}"


def area(corners: Iterable[tuple[float, float]]) -> float:
    """The area that a polygon encloses, in its own units squared (Gauss's area formula)."""
    ring = list(corners)
    following = ring[1:] + ring[:1]
    return abs(sum(x * v - u * y for (x, y), (u, v) in zip(ring, following, strict=True))) / 2


def encloses(corners: Iterable[tuple[float, float]], x: float, y: float) -> bool:
    """Whether a point lies in a polygon or on its edge: an even-odd count of the edges to its right."""
    ring = list(corners)
    inside = False
    for (ax, ay), (bx, by) in zip(ring, ring[1:] + ring[:1], strict=True):
        cross = (bx - ax) * (y - ay) - (by - ay) * (x - ax)
        if cross == 0 and min(ax, bx) <= x <= max(ax, bx) and min(ay, by) <= y <= max(ay, by):
            return True
        if (ay > y) != (by > y) and (cross > 0) == (by > ay):
            inside = not inside
    return inside


@lru_cache(maxsize=4096)
def _corners(outline: str) -> Corners:
    return tuple(points(outline))


@lru_cache(maxsize=4096)
def _agent_doubts(text: str) -> tuple[str, ...]:
    solvents = reference.packaged().solvents
    try:
        return agents.warnings(agents.parse(text, solvents), solvents)
    except BadValue:
        # Such a cell is a fault already, and is staged blank.
        return ()


@lru_cache(maxsize=4096)
def _nearest_word(words: WordList, text: str) -> str | None:
    near = words.nearest(text)
    if near is not None:
        return near
    close = difflib.get_close_matches(text.casefold(), words.words, n=1, cutoff=0.4)
    return close[0] if close else None


def _span(low: float | None, high: float | None) -> str:
    if low is None:
        return f"at most {high:g}"
    return f"at least {low:g}" if high is None else f"{low:g} to {high:g}"
