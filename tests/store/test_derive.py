"""What is derived equals what the records give, whichever way it came about, and search finds it."""

from __future__ import annotations

import gc
import json
import os
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from speed.made_package import write_package

from collection.compute.case import Case
from collection.compute.survival.survival import object_survival
from collection.ingest.load import ingest
from collection.language.phrases import phrase
from collection.records.facts import Facts, read_document
from collection.store import derive
from collection.store.base import database, read
from collection.store.base.search_document import FACETS, facet, facet_words, liquids
from collection.store.changes import corrections, statements
from collection.values.numbers import six

OBJECTS = 12


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small generated collection, as one file to copy."""
    folder = tmp_path_factory.mktemp("derive")
    write_package(folder / "package", OBJECTS * 50)
    database.create(folder / "made.db")
    ingest(folder / "made.db", folder / "package")
    return folder / "made.db"


@pytest.fixture
def db(made: Path, tmp_path: Path) -> Iterator[database.Database]:
    copy = tmp_path / "copy.db"
    copy.write_bytes(made.read_bytes())
    connection = database.connect(copy, write=True)
    yield connection
    database.close(connection)


def everything(db: sqlite3.Connection) -> dict[str, list[Any]]:
    return {
        name: sorted(map(repr, db.execute(f"SELECT {columns} FROM {name}"))) for name, columns in derive.TABLES.items()
    }


def hits(db: sqlite3.Connection, query: str) -> list[str]:
    return [
        code
        for (code,) in db.execute(
            "SELECT object FROM documents WHERE id IN (SELECT rowid FROM documents_fts WHERE documents_fts MATCH ?) "
            "ORDER BY object",
            (query,),
        )
    ]


def index_agrees(db: sqlite3.Connection) -> None:
    """FTS5's own check of the index against the table; it raises where they differ."""
    db.execute("INSERT INTO documents_fts (documents_fts, rank) VALUES ('integrity-check', 1)")


def refreshed(db: sqlite3.Connection, **more: Any) -> int:
    with database.writing(db):
        return derive.refresh(db, **more)


def test_an_ingest_leaves_every_object_up_to_date(db: database.Database) -> None:
    assert derive.behind(db) == []
    assert list(derive.out_of_date(db)) == []
    assert {name: len(rows) for name, rows in everything(db).items()} == {
        "facts": OBJECTS,
        "survival_objects": OBJECTS,
        "documents": OBJECTS,
        "survival_decorations": 0,
        "survival_places": db.execute("SELECT count(*) FROM survival_places").fetchone()[0],
        "survival_schemes": db.execute("SELECT count(*) FROM survival_schemes").fetchone()[0],
        "risks": db.execute("SELECT count(*) FROM risks").fetchone()[0],
    }
    assert len(everything(db)["risks"]) >= OBJECTS, "nothing is known of no object at all"
    assert len(everything(db)["survival_places"]) >= 6 * OBJECTS
    index_agrees(db)


def test_one_by_one_all_together_and_recomputed_give_equal_rows(db: database.Database) -> None:
    kept = everything(db)
    assert refreshed(db) == OBJECTS
    assert everything(db) == kept
    with database.writing(db):
        for code in read.object_codes(db):
            derive.derive(db, [code])
    assert everything(db) == kept
    code = read.object_codes(db)[3]
    assert derive.recompute(db, code) == derive.stored(db, code)
    index_agrees(db)


