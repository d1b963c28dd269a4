"""What one column of a sheet is: its kind of cell, unit, closed list, reference, privacy and meaning."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from pydantic import Field
from pydantic_core import PydanticUndefined

from collection.language.word_list import WordList

Kind = Literal["code", "word", "text", "person", "number", "integer", "date", "points", "file", "agent", "coat", "list"]

LONGEST_CODE, LONGEST_TEXT = 80, 20_000
LARGEST_INTEGER = 1_000_000_000


@dataclass(frozen=True, slots=True)
class Column:
    """One column, as every part of the program knows it.

    `reference` names the sheet whose key the cell points to (`place` is a zone, a component or `all`;
    the sheet `layers` is reached by the pair sample, position). `low` and `high` are inclusive, in `unit`.
    """

    name: str
    kind: Kind
    meaning: str
    required: bool = False
    words: WordList | None = None
    unit: str | None = None
    low: float | None = None
    high: float | None = None
    reference: str | None = None
    private: bool = False

    @property
    def is_number(self) -> bool:
        return self.kind in ("number", "integer")


def _column(
    kind: Kind,
    meaning: str,
    *,
    required: bool = False,
    words: WordList | None = None,
    unit: str | None = None,
    low: float | None = None,
    high: float | None = None,
    reference: str | None = None,
    private: bool = False,
) -> Any:
    column = Column("", kind, meaning, required, words, unit, low, high, reference, private)
    bounds: dict[str, float] = {}
    if low is not None:
        bounds["ge"] = low
    if high is not None:
        bounds["le"] = high
    return Field(
        default=PydanticUndefined if required else None,
        description=meaning,
        json_schema_extra={"column": column},
        **bounds,
    )  # type: ignore[call-overload]


def code(meaning: str, *, required: bool = False, to: str | None = None) -> Any:
    """A code kept as written; `to` names the sheet it points to."""
    return _column("code", meaning, required=required, reference=to)


def word(words: WordList, meaning: str, *, required: bool = False) -> Any:
    """A word of a closed list."""
    return _column("word", meaning, required=required, words=words)


def text(meaning: str, *, required: bool = False, private: bool = False) -> Any:
    """Free text."""
    return _column("text", meaning, required=required, private=private)


def person(meaning: str, *, required: bool = False) -> Any:
    """A person's name: published only if the publisher says so."""
    return _column("person", meaning, required=required)


def number(unit: str, meaning: str, *, low: float | None = None, high: float = 1e9, private: bool = False) -> Any:
    """A measured number in one unit."""
    return _column("number", meaning, unit=unit, low=low, high=high, private=private)


def integer(
    meaning: str,
    *,
    required: bool = False,
    low: int = 0,
    high: int = 100_000,
    unit: str | None = None,
    to: str | None = None,
) -> Any:
    """A whole number."""
    return _column("integer", meaning, required=required, unit=unit, low=low, high=high, reference=to)


def date(meaning: str, *, required: bool = False) -> Any:
    """A date in EDTF (ISO 8601-2)."""
    return _column("date", meaning, required=required)


def points(meaning: str) -> Any:
    """A polygon in SVG points syntax, in drawing units."""
    return _column("points", meaning, unit="drawing units")


def file(meaning: str, *, required: bool = False) -> Any:
    """The name of a file that lies in the package."""
    return _column("file", meaning, required=required)


def agent(meaning: str, *, required: bool = False) -> Any:
    """A cleaning agent as parts by volume."""
    return _column("agent", meaning, required=required)


def coat(meaning: str) -> Any:
    """A scheme, or a scheme and role: `2`, `1/varnish`."""
    return _column("coat", meaning)


def listed(meaning: str, *, words: WordList | None = None, to: str | None = None) -> Any:
    """Several words of a list, or several codes, in one cell with `;` between them."""
    return _column("list", meaning, words=words, reference=to)


BETWEEN = "; "
"""Separates the parts of a stored cell that holds several."""
