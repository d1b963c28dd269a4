"""Facts read from the records, in every way there is, and what is told where there are none."""

from __future__ import annotations

import json
import shutil
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from packaged_rows import store
from strategies import collection_rows
from tram_records import PUMP, TRAM

from collection.language.errors import InputRefused
from collection.records.facts import Facts, facts_of, read_document
from collection.records.row import Record
from collection.records.sheets import Object
from collection.store import derive
from collection.store.base import database, read
from collection.store.changes import corrections
from collection.store.check import check

BY, WHY = "A. Surveyor", "seen again"


def vars_of(facts: Facts) -> list[Any]:
    """The rows of a facts document; documents themselves are compared by identity."""
    return [getattr(facts, field.name) for field in fields(facts)]


@pytest.mark.slow
@settings(max_examples=20)
@given(collection_rows())
def test_facts_are_what_was_stored(empty: Path, rows: list[Record]) -> None:
    """Read for one object, for many, from the views, from the document, and made of the records alone."""
    path = Path(shutil.copy(empty, empty.with_name("facts.db")))
    store(path, "A", rows)
    objects = [row for row in rows if isinstance(row, Object)]
    with database.opened(path, write=False) as db:
        bulk = {facts.object.object: facts for facts in read.facts_in_bulk(db)}
        assert sorted(bulk) == read.object_codes(db) == sorted(row.object for row in objects)
        for row in objects:
            expected = facts_of(row, [r for r in rows if getattr(r, "object", None) == row.object])
            one_by_one = read.facts_rows(db, row.object)
            assert one_by_one.document() == expected.document()
            for other in (
                bulk[row.object],
                read.load_facts(db, row.object),
                read_document(json.loads(one_by_one.canonical)),
            ):
                assert vars_of(other) == vars_of(one_by_one)
    corrections.withdraw(path, "objects", objects[0].object, BY, WHY)
    with database.opened(path, write=False) as db:
        assert read.anything_withdrawn(db)
        assert [facts.object.object for facts in read.facts_in_bulk(db)] == sorted(r.object for r in objects[1:])
        for row in objects[1:]:
            assert vars_of(read.facts_rows(db, row.object)) == vars_of(bulk[row.object])


def test_facts_hold_no_notes_and_nothing_private(filled: Path) -> None:
    with database.opened(filled, write=False) as db:
        facts = read.facts_rows(db, PUMP)
        assert (facts.object.owner, facts.object.notes) == (None, None)
        assert "tired" not in facts.canonical
        assert vars_of(facts) == vars_of(read.load_facts(db, PUMP))


def test_an_outdated_document_is_not_used(filled: Path) -> None:
    with database.opened(filled, write=True) as db:
        db.execute("UPDATE facts SET document = json_set(document, '$.object.title', 'bus') WHERE object = ?", (TRAM,))
        assert read.load_facts(db, TRAM).object.title == "bus"
        derive.mark_stale(db, [TRAM])
        assert read.load_facts(db, TRAM).object.title == "tram"
    notes = check(filled).notes
    assert any("1 objects" in line and "refresh" in line for line in notes)


def test_unknown_objects_and_proposals_name_the_nearest(filled: Path) -> None:
    with database.opened(filled, write=False) as db:
        with pytest.raises(InputRefused) as refusal:
            read.facts_rows(db, "1962")
        assert refusal.value.faults[0].nearest == TRAM
        with pytest.raises(InputRefused) as refusal:
            read.load_proposal(db, TRAM, "P9")
        assert "has P1" in refusal.value.faults[0].message
        found = read.load_proposal(db, TRAM, "P1")
        assert [step.step for step in found.steps] == [1, 2]
        assert read.proposal_keys(db) == [(TRAM, "P1")]
        assert read.object_history(db, TRAM) == []
