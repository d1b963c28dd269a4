"""Two codes of one object that are one thing: read as the first, nothing stored altered, what disagrees refused."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from coded_package import SHEETS, coded_package
from hypothesis import given, settings
from hypothesis import strategies as st
from read_back import documents, stored
from same_things import BY, TWO, WHY, facts_of

from collection.ingest import load
from collection.language.errors import InputRefused
from collection.output.site.publish import publish
from collection.store import derive
from collection.store.base import database, names, read
from collection.store.changes import corrections, statements
from collection.store.check import check


@pytest.mark.parametrize(
    ("kind", "first", "second"),
    [
        ("components", "body", "hull"),
        ("zones", "Z1", "Z2"),
        ("schemes", "1", "1b"),
        ("samples", "S1", "S1x"),
        ("decorations", "D1", "D2"),
        ("tests", "X1", "X2"),
        ("hazards", "H1", "H2"),
    ],
)
def test_both_codes_read_as_the_first_and_taking_it_back_gives_everything_back(
    kind: str, first: str, second: str, db: Path
) -> None:
    """Facts, survival and assessments know one thing; either order of words finds it; no stored row changes."""
    before, rows = documents(db, "T1"), stored(db)
    if kind in ("samples", "decorations"):
        statements.same(db, "schemes", "T1/1", "T1/1b", BY, WHY)
        before = documents(db, "T1")
    statements.same(db, kind, f"T1/{first}", f"T1/{second}", BY, WHY)
    assert stored(db) == rows
    document = documents(db, "T1")
    text = json.dumps(document["facts"])
    assert f'"{second}"' not in text
    codes = [row[kind.removesuffix("s")] for row in document["facts"][kind]]
    assert second not in codes
    assert len(codes) == len({(row[kind.removesuffix("s")], row.get("observed_on")) for row in document["facts"][kind]})
    assert (check(db).damage, check(db).notes) == ((), ())
    statements.same(db, kind, f"T1/{second}", f"T1/{first}", BY, "they are two after all", holds=False)
    assert documents(db, "T1") == before
    assert (check(db).damage, check(db).notes) == ((), ())


def test_what_one_record_leaves_blank_is_taken_from_the_other(db: Path) -> None:
    statements.same(db, "zones", "T1/Z2", "T1/Z1", BY, WHY)
    statements.same(db, "schemes", "T1/1b", "T1/1", BY, WHY)
    statements.same(db, "samples", "T1/S1", "T1/S1x", BY, WHY)
    known = facts_of(db)
    assert [(z.zone, z.name, z.area_m2) for z in known.zones] == [("Z2", "lower panel", 3.0), ("Z3", None, 1.0)]
    scheme, sample = known.schemes[0], known.samples[0]
    assert (scheme.scheme, scheme.name, scheme.rank) == ("1b", "first again", 1.0)
    assert (sample.sample, sample.place, sample.reaches_support) == ("S1", "Z2", "no")
    assert [(la.position, la.scheme, la.thickness_um) for la in known.layers if la.sample == "S1"] == [
        (1, "1b", 20.0),
        (2, "2", 40.0),
    ]


def test_dated_states_of_both_are_the_states_of_one(db: Path) -> None:
    """The newest is current, whichever code it was recorded under."""
    statements.same(db, "components", "T1/body", "T1/hull", BY, WHY)
    assert [(c.component, c.observed_on, c.support) for c in facts_of(db).components if c.component != "door"] == [
        ("body", "2001", "steel"),
        ("body", "2019", None),
    ]
    statements.same(db, "schemes", "T1/1", "T1/1b", BY, WHY)
    statements.same(db, "decorations", "T1/D1", "T1/D2", BY, WHY)
    assert [(d.decoration, d.state) for d in facts_of(db).decorations] == [
        ("D1", "covered"),
        ("D1", "exposed"),
        ("D3", "covered"),
    ]


@pytest.mark.parametrize(
    ("kind", "first", "second", "said"),
    [
        ("zones", "T1/Z1", "T1/Z3", ["component: body and door", "area_m2: 3.0 and 1.0"]),
        ("schemes", "T1/1", "T1/2", ["period: original and later", "rank: 1.0 and 2.0"]),
        ("schemes", "T1/2", "T1/3", ["whether it is shown, with a basis, to be later: not kept and kept"]),
        (
            "samples",
            "T1/S1",
            "T1/S3",
            ["layers T1/S1/1 and T1/S3/1", "coverage: intact and trace", "thickness_um: 20.0"],
        ),
        ("tests", "T1/X1", "T1/X3", ["response: none seen and softened"]),
        ("decorations", "T1/D1", "T1/D3", ["kind: lining and lettering"]),
        ("components", "T1/body", "T1/door", ["differ in support: oak and steel"]),
        ("zones", "T1/Z1", "T1/Z1", ["one thing already"]),
        ("zones", "T1/Z1", "T1/Z9", ["no such thing in zones"]),
        ("schemes", "T1/1", "T2/T", ["T1 and T2 are two objects"]),
        ("proposals", "T1/P1", "T1/P2", ["Two proposals were each decided"]),
        ("survey", "harbour-1", "harbour-1", ["Two surveys are two campaigns"]),
        ("layers", "T1/S1/1", "T1/S3/1", ["recorded twice", "there twice"]),
        ("objects", "T1", "T2", ["proposals T1/P1 and T2/P1 have the same code"]),
    ],
)
def test_what_cannot_be_one_is_refused_with_every_difference(
    db: Path, kind: str, first: str, second: str, said: list[str]
) -> None:
    before = db.read_bytes()
    with pytest.raises(InputRefused) as refused:
        statements.same(db, kind, first, second, BY, WHY)
    text = "\n".join(fault.message for fault in refused.value.faults)
    assert any(part in text for part in said) if kind == "layers" else all(part in text for part in said), text
    assert db.read_bytes() == before


@pytest.mark.parametrize(("column", "word"), [("counted_from", "surface"), ("extent", "whole place")])
def test_samples_that_speak_otherwise_where_one_is_blank_are_not_one(
    db: Path, tmp_path: Path, column: str, word: str
) -> None:
    """A blank says from the support, and of one spot: the other word would turn the coats over, or clear the place."""
    load.ingest(
        db,
        coded_package(
            tmp_path / "more",
            "harbour-2",
            {
                "samples": f"object,sample,place,method,taken_on,{column}\nT1,S4,Z1,cross-section,2018,{word}\n",
                "layers": "object,sample,position,role,colour,scheme,coverage\nT1,S4,1,body colour,red,1,intact\n",
            },
        ),
    )
    with pytest.raises(InputRefused) as refused:
        statements.same(db, "samples", "T1/S1", "T1/S4", BY, WHY)
    assert [f"{column}: nothing and {word}" in fault.message for fault in refused.value.faults] == [True]


def test_chains_and_rings_of_statements(db: Path) -> None:
    """A is B, C is A: all are C. A ring is refused, and a link that nobody stated cannot be taken back."""
    statements.same(db, "zones", "T1/Z1", "T1/Z2", BY, WHY)
    corrections.correct(db, "zones", "T1/Z3", {"component": "body", "area_m2": "not recorded"}, BY, "it is on the body")
    statements.same(db, "zones", "T1/Z3", "T1/Z1", BY, WHY)
    assert [z.zone for z in facts_of(db).zones] == ["Z3"]
    with pytest.raises(InputRefused) as refused:
        statements.same(db, "zones", "T1/Z2", "T1/Z3", BY, WHY)
    assert "one thing already" in refused.value.faults[0].message
    with pytest.raises(InputRefused) as refused:
        statements.same(db, "zones", "T1/Z2", "T1/Z3", BY, WHY, holds=False)
    assert "said was" in refused.value.faults[0].message
    statements.same(db, "zones", "T1/Z1", "T1/Z3", BY, "not that one", holds=False)
    assert [z.zone for z in facts_of(db).zones] == ["Z1", "Z3"]
    assert check(db).damage == ()


def test_a_thing_and_what_it_lies_in_are_not_one(db: Path, tmp_path: Path) -> None:
    load.ingest(
        db,
        coded_package(
            tmp_path / "in", "harbour-2", {"zones": "object,zone,component,within\nT1,Z4,body,Z1\nT1,Z5,body,Z4\n"}
        ),
    )
    for inner in ("Z4", "Z5"):
        with pytest.raises(InputRefused) as refused:
            statements.same(db, "zones", "T1/Z1", f"T1/{inner}", BY, WHY)
        assert "within itself" in refused.value.faults[0].message


def test_the_page_of_what_is_one_shows_one_and_staff_stays_staff(db: Path, tmp_path: Path) -> None:
    statements.same(db, "zones", "T1/Z1", "T1/Z2", BY, WHY)
    statements.same(db, "schemes", "T1/1", "T1/1b", BY, WHY)
    corrections.correct(db, "schemes", "T1/1b", {"audience": "staff"}, BY, WHY)
    publish(db, tmp_path / "site")
    import sqlite3

    connection = sqlite3.connect(next((tmp_path / "site").glob("*.db")))
    text = "\n".join(connection.iterdump())
    connection.close()
    assert "lower panel" not in text
    assert "first again" not in text
    assert '"zone":"Z2"' not in text.replace(" ", "")


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("filled")
    database.create(folder / "c.db")
    load.ingest(
        folder / "c.db",
        coded_package(
            folder / "p",
            sheets={**TWO, "zones": "object,zone,component\n" + "".join(f"T1,Z{n},body\n" for n in range(1, 7))},
        ),
    )
    return folder / "c.db"


@settings(max_examples=15)
@given(st.lists(st.tuples(st.integers(1, 6), st.integers(1, 6), st.booleans()), max_size=8))
def test_any_statements_give_the_classes_of_a_plain_union(
    tmp_path_factory: pytest.TempPathFactory, filled: Path, acts: list[tuple[int, int, bool]]
) -> None:
    """Against a list of the links that hold and a walk over them; refused ones change nothing."""
    path = Path(shutil.copy(filled, tmp_path_factory.mktemp("same") / "c.db"))
    links: list[frozenset[int]] = []

    def classes() -> set[frozenset[int]]:
        groups = [{n} for n in range(1, 7)]
        for link in links:
            joined = set().union(*(g for g in groups if g & link))
            groups = [g for g in groups if not g & link] + [joined]
        return {frozenset(g) for g in groups}

    for one, two, holds in acts:
        link = frozenset({one, two})
        apart = not any(link <= group for group in classes())
        allowed = apart if holds else link in links
        try:
            statements.same(path, "zones", f"T1/Z{one}", f"T1/Z{two}", BY, WHY, holds=holds)
        except InputRefused:
            assert not allowed
            continue
        assert allowed
        links.append(link) if holds else links.remove(link)
    known = facts_of(path)
    with database.opened(path, write=False) as connection:
        stated = names.load(connection)
    shown: dict[str, set[int]] = {}
    for n in range(1, 7):
        shown.setdefault(f"Z{n}" if stated is None else stated.code("zones", "T1", f"Z{n}"), set()).add(n)
    assert {frozenset(group) for group in shown.values()} == classes()
    assert sorted(shown) == [z.zone for z in known.zones]
    with database.opened(path, write=False) as connection:
        assert list(derive.out_of_date(connection)) == []


def test_nothing_is_asked_where_nothing_was_stated(db: Path) -> None:
    """One look into an empty table, for a whole collection."""
    asked: list[str] = []
    with database.opened(db, write=False) as connection:
        connection.set_trace_callback(asked.append)
        list(read.facts_in_bulk(connection))
    assert [sql for sql in asked if "same_things" in sql] == ["SELECT 1 FROM same_things LIMIT 1"]


def test_the_package_that_tests_of_codes_rest_on_is_whole() -> None:
    """It has every sheet but the survey's own, so that a new sheet is met there as well."""
    from collection.records.sheets import BY_SHEET

    assert set(SHEETS) == set(BY_SHEET) - {"survey"}
