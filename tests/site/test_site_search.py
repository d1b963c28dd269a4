"""Searching the site: what is found, in which order, why, and narrowed by what."""

from __future__ import annotations

import re
import sqlite3
import unicodedata
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from firstcoat_site import queries
from hypothesis import given, settings
from hypothesis import strategies as st
from site_answers import Page, codes, get


def test_a_code_comes_first_and_exactly(harbour: Path) -> None:
    (exact, sample, prefix, lower) = get(
        harbour,
        "/search.json?q=OHM-1937/3",
        "/search.json?q=OHM-1962-7/S03",
        "/search.json?q=OHM-19",
        "/search.json?q=ohm-1937/3",
    )
    assert exact.json()["results"][0]["object"] == "OHM-1937/3"
    assert exact.json()["results"][0]["why"] == "its number is OHM-1937/3"
    first = sample.json()["results"][0]
    assert (first["object"], first["why"]) == ("OHM-1962-7", "sample OHM-1962-7/S03")
    assert first["places"] == ["L-ROCK"]
    assert [r["object"] for r in prefix.json()["results"]] == codes(harbour)
    assert lower.json()["results"][0]["object"] == "OHM-1937/3"


def test_a_reason_says_that_its_record_says_no(harbour: Path) -> None:
    """The crest was looked for twice and not found: the word in its record is no sign that it is there."""
    (answer,) = get(harbour, "/search.json?q=crest")
    (found,) = answer.json()["results"]
    assert found["why"].startswith("decoration DC1/2014-11-06 (not found): The estate's crest")


def tokens(text: str) -> list[str]:
    plain = "".join(c for c in unicodedata.normalize("NFD", text) if not unicodedata.combining(c))
    return re.findall(r"[^\W_]+", plain.casefold())


