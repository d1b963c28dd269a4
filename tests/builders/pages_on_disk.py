"""Pages that stand on a disk, read as a browser without a server would: where each link leads."""

from __future__ import annotations

import posixpath
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

LINKS = ("href", "src", "xlink:href", "action", "data", "poster", "srcset")


@dataclass
class DiskPage:
    """One page: the tags with their attributes, what leads elsewhere, the marks to lead to, and its words."""

    tags: list[tuple[str, dict[str, str | None]]] = field(default_factory=list)
    links: list[str] = field(default_factory=list)
    ids: list[str] = field(default_factory=list)
    words: str = ""


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.page = DiskPage()
        self._said: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.page.tags.append((tag, dict(attrs)))
        for name, value in attrs:
            if name in LINKS and value is not None:
                self.page.links.append(value)
            elif name == "id" and value:
                self.page.ids.append(value)

    def handle_data(self, data: str) -> None:
        self._said.append(data)

    def close(self) -> None:
        super().close()
        self.page.words = " ".join("".join(self._said).split())


def read_page(file: Path) -> DiskPage:
    reader = _Reader()
    reader.feed(file.read_text("utf-8"))
    reader.close()
    return reader.page


def pages_of(folder: Path) -> dict[str, DiskPage]:
    """Every page below a folder by its path there."""
    return {path.relative_to(folder).as_posix(): read_page(path) for path in sorted(folder.rglob("*.html"))}


def dead_links(folder: Path, pages: dict[str, DiskPage]) -> Iterator[tuple[str, str]]:
    """The links that lead to no file, or to no mark in it, with their pages. Links out are none of these."""
    marks = {name: set(page.ids) for name, page in pages.items()}
    for name, page in pages.items():
        for link in set(page.links):
            parts = urlsplit(link)
            if parts.scheme or parts.netloc:
                continue
            file = (
                posixpath.normpath(posixpath.join(posixpath.dirname(name), unquote(parts.path))) if parts.path else name
            )
            there = file in marks or (folder / file).is_file()
            if not there or parts.query or (parts.fragment and unquote(parts.fragment) not in marks.get(file, ())):
                yield name, link
