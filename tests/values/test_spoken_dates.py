"""Dates in words: nobody who reads a page has to know EDTF. Forms: EDTF specification of the Library of Congress, 2019."""

from __future__ import annotations

import pytest

from collection.values.dates import bounds
from collection.values.spoken_dates import in_words

SAID = {
    "1910": "1910",
    "1910-05": "May 1910",
    "1910-05-12": "12 May 1910",
    "1910-05-12T09:30:00Z": "12 May 1910",
    "1910-XX": "1910",
    "1910-05-XX": "May 1910",
    "2004~": "about 2004",
    "1908?": "perhaps 1908",
    "1908%": "perhaps about 1908",
    "2004-05~": "about May 2004",
    "1910-21": "spring 1910",
    "1910-24": "winter 1910",
    "192X": "the 1920s",
    "192X~": "about the 1920s",
    "190X": "between 1900 and 1909",
    "19XX": "between 1900 and 1999",
    "1910/1912": "1910 to 1912",
    "1910~/1912": "about 1910 to 1912",
    "1910-05/1910-07": "May to July 1910",
    "1910-05-12/1910-05-14": "12 to 14 May 1910",
    "1910-05-12/1910-07-12": "12 May to 12 July 1910",
    "1910-05/1912": "May 1910 to 1912",
    "1910/1910": "1910",
    "1931/..": "from 1931 on",
    "1931/": "from 1931, to when is not known",
    "../1931": "until 1931",
    "/1931": "until 1931",
    "[1939..1991]": "between 1939 and 1991",
    "[1939..]": "1939 or later",
    "[..1991-03]": "March 1991 or earlier",
}


@pytest.mark.parametrize("written", SAID)
def test_a_date_is_said_in_words(written: str) -> None:
    assert bounds(written), "a case that is no date would prove nothing"
    assert in_words(written) == SAID[written]


@pytest.mark.parametrize("text", ["before the war", "1910-13", "[1..2..3]", "a/b", "../.."])
def test_what_is_no_date_stays_as_it_is(text: str) -> None:
    assert in_words(text) == text


def test_a_blank_date_is_nothing() -> None:
    assert in_words(None) == in_words("") == ""
