"""Text of a workbook that is struck out: cells by the font of their style, and runs within a text."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple
from xml.etree.ElementTree import Element

from openpyxl.xml.constants import SHEET_MAIN_NS

_MAIN = f"{{{SHEET_MAIN_NS}}}"
STRIKE = f"{_MAIN}strike"
"""The mark that strikes text out (ECMA-376 Part 1, 18.4.10)."""


class StruckText(str):
    """The text of a cell, some or all of which is struck out."""

    __slots__ = ("struck",)

    struck: str

    def __new__(cls, text: str, struck: str) -> StruckText:
        made = super().__new__(cls, text)
        made.struck = struck
        return made

    @property
    def part(self) -> str:
        """What is struck out; blank where it is all."""
        return "" if self.struck == self.strip() else self.struck


class Struck(NamedTuple):
    """What is struck out: a row (column None), a cell, or a `part` of its text. Row and column count from 1."""

    row: int
    column: int | None = None
    text: str = ""
    part: str = ""


def striking_styles(styles: Element) -> frozenset[int]:
    """The numbers of those cell styles whose font strikes text out."""
    fonts = enumerate(styles.findall(f"{_MAIN}fonts/{_MAIN}font"))
    struck = {str(number) for number, font in fonts if _strikes(font)}
    cells = enumerate(styles.findall(f"{_MAIN}cellXfs/*"))
    return frozenset(number for number, cell in cells if cell.get("fontId", "0") in struck)


def with_struck(text: str, element: Element) -> str:
    """A text with those of its runs that are struck out."""
    struck = "".join(
        run.findtext(f"{_MAIN}t", "")
        for run in element.findall(f"{_MAIN}r")
        if (font := run.find(f"{_MAIN}rPr")) is not None and _strikes(font)
    ).strip()
    return StruckText(text, struck) if struck else text


def mark_inline(row: Element, cells: Iterable[Any]) -> None:
    """Do the same for the texts of a row that stand in its cells and not among the shared ones."""
    for element, cell in zip(row, cells, strict=True):
        text = element.find(f"{_MAIN}is")
        if text is not None and isinstance(cell["value"], str):
            cell["value"] = with_struck(cell["value"], text)


def _strikes(font: Element) -> bool:
    mark = font.find(STRIKE)
    return mark is not None and mark.get("val", "1") in ("1", "true")
