"""The survey's own row, which a folder keeps in survey.toml, one column to a line."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from collection.errors import Fault, OurFault
from collection.ingest.faults import Faults
from collection.ingest.headings import match_headings
from collection.ingest.text_files import BLOCK, Traits, inspect
from collection.records import Record, Survey

SURVEY_FILE = "survey.toml"
# A character that TOML writes as an escape is in no byte of the file, so the cells are always read exactly.
_EXACT = Traits(unseen=True, not_nfc=True, recorded=True, returns=True)


@dataclass
class SurveySheet:
    """The survey's own row, written one column to a line."""

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
        raise OurFault(f"The survey's file was read whole, and broke off: {error}")

    def row_of(self, row: int, column: str | None) -> int | None:
        return self.lines[self.columns.index(column)] if column in self.columns else None


def read_survey_file(name: str, path: Path, faults: Faults) -> SurveySheet | None:
    """The survey's row from a TOML file; None where it cannot be read, which is a fault then."""

    def fault(row: int | None, column: str | None, message: str, value: str | None = None) -> None:
        faults.add(Fault(name, "survey", row, column, value, message))

    _, refusal = inspect(path)
    if refusal is None and path.stat().st_size > BLOCK:
        refusal = f"This file is over 1 MB; it holds the survey's own {len(Survey.columns())} lines only."
    if refusal is not None:
        fault(None, None, refusal)
        return None
    try:
        text = path.read_text(encoding="utf-8-sig")
        held = tomllib.loads(text)
    except UnicodeDecodeError:
        fault(None, None, "This file is not written in UTF-8. Save it again with the character set UTF-8.")
        return None
    except (tomllib.TOMLDecodeError, ValueError, RecursionError) as error:
        told = re.search(r"line (\d+)", str(error))
        fault(int(told[1]) if told else None, None,
              "This is no TOML. Each line is written: column = \"text\", with the text in quotation marks.")
        return None
    table = held.get("survey")
    if isinstance(table, dict):
        for key in held:
            if key != "survey":
                fault(_line(text, key), key, "All lines belong below [survey], and there is no other table.")
        held = table
    lines = [_line(text, key) for key in held]
    columns = match_headings(Survey, name, lines, list(held), faults)
    cells = []
    for key, line in zip(held, lines, strict=True):
        cell = _toml_cell(held[key])
        if cell is None:
            fault(line, key, f"This value may not be kept as it was typed. Put it in quotation marks: {key} = \"…\".")
        cells.append(cell or "")
    return SurveySheet(columns, cells, lines, name)


def _toml_cell(value: object) -> str | None:
    """The text of a value; None for those whose text may not be what was typed (1987.10, true, lists)."""
    if isinstance(value, str):
        return value
    if isinstance(value, int) and not isinstance(value, bool):
        return str(value)
    isoformat = getattr(value, "isoformat", None)
    return str(isoformat()) if isoformat is not None else None


def _line(text: str, key: str) -> int | None:
    for number, line in enumerate(text.splitlines(), 1):
        if re.match(rf"\s*[\"']?{re.escape(key)}[\"']?\s*=", line):
            return number
    return None
