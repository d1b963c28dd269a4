"""Which code is read as which: renamed things, and codes that turned out to be one thing.

Records stay under the codes they were stored with. Later statements are kept in `same_things`: `rename` gives a stored
code another name, `same` says that it is the same thing as another stored code. Readers that put an object together
ask here what each code is called now, and ingest asks under which code a thing is stored. While nothing was ever
stated, this costs one look into an empty table.
"""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property
from itertools import product
from typing import Any
from weakref import WeakKeyDictionary

from collection.language.words import parts_of
from collection.records.codes import CODE_COLUMN, OWN_CODES, SPARED, sheets_of
from collection.records.columns import BETWEEN
from collection.records.row import Record
from collection.store.base.chain import MADE_AT
from collection.store.base.database import Database
from collection.store.schema.tables import blank_of, fills_blank

RENAME, SAME = "rename", "same"
ALL = "all"

Node = tuple[str, str, str]
"""Sheet, object and code as stored; for an object the code is blank."""


@dataclass(frozen=True, slots=True)
class Statement:
    """One statement in force: `node` is called `other` (rename), or is the same thing as `other` (same)."""

    action: str
    node: Node
    other: Node
    change: int
    by: str
    why: str
    at: str


@dataclass
class Names:
    """How stored codes are read, indexed by sheet, object and code."""

    statements: tuple[Statement, ...]
    stated: dict[str, int]
    """For each stored object, the newest change that stated or took back anything about its codes."""
    first: dict[Node, Node] = field(default_factory=dict)
    """For a node that is one thing with others, the node whose code they all go by."""
    called: dict[Node, str] = field(default_factory=dict)
    """The present code of a node that was renamed."""
    stored_as: dict[Node, Node] = field(default_factory=dict)
    """For a code that was only ever a name, the node that has or had this name."""
    members: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """For each present object number, the stored numbers that are read as it, where there is more than itself."""
    _own: dict[tuple[str, str], list[Node]] = field(default_factory=dict)
    """For each sheet and stored object, the nodes that are read under another code."""
    touched: frozenset[str] = frozenset()
    """Stored objects with any code that is read as another."""

    def __post_init__(self) -> None:
        # Objects first: what two of them have in common is one thing for as long as they are one object.
        for made in sorted(self.statements, key=lambda made: made.node[0] != "objects"):
            if made.action == RENAME:
                self.called[made.node] = made.other[2] or made.other[1]
                self.stored_as[made.other] = made.node
            elif made.node[0] == "objects" or self._one_object(made.node[1], made.other[1]):
                ours, theirs = self._first(made.node), self._first(made.other)
                for node in [made.node, *(n for n, f in self.first.items() if f == ours), ours]:
                    self.first[node] = theirs
        self.first = {node: first for node, first in self.first.items() if node != first}
        objects = {
            object_code
            for sheet, object_code, _ in [*self.first, *self.first.values(), *self.called]
            if sheet == "objects"
        }
        groups: dict[str, list[str]] = defaultdict(list)
        for object_code in sorted(objects):
            groups[self.object(object_code)].append(object_code)
        # The number they are all read as comes first, so that its rows speak before the others'.
        self.members = {
            shown: tuple(sorted(codes, key=lambda c: (self._first(("objects", c, "")) != ("objects", c, ""), c)))
            for shown, codes in groups.items()
        }
        for node in dict.fromkeys((*self.first, *self.called)):
            self._own.setdefault(node[:2], []).append(node)
        self.touched = frozenset(node[1] for node in (*self.first, *self.first.values(), *self.called)) | {
            *self.members_stored
        }

    @property
    def members_stored(self) -> tuple[str, ...]:
        """The stored numbers of objects that were renamed or are one with others."""
        return tuple(code for codes in self.members.values() for code in codes)

    def _first(self, node: Node) -> Node:
        return self.first.get(node, node)

    def _one_object(self, one: str, other: str) -> bool:
        return self._first(("objects", one, "")) == self._first(("objects", other, ""))

    def code(self, sheet: str, object_code: str, code: str) -> str:
        """How a stored code of an object is called now; `place` is asked for zones and parts alike."""
        for kind in sheets_of(sheet):
            node = (kind, object_code, code)
            first = self._first(node)
            called = self.called.get(first, first[2])
            if called != code:
                return called
        return code

    def object(self, object_code: str) -> str:
        """The present number of an object, from a stored one or from a name it has or had."""
        node = ("objects", object_code, "")
        first = self._first(self.stored_as.get(node, node))
        return self.called.get(first, first[1])

    def objects(self, object_code: str) -> tuple[str, ...]:
        """Every stored number that is read as the same object, the first of them first."""
        shown = self.object(object_code)
        return self.members.get(shown, (shown,))

    def is_first(self, sheet: str, object_code: str, code: str) -> bool:
        """Whether a stored code is the one that its thing is read as."""
        return all((kind, object_code, code) not in self.first for kind in sheets_of(sheet))

    def codes(self, sheet: str, object_code: str, code: str) -> Iterator[tuple[str, str]]:
        """Stored object and code of everything that is called this now, and then of what once was; things stored under
        the code itself come first."""
        kinds = sheets_of(sheet)
        owns = self.objects(object_code)
        stored_so = [(own, code) for own in owns]
        others = [node[1:] for own in owns for kind in kinds for node in self._own.get((kind, own), ())]
        former = [node[1:] for own in owns for kind in kinds if (node := self.stored_as.get((kind, own, code)))]
        now = [each for each in (*stored_so, *others) if self.code(sheet, *each) == code]
        yield from dict.fromkeys((*now, *stored_so, *former))

    def translate(self, record: type[Record], row: dict[str, Any]) -> dict[str, Any]:
        """A stored row with every code as it is called now."""
        own = row["object"]
        said = dict(row)
        for name, sheet in coded_columns(record):
            value = row.get(name)
            if value in (None, "", ALL):
                continue
            if sheet == "objects":
                said[name] = self.object(value)
            elif sheet == "coat":
                scheme, slash, role = value.partition("/")
                said[name] = self.code("schemes", own, scheme) + slash + role
            elif sheet == SPARED:
                said[name] = BETWEEN.join(dict.fromkeys(self.code(sheet, own, part) for part in parts_of(value)))
            else:
                said[name] = self.code(sheet, own, value)
        return said

    def renamed(self, record: type[Record], row: dict[str, Any]) -> dict[str, Any]:
        """A stored row under the present names of renamed things, but with the code of each where two are one thing:
        ingest recognises it as this very row."""
        return self._renames.translate(record, row)

    @cached_property
    def _renames(self) -> Names:
        return Names(tuple(made for made in self.statements if made.action == RENAME), {})

    def rank(self, record: type[Record], row: Mapping[str, Any]) -> int:
        """How many codes of a stored row are read as another thing's; rows are merged in this order, so the one with
        none speaks first."""
        own = row["object"]
        return sum(
            not self.is_first(sheet, value if sheet == "objects" else own, "" if sheet == "objects" else value)
            for name, sheet in coded_columns(record)
            if name in record.key and sheet != "coat" and (value := row.get(name)) not in (None, "", ALL)
        )

    def stored(self, sheet: str, object_code: str, code: str) -> str:
        """The stored code of a name, or of a code that is stored itself."""
        for kind in sheets_of(sheet):
            node = self.stored_as.get((kind, object_code, code))
            if node is not None:
                return node[2]
        return code

    def to_stored(self, record: type[Record], values: Mapping[str, Any], object_code: str) -> dict[str, Any]:
        """The values of a record with every code as it is stored."""
        found = dict(values)
        for name, sheet in coded_columns(record):
            value = values.get(name)
            if value in (None, "", ALL) or name in record.key:
                continue
            if sheet == "objects":
                node = self.stored_as.get(("objects", value, ""))
                found[name] = node[1] if node else value
            elif sheet == "coat":
                scheme, slash, role = value.partition("/")
                found[name] = self.stored("schemes", object_code, scheme) + slash + role
            elif sheet == SPARED:
                found[name] = BETWEEN.join(
                    dict.fromkeys(self.stored(sheet, object_code, part) for part in parts_of(value))
                )
            else:
                found[name] = self.stored(sheet, object_code, value)
        return found

    def moved(self, later: Names, sheet: str, object_code: str, code: str) -> str:
        """What a thing called `code` here is called in a later state of the names."""
        for own in self.objects(object_code):
            for kind in sheets_of(sheet):
                said = [
                    node for node in (*self._own.get((kind, own), ()), (kind, own, code)) if self.code(*node) == code
                ]
                # Of several that were one it is the one that they were read as.
                called = later.code(*self._first(said[0])) if said else code
                if called != code:
                    return called
        return code

    def readings(self, record: type[Record], key: tuple[Any, ...]) -> Iterator[tuple[Any, ...]]:
        """Every stored key that a key in present or former codes may mean, as it is written first."""
        targets = dict(coded_columns(record))
        seen = set()
        for own in self.objects(key[0]) if targets.get("object") == "objects" else (key[0],):
            options: list[Iterable[Any]] = []
            for name, part in zip(record.key[1:], key[1:], strict=True):
                sheet = targets.get(name)
                blank = fills_blank(record, record.column(name)) and part == blank_of(record.column(name))
                options.append(
                    (part,)
                    if sheet is None or blank or part == ALL
                    else dict.fromkeys(code for o, code in self.codes(sheet, own, part) if o == own)
                )
            for parts in product(*options):
                if (own, *parts) not in seen:
                    seen.add((own, *parts))
                    yield (own, *parts)


