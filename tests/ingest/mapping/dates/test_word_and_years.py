"""A word and two years in three cells, and what the other cells of a column say of forms with two meanings."""

from __future__ import annotations

from pathlib import Path

import pytest
from asked import ask
from hypothesis import assume, given
from hypothesis import strategies as st
from mapped_lists import PLAIN, report_of, write

from collection.ingest.mapping.dates.columns import blank_end, settled
from collection.ingest.mapping.dates.words import (
    BETWEEN,
    DAY_FIRST,
    DAY_ORDER,
    FROM_TO,
    IS_MONTH,
    LIMIT_OF_TWO,
    MONTH_FIRST,
    NEW_YEAR,
    ONE_YEAR,
    OPEN_AT_END,
    OPEN_BY_SHAPE,
    OPEN_END,
    THAT_YEAR,
    THE_DAY,
    THE_YEAR,
    WORDS_PASSED_OVER,
    DateWords,
)
from collection.ingest.mapping.dates.years import read_years
from collection.values import dates

WORDS = DateWords()
YEAR = st.integers(1000, 2000)


@pytest.mark.parametrize(
    ("word", "earliest", "latest", "edtf", "note"),
    [
        ("circa", "1870", "1870", "1870~", None),
        ("circa", "1860", "1880", "[1860~..1880~]", None),
        ("circa 1870", "1860", "1880", "[1860..1880]", None),
        ("circa 1870", "1870", "1870", "1870~", None),
        ("probably", "1900", "1900", "1900?", None),
        ("", "1856", "1856", "1856", None),
        ("1856", "1856", "1856", "1856", None),
        ("", "1890", "1910", "[1890..1910]", None),
        ("undated", "1850", "1900", "[1850..1900]", None),
        ("undated", "1850", "1850", "1850?", None),
        ("-", "1850", "1850", "1850", None),
        ("before", "", "1920", "[..1920]", None),
        ("before 1920", "1880", "1920", "[1880..1920]", None),
        ("after", "1853", "", "[1853..]", None),
        ("before 1920", "1920", "1920", "[..1920]", None),
        ("1905-1910", "1910", "1910", "[1905..1910]", None),
        ("1910s", "1910", "1910", "191X", None),
        ("from 1910", "1910", "1910", "1910/", None),
        ("1910-05", "1910", "1910", "1910", None),
        ("circa 1850", "", "", "1850~", None),
        # one year beside a blank one
        ("", "1853", "", "1853", ONE_YEAR),
        ("about", "1853", "", "1853~", ONE_YEAR),
        ("before", "1853", "", "[..1853]", None),
        ("since", "1853", "", "1853/", None),
        ("19th century", "1853", "", "18XX", None),
        ("between", "1853", "", "[1853..]", OPEN_AT_END),
        ("or", "1853", "", "[1853..]", OPEN_AT_END),
        ("", "", "1920", "[..1920]", OPEN_AT_END),
        ("circa", "", "1920", "[..1920~]", OPEN_AT_END),
        # a word for one date beside two years
        ("before", "1870", "1880", "[..1880]", LIMIT_OF_TWO),
        ("after", "1870", "1880", "[1870..]", LIMIT_OF_TWO),
        ("from", "1870", "1880", "1870/1880", None),
        ("or", "1870", "1871", "[1870..1871]", None),
        ("reworked", "1900", "1910", "[1900..1910]", WORDS_PASSED_OVER),
        # days that stand for years
        ("", "1901-01-01", "1905-12-31", "[1901..1905]", NEW_YEAR),
        ("", "1901-01-01", "1905-01-01", "[1901..1905]", NEW_YEAR),
        ("", "1901-01-01", "1901-12-31", "1901", NEW_YEAR),
        ("", "1905-05-03", "1907-01-01", "[1905-05-03..1907]", NEW_YEAR),
        ("", "1905-05-03", "1905-05-03", "1905-05-03", None),
        ("", "1901-01-01T00:00:00Z", "1905-01-01T00:00:00Z", "[1901..1905]", NEW_YEAR),
        ("", "1870.0", "1880.0", "[1870..1880]", None),
    ],
)
def test_a_word_and_two_years(word: str, earliest: str, latest: str, edtf: str, note: str | None) -> None:
    """The years decide, the word says how to take them; what could be taken otherwise is noted."""
    read = read_years(word, earliest, latest, WORDS)
    assert read.edtf == edtf
    assert read.notes == (() if note is None else (note,))


