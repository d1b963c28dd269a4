"""One action on every object never says less than an assessment of the same step; and the command."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import examined as e
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from packaged_rows import store

from collection.cli import run
from collection.compute.case import Case
from collection.language.errors import USAGE, WARNED
from collection.language.words import SEVERITY_RANK
from collection.records.sheets import Layer, Object, ProposalStep, Record, Sample, Scheme
from collection.rules.assess import assess
from collection.store.base import database
from collection.store.screen import SPEAKING, screen

some = settings(max_examples=max(1, settings().max_examples // 4))
STEPS = (
    {"action": "solvent", "agent": "acetone", "dwell_s": 10.0, "application": "rolled swab"},
    {"action": "solvent", "agent": "ethanol"},
    {"action": "solvent"},
    {"action": "strip"},
    {"action": "blast"},
    {"action": "aqueous", "agent": "water + 2% ammonium citrate", "ph": 8.5},
    {"action": "replace"},
    {"action": "abrade", "depth_um": 5.0},
    {"action": "dust"},
    {"action": "heat", "temperature_c": 80.0},
)
DAY = "2024-06-01"


def step_of(columns: dict[str, Any]) -> ProposalStep:
    return ProposalStep(object="-", proposal="-", step=1, place="all", **columns)


@pytest.mark.slow
@some
@given(st.lists(e.examined(), min_size=1, max_size=2), st.sampled_from(STEPS), st.booleans())
def test_it_never_says_less_than_an_assessment(
    tmp_path_factory: pytest.TempPathFactory, objects: list[list[Any]], columns: dict[str, Any], plain: bool
) -> None:
    db = tmp_path_factory.mktemp("screen") / "c.db"
    database.create(db)
    whole: list[Record] = []
    kept: dict[str, list[Record]] = {}
    for number, rows in enumerate(objects):
        code = f"L.{number}"
        kept[code] = [
            row.model_copy(update={"object": code})
            for row in rows
            if not plain or row.sheet not in (*SPEAKING, "responses", "treatments")
        ]
        whole += [Object(object=code, title=f"cart {number}", kind="cart", materials="wood, iron"), *kept[code]]
    store(db, "S", whole)
    connection = database.connect(db, write=False)
    try:
        found = {each.object: each for each in screen(connection, step_of(columns), DAY)}
    finally:
        database.close(connection)
    assert sorted(found) == sorted(kept)
    for code, rows in kept.items():
        alone = assess(
            Case(e.facts([row.model_copy(update={"object": e.OBJ}) for row in rows])),
            e.proposal([{**columns, "place": "all"}]),
        )
        worst = max(
            (loss.severity for loss in alone.losses if not loss.thing.startswith("reserve ")),
            key=SEVERITY_RANK.__getitem__,
            default="clear",
        )
        assert SEVERITY_RANK[found[code].severity] >= SEVERITY_RANK[worst], (code, found[code], worst)
        assigned = all(row.scheme for row in rows if isinstance(row, Layer))
        if found[code].harmed is not None or assigned:
            assert found[code].severity == worst, (code, found[code])


def test_the_command_lists_the_worst_first_and_warns(db: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows: list[Record] = []
    for code, binder in (("A.1", "shellac"), ("A.2", "wax")):
        rows += [
            Object(object=code, title=f"box {code}", kind="box"),
            Scheme(object=code, scheme="1", name="first", period="original", rank=1),
            Sample(object=code, sample="S1", place="all", method="cross-section"),
            Layer(object=code, sample="S1", position=1, role="varnish", scheme="1", binder=binder),
        ]
    store(db, "S", rows)
    asked = ["screen", str(db), "--action", "solvent", "--agent", "ethanol", "--on", "2024"]
    assert run([*asked, "--json"]) == WARNED
    found = json.loads(capsys.readouterr().out)
    assert [(each["object"], each["severity"]) for each in found["objects"]] == [
        ("A.1", "endangers"),
        ("A.2", "untested"),
    ]
    assert run(asked) == WARNED
    said = capsys.readouterr().out
    assert said.splitlines()[0] == "endangers: 1 object; untested: 1 object."
    assert "safety data sheets" in said
    assert run(["screen", str(db), "--action", "dust"]) == 0
    assert run(["screen", str(db), "--action", "solvent", "--agent", "3"]) == USAGE