@cache
def coded_columns(record: type[Record]) -> tuple[tuple[str, str], ...]:
    """The columns of a sheet that hold a code, each with the sheet of the thing; `coat` is a scheme with its role."""
    found = []
    for column in record.columns():
        if column.kind == "coat":
            found.append((column.name, "coat"))
        elif column.name == "object":
            found.append((column.name, "objects"))
        elif column.reference is not None and column.reference != "layers":
            found.append((column.name, column.reference))
        elif record.sheet in OWN_CODES and column.name == CODE_COLUMN[record.sheet]:
            found.append((column.name, record.sheet))
    return tuple(found)


_LOADED: WeakKeyDictionary[Database, tuple[tuple[int, int], Names]] = WeakKeyDictionary()
"""For each connection the names loaded last, with what the connection had written and seen by then."""


def load(db: sqlite3.Connection) -> Names | None:
    """Every statement about codes that is in force; None where nothing was ever stated."""
    if db.execute("SELECT 1 FROM same_things LIMIT 1").fetchone() is None:
        return None
    if not isinstance(db, Database):
        return _load(db)
    # What this connection wrote, undone again or not, and what others did.
    state = (db.total_changes, db.execute("SELECT max(number) FROM changes").fetchone()[0])
    known = _LOADED.get(db)
    if known is None or known[0] != state:
        known = _LOADED[db] = (state, _load(db))
    return known[1]


