"""What an object's linked data carries comes back value by value, whatever the records say."""

from __future__ import annotations

import copy
import json
import re
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from told_documents import told_documents

from collection.output.export.linked_art.beside import OF_OBJECT, decision, decision_from
from collection.output.export.linked_art.document import WITHIN, linked_object
from collection.output.export.linked_art.facts import facts_from
from collection.output.export.linked_art.forms import span
from collection.output.export.linked_art.ids import Ids
from collection.output.export.linked_art.shapes import COMPUTED_NOT_CARRIED, NOT_CARRIED, SHAPES, carried
from collection.output.published.audience import STAFF, Audience
from collection.output.published.filed_object import published_object
from collection.records.sheets import BY_SHEET, SHEETS

Json = dict[str, Any]
ADDRESSES = ("https://collection.example/", "https://collection.example/site/below/", None)
SURVIVAL = (*OF_OBJECT, "surviving_m2", "places")


def told(document: Json, address: str | None = ADDRESSES[0]) -> Json:
    """A document as linked data, through text."""
    ids = Ids(document["object"], address, "OHM")
    found: Json = json.loads(json.dumps(linked_object(document, ids, {"program": "firstcoat 0"})))
    return found


def carried_of(document: Json) -> Json:
    """What of a published document is carried, by the two tables of what is not; blanks left out, rows by key."""
    whole = copy.deepcopy(document)
    whole["survival"] = {name: whole["survival"][name] for name in SURVIVAL}
    for sample in whole["samples"]:
        del sample["original"]
    for proposal in whole["proposals"]:
        del proposal["assessment"]
    for picture in whole["pictures"]:
        del picture["size"]
    for drawing in whole["drawings"]:
        del drawing["box"]
    for cell in whole.setdefault("listed", []):
        del cell["key"]
    return {
        name: plain(value)
        for name, value in whole.items()
        if name not in ("format", "risks", "tags", "threats", "withheld")
    }


def plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: plain(each) for name, each in value.items() if each is not None}
    if isinstance(value, list) and value and isinstance(value[0], dict):
        return sorted((plain(each) for each in value), key=lambda row: json.dumps(row, sort_keys=True))
    return value


AUDIENCES = st.sampled_from((Audience("public"), Audience("public", True), STAFF))


@settings(max_examples=15)
@given(st.data(), AUDIENCES, st.sampled_from(ADDRESSES))
def test_whatever_the_records_say_comes_back(data: st.DataObject, audience: Audience, address: str | None) -> None:
    comes_back(data.draw(told_documents(audience)), address)


@pytest.mark.slow
@settings(max_examples=500)
@given(st.data(), AUDIENCES, st.sampled_from(ADDRESSES))
def test_whatever_the_records_say_comes_back_five_hundred_times(
    data: st.DataObject, audience: Audience, address: str | None
) -> None:
    comes_back(data.draw(told_documents(audience)), address)


def comes_back(document: Json, address: str | None) -> None:
    assert plain(facts_from(told(document, address))) == carried_of(document)


TEXT = st.text(st.characters(exclude_categories=["Cs"]), min_size=1)
DECISIONS = st.fixed_dictionaries(
    {
        "number": st.integers(1, 9),
        "decision": st.sampled_from(("approve", "refuse", "defer")),
        "steps": st.none() | st.lists(st.integers(1, 9), unique=True),
        "conditions": st.lists(TEXT),
        "decided_by": st.none() | TEXT,
        "reason": TEXT,
        "decided_at": st.just("2026-01-01T10:00:00Z"),
        "outcome": st.none() | TEXT,
        "stale": st.booleans(),
        "overrides": st.lists(st.fixed_dictionaries({"loss": TEXT, "severity": TEXT, "reason": TEXT}), max_size=2),
        "withheld": st.integers(0, 9),
        "answers": st.lists(st.fixed_dictionaries({"advice": TEXT, "reason": TEXT}), max_size=2),
        "answers_withheld": st.integers(0, 9),
    }
)


@given(DECISIONS, st.sampled_from(ADDRESSES))
def test_a_decision_comes_back_with_what_was_overridden_and_answered(made: Json, address: str | None) -> None:
    ids = Ids("A/1", address)
    node = json.loads(json.dumps(decision(made, ids.thing("proposals", "P1"), ids)))
    assert plain(decision_from(node, ids)) == plain(made)


def test_every_column_is_carried_or_named_with_the_reason() -> None:
    """And nothing is named that there is not, so that the tables say what is so."""
    for record in SHEETS:
        everything = {column.name for column in record.columns()}
        left = {column for sheet, column in NOT_CARRIED if sheet == record.sheet}
        told_of = {column.name for column in carried(record.sheet)}
        assert told_of | left == everything, record.sheet
        assert not told_of & left
        assert left == {column.name for column in record.columns() if column.kind == "file"}, record.sheet
        assert set(SHAPES[record.sheet].forms) <= told_of
        assert {column.name for column in STAFF.columns(record)} <= told_of, record.sheet
    assert set(SHAPES) == set(BY_SHEET)
    assert all(len(why.split()) > 4 for why in (*NOT_CARRIED.values(), *COMPUTED_NOT_CARRIED.values()))
    assert {sheet for sheet in SHAPES if sheet in WITHIN} == {
        "layers",
        "responses",
        "treatment_steps",
        "proposal_steps",
    }


def test_everything_of_the_sample_comes_back(harbour_pages: Path) -> None:
    with sqlite3.connect(f"file:{harbour_pages / 'collection.db'}?mode=ro", uri=True) as connection:
        for (code,) in connection.execute("SELECT object FROM objects").fetchall():
            published = published_object(connection, code)
            assert published is not None
            for address in ADDRESSES:
                facts = plain(facts_from(told(published.document, address)))
                assert facts == carried_of(published.document), (code, address)
    connection.close()


def test_two_collections_without_an_address_have_ids_of_their_own() -> None:
    """Numbers like 1949/1 are everywhere; the same number of the same collection is the same thing in every export."""
    own, again, other = (Ids("1949/1", None, whose).object for whose in ("OHM", "OHM", "ABC"))
    assert own == again != other
    assert re.fullmatch(r"urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-5[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}", own)


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("1908", "1908-01-01", "1908-12-31"),
        ("1908~", "1903-01-01", "1913-12-31"),
        ("190X", "1900-01-01", "1909-12-31"),
        ("[1939..1991]", "1939-01-01", "1991-12-31"),
        ("[..1939]", None, "1939-12-31"),
        ("1987/..", "1987-01-01", None),
        ("2020-02-29", "2020-02-29", "2020-02-29"),
        ("0000", None, None),
    ],
)
def test_a_date_says_what_was_written_and_the_days_that_it_can_mean(
    text: str, first: str | None, last: str | None
) -> None:
    """EDTF, Library of Congress 2019; `~` adds five years at both ends, common practice, no published source."""
    found = span(text)
    assert found["at_some_time_within"] == text
    assert found.get("begin_of_the_begin") == (None if first is None else f"{first}T00:00:00Z")
    assert found.get("end_of_the_end") == (None if last is None else f"{last}T23:59:59Z")
