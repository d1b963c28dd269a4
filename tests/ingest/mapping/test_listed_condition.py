"""What a list says of an object's condition has a home, clears nothing and raises nothing.

"Good" or "unstable" in an old list is somebody's word about the whole object, often without a day or a name. A conservator
reads it and looks for herself: it is shown, and no computation may rest on it.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import objects as o
import pytest
from asked import ask
from mapped_lists import LIST, SURVEY, faults_of, report_of, write
from read_back import documents
from trial_doors import ACETONE, HELD, approve, stored

from collection.cli import run
from collection.compute.case import Case
from collection.compute.risk.standing import standing_threats
from collection.output.site.publish import publish
from collection.records.policy import default_policy
from collection.store.base import database, read
from collection.store.decide.standing_proposals import every_proposal

MAPPING = (
    SURVEY
    + LIST
    + """
[objects]
listed_condition = { take = ["Condition", "Seen", "By", "Stable"], between = [", ", ", ", "; stable: "] }
"""
)
ALARMING = "Poor; paint flaking and lifting all over"
"""What would raise alarms, and clear the question whether anybody has looked, if it were taken for an observation."""


def computed(db: Path, every: int = 1) -> dict[str, Any]:
    """What is computed of every object, or of every second, third …: survival, assessments, risks, approvals that no
    longer stand; of all others what it is computed from."""
    found: dict[str, Any] = {}
    codes = [code for (code,) in ask(db, "SELECT object FROM objects ORDER BY object")]
    for code in codes[::every]:
        found[code] = documents(db, code)
    with database.opened(db, write=False) as connection:
        for code in codes:
            facts = read.facts_rows(connection, code)
            found[f"facts of {code}"] = facts.sha256
            found[f"risks of {code}"] = standing_threats(Case(facts))
        open_, done = every_proposal(connection, default_policy())
    found["proposals"] = [(each.title, each.decision, each.overtaken, each.assessment.outcome) for each in open_]
    found["done"] = len(done)
    return found


@pytest.fixture
def copied(harbour: Path, tmp_path: Path) -> Path:
    db = tmp_path / "c.db"
    shutil.copy(harbour, db)
    return db


@pytest.mark.slow
def test_everything_computed_is_the_same_with_and_without_it(copied: Path, tmp_path: Path) -> None:
    """Survival, assessments, risks and approvals of fourteen invented objects, before and after a list calls each poor."""
    codes = [code for (code,) in ask(copied, "SELECT object FROM objects ORDER BY object")]
    before = computed(copied, 3)
    assert len(codes) == 14
    assert len(before["proposals"]) > 0
    rows = "".join(f'{code},"{ALARMING}",2011-05,N. Pike,no\n' for code in codes)
    report, _ = report_of(
        copied,
        write(tmp_path / "list", "No,Condition,Seen,By,Stable\n" + rows, MAPPING),
        amend="the old list",
        by="Nora Pike",
    )
    assert report.changed == {"objects": 14}
    assert set(ask(copied, "SELECT listed_condition FROM objects")) == {(f"{ALARMING}, 2011-05, N. Pike; stable: no",)}
    assert computed(copied, 3) == before


@pytest.mark.slow
def test_the_same_words_seen_by_somebody_would_change_it(copied: Path, tmp_path: Path) -> None:
    """The comparison notices what it is there for: flaking that goes on, seen on a day, is evidence."""
    before = computed(copied, 20)
    mapping = (
        SURVEY
        + LIST
        + (
            '[[rows]]\nsheet = "conditions"\n[rows.columns]\nplace = "Where"\nphenomenon = "Condition"\n'
            'observed_on = { date = "Seen" }\nactive = "Active"\n'
        )
    )
    codes = [code for (code,) in ask(copied, "SELECT object FROM objects ORDER BY object")]
    rows = "".join(f"{code},all,flaking,2025-05-01,yes\n" for code in codes)
    report_of(copied, write(tmp_path / "list", "No,Where,Condition,Seen,Active\n" + rows, mapping))
    after = computed(copied, 20)
    for what in ("facts", "risks"):
        assert [code for code in codes if after[f"{what} of {code}"] != before[f"{what} of {code}"]]
    assert after["proposals"] != before["proposals"]


def test_an_approval_stands(tmp_path: Path) -> None:
    """Of work on a door that a list calls poor afterwards."""
    rows = [*HELD, *o.met("T1", 2, "none seen", sample="S1")]
    db = stored(
        tmp_path, rows, ("swab", [{**ACETONE, "dwell_s": 10.0, "application": "rolled swab", "spares": "wing"}])
    )
    approve(db, "swab")
    before = computed(db)
    text = f'No,Condition,Seen,By,Stable\n{o.OBJ},"{ALARMING}",,,no\n'
    report, _ = report_of(db, write(tmp_path / "list", text, MAPPING), amend="the old list", by="Nora Pike")
    assert report.changed == {"objects": 1}
    assert before["proposals"] == [("trial", "approve", False, "untested")]
    assert computed(db) == before


def test_it_is_shown_and_published(db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """As the list has it, day and person behind it; a list that says less leaves no loose separators."""
    mapping = MAPPING.replace("[objects]", '[objects]\ntitle = "Title"\nkind = "Kind"')
    text = (
        "No,Title,Kind,Condition,Seen,By,Stable\n"
        "1,Gate,door,Good,2011-05,N. Pike,yes\n2,Sign,sign,,,,yes\n3,Flag,flag,fair,,,\n4,Pole,pole,,,,\n"
    )
    _, told = report_of(db, write(tmp_path / "a", text, mapping))
    assert told["unmapped_cells"] == told["kept_as_written"] == {}
    assert ask(db, "SELECT listed_condition FROM objects ORDER BY object") == [
        ("Good, 2011-05, N. Pike; stable: yes",),
        ("stable: yes",),
        ("fair",),
        (None,),
    ]
    assert run(["show", str(db), "1"]) == 0
    assert "condition as listed: Good, 2011-05, N. Pike; stable: yes" in capsys.readouterr().out
    assert run(["show", str(db), "1", "--json"]) == 0
    told_of = json.loads(capsys.readouterr().out)
    assert told_of["listed_conditions"] == ["Good, 2011-05, N. Pike; stable: yes"]
    assert "Good" not in json.dumps(told_of["facts"])
    publish(db, tmp_path / "site")
    with sqlite3.connect(tmp_path / "site" / "collection.db") as site:
        assert site.execute("SELECT listed_condition FROM objects WHERE object = '3'").fetchall() == [("fair",)]


def test_no_mapping_says_it_for_all_rows() -> None:
    """A mapping has looked at no object."""
    said = MAPPING.replace(
        'listed_condition = { take = ["Condition", "Seen", "By", "Stable"], between = [", ", ", ", "; stable: "] }',
        'listed_condition = { say = "good" }',
    )
    assert any("a mapping did none of it" in each for each in faults_of(said))