@pytest.mark.parametrize(
    ("word", "earliest", "latest", "because"),
    [
        ("", "1910", "1900", "later year comes first"),
        ("1850", "1900", "1910", "exclude each other"),
        ("circa", "abc", "", "no year"),
        ("vor", "1914", "", "not understood"),
        ("vor", "1914", "1914", "not understood"),
    ],
)
def test_what_the_years_contradict_is_not_read(word: str, earliest: str, latest: str, because: str) -> None:
    """A word in a language that the mapping does not name may well say before or after, so its year is not taken."""
    read = read_years(word, earliest, latest, WORDS)
    assert read.edtf is None
    assert because in (read.why or "")


def test_the_mapping_says_what_a_blank_end_and_new_year_mean() -> None:
    """An open end where the list means one, and the day where a list really has days."""
    assert read_years("", "1853", "", DateWords(blank_end=OPEN_END)).edtf == "[1853..]"
    assert read_years("", "1853", "", DateWords(blank_end=OPEN_END, ranges=FROM_TO)).edtf == "1853/"
    assert read_years("", "1901-01-01", "1905-01-01", DateWords(new_year=THE_DAY)).edtf == "[1901-01-01..1905-01-01]"


@given(
    st.sampled_from(
        ["", "circa", "probably", "before", "after", "circa {}", "undated", "{}-{}", "sold with", "or", "from"]
    ),
    YEAR,
    st.integers(0, 90),
    st.booleans(),
    st.booleans(),
    st.sampled_from([BETWEEN, FROM_TO]),
    st.sampled_from([THAT_YEAR, OPEN_END]),
)
def test_no_date_is_narrower_than_its_years(
    word: str, year: int, more: int, has_first: bool, has_last: bool, ranges: str, end: str
) -> None:
    """Whatever is written, it covers the years of the list from the first to the last; where a single year is not the
    whole date, what is open at an end is noted, or said by the word."""
    assume(has_first or has_last)
    first, last = str(year) if has_first else "", str(year + more) if has_last else ""
    read = read_years(word.format(year, year + more), first, last, DateWords(ranges=ranges, blank_end=end))
    if read.edtf is None:
        assert word == "sold with" or (not has_first and more)
        return
    span = dates.bounds(read.edtf)
    if has_first:
        assert span.earliest <= f"{first}-01-01"
    if has_last:
        assert span.latest >= f"{last}-12-31"
    if dates.LAST_DAY in span or dates.FIRST_DAY in span:
        assert OPEN_AT_END in read.notes or word in ("before", "after", "from")


@given(st.text(max_size=12), st.text("0123456789-.c /?", max_size=12), st.text("0123456789-.c /?", max_size=12))
def test_no_cells_raise(word: str, earliest: str, latest: str) -> None:
    """Whatever three cells hold, they are a date or a sentence why not."""
    read = read_years(word, earliest, latest, WORDS)
    if read.edtf is not None:
        dates.bounds(read.edtf)
    else:
        assert read.why or read.says_nothing


