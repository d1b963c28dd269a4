"""Prepares a blank survey from the database, and writes it as a workbook, a form for paper or a folder."""

from __future__ import annotations

import filecmp
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from itertools import islice
from pathlib import Path

from collection.ingest.blank.codes import LETTERS, Codes, free_codes, hand_out, kin_of
from collection.ingest.blank.contents import PREFILLED, Blank, KnownObject, cell_text
from collection.ingest.blank.folder import folder
from collection.ingest.blank.known_facts import known_lines
from collection.ingest.blank.paper import paper
from collection.ingest.blank.questions import open_questions
from collection.ingest.blank.workbook import workbook
from collection.ingest.pictures.camera_folder import Coded, camera_folder
from collection.language.errors import BadValue, CouldNot, WrongCommand
from collection.records.cells import file_refusal, read_cell
from collection.records.codes import CODE_COLUMN
from collection.records.facts import current
from collection.records.sheets import BY_SHEET, Component, Drawing, Record, Source, Survey
from collection.store import survey_rows
from collection.store.base import files, read
from collection.store.base.database import path_of
from collection.store.changes import packages

WORKBOOK, PAPER = ".xlsx", ".html"


def empty(survey: str | None = None, lead: str | None = None) -> Blank:
    """A blank survey of objects that nobody has recorded yet.

    :raises WrongCommand: for a code that no survey can have.
    """
    cells = {"code": _survey_code(survey)} if survey else {}
    if lead:
        cells["lead"] = lead
    return Blank(cells, codes=_codes(cells["code"], [], {}) if survey else {})


def prepare(db: sqlite3.Connection, objects: Sequence[str], survey: str, lead: str | None = None) -> Blank:
    """A blank survey of known objects: their rows, what is known and what is open, free codes.

    :raises InputRefused: for an object that is not in account; the nearest code is named.
    :raises WrongCommand: for a survey's code that cannot be used.
    :raises DamageFound: when a drawing is no longer what was stored.
    """
    code = _survey_code(survey)
    cells = _survey_cells(db, code, lead)
    held: dict[str, bytes] = {}
    known = tuple(_known_object(db, own, held) for own in dict.fromkeys(objects))
    taken = {sheet: survey_rows.codes_in_use(db, kin_of(sheet)) for sheet in LETTERS}
    return Blank(cells, known, _codes(code, [each.object for each in known], taken), held)


def with_pictures(
    blank: Blank, folder: Path, out: Path, db: sqlite3.Connection | None = None
) -> tuple[Blank, tuple[str, ...]]:
    """The same survey with a row for each picture of a camera's folder, and what a person has to be told of it.

    The pictures get the first of the survey's codes for pictures, where it has a code, and the next ones are offered.

    :param db: the database that knows the objects whose codes the files' names may hold.
    :raises WrongCommand: for a form for paper, and where there is no picture.
    """
    if out.suffix.lower() == PAPER:
        raise WrongCommand("A form for paper takes no pictures. Name a workbook (.xlsx) or a folder.")
    known = tuple(read.object_codes(db)) if db is not None else ()

    @cache
    def inside(code: str) -> dict[str, tuple[str, ...]]:
        if db is None:
            return {}
        codes = {
            sheet: [
                str(getattr(row, CODE_COLUMN[sheet])) for row in survey_rows.rows_in_account(db, BY_SHEET[sheet], code)
            ]
            for sheet in ("samples", "zones", "components")
        }
        return {"sample": tuple(codes["samples"]), "place": (*codes["zones"], *codes["components"])}

    handed_out = {
        column: {code: own for sheet in sheets for own, codes in blank.codes.get(sheet, {}).items() for code in codes}
        for column, sheets in (("sample", ("samples",)), ("place", ("zones", "components")))
    }
    only = blank.objects[0].object if len(blank.objects) == 1 else None
    found = camera_folder(folder, out, Coded(known, inside, handed_out, only))
    if twice := sorted(found.files.keys() & blank.files.keys()):
        raise WrongCommand(f"A drawing of the survey is called {twice[0]!r} too. Give the picture another name.")
    taken = frozenset() if db is None else survey_rows.codes_in_use(db, kin_of("pictures"))
    rows, codes = found.rows, dict(blank.codes)
    if "code" in blank.survey and codes:
        free = free_codes(blank.survey["code"], "pictures", taken)
        rows = tuple(row.model_copy(update={"picture": code}) for row, code in zip(rows, free, strict=False))
        codes["pictures"] = {own: tuple(islice(free, len(some))) for own, some in codes["pictures"].items()}
    return replace(blank, pictures=rows, codes=codes, copied=found.files), found.told


