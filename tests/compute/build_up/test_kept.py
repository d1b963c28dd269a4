"""What is kept: coats by scheme, by period, and by what they lie on.

Tables of cases, each with what must come out and why. `mutants.py` changes the logic and asks whether these notice.
All objects are invented; what they show is common practice, no published source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import GREEN, RED, door, section

from collection.compute.build_up.readings import kept_layers, layers_by_sample
from collection.compute.case import Case
from collection.records.sheets import Sample, Scheme


@pytest.mark.parametrize(
    ("coats", "expected"),
    [
        # From the support outward, each (scheme, role, period, certainty, coverage).
        ([("1", "body colour", None, None, "intact"), ("2", "body colour", None, None, "intact")], [True, False]),
        ([(None, "body colour", None, None, "intact")], [True]),
        ([(None, "body colour", "later", "confirmed", "intact")], [False]),
        ([(None, "body colour", "later", "probable", "intact")], [True]),
        ([(None, "body colour", "original", "confirmed", "intact")], [True]),
        # What lies on a coat shown to be later is later still, unless it is said to be early; an absent one shows nothing.
        ([("2", "body colour", None, None, "intact"), (None, "varnish", None, None, "intact")], [False, False]),
        ([("2", "body colour", None, None, "intact"), (None, "varnish", "early", None, "intact")], [False, True]),
        ([("2", "body colour", None, None, "absent"), (None, "varnish", None, None, "intact")], [False, True]),
        (
            [(None, "body colour", "later", "confirmed", "intact"), (None, "varnish", None, None, "intact")],
            [False, False],
        ),
        (
            [(None, "body colour", "later", "confirmed", "absent"), (None, "varnish", None, None, "intact")],
            [False, True],
        ),
        ([(None, "varnish", None, None, "intact"), ("2", "body colour", None, None, "intact")], [True, False]),
        # Dirt is never kept, wax only as the maker's.
        ([("1", "dirt", None, None, "intact")], [False]),
        ([("1", "wax", None, None, "intact")], [True]),
        ([("2", "wax", None, None, "intact")], [False]),
        ([(None, "wax", None, None, "intact")], [False]),
    ],
)
def test_what_is_kept_is_told_by_scheme_period_and_what_it_lies_on(coats: list[Any], expected: list[bool]) -> None:
    rows = [
        Sample(object=o.OBJ, sample="S1", place="door", method="cross-section"),
        *(
            o.layer(n, role, scheme, None, coverage, period=period, certainty=certainty)
            for n, (scheme, role, period, certainty, coverage) in enumerate(coats, 1)
        ),
    ]
    kept = kept_layers(Case(o.facts(door(*rows))))
    assert [kept["S1", n] for n in range(1, len(coats) + 1)] == expected


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({}, False),
        ({"basis": None}, True),
        ({"certainty": "possible"}, True),
        ({"certainty": "probable"}, False),
        ({"keep": "keep"}, True),
        ({"keep": "sample"}, False),
        ({"keep": None}, False),
        ({"period": "early"}, True),
        ({"period": "unknown"}, True),
        ({"period": "recent"}, False),
        ({"period": "restoration"}, False),
    ],
)
def test_a_later_scheme_may_go_where_it_is_shown_to_be_later_and_nobody_keeps_it(
    change: dict[str, Any], expected: bool
) -> None:
    rows = [
        row.model_copy(update=change) if isinstance(row, Scheme) and row.scheme == "2" else row
        for row in door(*section("S1", GREEN))
    ]
    assert kept_layers(Case(o.facts(rows)))["S1", 1] == expected


def test_positions_are_counted_from_the_end_that_the_sample_says() -> None:
    for end, expected in ((None, [2, 1]), ("support", [2, 1]), ("surface", [1, 2])):
        rows = door(*section("S1", RED, GREEN, counted_from=end))
        assert [layer.position for layer in layers_by_sample(Case(o.facts(rows)))["S1"]] == expected
