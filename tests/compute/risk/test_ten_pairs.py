"""Ten pairs of threats of the sample, the first of which a conservator would put before the second, and why.

They were written down from the notebooks before anything was ranked, and before the program that ranks was run. Whether
a pair holds is judgement; the reasons say whose. The sample is invented.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from collection.compute.risk.ranking import Ranked, rank
from collection.compute.risk.threat import COVERED, DESTROYED, ENDANGERED, EVIDENCE, FAILING, PAST, UNEXAMINED, UNSEEN
from collection.records.policy import default_policy
from collection.store.base import database
from collection.store.risks import at_risk

PAIRS = (
    (
        ("OHM-1962-7", DESTROYED, "P5"),
        ("OHM-1962-40", ENDANGERED, "P2"),
        "Ten steps over nine places of the most valued object, the dash replaced, against one liquid that dulls the bare "
        "varnish under the seat of a bench worth an eighth of it.",
    ),
    (
        ("OHM-1949/1", DESTROYED, "P1"),
        ("OHM-1949/1", FAILING, "P-BOW"),
        "Hot air and scraper take the whole bow from stem to stern at once; the flakes there are slight, over five per cent.",
    ),
    (
        ("OHM-1974-21", FAILING, "G-NECK"),
        ("OHM-1962-40", FAILING, "B-FRONT"),
        "A quarter of the neck flakes within the ground and it grows by the year; the bench loses slight sheets of later "
        "green, and is worth a third.",
    ),
    (
        ("OHM-1989-2", FAILING, "Q-BACK"),
        ("OHM-1989-2", FAILING, "Q-STRIPE"),
        "Severe over three quarters of the back with flakes on the floor, against slight over four per cent of a stripe.",
    ),
    (
        ("OHM-1988/5", DESTROYED, "P1"),
        ("OHM-1988/5", FAILING, "H-ROOF"),
        "Grit takes the maker's red everywhere in an afternoon; the roof goes flake by flake and is one place of seven.",
    ),
    (
        ("OHM-1980-2", DESTROYED, "P1"),
        ("OHM-1980-2", PAST, None),
        "The wet cloth wipes the whole shellac of the inside off; the film that should have come off in 2007 covers a "
        "strip of cloth.",
    ),
    (
        ("OHM-1952-11", (UNEXAMINED, UNSEEN), None),
        ("OHM-1991-30.1", EVIDENCE, None),
        "Both worth four points. That nobody has seen the board may cost all of it; a lost photograph or notebook costs "
        "some of what is known.",
    ),
    (
        ("OHM-1962-7", COVERED, None),
        ("OHM-1991-30.1", COVERED, None),
        "The same threat, finish under later paint that no tag tells of: the tram carries more of it and is worth seven "
        "times the scale.",
    ),
    (
        ("OHM-1974-21", DESTROYED, "P5"),
        ("OHM-1974-21", ENDANGERED, "P6"),
        "Caustic immersion takes everything; cloth and sheet take what hangs loose on the neck.",
    ),
    (
        ("OHM-1962-7", FAILING, "L-VAL"),
        ("OHM-1962-7", FAILING, "L-STRIP"),
        "The valance flakes severely and more than ten years ago; slight dirt on the strip takes nothing off by itself.",
    ),
)
"""(object, kind or kinds, place or proposal; None = any), the same of what comes after it, and why."""


@pytest.fixture(scope="module")
def ranked(harbour: Path) -> list[Ranked]:
    with database.opened(harbour, write=False) as db:
        return rank(at_risk(db, default_policy(), "2025-01-01"), default_policy().risk)


def place_of(ranked: list[Ranked], asked: tuple[Any, ...]) -> int:
    """The rank of the first threat to an object of some kind, at a place or by a proposal; what is no threat at all comes
    after every one: no original finish has been found where the stripe of the crane's boards flakes."""
    code, kinds, where = asked
    found = (
        each.rank
        for each in ranked
        if each.object == code
        and each.threat.kind in (kinds if isinstance(kinds, tuple) else (kinds,))
        and where in (None, each.threat.place, each.threat.event.rpartition("/")[2])
    )
    return next(found, len(ranked) + 1)


@pytest.mark.parametrize(("first", "second", "why"), PAIRS, ids=[f"{a[0]}-before-{b[0]}" for a, b, _ in PAIRS])
def test_the_first_of_each_pair_comes_before_the_second(
    ranked: list[Ranked], first: tuple[Any, ...], second: tuple[Any, ...], why: str
) -> None:
    assert place_of(ranked, first) < place_of(ranked, second), why
