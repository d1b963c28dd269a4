"""What a database says of an object, and what it holds, for tests that compare before and after."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from collection.compute.case import Case
from collection.compute.survival.survival import survival_json
from collection.records.sheets import SHEETS
from collection.rules.assess import assess
from collection.store.base import database, read


def documents(path: Path, object_code: str) -> dict[str, Any]:
    """All that is read of an object and its proposals."""
    with database.opened(path, write=False) as connection:
        facts = read.facts_rows(connection, object_code)
        assert read.load_facts(connection, object_code).sha256 == facts.sha256
        found: dict[str, Any] = {"facts": facts.document(), "survival": survival_json(Case(facts))}
        for own, code in read.proposal_keys(connection):
            if own == facts.object.object:
                proposal = read.load_proposal(connection, own, code)
                found[code] = [proposal.document(), assess(Case(facts), proposal).as_json()]
        return found


def stored(path: Path) -> list[list[tuple[Any, ...]]]:
    with database.opened(path, write=False) as connection:
        return [
            connection.execute(f"SELECT * FROM {table} ORDER BY rowid").fetchall()
            for table in (*(record.table for record in SHEETS), "history", "file_uses", "warnings", "places")
        ]
