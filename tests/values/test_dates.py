"""Dates against the published EDTF examples, the calendar of the standard library, and laws."""

from __future__ import annotations

import calendar
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.language.errors import BadValue
from collection.values.dates import FIRST_DAY, LAST_DAY, UNKNOWN, Span, bounds, from_to, surely_before

# The left column of the next two tables: every example of levels 0 and 1 in the EDTF specification, Library
# of Congress, 4 February 2019 (loc.gov/standards/datetime), whose year lies in 0000-9999. The spans follow
# from the meaning given there, except where a qualifier or season is involved (margins: common practice).
LEVEL_0 = {
    "1985-04-12": ("1985-04-12", "1985-04-12"),
    "1985-04": ("1985-04-01", "1985-04-30"),
    "1985": ("1985-01-01", "1985-12-31"),
    "1985-04-12T23:20:30": ("1985-04-12", "1985-04-12"),
    "1985-04-12T23:20:30Z": ("1985-04-12", "1985-04-12"),
    "1985-04-12T23:20:30-04": ("1985-04-12", "1985-04-12"),
    "1985-04-12T23:20:30+04:30": ("1985-04-12", "1985-04-12"),
    "1964/2008": ("1964-01-01", "2008-12-31"),
    "2004-06/2006-08": ("2004-06-01", "2006-08-31"),
    "2004-02-01/2005-02-08": ("2004-02-01", "2005-02-08"),
    "2004-02-01/2005-02": ("2004-02-01", "2005-02-28"),
    "2004-02-01/2005": ("2004-02-01", "2005-12-31"),
    "2005/2006-02": ("2005-01-01", "2006-02-28"),
}
LEVEL_1 = {
    "2001-21": ("2001-01-01", "2001-12-31"),
    "1984?": ("1979-01-01", "1989-12-31"),
    "2004-06~": ("2004-03-01", "2004-09-30"),
    "2004-06-11%": ("2004-05-27", "2004-06-26"),
    "201X": ("2010-01-01", "2019-12-31"),
    "20XX": ("2000-01-01", "2099-12-31"),
    "2004-XX": ("2004-01-01", "2004-12-31"),
    "1985-04-XX": ("1985-04-01", "1985-04-30"),
    "1985-XX-XX": ("1985-01-01", "1985-12-31"),
    "1985-04-12/..": ("1985-04-12", LAST_DAY),
    "1985-04/..": ("1985-04-01", LAST_DAY),
    "1985/..": ("1985-01-01", LAST_DAY),
    "../1985-04-12": (FIRST_DAY, "1985-04-12"),
    "../1985-04": (FIRST_DAY, "1985-04-30"),
    "../1985": (FIRST_DAY, "1985-12-31"),
    "1985-04-12/": ("1985-04-12", LAST_DAY),
    "1985-04/": ("1985-04-01", LAST_DAY),
    "1985/": ("1985-01-01", LAST_DAY),
    "/1985-04-12": (FIRST_DAY, "1985-04-12"),
    "/1985-04": (FIRST_DAY, "1985-04-30"),
    "/1985": (FIRST_DAY, "1985-12-31"),
}
# Level 2, one of a range: the three single-range examples of the same specification, and the project's own.
ONE_OF_A_RANGE = {
    "[..1760-12-03]": (FIRST_DAY, "1760-12-03"),
    "[1760-12..]": ("1760-12-01", LAST_DAY),
    "[..1984]": (FIRST_DAY, "1984-12-31"),
    "[1939..1991]": ("1939-01-01", "1991-12-31"),
}


@pytest.mark.parametrize(("text", "span"), [*LEVEL_0.items(), *LEVEL_1.items(), *ONE_OF_A_RANGE.items()])
def test_published_examples_give_their_first_and_last_day(text: str, span: tuple[str, str]) -> None:
    assert bounds(text) == Span(*span)


@pytest.mark.parametrize(
    "text",
    # From levels 1 and 2 of the same specification: years outside the range, and what is not read here.
    [
        "Y170000002",
        "Y-170000002",
        "-1985",
        "Y-17E7",
        "1950S2",
        "2001-34",
        "{1960,1961-12}",
        "2004-06~-11",
        "?2004-06-~11",
        "156X-12-25",
        "XXXX-12-XX",
        "1XXX",
        "[1667,1668,1670..1672]",
        "2004-02-30",
        "1900-02-29",
        "1985-13-01",
        "1985-00",
        "../..",
        "/",
        "2008/1964",
        "[1991..1939]",
        "1985-4",
        "85",
        "19850412",
    ],
)
def test_what_is_outside_the_supported_levels_is_refused_with_a_sentence(text: str) -> None:
    with pytest.raises(BadValue, match=r"\w+.*\."):
        bounds(text)


