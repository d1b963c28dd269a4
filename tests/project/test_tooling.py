"""The linter and the type checker find nothing, and every exception that is made has its reason."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def _run(*words: str) -> str:
    done = subprocess.run([sys.executable, "-m", *words], cwd=ROOT, capture_output=True, text=True, check=False)
    return "" if done.returncode == 0 else done.stdout + done.stderr


def test_ruff_finds_nothing():
    assert _run("ruff", "check", "--no-cache", ".") == ""


def test_every_file_is_formatted():
    assert _run("ruff", "format", "--no-cache", "--check", ".") == ""


def test_mypy_finds_nothing():
    assert _run("mypy") == ""


def test_every_ignored_rule_says_why():
    listed = re.search(r"^ignore = \[\n(.*?)^\]", (ROOT / "pyproject.toml").read_text(), re.M | re.S)
    assert listed
    rules = [line for line in listed[1].splitlines() if line.strip().startswith('"')]
    assert rules
    assert all(re.search(r"# \S+ \S+", line) for line in rules)
