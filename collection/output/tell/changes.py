"""What changed on an object between two surveys, in a sentence."""

from __future__ import annotations

from collections import Counter
from typing import Any

from collection.compute.compare.conditions import ACTIVE, BAD, NEW, WORSE
from collection.compute.compare.finish import EXPOSED, LOST, MAY_BE_LOST, PART
from collection.language.sentences import counted

Json = dict[str, Any]


def summary(data: Json) -> str:
    """The gravest of a comparison in a sentence; empty where nothing is graver than it was."""
    finish = Counter(change["kind"] for change in data["finish"])
    finish[LOST] += sum(row["original_lost"] for row in data["conditions"])
    said = [
        f"{what} {counted(finish[kind], 'place')}"
        for kind, what in (
            (LOST, "original finish was lost at"),
            (MAY_BE_LOST, "original finish may have been lost at"),
            (EXPOSED, "original finish was laid open at"),
        )
        if finish[kind]
    ]
    if finish[PART]:
        said.append(f"{counted(finish[PART], 'part')} of the maker's went missing")
    worse = [row for row in data["conditions"] if row["kind"] in BAD and not row["original_lost"]]
    kinds = Counter(row["kind"] for row in worse)
    became = [
        f"{counted(kinds[kind], 'condition')} {verb}"
        for kind, verb in ((WORSE, "got worse"), (ACTIVE, "became active"), (NEW, "came up new"))
        if kinds[kind]
    ]
    if became:
        own = sum(row["may_be_original"] for row in worse)
        where = "in original finish" if own == len(worse) else f"{own} of them in original finish"
        said.append(f"{' and '.join(became)}{f', {where}' if own else ''}")
    if number := data["numbers"]["disagree"]:
        verb = "disagrees" if number == 1 else "disagree"
        said.append(f"{counted(number, 'sample')} {verb} with earlier ones of the same place")
    missed = sum(was_missed(seen) for work in data["predictions"] for seen in work["losses"])
    if missed:
        said.append(f"{counted(missed, 'loss', 'losses')} came without a warning")
    text = "; ".join(said)
    return f"{text[:1].upper()}{text[1:]}." if text else ""


def was_missed(seen: Json) -> bool:
    """Whether something was lost of which it would have been said that nothing happens to it."""
    return seen["found"] == "lost" and seen["came_true"] is False
