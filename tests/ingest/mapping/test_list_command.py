"""`ingest` with a mapping on the command line, with a database and without, and the example of the manual."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from asked import ask
from mapped_lists import open_list, report_of, write

from collection.cli import run

MANUAL = (Path(__file__).resolve().parents[3] / "collection" / "manual" / "lists.md").read_text()


def test_the_command_tells_what_became_of_a_list(
    db: Path, german: tuple[Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """In sentences, and as JSON under `mapping`; of an ordinary package that is null."""
    assert run(["ingest", str(db), str(german[0]), "--map", str(german[1])]) == 0
    told = capsys.readouterr().out
    assert "The list: 7 rows read, 6 kept for 5 objects." in told
    assert "Left out by the rule 'photographs': 1 row." in told
    assert "Not translated, objects.kind: 'Modell' 1." in told
    assert "Said by the mapping, not by the list: objects.title 2." in told
    assert run(["ingest", str(db), str(german[0]), "--map", str(german[1]), "--dry-run", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["mapping"]["rows_read"] == 7
    bad = german[1].with_name("bad.toml")
    bad.write_text(german[1].read_text(encoding="utf-8").replace('"Standort"', '"Ort"'), encoding="utf-8")
    assert run(["ingest", str(db), str(german[0]), "--map", str(bad)]) == 1
    assert "The list has no such heading" in capsys.readouterr().err


def test_a_list_can_be_tried_without_a_database(german: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    """With the same account of it; of a list without titles it is said that only a database could tell."""
    assert run(["try", str(german[0]), "--map", str(german[1]), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["rows"] == {"survey": 1, "objects": 5, "components": 5}
    assert told["mapping"]["left_out"] == {"photographs": 1}
    dated = open_list("autry_dated")
    assert run(["try", str(dated[0]), "--map", str(dated[1])]) == 0
    out = capsys.readouterr().out
    assert "each of them has to be in the database already" in out
    assert "The list: 40 rows read" in out


@pytest.mark.parametrize("number", [0, 1])
def test_the_examples_of_the_manual_work(number: int, db: Path, tmp_path: Path) -> None:
    """The lists and the mappings that the manual shows are taken in, and what it says of them is so."""
    listed, mapping, told_of = (re.findall(rf"```{kind}\n(.*?)```", MANUAL, re.S) for kind in ("csv", "toml", "text"))
    assert len(listed) == len(mapping) == len(told_of) == 2
    report, told = report_of(db, write(tmp_path / "manual", listed[number], mapping[number]))
    sentences = report.mapping.sentences() if report.mapping else []
    assert told_of[number].splitlines() == sentences
    assert told["objects"] == len(ask(db, "SELECT object FROM objects"))
