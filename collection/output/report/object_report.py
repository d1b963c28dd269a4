"""The report of one object for its file: everything that is known of it, on paper, to be signed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from collection.output.published.published_object import PublishedObject
from collection.output.tell import object_evidence, object_survival, object_work
from collection.output.tell.blocks import Block, Grid, Points, Sentence, as_data
from collection.output.tell.explained import words_used
from collection.output.tell.pdf import pdf
from collection.values.spoken_dates import in_words

TEMPLATE = "report/report.typ"
MOST_ROWS = 40
"""So many rows of a table, or items of a list, stand on paper."""
SECTIONS: tuple[Callable[[PublishedObject], list[Block]], ...] = (
    object_survival.survives,
    object_survival.advice,
    object_survival.drawings,
    object_survival.finishes,
    object_evidence.sections,
    object_evidence.tests,
    object_survival.parts,
    object_evidence.conditions,
    object_evidence.pictures,
    object_work.life,
    object_work.treatments,
    object_work.claims,
    object_work.hazards,
    object_survival.threats,
    object_work.proposals,
    object_work.reserves,
    object_work.sources,
    object_work.missing,
    object_survival.certainty,
)
"""The sections in their order. One without records gives nothing, and is named in `missing`; tests always speak."""


def report_pdf(published: PublishedObject, pictures: Path, about: Mapping[str, str]) -> bytes:
    """The report as PDF/A-2a and PDF/UA-1; the same records give the same bytes.

    :param pictures: the folder with the published pictures.
    :param about: whose collection it is and for whom the report: `collection_name`, `collection_contact`,
        `collection_address`, `collection_licence`, `audience`, `program`.
    :raises CouldNot: where the extra `report` is not installed.
    """
    return pdf(TEMPLATE, report_told(published, about), day=published["changed_on"], pictures=pictures)


def report_told(published: PublishedObject, about: Mapping[str, str]) -> dict[str, Any]:
    """The report as plain data."""
    blocks = [short for section in SECTIONS for block in section(published) for short in shortened(block)]
    blocks += words_used(blocks)
    blocks += object_work.signature(published, about)
    portrait = object_survival.portrait_of(published)
    day = in_words(published["changed_on"])
    return {
        **paper(about, f"{published.code} {published.title}", day),
        "title": published.title,
        "under": f"Report on the original finish of {published.code}",
        "invented": object_survival.invented(published),
        "facts": as_data([object_survival.facts(published, about)])[0],
        "portrait": asdict(portrait) if portrait else None,
        "blocks": as_data(blocks),
    }


def shortened(block: Block) -> Iterator[Block]:
    """A block as it stands on paper: a long table or list is cut, which is said; the records have the rest."""
    if isinstance(block, Grid) and len(block.rows) > MOST_ROWS:
        yield replace(block, rows=block.rows[:MOST_ROWS])
    elif isinstance(block, Points) and len(block.items) > MOST_ROWS:
        yield replace(block, items=block.items[:MOST_ROWS])
    else:
        yield block
        return
    whole = len(block.rows) if isinstance(block, Grid) else len(block.items)
    yield Sentence(f"{whole - MOST_ROWS} more are in the collection’s records, which have all {whole}.", "aside")


def paper(about: Mapping[str, str], running: str, day: str) -> dict[str, str]:
    """What stands at the head and the foot of every page."""
    whose = about.get("collection_name", "")
    staff = "For staff only" if about.get("audience") == "staff" else ""
    licence = about.get("collection_licence", "") if not staff else ""
    return {
        "author": whose,
        "running": cut(running, 90),
        "made": f"Records as of {day}" if day else "No day recorded",
        "foot": cut(". ".join(part for part in (staff, whose, licence, about.get("program", "")) if part), 110),
    }


def cut(text: str, most: int) -> str:
    """A text for a line at the edge of a page."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"
