"""Where the pages of a site stand as files, and their links made to lead from file to file."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from html import escape, unescape
from itertools import count
from urllib.parse import parse_qs, quote, urljoin, urlsplit

from datasette.utils import tilde_decode

from collection.output.archive.file_names import FileNames
from collection.output.site.papers import KINDS, paper_name

IN_ONE_FOLDER = 5000
"""FAT has room for 65,536 entries in a folder, and a name of 60 signs takes six of them."""
SECTIONS = {"place": "places", "sample": "samples", "proposal": "proposals", "compare": "changes"}
"""Pages of an object that stand together on one, by the word in their address."""
CALENDAR = "/reviews.ics"
_TAG = re.compile(r"""<(/?)([A-Za-z][A-Za-z0-9:]*)((?:[^<>"']|"[^"]*"|'[^']*')*)>""")
_LINK = re.compile(r"""(\s)(href|src|xlink:href)=(?:"([^"]*)"|'([^']*)')""")
_ID = re.compile(r"""\sid=(?:"([^"]*)"|'([^']*)')""")
_STYLE = re.compile(r"/-/static-plugins/firstcoat/([a-z0-9_-]+\.(?:css|svg))")
_PICTURE = re.compile(r"/picture/([0-9a-f]+\.[a-z]+)")
_PLAIN = re.compile(r"/(about|at-risk|manual|manual/[a-z-]+|by-[a-z]+|survey/[^/]+)")


@dataclass
class OneObject:
    """The pages of the object that is being written.

    :ivar single: the names of its single pages.
    :ivar sections: for each kind the file of each section, by its coded codes.
    :ivar anchors: the ids of each of its files, once all are there.
    :ivar papers: which papers go with it.
    """

    code: str
    folder: str
    single: frozenset[str]
    sections: Mapping[str, Mapping[str, str]]
    papers: frozenset[str] = frozenset()
    anchors: dict[str, frozenset[str]] = field(default_factory=dict)


class Places:
    """Where everything stands below the folder of the pages.

    :ivar objects: the coded codes of all objects with their folders.
    """

    def __init__(self) -> None:
        self._objects, self._surveys = FileNames(), FileNames()
        self._at: dict[str, int] = {}

    def add_objects(self, coded: list[str]) -> None:
        self._objects.add(coded)
        self._at |= zip(coded, count(len(self._at)), strict=False)

    def add_surveys(self, coded: list[str]) -> None:
        self._surveys.add(coded)

    def folder(self, coded: str) -> str | None:
        """The folder of an object; None where there is no such object."""
        name = self._objects.get(coded)
        if name is None:
            return None
        part = self._at[coded] // IN_ONE_FOLDER
        return f"object/{name}" if part == 0 else f"object-{part + 1}/{name}"

    def collection_page(self, path: str, page: int) -> str | None:
        """The file of a page about the collection."""
        if path in ("/", "/front"):
            return "index.html"
        if path == CALENDAR:
            return CALENDAR.removeprefix("/")
        if not _PLAIN.fullmatch(path):
            return None
        name = path.removeprefix("/")
        if name.startswith("survey/"):
            survey = self._surveys.get(name.removeprefix("survey/"))
            if survey is None:
                return None
            name = f"survey/{survey}"
        return f"{name}.html" if page == 1 else f"{name}-{page}.html"


class Links:
    """Turns the links of pages into links between files.

    :param picture: copies a picture where it is not there yet; gives its file.
    :param style: the same for stylesheets and the icon.
    """

    def __init__(self, places: Places, picture: Callable[[str], str], style: Callable[[str], str]) -> None:
        self._places, self._picture, self._style = places, picture, style

    def written(self, html: str, address: str, file: str, one: OneObject | None) -> str:
        """A page as it stands in its file: every link leads to a file that is there, or is none any more.

        :param address: the page's own address on the site.
        :param one: the object that the page is about.
        """
        open_anchors: list[bool] = []

        def tag(found: re.Match[str]) -> str:
            closes, name, said = found.groups()
            if closes:
                if name == "a" and not open_anchors.pop():
                    return ""
                return found[0]
            link = _LINK.search(said) if "href" in said or "src" in said else None
            if link is None:
                if name == "a":
                    open_anchors.append(True)
                return found[0]
            target = self._target(unescape(link[3] if link[3] is not None else link[4]), address, file, one)
            if name == "a":
                open_anchors.append(target is not None)
            if target is None:
                return ""
            new = f'{link[1]}{link[2]}="{escape(target)}"'
            return f"<{name}{said[: link.start()]}{new}{said[link.end() :]}>"

        return _TAG.sub(tag, html)

    def _target(self, link: str, address: str, file: str, one: OneObject | None) -> str | None:
        if link.startswith("#"):
            # Marks within the page are known once it is whole.
            known = None if one is None else one.anchors.get(file)
            return link if known is None or link[1:] in known else None
        parts = urlsplit(urljoin(address, link))
        if parts.scheme or parts.netloc:
            return link if parts.scheme in ("http", "https") else None
        found = self._found(parts.path, parts.query, file, one)
        if found is None:
            return None
        target, mark = found
        mark = self._mark(target, parts.fragment, mark, one)
        if target == file and mark:
            return f"#{mark}"
        where = quote(posixpath.relpath(target, posixpath.dirname(file)), safe="/~+")
        return f"{where}#{mark}" if mark else where

    def _found(self, path: str, query: str, file: str, one: OneObject | None) -> tuple[str, str] | None:
        """The file at an address, and the mark of the section that stands for it."""
        style, picture = _STYLE.fullmatch(path), _PICTURE.fullmatch(path)
        if style:
            return self._style(style[1]), ""
        if picture:
            return self._picture(picture[1]), ""
        asked = parse_qs(query)
        if set(asked) - {"page"}:
            return None
        page = int(asked["page"][0]) if asked else 1
        if not path.startswith("/object/"):
            whole = self._places.collection_page(path, page)
            return None if whole is None else (whole, "")
        code, _, rest = path.removeprefix("/object/").partition("/")
        return self._of_object(code, rest, page, file, one)

    def _of_object(self, code: str, rest: str, page: int, file: str, one: OneObject | None) -> tuple[str, str] | None:
        bare, _, ending = code.partition(".")
        folder = self._places.folder(bare)
        if folder is None:
            return None
        if ending:
            return (f"{folder}/object.json", "") if ending == "json" and not rest else None
        whole = f"{folder}/object.html", ""
        if not rest:
            return whole
        if one is None or one.code != code:
            # Which pages another object has is not known here; its own page leads to them.
            return whole
        if rest.removesuffix(".pdf") in KINDS:
            kind = rest.removesuffix(".pdf")
            return (f"../papers/{paper_name(tilde_decode(code), kind)}", "") if kind in one.papers else None
        if rest in one.single:
            return f"{folder}/{rest}.html", ""
        if rest in SECTIONS.values():
            files = sorted(set(one.sections[rest].values()), key=lambda name: (len(name), name))
            return (files[page - 1], "") if page <= len(files) else None
        kind, _, codes = rest.partition("/")
        if kind not in SECTIONS:
            return None
        codes, _, loss = codes.partition("/loss/")
        section = one.sections[SECTIONS[kind]].get(codes)
        # The proposal holds what there is to read of each of its losses.
        if section is None or (loss and section == file):
            return None
        return section, f"{SECTIONS[kind]}-{codes.replace('/', '-')}"

    @staticmethod
    def _mark(target: str, fragment: str, section: str, one: OneObject | None) -> str:
        """The mark to lead to: the one asked for where its page has it, else the section, else none."""
        known = None if one is None else one.anchors.get(target)
        if known is None:
            # Of another object's page nobody knows here which marks it has.
            return "" if target.startswith("object") else fragment
        wanted = f"{section}.{fragment}" if section and fragment else section or fragment
        return wanted if wanted in known else section if section in known else ""


def anchors(html: str) -> frozenset[str]:
    """The ids of a page."""
    return frozenset(
        unescape(found[1] if found[1] is not None else found[2])
        for tag in _TAG.finditer(html)
        for found in _ID.finditer(tag[3])
    )
