"""The command `effort` on the invented sample: three answers worked by hand, its words, its JSON, its picture."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from math import log10
from pathlib import Path
from typing import Any

import pytest

from collection.cli import run
from collection.language.errors import DONE, REFUSED, USAGE

SVG = "{http://www.w3.org/2000/svg}"


def told(capsys: pytest.CaptureFixture[str], *words: object) -> str:
    assert run(["effort", *map(str, words)]) == DONE
    return " ".join(capsys.readouterr().out.split())


def answer(capsys: pytest.CaptureFixture[str], *words: object) -> dict[str, Any]:
    assert run(["effort", *map(str, words), "--json"]) == DONE
    found = json.loads(capsys.readouterr().out)
    assert isinstance(found, dict)
    return found


def test_by_hand_the_rosette_and_the_rest_of_the_saddle(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """T18 uncovered the rosette in three steps: 14 + 9 + 21 = 44 h for 0.0072 m². The saddle is 0.55 m²; no other work
    took anything off it, so 0.55 - 0.0072 = 0.5428 m² are left. Each step's hours are its hours per m² times that, and
    weeks are hours / 38. The logs themselves make 44 / 0.0072 x 0.5428 = 3,317 h, which the interval has to hold; its
    middle is less, as work elsewhere went faster."""
    (rest,) = answer(capsys, harbour, "OHM-1974-21")["windows"]
    assert (rest["place"], rest["within"], rest["hours"], rest["area_m2"]) == ("G-ROSE", "SADDLE", 44.0, 0.0072)
    assert rest["rest_m2"] == pytest.approx([0.5428] * 3)
    planned = rest["rest"]
    for step in planned["steps"]:
        assert step["hours"] == pytest.approx([0.5428 * rate for rate in step["hours_per_m2"]], rel=1e-5)
    low, middle, high = planned["hours"]
    assert low < middle < 44 / 0.0072 * 0.5428 < high
    assert planned["weeks"] == pytest.approx([end / 38 for end in planned["hours"]], rel=1e-5)
    text = told(capsys, harbour, "OHM-1974-21")
    assert "G-ROSE in SADDLE: 44 h for 0.0072 m²; the other 0.54 m² would take" in text
    assert "weeks at 38 h." in text


def test_by_hand_what_was_left_of_the_head_itself_is_part_of_the_rest(
    harbour: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """T05 partly took the bronze off 0.02 of the head's 0.0382 m² in 19 h: 0.0182 to 0.0382 m² are left of it. The dolphin
    is 0.2 m² with the head, so 0.2 - 0.0382 = 0.1618 beside it, and 0.18 to 0.2 in all. An eye was not measured."""
    (rest,) = answer(capsys, harbour, "OHM-1976-4")["windows"]
    assert (rest["hours"], rest["area_m2"]) == (19.0, 0.02)
    assert rest["rest_m2"] == pytest.approx([0.1618 + 0.0182, 0.1618 + 0.0282, 0.1618 + 0.0382])
    assert rest["unmeasured_places"] == 1


def test_by_hand_a_proposal_counts_what_was_logged(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """P3 of the fire engine: nobody logged a draining or a dry sponge; a mechanism was oiled once, 1 h, which has no surface;
    four wrappings were logged, none with hours. So no step has hours, and there is no sum."""
    found = answer(capsys, harbour, "OHM-1937/3/P3")["proposal"]
    assert found["hours"] is found["weeks"] is None
    assert found["without_hours"] == ["1", "2", "3", "4", "5"]
    assert [step["why_no_hours"].partition(":")[0] for step in found["steps"]] == [
        "not work by the square metre, and none logged.",
        "not work by the square metre; logged so far",
        "no log of this kind of work",
        "no log of this kind of work (4 logged, none counts",
        "no log of this kind of work (4 logged, none counts",
    ]
    assert "Together: no figure." in told(capsys, harbour, "OHM-1937/3/P3")


def test_of_all_steps_it_says_which_count(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Counted in the sample's sheets: of 119 steps 43 have hours; of these 9 failed, one is `other` work, two a move and an
    oiling, and three name no surface, so 28 are left."""
    found = answer(capsys, harbour)
    assert (found["steps_logged"], found["steps_counted"]) == (119, 28)
    assert found["not_counted"] == {
        "says no hours": 119 - 43,
        "says hours but no area": 3,
        "was tried and failed": 9,
        "is work of no named kind": 1,
        "is not work by the square metre": 2,
    }
    rows = {row["action"]: row for row in found["actions"]}
    assert rows["scrape"]["logs"] == 4
    assert [(each["binder"], each["logs"]) for each in rows["scrape"]["binders"]] == [("alkyd", 3), ("oil", 1)]
    assert (rows["gild"]["logs"], rows["gild"]["hours_per_m2"]) == (0, None)
    assert rows["polish"]["hours_alone"] == [3.0]
    for row in rows.values():
        if row["hours_per_m2"]:
            low, middle, high = row["hours_per_m2"]
            assert 0 < low < middle < high
    text = told(capsys, harbour)
    assert "28 of 119 logged steps count" in text
    assert "gild: 3 logged, none counts: 3 say no hours." in text
    assert "6 of those that count came out partly" in text


