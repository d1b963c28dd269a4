"""What a registrar's years leave in a database: surveys, a list, corrections, withdrawals, names, decisions."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from coded_package import SHEETS, coded_package
from site_packages import png

from collection.ingest import load
from collection.store.base import chain, database
from collection.store.changes import collection_row, corrections, statements
from collection.store.changes.tags import Tag, hang, take_off
from collection.store.decide.decisions import decide
from collection.values.resources import sample_folder

BY, WHY = "R. Registrar", "so it stands\nin the register"
LONG_AGO = datetime(2016, 3, 7, 9, tzinfo=UTC)
SOURCES = (
    "object,source,kind,title,file\nT1,Q1,report,Workshop book,\nT1,Q2,report,Workshop book,\n"
    "T1,Q3,photograph,Old view,old.png\n"
)
LIST = "No,Title,Kind,Shelf\nT9,Sign,sign,12b\nT8,Board,board,lead paint?\n"
MAP = """[survey]
code = "list-1"
title = "A list"
lead = "Nora Pike"
started = "2016-05"
[list]
encoding = "utf-8"
separator = ","
object = "No"
[objects]
title = "Title"
kind = "Kind"
"""


class Years:
    """A clock that goes on by a month whenever it is asked."""

    def __init__(self) -> None:
        self.months = 0

    def now(self, zone: object) -> datetime:
        self.months += 1
        return LONG_AGO + timedelta(days=30 * self.months)


def registrars_years(room: Path) -> Path:
    """A database in which something of everything happened, from 2016 on."""
    db = room / "years.db"
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(chain, "datetime", Years())
        database.create(db)
        _surveys(db, room)
        _records(db)
        _codes(db)
        _decisions(db)
        collection_row.state(db, {"code": "HM", "name": "Harbour Museum"}, BY, WHY)
        collection_row.state(db, {"licence": "CC0-1.0", "address": "https://harbour.example"}, BY, WHY)
        _tags(db)
    return db


def _surveys(db: Path, room: Path) -> None:
    harbour = Path(str(sample_folder())) / "harbour"
    for survey in ("2014", "2024"):
        load.ingest(db, harbour / survey, amend="put right by the second look", by="Idwal Marrable")
    package = coded_package(room / "survey", sheets={**SHEETS, "sources": SOURCES})
    (package / "old.png").write_bytes(png())
    load.ingest(db, package)
    (package / "front.png").write_bytes(png(width=9))
    (package / "old.png").write_bytes(png(width=9))
    load.ingest(db, package, amend="the picture was turned", by=BY)
    (room / "list.csv").write_text(LIST)
    (room / "map.toml").write_text(MAP)
    load.ingest(db, room / "list.csv", mapping=room / "map.toml")
    shutil.rmtree(package)


def _records(db: Path) -> None:
    for sheet, key, cell, text in (
        ("objects", "T1", "dimensions", "9.2 m\n“over all”; Å ＝ A\u030a"),
        ("objects", "T1", "owner", "=HYPERLINK(1)"),
        ("layers", "T1/S1/3", "thickness_um", "5e-324"),
        ("layers", "T1/S1/3", "thickness_um", "0.30000000000000004"),
        ("components", "T1/door", "area_m2", "not recorded"),
        ("samples", "T1/S1", "taken_on", "2018-05~/.."),
        ("survey", "harbour-1", "scope", "the port side"),
        ("survey", "harbour-1", "scope", "not recorded"),
    ):
        corrections.correct(db, sheet, key, {cell: text}, BY, WHY)
    corrections.withdraw(db, "claims", "T1/C1/2019", BY, WHY)
    corrections.withdraw(db, "advice", "T1/V2", BY, WHY)
    corrections.reinstate(db, "advice", "T1/V2", BY, "it holds after all")
    corrections.withdraw(db, "survey", "H24", BY, "held back for a year")
    corrections.reinstate(db, "survey", "H24", BY, "the year is over")
    corrections.withdraw(db, "survey", "list-1", BY, WHY)


def _codes(db: Path) -> None:
    statements.rename(db, "zones", "T1/Z2", "panel", BY, WHY)
    statements.rename(db, "objects", "T2", "T1/B", BY, WHY)
    statements.same(db, "sources", "T1/Q1", "T1/Q2", BY, WHY)
    statements.same(db, "sources", "T1/Q1", "T1/Q2", BY, "they are two", holds=False)
    statements.same(db, "sources", "T1/Q1", "T1/Q2", BY, "they are one after all")


def _decisions(db: Path) -> None:
    decide(
        db,
        "OHM-1980-2",
        "P1",
        "approve",
        by=BY,
        reason="the frame has to hold",
        overrides={"I-BACK/1/varnish": "it is loose", "I-HOOK/1/varnish": "it is loose"},
        answers={"AD14": "the report was read"},
    )
    decide(db, "T1", "P1", "refuse", by=BY, reason="not now", steps=[1])
    decide(db, "OHM-1949/1", "P1", "defer", by=BY, reason="until the tests are read", conditions=["a second test"])
    # What the approval rested on is no longer so.
    corrections.correct(db, "objects", "OHM-1980-2", {"surroundings": "sheltered"}, BY, "moved under the roof")


def _tags(db: Path) -> None:
    page = "https://harbour.example/object/OHM-1980-2"
    tag = Tag("OHM-1980-2", 0, "tag", "public", "c" * 64, page, "2019-05-01", "left door, inside", BY, "2019-06-02")
    hang(db, tag)
    take_off(db, "OHM-1980-2", 1, "2020-01-07", BY)
    hang(db, replace(tag, kind="label", audience="staff", address=None, hangs_at="crate 4\n“upper shelf”"))
