"""`try` and dry runs: what a surveyor and a registrar are told, and that nothing is written."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest
from coded_package import SHEETS, coded_package

from collection.cli import run
from collection.ingest import load
from collection.ingest.trial import try_package
from collection.language.errors import ASKS_AMENDMENT
from collection.store.base import database
from collection.store.changes import corrections
from collection.store.decide import consequences
from collection.store.decide.decisions import decide

BY = "R. Registrar"
FREE = {
    **SHEETS,
    "components": SHEETS["components"] + "T1,frame,frame,,1,,\n",
    "reserves": "object,reserve,place,kind\nT1,R1,frame,reserve\n",
}
"""With the reserve on a part that no proposal touches, which would be destroyed in any case."""


@pytest.fixture
def db(tmp_path: Path) -> Path:
    path = tmp_path / "data" / "collection.db"
    path.parent.mkdir()
    database.create(path)
    return path


def beside(path: Path) -> dict[str, str]:
    """Every file in the folder of a database, with its hash."""
    return {
        str(file.relative_to(path.parent)): hashlib.sha256(file.read_bytes()).hexdigest()
        for file in sorted(path.parent.rglob("*"))
        if file.is_file()
    }


def test_try_tells_what_the_package_holds_and_writes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Rows per sheet and per object, and no file anywhere."""
    folder = coded_package(tmp_path / "survey")
    before = beside(folder)
    assert run(["try", str(folder)]) == 0
    text = capsys.readouterr().out
    assert "harbour-1: no fault in 42 rows. Nothing was stored." in text
    assert "T1: sources 1, components 3," in text
    assert "  T2: only its own row\n" in text
    assert beside(folder) == before
    assert run(["try", str(folder), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert (
        said["rows"]
        == {"survey": 1, **{sheet: text.count("\n") - 1 for sheet, text in SHEETS.items()}}
        == {name: said["rows"][name] for name in said["rows"]}
    )
    assert said["objects"]["T2"] == {"objects": 1}
    assert (said["warnings"], said["only_the_database_can_tell"]) == ([], [])


def test_what_only_a_database_could_tell_is_said_apart_from_what_is_doubtful(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheets = {
        "samples": "object,sample,place,method\nT1,S9,Z1,cross-section\nT1,S8,Z1,exposure\n",
        "layers": "object,sample,position,role,thickness_um,thickness_min_um,thickness_max_um\n"
        "T1,S9,1,primer,50,10,20\n",
    }
    folder = coded_package(tmp_path / "survey", sheets=sheets)
    found = try_package(folder)
    assert [(fault.sheet, fault.row, fault.column, fault.value) for fault in found.warnings] == [
        ("layers", 2, "thickness_um", "50")
    ]
    assert {(fault.sheet, fault.column, fault.value) for fault in found.asked} == {
        ("samples", "place", "Z1"),
        ("samples", "object", "T1"),
    }
    assert run(["try", str(folder)]) == 0
    text = capsys.readouterr().out
    assert "Only the database can tell whether it holds these" in text
    assert "    Z1 (samples.csv, row 2, place; 2 cells in all)" in text


@pytest.mark.parametrize(("opened", "offered"), [("0.3", True), ("0.9", False), ("", False)])
def test_a_window_in_a_large_place_is_offered_a_zone_of_its_own(tmp_path: Path, opened: str, offered: bool) -> None:
    """Under half of the 1.5 m² of the panel: what it showed and took belongs to the window."""
    folder = coded_package(
        tmp_path / "survey",
        sheets={
            "objects": "object,title,kind\nT1,cart,cart\n",
            "components": "object,component,name\nT1,C1,body\n",
            "zones": "object,zone,component,area_m2\nT1,Z1,C1,1.5\n",
            "schemes": "object,scheme,name,period\nT1,2,green,later\n",
            "treatments": "object,treatment,purpose\nT1,W1,window\n",
            "treatment_steps": f"object,treatment,step,place,action,removed,area_m2\nT1,W1,1,Z1,solvent,2,{opened}\n",
        },
    )
    found = [fault for fault in try_package(folder).warnings if fault.sheet == "treatment_steps"]
    assert [("zone of its own" in fault.message, fault.row) for fault in found] == ([(True, 2)] if offered else [])


def test_a_package_with_faults_ends_with_one_and_all_of_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same faults, as text and as JSON, as an ingest would refuse it with."""
    folder = coded_package(
        tmp_path / "survey",
        sheets={
            **SHEETS,
            "layers": SHEETS["layers"] + "T1,S1,9,paint,blue,1,intact,20\nT1,S1,10,primer,grey,1,intact,thick\n",
        },
    )
    assert run(["try", str(folder)]) == 1
    text = capsys.readouterr().err
    assert "2 faults" in text
    assert "layers.csv, row 6, role" in text
    assert run(["try", str(folder), "--json"]) == 1
    said = json.loads(capsys.readouterr().out)
    assert [(e["row"], e["column"]) for e in said["errors"]] == [(6, "role"), (7, "thickness_um")]
    assert run(["try", str(tmp_path / "nowhere")]) == 2


# ---------------------------------------------------------------- dry runs


def test_a_dry_run_tells_counts_differences_and_severities_and_keeps_every_byte(
    db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Added, amended, the same, missing; each field that differs; each proposal before and after; and then the ingest
    itself tells the same severities."""
    load.ingest(db, coded_package(tmp_path / "a", sheets=FREE))
    decide(db, "T1", "P2", "approve", by="A. Curator", reason="dusting")
    changed = {
        **FREE,
        "responses": SHEETS["responses"].replace("T1,X2,none seen", "T1,X2,removed"),
        "claims": SHEETS["claims"] + "T1,C2,it was blue,untested,Z1,,\n",
        "hazards": SHEETS["hazards"].replace("T1,H1,lead paint,confirmed,body,2018\n", ""),
    }
    folder = coded_package(tmp_path / "b", sheets=changed)
    before = beside(db)
    arguments = ["ingest", str(db), str(folder), "--dry-run"]
    assert run([*arguments, "--json"]) == 1
    said = json.loads(capsys.readouterr().out)
    assert (said["added"], said["changed"], said["missing"]) == ({"claims": 1}, {"responses": 1}, {"hazards": 1})
    assert said["unchanged"]["layers"] == 4
    assert said["differences"] == [
        {
            "sheet": "responses",
            "key": "T1/X2/1/body colour",
            "column": "response",
            "stored": "none seen",
            "given": "removed",
            "told": ASKS_AMENDMENT,
            "corrected": None,
        }
    ]
    assert (said["would_be_refused"], said["change"]) == (True, None)
    now = {p["proposal"]: p for p in said["severities"]}
    assert (now["T1/P1"]["before"], now["T1/P1"]["after"]) == ("untested", "endangers")
    assert now["T1/P2"]["approval_overtaken"]
    assert beside(db) == before
    assert run(arguments) == 1
    text = capsys.readouterr().out
    assert "As it is it would be refused" in text
    assert "T1/P1: untested -> endangers" in text
    amend = ["--amend", "read again", "--by", BY]
    assert run([*arguments, *amend]) == 0
    assert beside(db) == before
    capsys.readouterr()
    assert run(["ingest", str(db), str(folder), *amend, "--json"]) == 0
    wet = json.loads(capsys.readouterr().out)
    assert wet["severities"] == said["severities"]
    assert (wet["added"], wet["changed"], wet["dry_run"]) == (said["added"], said["changed"], False)


def test_a_dry_run_works_where_the_file_may_not_be_written_to(
    db: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Then it tells everything but the severities."""
    load.ingest(db, coded_package(tmp_path / "a"))
    folder = coded_package(
        tmp_path / "b", "harbour-2", {"conditions": "object,place,phenomenon,observed_on\nT1,Z1,chalking,2022\n"}
    )
    monkeypatch.setattr("os.access", lambda *_: False)
    report = load.ingest(db, folder, dry_run=True, consequences=True)
    assert report.added == {"survey": 1, "conditions": 1}
    assert report.consequences.proposals == ()


@pytest.mark.parametrize(
    "arguments",
    [
        ["correct", "responses", "T1/X2/1/body colour", "response=removed"],
        ["withdraw", "tests", "T1/X2"],
        ["withdraw", "survey", "harbour-1", "--yes"],
        ["reinstate", "zones", "T1/Z2"],
    ],
)
def test_every_change_can_be_tried_out(
    db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: list[str]
) -> None:
    """The dry run changes no byte and tells the severities that the change then has."""
    load.ingest(db, coded_package(tmp_path / "a"))
    if arguments[0] == "reinstate":
        corrections.withdraw(db, "zones", "T1/Z2", BY, "painted out")
    said = []
    before = beside(db)
    command = [arguments[0], str(db), *arguments[1:], "--by", BY, "--reason", "looked again", "--json"]
    for more in (["--dry-run"], []):
        assert run([*command, *more]) == 0
        said.append(json.loads(capsys.readouterr().out))
        assert (beside(db) == before) is bool(more)
    assert said[0]["severities"] == said[1]["severities"] != []
    assert any(p["before"] != p["after"] or p["losses"] or p["requirements"] for p in said[0]["severities"])


def told(path: Path, sheet: str, key: str) -> consequences.Consequences:
    """What withdrawing a record would do to proposed work."""
    _, found = consequences.carried_out(
        path,
        lambda c: corrections.touched_by(c, sheet, key),
        lambda c: corrections.withdraw(c, sheet, key, BY, "looked again"),
        dry_run=True,
    )
    return found


def test_a_hazard_that_is_taken_out_of_account_is_told(db: Path, tmp_path: Path) -> None:
    """It is asked before work and not before approval, and does not go in silence for that. Dust carries lead and
    asbestos to people, so dusting is asked as well as the liquid."""
    load.ingest(db, coded_package(tmp_path / "a"))
    (one, dusting) = told(db, "hazards", "T1/H1/2018").proposals
    assert one.requirements == dusting.requirements == (("hazard addressed:body:H1", "open", None),)
    assert one.losses == dusting.losses == ()


def test_a_proposal_of_which_some_steps_were_refused_is_still_looked_at(db: Path, tmp_path: Path) -> None:
    load.ingest(db, coded_package(tmp_path / "a"))
    for steps, looked_at in (((2,), ["T1/P1", "T1/P2"]), ((), ["T1/P2"])):
        decide(db, "T1", "P1", "refuse", by="A. Curator", reason="too close to the lining", steps=steps)
        assert [p.proposal for p in told(db, "tests", "T1/X1").proposals] == looked_at


def test_proposals_are_looked_at_however_many_objects_are_touched(
    db: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Proposals are what takes time to assess; where there are too many of them, that is said."""
    others = "".join(f"U{number},Tram {number},tram,\n" for number in range(600))
    load.ingest(db, coded_package(tmp_path / "a", sheets={**SHEETS, "objects": SHEETS["objects"] + others}))
    found = told(db, "survey", "harbour-1")
    assert [(p.proposal, p.after) for p in found.proposals] == [("T1/P1", None), ("T1/P2", None)]
    monkeypatch.setattr(consequences, "MOST_PROPOSALS", 1)
    assert told(db, "survey", "harbour-1").sentences() == [
        "2 proposals are on the objects it touches, too many to assess before and after: `firstcoat assess --all` "
        "assesses them now."
    ]


def test_withdrawing_unfavourable_evidence_shows_the_severity_that_falls(
    db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It may lower a severity; it is said before and after, and signed."""
    load.ingest(
        db, coded_package(tmp_path / "a", sheets={**FREE, "responses": SHEETS["responses"] + "T1,X2,removed,,,S2,1,\n"})
    )
    assert run(["withdraw", str(db), "tests", "T1/X2", "--by", BY, "--reason", "the swabs were swapped"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert "  T1/P1: endangers -> untested" in lines
    with database.opened(db, write=False) as connection:
        assert connection.execute('SELECT "by", why FROM changes ORDER BY number DESC').fetchone() == (
            BY,
            "the swabs were swapped",
        )
