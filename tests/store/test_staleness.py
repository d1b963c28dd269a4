"""A changed rule reopens the approvals that it changes; a new wording, format or engine number reopens none.

Each case changes a line of a copy of the program and asks the copy, in a process of its own, which approvals stand.
"""

from __future__ import annotations

import hashlib
import json
import re
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import objects as o
import pytest
from objects import RED, door, section
from tree_copy import copied, edit, python
from trial_doors import ACETONE, BOTH, KEPT, STRIP, WING, advice, approve, now, stored

from collection.compute import ENGINE
from collection.compute.case import Case
from collection.records.facts import canonical_json
from collection.records.policy import default_policy
from collection.rules import assess as assessing
from collection.store.base import database, read
from collection.store.decide import staleness
from collection.store.decide.decisions import decisions
from collection.store.decide.standing_proposals import every_proposal
from collection.values import reference as tables

SWAB = {**ACETONE, "dwell_s": 10.0, "application": "rolled swab", "spares": "wing"}
ROWS = [
    *door(WING, KEPT, *section("S1", RED, ("1", "varnish", None, "intact"))),
    *o.met("T1", 2, "none seen", sample="S1"),
    advice(against="wrap"),
]
PROPOSALS = [
    ("dusting", [{"action": "dust"}]),
    ("strip", [{**STRIP, "spares": "wing"}]),
    ("swab", [SWAB]),
    ("wrapping", [{"action": "wrap"}]),
    # Only its first step is approved; the second is what a strip is.
    ("steps", [{"action": "dust"}, {**STRIP, "spares": "wing"}]),
]


@pytest.fixture(scope="module")
def approved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Five approvals that stand: of a dusting, a strip, a swab that stood the test, a wrapping against advice, and the
    first of two steps."""
    db = stored(tmp_path_factory.mktemp("approved"), ROWS, *PROPOSALS)
    approve(db, "dusting")
    approve(db, "strip", overrides=BOTH)
    approve(db, "swab")
    approve(db, "wrapping", answers={"V1": "clean linen, for a day"})
    approve(db, "steps", steps=(1,))
    with database.opened(db, write=False) as connection:
        assert not any(each.overtaken for each in every_proposal(connection, default_policy())[0])
    return db


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    return copied(tmp_path / "tree")


def reopened(tree: Path, db: Path) -> set[str]:
    """The approvals that do not stand, as a copy of the program says."""
    done = python(tree, "-m", "collection", "assess", db, "--all", "--json")
    assert done.returncode in (0, 3), done.stderr
    found = {each["proposal"].partition("/")[2]: each for each in json.loads(done.stdout)["assessments"]}
    assert found.keys() == {code for code, _ in PROPOSALS}
    assert {each["decision"] for each in found.values()} == {"approve"}
    return {code for code, each in found.items() if each["overtaken"]}


SEVERITY, REQUIREMENTS, ADVICE = (
    Path("collection/rules") / name for name in ("severity.py", "requirements.py", "advice.py")
)


@pytest.mark.parametrize(
    ("file", "old", "new", "expected"),
    [
        # What stood the test is untested, by a stricter rule: the swab was approved as harmless.
        (SEVERITY, '"stood" if rate.cleared or not touched else "untested"', '"untested"', {"swab"}),
        # Less severe is another severity too: somebody accepted a loss that is none by the new rule.
        (SEVERITY, 'return "destroys" if outcome.coat is not None else "untested"', 'return "untested"', {"strip"}),
        # A requirement that was met is open.
        (
            REQUIREMENTS,
            "            bool(kept),\n            part,",
            "            False,\n            part,",
            {"strip"},
        ),
        # A requirement that was not asked: of work that is more than dusting and handling.
        (
            REQUIREMENTS,
            "def _permission(case: Case, proposal: ProposalFacts) -> Iterator[Requirement]:\n",
            "def _permission(case: Case, proposal: ProposalFacts) -> Iterator[Requirement]:\n"
            '    yield Requirement("second opinion", "approval", False, None, "Nobody else was asked.")\n',
            {"strip", "swab"},
        ),
        # Advice that was answered speaks against another step now, so its answer does not hold.
        (
            ADVICE,
            "if (ALL in named or s.action in named) and",
            'if (ALL in named or s.action in named or s.action == "dust") and',
            {"dusting", "steps"},
        ),
    ],
)
def test_a_changed_rule_reopens_what_it_changes(
    approved: Path, tree: Path, file: Path, old: str, new: str, expected: set[str]
) -> None:
    edit(tree / file, old, new)
    assert reopened(tree, approved) == expected


def test_the_published_pages_say_the_same(approved: Path, tree: Path, tmp_path: Path) -> None:
    edit(tree / SEVERITY, '"stood" if rate.cleared or not touched else "untested"', '"untested"')
    done = python(tree, "-m", "collection", "publish", approved, tmp_path / "site")
    assert done.returncode == 0, done.stderr
    (file,) = (tmp_path / "site").glob("*.db")
    with sqlite3.connect(file) as db:
        assert db.execute("SELECT count(*) FROM decisions").fetchone() == (len(PROPOSALS),)
        assert db.execute("SELECT proposal FROM decisions WHERE stale").fetchall() == [("swab",)]


def test_wording_format_and_the_engines_number_reopen_nothing(approved: Path, tree: Path) -> None:
    """Every module of the rules is laid out in narrow lines, docstrings and messages say something else, and the number
    of the engine is another."""
    edit(tree / "collection/compute/__init__.py", f'ENGINE = "{ENGINE}"', 'ENGINE = "next"')
    edit(tree / REQUIREMENTS, '"The owner\'s permission is not recorded."', '"Nobody has said that the owner agrees."')
    edit(tree / "collection/rules/effect.py", "would be destroyed", "would be gone")
    for path in (tree / "collection/rules").glob("*.py"):
        path.write_text(re.sub(r'^ *"""(?=\w)', r"\g<0>Said anew: ", path.read_text(), flags=re.M))
    before = {path: path.read_text() for path in (tree / "collection/rules").glob("*.py")}
    formatter = [sys.executable, "-m", "ruff", "format", "--isolated", "--line-length", "60", "collection/rules"]
    subprocess.run(formatter, cwd=tree, check=True, capture_output=True)
    assert any(path.read_text() != text for path, text in before.items())
    assert reopened(tree, approved) == set()


