"""What the companion beside the swab reads of a survey that is being written."""

from __future__ import annotations

import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import made_workbooks
import openpyxl
import pytest
from coded_package import coded_package
from open_surveys import PANEL, SAMPLE, TESTED, ask, folder, read_now, spoiled, with_tests

from collection.cli.text.companion import screen
from collection.compute.case import Case
from collection.compute.windows.companion.coats import coats_of
from collection.ingest.companion.open_survey import READ
from collection.ingest.load import ingest
from collection.language.errors import InputRefused, together
from collection.records.facts import Facts
from collection.store.base import database, read


def stood(facts: Facts) -> set[str]:
    return {row.test for row in facts.responses if row.response == "none seen"}


def test_a_folder_a_workbook_and_a_zip_file_of_one_survey_say_the_same(tmp_path: Path) -> None:
    """Without the pictures, which nobody looks at beside the swab."""
    plain = SAMPLE / "2014"
    book = made_workbooks.from_folder(plain, tmp_path / "harbour.xlsx", real_dates=True)
    packed = tmp_path / "harbour.zip"
    with zipfile.ZipFile(packed, "w") as archive:
        for file in plain.iterdir():
            if file.is_file():
                archive.write(file, file.name)
    same = [read_now(path, "OHM-1962-7") for path in (plain, book, packed)]
    assert len({each.facts.sha256 for each in same}) == 1
    assert len(same[0].facts.tests) >= 6
    assert [(each.unread, each.harm) for each in same] == [((), ())] * 3


def test_what_is_read_of_a_sound_package_is_what_the_database_would_hold(tmp_path: Path) -> None:
    package = coded_package(tmp_path / "survey")
    database.create(tmp_path / "c.db")
    ingest(tmp_path / "c.db", package)
    with database.opened(tmp_path / "c.db", write=False) as db:
        stored = read.facts_rows(db, "T1")
    seen_here = {sheet: rows for sheet, rows in stored.document().items() if sheet in ("object", *READ)}
    assert read_now(package, "T1").facts.document() == seen_here
    assert read_now(tmp_path / "c.db", "T1").facts.document() == stored.document()


def test_a_half_filled_workbook_that_is_open_in_a_spreadsheet_still_serves(tmp_path: Path, have: Path) -> None:
    """Codes handed out and not used yet, a test without its agent, a lock file beside it."""
    path = made_workbooks.from_folder(
        folder(tmp_path / "x", with_tests(("isooctane", "none seen", "none seen"))), tmp_path / "x.xlsx"
    )
    before = ask(path, have)
    book = openpyxl.load_workbook(path)
    places = {str(cell.value): cell.column for cell in book["tests"][1]}
    for heading, text in (("object", "EX-1"), ("test", "C2"), ("place", "LEFT")):
        book["tests"].cell(3, places[heading]).value = text
    book["samples"].cell(3, 1).value = "EX-1"
    book.save(path)
    (tmp_path / ".~lock.x.xlsx#").write_text("Ada Penrose")
    found = ask(path, have)
    assert (found.step, found.in_use, before.in_use) == (before.step, True, False)
    assert {each.spot for each in found.open.unread} == {"tests row 3 (agent)", "samples row 3 (method, place, sample)"}
    text = " ".join("\n".join(screen(found)).split())
    assert "2 rows cannot be read yet: " in text
    assert "what is not saved is not read" in text


