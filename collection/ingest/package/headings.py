"""The headings of a sheet, matched with the columns it is declared with."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Sequence

from collection.ingest.package.faults import Faults, shortened
from collection.language.errors import Fault
from collection.records.sheets import Record

MOST_HEADINGS = 1_000
"""More than any sheet has, even with empty columns; above it, one sentence is enough."""


def plain(name: str) -> str:
    """A heading or a sheet's name as it is compared: lower case, trimmed, blanks and hyphens as `_`."""
    return re.sub(r"[\s\-]+", "_", unicodedata.normalize("NFKC", name).strip().lower())


def nearest(name: str, known: Sequence[str]) -> str | None:
    """The known name that is most like what was written."""
    close = difflib.get_close_matches(plain(name), known, n=1, cutoff=0.6)
    return close[0] if close else None


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
            faults.add(
                Fault(
                    file,
                    record.sheet,
                    row,
                    shortened(heading),
                    None,
                    f"The sheet {record.sheet} has no such column. Its columns are {', '.join(known)}.",
                    nearest(heading, known),
                )
            )
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


def count_known(record: type[Record], headings: Sequence[str]) -> int:
    """How many headings the sheet knows, which shows the right separator."""
    known = {column.name for column in record.columns()}
    return sum(plain(heading) in known for heading in headings)
