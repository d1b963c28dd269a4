"""A correction: signed, checked like any cell, and what stood there before stays."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest
from tram_records import PUMP, TRAM, one

from collection.language.errors import FirstcoatError, InputRefused
from collection.store.base import database, read
from collection.store.changes import corrections
from collection.store.check import check

BY, WHY = "A. Surveyor", "seen again"


def test_a_correction_is_signed_and_keeps_what_stood_there(filled: Path) -> None:
    corrections.correct(filled, "layers", f"{TRAM}/S1/2", {"thickness_um": "35,5", "role": "Overpaint"}, BY, WHY)
    assert one(filled, "SELECT thickness_um, role, revision, survey FROM layers WHERE position = 2") == (
        35.5,
        "body colour",
        2,
        "A",
    )
    with database.opened(filled, write=False) as db:
        (entry,) = read.object_history(db, TRAM)
        assert read.load_facts(db, TRAM).sha256 == read.facts_rows(db, TRAM).sha256
        assert read.load_facts(db, TRAM).layers[1].thickness_um == 35.5
    assert entry["content"]["thickness_um"] == 0.1 + 0.2
    assert (entry["by"], entry["why"], entry["action"]) == (BY, WHY, "correct")
    assert check(filled).damage == ()


def test_a_date_takes_its_bounds_with_it(filled: Path) -> None:
    corrections.correct(filled, "objects", TRAM, {"made": "1924/1931"}, BY, WHY)
    made = "SELECT made, made_earliest, made_latest FROM objects WHERE object = ?"
    assert one(filled, made, TRAM) == ("1924/1931", "1924-01-01", "1931-12-31")
    corrections.correct(filled, "objects", TRAM, {"made": "Not  recorded"}, BY, WHY)
    assert one(filled, made, TRAM) == (None, None, None)


@pytest.mark.parametrize(
    ("sheet", "key", "column", "text", "said", "nearest"),
    [
        ("layers", f"{TRAM}/S1/2", "thicknes_um", "3", "no such column", "thickness_um"),
        ("layers", f"{TRAM}/S1/2", "position", "3", "part of the record's key", None),
        ("layers", f"{TRAM}/S1/2", "role", "varnsh", "Not a word for layer role", "varnish"),
        ("layers", f"{TRAM}/S1/2", "role", "size", "gold size is written mordant", None),
        ("layers", f"{TRAM}/S1/2", "role", "not recorded", "always needed", None),
        ("layers", f"{TRAM}/S1/2", "role", " ", "blank changes nothing", None),
        ("layers", f"{TRAM}/S1/2", "thickness_um", "-1", "0 to 100000 µm", None),
        ("layers", f"{TRAM}/S1/2", "thickness_um", "1,234", "thousands", None),
        ("layers", f"{TRAM}/S1/2", "thickness_um", "nan", "left blank", None),
        ("layers", f"{TRAM}/S1/2", "scheme", "11", "no such record in schemes", "1"),
        ("layers", f"{TRAM}/S1/2", "source", "Q", "no such record in sources", None),
        ("layers", f"{TRAM}/S1/2", "notes", "a\x00b", "cannot be seen", None),
        ("layers", f"{TRAM}/S1/2", "notes", "a\u202eb", "right-to-left override", None),
        ("samples", f"{TRAM}/S1", "place", "doors", "no such zone or part", "door"),
        ("samples", f"{TRAM}/S1", "taken_on", "12/13/2001", "2001-12-13 in EDTF", "2001-12-13"),
        ("zones", f"{TRAM}/panel", "within", "all", "means the whole object", None),
        ("zones", f"{TRAM}/door", "within", "panel", "lie within itself, by way of panel", None),
        ("zones", f"{TRAM}/door", "within", "door", "lie within itself", None),
        ("zones", f"{TRAM}/door", "outline", "0,0 1,1", "at least 3", None),
        ("zones", f"{TRAM}/door", "outline", "0,0 1,1 2", "no y", None),
        ("components", f"{TRAM}/body/2001", "parent", "frame", "lie within itself", None),
        ("objects", PUMP, "part_of", PUMP, "lie within itself", None),
        ("objects", PUMP, "part_of", "1962", "no such record in objects", TRAM),
        ("analyses", f"{TRAM}/A1", "position", "7", "no such record in layers", None),
        ("analyses", f"{TRAM}/A1", "sample", "not recorded", "the sample has to be named", None),
        ("proposal_steps", f"{TRAM}/P1/1", "removes", "9/varnish", "no such record in schemes", None),
        ("proposal_steps", f"{TRAM}/P1/1", "removes", "1/varnishes", "Not a word", "varnish"),
        ("proposal_steps", f"{TRAM}/P1/1", "agent", "5% acetone", "not in percent", None),
        ("objects", TRAM, "title", "tram", "says this already", None),
    ],
)
def test_a_correction_that_does_not_fit_is_a_sentence(
    filled: Path, sheet: str, key: str, column: str, text: str, said: str, nearest: str | None
) -> None:
    before = list(sqlite3.connect(filled).iterdump())
    with pytest.raises(InputRefused) as refusal:
        corrections.correct(filled, sheet, key, {column: text}, BY, WHY)
    faults = refusal.value.faults
    assert said in faults[0].message, faults
    assert faults[0].nearest == nearest
    assert list(sqlite3.connect(filled).iterdump()) == before


def test_all_faults_of_a_correction_are_told_at_once(filled: Path) -> None:
    with pytest.raises(InputRefused) as refusal:
        corrections.correct(filled, "layers", f"{TRAM}/S1/2", {"role": "x", "binder": "japan", "lab_l": "101"}, BY, WHY)
    assert {fault.column for fault in refusal.value.faults} == {"role", "binder", "lab_l"}


def test_a_reference_to_what_is_out_of_account_is_refused(filled: Path) -> None:
    corrections.withdraw(filled, "schemes", f"{TRAM}/2", BY, WHY)
    with pytest.raises(InputRefused) as refusal:
        corrections.correct(filled, "layers", f"{TRAM}/S1/2", {"scheme": "2"}, BY, WHY)
    assert refusal.value.faults[0].nearest is None
    corrections.reinstate(filled, "schemes", f"{TRAM}/2", BY, WHY)
    corrections.correct(filled, "layers", f"{TRAM}/S1/2", {"scheme": "2"}, BY, WHY)


def test_nobody_and_no_reason_change_nothing(filled: Path) -> None:
    for by, why in (("", WHY), ("  ", WHY), (BY, ""), (BY, "\n"), (BY, "a\x00b")):
        with pytest.raises(FirstcoatError) as refusal:
            corrections.correct(filled, "objects", PUMP, {"title": "car"}, by, why)
        assert refusal.value.exit_code == 2
    with database.opened(filled, write=False) as db:
        assert db.execute("SELECT title FROM objects WHERE object = ?", (PUMP,)).fetchone() == ("hand pump",)
        assert db.execute("SELECT count(*) FROM changes").fetchone() == (1,)
