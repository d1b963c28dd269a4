"""Two objects with a row or more in most sheets, plain questions about them, and a program that knows nothing of ours."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

from collection.records.row import Record
from collection.records.sheets import (
    SHEETS,
    Analysis,
    Component,
    Condition,
    Layer,
    Object,
    Proposal,
    ProposalStep,
    Reserve,
    Response,
    Sample,
    Scheme,
    Zone,
)
from collection.records.sheets import Test as SpotTest
from collection.store.base import database

PUMP, TRAM = "1937/2", "1962.7"
ROWS: list[Record] = [
    Object(object=PUMP, title="hand pump", kind="pump", owner="the harbour board", notes="looks tired"),
    Object(object=TRAM, title="tram", kind="tram", made="1908~"),
    Component(object=TRAM, component="body", name="body", observed_on="1924/1931"),
    Component(object=TRAM, component="body", name="body", observed_on="2001"),
    Component(object=TRAM, component="frame", name="frame", parent="body"),
    Zone(object=TRAM, zone="door", component="body", area_m2=2.0),
    Zone(object=TRAM, zone="panel", component="body", within="door"),
    Scheme(object=TRAM, scheme="1", name="first", period="original"),
    Scheme(object=TRAM, scheme="2", name="second", period="later"),
    Sample(object=TRAM, sample="S1", place="door", method="cross-section"),
    Layer(object=TRAM, sample="S1", position=1, role="primer", scheme="1"),
    Layer(object=TRAM, sample="S1", position=2, role="body colour", scheme="1", thickness_um=0.1 + 0.2),
    Analysis(object=TRAM, analysis="A1", technique="SEM", result="lead white", sample="S1", position=1),
    SpotTest(object=TRAM, test="T1", place="door", agent="acetone"),
    Response(object=TRAM, test="T1", response="softened", scheme="1", role="body colour"),
    Response(object=TRAM, test="T1", response="removed", sample="S1", position=2),
    Condition(object=TRAM, place="door", phenomenon="flaking", observed_on="1924/1931"),
    Condition(object=TRAM, place="door", phenomenon="flaking", observed_on="1924/1931", scheme="1"),
    Reserve(object=TRAM, reserve="R1", place="door", kind="reserve"),
    Proposal(object=TRAM, proposal="P1", title="repaint", proposed_by="N. N.", proposed_on="2024"),
    ProposalStep(object=TRAM, proposal="P1", step=1, place="door", action="strip", removes="2"),
    ProposalStep(object=TRAM, proposal="P1", step=2, place="all", action="coat"),
]


def one(path: Path, sql: str, *values: Any) -> Any:
    with database.opened(path, write=False) as db:
        row = db.execute(sql, values).fetchone()
    return row if row is None or len(row) > 1 else row[0]


def live(path: Path) -> dict[str, int]:
    with database.opened(path, write=False) as db:
        return {cls.sheet: db.execute(f"SELECT count(*) FROM live_{cls.table}").fetchone()[0] for cls in SHEETS}


def raw(path: Path, *, recursive: bool = False) -> sqlite3.Connection:
    """As the sqlite3 shell opens it: foreign keys off, recursive triggers off."""
    db = sqlite3.connect(path, isolation_level=None)
    db.execute(f"PRAGMA recursive_triggers = {'ON' if recursive else 'OFF'}")
    return db
