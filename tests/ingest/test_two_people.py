"""Two people and one code: what another survey may say of a stored sample, test or treatment, and what it may not."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from asked import ask

from collection.cli import run
from collection.ingest import load
from collection.language.errors import DifferenceRefused, InputRefused
from collection.store.changes import corrections

SURVEY = 'code = "{}"\ntitle = "Trial"\nlead = "{}"\nstarted = "2026-05"\n'
LEADS = {"one": "A. Lead", "two": "B. Second"}
MEANT: dict[str, Any] = {"amend": "looked deeper", "by": "B. Second"}
FIRST = {
    "objects": "object,title,kind\nT1,Tram 1,tram\n",
    "schemes": "object,scheme,name,period\nT1,1,first,original\n",
    "samples": "object,sample,place,method,taken_on\nT1,S60,all,cross-section,2026-05-02\nT1,S61,all,exposure,\n",
    "layers": "object,sample,position,role,colour\nT1,S60,1,primer,grey\nT1,S60,2,body colour,maker's red\n",
    "tests": "object,test,place,agent,tested_on\nT1,C09,all,acetone,2026-05-03\n",
    "treatments": "object,treatment,purpose,started\nT1,W,cleaning,1985\n",
    "treatment_steps": "object,treatment,step,place,action\nT1,W,1,all,wash\n",
}
COATS = "object,sample,position,role,colour\nT1,S60,3,body colour,green\nT1,S60,4,varnish,\n"


@pytest.fixture
def taken(db: Path, tmp_path: Path) -> Path:
    load.ingest(db, package(tmp_path / "first", "one", FIRST))
    return db


def package(folder: Path, survey: str, sheets: dict[str, str]) -> Path:
    folder.mkdir()
    (folder / "survey.toml").write_text(SURVEY.format(survey, LEADS[survey]))
    for sheet, text in sheets.items():
        (folder / f"{sheet}.csv").write_text(text)
    return folder


def test_further_coats_of_somebody_elses_sample_are_refused(taken: Path, tmp_path: Path) -> None:
    """Two coats more under the same code would lay a green over the maker's red that lies outermost. The free code is
    the next that neither person uses: S61 is taken."""
    with pytest.raises(InputRefused) as refused:
        load.ingest(taken, package(tmp_path / "p", "two", {"layers": COATS}))
    said = (
        "S60 is A. Lead's sample of 2026-05-02; if yours is another, give it a free code, such as S62. "
        "If this was seen at that sample again, --amend REASON --by NAME says so."
    )
    assert [(f.file, f.row, f.column, f.value, f.message) for f in refused.value.faults] == [
        ("layers.csv", 2, "sample", "S60", said),
        ("layers.csv", 3, "sample", "S60", said),
    ]
    assert ask(taken, "SELECT count(*) FROM layers") == [(2,)]
    assert ask(taken, "SELECT count(*) FROM changes") == [(1,)]


@pytest.mark.parametrize(
    ("survey", "sheets", "refused"),
    [
        ("two", {"layers": COATS}, "S60 is A. Lead's sample of 2026-05-02; if yours is another, give it a free code"),
        (
            "two",
            {"layers": "object,sample,position,role\nT1,S61,1,varnish\n"},
            "S61 is A. Lead's sample of the survey one; if yours is another, give it a free code, such as S62.",
        ),
        (
            "two",
            {"responses": "object,test,response,scheme\nT1,C09,softened,1\n"},
            "C09 is A. Lead's test of 2026-05-03; if yours is another, give it a free code, such as C10.",
        ),
        (
            "two",
            {"treatment_steps": "object,treatment,step,place,action\nT1,W,2,all,wax\n"},
            "W is A. Lead's treatment of 1985; if yours is another, give it a free code, such as W-2.",
        ),
        # The survey's own, sent again with more of it.
        ("one", {"layers": COATS}, None),
        ("one", {"responses": "object,test,response,scheme\nT1,C09,softened,1\n"}, None),
        ("one", {"treatment_steps": "object,treatment,step,place,action\nT1,W,2,all,wax\n"}, None),
        # What only points to it: an analysis of a sample in another year's laboratory, a test made beside it.
        ("two", {"analyses": "object,analysis,technique,result,sample,position\nT1,A1,XRF,lead,S60,2\n"}, None),
        ("two", {"tests": "object,test,place,agent,sample\nT1,C10,all,acetone,S60\n"}, None),
        ("two", {"conditions": "object,place,phenomenon,observed_on\nT1,all,flaking,2026\n"}, None),
        # The same row again adds nothing.
        ("two", {"layers": FIRST["layers"]}, None),
        # A sample of its own on the same object.
        (
            "two",
            {
                "samples": "object,sample,place,method\nT1,S62,all,cross-section\n",
                "layers": "object,sample,position,role\nT1,S62,1,primer\n",
            },
            None,
        ),
    ],
)
def test_what_another_survey_may_add(
    taken: Path, tmp_path: Path, survey: str, sheets: dict[str, str], refused: str | None
) -> None:
    folder = package(tmp_path / "p", survey, sheets)
    if refused is None:
        load.ingest(taken, folder)
        return
    with pytest.raises(InputRefused) as told:
        load.ingest(taken, folder)
    assert told.value.faults[0].message.startswith(refused)


def test_an_amendment_says_that_it_is_the_same_sample(taken: Path, tmp_path: Path) -> None:
    """The new coats are the second survey's, the sample stays the first one's, and the report says what was added."""
    report = load.ingest(taken, package(tmp_path / "p", "two", {"layers": COATS}), **MEANT)
    assert report.added == {"survey": 1, "layers": 2}
    (warning,) = report.warnings
    assert warning.message.startswith("S60 is A. Lead's sample of 2026-05-02;")
    assert warning.message.endswith("This amendment adds 2 rows to it.")
    assert not report.amendment_not_needed
    assert ask(taken, "SELECT survey FROM samples WHERE sample = 'S60'") == [("one",)]
    assert ask(taken, "SELECT position, survey FROM layers ORDER BY 1") == [
        (1, "one"),
        (2, "one"),
        (3, "two"),
        (4, "two"),
    ]


def test_a_sample_of_the_same_code_with_other_content_is_told_whose_it_is(taken: Path, tmp_path: Path) -> None:
    other = "object,sample,place,method,taken_on\nT1,S60,all,exposure,2026-05-02\nT1,S62,all,exposure,\n"
    with pytest.raises(DifferenceRefused) as refused:
        load.ingest(taken, package(tmp_path / "p", "two", {"samples": other}))
    assert [(f.row, f.column, f.message) for f in refused.value.faults] == [
        (
            2,
            "method",
            "T1/S60 is stored with 'cross-section'. S60 is A. Lead's sample of 2026-05-02; if yours is another, give it "
            "a free code, such as S63. A correction needs --amend REASON --by NAME; a change over time is a new record "
            "with its own date.",
        )
    ]


def test_a_blank_cell_of_somebody_elses_record_is_filled_in_by_an_amendment_only(taken: Path, tmp_path: Path) -> None:
    """The record stays the first survey's; the second one's maker is gone again when that survey is withdrawn."""
    folder = package(tmp_path / "p", "two", {"objects": "object,title,kind,maker\nT1,Tram 1,tram,Smith\n"})
    with pytest.raises(DifferenceRefused) as refused:
        load.ingest(taken, folder)
    assert [(f.column, f.message) for f in refused.value.faults] == [
        ("maker", "T1 is stored with nothing here. Filling it in needs --amend REASON --by NAME.")
    ]
    load.ingest(taken, folder, **MEANT)
    assert ask(taken, "SELECT survey, maker FROM objects") == [("one", "Smith")]
    corrections.withdraw(taken, "survey", "two", "R. Registrar", "another tram")
    assert ask(taken, "SELECT survey, maker FROM objects") == [("one", None)]


def test_evidence_says_who_amended_it_last(taken: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The coat stays on A. Lead's evidence, and whoever reads it sees that its colour is what B. Second says."""
    orange = "object,sample,position,role,colour\nT1,S60,2,body colour,orange\n"
    load.ingest(taken, package(tmp_path / "p", "two", {"layers": orange}), **MEANT)
    (today,) = ask(taken, "SELECT substr(at, 1, 10) FROM changes WHERE number = 2")[0]
    for key, said in (
        ("T1/S60/1", "evidence: sample S60 (cross-section), 2026-05-02, survey one, A. Lead"),
        (
            "T1/S60/2",
            f"evidence: sample S60 (cross-section), 2026-05-02, survey one, A. Lead; amended by B. Second, {today}",
        ),
    ):
        assert run(["show", str(taken), key]) == 0
        assert " ".join(capsys.readouterr().out.split()).endswith(said)


