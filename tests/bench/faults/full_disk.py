"""Every command that writes, on a disk that is full; a command: python tests/bench/faults/full_disk.py --step 16

The disk is a real one in memory (tmpfs) of its own, in a mount name space of its own, with so much room that the work
fails at another stage each time: before, during and at the end of the commit, when the log is moved into the file, and in
what is done after the commit. After each try the state has to be the one before (exit code 6) or the one after (exit code
0); what the sentence names, copied as it stands, is the whole database; `check` says of a log that it stands there, and
moves it in once there is room. What was seen is printed by the room that there was. The exit code is 1 when anything is wrong.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
from itertools import groupby, pairwise
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from faults.jobs import NAME, Job, copied, jobs, state, typed

GRID = 6
ROOM = 400_000
"""Kilobytes that are surely enough."""


def mounted(disk: Path, kilobytes: int, *, again: bool = False) -> None:
    size = f"{'remount,' if again else ''}size={kilobytes}k"
    subprocess.run(["mount", "-t", "tmpfs", "-o", size, "none", str(disk)], check=True)


def used(disk: Path) -> int:
    found = os.statvfs(disk)
    return (found.f_blocks - found.f_bfree) * found.f_frsize // 1024


def set_out(job: Job, disk: Path) -> None:
    shutil.copytree(job.desk, disk, dirs_exist_ok=True)
    (disk / "copy").mkdir()
    (disk / "something else").write_text("a disk of no size would have no end")


def one_try(job: Job, work: Path, free: int, before: object, after: object) -> tuple[str, ...]:
    """What came of it with so many kilobytes free: exit code, what is stored, what stands there, `check`, then with room.

    :raises AssertionError: when it is not what it has to be.
    """
    disk, scratch, said = work / "disk", work / "scratch", work / "said.txt"
    mounted(disk, ROOM)
    try:
        set_out(job, disk)
        mounted(disk, used(disk) + free, again=True)
        code = typed(disk, job.typed, said)
        told = said.read_text()
        found = job.state(copied(disk, scratch))
        assert (code, found) in ((0, after), (6, before)), (code, told)
        log = disk / f"{NAME}-wal"
        logged = log.exists() and log.stat().st_size > 0
        named = sorted(set(re.findall(rf"{re.escape(NAME)}(?:-wal|-shm)?(?![\w.-])", told))) if logged else [NAME]
        stored = state(copied(disk, scratch))
        if (disk / NAME).exists():
            assert state(copied(disk, scratch, named)) == stored, (named, told)
        assert not logged or f"firstcoat check {NAME}" in told, told
        left = sorted(path.name for path in disk.rglob("*") if "unfinished" in path.name or "partial" in path.name)
        assert not left, (left, told)
        looked = typed(disk, ("check", NAME), said) if stored else 0
        first = said.read_text() if stored else ""
        assert looked in (0, 6), first
        assert not logged or looked or f"{NAME}-wal" in first, first
        mounted(disk, ROOM, again=True)
        if stored:
            assert typed(disk, ("check", NAME, "--json"), said) == 0, said.read_text()
            report = json.loads(said.read_text())
            assert not log.exists() or not log.stat().st_size, report
            assert state(copied(disk, scratch, [NAME])) == stored
        behind = stored and any("refresh" in note for note in json.loads(said.read_text())["notes"])
        return (
            str(code),
            "after" if code == 0 else "before",
            " and ".join((["its log"] * logged + ["not computed yet"] * bool(behind)) or ["nothing"]),
            "-" if not stored else str(looked),
            re.sub(r"\s+", " ", told.strip().splitlines()[-1] if code else " ".join(re.findall("Note: .*", told))),
        )
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def sweep(job: Job, work: Path, step: int) -> int:
    """One command with no room, enough, and much in between; prints what was seen, gives how often it was wrong."""
    disk = work / "disk"
    before = job.state(copied(job.desk, work / "scratch"))
    mounted(disk, ROOM)
    set_out(job, disk)
    code = typed(disk, job.typed, work / "said.txt")
    assert code == 0, (work / "said.txt").read_text()
    after = job.state(copied(disk, work / "scratch"))
    subprocess.run(["umount", str(disk)], check=True)
    tries: dict[int, tuple[str, ...]] = {}

    def look(free: int) -> tuple[str, ...]:
        if free not in tries:
            try:
                tries[free] = one_try(job, work, free, before, after)
            except AssertionError as error:
                tries[free] = ("WRONG", str(error)[:600])
        return tries[free]

    enough = step
    while look(enough)[:3] != ("0", "after", "nothing"):
        enough *= 2
    for free in range(0, enough, max(enough // GRID, step)):
        look(free)
    # Between two that ended differently it is looked closer, so that no stage is passed over.
    while pairs := [
        (one, two) for one, two in pairwise(sorted(tries)) if tries[one] != tries[two] and two - one > step
    ]:
        for one, two in pairs:
            look((one + two) // 2)
    for seen, group in groupby(sorted(tries), key=tries.__getitem__):
        rooms = list(group)
        print(f"| {job.name} | {rooms[0]} to {rooms[-1]} kB | {len(rooms)} | {' | '.join(seen)} |", flush=True)
    return sum(seen[0] == "WRONG" for seen in tries.values())


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--step", type=int, default=16, help="how close the room is told, in kilobytes")
    options.add_argument("--only", help="the command whose name begins so")
    options.add_argument("--inside", action="store_true", help=argparse.SUPPRESS)
    given = options.parse_args()
    if not given.inside:
        return subprocess.run(["unshare", "-rm", sys.executable, *sys.argv, "--inside"], check=False).returncode
    with tempfile.TemporaryDirectory(prefix="firstcoat-full-") as folder:
        work = Path(folder)
        (work / "disk").mkdir()
        wrong = 0
        print(
            "| command | room | tries | exit code | state | what is left | `check` | last sentence |\n"
            + "|---" * 8
            + "|"
        )
        for job in jobs(work):
            if job.name.startswith(given.only or ""):
                wrong += sweep(job, work, given.step)
    print(f"{wrong} tries ended otherwise")
    return int(wrong > 0)


if __name__ == "__main__":
    raise SystemExit(main())
