"""The linter, the formatter, the type checker and the search for dead code find nothing; exceptions have their reason."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FOUND_BY_NAME = {
    r"collection/cli/\S+ function": "commands, which click finds by their decorator",
    r"collection/cli/__init__.py method '(list_commands|format_commands)'": "called by click",
    r"collection/records/row.py .* '(model_config|_closed_lists)'": "called by pydantic",
    r"collection/records/(sheets|work).py variable": "columns, which are read by their names",
    r"collection/values/reference.py variable '\w+_status'": "columns, which are read by their names",
    r"plugins/firstcoat_site/__init__.py function": "hooks, called by Datasette",
    r"sample_db/notebook.py method '_finish_\w+'": "called by the name of a sheet",
    r"tests/bench/speed/made_package.py function '_\w+'": "called by the name of a sheet",
    r"tests/bench/world/tables.py variable": "figures, which are filled in and printed by their names",
    r"tests/bench/models/calibration.py variable 'kernel_by_class'": "printed by its name",
    r"tests/builders/(site_answers|pages_on_disk).py method 'handle_\w+'": "called by html.parser",
    r"collection/output/tell/blocks.py variable 'row_heads'": "read by the templates of papers and pages",
    r"tests/mutation/mutants.py method": "called by importlib and pytest",
    r"tests/\S+ (variable 'pytestmark'|function '(pytest_report_header|pytest_sessionstart|_limits)')": "asked for by pytest",
    r"tests/store/changes/test_withdrawal.py method": "rules of a state machine, called by hypothesis",
    r"\S+ attribute '(writeable|buffer_text|\w+Handler|rich|tempdir|binary_location|data_type|row_factory|MAX_IMAGE_PIXELS)'": (
        "settings of objects from libraries"
    ),
    r"collection/ingest/\S+ variable 'standalone'": "an argument that expat gives",
    r"collection/ingest/package/workbook/book.py variable '(data_type|style_id)'": "told by openpyxl's reader of rows",
}
"""What vulture takes for dead and is not: where it stands, what it is, and why it lives."""


def _run(*words: str) -> str:
    done = subprocess.run([sys.executable, "-m", *words], cwd=ROOT, capture_output=True, text=True, check=False)
    return "" if done.returncode == 0 else done.stdout + done.stderr


def test_ruff_finds_nothing() -> None:
    assert _run("ruff", "check", "--no-cache", ".") == ""


def test_every_file_is_formatted() -> None:
    assert _run("ruff", "format", "--no-cache", "--check", ".") == ""


def test_mypy_finds_nothing() -> None:
    assert _run("mypy") == ""


def test_vulture_finds_no_dead_code() -> None:
    found = [
        re.sub(r":\d+: unused | \(.*", lambda m: " " if m[0].startswith(":") else "", line)
        for line in _run("vulture", "collection", "plugins", "sample_db", "tests").splitlines()
    ]
    assert [line for line in found if not any(re.match(allowed, line) for allowed in FOUND_BY_NAME)] == []
    assert [allowed for allowed in FOUND_BY_NAME if not any(re.match(allowed, line) for line in found)] == []


def test_every_ignored_rule_says_why() -> None:
    listed = re.search(r"^ignore = \[\n(.*?)^\]", (ROOT / "pyproject.toml").read_text(), re.M | re.S)
    assert listed
    rules = [line for line in listed[1].splitlines() if line.strip().startswith('"')]
    assert rules
    assert all(re.search(r"# \S+ \S+", line) for line in rules)
