"""Whose collection it is: stated as a change, checked, cleared, and readable as it was before."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

import pytest

from collection.cli import run
from collection.language.errors import InputRefused, WrongCommand
from collection.store.base import database
from collection.store.changes import collection_row
from collection.store.check import check

BY, WHY = "R. Registrar", "as the board decided"
NAME = "name=Harbour Museum"


def now(path: Path) -> dict[str, str | None]:
    with database.opened(path, write=False) as db:
        return collection_row.present(db).as_json()


def test_nothing_is_recorded_at_first_and_that_is_said(new_db: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["collection", str(new_db)]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "code:    not recorded",
        "name:    not recorded",
        "contact: not recorded",
        "address: not recorded",
        "licence: not recorded",
    ]


def test_what_is_said_holds_and_what_was_said_before_is_shown(new_db: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = ["collection", str(new_db), "--by", BY, "--reason"]
    assert run([*said, WHY, NAME, "code=HM", "licence=CC0-1.0"]) == 0
    assert run([*said, "it moved", "name=Museum on the Quay", "licence=not recorded"]) == 0
    capsys.readouterr()
    assert run(["collection", str(new_db)]) == 0
    shown = capsys.readouterr().out
    assert "name:    Museum on the Quay\n" in shown
    assert "licence: not recorded\n" in shown
    assert f"said by {BY}, 20" in shown
    assert ": it moved\n    name: Harbour Museum → Museum on the Quay\n    licence: CC0-1.0 → not recorded\n" in shown
    assert run(["collection", str(new_db), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["format"] == 1
    assert answer["collection"] == {
        "code": "HM",
        "name": "Museum on the Quay",
        "contact": None,
        "address": None,
        "licence": None,
    }
    assert [each["why"] for each in answer["statements"]] == [WHY, "it moved"]
    assert answer["statements"][0]["name"] == "Harbour Museum"


def test_it_is_a_change_of_the_chain_that_nobody_can_alter(new_db: Path) -> None:
    collection_row.state(new_db, {"name": "Harbour Museum", "code": "HM"}, BY, WHY)
    db = sqlite3.connect(new_db)
    assert db.execute('SELECT action, subject, "by", why FROM changes').fetchall() == [("collection", "HM", BY, WHY)]
    assert check(new_db).damage == ()
    for sql in ("UPDATE collection SET name = 'x'", "DELETE FROM collection"):
        with pytest.raises(sqlite3.IntegrityError):
            db.execute(sql)
    db.rollback()
    db.execute("DROP TRIGGER collection_no_update")
    db.execute("UPDATE collection SET name = 'somebody else'")
    db.commit()
    assert any("change 1" in line.lower() for line in check(new_db).damage), check(new_db).damage


@pytest.mark.parametrize(
    ("text", "stored"),
    [
        ("https://host.example", "https://host.example/"),
        ("https://host.example/", "https://host.example/"),
        ("http://host.example:8080/a/b", "http://host.example:8080/a/b/"),
        ("  https://host.example/~x/  ", "https://host.example/~x/"),
    ],
)
def test_a_lasting_address_ends_in_a_slash(new_db: Path, text: str, stored: str) -> None:
    """So that the address of a page can follow it (RFC 3986, section 5: what follows the last slash is replaced)."""
    collection_row.state(new_db, {"address": text}, BY, WHY)
    assert now(new_db)["address"] == stored


@pytest.mark.parametrize(
    "text",
    [
        "host.example",
        "ftp://host.example/",
        "https://host.example/?page=1",
        "https://host.example/#top",
        "https:///objects/",
        "https://host.example/a b/",
        "https://host.example/../x/",
        "javascript:alert(1)",
        "https://user@host.example/",
    ],
)
def test_what_is_no_lasting_address_is_refused(new_db: Path, text: str) -> None:
    with pytest.raises(InputRefused) as refused:
        collection_row.state(new_db, {"address": text, "name": "Harbour Museum"}, BY, WHY)
    assert "without ? or #" in refused.value.faults[0].message
    assert now(new_db)["name"] is None, "nothing of it was stored"


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"adress": "x"}, "it has code, name, contact, address, licence"),
        ({"name": " "}, "Write `not recorded` to clear it"),
        ({"name": "a\x00b"}, "cannot be seen"),
        ({"code": "=1+1"}, "does not begin with '='"),
        ({"contact": "not recorded"}, "says this already"),
    ],
)
def test_what_it_cannot_hold_is_refused_with_a_sentence(new_db: Path, values: dict[str, str], said: str) -> None:
    with pytest.raises(InputRefused) as refused:
        collection_row.state(new_db, values, BY, WHY)
    assert said in refused.value.faults[0].message
    assert sqlite3.connect(new_db).execute("SELECT count(*) FROM changes").fetchone() == (0,)


def test_nobody_says_it_without_name_and_reason(new_db: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("FIRSTCOAT_BY", raising=False)
    assert run(["collection", str(new_db), NAME]) == 2
    assert run(["collection", str(new_db), NAME, "--by", BY]) == 2
    assert run(["collection", str(new_db), "name", "--by", BY, "--reason", WHY]) == 2
    with pytest.raises(WrongCommand):
        collection_row.state(new_db, {"name": "Harbour Museum"}, " ", WHY)
    assert now(new_db)["name"] is None
