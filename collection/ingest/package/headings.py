"""The headings of a sheet, matched with the columns it is declared with; and the notes that a blank survey has on them,
known again when it comes back, so that nobody is warned of them."""

from __future__ import annotations

import difflib
import hashlib
import itertools
import re
import unicodedata
from collections.abc import Collection, Iterable, Sequence

from collection.ingest.package.faults import Faults, shortened
from collection.language.errors import Fault
from collection.records.cells import is_clearing
from collection.records.sheets import BY_SHEET, SHEETS, Record

MOST_HEADINGS = 1_000
"""More than any sheet has, even with empty columns; above it, one sentence is enough."""


def plain(name: str) -> str:
    """A heading or a sheet's name as it is compared: lower case, trimmed, blanks and hyphens as `_`."""
    return re.sub(r"[\s\-]+", "_", unicodedata.normalize("NFKC", name).strip().lower())


def nearest(name: str, known: Sequence[str], alike: float = 0.6) -> str | None:
    """The known name that is most like what was written; `alike` is the least share of equal letters."""
    close = difflib.get_close_matches(plain(name), known, n=1, cutoff=alike)
    return close[0] if close else None


def nearest_sheet(name: str) -> str | None:
    """The sheet that a name stands for with something added, as `Layers (final)` and `layers 2` do, or is most like."""
    words = plain(name)
    held = [sheet for sheet in BY_SHEET if re.search(rf"(?<![a-z]){sheet.removesuffix('s')}s?(?![a-z])", words)]
    return max(held, key=len) if held else nearest(name, [*BY_SHEET], 0.7)


MOST_TITLES = 10
"""Rows that may stand above the headings where they are looked for."""
_FEWEST_HEADINGS = 2


def headings_below(known: Collection[str], rows: Iterable[tuple[int, Sequence[str]]]) -> int | None:
    """The row of the headings where titles stand above them; None where the first row is as good as any.

    :param known: the headings that are expected, as `plain` gives them.
    :param rows: the first rows that are not blank, each with its number, from the one that should hold the headings.
    """
    counted = [(number, sum(plain(cell) in known for cell in cells)) for number, cells in rows]
    if not counted:
        return None
    most = max(counted[1:], key=lambda each: each[1], default=counted[0])
    return most[0] if most[1] >= _FEWEST_HEADINGS and most[1] > 2 * counted[0][1] else None


def title_above(first: int, headings: int) -> str:
    """The sentence for titles that stand from row `first` to above the headings."""
    rows = f"Row {first} looks" if headings == first + 1 else f"Rows {first} to {headings - 1} look"
    above = "the row" if headings == first + 1 else "the rows"
    return f"{rows} like a title: the headings seem to stand in row {headings}. Delete {above} above them."


REPEATED = "This row repeats the headings. Delete it: a sheet has one row of headings, and records below it."


def no_record(record: type[Record], columns: Sequence[str | None], cells: Sequence[str], *, first: bool) -> str | None:
    """The sentence for a row that is no record: headings once more, or a remark; None for any other.

    :param first: whether the row stands right below the headings.
    """
    filled = [
        (name, cell.strip())
        for name, cell in itertools.zip_longest(columns, cells, fillvalue="")
        if (cell or "").strip()
    ]
    if len(filled) > 1 and all(plain(cell) == name for name, cell in filled):
        return REPEATED
    required = [column.name for column in record.columns() if column.required and column.name in columns]
    if len(filled) == 1 and len(required) > 1 and re.search(r"\s|:$", filled[0][1]):
        return (
            "Only this cell of the row is filled, so it looks like a title or a remark and not like a record. Delete the "
            "row: a remark on one record goes into its notes, one on the whole survey into the survey's method or scope."
        )
    measured = {column.name for column in record.columns() if column.is_number or column.kind == "date"}
    if (
        first
        and len(filled) > 1
        and any(name in measured and any(map(str.isalpha, cell)) and not is_clearing(cell) for name, cell in filled)
        and not any(sign.isdigit() for _, cell in filled for sign in cell)
    ):
        return (
            "This row looks like a second row of headings, because words stand where numbers or dates belong. Delete "
            "it: a sheet has one row of headings, and the unit of a column stands in its name."
        )
    return None


