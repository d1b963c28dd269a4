"""What a report says, section by section, as a reader finds it: by its headings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from collection.output.published.audience import Audience
from collection.output.report.about import about_papers
from collection.output.report.object_report import report_told
from collection.output.site.computed_objects import told_object
from collection.store.base.database import opened

TITLE = "title"
"""Stands for what comes before the first heading."""
_SILENT = frozenset({"block", "svg", "picture", "name", "record", "kind", "place"})


def texts_of(value: Any) -> Iterator[str]:
    """Every text that is read in a block, its alternative texts too."""
    if isinstance(value, str) and value:
        yield value
    elif isinstance(value, Mapping):
        for name, each in value.items():
            if name not in _SILENT:
                yield from texts_of(each)
    elif isinstance(value, (list, tuple)):
        for each in value:
            yield from texts_of(each)


def sections_of(told: Mapping[str, Any]) -> dict[str, str]:
    """The text of each section by its heading, the smaller headings within it."""
    found = {
        TITLE: "\n".join(texts_of([told["title"], told["under"], told["invented"], told["facts"], told["portrait"]]))
    }
    now = TITLE
    for block in told["blocks"]:
        if block["block"] == "heading" and block["level"] == 1:
            now = block["text"]
            assert now not in found, now
            found[now] = ""
            continue
        found[now] += "\n".join(texts_of(block)) + "\n"
    return found


def told_of(db: Path, code: str, audience: Audience, folder: Path) -> dict[str, Any]:
    """The report of an object of a database, as plain data."""
    with opened(db, write=False) as connection:
        return report_told(told_object(connection, db, code, audience, folder), about_papers(connection, audience))
