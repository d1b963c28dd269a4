"""Jars as they are written: an agent, with the pH of its water, and what is refused."""

from __future__ import annotations

import pytest
from objects import REFERENCE as TABLES
from tried_ladders import CITRATE

from collection.compute.windows.mixtures import jars_of, read_jar


@pytest.mark.parametrize(
    ("written", "agent", "ph", "back"),
    [
        ("water pH 8.5", "water", 8.5, "water, pH 8.5"),
        ("water pH 8.5 + 1% ammonium citrate", CITRATE, 8.5, f"{CITRATE}, pH 8.5"),
        ("Water + 1% ammonium citrate, pH 8,5", CITRATE, 8.5, f"{CITRATE}, pH 8.5"),
        ("1 ethanol + 3 water pH 6", "1 ethanol + 3 water", 6.0, "1 ethanol + 3 water, pH 6"),
        ("acetone", "acetone", None, "acetone"),
    ],
)
def test_a_jar_is_an_agent_with_the_ph_of_its_water(written: str, agent: str, ph: float | None, back: str) -> None:
    jar = read_jar(written, TABLES.solvents)
    assert (jar.agent.text, jar.ph, jar.text) == (agent, ph, back)
    assert read_jar(jar.text, TABLES.solvents) == jar


@pytest.mark.parametrize(
    ("written", "sentence"),
    [
        ("acetone pH 8", "Only water has a pH, and none is in acetone"),
        ("water pH 15", "between 0 and 14"),
        ("water pH", "cannot be read"),
        ("water pH 8 + 1% ammonium citrate pH 9", "stands there twice"),
        ("water pH eight", "cannot be read"),
        ("pH 8", "1 to 300 characters"),
    ],
)
def test_a_jar_that_cannot_be_read_is_refused_in_a_sentence(written: str, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        read_jar(written, TABLES.solvents)


def test_water_set_to_a_ph_is_mixed_no_further() -> None:
    jars = [read_jar(text, TABLES.solvents) for text in ("acetone", "water pH 8", "ethanol")]
    found = [jar.text for jar in jars_of(jars, TABLES)]
    assert "water, pH 8" in found
    assert not any("water" in text and "acetone" in text for text in found)
    assert "1 acetone + 1 ethanol" in found
