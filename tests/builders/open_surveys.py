"""A made survey that is still being written at the bench: one panel, its tests, and what the companion answers."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

from objects import POLICY

from collection.cli.bench import told
from collection.ingest.companion.answer import Answer
from collection.ingest.companion.open_facts import OpenFacts, open_facts
from collection.ingest.companion.open_survey import read_open

SAMPLE = Path(__file__).resolve().parents[2] / "sample_db" / "harbour"
DAY = "2024-05-02"
Rows = dict[str, list[dict[str, Any]]]
PANEL: Rows = {
    "objects": [{"title": "Panel (invented)", "kind": "panel"}],
    "components": [{"component": "BODY", "name": "body"}],
    "zones": [{"zone": "LEFT", "component": "BODY"}, {"zone": "RIGHT", "component": "BODY"}],
    "schemes": [
        {"scheme": "1", "name": "maker's", "period": "original", "rank": 1, "certainty": "", "basis": "lowest"},
        {"scheme": "2", "name": "repaint", "period": "later", "rank": 2, "certainty": "confirmed", "basis": "on dirt"},
    ],
    "samples": [{"sample": "S1", "place": "LEFT", "method": "cross-section", "reaches_support": "yes"}],
    "layers": [
        {
            "sample": "S1",
            "position": 1,
            "role": "body colour",
            "colour": "dark red",
            "scheme": "1",
            "binder": "oil",
            "binder_basis": "analysed",
            "coverage": "intact",
        },
        {
            "sample": "S1",
            "position": 2,
            "role": "body colour",
            "colour": "green",
            "scheme": "2",
            "binder": "alkyd",
            "binder_basis": "analysed",
            "coverage": "intact",
        },
    ],
}
TESTED = {"place": "LEFT", "application": "rolled swab", "dwell_s": 30, "tested_on": DAY}
HAVE = 'bottles = ["isooctane", "dearomatised white spirit", "ethanol", "acetone", "xylene", "water"]\n'


def with_tests(*tried: tuple[str, str | None, str | None], rows: Rows = PANEL) -> Rows:
    """The panel with tests: agent, what it did to the repaint, what to the maker's red; None = nothing written."""
    made: Rows = {**rows, "tests": [], "responses": []}
    for number, (agent, on_2, on_1) in enumerate(tried, 1):
        made["tests"].append({"test": f"C{number}", "agent": agent, **TESTED})
        made["responses"] += [
            {"test": f"C{number}", "response": word, "sample": "S1", "position": at}
            for at, word in ((2, on_2), (1, on_1))
            if word
        ]
    return made


def spoiled(rows: Rows, sheet: str, number: int, **cells: Any) -> Rows:
    """The same with cells of one row written over."""
    changed = [{**row, **cells} if at == number else row for at, row in enumerate(rows[sheet])]
    return {**rows, sheet: changed}


def folder(path: Path, rows: Rows) -> Path:
    path.mkdir(parents=True)
    (path / "survey.toml").write_text('code = "X1"\ntitle = "Hour"\nlead = "Ada Penrose"\nstarted = "2024-05-02"\n')
    for sheet, held in rows.items():
        names = list(dict.fromkeys(["object", *(name for row in held for name in row)]))
        with open(path / f"{sheet}.csv", "w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, names)
            writer.writeheader()
            writer.writerows({"object": "EX-1", **row} for row in held)
    return path


def read_now(path: Path, object_code: str = "EX-1") -> OpenFacts:
    found = open_facts(object_code, [read_open(path, object_code)])
    assert found is not None
    return found


def ask(
    path: Path,
    have: Path,
    place: str = "LEFT",
    also: tuple[Path, ...] = (),
    object_code: str = "EX-1",
    remove: str | None = None,
    keep: str | None = None,
) -> Answer:
    return told((*also, path), object_code, place, have, remove, keep, DAY, POLICY)
