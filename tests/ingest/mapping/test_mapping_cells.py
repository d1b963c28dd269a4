"""Cells of a foreign list taken apart and put together, and dates of lists as EDTF."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from collection.ingest.mapping import cells as cells
from collection.ingest.mapping.dates import BETWEEN, DAY_FIRST, FROM_TO, MONTH_FIRST, DateWords, read_date, read_years
from collection.values import dates

OPEN_LISTS = Path(__file__).resolve().parents[2] / "open_lists"
WORDS = DateWords()
SPAN = DateWords(ranges=FROM_TO, short_years=True)
GERMAN = DateWords(
    ranges=BETWEEN,
    about=("um", "ca."),
    uncertain=("wohl", "?"),
    before=("vor",),
    after=("nach",),
    since=("ab", "von"),
    between=("zwischen",),
    to=("-", "–", "bis", "und"),
    decade=("er", "er Jahre"),
    century=(". Jh.", ". Jahrhundert"),
    days=DAY_FIRST,
)
TEXT = st.text("ab .;/é\u0301\n", max_size=12)
SEPARATOR = st.sampled_from([";", " / ", ".", "ab", "\n"])
YEAR = st.integers(1000, 2000)


# Parts of cells


@given(TEXT, SEPARATOR)
def test_all_pieces_together_use_up_a_cell(text: str, separator: str) -> None:
    """Whatever stands between the separators is in one of the pieces, and nothing of the cell is left; a cell of
    separators alone has no piece that is not blank, so it is left."""
    whole = cells.whole("H", text)
    assume(whole.text)
    found = cells.pieces(whole, separator)
    assert [each.text for each in found] == [part.strip() for part in text.strip().split(separator)]
    assert cells.is_used_up(text, [part for each in found for part in each.parts]) is any(each.text for each in found)


@given(TEXT, SEPARATOR, st.integers(1, 4))
def test_a_piece_leaves_exactly_the_other_pieces(text: str, separator: str, number: int) -> None:
    """One piece uses up a cell only where all the others are blank."""
    whole = cells.whole("H", text)
    piece = cells.piece(whole, separator, number)
    others = [part.strip() for place, part in enumerate(text.strip().split(separator), 1) if place != number]
    if piece.text:
        assert cells.is_used_up(text, piece.parts) is not any(others)


@given(TEXT, SEPARATOR, st.integers(-3, 3).filter(bool))
def test_a_part_stands_in_its_cell_where_it_says(text: str, separator: str, number: int) -> None:
    """The first part of what was taken, trimmed, is the text that was taken."""
    taken = cells.piece(cells.whole("H", text), separator, number)
    if taken.text:
        part = taken.parts[0]
        assert text[part.start : part.end].strip() == taken.text == text[taken.at : taken.at + len(taken.text)]


@given(TEXT, st.integers(1, 6), st.integers(0, 6))
def test_characters_are_counted_from_one(text: str, first: int, more: int) -> None:
    """Characters are those of the trimmed text, and they cover what they took."""
    taken = cells.characters(cells.whole("H", text), first, first + more)
    assert taken.text == text.strip()[first - 1 : first + more].strip()
    if taken.text:
        assert text[taken.at : taken.at + len(taken.text)] == taken.text


def test_pieces_of_pieces() -> None:
    """A piece can be taken apart again, and its place in the cell is known."""
    cell = "flaking: slight; rust: severe"
    second = cells.pieces(cells.whole("H", cell), ";")[1]
    word, how = (cells.piece(second, ":", number) for number in (1, 2))
    assert (word.text, how.text) == ("rust", "severe")
    assert cell[how.at : how.at + 6] == "severe"
    assert cells.piece(second, ":", 3) == cells.NOTHING
    assert cells.piece(second, ":", -1).text == "severe"


def test_a_cell_of_very_many_pieces_is_parted_at_once() -> None:
    """The work grows with the pieces, not with their square: 60,000 of them lie in one cell that a list may hold."""
    cell = "x;" * 60_000
    found = cells.pieces(cells.whole("H", cell), ";")
    assert len(found) == 60_001
    assert sum(len(each.parts) for each in found) == 180_000
    assert cells.is_used_up(cell, [part for each in found for part in each.parts])


def test_joining_leaves_out_blanks() -> None:
    """A number without its part number stands alone; 1979.10 keeps its nought."""

    def joined(*texts: str) -> str:
        return cells.join((cells.whole(f"H{n}", text) for n, text in enumerate(texts)), ".").text

    assert joined("1979", "10") == "1979.10"
    assert joined("1979", " ") == "1979"
    assert joined("", "") == ""


def test_terms_are_found_whatever_their_capitals_and_blanks() -> None:
    """Terms of the list compare folded; of others the nearest is told."""
    terms = {"eiche": "oak", "öl auf leinwand": "oil on canvas"}
    assert cells.translate(" Öl  auf Leinwand", terms) == "oil on canvas"
    assert cells.translate("Ulme", terms) is None
    assert cells.nearest_term("Eichen", ["Eiche", "Öl auf Leinwand"]) == "Eiche"
    assert cells.nearest_term("Zinn", ["Eiche"]) is None


# Dates. The right column of the next table: examples of the EDTF specification, Library of Congress, 4 February 2019
# (loc.gov/standards/datetime), as quoted in tests/values/test_dates.py, except those marked own.
AS_IN_THE_SPECIFICATION = {
    "1985": "1985",
    "1985-04-12": "1985-04-12",
    "uncertain 1984": "1984?",
    "circa 1984": "1984~",
    "circa 1984 ?": "1984%",
    "2010s": "201X",
    "20th century": "19XX",  # own: the specification has 20XX for the century of the twenty-hundreds
    "21st century": "20XX",
    "before 1760-12-03": "[..1760-12-03]",
    "after 1760-12": "[1760-12..]",
    "between 1964 and 2008": "[1964..2008]",  # own: its 1964/2008 is the interval of the next line
    "from 1964 to 2008": "1964/2008",
    "from 1985-04-12": "1985-04-12/",
}


@pytest.mark.parametrize("text", AS_IN_THE_SPECIFICATION)
def test_dates_become_the_forms_of_the_specification(text: str) -> None:
    """Words before a date become the qualifiers and intervals of EDTF."""
    words = DateWords(uncertain=("?", "uncertain"))
    assert read_date(text, words) == AS_IN_THE_SPECIFICATION[text]


@pytest.mark.parametrize(
    "text",
    [
        "1984?",
        "2004-06~",
        "2004-06-11%",
        "201X",
        "20XX",
        "1985-04-12/..",
        "../1985-04-12",
        "1985-04-12/",
        "/1985-04-12",
        "[..1760-12-03]",
        "[1760-12..]",
        "1964/2008",
        "2004-06/2006-08",
    ],
)
def test_what_is_edtf_already_stays_as_it_is(text: str) -> None:
    """Examples of the specification's levels 0, 1 and 2, whatever a mapping says of ranges."""
    assert read_date(text, WORDS) == read_date(text, SPAN) == text


