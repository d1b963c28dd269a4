"""Drawn surveys of a part with its zones, some places read and some not."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from hypothesis import strategies as st
from readings_made import LEVELS, body, readings, zone

levels = st.lists(st.sampled_from(LEVELS), max_size=4)
area = st.one_of(st.none(), st.floats(0.05, 20))


@st.composite
def surveyed(draw: Callable[..., Any]) -> list[Any]:
    """An object with up to two parts of up to four zones, each zone with its area and readings."""
    rows: list[Any] = []
    for component in ("body", "lid")[: draw(st.integers(1, 2))]:
        rows.append(body(draw(area), component))
        for number in range(draw(st.integers(0, 4))):
            code = f"{component}-{number}"
            within = draw(st.sampled_from([None, f"{component}-0"])) if number else None
            rows += [zone(code, draw(area), component, within=within), *readings(f"S{code}.", code, *draw(levels))]
        rows += readings(f"S{component}.", component, *draw(st.lists(st.sampled_from(LEVELS), max_size=1)))
    return rows
