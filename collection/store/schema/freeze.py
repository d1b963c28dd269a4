"""Writes the frozen copies of the schema: `python -m collection.store.schema.freeze` in a checkout.

`guards.sql` and `dictionary.csv` always follow the records. A migration that has landed never changes: a new one is
written by hand, and only its checksum is added here.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from collection.store.schema.dictionary import as_csv
from collection.store.schema.guards import guards_sql


def freeze(schema: Path) -> None:
    """Write guards, dictionary and checksums into the folder `schema`."""
    (schema / "guards.sql").write_text(guards_sql(), encoding="utf-8", newline="\n")
    (schema / "dictionary.csv").write_text(as_csv(), encoding="utf-8", newline="\n")
    (schema / "CHECKSUMS").write_text(checksums(schema / "migrations"), encoding="utf-8", newline="\n")


def checksums(migrations: Path) -> str:
    """One line per migration, as `sha256sum` writes them."""
    return "".join(
        f"{hashlib.sha256(path.read_bytes()).hexdigest()}  migrations/{path.name}\n"
        for path in sorted(migrations.glob("*.sql"))
    )


if __name__ == "__main__":
    freeze(Path(__file__).resolve().parents[3] / "schema")
