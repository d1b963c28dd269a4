"""A database that surveyors and a registrar work on in any order, and what it was seen to hold after each change."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Collection
from contextlib import suppress
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import strategies as st
from packaged_rows import hand_in, needed, store
from strategies import AGENTS, codes, object_rows, value
from tram_records import raw

from collection.ingest.load import IngestReport
from collection.language.errors import InputRefused
from collection.records.cells import CLEAR
from collection.records.codes import OWN_CODES
from collection.records.row import Record
from collection.records.sheets import BY_SHEET, SHEETS
from collection.store.base import database, keys
from collection.store.changes import change as changing
from collection.store.changes import corrections, statements
from collection.store.decide.consequences import carried_out
from collection.store.schema.tables import stored_names, stored_values

Contents = dict[tuple[str, tuple[Any, ...]], dict[str, Any]]
BY, WHY = "A. Surveyor", "the register says otherwise"


def present(db: sqlite3.Connection) -> Contents:
    """Every record as it stands, by plain SELECT."""
    found: Contents = {}
    for cls in SHEETS:
        names = stored_names(cls)
        for row in db.execute(f"SELECT {', '.join(names)} FROM {cls.table}"):
            content = dict(zip(names, row, strict=True))
            found[cls.sheet, tuple(content[name] for name in cls.key)] = content
    return found


def all_contents(db: sqlite3.Connection) -> dict[tuple[str, tuple[Any, ...]], list[dict[str, Any]]]:
    """Every content each record ever had, from history and table alone, in the order of its revisions."""
    found: dict[tuple[str, tuple[Any, ...]], list[dict[str, Any]]] = {}
    for sheet, content in db.execute("SELECT sheet, content FROM history ORDER BY id"):
        row = json.loads(content)
        found.setdefault((sheet, tuple(row[name] for name in BY_SHEET[sheet].key)), []).append(row)
    for key, row in present(db).items():
        found.setdefault(key, []).append(row)
    return found


def as_of(contents: dict[tuple[str, tuple[Any, ...]], list[dict[str, Any]]], change: int) -> Contents:
    """The records as they stood after a change."""
    return {
        key: [row for row in rows if row["change"] <= change][-1]
        for key, rows in contents.items()
        if rows[0]["change"] <= change
    }


def exact(contents: Contents) -> dict[Any, dict[str, str]]:
    """For comparing to the last bit: 1 and 1.0, 0.1 and 0.1 + 1e-17 are different texts."""
    return {key: {name: repr(cell) for name, cell in row.items()} for key, row in contents.items()}


class Play:
    """A database that surveyors and a registrar work on, and what it was seen to hold after each change."""

    def __init__(self, path: Path, rows: list[Record]) -> None:
        self.path = path
        self.db = database.connect(path, write=False)
        self.seen: dict[int, Contents] = {}
        self.number = 0
        for survey in "AB":
            self.note(store(path, survey, []).change)
        self.bring("C", rows)

    def note(self, change: int | None) -> None:
        if change is not None:
            self.seen[change] = present(self.db)

    def bring(self, survey: str, rows: list[Record]) -> None:
        """New records: each cell comes out as it went in, to the last bit and of the same type."""
        change = store(self.path, survey, rows).change
        self.note(change)
        assert change is not None
        for row in rows:
            kept = self.seen[change][row.sheet, tuple(stored_values(row)[name] for name in row.key)]
            assert (kept["survey"], kept["from_file"], kept["revision"]) == (survey, f"{row.sheet}.csv", 1)
            for name, cell in stored_values(row).items():
                assert kept[name] == cell, (row.sheet, name)
                assert type(kept[name]) is type(cell)

    def another(self, data: st.DataObject) -> None:
        """A package with an object more, from a survey that is there already or a new one."""
        survey = data.draw(st.sampled_from("ABD"))
        if self.gone("survey", survey):
            self.attempt(lambda: store(self.path, survey, []).change)
            return
        self.number += 1
        self.bring(survey, data.draw(object_rows(f"N{self.number}/1")))

    def amend(self, data: st.DataObject) -> None:
        """A package that says something else of a record: the cells it fills change; the others, blank or left out, stay,
        and so does what somebody corrected. The record stays with its survey, where that is in account."""
        sheet, key = self.a_record(data, but=("survey",))
        cls = BY_SHEET[sheet]
        before = present(self.db)[sheet, key]
        said = dict(needed(self.path, sheet, key))
        drawn: dict[str, Any] = {}
        for column in cls.columns():
            free = column.name not in cls.key and not column.reference and column.kind not in ("coat", "file")
            if free and data.draw(st.booleans()):
                optional = st.sampled_from((None, CLEAR)) | value(column)
                drawn[column.name] = data.draw(value(column) if column.required else optional)
        survey = data.draw(st.sampled_from("AB"))
        expected = {name: None if cell is CLEAR else cell for name, cell in (said | drawn).items() if cell is not None}
        corrected = {
            name
            for name, cell in expected.items()
            if name not in cls.key and cell != before[name] and self.is_corrected(sheet, key, name)
        }
        taken_over = self.gone("survey", before["survey"])
        reports: list[IngestReport] = []

        def act() -> int | None:
            reports.append(hand_in(self.path, survey, [(sheet, said | drawn)], amend=True))
            return reports[-1].change

        change = self.attempt(act)
        if reports and before["withdrawn"] is None:
            # The package says its survey's row once more, of which cells may have been corrected too.
            assert {each.column for each in reports[-1].kept if each.sheet == sheet} == corrected
        if change is None:
            return
        kept = self.seen[change][sheet, key]
        own = (survey, f"{sheet}.csv", 2)
        theirs = (before["survey"], before["from_file"], before["from_row"])
        for name in corrected:
            del expected[name]
        assert kept == before or (kept["survey"], kept["from_file"], kept["from_row"]) == (
            own if taken_over or before["survey"] == survey else theirs
        )
        assert {name: kept[name] for name in expected} == expected
        bounds = {f"{name}_{end}" for name in expected for end in ("earliest", "latest")}
        provenance = {"survey", "from_file", "from_row", "revision", "change"}
        for name in before.keys() - expected.keys() - bounds - provenance:
            assert repr(kept[name]) == repr(before[name]), name
        same_again = hand_in(self.path, survey, [(sheet, said | drawn)], amend=True)
        assert same_again.change is None

    def correct(self, data: st.DataObject) -> None:
        sheet, key = self.a_record(data)
        cls = BY_SHEET[sheet]
        column = data.draw(st.sampled_from([c for c in cls.columns() if c.name not in cls.key]))
        if column.kind == "agent":
            text = data.draw(st.sampled_from(AGENTS))
        elif column.reference or column.kind == "coat":
            text = data.draw(st.sampled_from(("all", "1", "nowhere", "not recorded")))
        else:
            odd = st.sampled_from(("not recorded", "", "nan", "1e400", "\x00", "1_0"))
            text = data.draw(odd | value(column).map(str))
        act = corrections.correct
        change = self.attempt(lambda: act(self.path, sheet, keys.full_text(key), {column.name: text}, BY, WHY))
        if change is not None:
            bounds = (f"{column.name}_earliest", f"{column.name}_latest")
            assert column.name in self.altered(sheet, key, change) <= {column.name, *bounds}

    def withdraw(self, data: st.DataObject) -> None:
        sheet, key = self.a_record(data)
        change = self.attempt(lambda: corrections.withdraw(self.path, sheet, keys.full_text(key), BY, WHY))
        if change is not None:
            assert self.altered(sheet, key, change) == {"withdrawn"}
            assert self.seen[change][sheet, key]["withdrawn"] == change

    def reinstate(self, data: st.DataObject) -> None:
        gone = [key for key, row in present(self.db).items() if row["withdrawn"] is not None]
        sheet, key = data.draw(st.sampled_from(sorted(gone, key=repr))) if gone else self.a_record(data)
        change = self.attempt(lambda: corrections.reinstate(self.path, sheet, keys.full_text(key), BY, WHY))
        if change is not None:
            assert self.altered(sheet, key, change) == {"withdrawn"}
            assert self.seen[change][sheet, key]["withdrawn"] is None

    def survey(self, data: st.DataObject) -> None:
        act = data.draw(st.sampled_from((corrections.withdraw, corrections.reinstate)))
        self.attempt(lambda: act(self.path, "survey", data.draw(st.sampled_from("ABC")), BY, WHY))

    def rename(self, data: st.DataObject) -> None:
        """No stored row changes; only what is read does."""
        sheet, key = self.a_record(data, among=OWN_CODES)
        code = data.draw(codes(slash=sheet == "objects"))
        before = present(self.db)
        self.attempt(lambda: statements.rename(self.path, sheet, "/".join(map(str, key[:2])), code, BY, WHY))
        assert present(self.db) == before

    def same(self, data: st.DataObject) -> None:
        """Two codes of one kind, which may be one thing or, taken back, two again; no stored row changes."""
        sheet, key = self.a_record(data, among=statements.MERGED)
        others = sorted({other[:2] for kind, other in present(self.db) if kind == sheet} - {key[:2]}, key=repr)
        if not others:
            return
        one, two = ("/".join(map(str, part)) for part in (key[:2], data.draw(st.sampled_from(others))))
        holds, before = data.draw(st.booleans()), present(self.db)
        self.attempt(lambda: statements.same(self.path, sheet, one, two, BY, WHY, holds=holds))
        assert present(self.db) == before

    def tried_out(self, data: st.DataObject) -> None:
        """What a dry run does is undone to the last row."""
        sheet, key = self.a_record(data)
        act = data.draw(st.sampled_from((corrections.withdraw, corrections.reinstate)))
        before = self.all_rows()
        with suppress(InputRefused):
            carried_out(self.path, lambda db: [], lambda db: act(db, sheet, keys.full_text(key), BY, WHY), dry_run=True)
        assert self.all_rows() == before

    def interrupted(self, data: st.DataObject) -> None:
        """A change that breaks off half way."""
        sheet, key = self.a_record(data)
        before = self.all_rows()

        def half() -> None:
            with changing.transaction(self.path) as db, changing.change(db, BY, WHY, "correct", "half") as made:
                made.update(changing.one_row(BY_SHEET[sheet], key, {"from_file": "half"}))
                raise ZeroDivisionError

        with pytest.raises(ZeroDivisionError):
            half()
        assert self.all_rows() == before

    def forced(self, data: st.DataObject) -> None:
        """What another program might try."""
        sheet, key = self.a_record(data)
        cls = BY_SHEET[sheet]
        where, names = keys.where(cls), ", ".join(stored_names(cls))
        before = self.all_rows()
        other = raw(self.path)
        for sql in (
            f"DELETE FROM {cls.table} WHERE {where}",
            f"UPDATE {cls.table} SET from_file = 'x' WHERE {where}",
            f"UPDATE OR IGNORE {cls.table} SET from_file = 'x', revision = revision + 1 WHERE {where}",
            f"UPDATE OR REPLACE {cls.table} SET revision = revision + 2, change = change + 1 WHERE {where}",
            f"INSERT OR REPLACE INTO {cls.table} ({names}) SELECT {names} FROM {cls.table} WHERE {where}",
            f"INSERT OR IGNORE INTO {cls.table} ({names}) SELECT {names} FROM {cls.table} WHERE {where}",
        ):
            with pytest.raises(sqlite3.IntegrityError):
                other.execute(sql, key)
        other.close()
        assert self.all_rows() == before

    def altered(self, sheet: str, key: tuple[Any, ...], change: int) -> set[str]:
        """The cells of a record that the last change altered; it is its next content, and under that change."""
        (*_, earlier), now = all_contents(self.db)[sheet, key][:-1], self.seen[change][sheet, key]
        assert (now["revision"], now["change"]) == (earlier["revision"] + 1, change)
        return {name for name in now if repr(now[name]) != repr(earlier[name])} - {"revision", "change"}

    def is_corrected(self, sheet: str, key: tuple[Any, ...], name: str) -> bool:
        """Whether the last word on a cell, of those in account, is a named person's."""
        acts = {n: (a, s) for n, a, s in self.db.execute("SELECT number, action, subject FROM changes")}
        rows = all_contents(self.db)[sheet, key]
        last = None
        for before, after in pairwise(rows):
            action, subject = acts[after["change"]]
            if before[name] != after[name] and (
                action == "correct" or (action == "amend" and not self.gone("survey", subject))
            ):
                last = action
        return last == "correct"

    def gone(self, sheet: str, *key: Any) -> bool:
        row = present(self.db).get((sheet, key))
        return row is not None and row["withdrawn"] is not None

    def a_record(
        self, data: st.DataObject, but: Collection[str] = (), among: Collection[str] = tuple(BY_SHEET)
    ) -> tuple[str, tuple[Any, ...]]:
        known = (key for key in present(self.db) if key[0] in among and key[0] not in but)
        return data.draw(st.sampled_from(sorted(known, key=repr)))

    def attempt(self, act: Callable[[], int | None]) -> int | None:
        """Something that may be refused: then nothing at all may have changed."""
        before = self.all_rows()
        change, refusal = None, None
        try:
            change = act()
        except InputRefused as refused:
            refusal = refused
        if refusal is not None:
            assert refusal.faults
            assert all(fault.message.endswith((".", "?")) for fault in refusal.faults), refusal.faults
        if change is None:
            assert self.all_rows() == before
        self.note(change)
        return change

    def all_rows(self) -> tuple[str, ...]:
        kept = ("history", "changes", "places", "same_things", "warnings", "packages", "files", "file_uses", "facts")
        return tuple(
            repr(self.db.execute(f"SELECT * FROM {name} ORDER BY 1, 2").fetchall())
            for name in (*(cls.table for cls in SHEETS), *kept)
        )

    def end(self) -> None:
        contents = all_contents(self.db)
        for rows in contents.values():
            assert [row["revision"] for row in rows] == list(range(1, len(rows) + 1))
            assert [row["change"] for row in rows] == sorted({row["change"] for row in rows})
        for change, seen in self.seen.items():
            assert exact(as_of(contents, change)) == exact(seen)
        assert self.db.execute("SELECT count(*) FROM changes WHERE hash IS NULL").fetchone() == (0,)
        assert {number for (number,) in self.db.execute("SELECT number FROM changes")} == set(self.seen)
        database.close(self.db)


ACTS = (
    Play.another,
    Play.amend,
    Play.amend,
    Play.correct,
    Play.withdraw,
    Play.reinstate,
    Play.survey,
    Play.rename,
    Play.same,
    Play.tried_out,
    Play.interrupted,
    Play.forced,
)
