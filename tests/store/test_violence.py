"""Every command that writes: on a disk that fills at each stage of it, and killed at random moments.

These are small runs of the two commands of `tests/bench/faults`; what the long ones gave stands in `tests/bench/README.md`.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

FAULTS = Path(__file__).resolve().parents[1] / "bench" / "faults"
COMMANDS = (
    "ingest",
    "ingest of 600 objects",
    "correct",
    "withdraw a survey",
    "decide",
    "refresh",
    "init",
    "migrate",
    "backup",
    "publish --replace",
    "export --as package",
    "archive",
    "restore",
)
WITHOUT_LOG = ("backup", "archive", "restore")
FILLED = ("ingest of 600 objects", "init", "migrate", *WITHOUT_LOG)
"""Those tried here on a disk that fills. Moving the log in makes the file of all but the last three grow by so much that
this stage is met at steps of 128 kB."""


def ran(name: str, *options: str) -> list[str]:
    done = subprocess.run([sys.executable, FAULTS / name, *options], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout.splitlines()


@pytest.mark.slow
def test_a_disk_that_fills_at_any_stage_leaves_before_or_after_and_says_which() -> None:
    """Each command comes to all its stages: refused with nothing stored; stored with its log left beside the file, which
    the sentence names; done. Of very many objects it is also told when they could not be computed. A copy, an archive and
    what is restored have no such stage: they are there or not. What the sentence names was copied, and is whole, or the
    command ends with 1."""
    if subprocess.run(["unshare", "-rm", "true"], check=False).returncode:
        pytest.skip("no mount name spaces on this machine")
    seen: dict[str, list[str]] = {}
    for line in ran("full_disk.py", "--step", "128", "--only", *FILLED)[2:-1]:
        name, _, _, code, state, left, *_ = (cell.strip() for cell in line.strip("|").split("|"))
        seen.setdefault(name, []).append(f"{code} {state}, {left}")
    assert tuple(seen) == FILLED
    for name, stages in seen.items():
        assert stages[0] == "6 before, nothing"
        assert stages[-1] == "0 after, nothing"
        assert ("0 after, its log" in stages) == (name not in WITHOUT_LOG), name
    assert "0 after, its log and not computed yet" in seen["ingest of 600 objects"]


@pytest.mark.slow
def test_a_kill_at_any_moment_leaves_before_or_after() -> None:
    lines = ran("long_run.py", "--kills", "2", "--packages", "0")
    assert [line.split(":")[0] for line in lines if " kills within " in line] == [*COMMANDS]
    assert all(line.endswith(" 0 between") for line in lines if " kills within " in line)
