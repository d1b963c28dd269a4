"""A copy of the program that a test may change, run in a process of its own."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = ("collection", "schema")


def copied(to: Path, names: tuple[str, ...] = PROGRAM) -> Path:
    """The named files and folders of the checkout, copied below `to`."""
    to.mkdir()
    for name in names:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, to / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy2(ROOT / name, to / name)
    return to


def edit(file: Path, old: str, new: str) -> None:
    """Replace the one place where a text stands in a file."""
    text = file.read_text(encoding="utf-8")
    assert text.count(old) == 1, f"{file.name} holds {old!r} {text.count(old)} times, and once was expected"
    file.write_text(text.replace(old, new), encoding="utf-8")


def python(tree: Path, *words: str | Path) -> subprocess.CompletedProcess[str]:
    """Run Python with the copy's own package and plugin."""
    return subprocess.run(
        [sys.executable, *map(str, words)],
        cwd=tree,
        env={**os.environ, "PYTHONPATH": f"{tree}{os.pathsep}{tree / 'plugins'}", "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