@pytest.mark.parametrize(
    ("text", "between", "from_to"),
    [
        ("1890-1910", "[1890..1910]", "1890/1910"),
        ("c.1786-9", "[1786~..1789~]", "1786~/1789~"),
        ("1893–94", "[1893..1894]", "1893/1894"),
        ("1920s-1950s", "[192X..195X]", "192X/195X"),
        ("before 1920", "[..1920]", "/1920"),
        ("after 1853", "[1853..]", "1853/"),
        ("before circa 1900", "[..1900~]", "/1900~"),
        ("?c.1785", "1785%", "1785%"),
        ("1805-10", None, "1805/1810"),
        ("1910-12", None, "1910/1912"),
        ("1910-12?", None, "1910?/1912?"),
        ("1910-21?", "[1910?..1921?]", "1910?/1921?"),
    ],
)
def test_the_mapping_says_what_a_range_is(text: str, between: str | None, from_to: str | None) -> None:
    """Some time between two years, or from the one to the other; 1910-12 is read only where somebody says how."""
    assert read_date(text, WORDS) == between
    assert read_date(text, SPAN) == from_to


@pytest.mark.parametrize(
    ("text", "edtf"),
    [
        ("um 1900", "1900~"),
        ("vor 1914", "[..1914]"),
        ("wohl um 1870", "1870%"),
        ("ab 1920", "1920/"),
        ("zwischen 1890 und 1910", "[1890..1910]"),
        ("1880er Jahre", "188X"),
        ("19. Jh.", "18XX"),
        ("3.5.1910", "1910-05-03"),
        ("von 1890 bis 1910", "1890/1910"),
        ("2. Hälfte 19. Jh.", None),
        ("Gründerzeit", None),
    ],
)
def test_another_language_has_its_own_words(text: str, edtf: str | None) -> None:
    """The words of a mapping stand in place of the English ones."""
    assert read_date(text, GERMAN) == edtf


@pytest.mark.parametrize(
    "text",
    [
        "",
        "undated",
        "1800s",
        "late 1800s",
        "1988, printed 2006",
        "1826-7, reprinted 1892",
        "1767 or 9-1818",
        "1910-1900",
        "2019-13",
        "1985-04-31",
        "3.5.1910",
        "c.",
        "before",
        "circa",
        "between 1900",
        "before 1890-1910",
        "0000-00-00",
    ],
)
def test_what_has_more_than_one_meaning_is_not_understood(text: str) -> None:
    """None, so that the cell stays unmapped: nobody guesses."""
    assert read_date(text, WORDS) is None


def test_days_and_months_are_told_apart_by_the_mapping_only() -> None:
    """3.5.1910 is the third of May, the fifth of March, or nothing."""
    assert read_date("3.5.1910", DateWords(days=DAY_FIRST)) == "1910-05-03"
    assert read_date("3.5.1910", DateWords(days=MONTH_FIRST)) == "1910-03-05"
    assert read_date("13.5.1910", DateWords(days=MONTH_FIRST)) is None


