"""What moved among the threats of a collection, in words; see `compute.risk.watch`."""

from __future__ import annotations

from collection.compute.risk.magnitude import band, half_step
from collection.compute.risk.watch import TOLD, Moved, numbers
from collection.language.sentences import counted
from collection.records.policy import RiskPolicy
from collection.store.watch import Watched
from collection.values.spoken_dates import in_words

HEADS = {"new": "New", "worse": "Worse, or may be", "better": "Better", "gone": "Gone"}


def in_short(found: Watched) -> str:
    """One paragraph: how much moved, by how many changes."""
    of = numbers(found.moved)
    told = ", ".join(f"{of[what]:,} {what}" for what in TOLD if of[what])
    threats = (
        f"Threats since {when(found.since)}: {told}."
        if told
        else (f"No threat is new, worse, better or gone since {when(found.since)}.")
    )
    changes = (
        f"{counted(len(found.changes), 'change')} of the records since then."
        if found.changes
        else "Nothing was recorded since then."
    )
    first = " Nothing was recorded before, so that everything is new." if found.first else ""
    return f"{threats} {changes}{first}"


def when(since: str) -> str:
    return in_words(since) if len(since) == len("2026-05-03") else since[:16].replace("T", " ") + " UTC"


def moved_in_words(row: Moved, policy: RiskPolicy) -> str:
    """Its magnitude, or how that moved."""
    said = [
        None if look is None else f"MR {half_step(look[1].exact[1]):g}, {band(policy, look[1].exact[1])}"
        for look in (row.then, row.now)
    ]
    if row.then is None or row.now is None:
        return f"{said[1] or said[0]}"
    exact = [f"{look[1].exact[1]:.1f} ({look[1].exact[0]:.1f}–{look[1].exact[2]:.1f})" for look in (row.then, row.now)]
    return f"MR {exact[0]} → {exact[1]}, {band(policy, row.now[1].exact[1])}"
