"""Which word on a condition stands, and where finish is failing.

Tables of cases, each with what must come out and why. `mutants.py` changes the logic and asks whether these notice.
All objects are invented; what they show is common practice, no published source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import RED, changed, door, fails, section, work
from stacks import CAB, WING

from collection.compute.build_up.condition import failing, looked_at, standing
from collection.compute.case import Case
from collection.records.sheets import Condition, TreatmentStep


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        (fails(), ["2022"]),
        (fails(severity=0), []),
        (fails(extent_pct=0.0), []),
        (fails(extent_pct=1.0), ["2022"]),
        ([*fails(), *fails(on="2023")], ["2023"]),
        ([*fails(), *fails(on="2022-05")], ["2022", "2022-05"]),
        ([*fails(), *fails(on="2023", severity=0)], []),
        ([*fails(), *fails(on="2021", severity=0)], ["2022"]),
        ([*fails(), *fails(on="2023", phenomenon="lifting")], ["2022", "2023"]),
        ([*fails(), *fails(on="2023", scheme="1")], ["2022", "2023"]),
        ([*fails(), *fails("all", on="2023")], ["2022", "2023"]),
    ],
)
def test_the_newest_word_on_a_condition_stands_and_dates_that_may_overlap_leave_both(
    rows: list[Condition], expected: list[str]
) -> None:
    assert sorted(row.observed_on for row in standing(Case(o.facts(door(*rows))))) == expected


@pytest.mark.parametrize(
    ("rows", "scheme", "expected"),
    [
        (fails(), "1", "grave"),
        (fails(), None, "grave"),
        (fails(scheme="2"), "1", None),
        (fails(scheme="1"), "1", "grave"),
        (fails(scheme="2"), "*", "grave"),
        (fails(scheme="1"), None, None),
        (fails(phenomenon="cracking"), "1", None),
        (fails(active="no"), "1", None),
        (fails(active="unknown"), "1", "grave"),
        (fails(severity=1), "1", "slight"),
        (fails(extent_pct=4.9), "1", "slight"),
        (fails(extent_pct=5.0), "1", "grave"),
        ([*fails(severity=1), *fails(phenomenon="lifting")], "1", "grave"),
        (fails("all"), "1", "grave"),
        (fails("wing"), "1", None),
        (fails("cab"), "1", None),
        (fails("nowhere"), "1", "grave"),
        # A recorded consolidation surely later than all of it, in all of its place, and done.
        ([*fails(), *work("consolidate", on="2023")], "1", "laid by W9"),
        ([*fails(), *work("lay flakes", on="2023")], "1", "laid by W9"),
        ([*fails(), *work("facing", on="2023")], "1", "grave"),
        ([*fails(), *work("consolidate", on="2023", place="all")], "1", "laid by W9"),
        ([*fails(), *work("consolidate", on="2023", place="wing")], "1", "grave"),
        ([*fails(), *work("consolidate", on="2023", outcome="partly")], "1", "grave"),
        ([*fails(), *work("consolidate", on="2023", outcome="tried and failed")], "1", "grave"),
        (
            [*fails(), *changed(work("consolidate", on="2023", outcome="partly"), TreatmentStep, outcome="done")],
            "1",
            "laid by W9",
        ),
        ([*fails(), *fails(phenomenon="lifting", on="2024"), *work("consolidate", on="2023")], "1", "grave"),
    ],
)
def test_finish_is_failing_where_it_is_seen_to_and_not_known_to_be_at_rest(
    rows: list[Any], scheme: str | None, expected: str | None
) -> None:
    found = failing(Case(o.facts(door(WING, *CAB[:1], *rows))), "door", scheme)
    told = (
        None
        if found is None
        else f"laid by {found.laid_by}"
        if found.laid_by
        else ("slight" if found.slight else "grave")
    )
    assert told == expected


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([], False),
        (section("S1", RED), True),
        (section("S1", RED, place="all"), True),
        (section("S1", RED, place="wing"), True),
        (section("S1", RED, place="cab"), False),
        (fails(severity=0), True),
        (fails("wing", severity=0), False),
        (fails("all", severity=0), True),
    ],
)
def test_a_surface_is_told_of_by_a_sample_in_it_or_a_condition_looked_for_there(
    rows: list[Any], expected: bool
) -> None:
    assert looked_at(Case(o.facts(door(WING, *CAB[:1], *rows))), "door") == expected
