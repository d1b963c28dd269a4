"""The published site: what SQLite may do for one page is limited, and nothing else is counted."""

from __future__ import annotations

import asyncio
import sqlite3
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from firstcoat_site import answers, queries
from site_answers import get, hostile_text_site

from collection.output.site.serve import make_datasette

ENDLESS = "with recursive n(n) as (select 1 union all select n + 1 from n) select count(*) from n"
COUNTED = "with recursive n(n) as (select 1 union all select n + 1 from n limit 10000) select count(*) from n"
"""More than 100,000 of SQLite's steps: its loop takes more than ten for each row (`explain` lists them)."""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return hostile_text_site(tmp_path_factory.mktemp("site"))


def asked(site: Path, question: Callable[[sqlite3.Connection], Any]) -> Any:
    return asyncio.run(answers.ask(make_datasette(site, threads=0), question))


def test_our_own_computing_is_not_counted(site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A page on a busy machine: between its two questions an hour passes, on every clock there is."""

    def question(connection: sqlite3.Connection) -> int:
        connection.execute(COUNTED).fetchone()
        with monkeypatch.context() as clocks:
            for clock in (time.time, time.monotonic, time.perf_counter, time.process_time, time.thread_time):
                late = clock() + 3600
                clocks.setattr(time, clock.__name__, lambda late=late: late)
            return connection.execute(COUNTED).fetchone()[0]

    assert asked(site, question) == 10000


def test_an_endless_question_is_stopped(site: Path) -> None:
    with pytest.raises(sqlite3.OperationalError, match="interrupted"):
        asked(site, lambda connection: connection.execute(ENDLESS).fetchone())


def test_all_questions_of_a_page_are_counted_together(site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each of them is within the limit by itself, and so is the next page after one that was stopped."""
    monkeypatch.setattr(answers, "MOST_STEPS", 1_000_000)

    def times(number: int) -> Callable[[sqlite3.Connection], int]:
        return lambda connection: sum(connection.execute(COUNTED).fetchone()[0] for _ in range(number))

    datasette = make_datasette(site, threads=0)
    assert asyncio.run(answers.ask(datasette, times(1))) == 10000
    with pytest.raises(sqlite3.OperationalError, match="interrupted"):
        asyncio.run(answers.ask(datasette, times(10)))
    assert asyncio.run(answers.ask(datasette, times(1))) == 10000


def test_a_page_that_is_stopped_answers_with_our_own_words(
    site: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(answers, "MOST_STEPS", 1_000_000)
    monkeypatch.setattr(queries, "about_file", lambda connection: connection.execute(ENDLESS).fetchone())
    (answer,) = get(site, "/")
    assert (answer.status_code, answers.ERRORS[500][0] in answer.text) == (500, True)
    assert "interrupted" in capsys.readouterr().err
