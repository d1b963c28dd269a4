"""How the companion beside the swab says what it proposes, on the screen and in JSON.

How a conservator tests (mildest first, inconspicuous places, never again what harmed) is common practice, no published
source.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import IO

import pytest
from open_surveys import DAY, HAVE, PANEL, SAMPLE, TESTED, ask, folder, spoiled, with_tests

from collection.cli import run
from collection.cli.bench import document
from collection.cli.text.companion import LINES, WIDTH, screen
from collection.compute.build_up.places import places_of
from collection.compute.case import Case
from collection.ingest.companion.answer import Answer
from collection.ingest.companion.open_facts import open_facts
from collection.ingest.companion.open_survey import read_open
from collection.language.cautions import SOLVENT


def crowded(tmp_path: Path, have: Path, name: str, *harmed: str, unread: int) -> Answer:
    """As much as can come together: harm, decorations, reserves, hazards, rows that cannot be read, odd bottles."""
    rows = with_tests(*((agent, "none seen", "softened") for agent in harmed))
    rows["decorations"] = [{"decoration": f"D{n}", "place": "LEFT", "kind": "lettering"} for n in range(9)]
    rows["reserves"] = [{"reserve": f"R{n}", "place": "LEFT", "kind": "window"} for n in range(9)]
    rows["hazards"] = [
        {"hazard": f"H{n}", "kind": f"white lead in coat number {n}", "status": "confirmed"} for n in range(9)
    ]
    rows["tests"] += [{"test": f"E{n}", "agent": "3", **TESTED} for n in range(20)]
    rows["responses"] += [{"test": f"E{n}", "response": "bad", "scheme": "1"} for n in range(unread)]
    have.write_text('bottles = ["isooctane", "n-heptane", "xylene", "Wundermittel", "white spirit", "kerosene"]')
    return ask(folder(tmp_path / name, rows), have)


def test_one_screen_at_arms_length_and_no_agent_without_its_caution(tmp_path: Path, have: Path) -> None:
    """Every place of six objects of the sample, and the fullest case: 24 lines of 80 signs, in all of them."""
    found = [
        crowded(tmp_path, have, "a", "ethanol", "acetone", "1 butanone + 9 acetone", "toluene", unread=20),
        crowded(tmp_path, have, "b", "ethanol", "acetone", "1 butanone + 9 acetone", unread=0),
    ]
    assert found[1].step.agent is not None
    have.write_text(HAVE)
    seen = set()
    for code in ("OHM-1962-7", "OHM-1980-2", "OHM-1974-21", "OHM-1958-12"):
        facts = open_facts(code, [read_open(SAMPLE / year, code) for year in ("2014", "2024")])
        assert facts is not None
        places = [*places_of(Case(facts.facts)).components, *places_of(Case(facts.facts)).zones]
        found += [ask(SAMPLE / "2024", have, place, (SAMPLE / "2014",), code) for place in places[::5]]
    found.append(ask(SAMPLE / "2024", have, "M-RIM", (SAMPLE / "2014",), "OHM-1958-12"))
    for each in found:
        lines = screen(each)
        text = " ".join("\n".join(lines).split())
        seen.add(each.step.kind)
        assert len(lines) <= LINES, text
        assert max(map(len, lines)) <= WIDTH
        assert SOLVENT in text
        if each.step.agent is not None:
            for label in ("NEXT ", "WHY ", "ARREST ", "STOP IF ", "GLOVES ", "VAPOUR "):
                assert any(line.startswith(label) for line in lines), (label, text)
            assert all(name.upper() in text.upper() for name, _ in each.step.agent.liquids)
        assert not re.search(r"\bsafe\b|harmless|permitted", text.replace("safety data sheet", ""))
    assert "Harm may stand in responses row 10" in " ".join("\n".join(screen(found[0])).split())
    assert {"mend", "test", "kept", "no coats"} <= seen


def test_the_signs_that_mean_stop_name_the_kept_coat_and_what_lies_near(tmp_path: Path, have: Path) -> None:
    rows = {**PANEL, "decorations": [{"decoration": "D1", "place": "BODY", "kind": "gold leaf", "state": "exposed"}]}
    told_now = document(ask(folder(tmp_path / "a", rows), have))["stop_if"]
    assert told_now[0] == "dark red on the swab"
    assert "swells" in told_now[1]
    assert told_now[2] == "anything of metal leaf D1 is in reach of the wet edge"
    alike = spoiled(PANEL, "layers", 1, colour="signal red")
    assert "look with a loupe" in document(ask(folder(tmp_path / "b", alike), have))["stop_if"][0]
    blank = spoiled(PANEL, "layers", 0, colour="")
    assert "has no colour on record" in document(ask(folder(tmp_path / "c", blank), have))["stop_if"][0]


@pytest.mark.parametrize(
    ("go", "stay", "more", "kind", "words"),
    [
        (
            "none seen",
            "none seen",
            {},
            "rung",
            (
                "pH 8.5, A LITTLE HIGHER pH: rolled swab, up to 30 s",
                "C1 (pH 8, 30 s, rolled swab) did too little to 2/body colour",
            ),
        ),
        (
            "removed",
            "none seen",
            {},
            "found",
            ("THE WINDOW IS PROVEN", "C1 (pH 8, 30 s, rolled swab) took 2/body colour off"),
        ),
        ("removed", "none seen", {"after_drying": "no"}, "settle", ("look at the spot of C1 again dry",)),
        (
            "removed",
            "swelled",
            {},
            "rung",
            (
                "pH 7, A LITTLE LOWER pH",
                "C1 (pH 8, 30 s, rolled swab) only began to harm",
                "as in C1 (pH 8, 30 s, rolled swab), or more: harmed 1/body colour",
            ),
        ),
    ],
)
def test_the_screen_tells_how_a_ladder_goes_on(
    tmp_path: Path, have: Path, go: str, stay: str, more: dict[str, str], kind: str, words: tuple[str, ...]
) -> None:
    """Water by its pH, with pH and seconds beside each test."""
    other = "" if stay == "swelled" else ', "isooctane"'
    have.write_text(f'bottles = ["water pH 7", "water pH 8", "water pH 8.5"{other}]')
    rows = with_tests(("water", go, stay))
    rows["tests"][0] |= {"ph": 8, "after_drying": "yes", **more}
    found = ask(folder(tmp_path / "x", rows), have)
    lines = screen(found)
    text = " ".join(" ".join(lines).split())
    assert found.step.kind == kind
    for each in words:
        assert each in text
    assert len(lines) <= LINES
    assert "ARREST lift it with a dry swab at once" in text or kind == "settle"
    said = document(found)
    assert (said["next"] is None) == (kind == "settle")
    assert said["least_active"] is None, "no solvent of the table stops water"
    if kind == "rung":
        assert (said["next"]["ph"], said["changes"]) == (8.5 if stay == "none seen" else 7.0, "ph")
    if kind == "found":
        assert said["window"]["stood_by"] == ["C1"]


@pytest.mark.parametrize(
    ("day", "same", "said"),
    [
        (DAY, True, "may still be swollen from C1"),
        ("2024-05", True, "may still be swollen from C1"),
        ("", True, "may still be swollen from C1"),
        ("2023-05-02", False, "last test here: C1, 2023-05-02"),
    ],
)
def test_a_spot_that_may_still_be_swollen_is_told(tmp_path: Path, have: Path, day: str, same: bool, said: str) -> None:
    """Tests have a day and no hour; an undated one may have been just now."""
    rows = with_tests(("xylene", "softened", "none seen"))
    found = ask(folder(tmp_path / "x", spoiled(rows, "tests", 0, tested_on=day)), have)
    assert found.wait is not None
    assert found.wait.same_day is same
    assert said in " ".join("\n".join(screen(found)).split())


def test_a_film_that_was_only_wetted_is_told_as_that(tmp_path: Path, have: Path) -> None:
    found = ask(folder(tmp_path / "x", with_tests(("isooctane", "none seen", "none seen"))), have)
    text = " ".join("\n".join(screen(found)).split())
    assert "C1 wetted this place" in text
    assert "judgement, no published source" in text


def test_the_command_answers_in_words_and_in_json(
    tmp_path: Path, have: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = folder(tmp_path / "x", with_tests(("acetone", "removed", "softened")))
    asked = ["bench", str(path), "EX-1", "LEFT", "--have", str(have), "--on", DAY]
    assert run(asked) == 0
    text = capsys.readouterr().out
    assert run([*asked, "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["format"] == 1
    assert said["next"]["application"] == "rolled swab"
    assert said["stopped"] == [{"liquids": "acetone", "tests": ["C1"]}]
    assert said["cautions"]
    assert [each["liquid"] for each in said["safety"]["liquids"]]
    assert said["next"]["agent"].split()[-1].upper() in text
    assert run([*asked[:2], "EX-9", *asked[3:]]) == 2
    assert run([*asked, "--on", "soon"]) == 2
    assert run(["bench", str(tmp_path / "none.xlsx"), *asked[2:]]) == 2


def test_it_tells_again_when_the_survey_is_saved(tmp_path: Path, have: Path) -> None:
    path = folder(tmp_path / "x", PANEL)
    command = [
        sys.executable,
        "-m",
        "collection",
        "bench",
        str(path),
        "EX-1",
        "LEFT",
        "--have",
        str(have),
        "--watch",
        "--on",
        DAY,
    ]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as running:
        assert running.stdout is not None
        try:
            assert "NEXT" in _until(running.stdout, "CAUTION")
            shutil.copy(folder(tmp_path / "y", with_tests(("acetone", None, None))) / "tests.csv", path / "tests.csv")
            assert "WRITE DOWN FIRST what C1 did" in _until(running.stdout, "CAUTION")
        finally:
            running.kill()


def _until(lines: IO[str], word: str) -> str:
    """What is printed up to a line with this word; less where the command ended before."""
    found = []
    for line in iter(lines.readline, ""):
        found.append(line)
        if word in line:
            break
    return " ".join("".join(found).split())
