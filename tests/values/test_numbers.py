"""Cells read as numbers: the forms of the survey package's section on cells, against Python's own float."""

from __future__ import annotations

import math
from decimal import Context, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.language.errors import BadValue
from collection.values.numbers import LARGEST_INTEGER, parse_integer, parse_number, six


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("12", 12.0),
        ("-1.5", -1.5),
        ("+2", 2.0),
        (".5", 0.5),
        ("1e3", 1000.0),
        ("2.1E-3", 0.0021),
        (" 7 ", 7.0),
        ("0", 0.0),
        ("007", 7.0),
        ("0.125", 0.125),
        ("1234.567", 1234.567),
        ("1.2340", 1.234),
        ("1.234e0", 1.234),
    ],
)
@pytest.mark.parametrize("decimal_comma", [False, True])
def test_sign_digits_one_point_and_exponent(text: str, number: float, decimal_comma: bool) -> None:
    assert parse_number(text, decimal_comma=decimal_comma) == number


@pytest.mark.parametrize(("text", "number"), [("1,5", 1.5), ("-0,25", -0.25), ("1,2345", 1.2345), ("1,5e3", 1500.0)])
def test_a_comma_is_the_decimal_mark_only_where_the_file_says_so(text: str, number: float) -> None:
    assert parse_number(text, decimal_comma=True) == number
    with pytest.raises(BadValue, match="no decimal mark") as caught:
        parse_number(text, decimal_comma=False)
    assert caught.value.nearest is not None
    assert parse_number(caught.value.nearest, decimal_comma=False) == number


@pytest.mark.parametrize("decimal_comma", [False, True])
@pytest.mark.parametrize("text", ["1,234", "-12,500", "0,125", "1,234e3"])
def test_a_comma_before_three_digits_is_refused_as_ambiguous(text: str, decimal_comma: bool) -> None:
    with pytest.raises(BadValue, match="may mark decimals or thousands") as caught:
        parse_number(text, decimal_comma=decimal_comma)
    assert caught.value.nearest is None
    assert text.replace(",", ".") in str(caught.value)
    assert text.replace(",", "") in str(caught.value)


@pytest.mark.parametrize(
    ("text", "decimal", "thousands"),
    [("1.200", "1.2000", "1200"), ("1.234", "1.2340", "1234"), ("-12.500", "-12.5000", "-12500")],
)
def test_a_point_before_three_digits_is_refused_where_a_comma_may_mark_decimals(
    text: str, decimal: str, thousands: str
) -> None:
    """A cell with 1.200 in a file of commas as decimal marks is 1.2 or twelve hundred; whoever wrote it has to say.

    Both readings that are offered are taken as they stand. In a file with commas between its cells the point marks
    decimals, so nothing is in doubt there.
    """
    with pytest.raises(BadValue, match="may mark decimals or thousands") as caught:
        parse_number(text, decimal_comma=True)
    assert caught.value.nearest is None
    assert f"write {decimal} or {thousands}." in str(caught.value)
    assert parse_number(decimal, decimal_comma=True) == float(text) == parse_number(text, decimal_comma=False)
    assert parse_number(thousands, decimal_comma=True) == 1000 * float(text)


@pytest.mark.parametrize("decimal_comma", [False, True])
@pytest.mark.parametrize(
    ("text", "nearest"),
    [
        ("nan", None),
        ("inf", None),
        ("-Infinity", None),
        ("1_000", "1000"),
        ("1 000", "1000"),
        ("1'000", "1000"),
        ("1.234.567", "1234567"),
        ("1.234,5", "1234.5"),
        ("1,234.5", "1234.5"),
        ("−5", "-5"),
        ("5.", "5"),
        ("", None),
        ("12 µm", None),
        ("0.5 mm", None),
        ("5%", None),
        ("<5", None),
        ("12-15", None),
        ("12±2", None),
        ("½", None),
        ("١٢", None),
        ("１２", None),
        ("0x10", None),
        ("1e", None),
        ("--1", None),
        ("1e999", None),
        ("1e-400", None),
        ("1" * 41, None),
        ("12,", None),
        ("e5", None),
        (".", None),
    ],
)
def test_everything_else_is_refused_and_a_clear_slip_gets_its_number(
    text: str, nearest: str | None, decimal_comma: bool
) -> None:
    with pytest.raises(BadValue, match=r"\.$") as caught:
        parse_number(text, decimal_comma=decimal_comma)
    assert caught.value.nearest == nearest


def test_a_unit_gets_no_nearest_number_because_the_column_may_have_another() -> None:
    with pytest.raises(BadValue, match="own unit") as caught:
        parse_number("0.5 mm", decimal_comma=False)
    assert caught.value.nearest is None


@pytest.mark.parametrize(
    ("text", "number"), [("12", 12), ("-3", -3), ("+4", 4), ("007", 7), (str(LARGEST_INTEGER), LARGEST_INTEGER)]
)
def test_whole_numbers(text: str, number: int) -> None:
    assert parse_integer(text) == number


@pytest.mark.parametrize(
    ("text", "nearest"),
    [
        ("3.0", "3"),
        ("3,0", "3"),
        ("3.5", None),
        ("1e3", None),
        ("1,000", None),
        ("1.000", None),
        ("1 000", "1000"),
        ("", None),
        ("x", None),
        ("１２", None),
        (str(LARGEST_INTEGER + 1), None),
        ("9" * 5000, None),
        ("12 µm", None),
    ],
)
def test_what_is_no_whole_number_is_refused(text: str, nearest: str | None) -> None:
    with pytest.raises(BadValue) as caught:
        parse_integer(text)
    assert caught.value.nearest == nearest


finite = st.floats(allow_nan=False, allow_infinity=False)


@given(finite)
def test_what_python_writes_is_read_back_exactly(x: float) -> None:
    assert parse_number(repr(x), decimal_comma=False) == x


@given(st.decimals(-(10**6), 10**6, places=2), st.booleans())
def test_both_marks_read_alike_where_the_comma_is_allowed(x: Decimal, decimal_comma: bool) -> None:
    assert parse_number(str(x), decimal_comma=decimal_comma) == float(x)
    assert parse_number(str(x).replace(".", ","), decimal_comma=True) == float(x)


@given(st.one_of(st.text(max_size=50), st.text(alphabet="0123456789.,+-eE _'%µm", max_size=14)), st.booleans())
def test_any_text_is_a_number_or_refused_with_a_readable_suggestion(text: str, decimal_comma: bool) -> None:
    for read in (lambda t: parse_number(t, decimal_comma=decimal_comma), parse_integer):
        try:
            value = read(text)
        except BadValue as fault:
            if fault.nearest is not None:
                read(fault.nearest)
        else:
            assert math.isfinite(value)


@given(st.integers(-LARGEST_INTEGER, LARGEST_INTEGER))
def test_whole_numbers_are_read_back(x: int) -> None:
    assert parse_integer(str(x)) == x


def test_six_significant_digits() -> None:
    assert [six(x) for x in (123456.7, 0.00012345678, -1 / 3, 0.0, 999999.5)] == [
        123457.0,
        0.000123457,
        -0.333333,
        0.0,
        1e6,
    ]
    assert math.copysign(1, six(-0.0)) == 1
    with pytest.raises(ValueError, match="finite"):
        six(math.nan)
    with pytest.raises(ValueError, match="finite"):
        six(-math.inf)


@given(st.floats(-1e300, 1e300))
def test_six_agrees_with_decimal_rounding_and_changes_nothing_twice(x: float) -> None:
    assert six(x) == float(Decimal(x).normalize(Context(prec=6)))
    assert six(six(x)) == six(x)
