"""What is put into an archive: the database with its files, tables, what is published, pages and papers."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from collection.language.errors import DamageFound
from collection.output.export.table_files import (
    DESCRIPTION,
    ON_THE_WEB,
    WrittenTable,
    about_package,
    field_of,
    on_the_web,
    table_schema,
    write_table,
)
from collection.output.export.tables import is_whole
from collection.output.site.site_contents import About, site_tables
from collection.output.site.site_file import FILE_NAME
from collection.store.backup import copy_files
from collection.store.base import database, files
from collection.store.check import check
from collection.store.derive import HowFar
from collection.store.schema.database_copy import copy_database
from collection.store.schema.tables import Reference, Table
from collection.store.whole_tables import guards_sql, nulls, schema_sql, stored_rows, whole_tables

DATABASE = "database/collection.db"
PUBLISHED = f"published/{FILE_NAME}"
TABLES, PAGES, PAPERS = "tables", "pages", "papers"
SCHEMA, GUARDS, LOADER = "schema.sql", "guards.sql", "load_tables.py"
_TOLD = (
    "Every table of a firstcoat database, row by row as it is stored, with what was withdrawn and all that was said before. "
    "Numbers have all their digits. Read the columns as text where a text may begin with =, which a spreadsheet would compute. "
)
_TOLD_OF_PUBLISHED = (
    "What is published of a firstcoat database, table by table. Read the columns as text where a text may begin with =, "
    "which a spreadsheet would compute. "
)


@dataclass(frozen=True)
class Held:
    """How much of what an archive holds; the names of tables that stand in the SQLite file alone."""

    tables: int
    rows: int
    left_in_the_file: tuple[str, ...]


def put_database(db: sqlite3.Connection, db_path: Path, data: Path, progress: Callable[[str], HowFar]) -> Path:
    """Copy the database, as it is at one moment, and the files that it names; gives the copy.

    :raises DamageFound: when anything about the copy is not what was stored.
    """
    copy = data / DATABASE
    copy.parent.mkdir()
    copy_database(db, copy, progress("pages copied"))
    with closing(sqlite3.connect(copy)) as own:
        # With its log a file could not be read where nothing can be written beside it, as on a disc.
        own.execute("PRAGMA journal_mode = DELETE")
    with closing(database.open_still(copy)) as still:
        files.need_folder(still, db_path)
        copy_files(still, db_path, copy, progress("files copied"))
    if damage := check(copy).damage:
        more = f" … and {len(damage) - 5} more" if len(damage) > 5 else ""
        raise DamageFound(
            f"{db_path} is damaged, and an archive of it would be too. Nothing was archived. `firstcoat check {db_path}` "
            f"says more; `firstcoat backup` copies it as it is. {' '.join(damage[:5])}{more}"
        )
    return copy


def put_tables(copy: Path, data: Path, about: About, progress: HowFar) -> Held:
    """Write every table, and what makes the database again from them."""
    with closing(database.open_still(copy)) as db:
        tables, strangers = whole_tables(db)
        written = _written(db, tables, data, _leads_somewhere, progress)
        for name, text in ((SCHEMA, schema_sql(db)), (GUARDS, guards_sql(db))):
            (copy.parent / name).write_text(text, encoding="utf-8", newline="\n")
    loader = resources.files("collection.store").joinpath(LOADER)
    (copy.parent / LOADER).write_bytes(loader.read_bytes())
    _describe(written, data, about, _TOLD)
    return Held(len(written), sum(table.rows for table in written), tuple(strangers))


def put_published(site: Path, data: Path, about: About, progress: HowFar) -> Held:
    """Move the published file in, and write its tables."""
    target = data / PUBLISHED
    target.parent.mkdir()
    shutil.copyfile(site / FILE_NAME, target)
    with closing(database.open_still(target)) as db:
        written = _written(db, site_tables(db), data, lambda table, reference: True, progress)
    _describe(written, data, about, _TOLD_OF_PUBLISHED)
    return Held(len(written), sum(table.rows for table in written), ())


def _written(
    db: sqlite3.Connection, tables: list[Table], data: Path, leads: Callable[[Table, Reference], bool], progress: HowFar
) -> list[WrittenTable]:
    folder, written = data / TABLES, []
    folder.mkdir()
    for done, table in enumerate(tables, start=1):
        marks = nulls(db, table)
        written.append(
            write_table(
                folder / f"{table.name}.csv",
                table,
                [field_of(table, column, marks[column.name], as_stored=True) for column in table.columns],
                stored_rows(db, table),
                [reference for reference in table.references if leads(table, reference)],
            )
        )
        progress(done, len(tables))
    return written


def _leads_somewhere(table: Table, reference: Reference) -> bool:
    """Whether every row that names something leads to a row. Of a reference in which one part is blank programs that read
    Table Schema say that it leads nowhere, so of several parts only whole ones are told."""
    return bool(reference.to) and (len(reference.columns) == 1 or is_whole(table, reference))


def _describe(written: list[WrittenTable], data: Path, about: About, told: str) -> None:
    asked = f"Questions: {about.collection.contact}. " if about.collection.contact else ""
    description = f"{told}{asked}{about.state[0].upper()}{about.state[1:]}."
    for name, described in (
        (DESCRIPTION, table_schema(written, about_package(about.collection, description))),
        (ON_THE_WEB, on_the_web(written, about.collection.name, description)),
    ):
        text = json.dumps(described, indent=1, ensure_ascii=False)
        (data / TABLES / name).write_text(f"{text}\n", encoding="utf-8", newline="\n")


def put_pages(site: Path, data: Path, name: str, day: str, progress: HowFar) -> tuple[int, int]:
    """Write the pages of a published site, and move its papers in; gives how many of each.

    :param name: what the archive is called on each page; `day` the day of its newest change.
    """
    # Imported here, because the pages need the whole web framework.
    from collection.output.archive.static_pages import write_pages

    pages = write_pages(site, data / PAGES, name=name, day=day, progress=progress).pages
    papers = 0
    if (site / PAPERS).is_dir():
        os.rename(site / PAPERS, data / PAPERS)
        papers = sum(1 for path in (data / PAPERS).rglob("*.pdf"))
    return pages, papers
