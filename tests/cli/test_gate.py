"""What a curator reads, signs and decides, and how the work came out, on small databases and the sample."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import objects as o
import pytest
from coded_package import coded_package

from collection.cli import run
from collection.cli.text.decision_sheet import LINES, WIDTH, decision_sheet
from collection.compute.case import Case
from collection.language.errors import REFUSED, USAGE, WARNED
from collection.records.sheets import Layer, Sample, Treatment, TreatmentStep
from collection.rules.assess import assess
from collection.rules.track_record import outturn, summed
from collection.store.base import database


def told(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str]:
    code = run([str(word) for word in words])
    return code, capsys.readouterr().out


def test_the_short_of_it_stands_in_the_first_lines(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out = told(capsys, "assess", harbour, "OHM-1962-7/P1")
    assert code == WARNED
    short = out.split("\n\n")[0]
    assert len(short.splitlines()) <= 7
    assert "DESTROYS" in short
    assert "m²" in short
    assert "Instead:" in short
    assert "Open before approval:" in short


def test_all_open_proposals_stand_worst_first_in_one_entry_each(
    harbour: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out = told(capsys, "assess", harbour, "--all")
    assert code == WARNED
    entries = [line for line in out.split("\n\n")[0].splitlines() if not line.startswith("  ")]
    rank = ["DESTROYS", "ENDANGERS", "UNTESTED", "STOOD THE TEST", "OUT OF REACH"]
    order = [next(at for at, word in enumerate(rank) if entry.startswith(word)) for entry in entries]
    assert order == sorted(order)
    code, out = told(capsys, "assess", harbour, "--all", "--json")
    found = json.loads(out)
    assert len(entries) == len(found["assessments"])
    assert {each["proposal"] for each in found["assessments"]} >= {"OHM-1962-7/P1", "OHM-1989-2/P2"}
    assert {"title", "decision", "overtaken"} <= set(found["assessments"][0])


def test_words_that_do_not_go_together_are_refused(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for words in (("--all", "OHM-1962-7/P1"), ("--all", "--sheet"), (), ("OHM-1962-7/P1", "--sheet", "--json")):
        assert told(capsys, "assess", harbour, *words)[0] == USAGE


def test_a_proposal_in_a_package_is_assessed_and_not_stored(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    db = tmp_path / "c.db"
    database.create(db)
    assert run(["ingest", str(db), str(coded_package(tmp_path / "known"))]) == 0
    before = db.read_bytes()
    asked = tmp_path / "asked"
    asked.mkdir()
    (asked / "survey.toml").write_text('code = "asked"\ntitle = "asked"\nlead = "N. N."\nstarted = "2025"\n')
    (asked / "proposals.csv").write_text(
        "object,proposal,title,proposed_by,proposed_on\nT1,PX,Strip it,N. N.,2025-01\n"
    )
    (asked / "proposal_steps.csv").write_text("object,proposal,step,place,action\nT1,PX,1,all,strip\n")
    capsys.readouterr()
    code, out = told(capsys, "assess", db, "T1/PX", "--package", asked)
    assert code == WARNED
    assert out.startswith("T1/PX: DESTROYS")
    assert db.read_bytes() == before
    assert told(capsys, "assess", db, "T1/PX")[0] == REFUSED
    (asked / "proposal_steps.csv").write_text("object,proposal,step,place,action\nT1,PX,1,nowhere,strip\n")
    assert told(capsys, "assess", db, "T1/PX", "--package", asked)[0] == REFUSED


@pytest.mark.parametrize("key", ["OHM-1962-7/P3", "OHM-1974-21/P5", "OHM-1962-7/P5", "OHM-1989-2/P2", "OHM-1974-21/P6"])
def test_a_decision_sheet_is_two_pages_and_what_does_not_fit_follows(
    harbour: Path, capsys: pytest.CaptureFixture[str], key: str
) -> None:
    _, out = told(capsys, "assess", harbour, key, "--sheet")
    pages = out.rstrip("\n").split("\f")
    _, found = told(capsys, "assess", harbour, key, "--json")
    losses = [loss for loss in json.loads(found)["losses"] if loss["severity"] != "stood"]
    assert len(pages) >= 2
    for number, page in enumerate(pages, 1):
        lines = page.strip("\n").splitlines()
        assert len(lines) <= LINES
        assert max(map(len, lines)) <= WIDTH + 2
        assert lines[0].endswith(f"page {number} of {len(pages)}")
        assert lines[-1].startswith(f"inputs {json.loads(found)['inputs_sha256'][:32]}  policy ")
    flat = " ".join(out.split())
    for loss in losses:
        # Each place and thing is said, the things that are alike under one reason.
        assert re.search(rf"(?<![\w-]){re.escape(loss['place'])}(?![\w-])", flat), loss["id"]
        assert loss["id"].removeprefix(f"{loss['place']}/").removesuffix("not found so far").rstrip("/ ") in flat or (
            loss["id"].endswith(("/not examined", "/below what was seen"))
        ), loss["id"]
    for text in ("Conditions", "[ ] refused", "Approver", "Owner or owner's agent"):
        assert text in out
    if len(pages) > 2:
        assert "(continued in the annex)" in out


def test_every_loss_and_requirement_is_somewhere_on_the_sheet() -> None:
    rows = o.base()
    steps = [{"action": "strip"}, {"action": "coat", "adds": "wax"}]
    found = assess(Case(o.facts(rows)), o.proposal(*steps))
    flat = " ".join(decision_sheet(o.facts(rows), o.proposal(*steps), found).split())
    for requirement in found.requirements:
        assert " ".join(requirement.message.split()) in flat


def done(removed: str | None, *more: Layer | Sample, outcome: str = "done") -> list[Any]:
    return [
        *o.base(),
        Treatment(
            object=o.OBJ, treatment="W1", purpose="as proposed", started="2024-07", proposal="P", outcome=outcome
        ),
        TreatmentStep(object=o.OBJ, treatment="W1", step=1, place="door", action="solvent", removed=removed),
        *more,
    ]


def later(coverage: str, on: str = "2025-05", scheme: str = "1") -> list[Any]:
    return [
        Sample(object=o.OBJ, sample="S9", place="door", method="cross-section", taken_on=on),
        Layer(object=o.OBJ, sample="S9", position=1, role="varnish", scheme=scheme, coverage=coverage),
    ]


def seen(rows: Any, before: Any = None) -> Any:
    """How the losses of a solvent step came out, beside what was predicted from the records before it."""
    step = {"action": "solvent", "agent": "acetone"}
    predicted = assess(Case(o.facts(before or o.base())), o.proposal(step))
    found = outturn(Case(o.facts(rows)), "P", predicted)
    return found, {} if found is None else {each.loss: (each.predicted, each.found) for each in found.seen}


def test_what_was_not_carried_out_or_given_up_has_no_outturn() -> None:
    assert seen(o.base())[0] is None
    assert seen(done("1", outcome="tried and failed"))[0] is None


def test_what_the_work_says_it_took_is_lost() -> None:
    assert seen(done("1/varnish"))[1]["door/1/varnish"] == ("untested", "lost")
    assert seen(done("1"))[1]["door/1/body colour"] == ("untested", "lost")


def test_a_sample_after_the_work_tells_and_one_from_before_does_not() -> None:
    assert seen(done(None, *later("intact")))[1]["door/1/varnish"] == ("untested", "survives")
    assert seen(done(None, *later("absent")))[1]["door/1/varnish"] == ("untested", "lost")
    for day in ("2024", "2023-05", None):
        assert seen(done(None, *later("absent", on=day)))[1]["door/1/varnish"] == ("untested", "not looked since")


def test_a_miss_is_told_by_name_and_nothing_is_claimed_from_none() -> None:
    stood = o.base(*o.met("T1", 3, "none seen"))
    found, what = seen(done("1/varnish"), before=stood)
    assert what["door/1/varnish"] == ("stood", "lost")
    assert [line for line in found.sentences() if "door/1/varnish" in line and "W1/1" in line]
    assert "nobody knows" in summed([])[0]
    assert "nobody has looked since" in summed([seen(done(None))[0]])[0]
    assert summed([found])[0].endswith("without, 1.")


def test_a_proposal_that_was_carried_out_is_no_longer_open(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    db = tmp_path / "c.db"
    database.create(db)
    folder = tmp_path / "p"
    folder.mkdir()
    (folder / "survey.toml").write_text('code = "s"\ntitle = "t"\nlead = "N. N."\nstarted = "2025"\n')
    (folder / "objects.csv").write_text("object,title,kind\nT1,Trial,sign\n")
    (folder / "schemes.csv").write_text("object,scheme,name,period,rank\nT1,1,first,original,1\n")
    (folder / "samples.csv").write_text("object,sample,place,method\nT1,S1,all,exposure\n")
    (folder / "layers.csv").write_text("object,sample,position,role,scheme\nT1,S1,1,varnish,1\n")
    (folder / "proposals.csv").write_text(
        "object,proposal,title,proposed_by,proposed_on\nT1,P1,A,N. N.,2020\nT1,P2,B,N. N.,2020\n"
    )
    (folder / "proposal_steps.csv").write_text(
        "object,proposal,step,place,action\nT1,P1,1,all,strip\nT1,P2,1,all,strip\n"
    )
    (folder / "treatments.csv").write_text("object,treatment,purpose,started,proposal\nT1,W1,done,2021,P1\n")
    (folder / "treatment_steps.csv").write_text("object,treatment,step,place,action,removed\nT1,W1,1,all,strip,1\n")
    assert run(["ingest", str(db), str(folder)]) == 0
    capsys.readouterr()
    code, out = told(capsys, "assess", db, "--all", "--json")
    found = json.loads(out)
    assert [each["proposal"] for each in found["assessments"]] == ["T1/P2"]
    assert [each["proposal"] for each in found["track_record"]] == ["T1/P1"]
    assert "1 proposal carried out" in told(capsys, "assess", db, "--all")[1]
    assert code == WARNED
