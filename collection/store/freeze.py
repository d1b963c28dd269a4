"""Writes the frozen copies of the schema: `python -m collection.store.freeze` in a checkout.

`guards.sql` and `dictionary.csv` always follow the records. A migration that has landed never changes, so
the first one is written only with `--first`, before the first release; later ones are written by hand and
only their checksums are added here.
"""

from __future__ import annotations

import hashlib
import sys
from pathlib import Path

from collection.store.ddl import schema_sql
from collection.store.dictionary import as_csv
from collection.store.guards import guards_sql

FIRST = "0001_records.sql"


def freeze(schema: Path, *, first: bool) -> None:
    """Write guards, dictionary and checksums into the folder `schema`, and with `first` the first migration."""
    migrations = schema / "migrations"
    if first:
        (migrations / FIRST).write_text(schema_sql(), encoding="utf-8", newline="\n")
    (schema / "guards.sql").write_text(guards_sql(), encoding="utf-8", newline="\n")
    (schema / "dictionary.csv").write_text(as_csv(), encoding="utf-8", newline="\n")
    (schema / "CHECKSUMS").write_text(checksums(migrations), encoding="utf-8", newline="\n")


def checksums(migrations: Path) -> str:
    """One line per migration, as `sha256sum` writes them."""
    return "".join(f"{hashlib.sha256(path.read_bytes()).hexdigest()}  migrations/{path.name}\n"
                   for path in sorted(migrations.glob("*.sql")))


if __name__ == "__main__":
    freeze(Path(__file__).resolve().parents[2] / "schema", first="--first" in sys.argv[1:])