def test_hours_a_week_are_the_policys_unless_said(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shipped = answer(capsys, harbour, "OHM-1962-7/P3")
    asked = answer(capsys, harbour, "OHM-1962-7/P3", "--hours-per-week", 19)
    assert (shipped["hours_per_week"], shipped["hours_per_week_is"]) == (38.0, "judgement of the policy")
    assert (asked["hours_per_week"], asked["hours_per_week_is"]) == (19.0, "as asked")
    assert asked["proposal"]["weeks"] == pytest.approx([2 * end for end in shipped["proposal"]["weeks"]], rel=1e-5)
    assert "which is judgement" in told(capsys, harbour, "OHM-1962-7/P3")
    assert "which is judgement" not in told(capsys, harbour, "OHM-1962-7/P3", "--hours-per-week", 19)


def test_an_object_with_a_slash_and_its_proposal_are_told_apart(
    harbour: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "OHM-1988/5: no opened window is on record" in told(capsys, harbour, "OHM-1988/5")
    assert told(capsys, harbour, "OHM-1988/5/P1").startswith("OHM-1988/5/P1: hours by logged work.")
    for wrong, said in (("OHM-9", "No such object"), ("OHM-9/P1", "No such object"), ("OHM-1962-7/P99", "has P1, P2")):
        assert run(["effort", str(harbour), wrong]) == REFUSED
        assert said in capsys.readouterr().err
    assert run(["effort", str(harbour), "OHM-1962-7", "--hours-per-week", "0"]) == USAGE


def test_a_database_without_treatments_has_no_figure_and_says_what_would_give_one(
    db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = told(capsys, db, "--svg", tmp_path / "hours.svg")
    assert "No step is logged." in text
    assert "What gives a figure" in text
    assert "No work is logged." in (tmp_path / "hours.svg").read_text()
    assert answer(capsys, db)["actions"] == []


def test_the_picture_shows_each_kind_with_its_interval_and_every_log(
    harbour: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "hours.svg"
    found = answer(capsys, harbour, "--svg", path)
    root = ET.fromstring(path.read_text())
    labelled = root.attrib["aria-labelledby"].split()
    assert [root.find(f"{SVG}{tag}").attrib["id"] for tag in ("title", "desc")] == labelled
    assert not {"style", "class"} & {name for each in root.iter() for name in each.attrib}
    shown = [row for row in found["actions"] if row["logs"]]
    bars = list(root.iter(f"{SVG}rect"))[1:]
    kinds = sum(len(row["binders"]) for row in shown if len(row["binders"]) > 1)
    assert len(bars) == len(shown) + kinds
    several = sum(row["logs"] for row in shown if len(row["binders"]) > 1)
    assert len(list(root.iter(f"{SVG}circle"))) == 28 + several
    # Ten times the hours are one step further to the right, so equal factors are equal lengths.
    low, _, high = shown[0]["hours_per_m2"]
    strokes = [float(each.attrib["d"][1:].split()[0]) for each in root.iter(f"{SVG}path") if "V" in each.attrib["d"]]
    assert float(bars[0].attrib["width"]) == pytest.approx(log10(high / low) * (strokes[1] - strokes[0]), abs=0.2)
    said = root.find(f"{SVG}desc").text or ""
    assert "scrape, alkyd: " in said
    texts = " ".join("".join(each.itertext()) for each in root.iter(f"{SVG}text"))
    assert "No figure, as no log of them counts: gild," in texts
    assert run(["effort", str(harbour), "OHM-1962-7", "--svg", str(tmp_path / "other.svg")]) == USAGE