def test_search_finds_what_reading_every_row_finds(harbour: Path) -> None:
    """120 words of the collection, each against a reading of all published texts from the first to the last."""
    connection = sqlite3.connect(f"file:{harbour / 'collection.db'}?mode=ro", uri=True)
    texts = {
        code: tokens(f"{title} {words}")
        for code, title, words in connection.execute("SELECT object, title, words FROM search")
    }
    words = sorted({word for found in texts.values() for word in found if word.isalpha()})
    for word in words[:: max(1, len(words) // 120)]:
        wanted = {code for code, found in texts.items() if word in found}
        longer = {
            code for code, found in texts.items() if len(word) >= 3 and any(token.startswith(word) for token in found)
        }
        found = queries.search(connection, word, {}, 1)
        assert {match.code for match in found.matches} == wanted, word
        assert (found.total, found.more) == (len(wanted), len(longer - wanted)), word
        begun = queries.search(connection, word, {}, 1, beginnings=True)
        assert {match.code for match in begun.matches} == wanted | longer, word
        for match in found.matches:
            assert any(hit for _, hit in match.pieces) or word in tokens(match.title), (word, match.code)
    connection.close()


@settings(max_examples=200)
@given(st.text(max_size=60))
def test_no_question_breaks_the_search(harbour: Path, asked: Any) -> None:
    connection = sqlite3.connect(f"file:{harbour / 'collection.db'}?mode=ro", uri=True)
    try:
        found = queries.search(connection, asked, {}, 1)
        assert all(match.text for match in found.matches)
    finally:
        connection.close()


@pytest.mark.parametrize(
    "asked",
    [
        "'",
        '"',
        '"" OR "',
        "NEAR(a b)",
        "a* OR b",
        "title:x",
        "^red",
        "-red",
        "*",
        "a" * 5000,
        "'; DROP TABLE objects; --",
        "1) UNION SELECT 1",
        "\x00",
        "(",
        "red AND",
        "{a b}",
    ],
)
def test_hostile_questions_are_questions(harbour: Path, asked: Any) -> None:
    page, data = get(harbour, f"/?q={quote(asked[:1000])}", f"/search.json?q={quote(asked[:1000])}")
    assert page.status_code == data.status_code == 200


def reading(site: Path, sql: str) -> set[str]:
    connection = sqlite3.connect(f"file:{site / 'collection.db'}?mode=ro", uri=True)
    try:
        return {row[0] for row in connection.execute(sql)}
    finally:
        connection.close()


@pytest.mark.parametrize(
    ("asked", "sql"),
    [
        ("state=original+exposed", "SELECT object FROM places WHERE state = 'original exposed'"),
        ("colour=vermil", "SELECT object FROM layers WHERE colour LIKE '%vermil%'"),
        ("scheme=restoration", "SELECT object FROM schemes WHERE period = 'restoration' OR name LIKE '%restoration%'"),
        ("maker=cro", "SELECT object FROM objects WHERE maker LIKE '%cro%'"),
        (
            "state=original+covered&colour=gold",
            "SELECT object FROM places WHERE state = 'original covered' INTERSECT "
            "SELECT object FROM layers WHERE colour LIKE '%gold%'",
        ),
        (
            "q=oak&colour=green",
            "SELECT object FROM layers WHERE colour LIKE '%green%' INTERSECT SELECT object FROM search "
            "WHERE words LIKE '%oak%' ",
        ),
    ],
)
def test_a_search_is_narrowed_to_what_reading_every_row_finds(harbour: Path, asked: Any, sql: Any) -> None:
    (page, data) = get(harbour, f"/?{asked}", f"/search.json?{asked}")
    wanted = reading(harbour, sql)
    found = {row["object"] for row in data.json()["results"]}
    assert wanted
    if asked.startswith("q="):
        assert found <= wanted  # the words of the index are whole words
    else:
        assert found == wanted
    for row in data.json()["results"]:
        assert row["why"]
        assert row["title"] in Page(page.text).words


def test_a_munsell_notation_is_one_colour(harbour: Path) -> None:
    (whole, figures) = get(harbour, "/search.json?q=5R+3/6", "/search.json?q=7.5R+3/6")
    connection = sqlite3.connect(f"file:{harbour / 'collection.db'}?mode=ro", uri=True)
    for answer, notation in ((whole, "5R 3/6"), (figures, "7.5R 3/6")):
        wanted = {row[0] for row in connection.execute("SELECT object FROM layers WHERE munsell = ?", (notation,))}
        assert {row["object"] for row in answer.json()["results"]} == wanted
    assert {row["object"] for row in figures.json()["results"]}
    connection.close()


def test_a_narrowed_search_names_the_places_and_the_record(harbour: Path) -> None:
    (state, colour) = get(harbour, "/search.json?state=original+exposed", "/search.json?colour=vermilion")
    first = next(row for row in state.json()["results"] if row["object"] == "OHM-1962-7")
    assert {"L-STRIP", "F-HID"} <= set(first["places"])
    assert first["why"].endswith("original exposed")
    coat = next(row for row in colour.json()["results"] if row["object"] == "OHM-1962-7")
    assert coat["record"]["kind"] == "layers"
    assert "vermilion" in coat["why"]


def test_narrowed_twice_a_search_names_the_places_where_both_hold(harbour: Path) -> None:
    """By reading the tables: the places of that state in which a sample met a coat of that colour."""
    (data,) = get(harbour, "/search.json?state=original+exposed&colour=red")
    connection = sqlite3.connect(f"file:{harbour / 'collection.db'}?mode=ro", uri=True)
    both = 0
    for row in data.json()["results"]:
        wanted = {
            place
            for (place,) in connection.execute(
                "SELECT s.place FROM samples AS s JOIN layers AS l ON l.sample_id = s.id WHERE s.object = ? AND l.colour "
                "LIKE '%red%' INTERSECT SELECT place FROM places WHERE object = ? AND state = 'original exposed'",
                (row["object"], row["object"]),
            )
        }
        if wanted:
            both += 1
            assert set(row["places"]) <= wanted, row
            assert row["places"]
            assert any(f"{place}: original exposed" in row["why"] for place in wanted)
    connection.close()
    assert both > 3
