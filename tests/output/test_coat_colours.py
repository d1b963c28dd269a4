"""The colour in which a coat is drawn: the same on every page, from figures before words."""

from __future__ import annotations

from typing import Any

import pytest

from collection.output.drawings.colours import colour_of_coats, colour_of_row, lab_of_words


def to_lab(shown: str) -> tuple[float, float, float]:
    """`#rrggbb` to CIE Lab by the forward formulas: IEC 61966-2-1 (matrix and curve) and CIE 15 (Lab, D65)."""
    parts = [int(shown[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts]
    rows = ((0.4124564, 0.3575761, 0.1804375), (0.2126729, 0.7151522, 0.0721750), (0.0193339, 0.1191920, 0.9503041))
    xyz = [sum(m * c for m, c in zip(row, linear, strict=True)) for row in rows]
    x, y, z = (
        t ** (1 / 3) if t > (6 / 29) ** 3 else t / (3 * (6 / 29) ** 2) + 4 / 29
        for t in (part / white for part, white in zip(xyz, (0.95047, 1.0, 1.08883), strict=True))
    )
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


@pytest.mark.parametrize(
    ("chip", "lab"),
    [
        # colour-science 0.4: munsell_colour_to_xyY, then Bradford from illuminant C to D65.
        ("7.5R 4/12", (40.62, 50.47, 34.09)),
        ("10R 3/6", (30.33, 26.33, 20.47)),
        ("5YR 3/4", (30.37, 13.36, 19.33)),
        ("10YR 6/4", (61.07, 5.63, 25.12)),
        ("5B 5/6", (51.00, -18.03, -19.34)),
        ("N 5", (51.00, 0.0, 0.0)),
    ],
)
def test_a_munsell_chip_is_drawn_in_its_own_colour(chip: str, lab: tuple[float, float, float]) -> None:
    """Whatever the words beside it say. A screen has 256 steps, which is up to one unit of Lab."""
    found = colour_of_row({"munsell": chip, "colour": "bright green"})
    assert found
    assert found[1] == "munsell"
    assert to_lab(found[0]) == pytest.approx(lab, abs=1.2)


@pytest.mark.parametrize(
    ("row", "basis"),
    [
        ({"lab_l": 40.0, "lab_a": 1.0, "lab_b": 2.0, "munsell": "N 8", "colour": "red"}, "measured"),
        ({"lab_l": 40.0, "munsell": "N 8", "colour": "red"}, "munsell"),
        ({"lab_l": 0.0, "lab_a": 0.0, "lab_b": 0.0}, "measured"),
        ({"munsell": "not a notation", "colour": "red"}, "word"),
        ({"colour": "red"}, "word"),
        ({"colour": "sticky"}, None),
        ({}, None),
    ],
)
def test_figures_come_before_words(row: dict[str, Any], basis: str | None) -> None:
    found = colour_of_row(row)
    assert (found and found[1]) == basis


def lab(words: str) -> tuple[float, float, float]:
    found = lab_of_words(words)
    assert found, words
    return found


@pytest.mark.parametrize(
    ("words", "than", "how"),
    [
        # (L*, a*, b*): + more, - less, 0 either.
        ("pale greenish grey", "grey", "+-0"),
        ("dark red-brown", "brown", "-+0"),
        ("bluish green", "green", "00-"),
        ("brown-gold", "gold", "-00"),
        ("grey-black", "grey", "-00"),
        ("dull blue", "blue", "00+"),
        ("off-white", "white", "00+"),
        ("clear, browned", "clear", "-+0"),
        ("lake, deep red", "lake", "-00"),
        ("oak, dark", "oak", "-00"),
        ("very dark green", "green", "-00"),
        ("warm white", "white", "0++"),
    ],
)
def test_words_in_compounds_shift_the_colour_as_they_are_meant(words: str, than: str, how: str) -> None:
    """Common practice, no published source: which way each goes is what the words say."""
    for one, other, sign in zip(lab(words), lab(than), how, strict=True):
        assert sign == "0" or (one > other if sign == "+" else one < other), (words, lab(words), lab(than))


@pytest.mark.parametrize(
    ("words", "same"),
    [
        ("Green", "green"),
        ("harbour green", "green"),
        ("red lead", "red lead"),
        ("white lead", "white lead"),
        ("brass-coloured", "brass"),
        ("gold bronze in clear", "gold bronze"),
        ("white over blue", "white"),
        ("oak, brown", "brown"),
        ("black, brownish", "black"),
    ],
)
def test_the_word_that_names_the_colour_is_found(words: str, same: str) -> None:
    assert lab(words) == lab(same)


def test_red_lead_is_no_grey() -> None:
    """It is orange-red; "lead" alone is the grey of the metal."""
    assert lab("red lead")[1] > 40
    assert abs(lab("dark lead colour")[1]) < 5


def test_a_finish_shows_its_body_colour() -> None:
    """Not the varnish on it, nor the primer under it; where there is no body colour, what there is."""
    varnish = {"role": "varnish", "colour": "clear"}
    green = {"role": "body colour", "colour": "green"}
    primer = {"role": "primer", "colour": "grey"}
    assert colour_of_coats([varnish, green, primer]) == colour_of_coats([green])
    assert colour_of_coats([varnish, primer]) == colour_of_coats([varnish])
    assert colour_of_coats([{"role": "body colour"}, primer]) == colour_of_coats([primer])
    assert colour_of_coats([]) is None
