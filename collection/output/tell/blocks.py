"""What a report, a tag or a page says, as plain data: some eight kinds of block, each rendered once per medium.

`blocks.typ` beside this module renders them for paper, the macro `blocks` of the site for pages. Texts are plain text, never
markup; a figure is one self-contained SVG of `output/drawings` or a published picture by its file name.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True)
class Heading:
    """A heading below the title; `level` 1 is a section. `name` is its anchor on a page."""

    text: str
    level: int = 1
    name: str = ""


@dataclass(frozen=True)
class Sentence:
    """A paragraph; `kind` is `lead` (the one to read first), `plain`, `aside` (small, quiet) or `quote`."""

    text: str
    kind: str = "plain"


@dataclass(frozen=True)
class Facts:
    """Names with what is said of each."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Point:
    """One thing of a list: `strong` is said first, `aside` after it in small.

    :ivar record: the sheet and key of the record that says so.
    :ivar place: the code of the place that it speaks of, and `place_name` what that is called; empty for none.
    """

    text: str
    strong: str = ""
    aside: str = ""
    record: tuple[str, str] | None = None
    place: str = ""
    place_name: str = ""


@dataclass(frozen=True)
class Points:
    """A list, in the order of reading; `kind` is `plain`, or `words` for what people said, whose texts come first."""

    items: tuple[Point, ...]
    kind: str = "plain"


@dataclass(frozen=True)
class Grid:
    """A table; with `row_heads` the first cell of each row names it. `wide` are the columns that hold sentences."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    row_heads: bool = True
    wide: tuple[int, ...] = ()


@dataclass(frozen=True)
class Figure:
    """A picture with what it shows in words (`alt`, never empty) and what stands under it.

    :ivar svg: a drawing, or empty.
    :ivar picture: the name of a published picture, or empty.
    :ivar share: the part of the text's width that it may take, up to 1.
    """

    alt: str
    caption: str = ""
    svg: str = ""
    picture: str = ""
    share: float = 1.0


@dataclass(frozen=True)
class Cards:
    """Figures side by side, such as one thing in several lights."""

    figures: tuple[Figure, ...]
    columns: int = 3


@dataclass(frozen=True)
class Caution:
    """What can hurt people, and whom to follow."""

    text: str


@dataclass(frozen=True)
class Signature:
    """Lines to sign on: what each is for (`Name`, `Date`, `Place`), and above them what is signed."""

    text: str
    lines: tuple[str, ...]


Block = Heading | Sentence | Facts | Points | Grid | Figure | Cards | Caution | Signature


def as_data(blocks: Iterable[Block]) -> list[dict[str, Any]]:
    """Blocks as JSON has them, each with the name of its kind as `block`."""
    return [{"block": type(block).__name__.lower(), **asdict(block)} for block in blocks]