def test_an_engines_number_is_kept_with_a_decision_and_an_approval_of_engine_4_stands(
    approved: Path, tmp_path: Path
) -> None:
    """As engine 4 hashed its inputs, its own number among them, and stored an assessment without it."""
    db = tmp_path / "c.db"
    with sqlite3.connect(approved) as source, sqlite3.connect(db) as copy:
        source.backup(copy)
    with database.opened(db, write=False) as connection:
        (made,) = decisions(connection, o.OBJ, "swab")
        facts, proposal = read.facts_rows(connection, o.OBJ), read.load_proposal(connection, o.OBJ, "swab")
    assert json.loads(made.assessment)["engine"] == ENGINE
    then = {
        "engine": "4",
        "facts": facts.sha256,
        "proposal": proposal.document(),
        "policy": default_policy().sha256,
        "reference": tables.sha256(),
    }
    assert made.inputs_sha256 == hashlib.sha256(canonical_json(then).encode()).hexdigest()
    with sqlite3.connect(db) as copy:
        copy.execute("DROP TRIGGER decisions_no_update")
        copy.execute("UPDATE decisions SET assessment = json_remove(assessment, '$.engine')")
    assert not now(db, "swab").stale


def test_a_whole_collection_is_assessed_once(approved: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only an approval of some steps is assessed for itself, as far as its last step."""
    made = []

    def counted(case: Any, proposal: Any) -> Any:
        made.append((proposal.proposal.proposal, len(proposal.steps)))
        return assessing.assess(case, proposal)

    monkeypatch.setattr(staleness, "assess", counted)
    with database.opened(approved, write=False) as connection:
        every_proposal(connection, default_policy())
    assert made == [("steps", 1)]


def test_a_step_that_comes_to_cause_an_accepted_loss_is_looked_at_again(tmp_path: Path) -> None:
    """Step 1 strips, and only step 2 is approved; the gate asks for no override, because step 2 destroys nothing. Were
    it found to cause the same loss, the loss and its severity are as before, and the approval is not."""
    db = stored(tmp_path, ROWS, ("P", [{**STRIP, "spares": "wing"}, {"action": "dust"}]))
    made = approve(db, steps=(2,))
    assert not now(db).stale
    stored_then = json.loads(made.assessment)
    assert made.outcome == "destroys"
    for loss in stored_then["losses"]:
        loss["steps"] = [1, 2]
    with database.opened(db, write=False) as connection:
        facts, proposal = read.facts_rows(connection, o.OBJ), read.load_proposal(connection, o.OBJ, "P")
    basis = staleness.Basis(made.steps, made.inputs_sha256, json.dumps(stored_then), ())
    assert staleness.is_stale(basis, Case(facts), proposal)