def test_a_free_code_is_none_that_ever_meant_something(taken: Path, tmp_path: Path) -> None:
    """Not one that is stored, withdrawn, in the package, or differs from one of these in zeros or case only."""
    more = "object,sample,place,method\nT1,S62,all,gauge\nT1,s063,all,gauge\n"
    load.ingest(taken, package(tmp_path / "p", "one", {"samples": more}))
    corrections.withdraw(taken, "samples", "T1/S62", "R. Registrar", "no sample")
    mine = {"samples": "object,sample,place,method\nT1,S64,all,gauge\n", "layers": COATS}
    with pytest.raises(InputRefused) as refused:
        load.ingest(taken, package(tmp_path / "q", "two", mine))
    assert "such as S65." in refused.value.faults[0].message


def test_a_withdrawn_sample_says_so_and_how_it_comes_back(taken: Path, tmp_path: Path) -> None:
    """Whoever points to it reads who withdrew it, when, why, and the command that brings it back."""
    corrections.withdraw(taken, "samples", "T1/S60", "R. Registrar", "mixed up in the box")
    said = "The sample T1/S60 was withdrawn by R. Registrar on "
    back = "(mixed up in the box). firstcoat reinstate DB samples T1/S60 --by NAME --reason TEXT brings it back."
    with pytest.raises(InputRefused) as refused:
        load.ingest(taken, package(tmp_path / "p", "two", {"layers": COATS}))
    assert refused.value.faults[0].message.startswith(said)
    assert back in refused.value.faults[0].message
    again = load.ingest(taken, package(tmp_path / "q", "one", {"samples": FIRST["samples"]}))
    assert again.withdrawn == {"samples": 1}
    assert again.warnings[0].message.startswith(said)
    with pytest.raises(InputRefused) as refused:
        corrections.correct(taken, "tests", "T1/C09", {"sample": "S60"}, "R. Registrar", "looked up")
    assert refused.value.faults[0].message.startswith(said)


