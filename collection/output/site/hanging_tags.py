"""The tags that hang on an object, and whether each still says what is known."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from typing import Any

from collection.compute.risk.threat import Hanging
from collection.output.published.audience import Audience
from collection.output.published.published_object import PublishedObject
from collection.output.tag.told import page_of, tag_hash, tag_told
from collection.store.changes import collection_row
from collection.store.changes.tags import Tag

Json = dict[str, Any]


def about_collection(connection: sqlite3.Connection) -> dict[str, str | None]:
    """Whose collection it is, under the names that `tag_told` reads."""
    return {f"collection_{name}": text for name, text in collection_row.present(connection).as_json().items()}


def judged(
    hanging: list[Tag], told: Mapping[str, PublishedObject | None], about: Mapping[str, str | None]
) -> list[tuple[Tag, bool | None]]:
    """Each tag, and whether it says what is known; None where this may not be told.

    :param told: by audience the object as it may be told to them: None where it may not be told to them at all; an
        audience that is not in it is one whose tags are not judged here.
    """
    found: list[tuple[Tag, bool | None]] = []
    now: dict[str, tuple[str | None, str | None]] = {}
    for tag in hanging:
        if tag.audience not in told:
            found.append((tag, None))
            continue
        if tag.audience not in now:
            published = told[tag.audience]
            now[tag.audience] = (
                (None, None)
                if published is None
                else (tag_hash(tag_told(published, about)), page_of(published, about.get("collection_address")))
            )
        found.append((tag, tag.says(*now[tag.audience])))
    return found


def as_published(judgement: list[tuple[Tag, bool | None]], audience: Audience) -> list[Json]:
    """What a site says of them: where one hangs and who hung it is for staff."""
    return [
        {
            "number": tag.number,
            "kind": tag.kind,
            "hung_on": tag.hung_on,
            "up_to_date": up_to_date,
            **(
                {"audience": tag.audience, "hangs_at": tag.hangs_at, "hung_by": tag.hung_by}
                if audience.is_staff
                else {}
            ),
        }
        for tag, up_to_date in judgement
    ]


def as_hanging(code: str, judgement: list[tuple[Tag, bool | None]]) -> list[Hanging]:
    """The same as the threats read it."""
    return [Hanging(f"{code}/{tag.number}", tag.kind, up_to_date) for tag, up_to_date in judgement]
