"""Drafts of migrations: the schema of the records is made, and every row kept."""

from __future__ import annotations

import sqlite3

import pytest

from collection.records.sheets import BY_SHEET
from collection.store.schema import ddl, draft
from collection.store.schema import packaged as shipped
from collection.store.schema.tables import record_table


@pytest.mark.parametrize("version", range(1, len(shipped.migrations())))
def test_a_draft_brings_an_older_version_to_the_newest(version: int) -> None:
    """The migrations since then were written, or drafted and read, by a person; a draft makes the same schema."""
    landed = [migration.text for migration in shipped.migrations()[:version]]
    before = draft.made_by(landed)
    assert draft.differences(before, draft.made_by([ddl.schema_sql()]))
    text = draft.draft(before)
    if draft.TO_BE_SAID in text:
        pytest.skip("A person had to fill it in.")
    made, wanted = draft.made_by([*landed, text]), draft.made_by([ddl.schema_sql()])
    assert made.keys() == wanted.keys()
    assert made == wanted
    assert draft.draft(made) == ""


def test_of_what_is_computed_nobody_has_to_say_what_its_rows_get() -> None:
    """The table is emptied, and every object marked, so that `refresh` fills it again; no row of a record is touched."""
    newest = [ddl.schema_sql()]
    older = draft.made_by([migration.text for migration in shipped.migrations()[:7]])["risks"]
    text = draft.draft({**draft.made_by(newest), "risks": older})
    assert "DROP TABLE risks;" in text
    assert draft.TO_BE_SAID not in text
    db = sqlite3.connect(":memory:")
    db.executescript(newest[0])
    db.execute("DROP TABLE risks")
    db.executescript(older)
    db.execute(
        "INSERT INTO facts (object, document, sha256, stale, engine) VALUES ('T.1', '{}', ?, 0, '5')", ("0" * 64,)
    )
    db.executescript(text)
    assert db.execute("SELECT object, stale FROM facts").fetchall() == [("T.1", 1)]


def test_a_draft_keeps_every_row_in_its_order() -> None:
    """As section 7 of SQLite's page on ALTER TABLE has it for changes that it cannot make: a new table, filled anew."""
    table = record_table(BY_SHEET["reserves"])
    had = tuple(c.name for c in table.columns if c.name not in ("shows", "until", "until_earliest", "until_latest"))
    db = sqlite3.connect(":memory:")
    db.execute(f"CREATE TABLE reserves ({', '.join(had)})")
    names = ("object", "reserve", "place", "kind", "survey", "from_file", "revision", "change")
    rows = [("T.1", code, "door", "window", "S", "reserves.csv", 1, 1) for code in ("R2", "R9", "R1")]
    db.executemany(f"INSERT INTO reserves ({', '.join(names)}) VALUES ({', '.join('?' * len(names))})", rows)
    db.execute("DELETE FROM reserves WHERE reserve = 'R9'")
    db.executescript(draft.rebuild(table, had))
    kept = db.execute(f"SELECT {', '.join(names)}, shows, until FROM reserves ORDER BY rowid").fetchall()
    assert kept == [(*row, None, None) for row in rows if row[1] != "R9"]


def test_a_draft_leaves_to_a_person_what_it_cannot_know() -> None:
    """A column that is gone or renamed, and a required one; until it is filled in, it does not run."""
    table = record_table(BY_SHEET["reserves"])
    names = [column.name for column in table.columns]
    renamed = draft.rebuild(table, tuple("seen_there" if name == "shows" else name for name in names))
    assert "-- Gone: seen_there." in renamed
    required = draft.rebuild(table, tuple(name for name in names if name != "place"))
    for text in (renamed, required):
        assert text.count(draft.TO_BE_SAID) == 1
        with pytest.raises(sqlite3.OperationalError, match="no such column: TO_BE_SAID"):
            draft.made_by([f"CREATE TABLE reserves ({', '.join(names)}, seen_there);", text])
    filled = draft.made_by(
        [
            f"CREATE TABLE reserves ({', '.join(names)}, seen_there);".replace(" shows,", ""),
            renamed.replace(draft.TO_BE_SAID, "seen_there"),
        ]
    )
    assert filled["reserves"] == draft.made_by([ddl.schema_sql()])["reserves"]
    with pytest.raises(draft.NeedsAHand, match="jars: a table is gone or renamed"):
        draft.draft({**draft.made_by([ddl.schema_sql()]), "jars": "CREATE TABLE jars (\n  x TEXT\n) STRICT;"})
