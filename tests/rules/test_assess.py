"""`assess` as others build on it: its JSON, its totals, its requirements, the hash of what it read."""

from __future__ import annotations

import json
from typing import Any

import objects as o
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.compute.case import Case
from collection.records.facts import facts_of, read_document
from collection.records.sheets import Claim, Object, Picture, Reserve, Scheme
from collection.rules.assess import assess
from collection.rules.findings import Assessment

SWAB = {"action": "solvent", "agent": "acetone"}
KEYS = {
    "assess": {
        "format",
        "proposal",
        "policy",
        "inputs_sha256",
        "outcome",
        "surviving_m2",
        "loss_m2",
        "loss_share",
        "intended_m2",
        "unmeasured_places",
        "losses",
        "requirements",
        "findings",
    },
    "loss": {
        "id",
        "place",
        "scheme",
        "role",
        "decoration",
        "severity",
        "steps",
        "share",
        "area_m2",
        "message",
        "would_change_it",
        "evidence",
    },
    "requirement": {"id", "rule", "when", "state", "place", "message", "reference", "remedy"},
    "finding": {
        "id",
        "rule",
        "severity",
        "step",
        "place",
        "scheme",
        "role",
        "decoration",
        "share",
        "message",
        "reference",
        "remedy",
        "evidence",
    },
}


def judged(rows: list[Any], *steps: dict[str, Any]) -> Assessment:
    return assess(Case(o.facts(rows)), o.proposal(*steps))


def test_the_json_has_every_key_that_others_build_on() -> None:
    found = judged(o.base(*o.met("T1", 3, "removed")), SWAB, {"action": "strip"}).as_json()
    assert KEYS["assess"] <= set(found)
    assert all(KEYS["loss"] <= set(loss) for loss in found["losses"])
    assert all(KEYS["requirement"] <= set(r) for r in found["requirements"])
    assert all(KEYS["finding"] <= set(f) for f in found["findings"])
    assert json.loads(json.dumps(found, allow_nan=False)) == found


def test_stripping_takes_all_that_survives() -> None:
    """The whole of what survives, in every draw."""
    found = judged(o.base(), {"action": "strip"})
    assert found.outcome == "destroys"
    assert found.loss_share == pytest.approx((1, 1, 1))
    # 512 draws stand for the distribution, so their tails are a little off its own.
    assert found.loss_m2 == pytest.approx(found.surviving_m2, rel=0.1)


def test_intended_loss_is_told_apart() -> None:
    found = judged(o.base(), {**SWAB, "removes": "1/varnish"})
    assert [loss.intended for loss in found.losses if loss.thing == "1/varnish"] == [True]
    assert [loss.intended for loss in found.losses if loss.thing == "1/body colour"] == [False]


def test_one_loss_is_one_line_however_many_steps_cause_it() -> None:
    found = judged(o.base(), {"action": "strip"}, {"action": "blast"}, SWAB)
    ids = [loss.id for loss in found.losses]
    assert len(ids) == len(set(ids))
    assert next(loss for loss in found.losses if loss.thing == "1/varnish").steps == (1, 2)


def test_work_out_of_reach_has_no_losses_no_requirements_and_warns_nobody() -> None:
    found = judged(o.base(), {"action": "dust"}, {"action": "wrap"})
    assert (found.outcome, found.losses, found.warns) == ("clear", (), False)
    assert {r.rule for r in found.requirements} == {"lead suspected"}, "dust opens no requirement but hazards"
    assert found.loss_m2 == (0, 0, 0)


def test_what_is_needed_before_approval_and_before_work() -> None:
    steps = {**SWAB, "removes": "2"}, {"action": "coat", "adds": "wax"}
    rules = {r.id: r.met for r in judged(o.base(), *steps).requirements}
    assert rules == {
        "owner's permission": False,
        "decision on a later scheme:2": False,
        "comes off again:door:2": False,
        "one reserve per part:body": False,
        "picture before work:door": False,
        "arresting liquid:door:1": False,
        "trial panel:door:1": False,
        "second test place:door:1": False,
        "lead suspected": False,
    }


def test_requirements_are_met_by_records() -> None:
    rows = [r for r in o.base() if not (isinstance(r, Scheme) and r.scheme == "2")]
    rows += [
        Scheme(
            object=o.OBJ,
            scheme="2",
            name="green repaint",
            period="later",
            rank=2,
            basis="lies on dirt",
            keep="may go",
            decided_by="N. N.",
        ),
        Reserve(object=o.OBJ, reserve="R1", place="body", kind="reserve", until="2020"),
        Picture(object=o.OBJ, picture="F1", file="f.png", place="door"),
        Claim(object=o.OBJ, claim="C1", statement="a number lies under the paint", status="untested", place="door"),
    ]
    step = {**SWAB, "removes": "2", "arrest_with": "white spirit"}
    rules = {r.id: r.met for r in judged(rows, step).requirements}
    assert rules["decision on a later scheme:2"]
    assert rules["one reserve per part:body"]
    assert rules["picture before work:door"]
    assert rules["arresting liquid:door:1"]
    assert not rules["open claim:door:C1"]