def test_the_index_made_anew_and_smaller_batches_give_the_same(
    db: database.Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = everything(db)
    corrections.withdraw(db, "objects", read.object_codes(db)[2], "N. N.", "not ours")
    left = everything(db)
    monkeypatch.setattr(derive, "REBUILD_ABOVE", -1.0)
    monkeypatch.setattr(derive, "AT_ONCE", 5)
    refreshed(db)
    assert everything(db) == left != kept
    index_agrees(db)
    with database.writing(db):
        db.execute("UPDATE documents SET words = 'changed' WHERE object = ?", (read.object_codes(db)[0],))
        derive.derive(db, read.object_codes(db)[:1])
    assert everything(db) == left
    index_agrees(db)


def test_stored_figures_are_those_of_the_computation_to_six_digits(db: database.Database) -> None:
    for code in read.object_codes(db)[:4]:
        survival = object_survival(Case(read.facts_rows(db, code)))
        low, middle, high = db.execute(
            "SELECT surviving_low_m2, surviving_middle_m2, surviving_high_m2 FROM survival_objects WHERE object = ?",
            (code,),
        ).fetchone()
        assert [low, middle, high] == [six(v) for v in survival.surviving_m2]
        shares = dict(db.execute("SELECT place, share_middle FROM survival_places WHERE object = ?", (code,)))
        assert shares == {p.place: p.share and six(p.share[1]) for p in survival.places}


def test_the_document_is_the_facts_and_its_hash(db: database.Database) -> None:
    for document, sha256 in db.execute("SELECT document, sha256 FROM facts"):
        facts = read_document(json.loads(document))
        assert (facts.canonical, facts.sha256) == (document, sha256)


def test_a_corrected_coat_moves_what_is_derived_of_its_object_only(db: database.Database) -> None:
    code, other = read.object_codes(db)[:2]
    before, untouched = derive.stored(db, code), derive.stored(db, other)
    sample, position, level = db.execute(
        "SELECT sample, position, coverage FROM layers WHERE object = ? AND scheme = '1' "
        "AND role <> 'primer' AND role <> 'filler' LIMIT 1",
        (code,),
    ).fetchone()
    corrections.correct(
        db, "layers", f"{code}/{sample}/{position}", {"coverage": "absent", "coverage_pct": "0"}, "N. N.", "read again"
    )
    after = derive.stored(db, code)
    assert after["facts"] != before["facts"], level
    assert after["survival_objects"] != before["survival_objects"]
    assert derive.stored(db, other) == untouched
    assert list(derive.out_of_date(db)) == []
    index_agrees(db)


def test_a_withdrawn_object_leaves_nothing_and_comes_back_as_it_was(db: database.Database) -> None:
    code = read.object_codes(db)[5]
    kept = everything(db)
    corrections.withdraw(db, "objects", code, "N. N.", "not ours")
    assert derive.stored(db, code) == derive.recompute(db, code) == {name: [] for name in derive.TABLES}
    assert code not in hits(db, f'"{code}"')
    index_agrees(db)
    assert refreshed(db) == OBJECTS - 1
    corrections.reinstate(db, "objects", code, "N. N.", "ours after all")
    assert everything(db) == kept
    assert hits(db, f'"{code}"') == [code]
    index_agrees(db)


def test_a_withdrawn_sample_takes_its_reading_out(db: database.Database) -> None:
    code, sample = db.execute("SELECT object, sample FROM samples WHERE reaches_support = 'yes' LIMIT 1").fetchone()
    before = db.execute("SELECT read FROM survival_objects WHERE object = ?", (code,)).fetchone()[0]
    corrections.withdraw(db, "samples", f"{code}/{sample}", "N. N.", "mislabelled")
    assert db.execute("SELECT read FROM survival_objects WHERE object = ?", (code,)).fetchone()[0] == before - 1


def test_what_is_stale_is_known_read_from_the_records_and_made_good(db: database.Database) -> None:
    codes = read.object_codes(db)
    kept = everything(db)
    with database.writing(db):
        derive.mark_stale(db, codes[:2])
        db.execute("DELETE FROM facts WHERE object = ?", (codes[2],))
        db.execute("UPDATE facts SET engine = 'older' WHERE object = ?", (codes[3],))
    assert derive.behind(db) == codes[:4]
    assert list(derive.out_of_date(db)) == [], "known to be behind is no damage"
    assert read.load_facts(db, codes[0]).sha256 == read.facts_rows(db, codes[0]).sha256
    assert refreshed(db, only_behind=True) == 4
    assert everything(db) == kept
    index_agrees(db)


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE survival_places SET share_middle = 0.5 WHERE rowid = 3",
        "UPDATE survival_objects SET as_of = '1066' WHERE rowid = 2",
        "DELETE FROM survival_schemes WHERE rowid = 7",
        "UPDATE facts SET document = '{}' WHERE rowid = 1",
        "UPDATE documents SET words = 'nothing' WHERE id = 4",
    ],
)
def test_a_derived_row_that_somebody_changed_is_found(db: database.Database, damage: str) -> None:
    with database.writing(db):
        assert db.execute(damage).rowcount == 1
    assert len(list(derive.out_of_date(db))) == 1


