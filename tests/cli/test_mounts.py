"""`mounts`: a registrar walks from drawer to drawer and finds every mounted sample, and which are written down nowhere."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from packaged_rows import LEAD, hand_in

from collection.cli import run
from collection.store.base import database
from collection.store.changes import corrections, statements

WHY = "a trial"


def sample(obj: str, code: str, method: str = "cross-section", **cells: Any) -> tuple[str, dict[str, Any]]:
    return "samples", {"object": obj, "sample": code, "place": "all", "method": method, **cells}


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    """Two objects; drawers 2 and 10, a box, one sample without a place, one without a mount, one withdrawn."""
    db = tmp_path / "c.db"
    database.create(db)
    things = [("objects", {"object": code, "title": f"Thing {code}", "kind": "sign"}) for code in ("T1", "T10", "T2")]
    hand_in(
        db,
        "A",
        [
            *things,
            sample("T1", "S1", mount="polyester", kept_at="drawer 10"),
            sample("T1", "S2", mount="polyester", kept_at="drawer 2", taken_on="2019-05"),
            sample("T10", "S1", mount="polyester", kept_at="drawer 2"),
            sample("T2", "S1", kept_at="drawer 2"),
            sample("T2", "S2", mount="acrylic"),
            sample("T2", "S3", mount="acrylic", kept_at="Box A"),
            sample("T2", "S4", "scraping", kept_at="Box A"),
            sample("T2", "S5", "scraping"),
            sample("T2", "S6", "exposure", kept_at="in place"),
            sample("T2", "S7", "surface"),
        ],
    )
    corrections.withdraw(db, "samples", "T2/S3", LEAD, WHY)
    return db


def test_the_samples_stand_in_the_order_of_the_walk(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Places by their numbers, 2 before 10; in a drawer by object and code; what has no place comes last. A scraping
    that nobody kept, an exposure and a surface are nothing to walk to; a withdrawn sample still lies in its box."""
    assert run(["mounts", str(kept)]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "7 mounted samples; 1 with no place recorded; 1 with no mount recorded; 1 withdrawn.",
        "",
        "Box A (2)",
        "  T2  S3  cross-section at all, acrylic  [withdrawn]",
        "  T2  S4  scraping at all",
        "",
        "drawer 2 (3)",
        "  T1  S2  cross-section at all, polyester, 2019-05",
        "  T2  S1  cross-section at all, mount not recorded",
        "  T10  S1  cross-section at all, polyester",
        "",
        "drawer 10 (1)",
        "  T1  S1  cross-section at all, polyester",
        "",
        "NO PLACE RECORDED (1)",
        "  T2  S2  cross-section at all, acrylic",
    ]


def test_of_one_object_in_json(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["mounts", str(kept), "T1", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [told[name] for name in ("count", "place_not_recorded", "mount_not_recorded", "out_of_account")] == [
        2,
        0,
        0,
        0,
    ]
    assert told["samples"][0] == {
        "object": "T1",
        "sample": "S2",
        "place": "all",
        "method": "cross-section",
        "mount": "polyester",
        "kept_at": "drawer 2",
        "taken_on": "2019-05",
        "survey": "A",
        "in_account": True,
    }
    assert run(["mounts", str(kept), "T3"]) == 1
    assert "T3" in capsys.readouterr().err


def test_samples_that_are_one_thing_or_renamed_are_listed_once(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Under the code they have now; where the one says nothing of its place, the other does."""
    statements.same(kept, "samples", "T2/S2", "T2/S1", LEAD, WHY)
    statements.rename(kept, "samples", "T1/S2", "B7", LEAD, WHY)
    assert run(["mounts", str(kept), "--json"]) == 0
    rows = {(row["object"], row["sample"]): row for row in json.loads(capsys.readouterr().out)["samples"]}
    assert len(rows) == 6
    assert (rows["T2", "S2"]["mount"], rows["T2", "S2"]["kept_at"]) == ("acrylic", "drawer 2")
    assert ("T1", "B7") in rows


def test_a_collection_without_samples_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    database.create(tmp_path / "c.db")
    assert run(["mounts", str(tmp_path / "c.db")]) == 0
    assert capsys.readouterr().out == "No mounted sample is recorded.\n"
