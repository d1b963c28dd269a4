"""`show`: an object on one screen, and what is never folded away."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from shown import codes, shown

from collection.cli.text.object import CAUTION, LEAD, LINES, Standing, screen
from collection.compute.case import Case
from collection.compute.survival.survival import object_survival
from collection.language.words import SEVERITY_SPOKEN
from collection.records.facts import facts_of
from collection.records.sheets import (
    Claim,
    Component,
    Hazard,
    Layer,
    Object,
    Proposal,
    Reserve,
    Sample,
    Scheme,
    Treatment,
    Zone,
)
from collection.rules.assess import assess
from collection.rules.track_record import Outturn, Seen
from collection.store.base import database, read


def test_every_object_of_the_sample_fits_one_screen(filled: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for code in codes(filled):
        lines = shown(capsys, filled, code).splitlines()
        assert len(lines) <= LINES + 2, code
        assert max(map(len, lines)) <= 100, code
        assert lines[0].startswith(f"{code}  ")


def test_what_can_hurt_what_must_stay_and_what_is_worst_is_never_folded_away(
    filled: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for code in codes(filled):
        out = shown(capsys, filled, code)
        with database.opened(filled, write=False) as connection:
            facts = read.facts_rows(connection, code)
            proposals = [
                read.load_proposal(connection, *key) for key in read.proposal_keys(connection) if key[0] == code
            ]
        assert (LEAD in out and CAUTION in out) or not facts.layers
        assert object_survival(Case(facts)).sentence in " ".join(out.split())
        for hazard in {row.hazard for row in facts.hazards} - {
            row.hazard for row in facts.hazards if row.status == "not found"
        }:
            assert re.search(rf"^  {hazard}  ", out, re.M), (code, hazard)
        worst = sorted((assess(Case(facts), p).outcome for p in proposals), key=list(SEVERITY_SPOKEN).index)[-1:]
        assert all(SEVERITY_SPOKEN[outcome].upper() in out for outcome in worst)


def test_all_shows_every_record_that_is_open(filled: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for code in codes(filled):
        out = shown(capsys, filled, code, "--all")
        with database.opened(filled, write=False) as connection:
            facts = read.facts_rows(connection, code)
        # Every state of a claim in the sample has its own day.
        newest = {r.claim: r.status for r in sorted(facts.claims, key=lambda r: r.observed_on)}
        rows = [
            *(("schemes", r.scheme) for r in facts.schemes),
            *(("reserves", r.reserve) for r in facts.reserves),
            *(("treatments", r.treatment) for r in facts.treatments),
            *(("claims", code) for code, status in newest.items() if status in ("untested", "supported")),
            *(("advice", r.advice) for r in facts.advice if r.done_by is None),
        ]
        for sheet, name in rows:
            assert re.search(rf"^  {re.escape(name)}  ", out, re.M), (code, sheet, name)
        assert "more with --all" not in out


def many(layers: int = 0, zones: int = 40) -> list:
    rows = [
        Component(object="T", component="B", name="body"),
        *(Zone(object="T", zone=f"Z{n}", component="B", name=f"panel {n}") for n in range(zones)),
        *(Scheme(object="T", scheme=str(n), name=f"scheme {n}", period="later", rank=n) for n in range(30)),
        *(Reserve(object="T", reserve=f"R{n}", place="B", kind="reserve") for n in range(20)),
        *(
            Claim(object="T", claim=f"C{n}", statement="A number under the paint.", status="untested")
            for n in range(20)
        ),
        Hazard(object="T", hazard="H1", kind="asbestos in the lining", status="confirmed", observed_on="2001"),
    ]
    for n in range(layers):
        rows += [
            Sample(object="T", sample=f"S{n}", place=f"Z{n % zones}", method="cross-section"),
            Layer(object="T", sample=f"S{n}", position=1, role="body colour", scheme="0"),
        ]
    return rows


def test_an_object_with_much_to_tell_is_folded_with_counts() -> None:
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), many(layers=50))
    standing = [
        Standing(
            Proposal(object="T", proposal=f"P{n}", title="Strip it", proposed_by="N. N.", proposed_on="2020"),
            "destroys" if n == 11 else "clear",
            None,
        )
        for n in range(12)
    ]
    lines = screen(facts, object_survival(Case(facts)), standing)
    assert len(lines) <= LINES
    assert any(line.startswith("  P11  DESTROYS") for line in lines)
    left = sum(int(found[1]) for line in lines if (found := re.search(r"; (\d+) more with --all", line)))
    everything = screen(facts, object_survival(Case(facts)), standing, lines=None)
    assert left > 50
    assert len(everything) > 90
    assert sum(line.startswith("  C") for line in everything) == 20


def test_temporary_work_and_reserves_past_their_date_are_told() -> None:
    rows = [
        Treatment(object="T", treatment="W1", purpose="facing", started="2010", temporary_until="2012-05"),
        Treatment(object="T", treatment="W2", purpose="netting", started="2010", temporary_until="2031"),
        Reserve(object="T", reserve="R1", place="all", kind="reserve", until="2015"),
    ]
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), rows)
    told = [line.strip() for line in screen(facts, object_survival(Case(facts)), today="2024-01-01")]
    assert "W1  until 2012-05; facing" in told
    assert "reserve R1  until 2015; at all" in told
    assert not any("W2  until" in line for line in told)
    assert not any("PAST ITS DATE" in line for line in screen(facts, object_survival(Case(facts))))


def test_what_became_of_a_carried_out_proposal_stands_beside_it() -> None:
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), [])
    became = Outturn(
        "T/P1",
        ("W1",),
        (
            Seen("all/1/varnish", "destroys", "lost", "W1/1"),
            Seen("all/1/body colour", "destroys", "not looked since", None),
        ),
    )
    head = Proposal(object="T", proposal="P1", title="Strip it", proposed_by="N. N.", proposed_on="2020")
    told = " ".join(screen(facts, object_survival(Case(facts)), [Standing(head, "destroys", None, became)]))
    assert "carried out (W1): 1 lost, 1 not looked since" in told


def test_an_object_of_which_nothing_is_known_says_so() -> None:
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), [])
    text = "\n".join(screen(facts, object_survival(Case(facts))))
    assert "No place has been looked at for original finish" in text
    assert "HAZARDS" not in text
