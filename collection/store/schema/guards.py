"""The triggers that hold "nothing is lost", whatever program writes to the file.

They are kept in one file of their own, because SQLite drops a table's triggers when the table is rebuilt:
the runner makes all of them again after every migration.
"""

from __future__ import annotations

from collection.records.sheets import SHEETS, Record
from collection.store.schema.system_tables import CHANGES, SYSTEM
from collection.store.schema.tables import StoredColumn, Table, fills_blank, record_table

HEADING = """\
-- The guards of a firstcoat database: made again after every migration, because a rebuilt table loses them.
-- INSERT OR REPLACE removes rows without asking delete triggers, so inserts over an existing key or row
-- number are refused before they happen.
"""


def guards_sql() -> str:
    """Every trigger of the schema."""
    parts = [HEADING]
    parts.extend(record_guards(record) for record in SHEETS)
    parts.append(PLACES_FILLED)
    parts.append(CHANGES_GUARDS)
    parts.extend(append_only(table) for table in SYSTEM if table.append_only)
    return "\n".join(parts)


def record_guards(record: type[Record]) -> str:
    """No deletion, no overwriting, and every replaced content goes to the history."""
    table = record_table(record)
    name = table.name
    keys = " OR ".join(f"NEW.{part} IS NOT OLD.{part}" for part in ("rowid", *table.key))
    content = _content(table)
    survey = "OLD.code" if record.sheet == "survey" else "OLD.survey"
    return f"""\
CREATE TRIGGER {name}_no_delete BEFORE DELETE ON {name}
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from {name}: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER {name}_no_overwrite BEFORE INSERT ON {name}
WHEN {_taken(table)}
BEGIN
  SELECT RAISE(ABORT, 'A record of {name} with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER {name}_history AFTER UPDATE ON {name}
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of {name} stays as it is.')
  WHERE {keys};
  SELECT RAISE(ABORT, 'An update of {name} needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('{record.sheet}', {key_sql(record, "OLD")}, OLD.revision, {survey},
    {content},
    NEW.change);
END;
"""


def key_sql(record: type[Record], row: str) -> str:
    """SQL for a record's key as people write it; blank parts at the end are left out."""
    columns = [record.column(name) for name in record.key]
    shown = [
        f"CASE {row}.{c.name} WHEN 0 THEN '' ELSE {row}.{c.name} END"
        if fills_blank(record, c) and c.is_number
        else f"{row}.{c.name}"
        for c in columns
    ]
    optional = [i for i, c in enumerate(columns) if fills_blank(record, c)]
    if not optional:
        return " || '/' || ".join(shown)
    first = optional[0]
    text = " || '/' || ".join(shown[:first])
    for position in range(first, len(shown)):
        blank = " AND ".join(f"{row}.{c.name} = {'0' if c.is_number else chr(39) * 2}" for c in columns[position:])
        text += f" || CASE WHEN {blank} THEN '' ELSE '/' || {shown[position]} END"
    return text


def _taken(table: Table) -> str:
    """Whether a row may not be inserted: its key is taken, or a row number was chosen (unset reads as -1)."""
    if table.numbered:
        return f"EXISTS (SELECT 1 FROM {table.name} WHERE {table.key[0]} = NEW.{table.key[0]})"
    same = " AND ".join(f"{part} = NEW.{part}" for part in table.key)
    return f"NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM {table.name} WHERE {same})"


def _content(table: Table) -> str:
    """SQL for the whole old row as JSON; one printf is several times faster than joining the parts."""
    shape = ",".join(f'"{column.name}":%s' for column in table.columns)
    values = ",\n      ".join(_value(column) for column in table.columns)
    return f"printf('{{{shape}}}',\n      {values})"


def _value(column: StoredColumn) -> str:
    old = f"OLD.{column.name}"
    if column.sql.startswith("REAL"):
        # json_quote and json_object keep 15 digits; 17 bring every double back.
        return f"CASE WHEN {old} IS NULL THEN 'null' ELSE printf('%!.17g', {old}) END"
    return f"json_quote({old})"


def _fills_places(table: str, code: str, kind: str) -> str:
    same = f"object = NEW.object AND place = {code} AND kind = '{kind}'"
    return f"""\
CREATE TRIGGER {table}_place AFTER INSERT ON {table}
WHEN NOT EXISTS (SELECT 1 FROM places WHERE {same})
BEGIN
  INSERT INTO places (object, place, kind) VALUES (NEW.object, {code}, '{kind}');
END;
"""


PLACES_FILLED = (
    _fills_places("objects", "'all'", "all")
    + _fills_places("components", "NEW.component", "component")
    + _fills_places("zones", "NEW.zone", "zone")
)

_SEALED = ("content_sha256", "previous_hash", "hash")
_KEPT = " OR ".join(f"NEW.{c.name} IS NOT OLD.{c.name}" for c in CHANGES.columns if c.name not in _SEALED)
CHANGES_GUARDS = f"""\
CREATE TRIGGER changes_no_delete BEFORE DELETE ON changes
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from changes.');
END;
CREATE TRIGGER changes_in_order BEFORE INSERT ON changes
WHEN NEW.number IS NOT (SELECT coalesce(max(number), 0) + 1 FROM changes)
  OR NEW.hash IS NOT NULL OR NEW.content_sha256 IS NOT NULL OR NEW.previous_hash IS NOT NULL
BEGIN
  SELECT RAISE(ABORT, 'A change takes the next number and is sealed later.');
END;
CREATE TRIGGER changes_sealed_once BEFORE UPDATE ON changes
WHEN OLD.hash IS NOT NULL OR NEW.hash IS NULL OR NEW.content_sha256 IS NULL
  OR NEW.previous_hash IS NOT coalesce((SELECT hash FROM changes WHERE number = OLD.number - 1), '')
  OR (OLD.number > 1 AND NEW.previous_hash = '')
  OR {_KEPT}
BEGIN
  SELECT RAISE(ABORT, 'A change is sealed once, after the one before it, and never altered.');
END;
"""


def append_only(table: Table) -> str:
    """No deletion, no alteration, no overwriting; a row that names a change names an open one."""
    name = table.name
    when = _taken(table)
    has_change = any(column.name == "change" for column in table.columns)
    if has_change:
        when += "\n  OR NOT EXISTS (SELECT 1 FROM changes WHERE number = NEW.change AND hash IS NULL)"
    needs = ", and its change is one that is not sealed yet" if has_change else ""
    said = (
        "Zones and parts of an object share their codes: the other kind has this one."
        if name == "places"
        else f"A row of {name} is written once{needs}."
    )
    return f"""\
CREATE TRIGGER {name}_no_delete BEFORE DELETE ON {name}
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from {name}.');
END;
CREATE TRIGGER {name}_no_update BEFORE UPDATE ON {name}
BEGIN
  SELECT RAISE(ABORT, 'Nothing is altered in {name}.');
END;
CREATE TRIGGER {name}_no_overwrite BEFORE INSERT ON {name}
WHEN {when}
BEGIN
  SELECT RAISE(ABORT, '{said}');
END;
"""
