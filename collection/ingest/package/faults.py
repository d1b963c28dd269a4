"""Collects everything wrong with a package, so that the surveyor gets it in one report."""

from __future__ import annotations

import re
from collections.abc import Mapping

from collection.ingest.package.characters import visible
from collection.language.errors import Fault, InputRefused
from collection.store.base.withdrawals import Withdrawal
from collection.store.stage.stage import Stage

LISTED = 10_000
"""Faults that one report lists; it counts all of them."""

_AT_ONCE = 500
_LONGEST_SHOWN = 120


class Faults:
    """Counts all faults; they are kept in the stage, so that a million of them do no harm."""

    def __init__(self, stage: Stage) -> None:
        self.count = 0
        self._stage = stage
        self._waiting: list[Fault] = []

    def add(self, fault: Fault) -> None:
        self.count += 1
        self._waiting.append(fault)
        if len(self._waiting) >= _AT_ONCE:
            self._put_down()

    def refuse(self) -> None:
        """:raises InputRefused: when anything was added; it lists the first `LISTED` in reading order."""
        if self.count:
            self._put_down()
            raise InputRefused(self._stage.listed_faults(LISTED), self.count)

    def _put_down(self) -> None:
        self._stage.add_faults(self._waiting)
        self._waiting = []


def shortened(value: str) -> str:
    """A value as a message shows it: on one line, not endless, nothing in it that cannot be seen."""
    start = re.sub(r"\s+", " ", value[: 2 * _LONGEST_SHOWN])
    return visible(start if len(start) <= _LONGEST_SHOWN else start[:_LONGEST_SHOWN] + "…")


SAVE_AS_UTF8 = (
    "Save the sheet again as CSV with the character set UTF-8; spreadsheets offer this in the dialogue "
    "that saves, as “CSV UTF-8” or as “character set”."
)

BROKEN_QUOTES: Mapping[str, str] = {
    "unexpected end of data": "A quotation mark is opened here and never closed, so the rest of the file was "
    "not read. Close it, or write it twice where it is part of the text.",
    "expected after": "Text follows a closing quotation mark, so the rest of the file was not read. A "
    "quotation mark inside a cell is written twice.",
    "field larger than field limit": "A cell here is longer than any text may be (20,000 characters), so the "
    "rest of the file was not read. Often a quotation mark is not closed.",
}
"""What the csv module says, and what that means for the person who has to correct the file."""


def broken(error: str) -> str:
    """A sentence for what the csv module found wrong."""
    for cause, meaning in BROKEN_QUOTES.items():
        if cause in error:
            return meaning
    return f"The rest of the file was not read, because this row is not valid CSV ({error})."


def missing(target: str, row_object: str | None) -> str:
    """A code that points to nothing in account."""
    if target == "layers":
        return (
            f"No layer of {row_object} stands at this position of the sample, neither in the package nor in the "
            "database. Correct the position, or add the coat to layers."
        )
    of = f" of {row_object}" if row_object else ""
    what = {"place": "No zone or part", "spared": "No reserve, zone or part", "objects": "No object"}.get(
        target, f"Nothing in {target}"
    )
    return (
        f"{what}{of} has this code, neither in the package nor in the database. Add it to its sheet, or "
        "correct the code."
    )


def withdrawn(target: str, by: Withdrawal | None) -> str:
    """A code that points to a record taken out of account; `by` is what took it out, where that is known."""
    if by is None:
        return (
            f"The record in {target} with this code was withdrawn. Point to one that is in account, or have "
            "it reinstated first."
        )
    return f"{by.sentence()} Until then nothing can point to it: name another."