@pytest.mark.parametrize(
    ("column", "written"),
    [
        ("dwell_s", "half a minute"),
        ("application", "swab"),
        ("tested_on", "last week"),
        ("temperature_c", "warm"),
        ("agent", "acetone 50%"),
        ("passes", "few"),
    ],
)
def test_a_test_that_cannot_be_read_whole_clears_nothing_and_keeps_its_harm(
    tmp_path: Path, have: Path, column: str, written: str
) -> None:
    rows = with_tests(("acetone", "removed", "none seen"), ("xylene", "none seen", "softened"))
    assert ask(folder(tmp_path / "sound", rows), have).step.kind == "found"
    path = folder(tmp_path / "a", spoiled(rows, "tests", 0, **{column: written}))
    found = ask(path, have)
    assert "C1" not in stood(found.facts)
    assert found.step.kind != "found"
    assert found.step.agent is None or found.step.agent.text != "acetone"
    assert any("tests row 2" in each.spot and column in each.spot for each in found.open.unread)
    harmed = ask(folder(tmp_path / "b", spoiled(rows, "tests", 1, **{column: written})), have)
    if column == "agent":
        assert [each.spot for each in harmed.open.harm] == ["test C2"]
        assert (harmed.step.kind, harmed.step.agent) == ("mend", None)
        assert "MEND FIRST test C2." in "\n".join(screen(harmed))
    else:
        assert ("xylene", ("C2",)) in harmed.step.stopped


@pytest.mark.parametrize("cells", [{"response": "fine"}, {"response": ""}, {"position": "two"}, {"test": ""}])
def test_a_response_that_cannot_be_read_clears_nothing(tmp_path: Path, have: Path, cells: Mapping[str, str]) -> None:
    """Nor does the rest of its test; and where nobody knows which coat was meant, it may tell of harm."""
    rows = with_tests(("acetone", "removed", "none seen"))
    found = ask(folder(tmp_path / "x", spoiled(rows, "responses", 1, **cells)), have)
    assert stood(found.facts) == set()
    assert found.step.kind != "found"
    assert any("responses row 3" in each.spot for each in found.open.unread)
    if cells.get("response", "none seen") != "none seen":
        assert [each.spot for each in found.open.harm] == ["responses row 3 (response)"]
        assert "MEND FIRST responses row 3 (response)." in "\n".join(screen(found))


@pytest.mark.parametrize(
    ("sheet", "number", "cells"),
    [
        ("schemes", 1, {"period": "newish"}),
        ("schemes", 1, {"certainty": "fairly"}),
        ("schemes", 1, {"basis": "x" * 30000}),
        ("schemes", 1, {"keep": "perhaps"}),
        ("layers", 1, {"scheme": "a/b"}),
    ],
)
def test_a_coat_of_which_it_cannot_be_read_that_it_is_later_is_kept(
    tmp_path: Path, sheet: str, number: int, cells: Mapping[str, str]
) -> None:
    sound = coats_of(Case(read_now(folder(tmp_path / "a", PANEL)).facts), "LEFT")
    assert sound.remove is not None
    assert sound.remove.thing == "2/body colour"
    found = coats_of(Case(read_now(folder(tmp_path / "b", spoiled(PANEL, sheet, number, **cells))).facts), "LEFT")
    assert (found.kind, found.remove) == ("kept", None)


def test_a_coat_of_unknown_role_stays_in_the_stack_and_a_reserve_of_unknown_place_is_everywhere(
    tmp_path: Path, have: Path
) -> None:
    rows = {**spoiled(PANEL, "layers", 0, role="paint"), "reserves": [{"reserve": "R1", "place": "", "kind": "window"}]}
    found = ask(folder(tmp_path / "x", rows), have)
    assert found.coats.keep is not None
    assert found.coats.keep.thing == "1/other"
    assert "RESERVE  R1 must stay untouched" in "\n".join(screen(found))


BAD = "\x07 ?"


