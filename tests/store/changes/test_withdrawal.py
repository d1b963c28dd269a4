"""Surveys that amend one another, withdrawn and reinstated in any order, against a plain model of who said what."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from coded_package import coded_package
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from collection.ingest import load
from collection.language.errors import InputRefused
from collection.store import derive
from collection.store.base import database, read
from collection.store.changes import corrections
from collection.store.check import check
from collection.values import dates

pytestmark = pytest.mark.slow

BY, WHY = "R. Registrar", "the register says otherwise"
SURVEYS = ("one", "two", "three")
OBJECTS = "object,title,kind\nT1,Tram 1,tram\n"
CLEARED = "not recorded"
COLUMNS = {
    "made": ("1908", "1908~", "1909/1911", CLEARED),
    "colour": ("red", "green", "blue", CLEARED),
    "thickness_um": ("20", "30.5", "0.1", CLEARED),
    "coverage": ("intact", "trace", CLEARED),
}
"""Of a scheme and two layers: what a survey may say of a cell; blank says nothing."""
RECORDS = {
    ("schemes", "1"): ("made",),
    ("layers", "1"): ("colour", "thickness_um", "coverage"),
    ("layers", "2"): ("colour", "thickness_um", "coverage"),
}
Cell = tuple[tuple[str, str], str]


@dataclass
class Said:
    """The plain model: for each record every statement that altered it, in order, by a survey or by a named person.

    `by` has the surveys that a record belonged to: the one that brought it, and those that took it over when it
    belonged to none in account."""

    gone: set[str] = field(default_factory=set)
    withdrawn: set[tuple[str, str]] = field(default_factory=set)
    brought: dict[tuple[str, str], str] = field(default_factory=dict)
    said: dict[Cell, list[tuple[str | None, str | None]]] = field(default_factory=dict)
    by: dict[tuple[str, str], list[str]] = field(default_factory=dict)

    def standing(self, cell: Cell) -> tuple[str | None, str | None]:
        """The newest word of anybody who is heard; without any, the last one of the survey that brought the record."""
        said = self.said.get(cell, [])
        heard = [(who, what) for who, what in said if who is None or who not in self.gone]
        brought = [(who, what) for who, what in said if who == self.brought[cell[0]]]
        return next(iter([*heard[::-1], *brought[::-1]]), ("nobody", None))

    def value(self, cell: Cell) -> str | None:
        return self.standing(cell)[1]

    def is_held(self, record: tuple[str, str]) -> bool:
        return any(who not in self.gone for who in self.by.get(record, []))

    def counts(self, record: tuple[str, str]) -> bool:
        return record not in self.withdrawn and self.is_held(record)


class Surveys(RuleBasedStateMachine):
    """A scheme and two layers, which three surveys bring, amend and clear, and a registrar corrects."""

    folder: Path

    @initialize()
    def begin(self) -> None:
        self.number = 0
        self.handed_in: set[object] = set()
        self.path = self.folder / f"c{len(list(self.folder.iterdir()))}.db"
        database.create(self.path)
        self.model = Said()
        # What the records hang on is nobody's to withdraw here.
        load.ingest(
            self.path,
            self.package(
                "ground", {"objects": OBJECTS, "samples": "object,sample,place,method\nT1,S1,all,cross-section\n"}
            ),
        )

    def package(self, survey: str, sheets: dict[str, str]) -> Path:
        self.number += 1
        return coded_package(self.path.with_suffix("") / str(self.number), survey, sheets)

    @rule(survey=st.sampled_from(SURVEYS), data=st.data())
    def hand_in(self, survey: str, data: st.DataObject) -> None:
        """A package with some cells of some records; what it says otherwise than is stored amends."""
        given = {
            record: {column: data.draw(st.sampled_from(("", *COLUMNS[column]))) for column in columns}
            for record, columns in RECORDS.items()
            if data.draw(st.booleans())
        }
        sheets = {
            "schemes": "object,scheme,name,period,made\n",
            "layers": "object,sample,position,role,colour,thickness_um,coverage\n",
        }
        for (sheet, code), cells in given.items():
            row = ",".join(cells.values())
            sheets[sheet] += (
                f"T1,{code},first,original,{row}\n" if sheet == "schemes" else (f"T1,S1,{code},body colour,{row}\n")
            )
        folder = self.package(survey, {s: text for s, text in sheets.items() if text.count("\n") > 1})
        if survey in self.model.gone:
            with pytest.raises(InputRefused, match="1 fault"):
                load.ingest(self.path, folder, amend=WHY, by=BY)
            return
        corrected = {
            record: {
                column
                for column, text in cells.items()
                if text
                and record not in self.model.withdrawn
                and self.model.standing((record, column))[0] is None
                and self.model.value((record, column)) != (None if text == CLEARED else text)
            }
            for record, cells in given.items()
            if record in self.model.brought
        }
        meant = {record for record in sorted(corrected) if bool(corrected[record]) and data.draw(st.booleans())}
        report = load.ingest(
            self.path, folder, amend=WHY, by=BY, amend_corrected=[f"{r[0]}/{self.key(r)}" for r in sorted(meant)]
        )
        kept = {(record, column) for record in corrected.keys() - meant for column in corrected[record]}
        assert {(each.sheet, each.key, each.column) for each in report.kept} == {
            (record[0], self.key(record), column) for record, column in kept
        }
        self.handed_in.add(survey)
        for record, cells in given.items():
            if record in self.model.withdrawn:
                continue
            self.model.brought.setdefault(record, survey)
            for column, text in cells.items():
                cell = (record, column)
                value = None if text == CLEARED else text
                if text and value != self.model.value(cell) and cell not in kept:
                    self.model.said.setdefault(cell, []).append((survey, value))
            if not self.model.is_held(record):
                self.model.by.setdefault(record, []).append(survey)

    @precondition(lambda self: self.model.brought)
    @rule(data=st.data())
    def correct(self, data: st.DataObject) -> None:
        record = data.draw(st.sampled_from(sorted(self.model.brought)))
        column = data.draw(st.sampled_from(RECORDS[record]))
        text = data.draw(st.sampled_from(COLUMNS[column]))
        value = None if text == CLEARED else text
        same = value == self.model.value((record, column))
        try:
            corrections.correct(self.path, record[0], self.key(record), {column: text}, BY, WHY)
        except InputRefused:
            assert same
            return
        assert not same
        self.model.said.setdefault((record, column), []).append((None, value))

    @rule(survey=st.sampled_from(SURVEYS))
    def withdraw_survey(self, survey: str) -> None:
        self.turn("survey", survey, self.model.gone, survey)

    @rule(survey=st.sampled_from(SURVEYS))
    def withdraw_and_reinstate_survey(self, survey: str) -> None:
        """There and back is where it was, whatever else happened before: the facts, and whose each record is."""
        if survey not in self.handed_in or survey in self.model.gone:
            return
        before = self.said_and_whose()
        corrections.withdraw(self.path, "survey", survey, BY, WHY)
        corrections.reinstate(self.path, "survey", survey, BY, WHY)
        assert self.said_and_whose() == before

    def said_and_whose(self) -> tuple[str, list[tuple[Any, ...]]]:
        with database.opened(self.path, write=False) as db:
            records = "SELECT survey, from_file, from_row, withdrawn IS NULL FROM"
            rows = [row for table in ("schemes", "layers") for row in db.execute(f"{records} {table} ORDER BY rowid")]
            return read.facts_rows(db, "T1").sha256, rows

    @precondition(lambda self: self.model.brought)
    @rule(data=st.data())
    def withdraw_record(self, data: st.DataObject) -> None:
        record = data.draw(st.sampled_from(sorted(self.model.brought)))
        self.turn(record[0], self.key(record), self.model.withdrawn, record)

    def turn(self, sheet: str, key: str, out: set[Any], thing: object) -> None:
        """Out of account, or back."""
        act = corrections.reinstate if thing in out else corrections.withdraw
        if sheet == "survey" and thing not in self.handed_in:
            with pytest.raises(InputRefused, match="Not found"):
                act(self.path, sheet, key, BY, WHY)
            return
        act(self.path, sheet, key, BY, WHY)
        out.symmetric_difference_update({thing})

    @staticmethod
    def key(record: tuple[str, str]) -> str:
        return f"T1/{record[1]}" if record[0] == "schemes" else f"T1/S1/{record[1]}"

    @invariant()
    def every_cell_is_as_the_model_says(self) -> None:
        if not hasattr(self, "model"):
            return
        with database.opened(self.path, write=False) as db:
            facts = read.facts_rows(db, "T1")
            found = {("schemes", row.scheme): {"made": row.made} for row in facts.schemes} | {
                ("layers", str(row.position)): {
                    "colour": row.colour,
                    "coverage": row.coverage,
                    "thickness_um": row.thickness_um,
                }
                for row in facts.layers
            }
            assert set(found) == {record for record in self.model.brought if self.model.counts(record)}
            for record, cells in found.items():
                for column, value in cells.items():
                    said = self.model.value((record, column))
                    assert value == (float(said) if column == "thickness_um" and said else said), (record, column)
            for made, earliest, latest in db.execute("SELECT made, made_earliest, made_latest FROM schemes"):
                span = dates.bounds(made) if made else None
                assert (earliest, latest) == ((span.earliest, span.latest) if span else (None, None))
            assert list(derive.out_of_date(db)) == []
            assert derive.behind(db) == []

    def teardown(self) -> None:
        if hasattr(self, "model"):
            report = check(self.path)
            assert (report.damage, report.notes) == ((), ())


def test_whatever_surveys_say_and_unsay(tmp_path: Path) -> None:
    """Amendments, cleared cells, corrections, and withdrawals of surveys and records in any order; derived rows are
    those of the records all the way."""
    machine = type("SurveysHere", (Surveys,), {"folder": tmp_path})
    from hypothesis.stateful import run_state_machine_as_test

    run_state_machine_as_test(
        machine, settings=settings(max_examples=max(15, settings().max_examples // 6), stateful_step_count=14)
    )


# ---------------------------------------------------------------- by example


@pytest.fixture
def db(tmp_path: Path) -> Path:
    path = tmp_path / "collection.db"
    database.create(path)
    layers = "object,sample,position,role,colour,thickness_um,coverage\nT1,S1,1,body colour,{}\n"
    sheets = {"objects": OBJECTS, "samples": "object,sample,place,method\nT1,S1,all,cross-section\n"}
    for survey, cells in (("one", "red,20,intact"), ("two", "red,30,not recorded"), ("three", "green,,")):
        load.ingest(
            path,
            coded_package(
                tmp_path / survey, survey, {**(sheets if survey == "one" else {}), "layers": layers.format(cells)}
            ),
            amend=WHY,
            by=BY,
        )
    return path


def layer(path: Path) -> tuple[str | None, float | None, str | None]:
    with database.opened(path, write=False) as db:
        (row,) = read.facts_rows(db, "T1").layers
        return row.colour, row.thickness_um, row.coverage


def test_what_a_later_survey_left_alone_comes_back_from_under_it(db: Path) -> None:
    """The second survey altered the thickness and cleared the coverage, the third only the colour: without the
    second, thickness and coverage are the first one's, and the colour is the third one's."""
    assert layer(db) == ("green", 30.0, None)
    corrections.withdraw(db, "survey", "two", BY, WHY)
    assert layer(db) == ("green", 20.0, "intact")
    corrections.withdraw(db, "survey", "three", BY, WHY)
    assert layer(db) == ("red", 20.0, "intact")
    corrections.reinstate(db, "survey", "two", BY, WHY)
    assert layer(db) == ("red", 30.0, None)
    corrections.reinstate(db, "survey", "three", BY, WHY)
    assert layer(db) == ("green", 30.0, None)


def test_a_correction_outlives_the_survey_whose_words_it_mended(db: Path) -> None:
    """A named person's word stands until a newer one: withdrawing a survey takes only what the survey said."""
    corrections.correct(db, "layers", "T1/S1/1", {"thickness_um": "31"}, BY, "measured again")
    corrections.correct(db, "layers", "T1/S1/1", {"coverage": "trace"}, BY, "looked again")
    for survey in ("two", "three"):
        corrections.withdraw(db, "survey", survey, BY, WHY)
    assert layer(db) == ("red", 31.0, "trace")
    for survey in ("three", "two"):
        corrections.reinstate(db, "survey", survey, BY, WHY)
    assert layer(db) == ("green", 31.0, "trace")
    assert check(db).damage == ()
