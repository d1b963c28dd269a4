"""A command that writes, killed at some moment, and what is left then; for tests and the long run."""

from __future__ import annotations

import os
import random
import signal
import time
from pathlib import Path

from faults.jobs import NAME, Job, begun, copied, state, typed

from collection.store.base.log import parts_of
from collection.store.check import check


def duration(job: Job, work: Path) -> tuple[float, object]:
    """Seconds that the command takes when nobody disturbs it, and the state that it leaves."""
    disk = copied(job.desk, work / "whole")
    (disk / "copy").mkdir()
    began = time.monotonic()
    code = typed(disk, job.typed, work / "said.txt")
    seconds = time.monotonic() - began
    assert code == 0, (work / "said.txt").read_text()
    return seconds, job.state(disk)


def one_kill(job: Job, work: Path, before: object, after: object, seconds: float) -> str:
    """Kill the command so many seconds after it began, and look: `before` or `after`.

    :raises AssertionError: when it is neither; when a plain copy of what is one database is another; when `check` finds
        damage; or when the command cannot be typed again.
    """
    disk, scratch, said = copied(job.desk, work / "killed"), work / "scratch", work / "said.txt"
    (disk / "copy").mkdir()
    child = begun(disk, job.typed, said)
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    stored = state(copied(disk, scratch, [part.name for part in parts_of(disk / NAME)]))
    found = job.state(copied(disk, scratch))
    assert found in (before, after), f"neither before nor after, {found}"
    assert state(copied(disk, scratch)) == stored, "a plain copy of the parts is another"
    if stored:
        damage = check(disk / NAME).damage
        assert not damage, damage
        assert state(copied(disk, scratch, [NAME])) == stored, "the log was not moved in"
    if found == before:
        code = typed(disk, job.typed, said)
        assert (code, job.state(copied(disk, scratch))) == (0, after), f"it does not go afterwards: {said.read_text()}"
        left = [path.name for path in disk.rglob("*") if "unfinished" in path.name]
        assert not left, left
    return "before" if found == before else "after"


def moments(count: int, whole: float, seed: int) -> list[float]:
    """Random moments from the start to well after the end, half of them about the end, where it is made to last.

    Well after it, because on a machine that does other things as well the same command takes longer the next time.
    """
    chance = random.Random(seed)
    return sorted(chance.uniform(0.8 * whole if number % 2 else 0, whole * 1.6) for number in range(count))
