"""The site as files: pages that open from a disk, without a server, without script and without any other host.

They are the pages of the published view, asked in this process and told to leave out their forms, each with its links
made to lead from file to file. Object by object they are written as they come; nothing but the codes is kept.
"""

from __future__ import annotations

import asyncio
import gc
import json
import shutil
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Any

from datasette.utils import tilde_decode, tilde_encode

from collection.language.errors import CouldNot
from collection.output.archive.static_links import CALENDAR, SECTIONS, Links, OneObject, Places, anchors
from collection.output.manual import TOPICS
from collection.output.site.papers import KINDS, PAPERS, paper_name
from collection.output.site.serve import make_datasette

Json = dict[str, Any]
HowFar = Callable[[int, int], None]

PICTURES, STYLE = "pictures", "style"
STYLES_AT = "/-/static-plugins/firstcoat"
CLEARED_EVERY = 20
"""Objects after which memory is cleared; it takes some 30 ms."""
LISTS = ("number", "name", "kind", "maker", "state")
_ASKED = {"accept-encoding": "identity"}


@dataclass(frozen=True)
class PagesReport:
    """What was written: how many pages, how many files with pictures and data, how many bytes in all.

    :ivar longest: the longest path below the folder, in signs.
    """

    pages: int
    files: int
    bytes: int
    longest: int


def write_pages(published: Path, out: Path, *, name: str, day: str, progress: HowFar | None = None) -> PagesReport:
    """Write the pages of a published folder into a new folder; `index.html` is where a reader begins.

    A page leads to `../papers/CODE-report.pdf` and `…-tag.pdf` where the folder `papers`, in the published folder or beside
    it, holds that file.

    :param name: what the archive is called; with `day`, when it was made (EDTF), it stands on every page.
    :param progress: told how many of how many objects are written.
    :raises CouldNot: when the folder is not a published site, or a page of it cannot be made.
    :raises OSError: when the pages cannot be written.
    """
    found = [folder for folder in (published / PAPERS, published.parent / PAPERS) if any(folder.glob("*.pdf"))]
    copied = {"name": name, "day": day, **({"papers": str(found[0].resolve())} if found else {})}
    out.mkdir()
    return asyncio.run(_Copy(published, out, copied, progress or (lambda done, whole: None)).written())


class _Copy:
    """One copy while it is made."""

    def __init__(self, published: Path, out: Path, copied: dict[str, str], progress: HowFar) -> None:
        self._datasette = make_datasette(published, threads=0, copied=copied)
        self._pictures, self._out, self._progress = published / "pictures", out, progress
        self._papers = Path(copied["papers"]) if "papers" in copied else None
        self._places = Places()
        self._links = Links(self._places, self._picture, self._style)
        self._styles: set[str] = set()
        self._pages = self._files = self._bytes = self._longest = 0

    async def written(self) -> PagesReport:
        try:
            await self._datasette.invoke_startup()
            whole = await self._named()
            await self._about_the_collection()
            done = 0
            async for codes in self._codes():
                for code in codes:
                    await self._object(code)
                    done += 1
                    self._progress(done, whole)
                    if done % CLEARED_EVERY == 0:
                        # What a page was made from holds itself in rings, of which Python alone lets too many stand.
                        gc.collect()
            # Last, because only pages tell which styles they use.
            for file in sorted(self._styles):
                self._put(f"{STYLE}/{file}", await self._asked(f"{STYLES_AT}/{file}"))
        finally:
            for database in self._datasette.databases.values():
                database.close()
        return PagesReport(self._pages, self._files, self._bytes, self._longest)

    async def _named(self) -> int:
        """Gives every object and survey its place; how many objects there are."""
        said = json.loads(await self._asked("/codes.json"))
        self._places.add_surveys([tilde_encode(code) for code in said["surveys"]])
        async for codes in self._codes():
            self._places.add_objects(codes)
        return int(said["total"])

    async def _codes(self) -> AsyncIterator[list[str]]:
        """The coded codes of all objects in their order, some at a time."""
        for page in count(1):
            found = json.loads(await self._asked(f"/codes.json?page={page}"))["codes"]
            if not found:
                return
            yield [tilde_encode(code) for code in found]

    async def _about_the_collection(self) -> None:
        self._put(CALENDAR.removeprefix("/"), await self._asked(CALENDAR))
        surveys = json.loads(await self._asked("/codes.json"))["surveys"]
        for address in (
            "/front",
            *(f"/by-{by}" for by in LISTS),
            "/at-risk",
            "/about",
            "/manual",
            *(f"/manual/{topic}" for topic in TOPICS),
            *(f"/survey/{tilde_encode(code)}" for code in surveys),
        ):
            for page in count(1):
                html = (await self._asked(address if page == 1 else f"{address}?page={page}")).decode()
                file = self._places.collection_page(address, page)
                assert file is not None, address
                self._write(file, self._links.written(html, address, file, None))
                if 'rel="next"' not in html:
                    break

    async def _object(self, code: str) -> None:
        """The pages of one object, and its document as data."""
        own = f"/object/{code}"
        folder = self._places.folder(code)
        assert folder is not None, code
        said = json.loads(await self._asked(f"{own}/contents.json"))
        files = {f"{folder}/object.html": own} | {f"{folder}/{name}.html": f"{own}/{name}" for name in said["pages"]}
        sections: dict[str, dict[str, str]] = {}
        for kind in SECTIONS.values():
            sections[kind] = {}
            for at, codes in enumerate(said[kind]):
                page = at // said["per_page"] + 1
                file = f"{folder}/{kind}.html" if page == 1 else f"{folder}/{kind}-{page}.html"
                files[file] = f"{own}/{kind}" if page == 1 else f"{own}/{kind}?page={page}"
                sections[kind][codes] = file
        papers = frozenset(
            kind
            for kind in KINDS
            if self._papers is not None and (self._papers / paper_name(tilde_decode(code), kind)).is_file()
        )
        one = OneObject(code, folder, frozenset(said["pages"]), sections, papers)
        pages = {file: (await self._asked(address)).decode() for file, address in files.items()}
        one.anchors |= {file: anchors(html) for file, html in pages.items()}
        for file, html in pages.items():
            self._write(file, self._links.written(html, files[file].partition("?")[0], file, one))
        self._put(f"{folder}/object.json", await self._asked(f"{own}.json"))

    async def _asked(self, address: str) -> bytes:
        answer = await self._datasette.client.get(address, headers=_ASKED)
        if answer.status_code != 200:
            raise CouldNot(
                f"The page {address} of the published site could not be made (it answers {answer.status_code}), so no "
                "pages were written. Publish again."
            )
        content: bytes = answer.content
        return content

    def _write(self, file: str, html: str) -> None:
        self._put(file, html.encode())
        self._pages += 1

    def _put(self, file: str, content: bytes) -> None:
        path = self._out / file
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
        self._count(file, len(content))

    def _picture(self, name: str) -> str:
        file = f"{PICTURES}/{name}"
        path = self._out / file
        if not path.exists():
            path.parent.mkdir(exist_ok=True)
            try:
                shutil.copyfile(self._pictures / name, path)
            except FileNotFoundError as error:
                raise CouldNot(
                    f"The published picture {name} is missing, so no pages were written. Publish again."
                ) from error
            self._count(file, path.stat().st_size)
        return file

    def _style(self, file: str) -> str:
        self._styles.add(file)
        return f"{STYLE}/{file}"

    def _count(self, file: str, size: int) -> None:
        self._files += 1
        self._bytes += size
        self._longest = max(self._longest, len(file))
