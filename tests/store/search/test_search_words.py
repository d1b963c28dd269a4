"""The codes, words, phrases and filters of a search, as people write them."""

from __future__ import annotations

import json
from contextlib import suppress
from itertools import pairwise, product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_collection import EVERY

from collection.language import words
from collection.language.errors import WrongCommand
from collection.language.phrases import BETWEEN, Phrase, indexed, phrase, tokens
from collection.records.facts import FACT_SHEETS, canonical_json
from collection.store.base import database, read
from collection.store.base.facts_text import FactsText
from collection.store.base.search_document import COAT, coat_facet
from collection.store.changes import statements
from collection.store.search.filters import Filters, filters
from collection.store.search.search import search

# --- codes ----------------------------------------------------------------------------------------------------------


def test_codes_come_exactly_first_then_those_that_begin_so(db: database.Database) -> None:
    codes = read.object_codes(db)
    first = search(db, ["OHM-191"], limit=EVERY).hits
    assert [hit.object for hit in first] == [code for code in codes if code.startswith("OHM-191")]
    assert len(first) > 2
    assert search(db, ["ohm-191"]).hits[0].object == "OHM-191", "as words, case counts for nothing"
    assert search(db, ["OHM-191"], Filters(hazard=("any",)), EVERY).total <= len(first)


@pytest.mark.parametrize(
    ("sheet", "sql"),
    [
        ("zones", "SELECT object, zone FROM zones"),
        ("samples", "SELECT object, sample FROM samples"),
        ("layers", "SELECT object, sample, position FROM layers"),
        ("schemes", "SELECT object, scheme FROM schemes"),
        ("tests", "SELECT object, test FROM tests"),
        ("decorations", "SELECT object, decoration, observed_on FROM decorations WHERE observed_on <> ''"),
    ],
)
def test_a_key_finds_its_record_with_its_place(db: database.Database, sheet: str, sql: str) -> None:
    row = db.execute(f"{sql} ORDER BY 1 LIMIT 1").fetchone()
    key = "/".join(map(str, row))
    hit = search(db, [key]).hits[0]
    reason = hit.reasons[0]
    assert (hit.object, reason.sheet, f"{hit.object}/{reason.code}") == (row[0], sheet, key)
    if sheet == "layers":
        place = db.execute("SELECT place FROM samples WHERE object = ? AND sample = ?", row[:2]).fetchone()[0]
        assert [spot.place for spot in hit.places] == [place]
        assert reason.evidence.text == f"sample {row[1]} (cross-section), 2019-05-02, survey S1, Bela Quist"


def test_among_other_words_a_key_picks_its_object(db: database.Database) -> None:
    code, zone = db.execute("SELECT object, zone FROM zones ORDER BY object LIMIT 1").fetchone()
    assert [hit.object for hit in search(db, [f"{code}/{zone}", "body"]).hits] == [code]


def test_a_renamed_zone_is_found_by_both_codes(db: database.Database) -> None:
    code = db.execute("SELECT object FROM zones WHERE zone = 'Z1' ORDER BY object LIMIT 1").fetchone()[0]
    statements.rename(db, "zones", f"{code}/Z1", "PANEL", "N. N.", "new plan")
    for key in (f"{code}/Z1", f"{code}/PANEL"):
        hit = search(db, [key]).hits[0]
        assert (hit.object, hit.reasons[0].code, [spot.place for spot in hit.places]) == (code, "PANEL", ["PANEL"])
        assert hit.reasons[0].evidence.survey == "S1"


# --- words ----------------------------------------------------------------------------------------------------------


def test_a_munsell_notation_is_found_whole_and_no_other_hue_with_it() -> None:
    """`5R` and `7.5R` are two hues (ASTM D1535); only as figures is one a part of the other."""
    assert phrase("5R 3/8").in_text("5R 3/8")
    assert phrase("7.5R3/8").in_text("a coat of 7.5r 3/8, dull")
    assert not phrase("5R 3/8").in_text("7.5R 3/8")
    assert phrase("7.5R").in_text("7.5R 3/8")
    assert not phrase("3/8").in_text("7.5R 3/8")
    assert phrase("3/8").in_text("on 3/8 of it")
    assert indexed("1924/1931") == "1924/1931"


def test_a_phrase_does_not_run_on_into_the_next_cell(opened: dict[int, database.Database]) -> None:
    """The last word of a cell and the first of the next are no phrase, unless some cell holds them so."""
    tried = 0
    for code, text in opened[1].execute("SELECT object, words FROM documents").fetchall():
        cells = text.split(f" {BETWEEN} ")
        for one, two in pairwise(cells):
            joined = phrase(" ".join((*tokens(one)[-1:], *tokens(two)[:1])))
            if len(joined.tokens) == 2 and not any(joined.in_text(cell) for cell in cells):
                tried += 1
                assert code not in {hit.object for hit in search(opened[1], [joined.text], limit=EVERY).hits}
    assert tried > 100