def _load(db: sqlite3.Connection) -> Names:
    newest: dict[tuple[str, str, str], tuple[bool, Statement]] = {}
    stated: dict[str, int] = {}
    # A file of an earlier version, which `check` reads as well, came from no other.
    copied = db.execute("SELECT 1 FROM sqlite_master WHERE name = 'first_made'").fetchone() is not None
    for sheet, key, same_as, holds, change, action, by, why, at in db.execute(
        'SELECT s.sheet, s."key", s.same_as, s.holds, s.change, c.action, c."by", c.why, '
        f"{MADE_AT if copied else 'c.at'} FROM same_things AS s JOIN changes AS c ON c.number = s.change "
        "ORDER BY s.change, s.rowid"
    ):
        node, other = node_of(sheet, key), node_of(sheet, same_as)
        for object_code in (node[1], other[1]):
            stated[object_code] = change
        newest.pop((sheet, key, same_as), None)
        newest[sheet, key, same_as] = (bool(holds), Statement(action, node, other, change, by, why, at))
    known = Names(tuple(made for holds, made in newest.values() if holds), stated)
    if known.members:
        marks = ", ".join("?" * len(known.members_stored))
        known.touched |= {
            code
            for (code,) in db.execute(f"SELECT object FROM objects WHERE part_of IN ({marks})", known.members_stored)
        }
    return known


def node_of(sheet: str, key: str) -> Node:
    """A key of the table as a node."""
    if sheet == "objects":
        return (sheet, key, "")
    object_code, _, code = key.rpartition("/")
    return (sheet, object_code, code)


def text_of(node: Node) -> str:
    """A node as people write it."""
    return node[1] if node[0] == "objects" else f"{node[1]}/{node[2]}"


def shown_objects(db: sqlite3.Connection, codes: Iterable[str]) -> set[str]:
    """The present numbers of some objects."""
    names = load(db)
    return set(codes) if names is None else {names.object(code) for code in codes}


def last_stated(db: sqlite3.Connection, object_code: str) -> int:
    """The newest change that stated or took back anything about the codes of an object; 0 where there is none."""
    known = load(db)
    return 0 if known is None else max((known.stated.get(code, 0) for code in known.objects(object_code)), default=0)
