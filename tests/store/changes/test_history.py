"""Nothing is lost: whatever is handed in, amended, corrected, withdrawn, reinstated, renamed or refused, every earlier
content can be had again exactly."""

from __future__ import annotations

import json
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from play import ACTS, Play
from strategies import object_rows, value

from collection.records.row import Record
from collection.records.sheets import SHEETS
from collection.store.check import check


@pytest.mark.slow
@settings(max_examples=settings().max_examples // 4)
@given(st.data(), object_rows(), st.lists(st.sampled_from(ACTS), min_size=1, max_size=10))
def test_every_earlier_content_comes_back_exactly(
    empty: Path, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject, rows: list[Record], acts: list[Any]
) -> None:
    """Whatever surveyors hand in and a registrar mends, withdraws, takes back and says of codes."""
    path = Path(shutil.copy(empty, tmp_path_factory.mktemp("play") / "play.db"))
    play = Play(path, rows)
    try:
        for act in acts:
            act(play, data)
    finally:
        play.end()
    report = check(path)
    assert report.damage == ()
    shutil.rmtree(path.parent)


@settings(max_examples=300)
@given(st.data(), st.sampled_from([cls for cls in SHEETS if any(c.kind == "number" for c in cls.columns())]))
def test_a_number_comes_out_of_the_history_as_it_went_in(data: st.DataObject, cls: type[Record]) -> None:
    """Against IEEE 754 as Python holds it, for every number column: denormal ones, ends of ranges, thirds. SQLite
    keeps no negative zero, which is equal to zero."""
    db = sqlite3.connect(":memory:")
    numbers = [c for c in cls.columns() if c.kind == "number"]
    given_numbers = [data.draw(value(column)) for column in numbers]
    db.execute(f"CREATE TABLE t ({', '.join(f'{c.name} REAL' for c in numbers)}) STRICT")
    db.execute(f"INSERT INTO t VALUES ({', '.join('?' * len(numbers))})", given_numbers)
    texts = db.execute(f"SELECT {', '.join(f'''printf('%!.17g', {c.name})''' for c in numbers)} FROM t").fetchone()
    assert [json.loads(text) for text in texts] == given_numbers
    db.close()
