"""What the commands say of a name that nothing has, of kinds of records, and of lists that a terminal cuts."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from small_package import LAYERS, package

from collection.cli import run
from collection.language.errors import REFUSED, USAGE, Fault, WrongCommand, together
from collection.language.words import SHEET_NAMES
from collection.records.kinds import sheet_of
from collection.records.sheets import BY_SHEET
from collection.store.check import LISTED


def told(capsys: pytest.CaptureFixture[str], *words: object, code: int = 0) -> str:
    """What a command prints, its answer or its error."""
    capsys.readouterr()
    assert run([str(word) for word in words]) == code
    out = capsys.readouterr()
    return out.out + out.err


@pytest.mark.parametrize(
    "words",
    [
        ("show", "NOPE"),
        ("show", "OHM-1962-7/S99"),
        ("show", "NOPE", "--history"),
        ("strata", "NOPE"),
        ("survival", "NOPE"),
        ("sampling", "NOPE"),
        ("window", "NOPE", "--place", "all", "--remove", "2", "--keep", "1"),
        ("assess", "NOPE/P1"),
        ("assess", "OHM-1962-7/P99"),
        ("safety", "NOPE/P1"),
    ],
)
def test_who_only_asks_is_told_that_nothing_was_found(
    harbour: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    """Nothing is refused and nothing could have been stored: the name is not known. The exit code stays 1."""
    said = told(capsys, words[0], harbour, *words[1:], code=REFUSED)
    assert said.startswith("Error: Not found.\n  the database: ")
    assert "stored" not in said
    document = json.loads(told(capsys, words[0], harbour, *words[1:], "--json", code=REFUSED))
    assert document["error_count"] == 1


def test_a_kind_of_record_is_named_by_one_or_by_many() -> None:
    """`sample` and `samples`, `treatment step` and `treatment_steps`, `part` and `components`: as people say it."""
    for sheet in BY_SHEET:
        called = SHEET_NAMES.get(sheet, sheet)
        for kind in (sheet, sheet.upper(), called, f"{called}s", sheet.replace("_", "-"), sheet.replace("_", " ")):
            assert sheet_of(kind) == sheet, kind
    for kind, sheet in {"sample": "samples", "analysis": "analyses", "treatment step": "treatment_steps"}.items():
        assert sheet_of(kind) == sheet
    with pytest.raises(WrongCommand, match="Did you mean 'sample"):
        sheet_of("smaples")


def test_one_sample_is_withdrawn_corrected_and_called_by_its_kind(
    db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told(capsys, "ingest", db, package(tmp_path / "p"))
    who = ("--by", "N. N.", "--reason", "seen again")
    told(capsys, "correct", db, "sample", "T1/S01", "instrument=a loupe", *who)
    told(capsys, "withdraw", db, "sample", "T1/S01", *who)
    told(capsys, "reinstate", db, "samples", "T1/S01", *who)
    told(capsys, "rename", db, "zone", "T1/Z1", "Z9", *who)
    told(capsys, "same", db, "part", "T1/body", "T1/door", *who)
    assert "smaple" in told(capsys, "withdraw", db, "smaple", "T1/S01", *who, code=USAGE)


def test_where_a_list_is_cut_the_whole_of_it_is_named(
    db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """250 cells differ from what is stored, and no terminal shows them at once: 200 are shown, the number of all is told,
    and --json has them, whether the package is refused or only compared. 250 alike warnings are one line."""
    many = range(1, 251)
    layers = LAYERS + "".join(f"T1,S01,{n + 2},varnish,clear,{n},1\n" for n in many)
    told(capsys, "ingest", db, package(tmp_path / "q", layers=layers))
    words = "object,place,phenomenon,observed_on\n" + "".join(f"T1,Z1,odd {n},2019\n" for n in many)
    other = package(tmp_path / "r", layers=layers.replace("clear", "brown"), conditions=words)
    for options in ((), ("--dry-run",)):
        said = told(capsys, "ingest", db, other, *options, code=REFUSED)
        assert said.count("T1/S01/") == 200
        assert said.count("… 250 in all; --json lists all.") == 1
        document = json.loads(told(capsys, "ingest", db, other, *options, "--json", code=REFUSED))
        assert len(document["differences"]) == 250
    assert said.count("Warning: ") == 1
    assert "(250 in all; --json lists them)" in said


def test_check_lists_in_json_what_a_terminal_cuts(db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kept = Path(f"{db}.files") / "ab"
    kept.mkdir(parents=True)
    for n in range(LISTED + 12):
        (kept / f"{n:062x}").write_bytes(b"left by a kill")
    assert "… and 12 more of this kind; --json lists up to 10,000." in told(capsys, "check", db)
    assert len(json.loads(told(capsys, "check", db, "--json"))["notes"]) == LISTED + 12


def test_rows_of_one_fault_are_cut_with_their_number() -> None:
    """Every second of 40 rows has the same fault: twelve are named, and how many there are."""
    (line,) = together(
        Fault("layers.csv", "layers", row, "role", None, "Every row needs this cell.") for row in range(2, 42, 2)
    )
    assert line == (
        "layers.csv, rows 2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24 … (20 in all; --json lists them), role: "
        "Every row needs this cell."
    )
