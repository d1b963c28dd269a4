"""The manual: its pages as Markdown files, shown in a terminal and on the site.

A page begins with a heading of the first rank and one paragraph that says what it is for; the rest is sections under
headings of the second. Tables have two columns. Raw HTML is shown as text, never passed on.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from markdown_it import MarkdownIt
from markdown_it.token import Token
from markdown_it.tree import SyntaxTreeNode

TOPICS = (
    "surveyor",
    "registrar",
    "keeping",
    "proposer",
    "approver",
    "future-staff",
    "survey-files",
    "lists",
    "swab",
    "site",
    "commands",
)
"""Every page, in the order in which it is listed; each stands in `collection/manual` under its name."""
WIDTH = 78
BOLD, PLAIN = "\x02", "\x03"
"""Around what stands out in a terminal: headings and what is typed."""


@dataclass(frozen=True)
class Section:
    """One section of a page as HTML; the anchor is unique on its page."""

    anchor: str
    title: str
    html: str


@dataclass(frozen=True)
class ManualPage:
    """One page: its Markdown, title and purpose (its first paragraph, as plain text)."""

    topic: str
    text: str
    title: str
    purpose: str

    def in_terminal(self) -> str:
        """The page as plain text for 80 columns; `BOLD` and `PLAIN` stand around what stands out."""
        return "\n".join(line for node in _tree(self.text).children for line in _block(node)).rstrip() + "\n"

    def sections(self) -> list[Section]:
        """What follows the first paragraph, as HTML by section; the first has no title and may be empty."""
        found = [("", "")]
        for node in _tree(self.text).children[2:]:
            if node.tag == "h2":
                found.append((_plain(node), ""))
            else:
                title, html = found.pop()
                found.append((title, html + _markdown().renderer.render(node.to_tokens(), _markdown().options, {})))
        return [Section(f"part-{number}", *one) for number, one in enumerate(found)]


@cache
def manual_page(topic: str) -> ManualPage | None:
    """One page of the manual, or None where there is no such topic."""
    if topic not in TOPICS:
        return None
    text = files("collection").joinpath("manual", f"{topic}.md").read_text("utf-8")
    title, purpose = _tree(text).children[:2]
    return ManualPage(topic, text, _plain(title), _plain(purpose))


def manual_pages() -> list[ManualPage]:
    """All pages, in their order."""
    return [page for topic in TOPICS if (page := manual_page(topic))]


@cache
def _markdown() -> MarkdownIt:
    made = MarkdownIt("commonmark", {"html": False}).enable("table")
    made.add_render_rule("link_open", _topic_link)
    return made


def _topic_link(renderer: Any, tokens: Sequence[Token], index: int, *_: Any) -> str:
    """A link from page to page: the files are called `lists.md`, their addresses end in `/lists`."""
    href = str(tokens[index].attrs["href"]).removesuffix(".md")
    return f'<a href="{href}">' if href in TOPICS else "<a>"


def _tree(text: str) -> SyntaxTreeNode:
    return SyntaxTreeNode(_markdown().parse(text))


def _block(node: SyntaxTreeNode) -> Iterator[str]:
    """The lines of one block, and the blank line after it."""
    if node.type == "heading":
        words = _plain(node)
        yield from (f"{BOLD}{words.upper() if node.tag == 'h1' else words}{PLAIN}", "")
    elif node.type == "fence":
        yield from textwrap.indent(node.content, "    ").splitlines()
        yield ""
    elif node.type in ("bullet_list", "ordered_list"):
        for number, item in enumerate(node.children, start=1):
            mark = "- " if node.type == "bullet_list" else f"{number}. "
            # Blocks in an item after the first stand under its text.
            lines = [line for block in item.children for line in (*_block(block), "")]
            lines = [line for line in lines if line] if node.children[0].children[0].hidden else lines
            for line, text in enumerate(lines):
                yield (mark if line == 0 else " " * len(mark) if text else "") + text
        yield ""
    elif node.type == "table":
        rows = [[_words(cell) for cell in row.children] for part in node.children for row in part.children]
        yield from _table(rows[1:])
        yield ""
    else:
        yield from (*_wrapped(_words(node)), "")


def _table(rows: list[list[str]]) -> Iterator[str]:
    """Two columns; what is too long for the first stands on a line of its own."""
    widths = [len(_unmarked(first)) for first, _ in rows]
    column = max(widths) + 2 if max(widths) <= 22 else 6
    for (first, second), width in zip(rows, widths, strict=True):
        lines = _wrapped(second, " " * column)
        if width + 2 <= column:
            yield first + " " * (column - width) + lines[0][column:]
            yield from lines[1:]
        else:
            yield from (first, *lines)


def _wrapped(text: str, indent: str = "") -> list[str]:
    """Lines of one paragraph; the last few columns are for the marks."""
    return textwrap.wrap(text, WIDTH - 4, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False)


def _words(node: SyntaxTreeNode) -> str:
    """The text of a block; a link names its topic, and what is typed is marked."""
    if node.type == "text":
        return node.content
    if node.type == "code_inline":
        return f"{BOLD}{node.content}{PLAIN}"
    if node.type == "softbreak":
        return " "
    inner = "".join(_words(child) for child in node.children)
    if node.type == "link":
        topic = str(node.attrs["href"]).removesuffix(".md")
        return f"{inner} ({BOLD}firstcoat manual {topic}{PLAIN})"
    return inner


def _plain(node: SyntaxTreeNode) -> str:
    return _unmarked(_words(node))


def _unmarked(text: str) -> str:
    return text.replace(BOLD, "").replace(PLAIN, "")
