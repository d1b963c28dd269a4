"""`report`: a new file as a whole or none, and sentences where it cannot be."""

from __future__ import annotations

from pathlib import Path

import pytest

from collection.cli import run
from collection.output.tell import pdf


def test_it_writes_a_pdf_and_says_for_whom(harbour: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "board.pdf"
    assert run(["report", str(harbour), "OHM-1952-11", str(out)]) == 0
    assert "for staff only" in capsys.readouterr().out
    assert out.read_bytes().startswith(b"%PDF-1.7")
    assert [path.name for path in tmp_path.iterdir()] == ["board.pdf"]


def test_what_stands_there_stays(harbour: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "mine.pdf"
    out.write_text("mine")
    assert run(["report", str(harbour), "OHM-1952-11", str(out)]) == 2
    assert "is there already and was left as it is" in capsys.readouterr().err
    assert out.read_text() == "mine"


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["OHM-9999", "out.pdf"], 1, "No such object is in account"),
        (["out.pdf"], 2, "Write `report DB OBJECT OUT.pdf`"),
        (["--survey", "H99", "out.pdf"], 1, "there is H14, H24"),
        (["--survey", "H24", "OHM-1952-11", "out.pdf"], 2, "or `report DB --survey CODE OUT.pdf`"),
        (["OHM-1952-11", "nowhere/out.pdf"], 6, "There is no folder"),
    ],
)
def test_what_cannot_be_is_said_and_nothing_written(
    words: list[str],
    code: int,
    said: str,
    harbour: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(["report", str(harbour), *words]) == code
    assert said in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_without_the_extra_it_says_which_one_to_install(
    harbour: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(pdf, "can_print", lambda: False)
    assert run(["report", str(harbour), "OHM-1952-11", str(tmp_path / "out.pdf")]) == 6
    assert "pip install 'firstcoat[report]'" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []
