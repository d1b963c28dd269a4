"""A database of the first version, brought to today's: every value kept, the history and its chain verified.

The old file is made by migration 0001 alone. Its rows are those that the program writes for a survey, corrections,
withdrawals, names and decisions, in the columns that version 1 had.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from coded_package import SHEETS, coded_package

from collection.cli import run
from collection.ingest import load
from collection.language.errors import CouldNot
from collection.records.facts import open_claims
from collection.records.sheets import BY_SHEET
from collection.store.base import chain, database, read
from collection.store.base.listed_cells import listed_cells
from collection.store.changes import corrections, statements
from collection.store.changes.history import changes_of
from collection.store.check import check
from collection.store.decide.decisions import decide
from collection.store.schema import packaged

BY, WHY = "R. Registrar", "a trial of the versions"
OWN = frozenset({"dictionary", "migrations"})
"""Tables that say what the file itself is, and are made anew."""
MARKED = ("facts", "stale")
"""Says which objects `refresh` has to look at again: those whose words for search have more to hold now."""
FIRST = packaged.migrations()[0]
OLD_SHEETS = {
    **SHEETS,
    "advice": "object,advice,what,given_on,place,done_by\nT1,V1,keep it dry,2016,Z1,W1\n"
    "T1,V2,do not strip it by any means that anybody may think of in years to come,2010,Z1,\n"
    "T1,V3,withdrawn since,2010,Z1,\n",
    "claims": "object,claim,statement,status,place,decoration\nT1,C1,a number lies under,untested,Z1,D1\n"
    "T1,C2,it was blue,untested,Z1,\n",
    "treatment_steps": "object,treatment,step,place,action,agent,removed,stopped_at\nT1,W1,1,Z2,scrape,,2,1/primer\n"
    "T1,W1,2,Z2,solvent,a paint remover,,\n",
    "proposal_steps": "object,proposal,step,place,action,agent,dwell_s,application,removes,stop_at\n"
    "T1,P1,1,Z1,solvent,acetone,30,rolled swab,2,1/body colour\n"
    "T1,P1,2,body,solvent,isooctane,30,rolled swab,,\nT1,P2,1,all,dust,,,,,\n",
}


def tables(db: sqlite3.Connection) -> dict[str, list[str]]:
    """Every table of a file with its columns; those of the full-text index apart."""
    return {
        name: [row[1] for row in db.execute(f"PRAGMA table_info({name})")]
        for (name,) in db.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'documents_fts%' "
            "AND name NOT LIKE 'sqlite_%'"
        ).fetchall()
    }


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What happened to the collection: a survey, a list with cells of its own, corrections, names, decisions."""
    folder = tmp_path_factory.mktemp("made")
    db = folder / "c.db"
    database.create(db)
    load.ingest(db, coded_package(folder / "survey", sheets=OLD_SHEETS))
    (folder / "list.csv").write_text("No,Title,Kind,Shelf\nT9,Sign,sign,12b\n")
    (folder / "map.toml").write_text(
        '[survey]\ncode = "list-1"\ntitle = "A list"\nlead = "Nora Pike"\nstarted = "2024-05"\n[list]\n'
        'encoding = "utf-8"\nseparator = ","\nobject = "No"\n[objects]\ntitle = "Title"\nkind = "Kind"\n'
    )
    load.ingest(db, folder / "list.csv", mapping=folder / "map.toml")
    for sheet, key, cell, text in (
        ("claims", "T1/C1", "status", "supported"),
        ("layers", "T1/S1/3", "thickness_um", "0.3"),
        ("advice", "T1/V1", "why", "it chalks"),
        ("tests", "T1/X1", "ph", "7.1"),
        ("tests", "T1/X1", "ph", "not recorded"),
        ("survey", "harbour-1", "scope", "side"),
        ("proposal_steps", "T1/P1/1", "dwell_s", "31"),
        ("treatment_steps", "T1/W1/1", "hours", "0.1"),
        ("objects", "T1", "maker", "N. N."),
    ):
        corrections.correct(db, sheet, key, {cell: text}, BY, WHY)
    corrections.withdraw(db, "claims", "T1/C2", BY, WHY)
    corrections.withdraw(db, "advice", "T1/V3", BY, WHY)
    statements.rename(db, "zones", "T1/Z2", "panel", BY, WHY)
    decide(db, "T1", "P2", "approve", by=BY, reason="dusting")
    decide(db, "T1", "P1", "refuse", by=BY, reason="not now")
    return db


@pytest.fixture
def old(made: Path, tmp_path: Path) -> Path:
    """The same in a file of version 1."""
    path = tmp_path / "c.db"
    db = sqlite3.connect(path, isolation_level=None)
    db.executescript(FIRST.text)
    db.execute("PRAGMA application_id = 0x66637431")
    db.execute("PRAGMA user_version = 1")
    db.execute("ATTACH ? AS made", (str(made),))
    db.execute("BEGIN")
    db.execute(
        "INSERT INTO migrations VALUES (1, ?, ?, '2026-11-01T10:00:00+00:00', '0.1')", (FIRST.name, FIRST.sha256)
    )
    for table, columns in tables(db).items():
        if table in ("migrations", "risks"):
            continue
        names = ", ".join(f'"{name}"' for name in columns)
        db.execute(f"INSERT INTO main.{table} ({names}) SELECT {names} FROM made.{table} ORDER BY rowid")
    # No program of version 1 wrote into `risks`, and what it derived was of another version of the computations.
    db.execute("UPDATE facts SET engine = '4'")
    db.execute(
        "INSERT INTO overrides SELECT object, proposal, number, 'Z1/1/body colour', 'untested', 'a trial', "
        "change FROM decisions WHERE proposal = 'P2'"
    )
    for number, sheet, content in db.execute("SELECT id, sheet, content FROM history").fetchall():
        known = tables(db)[BY_SHEET[sheet].table]
        row = {name: value for name, value in json.loads(content).items() if name in known}
        db.execute("UPDATE history SET content = ? WHERE id = ?", (json.dumps(row), number))
    before = ""
    for (number,) in db.execute("SELECT number FROM changes ORDER BY number").fetchall():
        db.execute(
            "UPDATE changes SET content_sha256 = ?, previous_hash = ? WHERE number = ?",
            (chain.content_digest(db, number), before, number),
        )
        before = chain.chain_hash(chain.chained(db, number).fetchone())
        db.execute("UPDATE changes SET hash = ? WHERE number = ?", (before, number))
    db.execute("COMMIT")
    db.execute("INSERT INTO documents_fts (documents_fts) VALUES ('rebuild')")
    db.close()
    kept = made.with_name("c.db.files")
    (tmp_path / "c.db.files").symlink_to(kept)
    return path


def values(path: Path, columns: dict[str, list[str]]) -> Iterator[tuple[str, str, list[Any]]]:
    """Every column of every table with the type and value of each of its cells, in the order of the rows."""
    db = sqlite3.connect(path)
    for table, names in columns.items():
        for name in names:
            yield table, name, db.execute(f'SELECT typeof("{name}"), "{name}" FROM {table} ORDER BY rowid').fetchall()
    db.close()


def test_the_old_file_holds_something_of_everything(old: Path) -> None:
    """Else the tests below would keep what is not there. No program of version 1 wrote into `risks`."""
    db = sqlite3.connect(old)
    empty = [table for table in tables(db) if db.execute(f"SELECT 1 FROM {table} LIMIT 1").fetchone() is None]
    assert empty == ["risks"]
    assert db.execute("SELECT count(*) FROM history").fetchone()[0] >= 10
    assert "observed_on" not in tables(db)["claims"]
    assert "'move'" not in db.execute("SELECT sql FROM sqlite_master WHERE name = 'treatment_steps'").fetchone()[0]


def test_every_value_is_kept_and_what_is_new_is_blank(old: Path) -> None:
    with pytest.raises(CouldNot, match="firstcoat migrate"):
        database.connect(old, write=False)
    db = sqlite3.connect(old)
    had = {table: columns for table, columns in tables(db).items() if table not in OWN}
    db.close()
    before = list(values(old, had))
    report = database.migrate(old)
    assert (report.before, report.after) == (1, packaged.newest_version())
    now_held = list(values(old, had))
    assert [cell for cell in now_held if cell[:2] != MARKED] == [cell for cell in before if cell[:2] != MARKED]
    db = sqlite3.connect(old)
    now = tables(db)
    new = {table: [name for name in now[table] if name not in columns] for table, columns in had.items()}
    assert db.execute("SELECT object FROM facts WHERE stale = 1").fetchall() == [("T9",)], "it has a cell of a list"
    assert "answers" in now.keys() - had.keys()
    assert {"against", "until", "replaced_by"} <= set(new["advice"]), "the first version knew advice by its words only"
    assert set(new["claims"]) >= {"observed_on", "observed_on_earliest", "observed_on_latest"}
    for table in now.keys() - had.keys() - OWN:
        assert db.execute(f"SELECT count(*) FROM {table}").fetchone() == (0,), table
    # A blank in a key is stored as '' or 0, every other as NULL.
    blank = {
        (table, name): ({"", 0} if notnull else {None})
        for table in new
        for _, name, _, notnull, *_ in db.execute(f"PRAGMA table_info({table})")
    }
    for table, name, cells in values(old, new):
        assert {value for _, value in cells} <= blank[table, name], f"{table}.{name} is not blank in rows of before"
    assert report.backup is not None
    assert list(values(report.backup, had)) == before


def test_check_finds_the_chain_the_history_and_everything_derived_as_they_were(old: Path) -> None:
    before = check(old)
    assert before.damage == ()
    assert any("version 1" in line and "firstcoat migrate" in line for line in before.notes)
    database.migrate(old)
    report = check(old)
    assert report.damage == ()
    assert [note.partition(":")[0] for note in report.notes] == ["What is derived of 3 objects is not up to date"]
    assert run(["refresh", str(old)]) == 0
    report = check(old)
    assert (report.damage, report.notes) == ((), ())
    db = sqlite3.connect(old)
    db.execute("DROP TRIGGER history_no_update")
    db.execute("UPDATE history SET content = json_set(content, '$.statement', 'x') WHERE sheet = 'claims'")
    db.commit()
    db.close()
    assert any("their hash does not fit" in line for line in check(old).damage)