def test_a_year_and_a_month_stay_a_month_and_no_season() -> None:
    """Where a mapping says that two digits are a month, what is no month is a year; EDTF would read a season."""
    words = DateWords(short_years=False)
    assert [read_date(text, words) for text in ("1910-12", "1910-12?", "1910-21")] == [
        "1910-12",
        "1910-12?",
        "[1910..1921]",
    ]
    assert read_date("1930-05?", DateWords(uncertain=("perhaps",))) == "1930-05?"


@pytest.mark.parametrize(
    ("qualifier", "earliest", "latest", "edtf"),
    [
        ("circa", "1870", "1870", "1870~"),
        ("circa", "1860", "1880", "[1860~..1880~]"),
        ("circa 1870", "1860", "1880", "[1860..1880]"),
        ("circa 1870", "1870", "1870", "1870~"),
        ("probably", "1900", "1900", "1900?"),
        ("", "1856", "1856", "1856"),
        ("1856", "1856", "1856", "1856"),
        ("", "1890", "1910", "[1890..1910]"),
        ("undated", "1850", "1900", "[1850..1900]"),
        ("before", "", "1920", "[..1920]"),
        ("before 1920", "1880", "1920", "[1880..1920]"),
        ("after", "1853", "", "[1853..]"),
        ("before 1920", "1920", "1920", "[..1920]"),
        ("1905-1910", "1910", "1910", "[1905..1910]"),
        ("1910s", "1910", "1910", "191X"),
        ("from 1910", "1910", "1910", "1910/"),
        ("1910-05", "1910", "1910", "1910"),
        ("", "1853", "", "[1853..]"),
        ("", "", "1920", "[..1920]"),
        ("reworked", "1900", "1900", "1900?"),
        ("", "", "", None),
        ("circa 1850", "", "", "1850~"),
        ("", "1910", "1900", None),
        ("", "about 1900", "1900", None),
        ("1850", "1900", "1910", None),
        ("circa", "abc", "", None),
    ],
)
def test_a_qualifier_and_two_years(qualifier: str, earliest: str, latest: str, edtf: str | None) -> None:
    """The years decide; what is not understood beside them widens, and what contradicts them is not read."""
    assert read_years(qualifier, earliest, latest, WORDS) == edtf


@given(
    st.sampled_from(["", "circa", "probably", "before", "after", "circa {}", "undated", "{}-{}", "sold with"]),
    YEAR,
    st.integers(0, 90),
    st.booleans(),
    st.booleans(),
    st.sampled_from([BETWEEN, FROM_TO]),
)
def test_no_date_is_narrower_than_its_years(
    qualifier: str, year: int, more: int, has_first: bool, has_last: bool, ranges: str
) -> None:
    """Whatever is written, it covers the years of the list from the first to the last, and an open end stays open."""
    assume(has_first or has_last)
    first, last = str(year) if has_first else "", str(year + more) if has_last else ""
    read = read_years(qualifier.format(year, year + more), first, last, DateWords(ranges=ranges))
    if read is None:
        return
    span = dates.bounds(read)
    if has_first and not (qualifier == "before" and not has_last):
        assert span.earliest <= f"{first}-01-01"
    if has_last and not (qualifier == "after" and not has_first):
        assert span.latest >= f"{last}-12-31"
    if has_first is not has_last and qualifier == "":
        assert span.latest == dates.LAST_DAY if has_first else span.earliest == dates.FIRST_DAY


@given(st.text("0123456789cirbefoaft-–?~./ s[]X,", max_size=16))
def test_whatever_is_read_as_a_date_is_a_date(text: str) -> None:
    """No text raises, and what comes out is EDTF that the sheets take."""
    for words in (WORDS, SPAN, GERMAN):
        read = read_date(text, words)
        if read is not None:
            assert dates.bounds(read) != dates.UNKNOWN


def test_dates_of_a_published_list_agree_with_its_own_years() -> None:
    """Tate gives lives as text, and beside it the years that its own staff read from them (open_lists/README.md)."""
    words = DateWords(ranges=FROM_TO, about=("c.",), short_years=True)
    with open(OPEN_LISTS / "tate_artists.csv", encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    read = {row["dates"]: read_date(row["dates"], words) for row in rows}
    for row in rows:
        edtf = read[row["dates"]]
        if edtf is not None:
            span = dates.bounds(edtf)
            assert span.earliest[:4] <= row["yearOfBirth"], row["dates"]
            assert span.latest[:4] >= row["yearOfDeath"], row["dates"]
    assert read["1852–1911"] == "1852/1911"
    assert read["c.1630–1665"] == "1630~/1665~"
    assert read["1908–c.1970s"] == "1908/197X~"
    assert read["19th century"] == "18XX"
    assert {text for text in read if read[text] is None} >= {"1767 or 9–1818", "active 1819", "before 1730–1788"}
    assert sum(edtf is not None for edtf in read.values()) >= len(read) // 3