def test_the_same_records_give_the_same_hash_and_other_records_another() -> None:
    rows = o.base(*o.met("T1", 3, "none seen"))
    one, same = judged(rows, SWAB), judged(list(reversed(rows)), SWAB)
    assert one.as_json() == same.as_json()
    assert judged(o.base(), SWAB).inputs_sha256 != one.inputs_sha256
    assert judged(rows, {**SWAB, "dwell_s": 11.0}).inputs_sha256 != one.inputs_sha256


def test_a_facts_document_read_back_is_the_same_evidence() -> None:
    facts = o.facts(o.base(*o.met("T1", 3, "softened")))
    again = read_document(json.loads(facts.canonical))
    assert again.sha256 == facts.sha256
    assert assess(Case(again), o.proposal(SWAB)).as_json() == assess(Case(facts), o.proposal(SWAB)).as_json()


def test_every_agent_named_carries_the_cautions() -> None:
    assert any("safety data sheets" in text for text in judged(o.base(), SWAB).cautions)
    assert any("lead" in text for text in judged(o.base(), {"action": "scrape"}).cautions)


def test_a_coach_body_of_twelve_coats_before_colour_is_one_scheme() -> None:
    """Burgess, A Practical Treatise on Coach-Building (19th c.), pp. 54-55 of the copy seen: body panel, bottom
    up, 1 lead priming, 2 lead colour, 5 filling-up, 1 staining, 2 dark red, 1 dark lead colour = 12 coats before
    colour; then black and varnish. One campaign: stripping it is one scheme lost, not twelve."""
    build = ["primer"] + ["primer"] * 2 + ["filler"] * 5 + ["stain"] + ["body colour"] * 2 + ["primer"]
    assert len(build) == 12
    build += ["body colour"] * 2 + ["varnish"] * 2
    rows = [r for r in o.base() if r.sheet != "layers"]
    rows += [o.layer(i, role, "1", "black" if i > 12 else "red", thickness_um=20.0) for i, role in enumerate(build, 1)]
    found = judged(rows, {"action": "strip"})
    assert {loss.scheme for loss in found.losses} == {"1"}
    assert {loss.thing for loss in found.losses} == {"1/preparation", "1/stain", "1/body colour", "1/varnish"}
    assert found.loss_share == pytest.approx((1, 1, 1))


@given(
    st.sampled_from(("intact", "partial", "trace", "absent", None)),
    st.sampled_from(("removed", "softened", "none seen")),
    st.sampled_from((SWAB, {"action": "strip"}, {"action": "polish", "depth_um": 20.0, "depth_sd_um": 4.0})),
)
def test_every_interval_is_ordered(cover: str | None, response: str, step: dict[str, Any]) -> None:
    found = judged(o.base(*o.met("T1", 3, response), later_cover=cover), step)
    spans = [
        found.surviving_m2,
        found.loss_m2,
        found.loss_share,
        found.intended_m2,
        *(loss.share for loss in found.losses),
        *(loss.area_m2 for loss in found.losses),
    ]
    assert all(span is None or (0 <= span[0] <= span[1] <= span[2]) for span in spans)


def test_an_object_without_parts_is_one_place() -> None:
    rows = [r for r in o.base() if r.sheet not in ("components", "zones")]
    rows = [r.model_copy(update={"place": "all"}) if r.sheet == "samples" else r for r in rows]
    facts = facts_of(Object(object=o.OBJ, title="sign", kind="sign"), rows)
    found = assess(Case(facts), o.proposal({"action": "strip", "place": "all"}))
    assert {loss.place for loss in found.losses} == {"all"}
    assert found.outcome == "destroys"


def test_what_is_shielded_says_so_and_not_what_its_like_did() -> None:
    """The later coat stood; the varnish under it was once softened by another liquid, and is out of contact."""
    rows = o.base(*o.met("T1", 4, "none seen"), *o.met("T2", 3, "softened", "ethanol"))
    more = [
        row.model_copy(update={"sample": code})
        for row in rows
        if row.sheet in ("samples", "layers")
        for code in ("S2", "S3")
    ]
    found = judged([*rows, *more], SWAB)
    varnish = next(loss for loss in found.losses if loss.thing == "1/varnish")
    assert varnish.severity == "stood"
    assert "2/body colour above it stood the test (T1) and shields all but 2 %" in varnish.message
    assert ("tests", "T.1/T1") in varnish.evidence
    assert ("tests", "T.1/T2") not in varnish.evidence, "a clearance never names the test that harmed"
    assert "oftened" not in varnish.message