@settings(max_examples=300)
@given(
    st.lists(
        st.text(max_size=12)
        | st.sampled_from(
            [
                '"',
                '"" OR "',
                "NEAR(a b)",
                "a* OR b",
                "title:x",
                "^red",
                "*",
                "-red",
                "{a}",
                "'; DROP TABLE objects; --",
                "\x00",
                "red*",
                "a" * 3000,
                BETWEEN,
                COAT,
                "1) UNION SELECT 1",
                "%",
                "//",
            ]
        ),
        max_size=3,
    )
)
def test_no_question_breaks_the_search(opened: dict[int, Any], asked: list[str]) -> None:
    """Anything may be asked: an answer, or a sentence that says what cannot be."""
    with suppress(WrongCommand):
        json.dumps(search(opened[1], asked).as_json(), allow_nan=False)


@pytest.mark.parametrize("asked", [[], [""], ["—", "…"], ["*"], [BETWEEN]])
def test_a_question_without_a_word_gets_a_sentence(opened: dict[int, database.Database], asked: list[str]) -> None:
    with pytest.raises(WrongCommand, match="nothing to look for"):
        search(opened[1], asked)


def test_too_short_a_beginning_and_too_many_words_get_a_sentence(opened: dict[int, database.Database]) -> None:
    with pytest.raises(WrongCommand, match="at least 3 letters"):
        search(opened[1], ["re*"])
    with pytest.raises(WrongCommand, match="too many"):
        search(opened[1], ["red"] * 40)


@pytest.mark.parametrize(
    ("given_", "meant"),
    [
        ({"role": ["pinstripe"]}, {"role": ("lining",)}),
        ({"state": ["Exposed"]}, {"state": ("original exposed",)}),
        ({"state": ["not examined"]}, {"state": ("not examined",)}),
        ({"period": ["maker's"]}, {"period": ("original",)}),
    ],
)
def test_filters_take_the_trades_other_names(given_: dict[str, Any], meant: dict[str, Any]) -> None:
    assert filters(**given_) == Filters(**meant)


@pytest.mark.parametrize(
    ("given_", "sentence"),
    [
        ({"role": ["varnsh"]}, "varnish"),
        ({"role": ["gilding"]}, "leaf"),
        ({"state": ["gone"]}, "original removed"),
        ({"colour": ["—"]}, "no letter"),
        ({"period": ["older"]}, "early"),
    ],
)
def test_a_word_outside_its_list_gets_a_sentence(given_: dict[str, Any], sentence: str) -> None:
    with pytest.raises(WrongCommand, match=sentence):
        filters(**given_)


def test_an_agent_is_found_under_the_other_names_of_its_liquid(opened: dict[int, database.Database]) -> None:
    for db in opened.values():
        found = {hit.object for hit in search(db, [], Filters(agent=("isopropanol",)), EVERY).hits}
        assert found == {hit.object for hit in search(db, [], Filters(agent=("2-propanol",)), EVERY).hits}
        assert found == {code for (code,) in db.execute("SELECT object FROM tests WHERE agent = 'isopropanol'")} | {
            code for (code,) in db.execute("SELECT object FROM tests WHERE agent LIKE '%2-propanol%'")
        }


def test_every_sort_of_coat_has_a_token_of_its_own() -> None:
    sorts = list(product((None, *words.ZONE_STATE.words), (None, *words.PERIOD.words), (None, *words.ROLE.words)))
    assert len({coat_facet(*sort) for sort in sorts}) == len(sorts)


# --- parts ----------------------------------------------------------------------------------------------------------


@settings(max_examples=200)
@given(
    st.dictionaries(
        st.sampled_from(FACT_SHEETS),
        st.lists(
            st.dictionaries(
                st.sampled_from(("a", "b", "object", "colour")),
                st.text(max_size=8)
                | st.sampled_from(("},{", '":[{', '"layers":[{', "{", "}", "\\", '"', "red", "Réd", '],"')),
                min_size=1,
            ),
            min_size=1,
            max_size=4,
        ),
    ),
    st.text(min_size=1, max_size=5),
)
def test_rows_picked_from_a_document_are_those_of_the_whole(
    sheets: dict[str, list[dict[str, str]]], title: str
) -> None:
    """Whatever stands in the texts: signs of JSON, brackets, and the sign between two records among them."""
    text = canonical_json({"object": {"title": title, "kind": "x"}, **sheets}).encode()
    document = FactsText(text)
    assert document.object == {"title": title, "kind": "x"}
    for sheet in FACT_SHEETS:
        rows = sheets.get(sheet, [])
        held = [row for row in rows if any("red" in value.lower() or "Réd" in value for value in row.values())]
        picked = FactsText(text).rows_holding(["red"], ["Réd"]).get(sheet, [])
        assert all(row in picked for row in held)
        assert all(row in rows for row in picked)
        for code in {row["a"] for row in rows if "a" in row}:
            assert FactsText(text).row(sheet, "a", code) == next(row for row in rows if row.get("a") == code)
        assert document.rows(sheet) == rows


@given(st.text(max_size=20), st.text(max_size=6))
def test_a_phrase_is_found_in_any_text_that_holds_it_between_blanks(text: str, word: str) -> None:
    one = phrase(word)
    assert isinstance(one, Phrase)
    if one.tokens and not one.longer and word.strip() == word:
        assert one.in_text(f"{text} {word} {text}") or not word.isascii() or "/" in word
