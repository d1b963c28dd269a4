"""Kinds of records as people name them in a command: by the sheet, or by what one of its records is called."""

from __future__ import annotations

import difflib
import re
from functools import cache

from collection.language.errors import WrongCommand
from collection.language.words import SHEET_NAMES
from collection.records.sheets import BY_SHEET


def sheet_of(kind: str) -> str:
    """The sheet of a kind of record: `samples` and `sample`, `treatment step`, `part` or `components`.

    :raises WrongCommand: where there is none; the nearest is named.
    """
    kinds, written = _kinds(), _plain(kind)
    sheet = kinds.get(written)
    if sheet is None:
        near = difflib.get_close_matches(written, kinds, n=1)
        hint = f" Did you mean {near[0].replace('_', ' ')!r}?" if near else ""
        known = ", ".join(_one(each) for each in BY_SHEET)
        raise WrongCommand(f"There is no kind of record {kind!r}.{hint} The kinds are {known}.")
    return sheet


@cache
def _kinds() -> dict[str, str]:
    """Every writing of a kind with its sheet."""
    found: dict[str, str] = {}
    for sheet in BY_SHEET:
        called = _plain(SHEET_NAMES.get(sheet, sheet))
        for name in (sheet, sheet.removesuffix("s"), called, f"{called}s"):
            found.setdefault(name, sheet)
    return found


def _plain(name: str) -> str:
    return re.sub(r"[\s\-]+", "_", name.strip().lower())


def _one(sheet: str) -> str:
    """One record of a sheet, by the sheet's name."""
    return "analysis" if sheet == "analyses" else sheet.removesuffix("s").replace("_", " ")
