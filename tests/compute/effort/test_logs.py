"""Which logged steps count for hours per m², why the others do not, and of what kind they are."""

from __future__ import annotations

from typing import Any

import objects as o
import pytest

from collection.compute.case import Case
from collection.compute.effort.logs import Kind, Logged, kind_of, logged, together
from collection.records.sheets import Component, ProposalStep, Treatment, TreatmentStep
from collection.records.work import TreatmentStep as Step


def treated(*steps: dict[str, Any], treated_by: str | None = "N. N.", outcome: str | None = None) -> list[Any]:
    head = Treatment(object=o.OBJ, treatment="T1", purpose="uncovering", treated_by=treated_by, outcome=outcome)
    return [
        head,
        *(
            TreatmentStep(object=o.OBJ, treatment="T1", step=number, **{"place": "door", "action": "scrape", **columns})
            for number, columns in enumerate(steps, 1)
        ),
    ]


def read(*steps: dict[str, Any], **more: Any) -> Logged:
    return logged(Case(o.facts(o.base(*treated(*steps, **more)))))


def test_a_step_with_hours_and_surface_counts_with_its_kind_part_and_worker() -> None:
    found = read({"hours": 3.5, "area_m2": 0.012, "removed": "2"})
    (log,) = found.logs
    assert (log.key, log.part, log.worker) == ("T.1/T1/1", "T.1/body", "N. N.")
    assert log.hours / log.area_m2 == pytest.approx(3.5 / 0.012)
    assert found.sentence() == "1 of 1 logged steps count."


@pytest.mark.parametrize(
    ("columns", "why"),
    [
        ({"area_m2": 0.1}, "says no hours"),
        ({"area_m2": 0.1, "hours": 0.0}, "says no hours"),
        ({"hours": 2.0}, "says hours but no area"),
        ({"hours": 2.0, "area_m2": 0.0}, "says hours but no area"),
        ({"hours": 2.0, "area_m2": 0.1, "outcome": "tried and failed"}, "was tried and failed"),
        ({"hours": 2.0, "area_m2": 0.1, "action": "other"}, "is work of no named kind"),
        ({"hours": 2.0, "area_m2": 0.1, "action": "oil mechanism"}, "is not work by the square metre"),
    ],
)
def test_what_does_not_count_says_why(columns: dict[str, Any], why: str) -> None:
    found = read(columns)
    assert not found.logs
    assert found.why_not() == {why: 1}
    assert found.sentence() == f"1 logged, and it {why}."


def test_a_step_comes_out_as_its_treatment_did_unless_it_says_otherwise() -> None:
    columns = {"hours": 2.0, "area_m2": 0.1}
    assert not read(columns, outcome="tried and failed").logs
    (log,) = read({**columns, "outcome": "partly"}, outcome="tried and failed").logs
    assert log.partly


def test_hours_beside_a_step_without_may_be_those_of_both() -> None:
    """4 h noted for scraping, none for the heating before it on the same door: the figure may be the whole day's."""
    scrape, heat = {"hours": 4.0, "area_m2": 0.5}, {"action": "heat", "area_m2": 0.5}
    found = read(heat, scrape)
    assert found.why_not() == {"says no hours": 1, "shares its hours with steps that say none": 1}
    assert len(read({**heat, "hours": 0.0}, scrape).logs) == 1, "that the other took none is said"
    lid = Component(object=o.OBJ, component="lid", name="lid")
    elsewhere = o.base(lid, *treated({**heat, "place": "lid"}, scrape))
    assert len(logged(Case(o.facts(elsewhere))).logs) == 1, "another place is another piece of work"


def test_the_surface_is_what_was_worked_on_or_else_what_was_taken_off() -> None:
    (both,) = read({"hours": 2.0, "area_m2": 0.4, "removed_m2": 0.1, "removed": "2"}).logs
    (one,) = read({"hours": 2.0, "removed_m2": 0.1, "removed": "2"}).logs
    assert (both.area_m2, one.area_m2) == (0.4, 0.1)


def kind(step: dict[str, Any], *binders: tuple[int, str, str, str | None]) -> Kind:
    rows = [row for row in o.base() if row.sheet != "layers"] + [
        o.layer(at, role, scheme, None, binder=binder) for at, role, scheme, binder in binders
    ]
    step = {"object": o.OBJ, "treatment": "T1", "step": 1, "place": "door", "action": "solvent", **step}
    return kind_of(Case(o.facts(rows)), Step(**step))


def test_the_binder_is_that_of_the_coat_taken_off() -> None:
    coats = (1, "primer", "1", "glue"), (2, "body colour", "1", "oil"), (3, "varnish", "1", "natural resin")
    assert kind({"removed": "1/varnish"}, *coats) == Kind("solvent", "natural resin")
    assert kind({"removed": "1"}, *coats) == Kind("solvent", "oil"), "of a whole scheme its body colour"
    assert kind({"removed": "1", "adds_binder": "wax"}, *coats) == Kind("solvent", "oil")
    assert kind({"adds_binder": "wax"}, *coats) == Kind("solvent", "wax"), "else of what is put on"
    assert kind({"removed": "2"}, *coats) == Kind("solvent", None), "nothing was read of it"
    unsure = (1, "body colour", "1", "unknown"), (2, "varnish", "2", "oil")
    assert kind({"removed": "1"}, *unsure) == Kind("solvent", None)
    two = (1, "body colour", "1", "oil"), (2, "body colour", "1", "alkyd")
    assert kind({"removed": "1"}, *two) == Kind("solvent", None), "readings differ"


def test_a_proposed_step_is_of_the_kind_that_its_log_will_be() -> None:
    rows = [row for row in o.base() if row.sheet != "layers"] + [o.layer(1, "body colour", "2", None, binder="alkyd")]
    step = ProposalStep(object=o.OBJ, proposal="P", step=1, place="door", action="scrape", removes="2", stop_at="1")
    assert kind_of(Case(o.facts(rows)), step) == Kind("scrape", "alkyd")


def test_many_objects_are_told_as_one() -> None:
    one = read({"hours": 2.0, "area_m2": 0.1}, {"place": "all", "action": "move", "hours": 6.0})
    whole = together([one, read({"area_m2": 0.1}, {"action": "wax", "hours": 1.0, "place": "body"})])
    assert whole.steps == 4
    assert whole.sentence() == (
        "1 of 4 logged steps count; of the others 1 says no hours, 1 says hours but no area, "
        "1 is not work by the square metre."
    )
    assert whole.sentence("scrape") == "1 of 2 logged steps count; of the others 1 says no hours."
    assert whole.hours_alone == (("move", (6.0,)), ("wax", (1.0,)))
