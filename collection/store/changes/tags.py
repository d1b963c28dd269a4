"""Which tags hang on which objects: who hung what where and when, what it said, and when it came off.

Each statement is a row of its own under a change; of several about one tag the newest holds.
"""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from collection.language.errors import BadValue, WrongCommand
from collection.records import cells
from collection.records.codes import natural
from collection.store.base import names
from collection.store.changes.change import Where, change, transaction
from collection.store.schema.system_tables import TAGS

HANG, TAKE_OFF = "hang tag", "take off tag"
"""What such changes are called."""
_COLUMNS = tuple(column.name for column in TAGS.columns)


@dataclass(frozen=True, slots=True)
class Tag:
    """One tag as it hangs, or hung, on an object; the columns of the table `tags`."""

    object: str
    number: int
    kind: str
    audience: str
    says_sha256: str
    address: str | None
    told_on: str
    hangs_at: str
    hung_by: str
    hung_on: str
    taken_off_on: str | None = None
    change: int = 0

    @property
    def hangs(self) -> bool:
        return self.taken_off_on is None

    def says(self, now: str | None, address: str | None) -> bool:
        """Whether it says what a tag would say now.

        One that was hung before the newest change of its object was made may say something else than was recorded for
        it, so it does not count; a day is allowed for clocks that differ.

        :param now: the hash of what it would say; None where it would say nothing.
        :param address: that of the object's page now; None where none is known, and what the tag names is as good.
        """
        return (
            self.says_sha256 == now
            and (address is None or self.address == address)
            and date.fromisoformat(self.hung_on) >= date.fromisoformat(self.told_on) - timedelta(days=1)
        )


def tags(db: sqlite3.Connection, object_code: str | None = None) -> list[Tag]:
    """Every tag as it was stated last, under the present numbers of objects: all, or those of one object, each object's
    numbered in the order in which they were hung."""
    return [tag for tag, _ in _shown(db, object_code)]


def _shown(db: sqlite3.Connection, object_code: str | None) -> list[tuple[Tag, Tag]]:
    """Tags as they are told, each with the row that holds: of two objects that are one, the numbers may differ."""
    known = names.load(db)
    own = None if object_code is None else (object_code,) if known is None else known.objects(object_code)
    newest: dict[tuple[str, int], Tag] = {}
    for tag in _rows(db, own):
        newest[tag.object, tag.number] = tag
    counts: Counter[str] = Counter()
    found = []
    for tag in newest.values():
        shown = tag.object if known is None else known.object(tag.object)
        counts[shown] += 1
        found.append((replace(tag, object=shown, number=counts[shown]), tag))
    return sorted(found, key=lambda each: (natural(each[0].object), each[0].number))


def any_tags(db: sqlite3.Connection) -> bool:
    """Whether a tag was ever hung: a collection that uses none misses none."""
    return db.execute("SELECT 1 FROM tags LIMIT 1").fetchone() is not None


def with_covered_original(db: sqlite3.Connection) -> list[str]:
    """The present numbers of the objects with a place where original finish lies under later paint."""
    codes = (code for (code,) in db.execute("SELECT DISTINCT object FROM survival_places WHERE state = ?", (_COVERED,)))
    return sorted(names.shown_objects(db, codes))


_COVERED = "original covered"


def hang(db: Where, tag: Tag) -> Tag:
    """Record that a tag hangs on an object; its number and its change are filled in.

    :raises WrongCommand: where it is not said where it hangs or who hung it, or a day is none.
    """
    made = replace(
        tag,
        hangs_at=_said(tag.hangs_at, "where it hangs"),
        hung_by=_said(tag.hung_by, "who hung it there"),
        hung_on=_day(tag.hung_on),
    )
    with transaction(db) as connection:
        known = names.load(connection)
        stored = tag.object if known is None else known.objects(tag.object)[0]
        number = max((row.number for row in _rows(connection, (stored,))), default=0) + 1
        _write(connection, replace(made, object=stored, number=number), made.hung_by, HANG)
        return tags(connection, tag.object)[-1]


def take_off(db: Where, object_code: str, number: int | None, on: str, by: str) -> Tag:
    """Record that a tag no longer hangs.

    :param number: its number among those of the object; None where only one hangs.
    :raises WrongCommand: where none hangs, several do, or the day is before that of hanging.
    """
    with transaction(db) as connection:
        shown = _shown(connection, object_code)
        hanging = [(tag, row) for tag, row in shown if tag.hangs and number in (None, tag.number)]
        if not hanging:
            which = "No tag" if number is None else f"No tag {number}"
            raise WrongCommand(f"{which} hangs on {object_code}, as far as is recorded; nothing was changed.")
        if len(hanging) > 1:
            listed = "; ".join(f"{tag.number} at {tag.hangs_at}" for tag, _ in hanging)
            raise WrongCommand(f"{len(hanging)} tags hang on {object_code}: {listed}. Say which came off: --number N.")
        ((tag, row),) = hanging
        day = _day(on)
        if day < tag.hung_on:
            raise WrongCommand(f"That tag has hung since {tag.hung_on}; it cannot have come off on {day}.")
        _write(connection, replace(row, taken_off_on=day), by, TAKE_OFF)
        return replace(tag, taken_off_on=day)


def _write(db: sqlite3.Connection, tag: Tag, by: str, action: str) -> None:
    why = f"{tag.hangs_at}, {tag.taken_off_on or tag.hung_on}"
    with change(db, by, why, action, f"{tag.object}, {tag.kind} {tag.number}") as made:
        written = replace(tag, change=made.number)
        db.execute(
            f"INSERT INTO tags ({', '.join(_COLUMNS)}) VALUES ({', '.join('?' * len(_COLUMNS))})",
            [getattr(written, name) for name in _COLUMNS],
        )


def _rows(db: sqlite3.Connection, codes: Iterable[str] | None) -> list[Tag]:
    listed = ", ".join(_COLUMNS)
    if codes is None:
        return [Tag(*row) for row in db.execute(f"SELECT {listed} FROM tags ORDER BY change")]
    rows: list[Any] = [
        row for code in codes for row in db.execute(f"SELECT {listed} FROM tags WHERE object = ?", (code,))
    ]
    return sorted((Tag(*row) for row in rows), key=lambda tag: tag.change)


def _said(text: str, what: str) -> str:
    try:
        said = cells.clean(text)
    except BadValue as fault:
        raise WrongCommand(f"{what.capitalize()}: {fault}") from fault
    if not said:
        raise WrongCommand(f"Say {what}.")
    return said


def _day(text: str) -> str:
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError as error:
        raise WrongCommand(f"{text!r} is no day; write it as 2026-05-03.") from error
