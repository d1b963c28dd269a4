"""Every command that writes, on a disk that is full; a command: python tests/bench/faults/full_disk.py --step 32

The disk is a real one in memory (tmpfs) of its own, in a mount name space of its own, with so much room that the work
fails a little later each time: before, during and at the end of the commit, when the log is moved into the file, and in
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
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from collection.cli import run
from collection.ingest.load import ingest
from collection.output.site.publish import CHECKSUMS, publish
from collection.output.site.serve import verify
from collection.store.base.database import create
from collection.store.schema import packaged
from collection.values.resources import sample_folder

NAME = "collection.db"
ROOM = 400_000
"""Kilobytes that are surely enough."""
BY = ("--by", "R. Registrar", "--reason", "a full disk")
MANY = 600
"""Objects of one survey, more than are brought up to date in its own transaction."""


@dataclass(frozen=True)
class Job:
    """One command: what stands on the disk before, what is typed, and where what it makes can be looked at."""

    name: str
    desk: Path
    typed: tuple[str, ...]
    state: Callable[[Path], object]


def state(folder: Path) -> object:
    """The version, the changes, and what is computed: how a reader finds the database."""
    path = folder / NAME
    if not path.exists():
        return None
    with closing(sqlite3.connect(path)) as db:
        (sound,) = db.execute("PRAGMA integrity_check").fetchone()
        if sound != "ok":
            return sound
        version = db.execute("PRAGMA user_version").fetchone()[0]
        tables = ("changes", "history", "objects", "layers", "decisions", "files") if version else ()
        return version, *(db.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in tables)


def site_state(folder: Path) -> object:
    """The checksums of the published site, which have to hold."""
    verify(folder / "site")
    return (folder / "site" / CHECKSUMS).read_text()


def backup_state(folder: Path) -> object:
    """The copy, as a reader finds it, and how many files it has; None where there is none."""
    copy = folder / "copy"
    if not copy.exists() or not any(copy.iterdir()):
        return None
    return state(copy), sum(path.is_file() for path in (copy / f"{NAME}.files").rglob("*"))


def jobs(work: Path) -> Iterator[Job]:
    """The sample's first survey as the database, and what may be done with it."""
    harbour, surveys = work / "harbour", Path(str(sample_folder().joinpath("harbour")))
    harbour.mkdir()
    create(harbour / NAME)
    ingest(harbour / NAME, surveys / "2014")
    empty, old, both = work / "empty", work / "old", work / "both"
    empty.mkdir()
    old.mkdir()
    with closing(sqlite3.connect(old / NAME, isolation_level=None)) as db:
        first = packaged.migrations()[0]
        db.executescript(f"PRAGMA journal_mode = WAL; {first.text}")
        db.executescript("PRAGMA application_id = 0x66637431; PRAGMA user_version = 1")
        db.execute("INSERT INTO migrations VALUES (1, ?, ?, '2026-11-01', '0.1')", (first.name, first.sha256))
    shutil.copytree(harbour, both)
    publish(both / NAME, both / "site")
    ingest(both / NAME, surveys / "2024", amend="second look", by="R. Registrar")
    many = work / "many"
    many.mkdir()
    (many / "survey.toml").write_text('code = "many"\ntitle = "Many"\nlead = "A. Lead"\nstarted = "2026"\n')
    rows = "".join(f"M{number},Sign,sign\n" for number in range(MANY))
    (many / "objects.csv").write_text(f"object,title,kind\n{rows}")
    second = ("ingest", NAME, str(surveys / "2024"), "--amend", "second look", "--by", "R. Registrar")
    yield Job("ingest", harbour, second, state)
    yield Job(f"ingest of {MANY} objects", harbour, ("ingest", NAME, str(many)), state)
    yield Job("correct", harbour, ("correct", NAME, "objects", "OHM-1962-7", "maker=N. N.", *BY), state)
    yield Job("withdraw a survey", harbour, ("withdraw", NAME, "survey", "OHM-2014", *BY), state)
    yield Job("decide", harbour, ("decide", NAME, "OHM-1962-7/P1", "--refuse", *BY), state)
    yield Job("refresh", harbour, ("refresh", NAME), state)
    yield Job("init", empty, ("init", NAME), state)
    yield Job("migrate", old, ("migrate", NAME), state)
    yield Job("backup", both, ("backup", NAME, f"copy/{NAME}"), backup_state)
    yield Job("publish --replace", both, ("publish", NAME, "site", "--replace"), site_state)


def typed(disk: Path, words: Sequence[str], said: Path) -> int:
    """The command in a child of this process, which has everything imported; its words go to a file."""
    child = os.fork()
    if not child:
        os.chdir(disk)
        with said.open("wb") as file:
            os.dup2(file.fileno(), 1)
            os.dup2(file.fileno(), 2)
        code = run(list(words))
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def mounted(disk: Path, kilobytes: int, *, again: bool = False) -> None:
    size = f"{'remount,' if again else ''}size={kilobytes}k"
    subprocess.run(["mount", "-t", "tmpfs", "-o", size, "none", str(disk)], check=True)


def used(disk: Path) -> int:
    found = os.statvfs(disk)
    return (found.f_blocks - found.f_bfree) * found.f_frsize // 1024


def copied(disk: Path, to: Path, names: Sequence[str] | None = None) -> Path:
    """The whole disk, or the files of these names alone, as a plain copy takes them."""
    shutil.rmtree(to, ignore_errors=True)
    if names is None:
        return Path(shutil.copytree(disk, to))
    to.mkdir()
    for name in names:
        if (disk / name).exists():
            shutil.copy(disk / name, to / name)
    return to


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
    """One command with more and more room until it is done; prints what was seen, gives how often it was wrong."""
    disk = work / "disk"
    before = job.state(copied(job.desk, work / "scratch"))
    mounted(disk, ROOM)
    set_out(job, disk)
    code = typed(disk, job.typed, work / "said.txt")
    assert code == 0, (work / "said.txt").read_text()
    after = job.state(copied(disk, work / "scratch"))
    subprocess.run(["umount", str(disk)], check=True)
    spans: list[tuple[int, int, int, tuple[str, ...]]] = []
    free = wrong = done = 0
    while done < 3:
        try:
            seen = one_try(job, work, free, before, after)
        except AssertionError as error:
            wrong += 1
            seen = ("WRONG", str(error)[:600])
        if spans and spans[-1][3] == seen:
            spans[-1] = (spans[-1][0], free, spans[-1][2] + 1, seen)
        else:
            spans.append((free, free, 1, seen))
        done = done + 1 if seen[:3] == ("0", "after", "nothing") else 0
        free += step
    for first, last, tries, seen in spans:
        print(f"| {job.name} | {first}–{last} kB, {tries} tries | {' | '.join(seen)} |", flush=True)
    return wrong


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--step", type=int, default=32, help="kilobytes more for each try")
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
            "| command | room | exit code | state | what is left | `check` | last sentence |\n|---|---|---|---|---|---|---|"
        )
        for job in jobs(work):
            if job.name.startswith(given.only or ""):
                wrong += sweep(job, work, given.step)
    print(f"{wrong} tries ended otherwise")
    return int(wrong > 0)


if __name__ == "__main__":
    raise SystemExit(main())
