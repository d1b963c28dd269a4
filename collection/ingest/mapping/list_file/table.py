"""Where the table of a list lies: its headings, its rows, and what stands above and below it.

People put a title above the headings, a second row of headings or an explanation of them below, and a remark under the
table. Each is told as what it is, with how a mapping states it, and none becomes an object.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from collection.ingest.mapping.mapping import Mapping, plain_heading
from collection.ingest.package.faults import shortened

Cells = Sequence[str]
Numbered = tuple[int, Cells]
"""A row as the person sees it numbered, and its cells."""
LOOKED_THROUGH = 30
"""Rows at the top among which the headings are looked for."""
FEWEST = 3
"""Columns, and rows, from which on a table is told from a note."""
_MOSTLY = 0.9
_SHOWN = 3


@dataclass(frozen=True, slots=True)
class Told:
    """One sentence about the table: the row that it is about, what is written there, and whether the list is refused."""

    row: int | None
    value: str | None
    message: str


@dataclass(frozen=True, slots=True)
class Table:
    """The headings, each once, the rows below them, and the remark under the table that the mapping says is there."""

    headings: tuple[str, ...]
    rows: Sequence[Numbered]
    remark: Sequence[Numbered] = ()


def find_table(rows: Sequence[Numbered], mapping: Mapping) -> Table | list[Told]:
    """The table among the rows of a list, or the sentences that say what has to be stated first, all at once."""
    written = mapping.written
    at, several = _place(rows, mapping), len(written.headings_rows or (1,))
    if at is None:
        return [Told((written.headings_rows or (1,))[0], None, "The list has no headings in this row.")]
    told: list[Told] = []
    wanted = {heading for heading, _, _ in mapping.headings()}
    headings = _names(rows, at, several)
    if not wanted <= set(headings):
        found = _elsewhere(rows, at, several, wanted)
        if found is not None:
            told.append(_above(rows, at, *found))
            at, several = found
            headings = _names(rows, at, several)
        elif not wanted & set(headings) and (title := _title_alone(rows, at)) is not None:
            return [title]
    below = rows[at + several :]
    if written.rows_below_headings is None and several == 1 and wanted <= set(headings):
        told += _second_headings(below, headings, mapping, rows[at][0])
    below = below[written.rows_below_headings or 0 :]
    remark = _remark(below, headings, mapping)
    if remark and written.remark_below is None:
        row, cells = next(each for each in remark if _filled(each[1]))
        told.append(
            Told(
                row,
                _seen(cells),
                "This seems to be a remark under the table, and no object. If it is, write remark_below = true below "
                "[list]; if it is an object, remark_below = false.",
            )
        )
    return told or Table(headings, below[: len(below) - len(remark)], remark)


def named_once(headings: Sequence[str]) -> tuple[str, ...]:
    """Headings trimmed and in Unicode NFC; blank and repeated ones told apart by their place and number."""
    found: list[str] = []
    known: set[str] = set()
    for place, heading in enumerate(headings, 1):
        plain = plain_heading(heading) or f"column {place}"
        number, name = 1, plain
        while name in known:
            number += 1
            name = f"{plain} ({number})"
        found.append(name)
        known.add(name)
    return tuple(found)


def _place(rows: Sequence[Numbered], mapping: Mapping) -> int | None:
    """Where among the rows the headings begin: as stated, or the first that is not blank."""
    stated = mapping.written.headings_rows
    for at, (number, cells) in enumerate(rows):
        if (number == stated[0] if stated else _filled(cells)) and cells:
            return at
    return None


def _names(rows: Sequence[Numbered], at: int, several: int) -> tuple[str, ...]:
    if several == 1:
        return named_once(rows[at][1])
    upper, lower = (list(rows[each][1]) if each < len(rows) else [] for each in (at, at + 1))
    width = max(len(upper), len(lower))
    upper, lower = (row + [""] * (width - len(row)) for row in (upper, lower))
    return named_once([*_joined(upper, lower)])


def _joined(upper: Cells, lower: Cells) -> Iterator[str]:
    """Two rows of headings as one; the upper one's cell stands for those to the right of it too, up to the next."""
    over = ""
    for above, below in zip(upper, lower, strict=True):
        over = plain_heading(above) or over
        name = plain_heading(below)
        yield plain_heading(above) if not name else name if name == over else f"{over} {name}"


def _elsewhere(rows: Sequence[Numbered], at: int, several: int, wanted: set[str]) -> tuple[int, int] | None:
    """Where more of the headings stand that the mapping names: in which of the rows, and in one or two."""
    best, found = len(wanted & set(_names(rows, at, several))), None
    for of in (1, 2):
        for other in range(min(len(rows) - of + 1, LOOKED_THROUGH)):
            if all(_filled(cells) for _, cells in rows[other : other + of]):
                matching = len(wanted & set(_names(rows, other, of)))
                if matching > best and matching * 2 >= len(wanted):
                    best, found = matching, (other, of)
    return found


