"""Phrases of a list as dates, the words and choices of a mapping, and what is never read."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.ingest.mapping.dates.text import read_date
from collection.ingest.mapping.dates.words import (
    ALL_OF_IT,
    BETWEEN,
    DAY_FIRST,
    FROM_TO,
    MAY_BE_MONTH,
    MONTH_FIRST,
    DateWords,
)
from collection.values import dates

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
    either=("oder",),
    decade=("er", "er Jahre"),
    century=(". Jh.", ". Jahrhundert"),
    months=(
        *("Januar", "Februar", "März", "April", "Mai", "Juni"),
        *("Juli", "August", "September", "Oktober", "November", "Dezember"),
    ),
    seasons=("Frühjahr", "Sommer", "Herbst", "Winter"),
    parts=(("Anfang", "beginning"), ("2. Hälfte", "second half"), ("Ende", "end"), ("Mitte", "mid")),
    phrases=(("Gründerzeit", "1871/1914~"),),
    days=DAY_FIRST,
)


def edtf(text: str, words: DateWords = WORDS) -> str | None:
    return read_date(text, words).edtf


@pytest.mark.parametrize(
    ("text", "between", "from_to"),
    [
        ("1890-1910", "[1890..1910]", "1890/1910"),
        ("c.1786-9", "[1786~..1789~]", "1786~/1789~"),
        ("1893–94", "[1893..1894]", "1893/1894"),
        ("1896-00", "[1896..1900]", "1896/1900"),
        ("1920s-1950s", "[192X..195X]", "192X/195X"),
        ("1920s-30s", "[192X..193X]", "192X/193X"),
        ("before 1920", "[..1920]", "/1920"),
        ("pre-1920", "[..1920]", "/1920"),
        ("1920 or earlier", "[..1920]", "/1920"),
        ("after 1853", "[1853..]", "1853/"),
        ("before circa 1900", "[..1900~]", "/1900~"),
        ("1742–after 1828", "[1742..]", "1742/"),
        ("?c.1785", "1785%", "1785%"),
        ("1910-21?", "[1910?..1921?]", "1910?/1921?"),
        ("1900 or 1901", "[1900..1901]", "[1900..1901]"),
        ("1901 or 1900", "[1900..1901]", "[1900..1901]"),
        ("1010s or 1000s", "10XX", "10XX"),
        ("1767 or 9-1818", "[1767..1818]", "1767/1818"),
        ("c.1577 or 1578–c.1621 or 22", "[1577~..1622~]", "1577~/1622~"),
        ("1908/9", "[1908..1909]", "[1908..1909]"),
        ("18th/19th century", "[17XX..18XX]", "[17XX..18XX]"),
        ("XVIII-XIX", "[17XX..18XX]", "17XX/18XX"),
        ("May-June 1907", "[1907-05..1907-06]", "1907-05/1907-06"),
        ("[1900]", "1900?", "1900?"),
        ("before 1900 or 1901", "[..1901]", "/1901"),
        ("from 1900 or 1901", "1900/", "1900/"),
        ("190-", "190X", "190X"),
        ("19--", "19XX", "19XX"),
        ("1901-01-01 to 1905-01-01", "[1901..1905]", "1901/1905"),
        ("1901-02-03 to 1905-04-05", "[1901-02-03..1905-04-05]", "1901-02-03/1905-04-05"),
    ],
)
def test_the_mapping_says_what_a_range_is(text: str, between: str, from_to: str) -> None:
    """Some time between two years, or from the one to the other; a choice is always between."""
    assert edtf(text) == between
    assert edtf(text, SPAN) == from_to


@pytest.mark.parametrize(
    ("text", "unsaid", "years", "months"),
    [
        ("1901-05", "[1901..1905]", "1901/1905", "1901-05"),
        ("1910-12", "[1910..1912]", "1910/1912", "1910-12"),
        ("1910-12?", "[1910?..1912?]", "1910?/1912?", "1910-12?"),
        ("1805-10", "[1805..1810]", "1805/1810", "1805-10"),
        ("1910-05", "1910-05", "1910-05", "1910-05"),
        ("1910-21", "[1910..1921]", "1910/1921", "[1910..1921]"),
    ],
)
def test_a_year_and_two_digits(text: str, unsaid: str, years: str, months: str) -> None:
    """1901-05 may be May 1901 or five years: where nobody says, it is read as the years, which hold the month, and that
    is noted. 1910-05 can only be a month, 1910-21 only years, for a season is nothing that a list writes so."""
    read = read_date(text, WORDS)
    assert read.edtf == unsaid
    assert (MAY_BE_MONTH in read.notes) is (unsaid != months and years != months and "21" not in text)
    assert edtf(text, SPAN) == years
    assert edtf(text, DateWords(short_years=False)) == months


@pytest.mark.parametrize(
    "text", ["early 1920s", "mid-1920s", "late 1920s", "end of the 1920s", "early 1927", "late May 1927"]
)
def test_early_or_late_in_a_short_time_is_all_of_it(text: str) -> None:
    """Nobody agrees where the early 1920s end, and the wide reading clears less; that is noted."""
    read = read_date(text, WORDS)
    assert (
        read.edtf
        == {"1927": "1927", "192": "192X", "May": "1927-05"}[
            "May" if "May" in text else "1927" if "1927" in text else "192"
        ]
    )
    assert read.notes == (ALL_OF_IT,)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("um 1900", "1900~"),
        ("vor 1914", "[..1914]"),
        ("wohl um 1870", "1870%"),
        ("ab 1920", "1920/"),
        ("zwischen 1890 und 1910", "[1890..1910]"),
        ("1900 oder 1901", "[1900..1901]"),
        ("1880er Jahre", "188X"),
        ("19. Jh.", "18XX"),
        ("18./19. Jh.", "[17XX..18XX]"),
        ("3.5.1910", "1910-05-03"),
        ("3. Mai 1910", "1910-05-03"),
        ("Frühjahr 1907", "1907-21"),
        ("von 1890 bis 1910", "1890/1910"),
        ("2. Hälfte 19. Jh.", "[1850..1900]"),
        ("Ende 18. - Anfang 19. Jh.", "[1775..1825]"),
        ("Gründerzeit", "1871/1914~"),
        ("wohl Gründerzeit", "1871?/1914~"),
        ("Nachkriegszeit", None),
    ],
)
def test_another_language_has_its_own_words(text: str, expected: str | None) -> None:
    """The words of a mapping stand in place of the English ones, and its phrases beside them."""
    assert edtf(text, GERMAN) == expected


def test_a_phrase_stands_for_the_date_that_the_mapping_gives() -> None:
    """As it is written there, alone; about, uncertain and a second phrase are said of its ends."""
    words = DateWords(phrases=(("Victorian", "1837/1901"), ("Edwardian", "1901/1910"), ("early 1900s", "190X")))
    assert [edtf(text, words) for text in ("Victorian", " VICTORIAN", "probably Victorian", "early 1900s")] == [
        "1837/1901",
        "1837/1901",
        "1837?/1901?",
        "190X",
    ]
    assert edtf("Victorian or Edwardian", words) == "[1837..1910]"
    assert edtf("before the Victorian", words) == "[..1901]"
    assert edtf("late Victorian", words) is None
    assert edtf("Victorian") is None


@pytest.mark.parametrize(
    ("text", "because"),
    [
        ("", "one meaning"),
        ("1988, printed 2006", "one meaning"),
        ("1826-7, reprinted 1892", "one meaning"),
        ("published 1881", "one meaning"),
        ("active 1819", "one meaning"),
        ("turn of the century", "one meaning"),
        ("turn of the 20th century", "one meaning"),
        ("1910-1900", "one meaning"),
        ("2019-13", "one meaning"),
        ("1985-04-31", "one meaning"),
        ("3.5.1910", "day and month, or month and day"),
        ("'20s", "two digits"),
        ("the '20s", "two digits"),
        ("c.", "one meaning"),
        ("before", "one meaning"),
        ("circa", "one meaning"),
        ("between 1900", "one meaning"),
        ("before 1890-1910", "one meaning"),
        ("0000-00-00", "one meaning"),
        ("V", "one meaning"),
        ("May 1907 -", "one meaning"),
        ("- May 1907", "one meaning"),
        ("c. 1900 - before 1910", "one meaning"),
        ("by Smith, 1910", "one meaning"),
        ("500 BC", "before Christ"),
        ("5th century B.C.", "before Christ"),
        ("2000 B.C.E.", "before Christ"),
        ("mid-19th c. BC to 1900", "before Christ"),
    ],
)
def test_what_has_no_one_meaning_is_not_understood(text: str, because: str) -> None:
    """None with the reason, so that the cell stays unmapped: nobody guesses."""
    read = read_date(text, WORDS)
    assert read.edtf is None
    assert not read.says_nothing
    assert because in (read.why or "")


@pytest.mark.parametrize("text", ["n.d.", "N.D.", "undated", "unknown", "no date", "?", "-"])
def test_nobody_knows_is_no_fault(text: str) -> None:
    """No date, and nothing that was not understood."""
    read = read_date(text, WORDS)
    assert (read.edtf, read.says_nothing) == (None, True)


def test_days_and_months_are_told_apart() -> None:
    """3.5.1910 is the third of May, the fifth of March, or nothing; 13.5.1910 and 5.5.1910 are plain."""
    assert edtf("3.5.1910", DateWords(days=DAY_FIRST)) == "1910-05-03"
    assert edtf("3.5.1910", DateWords(days=MONTH_FIRST)) == "1910-03-05"
    assert edtf("13.5.1910", DateWords(days=MONTH_FIRST)) is None
    assert [edtf(text) for text in ("13.5.1910", "5/13/1910", "5.5.1910", "3.5.1910")] == [
        "1910-05-13",
        "1910-05-13",
        "1910-05-05",
        None,
    ]


# Phrases with a span that can be said: what is written, and the first and the last year that it names.
YEARS = st.integers(1000, 2000)
PLAIN = st.one_of(
    YEARS.map(lambda year: (str(year), year, year)),
    st.integers(100, 199).map(lambda ten: (f"{ten}0s", ten * 10, ten * 10 + 9)),
    st.integers(11, 20).map(lambda n: (f"{n}th century", n * 100 - 100, n * 100 - 1)),
    st.tuples(st.integers(11, 20), st.sampled_from([("first", 0), ("second", 1), ("third", 2), ("last", 3)])).map(
        lambda each: (
            f"{each[1][0]} quarter of the {each[0]}th century",
            each[0] * 100 - 100 + each[1][1] * 25,
            each[0] * 100 - 100 + each[1][1] * 25 + 24,
        )
    ),
    st.tuples(YEARS, st.sampled_from(["May", "summer", "early", "mid", "late"])).map(
        lambda each: (f"{each[1]} {each[0]}", each[0], each[0])
    ),
)
BESIDE = st.sampled_from(
    ["{}", "c. {}", "circa {}", "{}?", "probably {}", "{} (?)", "[{}]", " {} ", "({})", "ca. {} ?"]
)
RANGES_OF = st.sampled_from(
    ["{} - {}", "{}–{}", "{} to {}", "between {} and {}", "from {} to {}", "{} or {}", "c. {} to {}"]
)


@given(PLAIN, BESIDE, st.sampled_from([WORDS, SPAN]))
def test_what_is_read_holds_what_the_phrase_names(phrase: tuple[str, int, int], beside: str, words: DateWords) -> None:
    """Its years, whatever stands beside them; a month or season lies in the year."""
    text, first, last = phrase
    read = edtf(beside.format(text), words)
    assert read is not None
    span = dates.bounds(read)
    if text.startswith("May"):
        assert span.earliest <= f"{first}-05-01"
        assert span.latest >= f"{last}-05-31"
    else:
        assert span.earliest <= f"{first}-01-01"
        assert span.latest >= f"{last}-12-31"


@given(PLAIN, st.sampled_from(["{} BC", "{} B.C.", "c. {} B. C.", "{} BCE", "{} b.c.e.?"]))
def test_nothing_before_christ_is_read(phrase: tuple[str, int, int], form: str) -> None:
    """Never as the year of the same number; the reason says so."""
    read = read_date(form.format(phrase[0]), WORDS)
    assert read.edtf is None
    assert "before Christ" in (read.why or "")


@given(PLAIN, PLAIN, RANGES_OF, BESIDE, st.sampled_from([WORDS, SPAN]))
def test_a_range_holds_both_its_ends(
    one: tuple[str, int, int], other: tuple[str, int, int], form: str, beside: str, words: DateWords
) -> None:
    """From the first year of the first to the last of the second; where these come in no order it is not read."""
    (left, first, first_end), (right, last_start, last) = one, other
    read = edtf(form.format(left, beside.format(right)), words)
    if read is None:
        assert last <= first_end or "[" in beside or "(" in beside or beside.startswith(" ")
        return
    span = dates.bounds(read)
    low, high = min(first, last_start), max(first_end, last)
    if form != "{} or {}":
        low, high = first, last
    assert span.earliest <= f"{low}-06-30"
    assert span.latest >= f"{high}-05-31"


TOKENS = (
    *("1", "12", "19", "20", "1905", "1905-12", "05", "190X", "1920s", "30s", "XIX", "xv", "may", "spring", "BC", "AD"),
    *("early", "mid", "late", "first", "second", "half", "quarter", "of", "the", "century", "c.", "c", "ca", "s", "'s"),
    *(
        "th",
        "-",
        "–",
        "/",
        "(",
        ")",
        "[",
        "]",
        "?",
        "~",
        "%",
        "..",
        ",",
        ";",
        ".",
        "and",
        "or",
        "to",
        "before",
        "after",
    ),
    *("between", "from", "since", "n.d."),
)
WORDY = st.tuples(st.lists(st.sampled_from(TOKENS), max_size=9), st.sampled_from(["", " "])).map(
    lambda each: each[1].join(each[0])
)


@given(st.one_of(st.text(max_size=30), WORDY))
def test_whatever_is_read_as_a_date_is_a_date(text: str) -> None:
    """No text raises, and what comes out is EDTF that the sheets take, and says something."""
    for words in (WORDS, SPAN, GERMAN):
        read = read_date(text, words)
        if read.edtf is not None:
            assert dates.bounds(read.edtf) != dates.UNKNOWN
        else:
            assert read.why or read.says_nothing


def test_a_long_text_of_hyphens_is_given_up_at_once() -> None:
    """The work does not grow with the ways in which a text could be cut."""
    for text in ("1-" * 50, "1905-" * 24, "or " * 40, "c. " * 40, "between " * 15, "early " * 20):
        assert edtf(text) is None