@pytest.mark.parametrize(
    ("written", "nearest"),
    [
        ("c. 1908", "1908~"),
        ("c1908", "1908~"),
        ("circa 1908–1910", "1908~/1910~"),
        ("1908 ?", "1908?"),
        ("1908?~", "1908%"),
        ("1908?-1910", "1908?/1910"),
        ("1908 – 1910", "1908/1910"),
        ("1920s", "192X"),
        ("12 May 1910", "1910-05-12"),
        ("May 12th, 1910", "1910-05-12"),
        ("Sept. 1910", "1910-09"),
        ("spring 1910", "1910-21"),
        ("23/4/1908", "1908-04-23"),
        ("23.4.1908", "1908-04-23"),
        ("1908.0", "1908"),
        ("1910-5-3", "1910-05-03"),
        ("19100503", "1910-05-03"),
        ("1910-05-03 00:00:00", "1910-05-03"),
        ("1910-00-00", "1910"),
        ("19th century", "18XX"),
        ("190-", "190X"),
        ("19??", "19XX"),
        ("190u", "190X"),
        ("before 1939", "[..1939]"),
        ("after 1939", "[1939..]"),
        ("between 1939 and 1991", "[1939..1991]"),
        ("1939 or 1940", "[1939..1940]"),
        ("1924 to 1931", "1924/1931"),
        ("1985/open", "1985/.."),
        ("1985-present", "1985/.."),
        ("[1667,1668,1670..1672]", "[1667..1672]"),
        ("1908~-05", "1908-05~"),
        ("1910-13", "1910/1913"),
    ],
)
def test_frequent_slips_name_the_form_that_was_meant(written: str, nearest: str) -> None:
    with pytest.raises(BadValue) as caught:
        bounds(written)
    assert caught.value.nearest == nearest
    assert nearest in str(caught.value)
    bounds(nearest)


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("3/4/1908", ["1908-04-03", "1908-03-04"]),
        ("1900s", ["190X", "19XX"]),
        ("1908/09", ["1908-09", "1908/1909"]),
        # 39448 is 1 January 2008 (the example in the help text of a spreadsheet's date functions, from
        # memory); counting from 1904 adds 1,462 days.
        ("39448", ["2008-01-01", "2012-01-02"]),
        ("3/4/08", ["two digits"]),
        ("n.d.", ["left blank"]),
        ("-1985", ["0000 to 9999"]),
        ("1910-06-31", ["1910-06", "30 days"]),
        ("1905/1901", ["before the start"]),
    ],
)
def test_what_may_mean_two_things_is_asked_not_guessed(written: str, said: list[str]) -> None:
    with pytest.raises(BadValue) as caught:
        bounds(written)
    assert caught.value.nearest is None
    for each in said:
        assert each in str(caught.value)


def test_margins_are_five_years_three_months_fifteen_days_and_one_masked_unit() -> None:
    assert bounds("1908~") == Span("1903-01-01", "1913-12-31")
    assert bounds("1908-01?") == Span("1907-10-01", "1908-04-30")
    assert bounds("1908-12%") == Span("1908-09-01", "1909-03-31")
    assert bounds("190X~") == Span("1890-01-01", "1919-12-31")
    assert bounds("18XX?") == Span("1700-01-01", "1999-12-31")
    assert bounds("1908~/1910") == Span("1903-01-01", "1910-12-31")
    assert bounds("[1908..1910~]") == Span("1908-01-01", "1915-12-31")


def test_a_season_is_read_wide_enough_for_both_hemispheres() -> None:
    """Level 1 ties seasons to no hemisphere: a winter may begin in the December before, or be July."""
    assert bounds("1910-24") == Span("1909-12-01", "1911-03-31")
    assert bounds("1910-22") == Span("1909-12-01", "1911-03-31")
    assert bounds("1910-23") == Span("1910-01-01", "1910-12-31")


def test_the_ends_of_the_range_are_kept_within_it() -> None:
    assert bounds("0002?") == Span("0000-01-01", "0007-12-31")
    assert bounds("9999~").latest == LAST_DAY
    assert bounds("0000-02-29") == Span("0000-02-29", "0000-02-29")
    assert bounds("00XX~").earliest == FIRST_DAY


