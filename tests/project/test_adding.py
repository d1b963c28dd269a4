"""Adding a column, a word, a rule, a page and a migration as DEVELOPERS.md tells it, each on a copy of the program.

What is said when a step is left out is held too. Commands are taken from that text.
"""

from __future__ import annotations

import json
import re
import sqlite3
from pathlib import Path

import pytest
from small_package import package
from tree_copy import ROOT, copied, edit, python

from collection.compute import ENGINE
from collection.store.schema import packaged

pytestmark = pytest.mark.slow

HOW_TO = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("\n## How to\n")[2].partition("\n## ")[0]
NEXT = f"{packaged.newest_version() + 1:04d}"
SHEETS = Path("collection/records/sheets.py")
WORDS = Path("collection/language/work_words.py")


def steps(name: str) -> str:
    """What the text says of adding one kind of thing."""
    return HOW_TO.partition(f"**Add a {name}**")[2].partition("\n**Add ")[0]


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    names = ("collection", "schema", "plugins", "tests", "sample_db", "pyproject.toml", "README.md", "DEVELOPERS.md")
    return copied(tmp_path / "tree", names)


def run(tree: Path, *words: str | Path) -> str:
    done = python(tree, "-m", "collection", *words)
    assert done.returncode in (0, 3), done.stdout + done.stderr
    return done.stdout


def tried(tree: Path, *files: str) -> str:
    """What the tests of the copy say; empty where all pass."""
    done = python(tree, "-m", "pytest", "-q", "-n0", "-p", "no:cacheprovider", *files)
    return "" if done.returncode == 0 else done.stdout + done.stderr


def commanded(tree: Path, which: str) -> str:
    """Run the command of the schema that the steps of a column name."""
    (found,) = re.findall(rf"`python (-m collection\.store\.schema\.{which}[^`]*)`", steps("column"))
    done = python(tree, *found.split())
    assert done.returncode == 0, done.stderr
    return done.stdout


SCHEMA = ("tests/store/test_schema.py", "tests/store/test_draft.py", "tests/store/test_versions.py")


def test_a_column(tree: Path, tmp_path: Path) -> None:
    """The texture of a coat, as words."""
    colour = '    colour: str | None = c.text("its colour in words")\n'
    edit(tree / SHEETS, colour, colour + '    texture: str | None = c.text("how its surface is worked")\n')
    said = tried(tree, *SCHEMA)
    assert "layers.texture is made by no migration" in said
    assert "python -m collection.store.schema.draft" in said
    assert len(said.splitlines()) < 10, "said once, and not by every test"

    assert f"{NEXT}_what_it_does.sql is drafted" in commanded(tree, "draft")
    said = tried(tree, "tests/store/test_schema.py")
    for name in ("guards.sql", "dictionary.csv", "CHECKSUMS"):
        assert f"freeze`: in schema/{name} line" in said
    assert f"{NEXT}_what_it_does.sql is not in CHECKSUMS" in said

    old = tmp_path / "old.db"
    run(ROOT, "init", old)
    run(ROOT, "ingest", old, package(tmp_path / "before"))
    commanded(tree, "freeze")
    assert tried(tree, *SCHEMA) == ""
    layers = "object,sample,position,role,texture\nT1,S01,3,varnish,stippled\n"
    run(tree, "migrate", old)
    more = package(
        tmp_path / "after",
        "harbour-2",
        layers=layers,
        objects=None,
        components=None,
        zones=None,
        schemes=None,
        samples=None,
    )
    run(tree, "ingest", old, more, "--amend", "a coat more", "--by", "A. Penrose")
    by = ("--by", "A. Penrose", "--reason", "seen in raking light")
    run(tree, "correct", old, "layers", "T1/S01/3", "texture=combed", *by)
    facts = json.loads(run(tree, "show", old, "T1", "--json"))["facts"]
    assert [row.get("texture") for row in facts["layers"]] == [None, None, "combed"]
    assert "“stippled” → “combed”" in run(tree, "show", old, "T1", "--history")
    run(tree, "publish", old, tmp_path / "site")
    (site,) = (tmp_path / "site").glob("*.db")
    with sqlite3.connect(site) as db:
        assert db.execute("SELECT texture FROM layers ORDER BY position").fetchall() == [(None,), (None,), ("combed",)]
    assert run(tree, "check", old)


