"""An ingest in a process of its own, killed at some moment, and what is left then; for tests and the long run."""

from __future__ import annotations

import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

from collection.store.check import check

CHILD = """
import sys
from collection.ingest.load import ingest
print("ready", flush=True)
sys.stdin.readline()
ingest(sys.argv[1], sys.argv[2])
print("done", flush=True)
"""


def start(database: Path, package: Path) -> subprocess.Popen[str]:
    """A process that has everything imported and waits."""
    child = subprocess.Popen(
        [sys.executable, "-c", CHILD, str(database), str(package)],
        text=True,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert child.stdout is not None
    assert child.stdout.readline() == "ready\n"
    return child


def go(child: subprocess.Popen[str]) -> None:
    assert child.stdin is not None
    child.stdin.write("\n")
    child.stdin.flush()


def copied(database: Path, to: Path) -> Path:
    """The database with its files, under another name."""
    shutil.copy(database, to)
    folder = database.with_name(database.name + ".files")
    if folder.exists():
        shutil.copytree(folder, to.with_name(to.name + ".files"))
    return to


def duration(database: Path, package: Path) -> float:
    """Seconds that the ingest takes when nobody disturbs it."""
    child = start(database, package)
    began = time.monotonic()
    go(child)
    out, err = child.communicate()
    assert (out, child.returncode) == ("done\n", 0), err
    return time.monotonic() - began


def kill_at(database: Path, package: Path, seconds: float) -> None:
    """The ingest, killed so many seconds after it began."""
    child = start(database, package)
    go(child)
    time.sleep(seconds)
    child.send_signal(signal.SIGKILL)
    child.communicate()


def state(database: Path) -> tuple[int, ...]:
    """Changes, then rows of every sheet and of places, warnings and files, as a reader finds them after a crash."""
    tables = (
        "changes",
        "packages",
        "surveys",
        "objects",
        "components",
        "zones",
        "schemes",
        "samples",
        "layers",
        "places",
        "files",
        "file_uses",
    )
    db = sqlite3.connect(database)
    try:
        return tuple(db.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in tables)
    finally:
        db.close()


def one_kill(before: Path, package: Path, work: Path, after: tuple[int, ...], seconds: float) -> str:
    """Kill one ingest and look: `before` or `after`; anything else is an error with its reason."""
    database = copied(before, work / "killed.db")
    try:
        kill_at(database, package, seconds)
        found = state(database)
        report = check(database)
        if report.damage:
            raise AssertionError(f"killed after {seconds:.3f} s: {report.damage}")
        if found == state(before):
            side = "before"
        elif found == after:
            side = "after"
        else:
            raise AssertionError(f"killed after {seconds:.3f} s: neither before nor after, {found}")
        again = duration(database, package)
        if again <= 0 or state(database) != after:
            raise AssertionError(f"killed after {seconds:.3f} s: the package does not go in afterwards")
        return side
    finally:
        for name in ("killed.db", "killed.db-wal", "killed.db-shm"):
            (work / name).unlink(missing_ok=True)
        shutil.rmtree(work / "killed.db.files", ignore_errors=True)


def moments(count: int, whole: float, seed: int) -> list[float]:
    """Random moments from the start to a little after the end."""
    chance = random.Random(seed)
    return sorted(chance.uniform(0, whole * 1.1) for _ in range(count))