def _above(rows: Sequence[Numbered], at: int, place: int, several: int) -> Told:
    """What the row is that was taken for the headings, and where they stand."""
    numbers = [number for number, _ in rows[place : place + several]]
    if place <= at:
        what = "The headings that the mapping names do not all stand here."
    elif _filled(rows[at][1]) == 1:
        what = "This is a title above the table, and no headings."
    else:
        what = "This row stands above the headings."
    where = f"rows {numbers[0]} and {numbers[1]}" if several == 2 else f"row {numbers[0]}"
    stated = str(numbers) if several == 2 else str(numbers[0])
    return Told(
        rows[at][0], _seen(rows[at][1]), f"{what} They stand in {where}: write headings_row = {stated} below [list]."
    )


def _title_alone(rows: Sequence[Numbered], at: int) -> Told | None:
    if _filled(rows[at][1]) != 1:
        return None
    for number, cells in rows[at + 1 : at + LOOKED_THROUGH]:
        if _filled(cells) >= FEWEST:
            return Told(
                rows[at][0],
                _seen(rows[at][1]),
                f"This row holds a single cell, so it seems to be a title above the table. If the headings stand in row "
                f"{number}, write headings_row = {number} below [list].",
            )
    return None


def _second_headings(below: Sequence[Numbered], headings: Cells, mapping: Mapping, first: int) -> list[Told]:
    """A first row in which no digit stands, although the numbers below all have one, or which counts the columns."""
    filled = [each for each in below if _filled(each[1])]
    if not filled or _filled(filled[0][1]) < min(FEWEST, len(headings)):
        return []
    row, cells = filled[0]
    if _counts_columns(cells):
        why = "it only counts the columns"
    elif _is_worded(
        cells, [cells for _, cells in filled[1:]], [headings.index(each) for each in mapping.object.headings]
    ):
        why = "no digit stands in it, and the numbers below have some"
    else:
        return []
    return [
        Told(
            row,
            _seen(cells),
            f"This seems to be a second row of headings, and no object: {why}. Write below [list] rows_below_headings = 1 "
            f"where it only explains the headings, headings_row = [{first}, {row}] where both together are the headings, "
            "or rows_below_headings = 0 where it is an object.",
        )
    ]


def _counts_columns(cells: Cells) -> bool:
    """Whether a row is 1, 2, 3 … as printed forms have it."""
    counted = [re.sub(r"[\s().\[\]]", "", cell) for cell in cells]
    return len(cells) >= FEWEST and counted == [str(place) for place in range(1, len(cells) + 1)]


def _is_worded(cells: Cells, others: Sequence[Cells], places: Sequence[int]) -> bool:
    """Whether a row holds no digit, and the objects' numbers of the others, at these places, nearly all do."""

    def number_of(cells: Cells) -> str:
        return "".join(cells[place] for place in places if place < len(cells)).strip()

    numbers = [number for each in others if _filled(each) > 1 and (number := number_of(each))]
    with_digits = sum(any(sign.isdigit() for sign in number) for number in numbers)
    return (
        len(numbers) >= FEWEST
        and with_digits >= _MOSTLY * len(numbers)
        and bool(number_of(cells))
        and not any(sign.isdigit() for cell in cells for sign in cell)
    )


def _remark(below: Sequence[Numbered], headings: Cells, mapping: Mapping) -> Sequence[Numbered]:
    """The rows at the end in which a single cell is filled, where they read like a remark or the mapping says so."""
    if mapping.written.remark_below is False or len(headings) < FEWEST:
        return ()
    start = len(below)
    while start and _filled(below[start - 1][1]) < 2:
        start -= 1
    found = [each for each in below[start:] if _filled(each[1])]
    if (
        start == 0
        or not found
        or (mapping.written.remark_below is None and not all(_reads(cells) for _, cells in found))
    ):
        return ()
    return below[start:]


def _reads(cells: Cells) -> bool:
    """Whether the only cell of a row reads like a sentence or a note, as no number of an object does."""
    text = next(cell.strip() for cell in cells if cell.strip())
    words = text.split()
    return len(words) >= FEWEST or not any(sign.isdigit() for sign in words[0])


def _filled(cells: Cells) -> int:
    return sum(bool(cell.strip()) for cell in cells)


def _seen(cells: Cells) -> str:
    return shortened(", ".join([plain for cell in cells if (plain := plain_heading(cell))][:_SHOWN]))
