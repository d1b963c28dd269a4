"""Keys as people write them, split from the right, and the record that each means."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from packaged_rows import store
from strategies import object_rows
from tram_records import one

from collection.language.errors import InputRefused
from collection.records.row import Record
from collection.records.sheets import BY_SHEET, Component, Object
from collection.store.base import database, keys, read
from collection.store.changes import corrections
from collection.store.schema.tables import stored_values

BY, WHY = "A. Surveyor", "seen again"


@settings(max_examples=30)
@given(object_rows())
def test_every_key_comes_back_from_its_text(rows: list[Record]) -> None:
    for row in rows:
        stored = tuple(stored_values(row)[name] for name in row.key)
        assert stored in set(keys.readings(type(row), keys.shown(row.sheet, stored)))
        assert stored in set(keys.readings(type(row), keys.full_text(stored)))
        assert keys.shown(row.sheet, stored) == row.key_text()


@pytest.mark.parametrize(
    ("sheet", "text", "parts"),
    [
        ("survey", "A", ("A",)),
        ("survey", "A/1", ("A/1",)),
        ("objects", "1937/2", ("1937/2",)),
        ("layers", "1937/2/S1/3", ("1937/2", "S1", 3)),
        ("components", "3/body", ("3", "body", "")),
        ("components", "3/body/2001", ("3", "body", "2001")),
        ("components", "3/body/1924/1931", ("3", "body", "1924/1931")),
        ("conditions", "1937/2/door/flaking/1924/1931/1", ("1937/2", "door", "flaking", "1924/1931", "1")),
        ("responses", "3/T1/1", ("3", "T1", "1", "", "", 0, "")),
        ("responses", "3/T1/1/varnish", ("3", "T1", "1", "varnish", "", 0, "")),
        ("responses", "3/T1///S1/2", ("3", "T1", "", "", "S1", 2, "")),
        ("responses", "3/T1/////D1", ("3", "T1", "", "", "", 0, "D1")),
    ],
)
def test_keys_are_split_from_the_right(sheet: str, text: str, parts: tuple[Any, ...]) -> None:
    assert keys.split_key(sheet, text) == parts or parts in set(keys.readings(BY_SHEET[sheet], text))
    assert keys.shown(sheet, parts) == text


@pytest.mark.parametrize(
    ("sheet", "text"),
    [
        ("layers", "3/S1"),
        ("layers", "3/S1/x"),
        ("layers", "S1"),
        ("layers", ""),
        ("zones", "3/"),
        ("zones", "/door"),
        ("responses", "3"),
        ("conditions", "3/door/flaking/someday"),
    ],
)
def test_what_is_no_key_is_told_its_form(sheet: str, text: str) -> None:
    with pytest.raises(InputRefused) as refusal:
        keys.split_key(sheet, text)
    assert f"A key of {sheet} is written OBJECT" in refusal.value.faults[0].message


@pytest.mark.parametrize(
    ("sheet", "text", "nearest"),
    [
        ("objects", "1962-7", "1962.7"),
        ("layers", "1962.7/S1/3", "1962.7/S1/"),
        ("layers", "1962,7/S1/1", "1962.7"),
        ("zones", "1962.7/dor", "1962.7/door"),
        ("survey", "B", None),
    ],
)
def test_an_unknown_key_names_the_nearest(filled: Path, sheet: str, text: str, nearest: str | None) -> None:
    with pytest.raises(InputRefused) as refusal:
        corrections.withdraw(filled, sheet, text, BY, WHY)
    fault = refusal.value.faults[0]
    assert "no such record" in fault.message
    assert (fault.nearest or "").startswith(nearest or "")
    assert (fault.nearest is None) == (nearest is None)


def test_a_key_with_two_meanings_is_asked_back(new_db: Path) -> None:
    """A part `1924` of object 3/1 without a date, and the part `1` of object 3 in 1924."""
    store(
        new_db,
        "A",
        [
            Object(object="3", title="t", kind="k"),
            Object(object="3/1", title="t", kind="k"),
            Component(object="3", component="1", name="one", observed_on="1924"),
            Component(object="3/1", component="1924", name="two"),
        ],
    )
    with pytest.raises(InputRefused, match="Refused") as refusal:
        corrections.withdraw(new_db, "components", "3/1/1924", BY, WHY)
    assert "may name 2 records" in refusal.value.faults[0].message
    corrections.withdraw(new_db, "components", "3/1/1924/", BY, WHY)
    assert one(new_db, "SELECT name FROM components WHERE withdrawn IS NOT NULL") == "two"
    with database.opened(new_db, write=False) as db:
        (earlier,) = read.object_history(db, "3/1")
        assert (earlier["content"]["object"], earlier["content"]["component"]) == ("3/1", "1924")
        assert db.execute("SELECT key FROM history").fetchall() == [("3/1/1924",)]
