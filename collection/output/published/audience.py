"""Which columns and rows the readers of a site may see.

For the public everything is held back unless it is allowed: a column by its declaration in `records.sheets`, a
row by its audience and by the audience of everything it belongs to. Staff have every column and every row in account;
neither has rows that were withdrawn, files by their own names, source packages or the history. For the public, a row
that points to something held back goes with it, except through the few references of `BLANKED`, which say something
about a row that stands without them: there the cell is blanked and the row stays.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from collection.language.words import AUDIENCE, parts_of
from collection.records.codes import sheets_of
from collection.records.columns import BETWEEN, Column
from collection.records.sheets import BY_SHEET, SHEETS, Record

Row = dict[str, Any]

NEVER = frozenset({"notes", "audience"})
"""Columns that are never public, however they are declared."""
BLANKED = frozenset(
    {
        ("objects", "part_of"),
        ("zones", "drawing"),
        ("layers", "scheme"),
        ("decorations", "scheme"),
        ("treatments", "proposal"),
        ("advice", "done_by"),
        ("advice", "replaced_by"),
        ("proposals", "instead_of"),
    }
)
"""References, beside `source`, that are blanked when what they name is held back."""
ALL = "all"


@dataclass(frozen=True)
class Audience:
    """Whom a site is for, `public` or `staff`, and whether it shows people's names."""

    word: str = "public"
    names: bool = False

    def __post_init__(self) -> None:
        if self.word not in AUDIENCE.words:
            raise ValueError(f"{self.word} is no audience")
        if self.word == "staff":
            object.__setattr__(self, "names", True)

    @property
    def is_staff(self) -> bool:
        return self.word == "staff"

    def columns(self, record: type[Record]) -> tuple[Column, ...]:
        """A sheet's columns that this audience may read.

        Files are never copied by name: what is published of a picture is named by `collection.output.site.publish`.
        """
        return tuple(
            column
            for column in record.columns()
            if column.kind != "file"
            and (
                self.is_staff
                or (not column.private and column.name not in NEVER and (self.names or column.kind != "person"))
            )
        )


PUBLIC, STAFF = Audience(), Audience("staff")


@dataclass
class PublicRows:
    """One object's rows that are published, by sheet, whole; `withheld` counts those in account that are held back."""

    rows: dict[str, list[Row]] = field(default_factory=dict)
    withheld: dict[str, int] = field(default_factory=dict)

    def __bool__(self) -> bool:
        return bool(self.rows.get("objects"))

    def keys(self, sheet: str) -> set[str]:
        """The keys of a sheet's public rows, as texts."""
        record = BY_SHEET[sheet]
        return {row_key(record, row) for row in self.rows.get(sheet, ())}


def row_key(record: type[Record], row: Mapping[str, Any]) -> str:
    """`OBJECT/CODE[/…]` of a stored row, as `Record.key_text` writes it."""
    parts = ["" if row[name] in (None, "", 0) else str(row[name]) for name in record.key]
    while len(parts) > 1 and not parts[-1]:
        parts.pop()
    return "/".join(parts)


def rows_for(audience: Audience, rows: Mapping[str, list[Row]], objects: frozenset[str]) -> PublicRows:
    """The rows of one object that count and that an audience may see.

    :param rows: by sheet, every row of the object, withdrawn ones too; `live` in each says whether it is in
        account. A row in account may point to one that is not: that shows nothing unless it is staff-only.
    :param objects: the accession numbers that are published, for references between objects.
    """
    if audience.is_staff:
        live = {sheet: kept for sheet, rows_of in rows.items() if (kept := [row for row in rows_of if row["live"]])}
        return PublicRows(live if "objects" in live else {})
    found = PublicRows()
    known: dict[str, set[Any]] = {"objects": set(objects), "place": {ALL}, "layers": set()}
    for record in SHEETS:
        if record.sheet == "survey":
            continue
        own = rows.get(record.sheet, [])
        kept = [row for row in own if row["audience"] != "staff"]
        while True:
            known[record.sheet] = {_target(record, row) for row in kept}
            if record.sheet in ("components", "zones"):
                known["place"] = {ALL} | known["components"] | known.get("zones", set())
            elif record.sheet == "objects":
                known["objects"] |= objects
            standing = [row for row in kept if _stands(record, row, known)]
            if len(standing) == len(kept):
                break
            kept = standing
        shown = [_blanked(record, row, known) for row in kept if row["live"]]
        if record.sheet == "objects" and not shown:
            return PublicRows()
        if shown:
            found.rows[record.sheet] = shown
        withheld = sum(1 for row in own if row["live"]) - len(shown)
        if withheld:
            found.withheld[record.sheet] = withheld
    return found


def _target(record: type[Record], row: Row) -> Any:
    """What other rows name a row by: its code, or (sample, position) for a layer."""
    if record.sheet == "layers":
        return (row["sample"], row["position"])
    return row[record.key[min(1, len(record.key) - 1)]]


def _stands(record: type[Record], row: Row, known: Mapping[str, set[Any]]) -> bool:
    return all(
        _is_known(column, row, known)
        for column in record.columns()
        if column.reference and column.kind != "list" and not _may_be_blanked(record, column)
    )


def _is_known(column: Column, row: Row, known: Mapping[str, set[Any]]) -> bool:
    value = row[column.name]
    if value in (None, "", 0):
        return True
    if column.reference == "layers":
        return (row["sample"], value) in known["layers"]
    return value in known.get(column.reference or "", ())


def _may_be_blanked(record: type[Record], column: Column) -> bool:
    return column.name == "source" or (record.sheet, column.name) in BLANKED


def _blanked(record: type[Record], row: Row, known: Mapping[str, set[Any]]) -> Row:
    changed = dict(row)
    for column in record.columns():
        value = row[column.name]
        if value is None:
            continue
        if column.kind == "coat":
            if str(value).partition("/")[0] not in known["schemes"]:
                changed[column.name] = None
        elif column.kind == "list" and column.reference:
            spared = [
                part for part in parts_of(value) if any(part in known[sheet] for sheet in sheets_of(column.reference))
            ]
            changed[column.name] = BETWEEN.join(spared) or None
        elif column.reference and _may_be_blanked(record, column) and not _is_known(column, row, known):
            changed[column.name] = None
    return changed


def only(row: Mapping[str, Any], columns: Iterable[Column]) -> Row:
    """The values of a row in some columns; blanks (and the zeros and empty texts that stand for them in
    keys) are None."""
    return {column.name: _value(column, row[column.name]) for column in columns}


def _value(column: Column, value: Any) -> Any:
    if value == "" or (value == 0 and column.kind == "integer" and (column.low or 0) >= 1):
        return None
    return value
