"""Computes the published rows of objects, one after the other, or takes them over from the site that is replaced."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Mapping
from dataclasses import astuple, dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import collection
from collection.language.errors import WrongCommand
from collection.output.drawings.figures import kept_figures
from collection.output.published import stored_objects
from collection.output.published.audience import PUBLIC, Audience, PublicRows, Row, row_key, rows_for
from collection.output.published.comparisons import comparisons
from collection.output.published.documents import object_document
from collection.output.published.glances import best_picture, glance
from collection.output.published.published_object import PublishedObject
from collection.output.published.published_pictures import PublishedPictures
from collection.output.published.stored_objects import StoredObject
from collection.output.site import papers
from collection.output.site.hanging_tags import about_collection, as_hanging, as_published, judged
from collection.output.site.object_rows import ObjectRows, object_rows
from collection.output.site.old_site import OldSite
from collection.output.site.reviews import reviews
from collection.records.codes import natural
from collection.records.sheets import BY_SHEET, SHEETS
from collection.store.base.read import load_facts
from collection.store.changes import collection_row
from collection.store.changes.tags import Tag, any_tags
from collection.values.resources import schema_folder


@dataclass(frozen=True)
class Task:
    """What every process that computes objects has to know.

    :ivar folder: where the image files go.
    :ivar everyone: the accession numbers of all objects that are published.
    :ivar state: the newest change and its hash, which name the state of the database that is published.
    :ivar day: the day of that change, YYYY-MM-DD: what is past its date is so by then.
    :ivar program: the checksum of the program.
    :ivar old: the folder of the site that is replaced.
    :ivar papers: what each report and tag says beside the records; None where none are made.
    """

    database: Path
    folder: Path
    audience: Audience
    everyone: frozenset[str]
    state: tuple[int, str] | None
    day: str
    program: str
    old: Path | None
    papers: Mapping[str, str] | None = None


class ComputedObjects:
    """The published rows of each object, from one database in one state."""

    def __init__(self, connection: sqlite3.Connection, task: Task) -> None:
        self.connection, self.task = connection, task
        self.surveys = {row["code"]: row for row in stored_objects.surveys(connection)}
        self.pictures = PublishedPictures(task.database, task.folder, task.audience)
        self.old = None if task.old is None else OldSite(task.old)

    def __getitem__(self, code: str) -> ObjectRows:
        (stored,) = stored_objects.objects(self.connection, [code])
        inputs = self.inputs(stored)
        if self.old is not None:
            found = self.old.take(code, inputs, self.pictures, self.task.papers is not None)
            if found is not None:
                return found
        made = self._computed(stored)
        left_out = json.dumps(made.left_out, ensure_ascii=False)
        made.add("computed", {"object": code, "inputs": inputs, "left_out": left_out, "changed_on": self.task.day})
        return made

    def close(self) -> None:
        if self.old is not None:
            self.old.close()

    def inputs(self, stored: StoredObject) -> str:
        """The checksum of everything from which an object's rows are computed.

        The hash of the first change, which is published nowhere, goes in too: nobody can try out by the checksum what
        a record that is held back might say.
        """
        task = self.task
        rows = stored.rows
        brought = sorted({row["survey"] for found in rows.values() for row in found if row["survey"]})
        referred = {row[name] for sheet, names in _TO_OBJECTS.items() for row in rows.get(sheet, ()) for name in names}
        read = [
            self._salt,
            task.program,
            task.audience.word,
            task.audience.names,
            task.day if _runs_out(rows) else None,
            None if task.papers is None else [dict(task.papers), papers.printed_by()],
            [self.surveys.get(code) for code in brought],
            sorted(referred & task.everyone),
            rows,
            stored.decisions,
            stored.overrides,
            stored.answers,
            stored.changed_on,
            sorted([*key, sha256] for key, sha256 in stored.files.items()),
            [cell.as_json() for cell in stored.listed],
            [astuple(tag) for tag in stored.tags],
            self.about if stored.tags else None,
            self.tags_used,
            self.has_address,
        ]
        return hashlib.sha256(json.dumps(read, ensure_ascii=False).encode()).hexdigest()

    @cached_property
    def _salt(self) -> str | None:
        found = self.connection.execute("SELECT hash FROM changes ORDER BY number LIMIT 1").fetchone()
        return None if found is None else found[0]

    @cached_property
    def about(self) -> dict[str, str | None]:
        """Whose collection it is, which its tags say."""
        return about_collection(self.connection)

    @cached_property
    def has_address(self) -> bool:
        """Whether the collection says where its pages stand."""
        return collection_row.present(self.connection).address is not None

    @cached_property
    def tags_used(self) -> bool:
        """Whether readers are told of missing tags: staff of a collection that hangs some."""
        return self.task.audience.is_staff and any_tags(self.connection)

    def told(self, stored: StoredObject) -> tuple[PublicRows, PublishedObject]:
        """An object's rows that are published, and its document; its pictures are put into the folder."""
        task = self.task
        public = rows_for(task.audience, stored.rows, task.everyone)
        shown = self.pictures.publish(stored, public)
        drawn = self.pictures.publish_drawings(stored, public)
        judgement = self.tags(stored)
        document = object_document(
            stored,
            public,
            self.surveys,
            shown,
            drawn,
            audience=task.audience,
            on=task.day,
            hanging=as_hanging(stored.object, judgement),
            tags=as_published(judgement, task.audience),
            tags_used=self.tags_used,
            on_site=self.has_address and stored.object in self._public,
        )
        return public, PublishedObject(document, kept_figures)

    def tags(self, stored: StoredObject) -> list[tuple[Tag, bool | None]]:
        """The tags that hang on an object, and whether each says what is known. What one for staff says is not judged for
        the public, who would learn that something held back has changed."""
        words = {tag.audience for tag in stored.tags}
        told = {word: self.for_tag(stored, word) for word in words if self.task.audience.is_staff or word == "public"}
        return judged(stored.tags, told, self.about) if stored.tags else []

    def for_tag(self, stored: StoredObject, word: str) -> PublishedObject | None:
        """An object as its tag tells it to an audience: without pictures and proposals, of which a tag says nothing; None
        where it is not for this audience."""
        audience = Audience(word)
        if stored.object not in (self.task.everyone if word == self.task.audience.word else self._public):
            return None
        public = rows_for(audience, stored.rows, self.task.everyone)
        of_none = {sheet: rows for sheet, rows in public.rows.items() if not sheet.startswith("proposal")}
        light = replace(public, rows=of_none)
        drawn = self.pictures.publish_drawings(stored, light)
        return PublishedObject(
            object_document(stored, light, self.surveys, {}, drawn, audience=audience, on=self.task.day)
        )

    @cached_property
    def _public(self) -> frozenset[str]:
        return frozenset(stored_objects.objects_for(PUBLIC, self.connection))

    def _computed(self, stored: StoredObject) -> ObjectRows:
        task = self.task
        public, published = self.told(stored)
        document = published.document
        if task.papers is not None:
            # A tag hangs where everybody reads it.
            to_all = self.for_tag(stored, "public") or published
            papers.put_papers(task.folder.parent / papers.PAPERS, published, to_all, task.folder, task.papers)
        made = object_rows(
            _in_order(public),
            document,
            comparisons(published),
            published.strata,
            published.figures,
            audience=task.audience,
        )
        best = best_picture(document)
        made.add(
            "glances",
            {"object": made.code, **glance(document, None if best is None else self.pictures.thumbnail(best["file"]))},
        )
        for review in reviews(published):
            made.add("reviews", {"object": made.code, **review})
        made.left_out = dict(self.pictures.left_out)
        return made


