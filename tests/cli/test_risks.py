"""The command `risks` on the invented sample: its list, its plan, one object, its JSON, and what it refuses."""

from __future__ import annotations

import json
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from collection.cli import run
from collection.language.errors import DONE, REFUSED, USAGE
from collection.records.policy import default_policy
from collection.store.base import database
from collection.store.changes.corrections import correct
from collection.store.decide.decisions import decide
from collection.store.risks import at_risk

DAY = ("--on", "2025-01-01")


def told(capsys: pytest.CaptureFixture[str], *words: object) -> str:
    assert run(["risks", *map(str, words), *DAY]) == DONE
    return " ".join(capsys.readouterr().out.split())


def answer(capsys: pytest.CaptureFixture[str], *words: object) -> dict[str, Any]:
    assert run(["risks", *map(str, words), *DAY, "--json"]) == DONE
    found = json.loads(capsys.readouterr().out)
    assert isinstance(found, dict)
    return found


def test_the_list_and_the_plan_are_told(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = told(capsys, harbour, "--most", 3, "--hours-per-week", 6, "--weeks", 1)
    assert "to 14 objects on 2025-01-01, ranked by the middle of the magnitude" in text
    assert "“Dip and start again” is open and would destroy" in text
    assert "→ Refuse OHM-1974-21/P5, or ask for another way of doing it. 0.5 h (0.3–1), by judgement" in text
    assert "--most" in text
    assert "Plan of work at 6 h a week: what saves most by the hour first" in text
    assert "Week 1" in text
    assert "Week 2" not in text
    assert "bands are from memory" in text, "they are printed, so that has to be said"


def test_the_json_has_what_others_build_on(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, harbour, "--most", 500)
    assert found["threats"] == len(found["risks"])
    assert [each["rank"] for each in found["risks"]] == list(range(1, len(found["risks"]) + 1))
    assert all(each["evidence"] or each["kind"] in ("not examined", "covered original") for each in found["risks"])
    middles = [each["magnitude"][1] for each in found["risks"]]
    assert middles == sorted(middles, reverse=True)
    for each in found["risks"]:
        assert set(each) == {
            *("rank", "object", "title", "kind", "place", "message", "remedy", "evidence", "event", "soon"),
            *("a", "b", "c", "magnitude", "half_step", "band", "loss_per_year", "loss_per_century", "advice"),
            "cheapest_act",
        }
        summed = sum(each[letter]["score"][1] for letter in "abc")
        nothing = each["b"]["share"][1] == 0
        assert each["magnitude"][1] == (0 if nothing else pytest.approx(summed, abs=1e-4))
    assert (found["hours_per_week"], found["hours_per_week_is"]) == (10.0, "judgement of the policy")
    saved = sum(step["drop_per_year"] for step in found["plan"])
    assert 0 < saved < found["loss_per_year"][1]
    assert all(last <= 5 for step in found["plan"] for last in step["weeks"]), "four weeks, and what was begun in them"


def test_every_threat_lies_on_the_sample_and_every_object_has_one(
    harbour: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """That nobody has examined the name board is on the list, with all of it at stake."""
    found = answer(capsys, harbour, "--most", 500)["risks"]
    assert len({each["object"] for each in found}) == 14
    (board,) = [each for each in found if (each["object"], each["kind"]) == ("OHM-1952-11", "not examined")]
    assert board["b"]["share"] == [0.0, 0.5, 1.0]
    assert board["rank"] < len(found) / 2


def test_one_object_keeps_its_magnitudes_and_has_a_plan_of_its_own(
    harbour: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    whole = answer(capsys, harbour, "--most", 500)
    own = answer(capsys, harbour, "OHM-1974-21", "--most", 500)
    assert {each["object"] for each in own["risks"]} == {step["object"] for step in own["plan"]} == {"OHM-1974-21"}
    same = [each for each in whole["risks"] if each["object"] == "OHM-1974-21"]
    assert [each["magnitude"] for each in own["risks"]] == [each["magnitude"] for each in same]


def test_a_refused_proposal_is_off_the_list_and_the_loss_drops_as_was_told(
    harbour: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    db = tmp_path / "c.db"
    shutil.copy(harbour, db)
    before = answer(capsys, db)
    (step,) = [each for each in before["plan"] if each["what"].startswith("Refuse OHM-1974-21/P5")]
    decide(db, "OHM-1974-21", "P5", "refuse", by="N. N.", reason="caustic")
    now = answer(capsys, db)
    assert now["loss_per_year"][1] == pytest.approx(before["loss_per_year"][1] - step["drop_per_year"], rel=1e-3)
    assert not any(each["event"] == "OHM-1974-21/P5" for each in now["risks"])


def test_what_is_not_up_to_date_is_read_from_the_records(harbour: Path, tmp_path: Path) -> None:
    """Equal threats whether they are stored, marked as behind, or computed again."""
    db = tmp_path / "c.db"
    shutil.copy(harbour, db)
    with database.opened(db, write=False) as connection:
        stored = at_risk(connection, default_policy(), "2025-01-01")
    raw = sqlite3.connect(db)
    raw.execute("UPDATE facts SET stale = 1")
    raw.execute("DELETE FROM risks")
    raw.commit()
    raw.close()
    with database.opened(db, write=False) as connection:
        behind = at_risk(connection, default_policy(), "2025-01-01")
    for one, other in zip(stored, behind, strict=True):
        assert [(a.kind, a.message, a.evidence) for a in one.threats] == [
            (b.kind, b.message, b.evidence) for b in other.threats
        ]
        for a, b in zip(one.threats, other.threats, strict=True):
            assert a.share == pytest.approx(b.share, rel=1e-5)


def test_what_has_left_and_what_is_no_object_or_day(
    harbour: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    db = tmp_path / "c.db"
    shutil.copy(harbour, db)
    shutil.copytree(f"{harbour}.files", f"{db}.files", symlinks=True)
    correct(db, "objects", "OHM-1952-11", {"status": "left"}, "N. N.", "sold")
    assert answer(capsys, db)["objects"] == 13
    assert run(["risks", str(db), "OHM-1952-11"]) == USAGE
    assert "OHM-1952-11 has left the collection" in capsys.readouterr().err
    assert run(["risks", str(db), "OHM-9"]) == REFUSED
    assert run(["risks", str(db), "--on", "yesterday"]) == USAGE
    assert "'yesterday' is no day" in capsys.readouterr().err