@pytest.mark.parametrize(
    ("texts", "short_years", "days", "new_year"),
    [
        # Only months can be 1910-05, 1908-07 and 1931-12: so is 1901-05.
        (("1910-05", "1908-07", "1931-12", "1901-05"), False, None, None),
        (("1910-05", "1908-07", "1901-05"), None, None, None),
        (("1910-05", "1908-07", "1931-12", "1901-05", "1893-94"), None, None, None),
        (("1910-05", "1908-07", "1931-12", "1901-05", "1893-4"), None, None, None),
        # The thirteenth can only be a day.
        (("13.5.1910", "3.5.1910", "24.12.1911", "30.1.1912"), None, DAY_FIRST, None),
        (("5/13/1910", "3/5/1910", "12/24/1911", "1/30/1912"), None, MONTH_FIRST, None),
        (("13.5.1910", "5.13.1910", "24.12.1911", "30.1.1912"), None, None, None),
        (("13.5.1910", "3.5.1910"), None, None, None),
        # A column of nothing but 1 January is one of years, and so is one where they are more than chance.
        (("1905-01-01", "1906-01-01"), None, None, THE_YEAR),
        (("1905-01-01", "1906-12-31", "1907-05-14"), None, None, THE_YEAR),
        (("1905-01-01", *(f"1907-05-{day}" for day in range(10, 30))), None, None, None),
    ],
)
def test_what_a_column_settles(
    texts: tuple[str, ...], short_years: bool | None, days: str | None, new_year: str | None
) -> None:
    """Three cells and more that can be read in one way only, and none that speaks against them."""
    words = settled(WORDS, texts)
    assert (words.short_years, words.days, words.new_year) == (short_years, days, new_year)


def test_a_column_settles_nothing_that_the_mapping_says() -> None:
    """What is said below [dates] or beside the date stands."""
    said = DateWords(short_years=True, days=MONTH_FIRST, new_year=THE_DAY, blank_end=OPEN_END)
    assert settled(said, ("1910-05", "1908-07", "1931-12", "13.5.1910", "14.5.1910", "15.5.1910", "1905-01-01")) == said
    assert blank_end(said, [("1910", ""), ("1911", "")]) == said


@pytest.mark.parametrize(
    ("pairs", "end"),
    [
        ([("1870", ""), ("1871", ""), ("1880", "1890")], THAT_YEAR),
        ([("1870", ""), ("1871", "1871"), ("1872", "1872"), ("1880", "1890")], OPEN_END),
        ([("1870", ""), ("1871", "1871")], THAT_YEAR),
        ([("", "1870")], THAT_YEAR),
    ],
)
def test_a_list_that_gives_single_years_twice_leaves_others_open(pairs: list[tuple[str, str]], end: str) -> None:
    """Where most single years stand in both columns, a blank second one is a year that nobody knew."""
    assert blank_end(WORDS, pairs).blank_end == end


def test_a_column_is_settled_as_a_whole_and_told(db: Path, tmp_path: Path) -> None:
    """Months in one column, days that stand for years in another, single years given twice in a third: each cell that
    this decides is in the report, and the mapping can say otherwise beside one date."""
    text = "No,Title,Kind,Seen,Made,From,To,Day\n" + "".join(
        f"{number},T,sign,{seen},{made},{first},{last},{day}\n"
        for number, (seen, made, first, last, day) in enumerate(
            [
                ("1910-05", "1905-01-01", "1870", "1870", "13.5.1910"),
                ("1908-07", "1906-01-01", "1871", "1871", "24.12.1911"),
                ("1931-12", "1907-12-31", "1872", "", "30.1.1912"),
                ("1901-05", "", "1880", "1890", "3.5.1910"),
            ],
            1,
        )
    )
    rows = """
[[rows]]
sheet = "conditions"
[rows.columns]
place = { say = "all" }
phenomenon = "Kind"
observed_on = { date = "DATE" }
"""
    seen: dict[str, list[str | None]] = {}
    notes = {}
    for column in ("Seen", "Day"):
        folder = tmp_path / column
        mapping = PLAIN.replace("list-1", f"list-{column}").replace("[objects]", '[objects]\nmade = { date = "Made" }')
        _, told = report_of(db, write(folder, text, mapping + rows.replace("DATE", column)), amend="more", by="N. N.")
        seen[column] = [date for (date,) in ask(db, "SELECT observed_on FROM conditions ORDER BY object")]
        notes[column] = told["date_notes"]["conditions.observed_on"]
        assert ask(db, "SELECT made FROM objects ORDER BY object") == [("1905",), ("1906",), ("1907",), (None,)]
        assert [(each["note"], each["rows"]) for each in told["date_notes"]["objects.made"]] == [(NEW_YEAR, [2, 3, 4])]
    assert seen["Seen"] == ["1910-05", "1908-07", "1931-12", "1901-05"]
    assert [(each["note"], each["rows"]) for each in notes["Seen"]] == [(IS_MONTH, [5])]
    assert set(seen["Day"]) >= {"1910-05-13", "1911-12-24", "1912-01-30", "1910-05-03"}
    assert [(each["note"], each["rows"]) for each in notes["Day"]] == [(DAY_ORDER, [5])]


