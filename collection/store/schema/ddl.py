"""The text of the schema, made from the records and the program's own tables; touches no file.

`schema/guards.sql` and `schema/dictionary.csv` are frozen copies of what the program gives, and tests hold them
equal. Migrations are written by hand, and what all of them make together has to be what stands here.
"""

from __future__ import annotations

from collection.records.sheets import SHEETS, Record
from collection.store.schema.derived_tables import DERIVED, FULL_TEXT
from collection.store.schema.system_tables import SYSTEM
from collection.store.schema.tables import HANGS_ON, Table, fills_blank, record_tables

HEADING = """\
-- The tables of a firstcoat database. What each column means is written in the table `dictionary`.
-- Dates are text as people wrote them (ISO 8601-2); the two columns after each are its earliest and
-- latest day. A record is never deleted: `withdrawn` names the change that took it out of account, and
-- `history` holds every content that a later change replaced. Triggers that hold this: guards.sql.
"""


def tables() -> tuple[Table, ...]:
    """Every table but the full-text index, in the order in which a reader needs them."""
    return (*SYSTEM, *record_tables(), *DERIVED)


def schema_sql() -> str:
    """The whole newest version: tables, indexes and views."""
    parts = [HEADING]
    parts.extend(create_table(table) for table in tables())
    parts.append(FULL_TEXT)
    parts.append("\n".join(index for table in tables() for index in table.indexes) + "\n")
    parts.append(LIVE_PLACES)
    parts.extend(live_view(record) for record in SHEETS)
    return "\n".join(parts)


def create_table(table: Table) -> str:
    """`CREATE TABLE` of one table; references are checked when the transaction ends."""
    width = max(len(column.name) for column in table.columns)
    lines = []
    for column in table.columns:
        key = " PRIMARY KEY" if table.numbered and table.key == (column.name,) else ""
        lines.append(f"  {column.name:<{width}} {_with_key(column.sql, key)}")
    if not table.numbered:
        lines.append(f"  PRIMARY KEY ({', '.join(table.key)})")
        # A row number that nobody may choose cannot be used to replace another row.
        lines.append("  CHECK (rowid > 0)")
    for reference in table.references:
        if reference.to:
            lines.append(
                f"  FOREIGN KEY ({', '.join(reference.columns)}) REFERENCES {reference.table} "
                f"({', '.join(reference.to)}) DEFERRABLE INITIALLY DEFERRED"
            )
    note = "".join(f"-- {line}\n" for line in table.meaning.splitlines())
    return f"{note}CREATE TABLE {table.name} (\n" + ",\n".join(lines) + "\n) STRICT;\n"


def _with_key(sql: str, key: str) -> str:
    kind, _, rest = sql.partition(" ")
    return f"{kind}{key}{' ' + rest if rest else ''}"


LIVE_PLACES = """\
-- Parts and zones in account, and `all` for each object in account.
CREATE VIEW live_places AS
SELECT * FROM places AS p
WHERE CASE p.kind
  WHEN 'all' THEN EXISTS (SELECT 1 FROM live_objects AS t WHERE t.object = p.object)
  WHEN 'zone' THEN EXISTS (SELECT 1 FROM live_zones AS t WHERE t.object = p.object AND t.zone = p.place)
  ELSE EXISTS (SELECT 1 FROM live_components AS t WHERE t.object = p.object AND t.component = p.place)
END;
"""


def live_view(record: type[Record]) -> str:
    """The view of a sheet's rows in account: neither they, nor their survey, nor what they hang on is
    withdrawn."""
    wheres = ["r.withdrawn IS NULL"]
    if record.sheet != "survey":
        wheres.append("r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)")
    wheres.extend(_hangs_on(record, name) for name in HANGS_ON.get(record.sheet, ()))
    return (
        f"CREATE VIEW live_{record.table} AS\nSELECT * FROM {record.table} AS r\nWHERE "
        + "\n  AND ".join(wheres)
        + ";\n"
    )


def _hangs_on(record: type[Record], name: str) -> str:
    column = record.column(name)
    target = column.reference
    assert target is not None
    same_object = "t.object = r.object AND "
    if target == "objects":
        found, on = "live_objects", f"t.object = r.{name}"
    elif target == "place":
        found, on = "live_places", f"{same_object}t.place = r.{name}"
    elif target == "layers":
        found, on = "live_layers", f"{same_object}t.sample = r.sample AND t.position = r.{name}"
    else:
        goal = next(sheet for sheet in SHEETS if sheet.sheet == target)
        found, on = f"live_{goal.table}", f"{same_object}t.{goal.key[1]} = r.{name}"
    exists = f"EXISTS (SELECT 1 FROM {found} AS t WHERE {on})"
    if fills_blank(record, column):
        blank = "0" if column.is_number else "''"
        return f"(r.{name} = {blank} OR {exists})"
    return exists if column.required else f"(r.{name} IS NULL OR {exists})"
