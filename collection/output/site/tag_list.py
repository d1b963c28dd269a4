"""Every tag that hangs in a collection, which are out of date, and where one is missing."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from collection.language.errors import WrongCommand
from collection.output.published import stored_objects
from collection.output.published.audience import STAFF, Audience
from collection.output.site.computed_objects import ComputedObjects, task_for
from collection.output.tag.told import page_of, tag_hash, tag_told
from collection.records.codes import natural
from collection.store.base import database
from collection.store.base.read import load_facts
from collection.store.changes.tags import Tag, tags, with_covered_original

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Now:
    """What a tag for an object says now: the hash of it, the address in its code, the day that it gives."""

    object: str
    says_sha256: str
    address: str | None
    told_on: str


@dataclass(frozen=True, slots=True)
class TagList:
    """The tags that hang, each with the object's title and whether it is up to date, and the objects, with their titles,
    where original finish is covered and none hangs."""

    hanging: list[tuple[Tag, str, bool]]
    missing: list[tuple[str, str]]

    def as_json(self) -> Json:
        return {
            "format": 1,
            "tags": [
                {**asdict(tag), "title": title, "up_to_date": up_to_date} for tag, title, up_to_date in self.hanging
            ],
            "out_of_date": sum(not up_to_date for _, _, up_to_date in self.hanging),
            "missing": [{"object": code, "title": title} for code, title in self.missing],
        }


def tag_list(path: Path) -> TagList:
    """Every tag that hangs, and where one is missing, from one state of a database."""
    with TemporaryDirectory() as folder, database.opened(path, write=False) as connection:
        connection.execute("BEGIN")
        hanging = [tag for tag in tags(connection) if tag.hangs]
        tagged = {tag.object for tag in hanging}
        computed = ComputedObjects(connection, task_for(connection, path, STAFF, Path(folder)))
        found = [
            (tag, stored.case.facts.object.title, bool(up_to_date))
            for stored in stored_objects.objects(connection, sorted(tagged, key=natural))
            for tag, up_to_date in computed.tags(stored)
        ]
        missing = [
            (code, load_facts(connection, code).object.title)
            for code in sorted(with_covered_original(connection), key=natural)
            if code not in tagged
        ]
    return TagList(found, missing)


def tag_now(
    connection: sqlite3.Connection, path: Path, code: str, audience: str, about: Mapping[str, str | None]
) -> Now:
    """What a tag for an object would say now.

    :raises InputRefused: where there is no such object.
    :raises WrongCommand: where it is not for this audience.
    """
    shown = load_facts(connection, code).object.object
    with TemporaryDirectory() as folder:
        computed = ComputedObjects(connection, task_for(connection, path, STAFF, Path(folder)))
        (stored,) = stored_objects.objects(connection, [shown])
        published = computed.for_tag(stored, Audience(audience).word)
    if published is None:
        raise WrongCommand(f"{shown} is for staff only: say --audience staff, or its tag would say nothing.")
    told = tag_told(published, about)
    page = page_of(published, about.get("collection_address"))
    return Now(shown, tag_hash(told), page, told["day"])
