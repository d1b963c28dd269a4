"""What a phrase of a list covers, held against the specification of EDTF and what others publish of such phrases."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from collection.ingest.mapping.dates.text import read_date
from collection.ingest.mapping.dates.words import FROM_TO, HUNDRED, DateWords
from collection.values import dates

OPEN_LISTS = Path(__file__).resolve().parents[3] / "open_lists"
WORDS = DateWords()
SPAN = DateWords(ranges=FROM_TO, short_years=True)


def edtf(text: str, words: DateWords = WORDS) -> str | None:
    return read_date(text, words).edtf


# The right column of the next table: examples of the EDTF specification, Library of Congress, 4 February 2019
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
    "Spring 2001": "2001-21",
    "before 1760-12-03": "[..1760-12-03]",
    "after 1760-12": "[1760-12..]",
    "between 1964 and 2008": "[1964..2008]",  # own: its 1964/2008 is the interval of the next line
    "from 1964 to 2008": "1964/2008",
    "from 1985-04-12": "1985-04-12/",
}


@pytest.mark.parametrize("text", AS_IN_THE_SPECIFICATION)
def test_dates_become_the_forms_of_the_specification(text: str) -> None:
    """Words before a date become the qualifiers and intervals of EDTF."""
    assert edtf(text, DateWords(uncertain=("?", "uncertain"))) == AS_IN_THE_SPECIFICATION[text]


@pytest.mark.parametrize(
    "text",
    [
        *("1984?", "2004-06~", "2004-06-11%", "201X", "20XX", "1985-04-12/..", "../1985-04-12", "1985-04-12/"),
        *("/1985-04-12", "[..1760-12-03]", "[1760-12..]", "1964/2008", "2004-06/2006-08"),
    ],
)
def test_what_is_edtf_already_stays_as_it_is(text: str) -> None:
    """Examples of the specification's levels 0, 1 and 2, whatever a mapping says of ranges."""
    assert edtf(text) == edtf(text, SPAN) == text


# Phrases that the EDTF library for Python tests its reader of natural language with (github.com/ixc/python-edtf,
# edtf/natlang/tests.py, commit 17bb405), and what it makes of them, in the signs of the final specification.
AS_A_LIBRARY_READS = {
    "the year 1897": "1897",
    "January 2008": "2008-01",
    "January 12, 1940": "1940-01-12",
    "1860?": "1860?",
    "maybe 1862": "1862?",
    "1862 maybe": "1862?",
    "circa Feb 1812": "1812-02~",
    "Feb 1812 approx": "1812-02~",
    "c1860": "1860~",
    "c.1860": "1860~",
    "ca1860": "1860~",
    "ca.1860": "1860~",
    "c 1860": "1860~",
    "c. 1860": "1860~",
    "approx 1860": "1860~",
    "1860 approximately": "1860~",
    "about Spring 1849": "1849-21~",
    "1860s": "186X",
    "ca. 1860s": "186X~",
    "ca. 1860s?": "186X%",
    "1800s": "18XX",
    "2000s": "20XX",
    "Summer 1872": "1872-22",
    "Autumn 1872": "1872-23",
    "Fall 1872": "1872-23",
    "Winter 1872": "1872-24",
    "before 1928": "/1928",
    "after 1928": "1928/",
    "before 18 January 1928": "/1928-01-18",
    "before approx January 1928": "/1928-01~",
    "after about the 1920s": "192X~/",
    "1st century": "00XX",
    "19th century": "18XX",
    "19th century?": "18XX?",
    "before 19th century": "/18XX",
    "19c": "18XX",
    "15c.": "14XX",
    "ca. 19c": "18XX~",
    "c.19c?": "18XX%",
    "127 CE": "0127",
    "c1270 CE": "1270~",
    "2nd century ad": "01XX",
    "1851-1852": "1851/1852",
    "1851-52": "1851/1852",
    "1852 - 1860": "1852/1860",
    "1856-ca. 1865": "1856/1865~",
    "1857-mid 1860s": "1857/186X",
    "1860s-1870s": "186X/187X",
    "1910-30": "1910/1930",
    "1869-70": "1869/1870",
    "1920s -early 1930s": "192X/193X",
    "1863 or 1864": "1863",
}


