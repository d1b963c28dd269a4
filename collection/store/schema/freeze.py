"""Writes the frozen copies of the schema: `python -m collection.store.schema.freeze` in a checkout.

`guards.sql` and `dictionary.csv` always follow the records. A migration that has landed never changes; only the newest
may, until it has landed.
"""

from __future__ import annotations

import hashlib
import sys
from pathlib import Path

from collection.store.schema.dictionary import as_csv
from collection.store.schema.guards import guards_sql

COMMAND = "python -m collection.store.schema.freeze"


def freeze(schema: Path) -> None:
    """Write guards, dictionary and checksums into the folder `schema`.

    :raises ValueError: when a migration before the newest is not what its checksum says; nothing is written.
    """
    locked, listed = (schema / "CHECKSUMS").read_text(encoding="utf-8"), checksums(schema / "migrations")
    altered = [line.partition("  ")[2] for line in locked.splitlines() if line not in listed.splitlines()]
    newest = listed.splitlines()[-1].partition("  ")[2]
    if any(name != newest for name in altered):
        raise ValueError(f"{', '.join(altered)}: a migration that has landed is never altered. Write the next one.")
    (schema / "guards.sql").write_text(guards_sql(), encoding="utf-8", newline="\n")
    (schema / "dictionary.csv").write_text(as_csv(), encoding="utf-8", newline="\n")
    (schema / "CHECKSUMS").write_text(listed, encoding="utf-8", newline="\n")


def checksums(migrations: Path) -> str:
    """One line per migration, as `sha256sum` writes them."""
    return "".join(
        f"{hashlib.sha256(path.read_bytes()).hexdigest()}  migrations/{path.name}\n"
        for path in sorted(migrations.glob("*.sql"))
    )


if __name__ == "__main__":
    try:
        freeze(Path(__file__).resolve().parents[3] / "schema")
    except ValueError as error:
        sys.exit(str(error))
