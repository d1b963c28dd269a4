"""The command that writes blank surveys: what it says, refuses and goes on with."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from blank_forms import PUMP, prepared, write_form
from click.testing import CliRunner

from collection.cli import root, run
from collection.ingest.blank import blank_survey
from collection.ingest.blank.contents import Blank
from collection.ingest.load import ingest
from collection.language.errors import CouldNot, WrongCommand
from collection.store.changes import corrections


def test_the_command_says_what_it_made_and_what_comes_next(
    db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It names the files, counts what is known and open, and warns."""
    out = tmp_path / "next.xlsx"
    assert run(["blank", str(out), "--survey", "H34", "--from", str(db), "--object", PUMP, "--by", "A. Lead"]) == 0
    said = capsys.readouterr().out
    assert "open questions" in said
    assert "pump-left.svg" in said
    assert "safety data sheets" in said
    assert (tmp_path / "drawings" / "pump-left.svg").is_file()
    assert openpyxl.load_workbook(out)["survey"]["B4"].value == "A. Lead"
    assert run(["blank", str(out), "--survey", "H34"]) == 6
    assert "nothing is overwritten" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["--object", PUMP], 2),
        (["--object", PUMP, "--survey", "H34"], 2),
        (["--from", "DB"], 2),
        (["--from", "DB", "--survey", "H34", "--object", "OHM-1937/4"], 1),
        (["--from", "DB", "--survey", "h24"], 2),
        (["--survey", "H/34"], 2),
        (["--survey", "x" * 79], 2),
        (["--survey", " "], 2),
        (["--from", "no.db", "--survey", "H34"], 6),
    ],
)
def test_wrong_words_are_answered_with_a_sentence(
    words: list[str], code: int, known_db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is written, and what is missing or near is said."""
    paths = {"DB": str(known_db), "no.db": str(tmp_path / "no.db")}
    given_words = [paths.get(word, word) for word in words]
    for name in ("out.xlsx", "out", "out.html"):
        assert run(["blank", str(tmp_path / name), *given_words]) == code
        said = capsys.readouterr().err
        assert "Traceback" not in said
        assert said.startswith("Error: ")
    assert list(tmp_path.iterdir()) == []


def test_a_survey_that_is_stored_goes_on_where_it_stopped(db: Path, tmp_path: Path) -> None:
    """Its own row is filled in as stored, and its next codes follow those in use."""
    blank = prepared(db, PUMP, survey="H24")
    assert blank.survey["lead"] == "Idwal Marrable"
    report = ingest(db, write_form(blank, tmp_path, "folder"))
    assert (report.added, report.changed) == ({}, {})
    corrections.withdraw(db, "survey", "H24", by="T. Ester", why="mistaken")
    with pytest.raises(WrongCommand, match="withdrawn"):
        prepared(db, PUMP, survey="H24")


def test_a_form_is_written_whole_or_not_at_all(full: Blank, tmp_path: Path) -> None:
    """A file in the way, also one beside the workbook, leaves everything as it was."""
    (tmp_path / "drawings").mkdir()
    (tmp_path / "drawings" / "pump-left.svg").write_text("another drawing")
    with pytest.raises(CouldNot, match=r"pump-left\.svg is there already"):
        blank_survey.write(full, tmp_path / "blank.xlsx")
    (tmp_path / "blank").mkdir()
    with pytest.raises(CouldNot, match="nothing is overwritten"):
        blank_survey.write(full, tmp_path / "blank")
    with pytest.raises(CouldNot, match="no folder"):
        blank_survey.write(full, tmp_path / "none" / "blank.xlsx")
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["blank", "drawings", "pump-left.svg"]


def test_help_tells_the_three_forms() -> None:
    """The ending of OUT decides, which the help says."""
    said = CliRunner().invoke(root, ["blank", "--help"]).output
    assert all(word in said for word in ("OUT.xlsx", "OUT.html", "folder"))
