"""Whose collection this is: code, name, contact, lasting address, licence.

Each statement is a row of its own under a change, so that what was said before stays readable.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Mapping
from dataclasses import asdict, dataclass

from collection.language.errors import BadValue, Fault, InputRefused
from collection.records import cells
from collection.records.columns import Column
from collection.store.base.chain import MADE_AT
from collection.store.changes.change import Where, change, transaction

STATE = "collection"
"""What such a change is called."""
COLUMNS = (
    Column("code", "code", "the short code by which others name the collection"),
    Column("name", "person", "what the collection is called"),
    Column("contact", "person", "whom to ask about it"),
    Column("address", "person", "the lasting web address of its pages"),
    Column("licence", "person", "under what its records may be used"),
)
ADDRESS = re.compile(r"https?://[A-Za-z0-9.-]+(?::\d{1,5})?/(?:(?!\.{1,2}/)[A-Za-z0-9._~-]+/)*")
"""The address of a site, which those of its pages follow."""


@dataclass(frozen=True, slots=True)
class Collection:
    """Whose collection it is, as far as it is recorded; all of it is meant to be published."""

    code: str | None = None
    name: str | None = None
    contact: str | None = None
    address: str | None = None
    licence: str | None = None

    def as_json(self) -> dict[str, str | None]:
        return asdict(self)


@dataclass(frozen=True, slots=True)
class Statement:
    """What somebody said of the collection, when and why."""

    collection: Collection
    change: int
    at: str
    by: str
    why: str


def present(db: sqlite3.Connection) -> Collection:
    """What holds now; all blank where nobody has said anything."""
    said = statements(db)
    return said[-1].collection if said else Collection()


def statements(db: sqlite3.Connection) -> list[Statement]:
    """Everything that was ever said of the collection, oldest first."""
    names = ", ".join(f's."{column.name}"' for column in COLUMNS)
    return [
        Statement(Collection(*row[:5]), *row[5:])
        for row in db.execute(
            f'SELECT {names}, c.number, {MADE_AT}, c."by", c.why FROM collection AS s '
            "JOIN changes AS c ON c.number = s.change ORDER BY s.change"
        )
    ]


def state(db: Where, values: Mapping[str, str], by: str, why: str) -> int:
    """Say whose collection it is, given as texts by name; `not recorded` clears one. Returns the change.

    :raises InputRefused: for an unknown name, a value that it cannot hold, or where nothing would change.
    """
    given, faults = _read(values)
    if faults:
        raise InputRefused(faults)
    with transaction(db) as connection:
        before = present(connection).as_json()
        after = {**before, **given}
        if after == before:
            raise InputRefused([_fault("", None, "The collection's row says this already; nothing was changed.")])
        with change(connection, by, why, STATE, after["code"] or after["name"] or "") as made:
            connection.execute(
                "INSERT INTO collection (code, name, contact, address, licence, change) VALUES (?, ?, ?, ?, ?, ?)",
                (*after.values(), made.number),
            )
        return made.number


def _read(values: Mapping[str, str]) -> tuple[dict[str, str | None], list[Fault]]:
    known = {column.name: column for column in COLUMNS}
    found: dict[str, str | None] = {}
    faults = []
    for name, text in values.items():
        try:
            if name not in known:
                raise BadValue(f"A collection has no {name!r}; it has {', '.join(known)}.")
            value = cells.read_cell(known[name], text)
            if value is None:
                raise BadValue("A blank changes nothing. Write `not recorded` to clear it.")
            found[name] = None if value is cells.CLEAR else _address(str(value)) if name == "address" else str(value)
        except BadValue as fault:
            faults.append(_fault(name, text, str(fault)))
    return found, faults


def _address(text: str) -> str:
    """The address ending in /, so that the addresses of pages can follow it."""
    whole = text if text.endswith("/") else f"{text}/"
    if ADDRESS.fullmatch(whole) is None:
        raise BadValue(
            "This is no lasting address. Write it as https://host/ or https://host/path/, without ? or # and what "
            "follows them."
        )
    return whole


def _fault(name: str, value: str | None, message: str) -> Fault:
    return Fault("collection", "", None, name or None, value, message)
