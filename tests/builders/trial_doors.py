"""A door with a maker's scheme, stored with proposals on it, and approvals of them."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import objects as o
from objects import RED, door, section

from collection.ingest.load import ingest
from collection.records.sheets import Advice, Claim, Component, Object, Proposal, ProposalStep, Reserve, Zone
from collection.store.base import database
from collection.store.decide.decisions import decide, standing

ACETONE = {"action": "solvent", "agent": "acetone"}
STRIP = {"action": "strip"}
WING = Zone(object=o.OBJ, zone="wing", component="door", area_m2=0.5)
CAB = Component(object=o.OBJ, component="cab", name="cab")
ONE = door(*section("S1", RED))


def claim(status: Any = "untested", place: Any = "door", on: Any = "2020", **more: Any) -> Any:
    return Claim(
        object=o.OBJ, claim="C1", statement="a number lies beneath", status=status, place=place, observed_on=on, **more
    )


def advice(**more: Any) -> Any:
    return Advice(
        **{"object": o.OBJ, "advice": "V1", "what": "do not strip it", "given_on": "2010", "against": "strip", **more}
    )


def stored(tmp_path: Path, rows: Any, *proposals: Any) -> Path:
    """A database that holds one object's records and proposals, each (code, steps)."""
    db = tmp_path / "c.db"
    database.create(db)
    ingested(
        tmp_path / "first",
        db,
        [
            Object(object=o.OBJ, title="trial door", kind="door"),
            *rows,
            *(row for code, steps in proposals for row in proposed(code, *steps)),
        ],
    )
    return db


def proposed(code: Any, *steps: Any) -> Any:
    head = Proposal(
        object=o.OBJ, proposal=code, title="trial", proposed_by="N. N.", proposed_on="2024-06-01", permission="letter"
    )
    return [
        head,
        *(
            ProposalStep(object=o.OBJ, proposal=code, step=n, **{"place": "door", **step})
            for n, step in enumerate(steps, 1)
        ),
    ]


def ingested(folder: Path, db: Path, rows: Any) -> None:
    folder.mkdir()
    (folder / "survey.toml").write_text(f'code = "{folder.name}"\ntitle = "t"\nlead = "N. N."\nstarted = "2024"\n')
    for sheet in {row.sheet for row in rows}:
        held = [row.model_dump(exclude_none=True) for row in rows if row.sheet == sheet]
        with open(folder / f"{sheet}.csv", "w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, list(dict.fromkeys(name for row in held for name in row)))
            writer.writeheader()
            writer.writerows(held)
    ingest(db, folder)


def approve(db: Any, code: Any = "P", **more: Any) -> Any:
    return decide(db, o.OBJ, code, "approve", **{"by": "A. Curator", "reason": "for the fair", **more})


def now(db: Any, code: Any = "P", policy: Any = None) -> Any:
    with database.opened(db, write=False) as connection:
        return standing(connection, o.OBJ, code, policy)


KEPT = Reserve(object=o.OBJ, reserve="R1", place="wing", kind="reserve")
HELD = door(WING, KEPT, *section("S1", RED, ("1", "varnish", None, "intact")))
TAKEN = {**STRIP, "spares": "wing"}
RED_LOSS, VARNISH_LOSS = "door/1/body colour", "door/1/varnish"
BOTH = {RED_LOSS: "worn through", VARNISH_LOSS: "perished"}
