"""Before you approve, and the objects at risk: the answers are those of the rules."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from datasette.utils import tilde_encode
from firstcoat_site.pages import before as before_page
from site_answers import Page, get

from collection.compute.case import Case
from collection.output.published import published_object
from collection.output.published.published_object import PublishedObject
from collection.records import sheets as r
from collection.records.facts import ProposalFacts
from collection.rules.assess import assess


class FixedDay(date):
    """A calendar on which it is always the same day, so that no test runs over midnight."""

    @classmethod
    def today(cls) -> FixedDay:
        return cls(2030, 5, 2)


def test_before_you_approve_answers_as_the_rules_do(harbour: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of one step on an object of which everything is published, word for word, on one day."""
    monkeypatch.setattr(before_page, "date", FixedDay)
    asked = "object=OHM-1962-7&place=L-STRIP&action=solvent&agent=acetone&application=rolled+swab&dwell_s=30"
    page, data = get(harbour, f"/before?{asked}", f"/before.json?{asked}")
    (document,) = get(harbour, "/object/OHM-1962-7.json")
    published = PublishedObject(document.json())
    step = r.ProposalStep(
        object="OHM-1962-7",
        proposal="asked",
        step=1,
        place="L-STRIP",
        action="solvent",
        agent="acetone",
        application="rolled swab",
        dwell_s=30,
    )
    head = r.Proposal(object="OHM-1962-7", proposal="asked", title="t", proposed_by="n", proposed_on="2030-05-02")
    wanted = assess(Case(published.facts), ProposalFacts(head, (step,))).as_json()
    for name in ("outcome", "losses", "requirements", "loss_m2"):
        assert data.json()[name] == json.loads(json.dumps(wanted[name])), name
    assert wanted["outcome"] == "endangers"
    words = Page(page.text).words
    for loss in wanted["losses"]:
        # The place and the coat stand once above what many lines say of them.
        reason = loss["message"][loss["message"].index("Step 1 (solvent)") :]
        assert " ".join(reason.split()) in words


def test_the_published_records_are_the_facts_that_the_rules_read(harbour: Path, tmp_path: Path) -> None:
    """What is published whole gives the very assessments of the database."""
    for code in ("OHM-1962-7", "OHM-1974-21"):
        (data,) = get(harbour, f"/object/{tilde_encode(code)}.json")
        published = PublishedObject(data.json())
        for proposal in data.json()["proposals"]:
            steps = tuple(published_object.as_record(r.ProposalStep, row) for row in proposal["proposal_steps"])
            found = assess(
                Case(published.facts), ProposalFacts(published_object.as_record(r.Proposal, proposal), steps)
            )
            assert found.outcome == proposal["assessment"]["outcome"]
            assert [loss.id for loss in found.losses] == [loss["id"] for loss in proposal["assessment"]["losses"]]


def test_work_that_reaches_nothing_is_out_of_reach_and_work_that_strips_destroys(harbour: Path) -> None:
    drained, stripped = get(harbour, "/before?object=OHM-1962-7&action=drain", "/before?object=OHM-1962-7&action=strip")
    assert "it can reach nothing that is kept" in Page(drained.text).words
    assert "would be destroyed" in Page(stripped.text).words
    assert "treat paint as leaded until it is analysed" in Page(stripped.text).words


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("object=quagga", "No published object has the number quagga"),
        ("object=OHM-1962-7&place=MOON&action=dust", "has no place MOON"),
        ("object=OHM-1962-7&agent=acetone", "Choose what would be done"),
        ("object=OHM-1962-7&action=solvent&agent=acetone+%2B", "acetone +"),
        ("object=OHM-1962-7&action=scrape&depth_um=lots", "lots"),
        ("object=OHM-1962-7&action=scrape&stop_at=99", "has no scheme 99"),
        ("object=OHM-1962-7&action=levitate", "levitate"),
    ],
)
def test_what_cannot_be_answered_is_told_in_a_sentence_beside_its_field(harbour: Path, asked: Any, said: Any) -> None:
    page, data = get(harbour, f"/before?{asked}", f"/before.json?{asked}")
    assert page.status_code == 200
    assert "This cannot be answered yet" in Page(page.text).words
    assert said in Page(page.text).words
    assert data.status_code == 400
    assert data.json()["errors"]


def test_where_records_are_held_back_nothing_is_told_as_cleared(harbour: Path) -> None:
    (data,) = get(harbour, "/object/OHM-1962-7.json")
    asked = before_page.asked(
        {
            "place": "L-STRIP",
            "action": "solvent",
            "agent": "dearomatised white spirit",
            "application": "rolled swab",
            "dwell_s": "20",
            "passes": "4",
            "temperature_c": "20",
        }
    )
    whole = PublishedObject(data.json())
    step, faults = before_page.read_step(whole, asked)
    assert not faults
    plain = before_page.judged(whole, step, "2024-11-01")
    assert plain["outcome"] == "stood"
    part = PublishedObject({**data.json(), "withheld": {"tests": 1}})
    wary = before_page.judged(part, step, "2024-11-01")
    assert wary["outcome"] == "untested"
    assert len(wary["losses"]) == len(plain["losses"])
    assert {loss["severity"] for loss in wary["losses"]} == {"untested"}
    assert all("not published" in loss["message"] for loss in wary["losses"])
    drain = before_page.read_step(part, before_page.asked({"action": "drain"}))[0]
    assert before_page.judged(part, drain)["outcome"] == "clear"


def test_objects_at_risk_stand_in_order_with_every_reason(harbour: Path) -> None:
    page, data = get(harbour, "/at-risk", "/at-risk.json")
    found = data.json()
    order = [tuple(row["numbers"].values()) for row in found["objects"]]
    assert order == sorted(order, reverse=True)
    assert found["total"] == len(found["objects"]) == 13
    for row in found["objects"]:
        (document,) = get(harbour, f"/object/{tilde_encode(row['object'])}.json")
        assert [t["message"] for t in row["threats"]] == [t["message"] for t in document.json()["threats"]]
        assert row["title"] in Page(page.text).words
    assert "OHM-1952-11" not in {row["object"] for row in found["objects"]}
