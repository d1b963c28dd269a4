"""The survey's own row, which a folder keeps in survey.toml, one column to a line."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from collection.ingest.package.faults import Faults, shortened
from collection.ingest.package.headings import MOST_HEADINGS, match_headings
from collection.ingest.package.text_files import BLOCK, Traits, inspect
from collection.language.errors import Fault, OurFault
from collection.records.sheets import Record, Survey

SURVEY_FILE = "survey.toml"
_LARGEST = 10**80
_HOW = 'Each line is written: column = "text", with the text in quotation marks.'
_DOTTED = re.compile(r"(?:(?:(?<![\w-])[\w-]++|\"[^\"\n]{0,80}+\"|'[^'\n]{0,80}+')[ \t]*+\.[ \t]*+){9}")
# A character that TOML writes as an escape is in no byte of the file, so the cells are always read exactly.
_EXACT = Traits(unseen=True, not_nfc=True, recorded=True, returns=True)


@dataclass
class SurveySheet:
    """The survey's own row, written one column to a line or, in a workbook, to a row."""

    columns: tuple[str | None, ...]
    cells: list[str]
    lines: list[int | None]
    file: str = SURVEY_FILE
    traits: Traits = _EXACT
    record: type[Record] = Survey
    unheaded: frozenset[int] = frozenset()
    decimal_comma: bool = False
    complete: bool = True

    @contextmanager
    def rows(self) -> Iterator[Iterable[tuple[int, list[str]]]]:
        yield [(1, self.cells)]

    def break_off(self, error: str) -> Fault:
        raise OurFault(f"The survey's own row was read whole, and broke off: {error}")

    def row_of(self, row: int, column: str | None) -> int | None:
        return self.lines[self.columns.index(column)] if column in self.columns else None


def read_survey_file(name: str, path: Path, faults: Faults) -> SurveySheet | None:
    """The survey's row from a TOML file; None where it cannot be read, which is a fault then."""

    def fault(row: int | None, column: str | None, message: str, value: str | None = None) -> None:
        faults.add(Fault(name, "survey", row, column, value, message))

    text, held, refusal = read_toml(
        path,
        _HOW,
        "This file is over 1 MB; it holds the survey's own "
        f"{len(Survey.columns())} lines only. Keep a long text as a file among the "
        "sources.",
    )
    if held is None:
        fault(refusal[0], None, refusal[1])
        return None
    if len(held) > MOST_HEADINGS:
        match_headings(Survey, name, [None] * len(held), list(held), faults)
        return None
    table = held.get("survey")
    if isinstance(table, dict):
        for key in held:
            if key != "survey":
                fault(_line(text, key), shortened(key), "All lines belong below [survey], and there is no other table.")
        held = table
        if len(held) > MOST_HEADINGS:
            match_headings(Survey, name, [None] * len(held), list(held), faults)
            return None
    return survey_row(name, text, held, [_line(text, key) for key in held], faults)


def survey_row(name: str, text: str, held: Mapping[str, Any], lines: list[int | None], faults: Faults) -> SurveySheet:
    """The survey's row from the values of a TOML file, each on its line of the text."""
    columns = match_headings(Survey, name, lines, list(held), faults)
    cells = []
    for key, line in zip(held, lines, strict=True):
        cell = _toml_cell(held[key], text)
        if cell is None:
            shown = shortened(key)
            faults.add(
                Fault(
                    name,
                    "survey",
                    line,
                    shown,
                    None,
                    f'This value may not be kept as it was typed. Put it in quotation marks: {shown} = "…".',
                )
            )
        cells.append(cell or "")
    return SurveySheet(columns, cells, lines, name)


def toml_text(text: str) -> str:
    """A text as TOML writes it, on one line."""
    # A JSON string of printable text is a TOML basic string as well; DEL alone would have to be escaped.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def read_toml(
    path: Path, how: str, too_large: str, largest: int = BLOCK
) -> tuple[str, dict[str, Any] | None, tuple[int | None, str]]:
    """The text and the tables of a TOML file; where it cannot be read, no tables, the line and the sentence.

    `how` says how its lines are written, `too_large` what to do about a file of over `largest` bytes.
    """
    _, refusal = inspect(path)
    if refusal is None and path.stat().st_size > largest:
        refusal = too_large
    if refusal is not None:
        return "", None, (None, refusal)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        return (
            "",
            None,
            (
                error.object.count(b"\n", 0, error.start) + 1,
                "This is not written in UTF-8. Save the file again with the character set UTF-8.",
            ),
        )
    dotted = _DOTTED.search(text)
    if dotted is not None:
        # The time that reading takes grows with the square of such a name's parts.
        return text, None, (text.count("\n", 0, dotted.start()) + 1, "This name has too many parts. " + how)
    try:
        return text, tomllib.loads(text), (None, "")
    except (tomllib.TOMLDecodeError, ValueError, RecursionError) as error:
        line = re.search(r"line (\d+)", str(error))
        twice = "overwrite a value" in str(error) or "twice" in str(error)
        return (
            text,
            None,
            (
                int(line[1]) if line else None,
                "This line is there twice; keep one of the two." if twice else "This is not valid TOML. " + how,
            ),
        )


def _toml_cell(value: object, text: str) -> str | None:
    """The text of a value; None for those whose text may not be what was typed (1987.10, 0x10, true, lists)."""
    if isinstance(value, str):
        return value
    if isinstance(value, int) and not isinstance(value, bool):
        return str(value) if abs(value) < _LARGEST and str(value) in text else None
    isoformat = getattr(value, "isoformat", None)
    return str(isoformat()) if isoformat is not None else None


def _line(text: str, key: str) -> int | None:
    for number, line in enumerate(text.splitlines(), 1):
        if re.match(rf"\s*[\"']?{re.escape(key)}[\"']?\s*=", line):
            return number
    return None
