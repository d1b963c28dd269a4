"""`show` of one record and of an object's history, in text and JSON, and the sentence for a wrong code."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from shown import codes, shown

from collection.cli import run
from collection.records.sheets import BY_SHEET
from collection.store.base import database, keys, read
from collection.store.changes import corrections, statements
from collection.store.changes.history import changes_of


def test_a_coat_read_elsewhere_only_is_not_shown_as_read_here(filled: Any, capsys: pytest.CaptureFixture[str]) -> None:
    """B-REAR was read down to a varnish; what lies deeper is taken from the rest of the part."""
    out = " ".join(shown(capsys, filled, "OHM-1937/3/B-REAR").split())
    assert "Not examined: no reading." in out
    assert re.search(r"KEPT scheme 1, vermilion body colour, covers [^(]*\(not read here, but at S01/4", out)
    assert re.search(r"bright red body colour, covers [^(]*\(S05/3\)", out)


def test_history_does_not_say_what_private_cells_hold(db: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code = codes(db)[0]
    corrections.correct(
        db,
        "objects",
        code,
        {
            "owner": "Ada Penrose, Mill Lane",
            "store_place": "Bay 9, key with Bo",
            "notes": "She wants it back",
            "title": "New title",
        },
        "R. Person",
        "letter",
    )
    out = " ".join(shown(capsys, db, code, "--history").split())
    assert "“New title”" in out
    assert "owner: changed (private)" in out
    assert not re.search("Mill Lane|Bay 9|wants it back", out)
    assert not re.search("Mill Lane|Bay 9|wants it back", shown(capsys, db, code, "--all"))


def test_bytes_that_are_no_text_get_a_sentence(filled: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["show", str(filled), "OHM\udcff"]) == 2
    assert "holds bytes that are not UTF-8 text" in capsys.readouterr().err


def test_each_kind_of_record_is_shown_with_its_evidence(filled: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with database.opened(filled, write=False) as connection:
        for sheet, record in BY_SHEET.items():
            if sheet in ("survey", "objects"):
                continue
            row = connection.execute(f"SELECT {', '.join(record.key)} FROM live_{record.table} LIMIT 1").fetchone()
            if row is None:
                continue
            key = keys.shown(sheet, tuple(row))
            out = shown(capsys, filled, key)
            assert f"{key}  " in out, (sheet, key)
            assert "evidence: " in out


def test_a_zone_shows_its_build_up_outermost_first_and_what_is_kept(
    filled: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with database.opened(filled, write=False) as connection:
        code, place = connection.execute(
            "SELECT object, place FROM survival_places WHERE state = 'original covered' "
            "AND read >= 1 ORDER BY object, place LIMIT 1"
        ).fetchone()
    out = shown(capsys, filled, f"{code}/{place}")
    assert "Original covered: original finish in" in out
    assert "BUILD-UP, outermost first" in out
    assert "KEPT  " in out
    assert "SAMPLES" in out


def test_an_unknown_object_or_code_names_the_nearest(filled: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code = codes(filled)[0]
    assert f"Did you mean '{code}'" in shown(capsys, filled, f"{code}x", code=1)
    with database.opened(filled, write=False) as connection:
        zone = connection.execute("SELECT zone FROM live_zones WHERE object = ? LIMIT 1", (code,)).fetchone()[0]
    assert zone in shown(capsys, filled, f"{code}/{zone}x", code=1)


def test_the_json_keeps_its_keys(filled: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code = codes(filled)[0]
    document = json.loads(shown(capsys, filled, code, "--json", "--history"))
    assert {"format", "facts", "decisions", "history"} <= set(document)
    assert document["facts"]["object"]["object"] == code


def test_history_reads_as_sentences_with_who_and_why(db: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with database.opened(db, write=False) as connection:
        code, zone = connection.execute("SELECT object, zone FROM live_zones WHERE name IS NOT NULL LIMIT 1").fetchone()
        sample = connection.execute("SELECT sample FROM live_samples WHERE object = ? LIMIT 1", (code,)).fetchone()[0]
        proposal = connection.execute("SELECT object, proposal FROM live_proposals LIMIT 1").fetchone()
        name = connection.execute("SELECT name FROM zones WHERE object = ? AND zone = ?", (code, zone)).fetchone()[0]
    corrections.correct(
        db,
        "zones",
        f"{code}/{zone}",
        {"name": "New name", "area_m2": "not recorded"},
        "Ada Penrose",
        "the plan says so",
    )
    corrections.withdraw(db, "samples", f"{code}/{sample}", "Ada Penrose", "mislabelled")
    corrections.reinstate(db, "samples", f"{code}/{sample}", "Bo Quist", "rightly labelled")
    statements.rename(db, "zones", f"{code}/{zone}", "PANEL-9", "Bo Quist", "new plan")
    out = " ".join(shown(capsys, db, code, "--history").split())
    assert "correct by Ada Penrose: the plan says so" in out
    assert f"zone {zone}, name: “{name}” → “New name”" in out
    assert "→ not recorded" in out or "area_m2" not in out
    assert f"withdraw by Ada Penrose: mislabelled sample {sample} was taken out of account." in out
    assert f"reinstate by Bo Quist: rightly labelled sample {sample} counts again." in out
    assert f"zone {code}/{zone} is read as {code}/PANEL-9" in out
    assert f"{code}/{zone} was renamed PANEL-9" in shown(capsys, db, f"{code}/{zone}")
    assert run(["decide", str(db), "/".join(proposal), "--refuse", "--by", "Cy Orme", "--reason", "not now"]) == 0
    assert f"proposal {proposal[1]} was refused: not now" in " ".join(
        shown(capsys, db, proposal[0], "--history").split()
    )


def test_every_record_is_brought_by_one_change(filled: Path) -> None:
    with database.opened(filled, write=False) as connection:
        for code in read.object_codes(connection):
            counts = [
                connection.execute(f"SELECT count(*) FROM {record.table} WHERE object = ?", (code,)).fetchone()[0]
                for sheet, record in BY_SHEET.items()
                if sheet != "survey"
            ]
            brought = [
                sentence
                for change in changes_of(connection, code)
                for sentence in change.sentences
                if sentence.startswith("brought ")
            ]
            assert sum(int(number) for sentence in brought for number in re.findall(r"\d+", sentence)) == sum(counts)


def test_what_was_doubtful_when_a_record_came_in_is_told_with_it(db: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The minute MIN-04 is dated 1904-11. A screen with room counts the warnings, the record and `--all` tell them."""
    said = "source OHM-1962-7/MIN-04, dated: This was read as November 1904"
    screens = [" ".join(shown(capsys, db, code).split()) for code in codes(db)]
    assert any(re.search(r"\d+ warnings? from when the records came in: --all", screen) for screen in screens)
    assert not any(said in screen for screen in screens)
    for words in (("OHM-1962-7/MIN-04",), ("OHM-1962-7", "--all")):
        assert said in " ".join(shown(capsys, db, *words).split()), words
    assert "November" not in shown(capsys, db, "OHM-1962-7/S21")
    document = json.loads(shown(capsys, db, "OHM-1962-7", "--json"))
    assert [each["key"] for each in document["warnings"] if "November" in each["message"]] == ["OHM-1962-7/MIN-04"]
