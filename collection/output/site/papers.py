"""The report and the tag of each object as files of a site."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from importlib.metadata import version
from pathlib import Path

from collection.output.drawings.text import address
from collection.output.published.published_object import PublishedObject
from collection.output.published.published_pictures import put
from collection.output.report.object_report import report_pdf
from collection.output.tag.printed import tag_pdf

PAPERS = "papers"
"""The folder of a site that holds them."""
KINDS = ("report", "tag")


LONGEST = 60


def paper_name(code: str, kind: str) -> str:
    """The file of an object's paper, in which its code stands as in addresses; of a long one its beginning, and a part of
    its SHA-256."""
    written = address(code)
    if len(written) > LONGEST:
        written = f"{written[:LONGEST]}--{hashlib.sha256(written.encode()).hexdigest()[:10]}"
    return f"{written}-{kind}.pdf"


def printed_by() -> str:
    """The version of what sets the papers: another one writes other bytes."""
    return version("typst")


def put_papers(
    folder: Path, published: PublishedObject, to_all: PublishedObject, pictures: Path, about: Mapping[str, str]
) -> None:
    """Writes an object's papers into a folder, each there whole or not at all.

    :param to_all: the object as its tag tells it to whoever stands before it.
    """
    put(folder / paper_name(published.code, "report"), report_pdf(published, pictures, about))
    put(folder / paper_name(published.code, "tag"), tag_pdf(to_all, about, pictures=pictures))
