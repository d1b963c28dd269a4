"""Make the database of an archive again from its tables, with Python's standard library alone:

    python load_tables.py ARCHIVE NEW.db

It runs `data/database/schema.sql`, takes in every table of `data/tables` as `datapackage.json` describes it, and runs
`data/database/guards.sql`. An archive holds a copy of this file beside them; it uses no other part of firstcoat.
"""

import csv
import json
import sqlite3
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

LONGEST_CELL = 2**31 - 1
READ = {"string": str, "integer": int, "number": float}


def load_tables(data: Path, new: Path) -> None:
    """Make the database `new` from the folder `data` of an archive.

    :raises OSError, ValueError, KeyError, csv.Error, sqlite3.Error: when a file is missing or not what it should be.
    """
    described = json.loads((data / "tables" / "datapackage.json").read_text(encoding="utf-8"))
    schema, guards = ((data / "database" / name).read_text(encoding="utf-8") for name in ("schema.sql", "guards.sql"))
    longest = csv.field_size_limit(LONGEST_CELL)
    db = sqlite3.connect(new, isolation_level=None)
    try:
        db.executescript(f"BEGIN;\n{schema}")
        for resource in described["resources"]:
            table, fields = resource["name"], resource["schema"]["fields"]
            names, marks = ", ".join(f'"{field["name"]}"' for field in fields), ", ".join("?" * len(fields))
            db.executemany(
                f"INSERT INTO {table} ({names}) VALUES ({marks})", rows(data / "tables" / resource["path"], fields)
            )
        db.execute("COMMIT")
        db.executescript(f"BEGIN;\n{guards}\nCOMMIT;")
    finally:
        db.close()
        csv.field_size_limit(longest)


def rows(path: Path, fields: list[dict[str, Any]]) -> Iterator[list[Any]]:
    """The rows of a table. What stands for nothing (NULL) is said of each column, by itself a blank cell."""
    kinds = [(READ[field["type"]], field.get("missingValues", [""])) for field in fields]
    with path.open(encoding="utf-8", newline="") as file:
        lines = csv.reader(file, strict=True)
        if next(lines) != [field["name"] for field in fields]:
            raise ValueError(f"{path} has other columns than datapackage.json says.")
        for line in lines:
            yield [None if cell in missing else kind(cell) for cell, (kind, missing) in zip(line, kinds, strict=True)]


if __name__ == "__main__":
    load_tables(Path(sys.argv[1]) / "data", Path(sys.argv[2]))
