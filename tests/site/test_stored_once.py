"""What is stored of the harbour's objects at `publish` is what their published records say, and is read part by part."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from published_secrets import compressed

from collection.compute.case import Case
from collection.compute.stratigraphy.strata import strata
from collection.output.drawings.figures import kept_figures
from collection.output.published.audience import Audience
from collection.output.published.comparisons import comparisons
from collection.output.published.filed_object import published_object, whole_json
from collection.output.published.published_object import PublishedObject
from collection.output.published.whole_records import whole_records
from collection.output.site.site_tables import published_columns

TRAM = "OHM-1962-7"


@pytest.fixture
def file(harbour: Path) -> Iterator[sqlite3.Connection]:
    connection = sqlite3.connect(f"file:{harbour / 'collection.db'}?mode=ro", uri=True)
    yield connection
    connection.close()


def codes(connection: sqlite3.Connection) -> list[str]:
    return [code for (code,) in connection.execute("SELECT object FROM objects ORDER BY id")]


def plain(value: Any) -> Any:
    return json.loads(json.dumps(value))


def test_what_is_stored_is_what_the_published_records_say(file: sqlite3.Connection) -> None:
    """Correlation, figures and comparisons, computed again from nothing but the published document."""
    for code in codes(file):
        stored = published_object(file, code)
        assert stored is not None
        again = PublishedObject(stored.document, kept_figures)
        assert stored.strata == plain(strata(Case(again.facts)).as_json())
        assert {name: stored.figure(name) for name in kept_figures(again)} == kept_figures(again)
        compared = file.execute("SELECT comparison FROM comparisons WHERE object = ? ORDER BY id", (code,)).fetchall()
        assert [json.loads(text) for (text,) in compared] == plain(comparisons(again))


def test_the_parts_and_the_tables_of_records_make_up_the_whole_document(file: sqlite3.Connection) -> None:
    """The whole JSON was written in one piece; its parts come from `parts`, the coats from their own table."""
    columns = published_columns(Audience())
    for code in codes(file):
        stored = published_object(file, code)
        assert stored is not None
        whole = json.loads(whole_json(file, code) or "")
        assert whole == whole_records(stored.document, columns)
        assert list(whole) == list(stored.document)
        for sample in whole["samples"]:
            assert [row["key"] for row in sample["layers"]] == [row["key"] for row in stored.coats(sample["sample"])]
    assert published_object(file, "NONE-1") is None
    assert whole_json(file, "NONE-1") is None


def test_a_page_reads_only_what_it_shows(file: sqlite3.Connection) -> None:
    """Asking for the zones and one sample's coats touches no other part and no other sample."""
    asked: list[str] = []
    stored = published_object(file, TRAM)
    assert stored is not None
    file.set_trace_callback(asked.append)
    assert stored["zones"]
    assert stored.coats(stored["samples"][0]["sample"])
    file.set_trace_callback(None)
    assert [re.sub(r".*name = ", "", text) for text in asked if "parts" in text] == ["'zones'", "'samples'"]
    assert sum("from layers where" in text for text in asked) == 1


def test_every_record_is_found_by_its_key(file: sqlite3.Connection) -> None:
    stored = published_object(file, TRAM)
    assert stored is not None
    whole = dict(stored.rows.items())
    assert len(whole) > 150
    assert all(stored.rows[record] == row for record, row in whole.items())
    assert ("layers", f"{TRAM}/S1/99") not in stored.rows
    assert ("zones", f"{TRAM}/none") not in stored.rows


def test_the_look_for_secrets_looks_into_what_is_compressed(harbour: Path) -> None:
    assert TRAM.encode() in b"".join(compressed(harbour / "collection.db"))
