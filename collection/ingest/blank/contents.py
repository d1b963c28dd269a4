"""What an empty survey holds before anyone fills it in: its sheets and headings, the note on each heading, the rows
that are known, the codes handed out, and what is open.

All of it is read from the declarations of the records; the workbook, the folder and the paper form say the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from collection.ingest.blank.codes import Codes, span
from collection.ingest.blank.example import EXAMPLE
from collection.ingest.blank.known_facts import KnownLine
from collection.ingest.blank.questions import Question
from collection.records.codes import CODE_COLUMN, SPARED
from collection.records.columns import Column
from collection.records.sheets import BY_SHEET, DATED_STATES, Picture, Record

ORDER = (
    "objects",
    "components",
    "zones",
    "schemes",
    "samples",
    "layers",
    "tests",
    "responses",
    "conditions",
    "decorations",
    "reserves",
    "analyses",
    "hazards",
    "claims",
    "advice",
    "treatments",
    "treatment_steps",
    "pictures",
    "drawings",
    "sources",
    "proposals",
    "proposal_steps",
)
"""The sheets in the order in which a survey is written; `survey` stands before them."""
PREFILLED = ("objects", "sources", "components", "drawings", "zones", "schemes")
"""Sheets whose known rows a new survey of an object begins with."""
KINDS_LEFT_AS_TYPED = frozenset({"code", "word", "text", "person", "date", "points", "file", "agent", "coat", "list"})
"""Kinds of cells that a spreadsheet must take as text: a number or a date would not stay as it was typed."""

_EXAMPLE_OF_KIND = {
    "code": "A1",
    "text": "as seen",
    "person": "A. Surveyor",
    "number": "1.5",
    "integer": "1",
    "date": "2030-03-04",
    "points": "0,0 120,0 120,80 0,80",
    "file": "pictures/front.jpg",
    "agent": "1 acetone + 3 dearomatised white spirit",
    "coat": "1/varnish",
    "list": "a; b",
}
_WRITTEN = {
    "code": "a code, kept as typed",
    "word": "a word of the list",
    "text": "text",
    "person": "a person's name",
    "number": "a number",
    "integer": "a whole number",
    "date": "a date: 2030-03-04, 1908~, 190X, 1924/1931",
    "points": "the corners as x,y x,y x,y",
    "file": "the name of a file that lies in the package",
    "agent": "parts by volume, as on the jar",
    "coat": "a scheme, or a scheme and a role",
    "list": "one, or several with ; between them",
}


@dataclass(frozen=True, slots=True)
class KnownObject:
    """One object as the records know it; `rows` are stored ones, by sheet."""

    object: str
    title: str
    lines: tuple[KnownLine, ...]
    questions: tuple[Question, ...]
    rows: Mapping[str, tuple[Record, ...]]


@dataclass(frozen=True, slots=True)
class Blank:
    """A survey to be filled in. `survey` holds the cells of its own row that are known; `files` the content of the files
    that prefilled rows name; `pictures` rows of a camera's folder, `copied` the files of these that go along."""

    survey: Mapping[str, str] = field(default_factory=dict)
    objects: tuple[KnownObject, ...] = ()
    codes: Codes = field(default_factory=dict)
    files: Mapping[str, bytes] = field(default_factory=dict)
    pictures: tuple[Picture, ...] = ()
    copied: Mapping[str, Path] = field(default_factory=dict)

    def rows(self, sheet: str) -> tuple[Record, ...]:
        """The prefilled rows of a sheet."""
        known = tuple(row for known in self.objects for row in known.rows.get(sheet, ()))
        return (*known, *self.pictures) if sheet == "pictures" else known

    @property
    def questions(self) -> tuple[Question, ...]:
        return tuple(question for known in self.objects for question in known.questions)

    def places(self) -> tuple[str, ...]:
        """Every place of the known objects that can be named, `all` last."""
        found = [str(getattr(row, sheet[:-1])) for sheet in ("zones", "components") for row in self.rows(sheet)]
        return (*dict.fromkeys(found), "all") if found else ()


def cell_text(column: Column, value: object) -> str:
    """A stored value as a surveyor would write it."""
    if value is None or value == "":
        return ""
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    return str(value)


def note(record: type[Record], column: Column, codes: Codes | None = None) -> str:
    """What belongs under a heading: whether it is needed, its meaning, unit, what is allowed, an example."""
    lines = [f"{'Required' if column.required else 'Optional'}: {column.meaning}"]
    lines.append(f"Write {_WRITTEN[column.kind]}{f', in {column.unit}' if column.unit else ''}.")
    if column.words is not None:
        others = " (other words are kept and doubted)" if column.words.open_list else ""
        lines.append(f"Allowed{others}: {', '.join(column.words.words)}.")
        if column.words.asks:
            lines.append(f"Asked back: {', '.join(column.words.asks)}.")
    if column.is_number and (column.low is not None or column.high is not None):
        ends = [f"{side} {bound:g}" for side, bound in (("from", column.low), ("to", column.high)) if bound is not None]
        lines.append(f"Allowed: {' '.join(ends)}.")
    if column.reference == "place":
        lines.append("Names a zone, a part, or all.")
    elif column.reference == SPARED:
        lines.append("Names reserves, zones or parts.")
    elif column.reference is not None:
        lines.append(f"Names a row of {column.reference.replace('_', ' ')}.")
    if column.name == "observed_on" and record.sheet in DATED_STATES:
        lines.append("A later state is a new row with its own date.")
    if column.private:
        lines.append("Private: never published.")
    if codes is not None and CODE_COLUMN.get(record.sheet) == column.name and record.sheet in codes:
        for own, handed_out in codes[record.sheet].items():
            lines.append(f"Free for new ones{f' on {own}' if own else ''}: {span(handed_out)}")
    return "\n".join([*lines, f"Example: {example(record, column)}"])


def example(record: type[Record], column: Column) -> str:
    """What a surveyor might write under a heading; a cell of the example sheet where it has one."""
    for row in EXAMPLE.get(record.sheet, ()):
        if column.name in row:
            return row[column.name]
    if column.words is not None:
        return column.words.words[0]
    if column.reference == SPARED:
        return EXAMPLE["reserves"][0]["reserve"]
    if column.kind == "code" and column.reference in BY_SHEET and EXAMPLE.get(column.reference):
        return EXAMPLE[column.reference][0][CODE_COLUMN[column.reference]]
    if column.is_number and column.low is not None and column.low > 1.5:
        return f"{column.low:g}"
    return _EXAMPLE_OF_KIND[column.kind]
