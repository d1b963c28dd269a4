"""Coats, colours, figures and sentences as the pages show them."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from collection.language import sentences
from collection.output.drawings import colours


def to_lab(red: int, green: int, blue: int) -> tuple[float, float, float]:
    """sRGB to CIE Lab by the forward formulas: IEC 61966-2-1 (matrix and curve) and CIE 15 (Lab, D65)."""
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in (red / 255, green / 255, blue / 255)]
    rows = ((0.4124564, 0.3575761, 0.1804375), (0.2126729, 0.7151522, 0.0721750), (0.0193339, 0.1191920, 0.9503041))
    white = (0.95047, 1.0, 1.08883)
    x, y, z = (
        f / w
        for f, w in zip((sum(m * c for m, c in zip(row, linear, strict=True)) for row in rows), white, strict=True)
    )

    def root(t: float) -> float:
        return t ** (1 / 3) if t > (6 / 29) ** 3 else t / (3 * (6 / 29) ** 2) + 4 / 29

    return 116 * root(y) - 16, 500 * (root(x) - root(y)), 200 * (root(y) - root(z))


@given(st.integers(0, 255), st.integers(0, 255), st.integers(0, 255))
def test_a_recorded_lab_colour_is_the_one_shown(red: Any, green: Any, blue: Any) -> None:
    shown = colours.srgb(to_lab(red, green, blue))
    got = tuple(int(shown[n : n + 2], 16) for n in (1, 3, 5))
    assert max(abs(a - b) for a, b in zip(got, (red, green, blue), strict=True)) <= 1


def test_figures_are_read_as_they_are() -> None:
    """No exponents; no figure below a square centimetre; one place is singular."""
    assert sentences.square_metres([2.1, 3.2456, 4.04]) == "3.2 m² (2.1–4)"
    assert sentences.square_metres([5.0, 5.0, 5.0]) == "5 m²"
    assert sentences.square_metres([88.0, 123.4, 1234567.0]) == "120 m² (88–1200000)"
    assert sentences.square_metres([0.0, 3.5e-10, 4.2e-05]) == "under 0.0001 m²"
    assert sentences.percent([0.0, 0.034, 1.0]) == "3 % (0–100)"
    assert sentences.percent([0.0, 0.0001, 0.004]) == "under 1 %"
    assert sentences.taken("destroys", [1.0, 2.0, 3.0], None, 1) == (
        "It would take 2 m² (1–3) of documented original finish, not counting 1 place of unknown area"
    )
    assert sentences.taken("stood", [0.0, 3.5e-10, 4.2e-05], None, 0) is None
    assert sentences.taken("destroys", [0.0, 3.5e-10, 4.2e-05], [0.0, 0.0, 0.001], 2) == (
        "It would take under 0.0001 m² of documented original finish, under 1 % of what survives on this object, not "
        "counting 2 places of unknown area"
    )


@given(st.text())
def test_a_sentence_has_one_stop(text: str) -> None:
    once = sentences.ended(text)
    assert sentences.ended(once) == once
    assert not once or once.rstrip("”’'\")")[-1:] in (".", "!", "?", "…")


def test_a_sentence_keeps_the_stop_it_has() -> None:
    assert [sentences.ended(text) for text in ("It reads 4", "Number 4?", "He said “number four.”", "x. ")] == [
        "It reads 4.",
        "Number 4?",
        "He said “number four.”",
        "x.",
    ]