def test_earlier_contents_are_read_shown_and_settled_in_todays_columns(old: Path) -> None:
    """A claim whose earlier content has no day is the same record; a correction of then stands when its survey goes."""
    database.migrate(old)
    with database.opened(old, write=False) as db:
        (earlier,) = (entry for entry in read.object_history(db, "T1") if entry["key"] == "T1/C1")
        assert (earlier["content"]["status"], earlier["content"]["observed_on"]) == ("untested", "")
        said = " ".join(line for change in changes_of(db, "T1") for line in change.sentences)
    assert "claim C1, status: “untested” → “supported”" in said
    assert "observed_on" not in said
    corrections.withdraw(old, "survey", "harbour-1", BY, WHY)
    corrections.reinstate(old, "survey", "harbour-1", BY, WHY)
    with database.opened(old, write=False) as db:
        assert db.execute("SELECT status FROM claims WHERE claim = 'C1'").fetchone() == ("supported",)
        assert db.execute("SELECT thickness_um FROM layers WHERE position = 3").fetchone() == (0.3,)
    assert check(old).damage == ()


def test_a_cell_of_a_list_kept_before_rows_were_is_read_and_found(
    old: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its change is sealed without a row, and stays so; the search knows its words once it is refreshed."""
    database.migrate(old)
    assert run(["refresh", str(old)]) == 0
    capsys.readouterr()
    with database.opened(old, write=False) as db:
        (cell,) = listed_cells(db, "T9")
    assert (cell.heading, cell.text, cell.list, cell.row) == ("Shelf", "12b", "list.csv", None)
    assert run(["search", str(old), "12b"]) == 0
    assert "Shelf: “12b”" in capsys.readouterr().out
    assert check(old).damage == ()


def test_what_version_1_refused_is_taken_now(old: Path, tmp_path: Path) -> None:
    database.migrate(old)
    corrections.correct(old, "treatment_steps", "T1/W1/1", {"action": "move", "passes": "3"}, BY, WHY)
    load.ingest(
        old,
        coded_package(
            tmp_path / "later",
            "harbour-2",
            {
                "claims": "object,claim,statement,status,place,observed_on\n"
                "T1,C1,a number lies under,refuted,Z1,2024-05-01\n"
            },
        ),
    )
    with database.opened(old, write=False) as db:
        facts = read.facts_rows(db, "T1")
    assert [(row.observed_on, row.status) for row in facts.claims] == [(None, "supported"), ("2024-05-01", "refuted")]
    assert [row.status for row in open_claims(facts)] == ["supported"], "nothing says that the day came later"
    assert check(old).damage == ()


def test_migrate_tells_the_advice_that_cannot_warn_yet(old: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One sentence, then the key and first words of each that is in account; not again at the newest version."""
    assert run(["migrate", str(old)]) == 0
    told = capsys.readouterr().out.splitlines()
    assert "2 pieces of advice cannot warn yet" in told[1]
    assert told[2:] == ["  T1/V1  keep it dry", "  T1/V2  do not strip it by any means that anybody may think of in …"]
    assert run(["migrate", str(old)]) == 0
    assert "cannot warn" not in capsys.readouterr().out
    assert run(["correct", str(old), "advice", "T1/V2", "against=stripping; blast", "--by", BY, "--reason", WHY]) == 0
    with database.opened(old, write=False) as db:
        assert db.execute("SELECT against FROM advice WHERE advice = 'V2'").fetchone() == ("strip; blast",)


def test_migrate_answers_in_json(old: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["migrate", str(old), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["before"], told["after"]) == (1, packaged.newest_version())
    assert told["applied"] == [m.name for m in packaged.migrations()[1:]]
    assert told["to_answer"] == [
        {"kind": "advice", "key": "T1/V1", "column": "against", "what": "keep it dry"},
        {
            "kind": "advice",
            "key": "T1/V2",
            "column": "against",
            "what": "do not strip it by any means that anybody may think of in …",
        },
    ]
    assert Path(told["backup"]).is_file()


def test_a_new_database_asks_nothing(tmp_path: Path) -> None:
    database.create(tmp_path / "new.db")
    assert database.migrate(tmp_path / "new.db").questions() == []


def test_facts_of_one_version_are_facts_of_the_next(old: Path, made: Path) -> None:
    """A blank of a new column is no fact, so no approval of before is overtaken by the migration."""
    database.migrate(old)
    with database.opened(old, write=False) as db, database.opened(made, write=False) as other:
        now, then = read.facts_rows(db, "T1"), read.facts_rows(other, "T1")
    assert now.canonical == then.canonical
