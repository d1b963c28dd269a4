"""Fractional parameters and mixtures against published values."""

from __future__ import annotations

import math

import pytest
from chemicals import solubility as library
from hypothesis import given
from hypothesis import strategies as st
from objects import REFERENCE as TABLES
from published_points import hansen

from collection.compute.windows.fractional_parameters import HEIGHT, fractions, in_triangle
from collection.compute.windows.mixtures import mixed
from collection.values import agents

# Recalled rows of Burke 1984 (from memory) that the library's Hansen triples confirm to within 1 (check-values 1.2).
TEAS = {
    "acetone": (47, 32, 21),
    "butanone": (53, 30, 17),
    "chloroform": (67, 12, 21),
    "diacetone alcohol": (45, 24, 31),
    "ethyl lactate": (44, 21, 35),
    "1-propanol": (40, 16, 44),
    "1-butanol": (43, 15, 42),
    "benzyl alcohol": (48, 16, 36),
    "2-ethoxyethanol": (42, 20, 38),
    "tetrahydrofuran": (55, 19, 26),
    "dimethylformamide": (41, 32, 27),
    "dimethyl sulfoxide": (41, 36, 23),
    "n-methyl-2-pyrrolidone": (48, 32, 20),
    "pyridine": (56, 26, 18),
    "formamide": (28, 42, 30),
    "nitroethane": (44, 43, 13),
    "n-heptane": (100, 0, 0),
}


@pytest.mark.parametrize("liquid", TEAS)
def test_fractions_agree_with_the_library_and_the_table(liquid: str) -> None:
    cas = TABLES.solvents.find(liquid).cas
    parts = [method(cas) for method in (library.hansen_delta_d, library.hansen_delta_p, library.hansen_delta_h)]
    assert fractions(hansen(liquid)) == pytest.approx([100 * part / sum(parts) for part in parts], abs=0.05)
    assert fractions(hansen(liquid)) == pytest.approx(TEAS[liquid], abs=1.0)


@given(st.tuples(*[st.floats(0, 60)] * 3).filter(lambda p: sum(p) > 0.1))
def test_fractions_sum_to_a_hundred_and_lie_in_the_triangle(point: tuple[float, float, float]) -> None:
    assert sum(fractions(point)) == pytest.approx(100)
    x, y = in_triangle(fractions(point))
    assert -1e-9 <= y <= HEIGHT + 1e-9
    assert y / HEIGHT / 2 - 1e-9 <= x <= 1 - y / HEIGHT / 2 + 1e-9


def test_dividing_by_the_length_of_the_vector_is_the_classic_mistake() -> None:
    """Acetone would then total about 164 (a public gate script; stored file 63071215275)."""
    point = hansen("acetone")
    length = math.sqrt(sum(part**2 for part in point))
    assert sum(100 * part / length for part in point) == pytest.approx(164, abs=3)
    assert sum(fractions(point)) == pytest.approx(100)


@pytest.mark.parametrize(
    ("mixture", "by_hansen", "by_teas"),
    [
        ("1 acetone + 1 toluene", (61.7, 21.7, 16.6), (65.6, 19.1, 15.3)),
        ("1 ethanol + 1 n-dodecane", (53.0, 14.7, 32.3), (68.0, 10.0, 22.0)),
    ],
)
def test_mixing_in_hansen_space_is_not_mixing_fractions(
    mixture: str, by_hansen: tuple[float, float, float], by_teas: tuple[float, float, float]
) -> None:
    """Values by the chemicals library; derived, not published."""
    agent = agents.parse(mixture, TABLES.solvents)
    assert fractions(agent.hansen) == pytest.approx(by_hansen, abs=0.1)
    means = [sum(share * fractions(hansen(name))[axis] for name, share in agent.liquids) for axis in range(3)]
    assert means == pytest.approx(by_teas, abs=0.1)


def test_a_point_without_cohesion_is_refused() -> None:
    with pytest.raises(ValueError, match="not all 0"):
        fractions((0.0, 0.0, 0.0))


def test_mixtures_are_each_once_and_water_only_with_what_it_takes_up() -> None:
    found = [agent.text for agent in mixed(("acetone", "toluene", "water"), TABLES)]
    assert len(found) == len(set(found))
    assert "1 acetone + 3 toluene" in found
    assert "1 acetone + 1 water" in found
    assert not any("toluene" in text and "water" in text for text in found)
