"""Survey packages for the tests of publishing: every column filled, secrets where nothing may come out."""

from __future__ import annotations

import csv
import struct
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from collection.records.sheets import BY_SHEET, SHEETS
from collection.store.base import database

Fill = Callable[[str, str, str], str]
"""(sheet, column, kind of secrecy) to the text of a cell; the kind is public, private or person."""

WORDS: dict[str, dict[str, dict[str, Any]]] = {
    "objects": {"": {"status": "held", "made": "1908~", "value_points": 7}},
    "sources": {"Q1": {"kind": "letter", "dated": "1950"}},
    "components": {"BODY": {"area_m2": 4, "origin": "original", "presence": "present", "observed_on": "2019-05"}},
    "drawings": {"V1": {"file": "view.svg", "mm_per_unit": 2}},
    "zones": {
        "Z1": {
            "component": "BODY",
            "drawing": "V1",
            "outline": "0,0 9,0 9,9",
            "area_m2": 1.5,
            "area_basis": "estimated",
            "visibility": "visible",
        },
        "Z2": {"component": "BODY", "within": "Z1", "area_m2": 0.5},
    },
    "schemes": {
        "1": {"period": "original", "rank": 1, "certainty": "confirmed", "component": "BODY"},
        "2": {"period": "later", "rank": 2, "keep": "may go"},
    },
    "samples": {
        "S1": {
            "place": "Z1",
            "method": "cross-section",
            "taken_on": "2019-05-02",
            "chosen": "random",
            "reaches_support": "yes",
            "total_um": 90,
        },
        "S2": {"place": "Z2", "method": "exposure", "taken_on": "2019-05-03", "counted_from": "surface"},
    },
    "layers": {
        "S1/1": {"role": "support"},
        "S1/2": {
            "role": "body colour",
            "scheme": "1",
            "thickness_um": 40,
            "binder": "oil",
            "binder_basis": "analysed",
            "coverage": "intact",
        },
        "S1/3": {
            "role": "body colour",
            "scheme": "2",
            "thickness_um": 50,
            "binder": "alkyd",
            "lab_l": 40,
            "lab_a": 30,
            "lab_b": 20,
        },
        "S2/1": {"role": "body colour", "scheme": "2"},
        "S2/2": {"role": "body colour", "scheme": "1", "coverage": "trace"},
    },
    "analyses": {"A1": {"sample": "S1", "position": 2, "place": "Z1", "analysed_on": "2019-06"}},
    "decorations": {
        "D1": {
            "place": "Z1",
            "kind": "lining",
            "scheme": "1",
            "state": "covered",
            "observed_on": "2019-05",
            "certainty": "probable",
            "lies": "unknown",
        }
    },
    "reserves": {"R1": {"place": "Z2", "kind": "reserve", "made_on": "2019-05", "area_m2": 0.1}},
    "tests": {
        "T1": {
            "place": "Z1",
            "agent": "acetone",
            "sample": "S1",
            "application": "rolled swab",
            "dwell_s": 20,
            "passes": 2,
            "looked_with": "loupe",
            "after_drying": "yes",
            "tested_on": "2019-05-02",
        }
    },
    "responses": {"T1": {"response": "softened", "scheme": "2"}},
    "conditions": {
        "": {
            "place": "Z1",
            "phenomenon": "flaking",
            "observed_on": "2019-05-02",
            "severity": 2,
            "extent_pct": 5,
            "active": "yes",
            "scheme": "2",
        }
    },
    "proposals": {"P1": {"proposed_on": "2020-01-01", "planned_for": "2020-06"}},
    "proposal_steps": {
        "P1/1": {
            "place": "Z1",
            "action": "solvent",
            "agent": "acetone",
            "application": "rolled swab",
            "dwell_s": 20,
            "removes": "2",
            "stop_at": "1",
        }
    },
    "treatments": {"W1": {"started": "1950", "ended": "1950", "proposal": "P1", "outcome": "done"}},
    "treatment_steps": {"W1/1": {"place": "Z1", "action": "coat", "adds_binder": "alkyd"}},
    "advice": {"V1": {"given_on": "2019-07", "place": "Z1", "priority": "soon", "done_by": "W1"}},
    "claims": {"C1": {"status": "untested", "place": "Z1", "decoration": "D1"}},
    "hazards": {"H1": {"status": "suspected", "component": "BODY", "observed_on": "2019-05"}},
    "pictures": {
        "B1": {
            "file": "picture.png",
            "place": "Z1",
            "sample": "S1",
            "test": "T1",
            "treatment": "W1",
            "lighting": "raking",
            "view": "detail",
            "stage": "before",
            "taken_on": "2019-05-02",
            "um_per_px": 2,
        }
    },
}
"""One object, complete: per sheet its codes with the cells that are not free text."""


