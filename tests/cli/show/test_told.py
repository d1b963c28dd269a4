"""`show`: hazards, conditions, advice, treatments, claims and tests as a curator reads them."""

from __future__ import annotations

from typing import Any

import pytest

from collection.cli.text.object import screen
from collection.cli.text.record import record_lines
from collection.compute.case import Case
from collection.compute.survival.survival import object_survival
from collection.records.facts import facts_of
from collection.records.sheets import (
    Advice,
    Claim,
    Component,
    Condition,
    Hazard,
    Object,
    Response,
    Treatment,
    TreatmentStep,
)
from collection.records.sheets import Test as Swab


def test_a_hazard_that_was_ruled_out_later_is_not_told_as_one() -> None:
    rows = [
        Hazard(object="T", hazard="H1", kind="asbestos", status="suspected", observed_on="2001"),
        Hazard(object="T", hazard="H1", kind="asbestos", status="not found", observed_on="2019"),
        Hazard(object="T", hazard="H2", kind="mercury", status="not found"),
        Hazard(object="T", hazard="H2", kind="mercury", status="suspected", observed_on="2019"),
    ]
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), rows)
    text = "\n".join(screen(facts, object_survival(Case(facts))))
    assert "asbestos" not in text
    assert "mercury: suspected" in text


def condition(day: str, active: str | None, severity: int | None = 2) -> Condition:
    return Condition(object="T", place="all", phenomenon="flaking", observed_on=day, active=active, severity=severity)


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ([condition("2014", "unknown")], ["activity not known; moderate; 2014"]),
        ([condition("2014", None)], ["activity not known; moderate; 2014"]),
        ([condition("2014-05", "yes"), condition("2014", "no")], ["active; moderate; 2014-05"]),
        ([condition("2014-05", "yes"), condition("2014", "yes", 0)], ["active; moderate; 2014-05"]),
        ([condition("2014", "yes"), condition("2024", "no")], []),
        ([condition("2014", "yes"), condition("2024", "yes", 3)], ["active; severe; 2024"]),
    ],
)
def test_a_condition_is_at_rest_only_where_a_surely_later_row_says_so(rows: Any, told: Any) -> None:
    """A condition stays in view until somebody records that it stopped; dates that may overlap clear nothing."""
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), rows)
    lines = screen(facts, object_survival(Case(facts)))
    assert [line.removeprefix("  flaking at all; ") for line in lines if line.startswith("  flaking")] == told


def test_advice_is_not_said_to_have_been_left_undone() -> None:
    """A prohibition needs no treatment, and what was advised last year is not late."""
    facts = facts_of(
        Object(object="T", title="Tram", kind="tram"),
        [Advice(object="T", advice="A1", what="Stop polishing the plate", given_on="2024")],
    )
    lines = screen(facts, object_survival(Case(facts)))
    assert lines[lines.index("ADVICE in force") + 1].startswith("  A1  2024; Stop polishing")


def test_advice_in_force_tells_what_it_speaks_against_and_until_when() -> None:
    facts = facts_of(
        Object(object="T", title="Tram", kind="tram"),
        [
            Advice(object="T", advice="A1", what="Lay the flakes", given_on="2024"),
            Advice(
                object="T", advice="A2", what="Leave it alone", given_on="2010", against="wash; strip", until="2030"
            ),
            Advice(object="T", advice="A3", what="Nothing wet", given_on="2001", against="wash", replaced_by="A2"),
            Advice(object="T", advice="A4", what="Keep it dark", given_on="2001", until="2005"),
        ],
    )
    lines = screen(facts, object_survival(Case(facts)), lines=None, today="2026-01-01")
    at = lines.index("ADVICE in force")
    assert lines[at + 1 : at + 3] == [
        "  A2  2010; against wash, strip; Leave it alone; until 2030",
        "  A1  2024; Lay the flakes",
    ]
    past = lines.index("ADVICE no longer in force")
    assert lines[past + 1 : past + 3] == [
        "  A3  2001; against wash; Nothing wet; replaced by A2",
        "  A4  2001; Keep it dark; until 2005",
    ]


def test_a_treatment_tells_how_its_steps_really_ran() -> None:
    rows = [
        Treatment(object="T", treatment="W1", purpose="Varnish thinned", started="2019", outcome="partly"),
        TreatmentStep(
            object="T",
            treatment="W1",
            step=1,
            place="all",
            action="aqueous",
            agent="water",
            ph=8.5,
            dwell_s=30.0,
            passes=2,
            application="rolled swab",
            arrested_with="isooctane",
            removed="2",
            removed_m2=0.2,
            stopped_at="1/varnish",
            gloss_after_gu=41.0,
            area_m2=0.5,
            outcome="partly",
            hours=6.5,
        ),
    ]
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), rows)
    told = " ".join(" ".join(screen(facts, object_survival(Case(facts)))).split())
    assert "W1 2019; Varnish thinned; partly; aqueous at all with water, pH 8.5, 30 s, 2 passes, rolled swab; " in told
    assert "; took off 2 (0.2 m²); stopped at 1/varnish; arrested with isooctane; 0.5 m² worked on; " in told
    assert "; gloss 41 GU afterwards; 6.5 h; partly" in told


def test_claims_tell_their_latest_state_and_its_date() -> None:
    rows = [
        Claim(object="T", claim="C1", statement="It was number 4", status="untested", observed_on="2014"),
        Claim(
            object="T",
            claim="C1",
            statement="It was number 4",
            status="confirmed",
            observed_on="2024",
            resolved_by="Sample S9",
        ),
        Claim(object="T", claim="C2", statement="It was silver", status="supported", observed_on="2024-06"),
    ]
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), rows)
    lines = screen(facts, object_survival(Case(facts)), lines=None)
    assert lines[lines.index("CLAIMS not settled") + 1] == "  C2  supported 2024-06; It was silver"
    assert lines[lines.index("CLAIMS settled") + 1] == "  C1  confirmed 2024; It was number 4; by Sample S9"
    row = next(row for row in facts.claims if row.status == "confirmed")
    told = record_lines(facts, "claims", vars(row), "")
    assert told[-2:] == ["  2014  untested", "  2024  confirmed, by Sample S9"]


def test_a_test_tells_on_what_finish_it_was_made_and_whether_it_was_looked_at_dry() -> None:
    rows = [
        Component(object="T", component="B", name="body"),
        Swab(
            object="T",
            test="X1",
            place="B",
            agent="water",
            ph=7.0,
            dwell_s=20.0,
            passes=1,
            finish="failing",
            after_drying="no",
            tested_on="2020",
        ),
        Response(object="T", test="X1", scheme="1", response="none seen"),
    ]
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), rows)
    told = record_lines(facts, "components", vars(facts.components[0]), "")
    assert "  X1  water, pH 7, 20 s, 1 pass, B, 2020; on failing finish; looked at wet only: scheme 1 none seen" in told


def test_one_place_is_one_place() -> None:
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), [Component(object="T", component="B", name="body")])
    assert "; 1 place never examined" in " ".join(screen(facts, object_survival(Case(facts))))
