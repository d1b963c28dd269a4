"""Codes of the sheets: which column holds a row's own code, which point to one, which are alike, and their order."""

from __future__ import annotations

import re
import unicodedata

from collection.records.sheets import BY_SHEET

CODE_COLUMN = {
    sheet: record.key[-1] if sheet == "survey" else record.key[min(1, len(record.key) - 1)]
    for sheet, record in BY_SHEET.items()
}
OWN_CODES = tuple(
    sheet
    for sheet, record in BY_SHEET.items()
    if sheet != "survey"
    and record.column(CODE_COLUMN[sheet]).kind == "code"
    and record.column(CODE_COLUMN[sheet]).reference is None
)
"""Sheets whose rows bring a code of their own: all but layers, steps, responses and conditions."""
PARENTS = {
    "objects": "part_of",
    "components": "parent",
    "zones": "within",
    "proposals": "instead_of",
    "advice": "replaced_by",
}
"""Columns that point from a thing to a thing of the same kind, and may not lead back to it."""
PLACES = ("zones", "components")
KIN = (*((sheet,) for sheet in OWN_CODES if sheet not in PLACES), ("components", "zones"))
"""Sheets that share one set of codes; parts and zones of an object do."""

PLACE, SPARED = "place", "spared"
_TARGETS = {PLACE: PLACES, SPARED: ("reserves", *PLACES)}


def sheets_of(target: str) -> tuple[str, ...]:
    """The sheets whose codes a reference may name: a place is a zone or a part; spared can be a reserve as well."""
    return _TARGETS.get(target, (target,))


def fold(code: str | None) -> str | None:
    """A code without case, blanks, width and leading zeros: two codes of one kind may not be alike in the rest."""
    if code is None:
        return None
    if not code.isascii():
        code = unicodedata.normalize("NFKC", code).casefold()
        return _LEADING.sub("", re.sub(r"\s", "", code))
    plain = code.lower().replace(" ", "")
    return _LEADING.sub("", plain) if "0" in plain else plain


_LEADING = re.compile(r"(?<![0-9])0+(?=[0-9])")


def natural(code: str) -> tuple[str, str]:
    """A sort key by which people count: S2 before S10, L-2 before L-10; S02 before S2, because no two codes tie.

    Codes whose numbers have as many digits stand in plain order.
    """
    # A longer number is larger, and its length is written in digits so that it stands among other signs as it did.
    return _NUMBER.sub(lambda number: _length(len(number[1])) + number[1], code), code


def _length(digits: int) -> str:
    """A number of digits, from 1, as text in the order of the numbers, however large."""
    nines, rest = divmod(digits - 1, 9)
    return "9" * nines + str(rest)


_NUMBER = re.compile(r"0*([0-9]+)")