@pytest.mark.parametrize(
    ("beside", "third"), [("", "[1872..]"), (', blank_end = "that year"', "1872"), (', ranges = "from to"', "1872/")]
)
def test_a_blank_end_by_the_shape_of_the_list(db: Path, tmp_path: Path, beside: str, third: str) -> None:
    """This list gives single years twice, so its one blank end is open, and told, unless the mapping says otherwise."""
    text = "No,Title,Kind,From,To\n1,T,sign,1870,1870\n2,T,sign,1871,1871\n3,T,sign,1872,\n"
    made = f'[objects]\nmade = {{ earliest = "From", latest = "To"{beside} }}'
    _, told = report_of(db, write(tmp_path / "list", text, PLAIN.replace("[objects]", made)))
    assert ask(db, "SELECT made FROM objects ORDER BY object") == [("1870",), ("1871",), (third,)]
    (note,) = told["date_notes"]["objects.made"]
    assert (note["note"], note["rows"]) == (ONE_YEAR if third == "1872" else OPEN_BY_SHAPE, [4])


def test_one_column_of_years_is_the_year(db: Path, tmp_path: Path) -> None:
    """A word and a year beside it, and no second year anywhere."""
    text = "No,Title,Kind,Word,Year\n1,T,sign,about,1870\n2,T,sign,,1871\n3,T,sign,before,1872\n4,T,sign,vor,1873\n"
    made = '[objects]\nmade = { date = "Word", earliest = "Year" }'
    _, told = report_of(db, write(tmp_path / "list", text, PLAIN.replace("[objects]", made)))
    assert ask(db, "SELECT made FROM objects ORDER BY object") == [("1870~",), ("1871",), ("[..1872]",), (None,)]
    assert told["date_notes"] == {}
    assert [(each["text"], each["rows"]) for each in told["dates_not_understood"]["objects.made"]] == [
        ("vor | 1873", [5])
    ]


def test_phrases_and_choices_stand_below_dates_and_beside_one_date(db: Path, tmp_path: Path) -> None:
    """Those beside a date are for this date, and stand in place of the same phrase below [dates]; a table of eras may
    be named as any other words."""
    text = "No,Title,Kind,Made,From,To\n1,T,sign,Victorian,1870,\n2,T,sign,Edwardian,1901-01-01,1905-01-01\n"
    mapping = (
        PLAIN.replace("[objects]", '[objects]\nmade = { date = "Made", phrases = "eras" }')
        + '[dates]\nranges = "from to"\nphrases = { Victorian = "18XX", Edwardian = "1901/1910" }\n'
        + '[words.eras]\nVICTORIAN = "1837/1901"\n'
        + '[[rows]]\nsheet = "conditions"\n[rows.columns]\nplace = { say = "all" }\nphenomenon = "Kind"\n'
        + 'observed_on = { earliest = "From", latest = "To", ranges = "some time between", new_year = "the day" }\n'
    )
    report_of(db, write(tmp_path / "list", text, mapping))
    assert ask(db, "SELECT made FROM objects ORDER BY object") == [("1837/1901",), ("1901/1910",)]
    assert ask(db, "SELECT observed_on FROM conditions ORDER BY object") == [("1870",), ("[1901-01-01..1905-01-01]",)]