def test_blank_is_any_day_and_settles_nothing() -> None:
    assert bounds(None) == bounds("") == bounds("  ") == UNKNOWN
    for other in (None, "1908", "../1908"):
        assert not surely_before(None, other)
        assert not surely_before(other, None)


def test_one_day_is_not_surely_before_itself() -> None:
    assert surely_before("1908-05-03", "1908-05-04")
    assert not surely_before("1908-05-03", "1908-05-03")
    assert not surely_before("1908~", "1912")
    assert surely_before("1908", "1912")


days = st.dates(min_value=date(1, 3, 1), max_value=date(9998, 10, 1))
written_dates = st.one_of(
    st.none(),
    days.map(date.isoformat),
    st.builds("{:04d}{}".format, st.integers(0, 9999), st.sampled_from(["", "?", "~", "%"])),
    st.builds("{:03d}X{}".format, st.integers(0, 999), st.sampled_from(["", "~"])),
    st.builds("{:04d}-{:02d}".format, st.integers(0, 9999), st.integers(1, 12)),
    st.integers(1000, 1999).flatmap(lambda y: st.builds("{}/{}".format, st.just(y), st.integers(y, 2000))),
    st.builds("../{:04d}".format, st.integers(0, 9999)),
    st.builds("{:04d}/".format, st.integers(0, 9999)),
)


@given(days)
def test_a_day_is_itself_and_its_margin_agrees_with_the_calendar(day: date) -> None:
    iso = day.isoformat()
    assert bounds(iso) == Span(iso, iso)
    fortnight = timedelta(days=15)
    assert bounds(f"{iso}~") == Span((day - fortnight).isoformat(), (day + fortnight).isoformat())


@given(st.integers(1, 9999), st.integers(1, 12))
def test_a_month_ends_where_the_calendar_ends_it(year: int, month: int) -> None:
    length = calendar.monthrange(year, month)[1]
    assert bounds(f"{year:04d}-{month:02d}") == Span(
        f"{year:04d}-{month:02d}-01", f"{year:04d}-{month:02d}-{length:02d}"
    )


@given(written_dates)
def test_every_span_runs_forward_and_inside_the_range(text: str | None) -> None:
    span = bounds(text)
    assert FIRST_DAY <= span.earliest <= span.latest <= LAST_DAY


@given(written_dates.filter(lambda text: text is not None and text[-1] not in "?~%/"))
def test_a_qualifier_never_narrows(text: str) -> None:
    plain = bounds(text)
    for mark in "?~%":
        qualified = bounds(text + mark)
        assert qualified.earliest <= plain.earliest <= plain.latest <= qualified.latest


@given(written_dates, written_dates, written_dates)
def test_surely_before_is_a_strict_order(a: str | None, b: str | None, c: str | None) -> None:
    assert not surely_before(a, a)
    assert not (surely_before(a, b) and surely_before(b, a))
    assert surely_before(a, c) or not (surely_before(a, b) and surely_before(b, c))


@given(
    st.one_of(
        st.text(max_size=70),
        st.text(alphabet="0123456789-/.?~%X[]{}, T:Z", max_size=24),
        st.lists(
            st.sampled_from(
                [
                    "1908",
                    "c.",
                    "circa",
                    "May",
                    "12",
                    "before",
                    "or",
                    "-",
                    "to",
                    "between",
                    "and",
                    "1920s",
                    "19th century",
                    "?",
                    "~",
                    "..",
                    "/",
                    "[",
                    "]",
                    "present",
                    "08",
                    "00",
                ]
            ),
            max_size=6,
        ).map(" ".join),
    )
)
def test_any_text_is_a_date_or_refused_with_a_readable_suggestion(text: str) -> None:
    try:
        span = bounds(text)
    except BadValue as fault:
        if fault.nearest is not None:
            bounds(fault.nearest)
    else:
        assert span.earliest <= span.latest


@pytest.mark.parametrize(
    ("start", "end", "whole"),
    [
        ("1910", "1912-05", "1910-01-01/1912-05-31"),
        (None, "1912", "1912"),
        ("1912", "1912", "1912"),
        ("1912", "1910", "1910-01-01/1912-12-31"),  # a slip must not keep a page from being made
    ],
)
def test_a_beginning_and_an_end_are_one_date(start: str | None, end: str, whole: str) -> None:
    assert from_to(start, end) == whole
    assert bounds(whole)
