"""Work in a process of its own that is killed at a counted call, so that every run is killed in the same places.

A clock would hit other places on a busy machine, or none. Moments inside a call of SQLite are left to the random kills of
`tests/bench/faults/long_run.py`.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

COUNTED = """
import os, signal, sys
at, process, calls = int(sys.argv[1]), os.getpid(), 0
def count(frame, event, argument):
    global calls
    calls += 1
    if calls == at and os.getpid() == process:
        os.kill(process, signal.SIGKILL)
sys.setprofile(count)
work(*sys.argv[2:])
sys.setprofile(None)
print(calls)
"""


def _ran(script: str, at: int, arguments: tuple[str | Path, ...]) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", script + COUNTED, str(at), *map(str, arguments)],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONHASHSEED": "0"},
    )


def calls(script: str, *arguments: str | Path) -> int:
    """How many calls and returns the script's `work(*arguments)` counts when nobody kills it."""
    done = _ran(script, 0, arguments)
    assert done.returncode == 0, done.stderr
    return int(done.stdout.splitlines()[-1])


def kill(script: str, *arguments: str | Path, at: int) -> None:
    """The same, killed (signal 9) at its call of this number."""
    done = _ran(script, at, arguments)
    assert done.returncode == -signal.SIGKILL, done.stderr


def moments(whole: int, number: int) -> list[int]:
    """So many calls, spread evenly, and some shortly before the last, where what was done is made to last."""
    last = {whole - max(20, whole // (number * 8**step)) for step in range(1, 5)}
    return [1 + whole * at // number for at in range(number)] + sorted(last)