def test_a_word(tree: Path, tmp_path: Path) -> None:
    """A way of bringing a liquid on."""
    edit(tree / WORDS, '"poultice", "immersion"),', '"poultice", "immersion", "syringe"),')
    said = tried(tree, "tests/records/test_word_tables.py")
    assert "tests.application is other than the migrations make it" in said
    commanded(tree, "draft")
    commanded(tree, "freeze")
    said = tried(tree, "tests/records/test_word_tables.py")
    assert "WETTING_RUBBING in collection/language/work_words.py has no row for syringe" in said
    edit(tree / WORDS, '    "immersion": (5, 0),\n', '    "immersion": (5, 0),\n    "syringe": (3, 0),\n')
    assert tried(tree, "tests/store/test_schema.py", "tests/records/test_word_tables.py") == ""
    db = tmp_path / "c.db"
    run(tree, "init", db)
    given = {"tests": "object,test,place,agent,application\nT1,X1,Z1,water,syringe\n"}
    run(tree, "ingest", db, package(tmp_path / "p", **given))
    assert "syringe" in run(tree, "show", db, "T1/X1")


def test_a_migration_that_renames_a_column(tree: Path, tmp_path: Path) -> None:
    """How a sample is mounted, under another heading."""
    edit(tree / SHEETS, '    mount: str | None = c.text("how it is', '    mounted: str | None = c.text("how it is')
    commanded(tree, "draft")
    assert "A migration does not run: no such column: TO_BE_SAID" in tried(tree, "tests/store/test_schema.py")
    old = tmp_path / "old.db"
    run(ROOT, "init", old)
    samples = "object,sample,place,method,mount\nT1,S01,Z1,cross-section,in resin\n"
    run(ROOT, "ingest", old, package(tmp_path / "p", samples=samples))
    edit(tree / f"schema/migrations/{NEXT}_what_it_does.sql", "TO_BE_SAID", "mount")
    commanded(tree, "freeze")
    assert tried(tree, "tests/store/test_schema.py", "tests/store/test_draft.py") == ""
    edit(tree / "collection/compute/__init__.py", f'ENGINE = "{ENGINE}"', 'ENGINE = "next"')
    run(tree, "migrate", old)
    assert json.loads(run(tree, "show", old, "T1", "--json"))["facts"]["samples"][0]["mounted"] == "in resin"
    run(tree, "refresh", old)
    assert run(tree, "check", old)


RULE = """
def _second_opinion(case: Case, proposal: ProposalFacts) -> Iterator[Requirement]:
    yield Requirement("second opinion", "work", False, None, "Nobody else was asked about this work.")
"""


def test_a_rule(tree: Path, tmp_path: Path) -> None:
    """Somebody else is asked before the work; common practice, no published source."""
    rules = tree / "collection/rules/requirements.py"
    rules.write_text(rules.read_text(encoding="utf-8") + "\n" + RULE, encoding="utf-8")
    edit(rules, "                _permission,\n", "                _permission,\n                _second_opinion,\n")
    db = tmp_path / "c.db"
    run(tree, "init", db)
    proposals = {
        "proposals": "object,proposal,title,proposed_by,proposed_on\nT1,P1,strip it,A. Penrose,2024\n",
        "proposal_steps": "object,proposal,step,place,action\nT1,P1,1,Z1,strip\n",
    }
    run(tree, "ingest", db, package(tmp_path / "p", **proposals))
    assert "Nobody else was asked about this work." in " ".join(run(tree, "assess", db, "T1/P1").split())
    told = json.loads(run(tree, "assess", db, "T1/P1", "--json"))["requirements"]
    assert [(row["when"], row["state"]) for row in told if row["rule"] == "second opinion"] == [("work", "open")]
    run(tree, "publish", db, tmp_path / "site")
    assert "Nobody else was asked about this work." in page(tree, tmp_path / "site", "/object/T1/proposal/P1")

    said = tried(tree, "tests/project/test_docs.py")
    assert "DEVELOPERS.md, The rules: no row for second opinion" in said
    row = "| `mask` | before work |"
    edit(tree / "DEVELOPERS.md", row, f"| `second opinion` | before work | somebody else was asked |\n{row}")
    assert tried(tree, "tests/project/test_docs.py") == ""


