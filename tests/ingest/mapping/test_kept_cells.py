"""The cells of a list that no column took: shown, found, told when they change, and a hazard among them told at once."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from asked import ask
from mapped_lists import OBJECTS, PLAIN, report_of, write

from collection.cli import run
from collection.store.base import database, read
from collection.store.base.listed_cells import listed_cells
from collection.store.changes import corrections, statements
from collection.store.check import check

LIST = """\
No,Title,Kind,Remarks,Shelf
T1,Sign,sign,"Back painted green,
may hold arsenic; wear gloves",12b
T2,Horse,carved horse,repainted 1988,Tür 3
T3,Case,case,,
"""


@pytest.fixture
def listed(db: Path, tmp_path: Path) -> Path:
    """The list, then the list of a year later: one remark changed, one new, T2's shelf is blank now."""
    report_of(db, write(tmp_path / "a", LIST, PLAIN, name="list.csv"))
    later = LIST.replace("may hold arsenic", "holds arsenic").replace("Tür 3", "").replace("case,,", "case,glass gone,")
    report_of(db, write(tmp_path / "b", later, PLAIN, name="later.csv"))
    return db


def told(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert run([*words]) == 0
    return capsys.readouterr().out


def answered(capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    return json.loads(told(capsys, *words, "--json"))


def test_show_listed_gives_every_cell_with_its_list_row_and_day(
    listed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Newest first; what a cell said before stands below it; lines of a cell stay lines."""
    (day,) = ask(listed, "SELECT substr(at, 1, 10) FROM changes LIMIT 1")[0]
    assert told(capsys, "show", str(listed), "T1", "--listed").splitlines() == [
        "T1  Sign",
        "CELLS OF LISTS that no column took whole, private",
        f"later.csv, row 2, {day}",
        "  Remarks: Back painted green,",
        "    holds arsenic; wear gloves",
        f"    before, list.csv, row 2, {day}: Back painted green,",
        "      may hold arsenic; wear gloves",
        f"list.csv, row 2, {day}",
        "  Shelf: 12b",
    ]
    (cell,) = answered(capsys, "show", str(listed), "T2", "--listed")["listed"][1:]
    assert cell == {
        "heading": "Shelf",
        "text": "Tür 3",
        "list": "list.csv",
        "row": 3,
        "on": day,
        "survey": "list-1",
        "change": 1,
        "in_account": True,
        "earlier": [],
    }, "a blank says nothing, so what stood there stays"
    screen = " ".join(told(capsys, "show", str(listed), "T1").split())
    assert "2 cells of lists that no column took whole: --listed" in screen


def test_an_object_without_such_cells_says_so(db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    report_of(db, write(tmp_path / "a", "No,Title,Kind\n1,Gate,door\n", PLAIN))
    assert "No list brought a cell" in told(capsys, "show", str(db), "1", "--listed")
    assert answered(capsys, "show", str(db), "1", "--listed")["listed"] == []
    assert "--listed" not in told(capsys, "show", str(db), "1").replace("--all, --history", "")


@pytest.mark.parametrize(
    ("words", "found", "because"),
    [
        (["arsenic"], ["T1"], "no column took whole, Remarks: “Back painted green, holds arsenic; wear gloves”"),
        (["green sign"], [], ""),
        (["green", "sign"], ["T1"], "object, title: “Sign”; cell of a list that no column took whole, Remarks"),
        (["tur"], ["T2"], "no column took whole, Shelf: “Tür 3”"),
        (["repaint*"], ["T2"], "Remarks: “repainted 1988”"),
        (["holds", "arsenic", "12b"], ["T1"], "Shelf: “12b”"),
        (["may hold"], [], ""),
        (["Remarks"], [], ""),
    ],
)
def test_search_finds_the_words_and_says_where_they_stand(
    listed: Path, words: list[str], found: list[str], because: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Words of one object may stand in its records and in such cells; what a cell said before is not searched."""
    results = answered(capsys, "search", str(listed), *words)["results"]
    assert [row["object"] for row in results] == found
    assert all(because in row["why"] for row in results)


def test_the_evidence_of_a_cell_is_its_list_and_row(listed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (result,) = answered(capsys, "search", str(listed), "gloves")["results"]
    (evidence,) = result["evidence"]
    assert (evidence["kind"], evidence["key"], evidence["column"]) == ("unmapped_cells", "T1", "Remarks")
    assert (evidence["read"], evidence["survey"], evidence["by"]) == ("later.csv, row 2", "list-1", None)


def test_a_long_cell_is_quoted_around_the_word(db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = " ".join(f"word{n}" for n in range(200)) + " vermilion " + " ".join(f"more{n}" for n in range(200))
    report_of(db, write(tmp_path / "a", f"No,Title,Kind,Note\n1,Gate,door,{text}\n", PLAIN))
    (result,) = answered(capsys, "search", str(db), "vermilion")["results"]
    value = result["evidence"][0]["value"]
    assert "vermilion" in value
    assert value[0] == value[-1] == "…"
    assert len(value) <= 162


def test_history_tells_that_cells_came_and_changed_but_not_what_they_said(
    listed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """They are private; the JSON has what they said."""
    said = told(capsys, "show", str(listed), "T1", "--history")
    assert "kept 2 cells of a list that no column took whole (private)." in said
    assert "cell of later.csv, Remarks: changed (private)." in said
    assert "arsenic" not in said
    earlier = answered(capsys, "show", str(listed), "T1", "--history")["listed"][0]["earlier"]
    assert [cell["text"] for cell in earlier] == ["Back painted green,\nmay hold arsenic; wear gloves"]


def test_an_ingest_that_changed_only_cells_counts_them(
    db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """New: no content of this survey under the heading yet. Changed: another than this survey brought last."""
    first, _ = report_of(db, write(tmp_path / "a", LIST, PLAIN))
    assert first.as_json()["listed"] == {"new": 4, "changed": 0}
    later = write(tmp_path / "b", LIST.replace("12b", "14").replace("case,,", "case,glass gone,"), PLAIN, name="b.csv")
    words = ("ingest", str(db), str(later[0]), "--map", str(later[1]))
    assert answered(capsys, *words, "--dry-run")["listed"] == {"new": 1, "changed": 1}
    said = told(capsys, *words)
    assert "nothing was changed" not in said
    assert "list-1: no record changes; new or different: 2 cells of the list that no column takes whole." in said
    assert "new 1, changed 1" in said
    again = told(capsys, *words)
    assert "list-1: the same as what is stored; nothing was changed." in again
    assert answered(capsys, *words)["listed"] == {"new": 0, "changed": 0}
    assert ask(db, 'SELECT "key", heading, value, list_row FROM unmapped_cells WHERE change = 2') == [
        ("T1", "Shelf", "14", 2),
        ("T3", "Remarks", "glass gone", 4),
    ]


def test_two_lists_with_one_heading_hide_nothing_of_each_other(
    db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A second survey's remark stands beside the first one's; where it says the same, once is enough."""
    report_of(db, write(tmp_path / "a", LIST, PLAIN))
    second = PLAIN.replace("list-1", "list-2")
    other = (
        LIST.replace("may hold arsenic; wear gloves", "needs a frame")
        .replace("T1,Sign,sign", "T1,,")
        .replace("T2,Horse,carved horse", "T2,,")
    )
    files = write(tmp_path / "b", other.replace("T3,Case,case,,\n", ""), second, name="other.csv")
    files[1].write_text(second.replace(OBJECTS, "[objects]\n"), "utf-8")
    report, _ = report_of(db, files)
    assert report.listed == {"new": 1, "changed": 0}
    with database.opened(db, write=False) as connection:
        said = [(cell.survey, cell.heading) for cell in listed_cells(connection, "T1")]
    assert said == [("list-2", "Remarks"), ("list-1", "Remarks"), ("list-1", "Shelf")]
    for word in ("arsenic", "frame"):
        assert answered(capsys, "search", str(db), word)["total"] == 1


@pytest.mark.parametrize(
    ("remark", "word"),
    [
        ("Paint tested: contains ARSENIC", "arsenic"),
        ("asbestos cloth behind the lamp", "asbestos"),
        ("dial: radium?", "radium"),
        ("white lead", "lead"),
        ("some mould on the back", "mould"),
        ("leads to the yard; led lights; leaded", None),
        ("nothing", None),
    ],
)
def test_a_hazard_in_a_cell_that_no_column_takes_is_one_warning(
    db: Path, tmp_path: Path, remark: str, word: str | None
) -> None:
    """Whole words only, so that `leads` is no lead; once, however often the word stands in the cell."""
    text = f"No,Title,Kind,Remarks\n1,Gate,door,\n2,Sign,sign,{remark}. {remark}.\n"
    report, _ = report_of(db, write(tmp_path / "a", text, PLAIN))
    assert [(w.row, w.message) for w in report.warnings] == (
        []
        if word is None
        else [
            (3, f"Column 'Remarks' speaks of {word}, and no column of ours takes it: add it to hazards if it is one.")
        ]
    )


def test_a_hazard_that_is_recorded_or_was_told_is_not_told_again(
    db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A list that changes elsewhere tells it once; a mapping or a record that has the hazard leaves nothing to tell."""
    text = "No,Title,Kind,Remarks,Shelf\n1,Gate,door,lead and arsenic,a\n"
    report, _ = report_of(db, write(tmp_path / "a", text, PLAIN))
    assert report.warning_count == 2
    report, _ = report_of(db, write(tmp_path / "b", text.replace(",a\n", ",b\n"), PLAIN))
    assert (report.listed, report.warning_count) == ({"new": 0, "changed": 1}, 0)
    hazards = (
        '[[rows]]\nsheet = "hazards"\n[rows.columns]\nhazard = { numbered = "H" }\n'
        'kind = { take = "Remarks", words = { "lead and arsenic" = "arsenic in paint" } }\n'
        'status = { say = "suspected" }\n'
    )
    files = write(tmp_path / "c", text.replace("1,", "9,"), PLAIN.replace("list-1", "list-3") + hazards)
    report, _ = report_of(db, files)
    assert report.warning_count == 0, "the words of the cell went into a record"
    assert run(["try", str(files[0]), "--map", str(files[1])]) == 0
    assert "speaks of" not in capsys.readouterr().out


def test_try_warns_of_it_without_a_database(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = write(tmp_path, "No,Title,Kind,Remarks\n1,Gate,door,arsenic\n2,Sign,sign,arsenic green\n", PLAIN)
    said = told(capsys, "try", str(files[0]), "--map", str(files[1]))
    assert said.count("speaks of arsenic") == 1
    assert "list.csv, rows 2–3: Column 'Remarks' speaks of arsenic" in said


def test_such_cells_are_no_facts(listed: Path, tmp_path: Path, db: Path) -> None:
    """The facts of an object are the same, whatever its list says beside."""
    with database.opened(listed, write=False) as connection:
        facts = read.facts_rows(connection, "T1").canonical
    assert "arsenic" not in facts
    assert "12b" not in facts


def test_cells_stay_found_when_the_object_has_another_number(listed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    statements.rename(listed, "objects", "T1", "2024.1", "R. Registrar", "new numbers")
    assert [row["object"] for row in answered(capsys, "search", str(listed), "gloves")["results"]] == ["2024.1"]
    assert len(answered(capsys, "show", str(listed), "2024.1", "--listed")["listed"]) == 2
    corrections.withdraw(listed, "objects", "T2", "R. Registrar", "sold")
    assert answered(capsys, "search", str(listed), "repainted")["total"] == 0
    assert check(listed).damage == ()
    assert run(["refresh", str(listed)]) == 0
    assert check(listed).damage == ()


def test_the_cells_of_a_withdrawn_survey_count_no_more_and_stay_readable(
    db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """They are no words for search, and hide nothing: the same cell in another list is new then."""
    report_of(db, write(tmp_path / "a", "No,Title,Kind\n1,Gate,door\n", PLAIN))
    adds = PLAIN.replace(OBJECTS, "[objects]\n")
    second = write(tmp_path / "b", "No,Remarks\n1,arsenic green\n", adds.replace("list-1", "list-2"), name="b.csv")
    assert report_of(db, second)[0].listed == {"new": 1, "changed": 0}
    assert answered(capsys, "search", str(db), "arsenic")["total"] == 1
    corrections.withdraw(db, "survey", "list-2", "R. Registrar", "the wrong list")
    assert check(db).damage == ()
    assert answered(capsys, "search", str(db), "arsenic")["total"] == 0
    assert "of a survey that was withdrawn" in told(capsys, "show", str(db), "1", "--listed")
    third = write(tmp_path / "c", "No,Remarks\n1,arsenic green\n", adds.replace("list-1", "list-3"), name="c.csv")
    assert report_of(db, third)[0].listed == {"new": 1, "changed": 0}
    assert answered(capsys, "search", str(db), "arsenic")["total"] == 1
    corrections.reinstate(db, "survey", "list-2", "R. Registrar", "the right one after all")
    assert [cell["list"] for cell in answered(capsys, "show", str(db), "1", "--listed")["listed"]] == ["c.csv", "b.csv"]
    assert check(db).damage == ()
