"""A small sound package to spoil, and its faults after making sure that nothing was stored."""

from __future__ import annotations

import struct
from pathlib import Path

import pytest

from collection.ingest import load
from collection.language.errors import Fault, InputRefused
from collection.store.base import database

SURVEY = 'code = "harbour-1"\ntitle = "Harbour survey"\nlead = "Ada Penrose"\nstarted = "2019-05"\n'
SHEETS = {
    "objects": "object,title,kind\nT1,Tram 1,tram\n",
    "components": "object,component,name,parent\nT1,body,body,\nT1,door,door,body\n",
    "zones": "object,zone,component,within\nT1,Z1,body,\nT1,Z2,body,Z1\n",
    "sources": "object,source,kind,title\nT1,R1,report,Works report\n",
    "schemes": "object,scheme,name,period\nT1,1,first finish,original\nT1,2,repaint,later\n",
    "samples": "object,sample,place,method\nT1,S01,Z1,cross-section\nT1,S02,door,exposure\n",
    "layers": "object,sample,position,role,thickness_um,scheme\nT1,S01,1,primer,20,1\nT1,S01,2,body colour,35.5,1\n",
    "tests": "object,test,place,agent\nT1,C1,Z1,water\n",
    "responses": "object,test,response,scheme,role,sample,position,decoration\nT1,C1,none seen,1,,,,\n",
    "proposals": "object,proposal,title,proposed_by,proposed_on\nT1,P1,Clean it,Ada Penrose,2020\n",
    "proposal_steps": "object,proposal,step,place,action,removes\nT1,P1,1,Z1,solvent,2\n",
}


def package(folder: Path, survey: str = SURVEY, **sheets: str | bytes | None) -> Path:
    """A small sound package with some sheets replaced, added, or (None) left out."""
    folder.mkdir(parents=True, exist_ok=True)
    if survey:
        (folder / "survey.toml").write_text(survey, encoding="utf-8")
    for sheet, text in {**SHEETS, **sheets}.items():
        if text is not None:
            (folder / f"{sheet}.csv").write_bytes(text if isinstance(text, bytes) else text.encode())
    return folder


def rows_of(db: Path) -> dict[str, int]:
    with database.opened(db, write=False) as connection:
        tables = [
            row[0]
            for row in connection.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
            )
        ]
        return {name: connection.execute(f"SELECT count(*) FROM {name}").fetchone()[0] for name in tables}


def refused(db: Path, folder: Path) -> list[Fault]:
    """The faults of a package, after making sure that it left no trace."""
    before, bytes_before = rows_of(db), db.read_bytes()
    with pytest.raises(InputRefused) as caught:
        load.ingest(db, folder)
    assert rows_of(db) == before
    assert db.read_bytes() == bytes_before
    assert not db.with_name("collection.db.files").exists()
    assert caught.value.exit_code == 1
    assert caught.value.count == len(caught.value.faults)
    assert all(fault.message[-1] in ".?…" for fault in caught.value.faults)
    return caught.value.faults


LAYERS = "object,sample,position,role,thickness_um,scheme\n"


def png(width: int, height: int) -> bytes:
    """The start of a PNG of this size (ISO/IEC 15948, clause 11.2.2)."""
    return b"\x89PNG\r\n\x1a\n" + struct.pack(">I4sIIBBBBB", 13, b"IHDR", width, height, 8, 2, 0, 0, 0) + bytes(64)
