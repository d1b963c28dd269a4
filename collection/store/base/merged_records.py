"""Merges duplicate records: rows of things that are read as one become one row, and blanks are filled from the others.

These are pure functions over rows. Where merged rows contradict each other in a column that computing reads, nothing
is chosen here: the difference is returned, and the statement or change that would cause it is refused
(`collection.store.changes.agreement`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from collection.compute.build_up.readings import shown_later
from collection.records.codes import OWN_CODES
from collection.records.row import Record, key_text
from collection.records.sheets import DATED_STATES, Scheme
from collection.store.base.names import Names, Node
from collection.values import dates

DESCRIPTIVE = frozenset(
    {
        "name",
        "title",
        "description",
        "listed_condition",
        "caption",
        "basis",
        "keep_why",
        "mount",
        "instrument",
        "kept_at",
        "drawing",
        "outline",
        "area_basis",
        "visibility",
        "source",
        "audience",
        "notes",
    }
)
"""Columns that no computation compares, like names of people: of two texts the first is shown. Whether a scheme has a
`basis` does count."""
PLAIN = frozenset({"components", "zones", "schemes", "hazards", "sources"})
"""Sheets in which two objects that are one may each have a record with the same code, if both say the same. In the
other sheets two such records are two observations or two plans, and one of them needs another code first."""
SPEAKS_BLANK = frozenset({"coverage", "coverage_pct", "state", "presence", "status", "keep", "counted_from", "extent"})
"""Columns in which a blank means something: a coat without coverage is there, a part without a state is not lost, a
sample's positions count from the support, and it speaks of one spot."""
LASTING = {
    "components": ("parent", "support", "origin"),
    "decorations": ("place", "kind", "scheme"),
    "claims": ("statement", "place", "decoration"),
    "hazards": ("kind", "component"),
}
"""For things with dated states, the columns that stay the same from state to state."""


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Two records that are read as one and contradict each other; without a column, two of which there may only be
    one."""

    sheet: str
    one: str
    other: str
    column: str | None
    said: tuple[Any, Any] = (None, None)

    def sentence(self) -> str:
        if self.column is None:
            return (
                f"{self.sheet} {self.one} and {self.other} have the same code, and are two things as far as "
                "anybody has said. Rename one of them first."
            )
        return (
            f"{self.sheet} {self.one} and {self.other} would be one, and differ in {self.column}: "
            f"{_said(self.said[0])} and {_said(self.said[1])}. Correct one of them first, or rename it if they are "
            "two."
        )


def join(names: Names, record: type[Record], rows: Iterable[Record]) -> tuple[list[Record], list[Disagreement]]:
    """The rows of one object's sheet under their present codes, merged so that each key comes once, and where they
    disagree.

    :param rows: rows of every stored number of the object, in any order.
    """
    by_key: dict[tuple[Any, ...], list[tuple[int, str, Record, dict[str, Any]]]] = defaultdict(list)
    for row in rows:
        stored = row.__dict__
        said = names.translate(record, stored)
        key = tuple(said[name] for name in record.key)
        by_key[key].append((names.rank(record, stored), row.key_text(), row, said))
    joined, found = [], []
    for same in by_key.values():
        same.sort(key=lambda entry: entry[:2])
        whole = dict(same[0][3])
        for _, _, row, said in same[1:]:
            found += _differences(names, record, same[0][2], row, whole, said)
            whole.update({name: value for name, value in said.items() if whole[name] in (None, "")})
        joined.append(record.model_construct(**whole))
    found += _lasting(names, record, [entry for same in by_key.values() for entry in same])
    return joined, found


def _differences(
    names: Names, record: type[Record], first: Record, other: Record, whole: dict[str, Any], said: dict[str, Any]
) -> list[Disagreement]:
    if record.sheet == "objects":
        return []
    one, two = first.key_text(), other.key_text()
    stated = record.sheet not in OWN_CODES or _is_stated(names, record, first, other)
    if not stated and record.sheet not in PLAIN:
        return [Disagreement(record.sheet, one, two, None)]
    passed = ("source", "audience", "notes") if not stated else DESCRIPTIVE
    found = [
        Disagreement(record.sheet, one, two, column.name, (whole[column.name], said[column.name]))
        for column in record.columns()
        if column.name not in record.key
        and column.name not in passed
        and not (stated and column.kind == "person")
        and (
            column.name in SPEAKS_BLANK
            or (whole[column.name] not in (None, "") and said[column.name] not in (None, ""))
        )
        and whole[column.name] != said[column.name]
    ]
    if isinstance(first, Scheme) and isinstance(other, Scheme) and not found:
        kept = ("not kept" if shown_later(first) else "kept", "not kept" if shown_later(other) else "kept")
        if kept[0] != kept[1]:
            found.append(Disagreement(record.sheet, one, two, "whether it is shown, with a basis, to be later", kept))
    return found


def _is_stated(names: Names, record: type[Record], first: Record, other: Record) -> bool:
    """Whether somebody said that these two records are one thing, and not only that their objects are."""
    nodes = [_node(record, row) for row in (first, other)]
    return nodes[0] == nodes[1] or names.first.get(nodes[0], nodes[0]) == names.first.get(nodes[1], nodes[1])


def _lasting(
    names: Names, record: type[Record], entries: Sequence[tuple[int, str, Record, dict[str, Any]]]
) -> list[Disagreement]:
    """Disagreements about what cannot change from state to state, between the codes of one thing."""
    if record.sheet not in DATED_STATES:
        return []
    by_code: dict[str, dict[Node, tuple[Any, ...]]] = defaultdict(dict)
    for _, _, row, said in sorted(entries, key=lambda entry: _day(entry[2])):
        by_code[said[record.key[1]]][_node(record, row)] = (row, said)
    found = []
    for states in by_code.values():
        (first, whole), *others = states.values()
        for row, said in others:
            found += [
                Disagreement(record.sheet, first.key_text(), row.key_text(), name, (whole[name], said[name]))
                for name in LASTING[record.sheet]
                if whole[name] and said[name] and whole[name] != said[name] and _day(first) != _day(row)
            ]
    return found


def circle(parents: dict[str, str | None]) -> list[str]:
    """A path from a thing through its parents back to itself; empty where there is none."""
    for start in sorted(parents):
        way = [start]
        here = parents[start]
        while here is not None and here in parents:
            if here == start:
                return [*way, start]
            if here in way:
                break
            way.append(here)
            here = parents[here]
    return []


def _node(record: type[Record], row: Record) -> Node:
    if record.sheet == "objects":
        return ("objects", row.__dict__["object"], "")
    return (record.sheet, row.__dict__["object"], str(row.__dict__[record.key[1]]))


def _day(row: Record) -> tuple[str, str]:
    written = row.__dict__.get("observed_on")
    span = dates.bounds(written or None)
    return (span.latest, span.earliest) if written else ("", "")


def _said(value: Any) -> str:
    return "nothing" if value in (None, "") else str(value)


def joined_cells(names: Names, record: type[Record], rows: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Like `join`, for stored rows as mappings; `live` says whether a row is in account. A row that is not adds
    nothing to one that is. If any of them is for staff, the merged row is."""
    by_key: dict[str, list[tuple[bool, int, dict[str, Any], dict[str, Any]]]] = defaultdict(list)
    for row in rows:
        said = names.translate(record, row)
        key = key_text(record.sheet, [None if said[name] in ("", 0) else said[name] for name in record.key])
        by_key[key].append((not row["live"], names.rank(record, row), row, said))
    found = []
    for same in by_key.values():
        same.sort(key=lambda entry: entry[:2])
        whole = dict(same[0][3])
        for gone, _, _, said in same[1:]:
            if not gone:
                whole.update({name: value for name, value in said.items() if whole.get(name) in (None, "")})
                if said.get("audience") == "staff":
                    whole["audience"] = "staff"
        found.append(whole)
    return found