def test_no_cell_that_cannot_be_read_clears_anything(tmp_path: Path) -> None:
    """Each cell of the panel in turn: nothing more has stood a test, no further coat may go, and what harmed stays or
    is told."""
    rows = with_tests(("acetone", "removed", "softened"), ("1 xylene + 3 isooctane", "removed", "none seen"))
    sound = read_now(folder(tmp_path / "sound", rows)).facts
    harm = {(row.test, row.position) for row in sound.responses if row.response != "none seen"}
    for sheet, number, column in [
        (sheet, number, column)
        for sheet, held in rows.items()
        if sheet != "objects"
        for number, row in enumerate(held)
        for column in row
    ]:
        place = tmp_path / f"{sheet}-{number}-{column}"
        found = read_now(folder(place, spoiled(rows, sheet, number, **{column: BAD})))
        assert found.unread, (sheet, number, column)
        assert stood(found.facts) <= stood(sound)
        coats = coats_of(Case(found.facts), "LEFT")
        assert coats.remove is None or coats.remove.thing in ("2/body colour", "2/other"), (sheet, number, column)
        assert coats.keep is None or coats.keep.kept
        left = {(row.test, row.position) for row in found.facts.responses if row.response != "none seen"}
        if sheet in ("tests", "responses"):
            assert harm <= left or found.harm, (sheet, number, column)


def test_a_row_of_the_object_in_another_writing_is_told_and_not_passed_over(tmp_path: Path, have: Path) -> None:
    rows = spoiled(with_tests(("acetone", "removed", "softened")), "responses", 1, object="ex-1")
    found = ask(folder(tmp_path / "x", rows), have)
    assert (found.step.kind, found.step.tests) == ("mend", ("responses row 3 (object)",))


def test_a_heading_that_is_not_known_makes_every_row_of_its_sheet_doubtful(tmp_path: Path, have: Path) -> None:
    rows = with_tests(("acetone", "removed", "none seen"))
    path = folder(tmp_path / "x", rows)
    sheet = path / "tests.csv"
    sheet.write_text(sheet.read_text().replace("dwell_s", "dwel"))
    found = ask(path, have)
    assert found.step.kind != "found"
    assert stood(found.facts) == set()
    schemes = path / "schemes.csv"
    schemes.write_text(schemes.read_text().replace("certainty", "how sure"))
    assert ask(path, have).step.kind == "kept"


def test_a_sheet_that_breaks_off_is_refused_because_harm_may_stand_in_it(tmp_path: Path, have: Path) -> None:
    path = folder(tmp_path / "x", with_tests(("acetone", "removed", "softened")))
    with open(path / "responses.csv", "a") as file:
        file.write('EX-1,C1,"removed,S1,2\n')
    with pytest.raises(InputRefused) as refused:
        ask(path, have)
    assert "quotation mark" in together(refused.value.faults)[0]


def test_one_code_for_two_tests_is_harm_by_either_and_clears_neither(tmp_path: Path, have: Path) -> None:
    rows = with_tests(("acetone", "none seen", "softened"), ("ethanol", "none seen", "none seen"))
    rows["tests"][1]["test"] = rows["responses"][2]["test"] = rows["responses"][3]["test"] = "C1"
    found = ask(folder(tmp_path / "x", rows), have)
    assert {name for name, _ in found.step.stopped} == {"acetone", "ethanol"}
    assert stood(found.facts) == set()


def test_an_earlier_survey_or_the_database_remembers_what_harmed(tmp_path: Path, have: Path) -> None:
    """A new survey of a known object holds none of its old tests: `--also` brings them, and no word takes harm back."""
    earlier = folder(tmp_path / "old", with_tests(("acetone", "removed", "softened")))
    now: dict[str, list[dict[str, Any]]] = {
        "objects": PANEL["objects"],
        "tests": [{"test": "D1", "agent": "isooctane", **TESTED}],
        "responses": [
            {"test": "D1", "response": "none seen", "scheme": "2"},
            {"test": "D1", "response": "none seen", "scheme": "1"},
            {"test": "C1", "response": "none seen", "sample": "S1", "position": 1},
        ],
    }
    later = folder(tmp_path / "new", now)
    database.create(tmp_path / "c.db")
    ingest(tmp_path / "c.db", earlier)
    assert ask(later, have).step.kind == "no coats"
    for known in (earlier, tmp_path / "c.db"):
        found = ask(later, have, also=(known,))
        assert ("acetone", ("C1",)) in found.step.stopped
        assert found.step.agent is not None
        assert "acetone" not in found.step.agent.text
    assert "Schemes 1, 2 are not described here" not in "\n".join(screen(found))
