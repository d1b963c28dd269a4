"""Cells that hold several words or codes, and claims that stand otherwise on another day."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import objects as o
import openpyxl
import pytest
from checked import check_package
from coded_package import SHEETS, coded_package
from made_workbooks import from_folder
from objects import OBJ

from collection.compute.case import Case
from collection.ingest import load
from collection.ingest.mapping.honesty import why_not
from collection.language.errors import BadValue, InputRefused
from collection.output.published.audience import PUBLIC, STAFF, rows_for
from collection.records.cells import CLEAR, Clear, read_cell
from collection.records.columns import Column
from collection.records.facts import facts_of, open_claims
from collection.records.sheets import BY_SHEET, Claim, Object
from collection.rules.assess import assess
from collection.store.base import database
from collection.store.changes import corrections, statements
from collection.store.check import check

BY, WHY = "R. Registrar", "a trial"
AGAINST, SPARES = BY_SHEET["advice"].column("against"), BY_SHEET["proposal_steps"].column("spares")
STEPS = "object,proposal,step,place,action,spares\nT1,P2,1,all,dust,{}\n"
ADVICE = "object,advice,what,given_on,against,replaced_by\nT1,V1,keep it dry,2016,{},\n"


@pytest.fixture
def db(tmp_path: Path) -> Path:
    path = tmp_path / "c.db"
    database.create(path)
    return path


def cell(db: Path, sql: str) -> Any:
    with database.opened(db, write=False) as connection:
        return connection.execute(sql).fetchone()[0]


def faults(db: Path, folder: Path) -> list[tuple[str, int | None, str | None, str | None, str | None]]:
    before = db.read_bytes()
    with pytest.raises(InputRefused) as refused:
        load.ingest(db, folder)
    assert db.read_bytes() == before
    return [(f.sheet or "", f.row, f.column, f.value, f.nearest) for f in refused.value.faults]


# --- one cell --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("column", "written", "stored"),
    [
        (AGAINST, "strip", "strip"),
        (AGAINST, "strip; blast", "strip; blast"),
        (AGAINST, "all", "all"),
        (AGAINST, " Stripping ;sandblast;; strip;", "strip; blast"),
        (SPARES, "R1;Z 1 ; R1", "R1; Z 1"),
        (SPARES, "R1", "R1"),
        (SPARES, "  ", None),
        (AGAINST, "Not recorded", CLEAR),
    ],
)
def test_each_part_is_read_once_and_stored_one_way(column: Column, written: str, stored: Clear | str | None) -> None:
    assert read_cell(column, written) == stored


@pytest.mark.parametrize(
    ("column", "written", "said", "nearest"),
    [
        (AGAINST, "strip; stripp", "'stripp': Not a word for action", "strip"),
        (AGAINST, "wash; remove", "'remove': This word means two things in the trade. How", None),
        (AGAINST, "wash, blast", "'wash, blast': Not a word for action", "blast"),
        (AGAINST, " ; ", "There is nothing between two ;", None),
        (SPARES, "R1; T1/R2", "'T1/R2': Only the number of an object may hold '/'", "T1-R2"),
        (SPARES, "=R1; R2", "'=R1': A code does not begin with '='", "R1"),
    ],
)
def test_a_part_that_cannot_be_read_is_named(column: Column, written: str, said: str, nearest: str | None) -> None:
    with pytest.raises(BadValue, match=said.replace("(", r"\(")) as fault:
        read_cell(column, written)
    assert fault.value.nearest == nearest


# --- a package -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("as_workbook", [False, True])
def test_it_comes_in_by_file_and_by_workbook_alike_and_again_changes_nothing(
    db: Path, tmp_path: Path, as_workbook: bool
) -> None:
    folder = coded_package(
        tmp_path / "p",
        sheets={
            **SHEETS,
            "advice": ADVICE.format('"stripping ;Sandblast"'),
            "proposal_steps": STEPS.format('"R1 ;Z2"'),
        },
    )
    package = from_folder(folder, folder / "survey.xlsx") if as_workbook else folder
    load.ingest(db, package)
    assert cell(db, "SELECT against FROM advice") == "strip; blast"
    assert cell(db, "SELECT spares FROM proposal_steps") == "R1; Z2"
    assert load.ingest(db, package).change is None
    assert check(db).damage == ()


def test_a_number_that_a_spreadsheet_made_of_a_code_is_refused_with_the_code(db: Path, tmp_path: Path) -> None:
    folder = coded_package(
        tmp_path / "p",
        sheets={
            **SHEETS,
            "reserves": "object,reserve,place,kind\nT1,007,Z2,reserve\n",
            "proposal_steps": STEPS.format("007"),
        },
    )
    package = from_folder(folder, folder / "survey.xlsx")
    book = openpyxl.load_workbook(package)
    sheet = book["proposal_steps"]
    sheet.cell(2, [c.value for c in sheet[1]].index("spares") + 1).value = 7
    book.save(package)
    assert faults(db, package) == [("proposal_steps", 2, "spares", "7", "007")]


@pytest.mark.parametrize(
    ("spares", "other", "found"),
    [
        ("R1; Z1; body", {}, []),
        ("R1; dor", {}, [("dor", "door")]),
        ("r1; boddy; Z1", {}, [("r1", "R1"), ("boddy", "body")]),
        ("all", {}, [("all", None)]),
        ("R1; Z1", {"reserves": "object,reserve,place,kind\nT1,R1,Z2,reserve\nT1,Z1,Z2,window\n"}, [("Z1", None)]),
    ],
)
def test_what_is_not_there_or_names_two_things_is_told(
    db: Path, tmp_path: Path, spares: str, other: dict[str, str], found: list[tuple[str, str | None]]
) -> None:
    """`all` would leave nothing to do; a code of a reserve and a place would leave out the one or the other."""
    folder = coded_package(tmp_path / "p", sheets={**SHEETS, **other, "proposal_steps": STEPS.format(spares)})
    if not found:
        load.ingest(db, folder)
        return
    assert faults(db, folder) == [("proposal_steps", 2, "spares", code, near) for code, near in found]


def test_without_a_database_a_code_that_it_may_hold_is_a_doubt(tmp_path: Path) -> None:
    folder = coded_package(tmp_path / "p", sheets={**SHEETS, "proposal_steps": STEPS.format("R1; roof")})
    assert [(d.column, d.value) for d in check_package(folder)] == [("spares", "roof")]


def test_what_is_stored_answers_and_what_is_withdrawn_does_not(db: Path, tmp_path: Path) -> None:
    load.ingest(db, coded_package(tmp_path / "p", sheets={k: v for k, v in SHEETS.items() if k != "proposal_steps"}))
    later = {
        "proposals": "object,proposal,title,proposed_by,proposed_on\nT1,P3,dust,N. N.,2021\n",
        "proposal_steps": STEPS.replace("P2", "P3").format("R1; door"),
    }
    corrections.withdraw(db, "reserves", "T1/R1", BY, WHY)
    assert faults(db, coded_package(tmp_path / "q", "harbour-2", later)) == [
        ("proposal_steps", 2, "spares", "R1", None)
    ]
    corrections.reinstate(db, "reserves", "T1/R1", BY, WHY)
    load.ingest(db, coded_package(tmp_path / "r", "harbour-2", later))
    assert cell(db, "SELECT spares FROM proposal_steps") == "R1; door"


@pytest.mark.parametrize(
    ("text", "said", "nearest"),
    [
        ("R1; dor", "There is no such reserve, zone or part in account", "door"),
        ("Z1; panel", "Both a reserve and a place have this code", None),
    ],
)
def test_a_correction_is_held_to_the_same(db: Path, tmp_path: Path, text: str, said: str, nearest: str | None) -> None:
    load.ingest(
        db,
        coded_package(
            tmp_path / "p",
            sheets={
                **SHEETS,
                "reserves": SHEETS["reserves"] + "T1,panel,Z1,window\n",
                "components": SHEETS["components"] + "T1,panel,panel,body,1,,\n",
            },
        ),
    )
    with pytest.raises(InputRefused) as refused:
        corrections.correct(db, "proposal_steps", "T1/P2/1", {"spares": text}, BY, WHY)
    (fault,) = refused.value.faults
    assert said in fault.message
    assert (fault.column, fault.value, fault.nearest) == ("spares", text.split("; ")[1], nearest)
    corrections.correct(db, "proposal_steps", "T1/P2/1", {"spares": "Z2;R1"}, BY, WHY)
    assert cell(db, "SELECT spares FROM proposal_steps WHERE proposal = 'P2'") == "Z2; R1"


def test_a_correction_and_a_package_may_name_a_spared_thing_by_its_later_code(db: Path, tmp_path: Path) -> None:
    load.ingest(db, coded_package(tmp_path / "p"))
    statements.rename(db, "reserves", "T1/R1", "corner", BY, WHY)
    corrections.correct(db, "proposal_steps", "T1/P2/1", {"spares": "Z1; corner"}, BY, WHY)
    assert cell(db, "SELECT spares FROM proposal_steps WHERE proposal = 'P2'") == "Z1; R1"
    load.ingest(
        db,
        coded_package(
            tmp_path / "q",
            "harbour-2",
            {
                "proposals": "object,proposal,title,proposed_by,proposed_on\nT1,P3,dust,N. N.,2021\n",
                "proposal_steps": STEPS.replace("P2", "P3").format("Z2; corner; door"),
            },
        ),
    )
    assert cell(db, "SELECT spares FROM proposal_steps WHERE proposal = 'P3'") == "Z2; R1; door"


@pytest.mark.parametrize("others", ["V1,a,2016,,V2\nT1,V2,b,2017,,V1", "V1,a,2016,,V1"])
def test_advice_does_not_take_its_own_place(db: Path, tmp_path: Path, others: str) -> None:
    """Else neither would be in force."""
    told = faults(
        db,
        coded_package(
            tmp_path / "p",
            sheets={**SHEETS, "advice": f"object,advice,what,given_on,against,replaced_by\nT1,{others}\n"},
        ),
    )
    assert [fault[:3] for fault in told] == [("advice", 2, "replaced_by")]
    load.ingest(db, coded_package(tmp_path / "q"))
    with pytest.raises(InputRefused) as refused:
        corrections.correct(db, "advice", "T1/V1", {"replaced_by": "V2"}, BY, WHY)
    assert refused.value.faults[0].message == "V1 would come to take its own place, by way of V2."


def test_a_mapping_says_neither_for_every_row() -> None:
    assert why_not(BY_SHEET["advice"], AGAINST, "strip") is not None
    assert why_not(BY_SHEET["proposal_steps"], SPARES, "R1") is not None
    held = BY_SHEET["samples"].column("extent")
    assert why_not(BY_SHEET["samples"], held, "spot") is None
    assert why_not(BY_SHEET["samples"], held, "whole place") is not None, "it would clear what nobody looked at"


def test_a_reserve_that_is_held_back_is_not_named_to_the_public() -> None:
    """The step stays, since leaving it out would make the work look harmless; only the code goes."""

    def row(sheet: str, **said: Any) -> dict[str, Any]:
        return {**dict.fromkeys(c.name for c in BY_SHEET[sheet].columns()), "object": OBJ, "live": True, **said}

    rows = {
        "objects": [row("objects")],
        "components": [row("components", component="door", observed_on="")],
        "reserves": [
            row("reserves", reserve="R1", place="all"),
            row("reserves", reserve="R2", place="all", audience="staff"),
        ],
        "proposals": [row("proposals", proposal="P1")],
        "proposal_steps": [
            row("proposal_steps", proposal="P1", step=1, place="all", spares="R2; R1; door"),
            row("proposal_steps", proposal="P1", step=2, place="all", spares="R2"),
        ],
    }
    shown = {
        audience.word: [step["spares"] for step in rows_for(audience, rows, frozenset({OBJ})).rows["proposal_steps"]]
        for audience in (PUBLIC, STAFF)
    }
    assert shown == {"public": ["R1; door", None], "staff": ["R2; R1; door", "R2"]}


# --- claims as dated states ------------------------------------------------------------------------------------------


def claim(status: str, observed_on: str | None, **said: Any) -> Claim:
    return Claim(
        object=OBJ, claim="C1", statement="a number lies under", status=status, observed_on=observed_on, **said
    )


@pytest.mark.parametrize(
    ("states", "left_open"),
    [
        ([("untested", None)], "untested"),
        ([("confirmed", None)], None),
        ([("untested", "2014"), ("confirmed", "2024")], None),
        ([("untested", "2014"), ("supported", "2024")], "supported"),
        ([("untested", "2014"), ("supported", "2019"), ("refuted", "2024")], None),
        ([("confirmed", "2014"), ("untested", "2024")], "untested"),
        ([("untested", "2014-05"), ("confirmed", "2014")], "untested"),
        ([("untested", None), ("confirmed", "2024")], "untested"),
        ([("untested", "2014"), ("confirmed", None)], "untested"),
        ([("untested", "2014/.."), ("confirmed", "2024")], "untested"),
        ([("refuted", "2014"), ("confirmed", "2024")], None),
    ],
)
def test_a_claim_is_settled_only_by_a_state_that_is_surely_the_later(states: list[Any], left_open: str | None) -> None:
    """Dates that may overlap, and days that nobody wrote down, leave it open."""
    for order in (states, states[::-1]):
        facts = facts_of(Object(object=OBJ, title="Door", kind="door"), [claim(*state) for state in order])
        assert [row.status for row in open_claims(facts)] == ([left_open] if left_open else [])


def test_a_state_that_names_no_place_speaks_of_the_place_named_before() -> None:
    facts = facts_of(
        Object(object=OBJ, title="Door", kind="door"),
        [
            claim("untested", "2014", place="panel"),
            claim("supported", "2019", decoration="D1"),
            claim("supported", "2021"),
        ],
    )
    (found,) = open_claims(facts)
    assert (found.observed_on, found.place, found.decoration) == ("2021", "panel", "D1")


@pytest.mark.parametrize(
    ("states", "said"),
    [
        ([("untested", "2014"), ("confirmed", "2024")], None),
        ([("untested", "2014"), ("supported", "2024")], "Claim C1 is supported: a number lies under."),
        (
            [("untested", None), ("confirmed", "2024")],
            "Claim C1 is untested: a number lies under. Its dates do not show that it was confirmed after that.",
        ),
    ],
)
def test_the_gate_asks_of_a_claim_as_it_stands_and_says_why_a_settled_one_is_asked(
    states: list[Any], said: str | None
) -> None:
    rows = o.base(*(claim(*state, place="door") for state in states))
    asked = [
        r
        for r in assess(Case(o.facts(rows)), o.proposal({"action": "solvent", "agent": "acetone"})).requirements
        if r.rule == "open claim"
    ]
    assert [r.message for r in asked] == ([said] if said else [])
    if said and "no later" in said:
        assert asked[0].remedy.startswith("Withdraw the state whose date leaves it open")


def test_two_states_of_a_claim_are_two_records_and_one_day_is_one(db: Path, tmp_path: Path) -> None:
    load.ingest(db, coded_package(tmp_path / "p"))
    assert cell(db, "SELECT count(*) FROM claims") == 2
    head = SHEETS["claims"].partition("\n")[0]
    twice = f"{head}\nT1,C1,a number lies under,confirmed,Z1,D1,2024\nT1,C1,a number lies under,refuted,Z1,D1,2024\n"
    assert [fault[:3] for fault in faults(db, coded_package(tmp_path / "q", "harbour-2", {"claims": twice}))] == [
        ("claims", 3, "claim")
    ]
    load.ingest(db, coded_package(tmp_path / "r", "harbour-2", {"claims": twice.rpartition("T1,")[0]}))
    assert cell(db, "SELECT group_concat(status, ', ') FROM (SELECT status FROM claims ORDER BY observed_on)") == (
        "untested, supported, confirmed"
    )
    corrections.correct(db, "claims", "T1/C1/2024", {"status": "refuted"}, BY, WHY)
    assert cell(db, "SELECT status FROM claims WHERE observed_on = '2024'") == "refuted"
