"""Withdrawing a survey: what leaves the account is counted before and after, and has to be confirmed."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest
from asked import ask
from small_package import LAYERS, only, package

from collection.cli import run
from collection.ingest import load
from collection.store.changes import corrections

SIGNED = ("--by", "R. Registrar", "--reason", "another tram")
SENTENCES = [
    "It {} 12 records of 7 sheets out of account: objects 1, components 3, zones 2, schemes 1, samples 1, layers 3, "
    "hazards 1.",
    "Brought by Ada Penrose, survey harbour-1 (10), Ada Penrose, survey harbour-2 (2).",
    "Corrected by J. Pike (2), R. Registrar (1).",
]
COUNTS = {
    "records": {"objects": 1, "components": 3, "zones": 2, "schemes": 1, "samples": 1, "layers": 3, "hazards": 1},
    "brought": [
        {"survey": "harbour-1", "lead": "Ada Penrose", "records": 10},
        {"survey": "harbour-2", "lead": "Ada Penrose", "records": 2},
    ],
    "corrected": [{"by": "J. Pike", "records": 2}, {"by": "R. Registrar", "records": 1}],
}


@pytest.fixture
def surveyed(db: Path, tmp_path: Path) -> Path:
    """Ten records of one survey, of which one was withdrawn by itself; three of another, of which two hang on the first
    one's object and sample, and one is an object of its own; corrections by two people."""
    load.ingest(db, package(tmp_path / "one", layers=LAYERS + "T1,S01,5,varnish,,,\n"))
    hazards = "object,hazard,kind,status\nT1,H1,lead paint,confirmed\n"
    objects = "object,title,kind\nT2,Tram 2,tram\n"
    more = LAYERS.splitlines()[0] + "\nT1,S01,3,varnish,,,\n"
    load.ingest(
        db, only(tmp_path / "two", "harbour-2", objects=objects, hazards=hazards, layers=more), amend="seen", by="A. P."
    )
    for by, column, value in (("R. Registrar", "colour", "white"), ("J. Pike", "thickness_um", "22")):
        corrections.correct(db, "layers", "T1/S01/1", {column: value}, by, "read again")
    corrections.correct(db, "schemes", "T1/1", {"name": "maker's"}, "J. Pike", "read again")
    corrections.withdraw(db, "layers", "T1/S01/5", "J. Pike", "a reflection")
    return db


def test_it_is_refused_with_its_counts_where_nobody_can_be_asked(
    surveyed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = ask(surveyed, "SELECT count(*) FROM changes")
    assert run(["withdraw", str(surveyed), "survey", "harbour-1", *SIGNED]) == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.strip() == " ".join(
        ["Error: Nothing was changed. To withdraw survey harbour-1 add --yes.", *SENTENCES]
    ).format("takes")
    assert run(["withdraw", str(surveyed), "survey", "harbour-1", *SIGNED, "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["out_of_account"] == COUNTS
    assert ask(surveyed, "SELECT count(*) FROM changes") == before


def test_it_reports_what_it_took_along(surveyed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["withdraw", str(surveyed), "survey", "harbour-1", *SIGNED, "--yes"]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "survey harbour-1 was withdrawn; `firstcoat reinstate` brings it back.",
        *(f"  {sentence}" for sentence in [SENTENCES[0].format("took"), *SENTENCES[1:]]),
    ]
    assert run(["reinstate", str(surveyed), "survey", "harbour-1", *SIGNED]) == 0
    capsys.readouterr()
    assert run(["withdraw", str(surveyed), "survey", "harbour-1", *SIGNED, "--yes", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["out_of_account"] == COUNTS


def test_a_record_that_takes_others_along_says_so(surveyed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A sample with its three coats; a coat alone needs no count."""
    assert run(["withdraw", str(surveyed), "layers", "T1/S01/3", *SIGNED]) == 0
    assert len(capsys.readouterr().out.splitlines()) == 1
    assert run(["withdraw", str(surveyed), "samples", "T1/S01", *SIGNED]) == 0
    assert "It took 3 records of 2 sheets out of account: samples 1, layers 2." in capsys.readouterr().out


@pytest.mark.parametrize(("answer", "code", "last"), [("y", 0, "another tram"), ("n", 1, "a reflection")])
def test_on_a_terminal_it_asks(surveyed: Path, answer: str, code: int, last: str) -> None:
    terminal, theirs = pty.openpty()
    os.write(terminal, f"{answer}\n".encode())
    done = subprocess.run(
        [sys.executable, "-m", "collection", "withdraw", str(surveyed), "survey", "harbour-1", *SIGNED],
        stdin=theirs,
        capture_output=True,
        text=True,
        check=False,
    )
    os.close(terminal)
    os.close(theirs)
    assert (done.returncode, done.stderr) == (code, "")
    assert done.stdout.splitlines()[:3] == [SENTENCES[0].format("takes"), *SENTENCES[1:]]
    assert "Withdraw the survey harbour-1? [y/N]:" in done.stdout
    assert ask(surveyed, "SELECT why FROM changes ORDER BY number DESC LIMIT 1") == [(last,)]
