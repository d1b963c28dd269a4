"""The report and the tag of each object as files of a site."""

from __future__ import annotations

from collections.abc import Mapping
from importlib.metadata import version
from pathlib import Path

from collection import __version__
from collection.output.drawings.text import address
from collection.output.published_object import PublishedObject
from collection.output.report.object_report import report_pdf
from collection.output.site.audience import Audience
from collection.output.tag.tag import tag_pdf
from collection.output.site.published_pictures import put
from collection.store.changes.collection_row import Collection

PAPERS = "papers"
"""The folder of a site that holds them."""
KINDS = ("report", "tag")


def paper_name(code: str, kind: str) -> str:
    """The file of an object's paper, in which its code stands as in addresses."""
    return f"{address(code)}-{kind}.pdf"


def about_papers(whose: Collection, audience: Audience, site: str | None) -> dict[str, str]:
    """What every paper says beside the records: whose collection it is, for whom the paper is, which program made it.

    :param site: the address below which the object's pages stand; None for the collection's own.
    """
    said = {f"collection_{name}": text for name, text in whose.as_json().items() if text}
    return {
        **said,
        **({"collection_address": site} if site else {}),
        "audience": audience.word,
        "program": f"firstcoat {__version__}",
    }


def printed_by() -> str:
    """The version of what sets the papers: another one writes other bytes."""
    return version("typst")


def put_papers(folder: Path, published: PublishedObject, pictures: Path, about: Mapping[str, str]) -> None:
    """Writes an object's papers into a folder, each there whole or not at all."""
    put(folder / paper_name(published.code, "report"), report_pdf(published, pictures, about))
    put(folder / paper_name(published.code, "tag"), tag_pdf(published, about))