def test_rows_of_an_object_that_is_gone_are_found_and_cleared(db: database.Database) -> None:
    with database.writing(db):
        db.execute("INSERT INTO documents (object, title, words, facets) VALUES ('X.1', 'x', 'x', '')")
        db.execute("INSERT INTO documents_fts (documents_fts) VALUES ('rebuild')")
    assert [line for line in derive.out_of_date(db) if line.startswith("X.1 is out of account")]
    refreshed(db, only_behind=True)
    assert list(derive.out_of_date(db)) == []
    index_agrees(db)


@pytest.mark.parametrize("only_behind", [False, True])
@pytest.mark.parametrize("name", [name for name in derive.TABLES if name != "survival_decorations"])
def test_a_refresh_clears_whatever_row_is_left_of_an_object_that_is_gone(
    db: database.Database, name: str, only_behind: bool
) -> None:
    kept = everything(db)
    columns = derive.TABLES[name].split(", ")[1:]
    with database.writing(db):
        assert (
            db.execute(
                f"INSERT INTO {name} (object, {', '.join(columns)}) SELECT 'X.1', {', '.join(columns)} "
                f"FROM {name} LIMIT 1"
            ).rowcount
            == 1
        )
        db.execute("INSERT INTO documents_fts (documents_fts) VALUES ('rebuild')")
    (line,) = derive.out_of_date(db)
    assert line.startswith("X.1 is out of account")
    refreshed(db, only_behind=only_behind)
    assert everything(db) == kept
    assert list(derive.out_of_date(db)) == []
    index_agrees(db)