def object_rows(code: str, fill: Fill, *, staff: frozenset[str] = frozenset()) -> dict[str, list[dict[str, Any]]]:
    """Every sheet's rows of one object; free texts and names come from `fill`.

    :param staff: `sheet` or `sheet/code` whose rows are for staff only.
    """
    found: dict[str, list[dict[str, Any]]] = {}
    for record in SHEETS[1:]:
        for own, cells in WORDS[record.sheet].items():
            row: dict[str, Any] = {"object": code}
            keys = [
                name
                for name in record.key[1:]
                if name in ("step", "position") or BY_SHEET[record.sheet].column(name).kind == "code"
            ]
            if own:
                row |= dict(zip(keys, own.split("/"), strict=False))
            row |= cells
            for column in record.columns():
                if column.name in row or column.kind not in ("text", "person"):
                    continue
                kind = "person" if column.kind == "person" else "private" if column.private else "public"
                row[column.name] = fill(record.sheet, column.name, kind)
            if record.sheet not in ("objects", "sources", "survey"):
                row["source"] = "Q1"
            if record.sheet in staff or f"{record.sheet}/{own}" in staff:
                row["audience"] = "staff"
            found.setdefault(record.sheet, []).append(row)
    return found


def write_package(
    folder: Path,
    survey: dict[str, str],
    *objects: dict[str, list[dict[str, Any]]],
    files: dict[str, bytes] | None = None,
) -> Path:
    """A package folder of several objects' rows."""
    folder.mkdir(parents=True)
    quoted = {name: '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"' for name, value in survey.items()}
    (folder / "survey.toml").write_text("".join(f"{name} = {value}\n" for name, value in quoted.items()), "utf-8")
    for record in SHEETS[1:]:
        rows = [row for rows in objects for row in rows.get(record.sheet, ())]
        if not rows:
            continue
        names = [column.name for column in record.columns() if any(column.name in row for row in rows)]
        with (folder / f"{record.sheet}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, names)
            writer.writeheader()
            writer.writerows(rows)
    for name, content in (files or {"picture.png": png(), "view.svg": SVG}).items():
        (folder / name).write_bytes(content)
    return folder


def database_of(path: Path, *packages: Path) -> Path:
    """A new database that the packages were really taken into."""
    from collection.ingest.load import ingest

    database.create(path)
    for package in packages:
        ingest(path, package, amend="put right by a second look", by="T. Ester")
    return path


SVG = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><rect width="9" height="9" fill="#777777"/></svg>'


def png(*more: tuple[bytes, bytes], width: int = 4, height: int = 3) -> bytes:
    """A small grey PNG (ISO/IEC 15948) with further chunks before its image data."""
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    data = zlib.compress(b"".join(b"\x00" + bytes([120] * width) for _ in range(height)))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        chunk(*part) for part in ((b"IHDR", header), *more, (b"IDAT", data), (b"IEND", b""))
    )


def chunk(kind: bytes, content: bytes) -> bytes:
    """One PNG chunk."""
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))