def match_headings(
    record: type[Record], file: str, rows: int | Sequence[int | None], headings: Sequence[str], faults: Faults
) -> tuple[str | None, ...]:
    """The column each heading stands for; None where the column is not read.

    `rows` is the row of the headings, or the row of each where they stand below each other. Unknown, repeated
    and missing headings become faults; a blank one is allowed over blank cells.
    """
    known = [column.name for column in record.columns()]
    if len(headings) > MOST_HEADINGS:
        faults.add(
            Fault(
                file,
                record.sheet,
                rows if isinstance(rows, int) else None,
                None,
                None,
                f"The sheet has {len(headings):,} columns, and {record.sheet} knows {len(known)}. Delete the "
                "columns to the right of the last heading, and look for lines that have run together.",
            )
        )
        return (None,) * len(headings)
    found: list[str | None] = []
    for place, heading in enumerate(headings):
        name = plain(heading)
        row = rows if isinstance(rows, int) else rows[place]
        if not name:
            found.append(None)
            continue
        if name not in known:
            faults.add(Fault(file, record.sheet, row, shortened(heading), None, *_no_column(record, heading, known)))
            found.append(None)
        elif name in found:
            faults.add(
                Fault(file, record.sheet, row, name, None, "This heading appears twice; keep one of the two columns.")
            )
            found.append(None)
        else:
            found.append(name)
    for column in record.columns():
        if column.required and column.name not in found:
            faults.add(
                Fault(
                    file,
                    record.sheet,
                    rows if isinstance(rows, int) else None,
                    column.name,
                    None,
                    f"This column is missing; every row of {record.sheet} needs it ({column.meaning}).",
                )
            )
    return tuple(found)


_SHARED = frozenset({"object", "source", "audience", "notes"})


def _no_column(record: type[Record], heading: str, known: Sequence[str]) -> tuple[str, str | None]:
    """The sentence for a heading that the sheet does not know, and the nearest one that it does."""
    name = plain(heading)
    others = [other.sheet for other in SHEETS if name not in _SHARED and name in (c.name for c in other.columns())]
    start = f"The sheet {record.sheet} has no such column"
    notes = " or write it into notes" if "notes" in known else ""
    if others:
        more = " and others" if len(others) > _MOST_OTHERS else ""
        of = f"{'sheets' if len(others) > 1 else 'sheet'} {', '.join(others[:_MOST_OTHERS])}{more}"
        return f"{start}: {name} belongs to the {of}. Move it there,{notes or ' or delete it'}.", None
    goes = " What has no column goes into notes; a list with columns of its own comes in by --map." if notes else ""
    return f"{start}. Its columns are {', '.join(known)}.{goes}", nearest(heading, known)


_MOST_OTHERS = 3


def count_known(record: type[Record], headings: Sequence[str]) -> int:
    """How many headings the sheet knows, which shows the right separator."""
    known = {column.name for column in record.columns()}
    return sum(plain(heading) in known for heading in headings)


_AUTHOR = "firstcoat"
_FORM = re.compile(r"(?:Required|Optional): .+\nWrite .+(?:\n.+)*?\nExample: .*")
"""Such a note, where its author does not sign it: as it was written before notes were signed, or by a program that
keeps no authors."""


def signed(note: str) -> str:
    """The author that a blank survey gives a note. It holds a checksum of the text, so that what somebody writes into
    the note later shows."""
    return f"{_AUTHOR} {hashlib.sha256(' '.join(note.split()).encode()).hexdigest()[:8]}"


def written_since(author: str, note: str) -> str:
    """What a person wrote into a note on a heading; blank where it is as the blank survey had it."""
    if author == signed(note):
        return ""
    form = _FORM.match(note)
    added = note[form.end() :].strip() if form else note
    return added or (note if author.startswith(f"{_AUTHOR} ") else "")
