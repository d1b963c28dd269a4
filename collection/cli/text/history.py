"""Who changed what on an object, when and why, as sentences."""

from __future__ import annotations

from collection.cli.text.assessment import wrap
from collection.language.sentences import ended
from collection.store.changes.history import Change

LISTED = 12
"""Sentences of one change that are shown before the rest is counted."""


def history_lines(changes: list[Change], *, everything: bool = False) -> list[str]:
    """Each change with what it did, oldest first."""
    lines = []
    for change in changes:
        lines.append(wrap(f"{change.at[:10]}  {change.action} by {change.by}: {change.why}"))
        shown = change.sentences if everything else change.sentences[:LISTED]
        lines += [wrap(ended(sentence), "  ") for sentence in shown]
        if len(shown) < len(change.sentences):
            lines.append(f"  … and {len(change.sentences) - len(shown)} more; --all")
    return "\n".join(lines).splitlines()