def test_what_is_withdrawn_can_be_read(taken: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A sample, and then the whole object, with who withdrew it; the computing commands say the same of it."""
    corrections.withdraw(taken, "samples", "T1/S60", "R. Registrar", "mixed up in the box")
    assert run(["show", str(taken), "T1/S60"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "OUT OF ACCOUNT The sample T1/S60 was withdrawn by R. Registrar on" in shown
    assert "T1/S60 sample: place all; method cross-section; taken on 2026-05-02." in shown
    assert "T1/S60/2 coat: role body colour; colour maker's red." in shown
    with pytest.raises(InputRefused) as refused:
        corrections.withdraw(taken, "samples", "T1/S60", "J. Pike", "mixed up")
    assert "The sample T1/S60 was withdrawn by R. Registrar on" in refused.value.faults[0].message
    corrections.withdraw(taken, "survey", "one", "R. Registrar", "another tram")
    with pytest.raises(InputRefused) as refused:
        corrections.reinstate(taken, "samples", "T1/S61", "J. Pike", "found")
    assert "firstcoat reinstate DB survey one" in refused.value.faults[0].message
    for command in ("show", "strata", "survival"):
        code = run([command, str(taken), "T1"])
        told = " ".join(" ".join(capsys.readouterr()).split())
        assert code == (0 if command == "show" else 1)
        assert "The survey one was withdrawn by R. Registrar on" in told, command
        assert "firstcoat reinstate DB survey one --by NAME --reason TEXT brings it back." in told, command
    assert run(["show", str(taken), "T1", "--json"]) == 0
    assert '"kind": "survey",' in capsys.readouterr().out