def told_object(
    connection: sqlite3.Connection, database: Path, code: str, audience: Audience, folder: Path
) -> PublishedObject:
    """One object straight from the database, as it would be published; its pictures are put into the folder.

    :raises InputRefused: where there is no such object.
    :raises WrongCommand: where it is not for this audience.
    """
    shown = load_facts(connection, code).object.object
    if shown not in stored_objects.objects_for(audience, connection):
        raise WrongCommand(f"{shown} is for staff only: nothing about it is told to the {audience.word}.")
    (stored,) = stored_objects.objects(connection, [shown])
    return ComputedObjects(connection, task_for(connection, database, audience, folder)).told(stored)[1]


def task_for(connection: sqlite3.Connection, database: Path, audience: Audience, folder: Path) -> Task:
    """The task of computing some objects straight from the database, as they would be published."""
    newest = stored_objects.newest_change(connection)
    return Task(
        database.resolve(),
        folder.resolve(),
        audience,
        frozenset(stored_objects.objects_for(audience, connection)),
        state_of(connection),
        newest["at"][:10] if newest else "",
        "",
        None,
    )


def state_of(connection: sqlite3.Connection) -> tuple[int, str] | None:
    """The newest change and its hash; None before the first. Records change only with a change."""
    found: tuple[int, str] | None = connection.execute(
        "SELECT number, hash FROM changes ORDER BY number DESC LIMIT 1"
    ).fetchone()
    return found


def program_checksum() -> str:
    """The SHA-256 of the program with its policy and reference tables: another version computes everything anew."""
    found = hashlib.sha256()
    for path in sorted(Path(collection.__file__).parent.rglob("*.py")):
        found.update(path.read_bytes())
    for part in (schema_folder(), schema_folder().joinpath("reference")):
        for file in sorted((each for each in part.iterdir() if each.is_file()), key=lambda each: each.name):
            found.update(file.read_bytes())
    return found.hexdigest()


_TO_OBJECTS = {
    record.sheet: [column.name for column in record.columns() if column.reference == "objects"]
    for record in SHEETS
    if record.sheet != "survey"
}
"""The columns of each sheet that name an object."""
_LAST_DAYS = {"treatments": "temporary_until", "advice": "until"}
"""The columns by which something is past its date on the day of publishing."""


def _runs_out(rows: Mapping[str, list[Row]]) -> bool:
    """Whether something on an object runs out some day, so that what threatens it depends on the day."""
    return any(row[name] for sheet, name in _LAST_DAYS.items() for row in rows.get(sheet, ()))


def _in_order(public: PublicRows) -> PublicRows:
    """The same rows in the order in which people count their codes."""

    def key(sheet: str, row: Mapping[str, Any]) -> Any:
        return natural(row_key(BY_SHEET[sheet], row))

    ordered = {sheet: sorted(rows, key=lambda row: key(sheet, row)) for sheet, rows in public.rows.items()}
    return PublicRows(ordered, public.withheld)
