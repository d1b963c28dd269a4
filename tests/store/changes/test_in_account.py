"""Withdrawn and reinstated: a record counts with all that it hangs on, and a survey takes its amendments along."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from packaged_rows import amend, hand_in, needed, store
from tram_records import TRAM, live, one

from collection.language.errors import DifferenceRefused, InputRefused
from collection.store.changes import corrections
from collection.store.check import check

BY, WHY = "A. Surveyor", "seen again"


def test_a_record_counts_with_all_it_hangs_on(filled: Path) -> None:
    whole = live(filled)
    assert whole["layers"] == 2
    corrections.withdraw(filled, "samples", f"{TRAM}/S1", BY, WHY)
    assert {k: v for k, v in live(filled).items() if v != whole[k]} == {
        "samples": 0,
        "layers": 0,
        "analyses": 0,
        "responses": 1,
    }
    corrections.reinstate(filled, "samples", f"{TRAM}/S1", BY, WHY)
    assert live(filled) == whole
    corrections.withdraw(filled, "zones", f"{TRAM}/door", BY, WHY)
    gone = {k: v for k, v in live(filled).items() if v != whole[k]}
    assert gone == {"zones": 1, "samples": 0, "layers": 0, "analyses": 0, "tests": 0, "responses": 0, "conditions": 0}
    corrections.reinstate(filled, "zones", f"{TRAM}/door", BY, WHY)
    corrections.withdraw(filled, "survey", "A", BY, WHY)
    assert set(live(filled).values()) == {0}
    corrections.reinstate(filled, "survey", "A", BY, WHY)
    assert live(filled) == whole
    assert check(filled).damage == ()


def test_one_of_several_dated_states_keeps_the_part_in_account(filled: Path) -> None:
    whole = live(filled)
    corrections.withdraw(filled, "components", f"{TRAM}/body/2001", BY, WHY)
    assert live(filled) == {**whole, "components": 2}
    corrections.withdraw(filled, "components", f"{TRAM}/body/1924/1931", BY, WHY)
    assert live(filled)["zones"] == 0


def test_an_alarm_stays_when_its_place_goes(filled: Path) -> None:
    """A reserve and a proposed step are not silenced by withdrawing a zone, nor evidence by a scheme."""
    corrections.withdraw(filled, "zones", f"{TRAM}/door", BY, WHY)
    assert (live(filled)["reserves"], live(filled)["proposal_steps"]) == (1, 2)
    corrections.reinstate(filled, "zones", f"{TRAM}/door", BY, WHY)
    corrections.withdraw(filled, "schemes", f"{TRAM}/1", BY, WHY)
    assert (live(filled)["layers"], live(filled)["conditions"]) == (2, 2)


def test_withdrawing_twice_or_nothing_is_refused(filled: Path) -> None:
    with pytest.raises(InputRefused):
        corrections.reinstate(filled, "objects", TRAM, BY, WHY)
    corrections.withdraw(filled, "objects", TRAM, BY, WHY)
    with pytest.raises(InputRefused):
        corrections.withdraw(filled, "objects", TRAM, BY, WHY)
    assert one(filled, "SELECT count(*) FROM changes") == 2


KEY = (TRAM, "S1", 2)
TEXT = f"{TRAM}/S1/2"


def colour(path: Path) -> tuple[Any, ...]:
    """Colour, survey, and whether the layer is in account."""
    row = one(path, "SELECT colour, survey FROM layers WHERE position = 2")
    return (*row, live(path)["layers"] == 2)


def test_withdrawing_a_survey_restores_what_it_had_amended(filled: Path) -> None:
    corrections.correct(filled, "layers", TEXT, {"colour": "red"}, BY, WHY)
    store(filled, "B", [])
    store(filled, "C", [])
    meant = [f"layers/{TEXT}"]
    amend(filled, "B", "layers", KEY, meant, colour="green", thickness_um=2 / 3)
    assert colour(filled) == ("green", "A", True)
    corrections.withdraw(filled, "survey", "B", BY, WHY)
    assert colour(filled) == ("red", "A", True)
    layer = one(filled, "SELECT thickness_um, revision, from_file FROM layers WHERE position = 2")
    assert layer == (0.1 + 0.2, 4, "layers.csv")
    corrections.reinstate(filled, "survey", "B", BY, WHY)
    assert colour(filled) == ("green", "A", True)
    amend(filled, "C", "layers", KEY, colour="blue")
    corrections.withdraw(filled, "survey", "B", BY, WHY)
    assert colour(filled) == ("blue", "A", True), "something newer stands"
    corrections.withdraw(filled, "survey", "C", BY, WHY)
    assert colour(filled) == ("red", "A", True), "not what a withdrawn survey said"
    corrections.reinstate(filled, "survey", "B", BY, WHY)
    assert colour(filled) == ("green", "A", True)
    corrections.reinstate(filled, "survey", "C", BY, WHY)
    assert colour(filled) == ("blue", "A", True)
    report = check(filled)
    assert (report.damage, report.notes) == ((), ())


def test_a_correction_after_a_restoration_stands(filled: Path) -> None:
    store(filled, "B", [])
    amend(filled, "B", "layers", KEY, colour="green")
    corrections.withdraw(filled, "survey", "B", BY, WHY)
    corrections.correct(filled, "layers", TEXT, {"colour": "maroon"}, BY, WHY)
    corrections.reinstate(filled, "survey", "B", BY, WHY)
    assert colour(filled) == ("maroon", "A", True)


def test_a_record_goes_and_comes_with_the_survey_that_brought_it(filled: Path) -> None:
    """Who amended it takes the amendment along, and nothing else."""
    store(filled, "B", [])
    amend(filled, "B", "layers", KEY, colour="green")
    corrections.withdraw(filled, "survey", "A", BY, WHY)
    assert colour(filled) == ("green", "A", False)
    corrections.withdraw(filled, "survey", "B", BY, WHY)
    corrections.reinstate(filled, "survey", "A", BY, WHY)
    assert colour(filled) == (None, "A", True)


def test_a_cell_filled_in_by_another_survey_is_blank_without_it(filled: Path) -> None:
    """The record stays where it belongs, so that withdrawing the survey that filled in one cell of it takes out of
    account that cell and no record."""
    whole = live(filled)
    before = one(filled, "SELECT survey, from_file, from_row FROM layers WHERE position = 2")
    amend(filled, "B", "layers", KEY, munsell="5R 4/10")
    assert one(filled, "SELECT munsell FROM layers WHERE position = 2") == "5R 4/10"
    assert one(filled, "SELECT survey, from_file, from_row FROM layers WHERE position = 2") == before
    corrections.withdraw(filled, "survey", "B", BY, WHY)
    assert one(filled, "SELECT munsell FROM layers WHERE position = 2") is None
    assert live(filled) == {**whole, "survey": 1}
    corrections.reinstate(filled, "survey", "B", BY, WHY)
    assert one(filled, "SELECT munsell FROM layers WHERE position = 2") == "5R 4/10"


def test_a_record_without_a_survey_in_account_is_taken_over_by_an_amendment(filled: Path) -> None:
    """An accession number is one for ever, so that an object whose survey was withdrawn by mistake can be brought again;
    it says so, and asks for an amendment."""
    store(filled, "B", [])
    corrections.withdraw(filled, "survey", "A", "R. Registrar", "another tram")
    again = [("objects", needed(filled, "objects", (TRAM,)))]
    with pytest.raises(DifferenceRefused) as refused:
        hand_in(filled, "B", again)
    assert [(d.key, d.column, d.stored) for d in refused.value.differences] == [(TRAM, "survey", "A")]
    assert "The survey A was withdrawn by R. Registrar on" in refused.value.faults[0].message
    assert "firstcoat reinstate DB survey A --by NAME --reason TEXT" in refused.value.faults[0].message
    hand_in(filled, "B", again, amend=True)
    assert one(filled, "SELECT survey FROM live_objects") == "B"
    corrections.reinstate(filled, "survey", "A", BY, WHY)
    corrections.withdraw(filled, "survey", "B", BY, WHY)
    assert one(filled, "SELECT survey FROM live_objects WHERE object = ?", TRAM) == "A"


def test_a_record_withdrawn_by_itself_stays_so(filled: Path) -> None:
    store(filled, "B", [])
    amend(filled, "B", "layers", KEY, colour="green")
    corrections.withdraw(filled, "layers", TEXT, BY, WHY)
    corrections.withdraw(filled, "survey", "B", BY, WHY)
    corrections.reinstate(filled, "survey", "B", BY, WHY)
    assert colour(filled) == ("green", "A", False)
    corrections.reinstate(filled, "layers", TEXT, BY, WHY)
    assert colour(filled) == ("green", "A", True)