def write(blank: Blank, out: Path) -> list[Path]:
    """Write a blank survey: a workbook (.xlsx), a form for paper (.html), or a folder; the paths made come back.

    Drawings of the known objects lie in the folder, or beside the workbook.

    :raises CouldNot: when anything of that name is there already, or it cannot be written; nothing stays then.
    """
    kind = out.suffix.lower()
    if not out.parent.is_dir():
        raise CouldNot(f"There is no folder {str(out.parent)!r} to write into.")
    contents = _contents(blank, out)
    try:
        for path, content in contents.items():
            if path.exists() and (path == out or not _holds(path, content)):
                raise _taken(path)
        if kind not in (WORKBOOK, PAPER) and out.exists():
            raise _taken(out)
        with tempfile.TemporaryDirectory(prefix=".firstcoat-", dir=out.parent) as partial:
            for path, content in contents.items():
                target = partial / path.relative_to(out.parent)
                target.parent.mkdir(parents=True, exist_ok=True)
                if isinstance(content, Path):
                    shutil.copyfile(content, target)
                else:
                    target.write_bytes(content)
            if kind not in (WORKBOOK, PAPER):
                os.rename(Path(partial) / out.name, out)
                return [out]
            made = [path for path in contents if not path.exists()]
            for path in made:
                path.parent.mkdir(parents=True, exist_ok=True)
                os.replace(partial / path.relative_to(out.parent), path)
            return made
    except OSError as error:
        raise CouldNot(f"{out} could not be written: {error.strerror or error}.") from error


def _holds(path: Path, content: bytes | Path) -> bool:
    return filecmp.cmp(path, content, shallow=False) if isinstance(content, Path) else path.read_bytes() == content


def _contents(blank: Blank, out: Path) -> dict[Path, bytes | Path]:
    kind = out.suffix.lower()
    if kind == PAPER:
        return {out: paper(blank).encode()}
    if kind == WORKBOOK:
        found: dict[Path, bytes | Path] = {out.parent / name: content for name, content in blank.files.items()}
        return {**found, **{out.parent / name: path for name, path in blank.copied.items()}, out: workbook(blank)}
    found = {out / name: content for name, content in {**blank.files, **folder(blank)}.items()}
    return {**found, **{out / name: path for name, path in blank.copied.items()}}


def _taken(path: Path) -> CouldNot:
    return CouldNot(
        f"{path} is there already, and nothing is overwritten. Name another file or folder, or move it away first."
    )


def _known_object(db: sqlite3.Connection, code: str, held: dict[str, bytes]) -> KnownObject:
    facts = read.facts_rows(db, code)
    stored = {sheet: survey_rows.rows_in_account(db, BY_SHEET[sheet], code) for sheet in PREFILLED}
    drawings = [row for row in stored["drawings"] if isinstance(row, Drawing)]
    rows: dict[str, tuple[Record, ...]] = {sheet: tuple(found) for sheet, found in stored.items()}
    # The file of a source stays where it is: a blank cell changes nothing.
    rows["sources"] = tuple(
        row.model_copy(update={"file": None}) for row in stored["sources"] if isinstance(row, Source)
    )
    rows["components"] = tuple(
        current([row for row in stored["components"] if isinstance(row, Component)], "component").values()
    )
    rows["drawings"] = tuple(row for row in drawings if _take_file(db, row, held))
    return KnownObject(code, facts.object.title, known_lines(facts, drawings), open_questions(facts), rows)


def _take_file(db: sqlite3.Connection, drawing: Drawing, held: dict[str, bytes]) -> bool:
    """Add the drawing's file to those that go along; False where another drawing's file has its name."""
    sha256 = survey_rows.files_named(db, "drawings", drawing.key_text())
    if sha256 is None or file_refusal(drawing.file) is not None:
        return False
    files.need_folder(db)
    content = files.read_file(path_of(db), sha256)
    return held.setdefault(drawing.file, content) == content


def _survey_cells(db: sqlite3.Connection, code: str, lead: str | None) -> dict[str, str]:
    stored = packages.stored_survey(db, code)
    if stored is None:
        near = packages.near_survey(db, code)
        if near is not None:
            raise WrongCommand(
                f"The survey {near!r} is stored, and {code!r} differs from it only in case, blanks, "
                "width or leading zeros. Use one writing for one survey, or a code that differs more."
            )
        return {"code": code, **({"lead": lead} if lead else {})}
    row = survey_rows.survey_row(db, code)
    if row is None:
        raise WrongCommand(
            f"The survey {code!r} was withdrawn, so nothing can be added to it. Have it reinstated "
            "first, or give the new work a survey of its own."
        )
    return {column.name: text for column in Survey.columns() if (text := cell_text(column, getattr(row, column.name)))}


def _survey_code(text: str) -> str:
    try:
        code = read_cell(Survey.column("code"), text)
    except BadValue as wrong:
        raise WrongCommand(f"{text!r} cannot be a survey's code. {wrong}") from wrong
    if not isinstance(code, str):
        raise WrongCommand("The survey's code is blank.")
    return code


def _codes(survey: str, objects: Sequence[str], taken: dict[str, frozenset[str]]) -> Codes:
    try:
        return hand_out(survey, objects, taken)
    except BadValue as wrong:
        raise WrongCommand(str(wrong)) from wrong