def page(tree: Path, site: Path, path: str) -> str:
    """The text of a page, as the copy's own plugin answers it."""
    asked = (
        "import sys; from pathlib import Path; sys.path.insert(0, 'tests/builders'); from site_answers import Page, get; "
        "(answer,) = get(Path(sys.argv[1]), sys.argv[2]); print(answer.status_code, Page(answer.text).words)"
    )
    done = python(tree, "-c", asked, site, path)
    assert done.returncode == 0, done.stderr
    status, _, words = done.stdout.partition(" ")
    assert status == "200", f"{path} answers {status}"
    return words


MODULE = '''"""The page of an object's colours."""

from __future__ import annotations

from typing import Any

from collection.output.published.addresses import Addresses
from collection.output.published.published_object import PublishedObject

Json = dict[str, Any]


def colours_data(published: PublishedObject) -> Json:
    """Every colour that a coat was given."""
    coats = [coat for sample in published["samples"] for coat in published.coats(sample["sample"])]
    return {"format": 1, "object": published.code, "colours": sorted({c["colour"] for c in coats if c.get("colour")})}


def colours_page(published: PublishedObject, data: Json, to: Addresses) -> Json:
    return {"many": len(data["colours"])}
'''
TEMPLATE = """{% extends "firstcoat_base.html" %}{% from "firstcoat_macros.html" import crumbs with context %}
{% block title %}Colours of {{ published.title }} – What survives{% endblock %}
{% block content %}{{ crumbs() }}<h1>Colours</h1><p>{{ many }} colours: {{ data.colours|join(", ") }}.</p>{% endblock %}
"""


def test_a_page(tree: Path, tmp_path: Path) -> None:
    """The colours of an object's coats."""
    plugin = tree / "plugins/firstcoat_site"
    (plugin / "pages/colours.py").write_text(MODULE, encoding="utf-8")
    (plugin / "templates/firstcoat_colours.html").write_text(TEMPLATE, encoding="utf-8")
    routes = plugin / "object_routes.py"
    edit(routes, "pages import finishes,", "pages import colours, finishes,")
    tests_route = '    *_routes("/tests", "tests", records.tests_data, records.tests_page),\n'
    own_route = '    *_routes("/colours", "colours", colours.colours_data, colours.colours_page),\n'
    edit(routes, tests_route, tests_route + own_route)
    said = tried(tree, "tests/site/test_pages.py")
    assert "No page like /object/X1/colours stands in PAGES of tests/builders/browsing.py" in said
    browser = '    "tests": f"{OBJECT}/tests",\n'
    edit(tree / "tests/builders/browsing.py", browser, browser + '    "colours": f"{OBJECT}/colours",\n')
    assert tried(tree, "tests/site/test_pages.py") == ""
    db = tmp_path / "c.db"
    run(tree, "init", db)
    run(tree, "ingest", db, package(tmp_path / "p"))
    run(tree, "publish", db, tmp_path / "site")
    assert "2 colours: cream, grey." in page(tree, tmp_path / "site", "/object/T1/colours")
    listed = "import sys; sys.path.insert(0, 'tests/builders'); import site_answers; print(site_answers.pages_without_codes())"
    assert "colours" in python(tree, "-c", listed).stdout, "every rule of the site is tried on it"
