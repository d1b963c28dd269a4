"""Comments on the cells of a sheet, as a person reads them: notes, and threads with their answers.

A sheet names the parts that hold them (ECMA-376 Part 1, 18.7, for notes; [MS-XLSX] 2.6.205 for threads, from memory).
The library's own reader of comments takes a workbook apart for one bad reference, and knows no threads.
"""

from __future__ import annotations

import posixpath
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from openpyxl.packaging.relationship import get_dependents, get_rels_path
from openpyxl.utils.cell import coordinate_to_tuple
from openpyxl.utils.escape import unescape
from openpyxl.xml.constants import SHEET_MAIN_NS

from collection.ingest.package.workbook.book import LAST_COLUMN, LAST_ROW
from collection.ingest.package.workbook.checked_parts import (
    DAMAGED,
    LARGEST_PART,
    Broken,
    CheckedParts,
    pieces,
    reading,
)

_MAIN = f"{{{SHEET_MAIN_NS}}}"
_THREADS = "{http://schemas.microsoft.com/office/spreadsheetml/2018/threadedcomments}"
_COPY_OF_THREAD = "tc="
"""With this the author of a note begins that only repeats a thread, for programs that know none."""


@dataclass(frozen=True, slots=True)
class Comment:
    """One cell's comment, row and column from 1; a thread is one, its answers after each other."""

    row: int
    column: int
    author: str
    text: str


def comments_of(parts: CheckedParts, sheet: str) -> list[Comment]:
    """The comments of a sheet, by its part, in the order of rows and columns.

    :raises Broken: where a part cannot be read.
    """
    links = get_rels_path(sheet)
    if links not in parts.NameToInfo:
        return []
    parts.check(links, largest=LARGEST_PART, whole=True)
    with reading(), warnings.catch_warnings():
        # The library only warns of links that it cannot read, and the comments would be left out unseen.
        warnings.simplefilter("error")
        related = {
            (posixpath.basename(link.Type), link.target)
            for link in get_dependents(parts, links)
            if link.TargetMode != "External"
        }
    threads = [found for kind, part in sorted(related) if kind == "threadedComment" for found in _threads(parts, part)]
    notes = [found for kind, part in sorted(related) if kind == "comments" for found in _notes(parts, part)]
    answered: dict[tuple[int, int], list[str]] = {}
    for row, column, text in threads:
        answered.setdefault((row, column), []).append(text)
    found = [Comment(row, column, "", " / ".join(texts)) for (row, column), texts in answered.items()]
    for note in notes:
        if not note.author.startswith(_COPY_OF_THREAD):
            found.append(note)
        elif (note.row, note.column) not in answered:
            # Two paragraphs that explain what a thread is stand before its text.
            found.append(Comment(note.row, note.column, note.author, note.text.split("\n\n", 2)[-1]))
    return sorted(found, key=lambda each: (each.row, each.column))


def _notes(parts: CheckedParts, part: str) -> Iterator[Comment]:
    authors: list[str] = []
    for element in _elements(parts, part, f"{_MAIN}comment", 3):
        if element.tag == f"{_MAIN}author":
            authors.append(element.text or "")
        elif element.tag == f"{_MAIN}comment":
            row, column = _spot(element)
            with reading():
                author = int(element.get("authorId", "0"))
            text = "".join(each.text or "" for each in element.iter(f"{_MAIN}t"))
            yield Comment(row, column, authors[author] if 0 <= author < len(authors) else "", _plain(text))


def _threads(parts: CheckedParts, part: str) -> Iterator[tuple[int, int, str]]:
    for element in _elements(parts, part, f"{_THREADS}threadedComment", 2):
        if element.tag == f"{_THREADS}threadedComment":
            yield *_spot(element), _plain(element.findtext(f"{_THREADS}text", ""))


def _elements(parts: CheckedParts, part: str, tag: str, depth: int) -> Iterator[Element]:
    parts.check(part, largest=LARGEST_PART)
    with reading():
        file = parts.open(part)
    with file:
        found = pieces(file, tag, depth)
        while True:
            with reading():
                element = next(found, None)
            if element is None:
                return
            yield element


def _spot(element: Element) -> tuple[int, int]:
    with reading():
        row, column = coordinate_to_tuple(element.get("ref", ""))
    if not (0 < row <= LAST_ROW and 0 < column <= LAST_COLUMN):
        raise Broken(DAMAGED)
    return row, column


def _plain(text: str) -> str:
    return str(unescape(text.replace("\r\n", "\n"))).strip()