@pytest.mark.parametrize("text", AS_A_LIBRARY_READS)
def test_phrases_cover_what_a_library_reads_of_them(text: str) -> None:
    """Never less; the same but for two phrases, of which it takes a half: both ends and both years count here."""
    ours, theirs = edtf(text, SPAN), AS_A_LIBRARY_READS[text]
    assert ours is not None
    assert ours == {"1863 or 1864": "[1863..1864]"}.get(text, theirs)
    assert dates.bounds(ours).earliest <= dates.bounds(theirs).earliest
    assert dates.bounds(ours).latest >= dates.bounds(theirs).latest


# Guidelines of the Syriac Reference Portal for approximate dates (syriaca.org/documentation/dates.html): fifty years for
# a half, early, late and mid, 25 for a quarter, 25 and 15 of the century beside it for beginning and end, 75 for early
# to mid, 100 for late of one to early of the next; round years that belong to both. Thirds: common practice, no
# published source.
PARTS = {
    "first half of the 5th century": (400, 450),
    "second half of the 5th century": (450, 500),
    "latter half of the 5th century": (450, 500),
    "early 19th century": (1800, 1850),
    "very early 19th century": (1800, 1850),
    "mid-19th century": (1825, 1875),
    "middle of the 19th century": (1825, 1875),
    "late 19th century": (1850, 1900),
    "first quarter of the 19th century": (1800, 1825),
    "2nd quarter 19th century": (1825, 1850),
    "third quarter of the XIX century": (1850, 1875),
    "last quarter of the 19th c.": (1875, 1900),
    "beginning of the 19th century": (1785, 1825),
    "start of the 19th century": (1785, 1825),
    "end of the 19th century": (1875, 1915),
    "early to mid 19th century": (1800, 1875),
    "late 18th century to early 19th century": (1750, 1850),
    "late 18th - early 19th century": (1750, 1850),
    "second to third quarter of the nineteenth century": (1825, 1875),
    "first third of the 19th century": (1800, 1834),
    "middle third of the 19th century": (1833, 1867),
    "last third of the 19th century": (1866, 1900),
}


@pytest.mark.parametrize("text", PARTS)
def test_parts_of_a_century_cover_what_guidelines_say(text: str) -> None:
    """Wide, with the round years at both sides: dates that may overlap do, which clears less."""
    first, last = PARTS[text]
    assert edtf(text) == f"[{first:04d}..{last:04d}]"


def test_parts_of_a_century_hold_the_years_that_a_museum_gives_beside_them() -> None:
    """The Autry's published list has `mid-1800s` with 1834 and 1866 beside it, and the like (open_lists/README.md)."""
    with open(OPEN_LISTS / "autry_dated.csv", encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["Dated"].startswith(("early", "mid", "late"))]
    assert len(rows) == 6
    for row in rows:
        read = read_date(row["Dated"], WORDS)
        assert read.edtf is not None
        assert read.notes == (HUNDRED,)
        span = dates.bounds(read.edtf)
        assert (span.earliest[:4], row["LATEST_YEAR"]) <= (row["EARLIEST_YEAR"], span.latest[:4]), row


def test_dates_of_a_published_list_agree_with_its_own_years() -> None:
    """Tate gives lives as text, and beside it the years that its own staff read from them (open_lists/README.md)."""
    words = DateWords(ranges=FROM_TO, about=("c.",), short_years=True)
    with open(OPEN_LISTS / "tate_artists.csv", encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    read = {row["dates"]: edtf(row["dates"], words) for row in rows}
    for row in rows:
        date = read[row["dates"]]
        if date is not None:
            span = dates.bounds(date)
            assert span.earliest[:4] <= row["yearOfBirth"], row["dates"]
            assert span.latest[:4] >= row["yearOfDeath"], row["dates"]
    assert read["1852–1911"] == "1852/1911"
    assert read["c.1630–1665"] == "1630~/1665~"
    assert read["1908–c.1970s"] == "1908/197X~"
    assert read["19th century"] == "18XX"
    assert read["?1784 or 5–c.1834"] == "1784?/1834~"
    assert {text for text in read if read[text] is None} >= {"active 1819", "before 1730–1788", "died c.1860"}
    assert sum(date is not None for date in read.values()) >= len(read) * 2 // 3