def test_a_refresh_tells_how_far_it_is(db: database.Database, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(derive, "AT_ONCE", 5)
    told = []
    refreshed(db, progress=lambda done, whole: told.append((done, whole)))
    assert told == [(5, OBJECTS), (10, OBJECTS), (OBJECTS, OBJECTS)]
    told.clear()
    refreshed(db, only_behind=True, progress=lambda done, whole: told.append((done, whole)))
    assert told == [], "nothing was behind"
    with database.writing(db):
        derive.mark_stale(db, read.object_codes(db)[:7])
        db.execute("INSERT INTO documents (object, title, words, facets) VALUES ('X.1', 'x', 'x', '')")
        db.execute("INSERT INTO documents_fts (documents_fts) VALUES ('rebuild')")
    refreshed(db, only_behind=True, progress=lambda done, whole: told.append((done, whole)))
    assert told == [(5, 8), (7, 8), (8, 8)], "the object that is gone counts as done at the end"


def test_on_a_terminal_the_command_says_how_far_it_is(made: Path, tmp_path: Path) -> None:
    pty = pytest.importorskip("pty")
    copy = tmp_path / "copy.db"
    copy.write_bytes(made.read_bytes())
    ours, theirs = pty.openpty()
    done = subprocess.run(
        [sys.executable, "-m", "collection", "refresh", str(copy)],
        stdout=subprocess.PIPE,
        stderr=theirs,
        text=True,
        check=True,
    )
    os.close(theirs)
    said = os.read(ours, 4096).decode()
    os.close(ours)
    assert done.stdout == f"{OBJECTS} objects were computed again.\n"
    assert said.splitlines()[-1].endswith(f"{OBJECTS} of {OBJECTS} objects computed")


def test_words_and_facets_find_their_objects(db: database.Database) -> None:
    codes = read.object_codes(db)
    for colour in ("prussian blue", "vert foncé"):
        having = [
            code for (code,) in db.execute("SELECT DISTINCT object FROM layers WHERE colour = ? ORDER BY 1", (colour,))
        ]
        assert hits(db, f'"{colour}"') == having
        assert hits(db, f'facets:"{facet_words("colour", colour)}"') == having
    munsell = db.execute("SELECT munsell FROM layers WHERE object = ? LIMIT 1", (codes[0],)).fetchone()[0]
    assert hits(db, phrase(munsell).match()) == [
        code for (code,) in db.execute("SELECT DISTINCT object FROM layers WHERE munsell = ? ORDER BY 1", (munsell,))
    ]
    for state in ("not examined", "original fragmentary", "original covered"):
        assert hits(db, facet("state", state)) == [
            code
            for (code,) in db.execute(
                "SELECT DISTINCT object FROM survival_places WHERE state = ? ORDER BY object", (state,)
            )
        ]
    assert hits(db, facet("unexamined", "yes")) == hits(db, facet("state", "not examined"))
    assert hits(db, facet("period", "original")) == codes


def test_people_private_columns_and_notes_are_not_in_the_words(db: database.Database) -> None:
    code = read.object_codes(db)[0]
    corrections.correct(
        db,
        "objects",
        code,
        {"owner": "Ownerless", "notes": "Notworthy", "materials": "Elmwood"},
        "N. N.",
        "from the file",
    )
    words = db.execute("SELECT words FROM documents WHERE object = ?", (code,)).fetchone()[0]
    assert "Elmwood" in words
    for secret in ("Ownerless", "Notworthy", "Invented Person"):
        assert secret not in words


def test_a_facet_is_one_word_for_any_tokenizer() -> None:
    assert facet("role", "body colour") == "rolebodycolour"
    assert facet("colour", "Blue-Green, pale") == "colourbluegreenpale"
    assert set(FACETS) >= {"period", "state", "role", "colour", "kind", "agent", "hazard", "unexamined"}


@pytest.mark.parametrize(
    ("agent", "names"),
    [
        ("acetone", ["acetone"]),
        ("1 acetone + 3 white spirit", ["acetone", "white spirit"]),
        ("water + 1% ammonium citrate", ["water", "ammonium citrate"]),
        (None, []),
        ("2.5 ethanol + 1 isooctane", ["ethanol", "isooctane"]),
    ],
)
def test_the_liquids_of_an_agent(agent: str | None, names: list[str]) -> None:
    assert liquids(agent) == names


def test_what_is_computed_of_an_object_leaves_no_ring_of_references(harbour: Path, tmp_path: Path) -> None:
    """Else a refresh, which does not look for rings, would hold every object until it ends."""
    path = tmp_path / "harbour.db"
    path.write_bytes(harbour.read_bytes())
    statements.rename(path, "objects", "OHM-1962-7", "OHM-1962-7.1", "N. N.", "numbered again")
    db = database.connect(path, write=False)
    codes = read.object_codes(db)
    assert len(codes) == 14
    assert "OHM-1962-7.1" in codes, "one object is read through a rename"
    for code in codes:  # what is computed once for all objects is kept
        derive.recompute(db, code)
    gc.collect()
    gc.disable()
    try:
        for code in codes:
            assert derive.recompute(db, code)["facts"]
        found = gc.collect()
    finally:
        gc.enable()
        database.close(db)
    assert found == 0


def test_rings_are_looked_for_again_after_a_refresh_and_after_one_that_fails(
    db: database.Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[bool] = []

    def words_of(facts: Facts) -> str:
        seen.append(gc.isenabled())
        return "words"

    monkeypatch.setattr(derive, "words_of", words_of)
    refreshed(db)
    assert gc.isenabled()
    monkeypatch.setattr(derive, "words_of", lambda facts: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        refreshed(db)
    assert gc.isenabled()
    assert seen == [False] * OBJECTS


def test_a_transaction_that_fails_leaves_what_was_there(db: database.Database) -> None:
    kept = everything(db)

    def fail() -> None:
        with database.writing(db):
            derive.refresh(db)
            db.execute("UPDATE survival_objects SET read = 99")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    assert everything(db) == kept
