"""What is new or worse since a date, as a terminal shows it."""

from __future__ import annotations

from collection.cli.text.assessment import wrap
from collection.compute.risk.watch import TOLD, Moved
from collection.output.tell.watched import HEADS, in_short, moved_in_words
from collection.records.policy import RiskPolicy
from collection.store.watch import Watched


def of_changes(found: Watched, policy: RiskPolicy, most: int) -> list[str]:
    """What moved, the new first, each of the four cut at `most`."""
    lines = [wrap(in_short(found))]
    for what in TOLD:
        rows = [row for row in found.moved if row.what == what]
        if rows:
            lines += ["", f"{HEADS[what]} ({len(rows):,})"]
            for row in rows[:most]:
                lines += _row(row, policy)
            if len(rows) > most:
                lines.append(f"  … and {len(rows) - most:,} more; --most {len(rows)} lists all.")
    return lines


def _row(row: Moved, policy: RiskPolicy) -> list[str]:
    threat, _ = row.shown
    place = f" at {threat.place}" if threat.place else ""
    records = ", ".join(f"{sheet} {key}" for sheet, key in threat.evidence)
    return [
        wrap(f"{row.object}{place}: {threat.kind}, {moved_in_words(row, policy)}", "  "),
        wrap(f"{row.title}. {threat.message}" + (f" [{records}]" if records else ""), "     "),
    ]
