"""The commands that write, each with what stands on the disk before it, for the runs in which the disk fills or they die."""

from __future__ import annotations

import os
import shutil
import sqlite3
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from collection.cli import run
from collection.ingest.load import ingest
from collection.output.archive import bag
from collection.output.archive.archive import archive
from collection.output.site.checksums import CHECKSUMS
from collection.output.site.publish import publish
from collection.output.site.serve import verify
from collection.store.base.database import create
from collection.store.schema import packaged
from collection.values.resources import sample_folder

NAME = "collection.db"
BY = ("--by", "R. Registrar", "--reason", "a trial")
MANY = 600
"""Objects of one survey, more than are brought up to date in its own transaction."""
FEW = 3
"""Objects of the collection that is archived and restored."""


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
        if not version:  # an `init` that was cut off, and may be typed again
            return None
        tables = ("changes", "history", "objects", "layers", "decisions", "files")
        return version, *(db.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in tables)


def site_state(folder: Path) -> object:
    """The checksums of the published site, which have to hold."""
    verify(folder / "site")
    return (folder / "site" / CHECKSUMS).read_text()


def backup_state(folder: Path) -> object:
    """The copy, as a reader finds it, and how many files it has; None where there is none."""
    copy = folder / "copy"
    if not (copy / NAME).exists():
        return None
    return state(copy), sum(path.is_file() for path in (copy / f"{NAME}.files").rglob("*"))


def export_state(folder: Path) -> object:
    """The order of the exported changes, and how many files the export has; None where there is none."""
    whole = folder / "whole"
    if not whole.exists():
        return None
    return (whole / "order.toml").read_text("utf-8"), sum(path.is_file() for path in whole.rglob("*"))


def archive_state(folder: Path) -> object:
    """How many files the archive has, each of them as it was sealed; None where there is no archive."""
    if not (folder / "kept").exists():
        return None
    damage = bag.damage(folder / "kept")
    return damage or sum(path.is_file() for path in (folder / "kept").rglob("*"))


def restored_state(folder: Path) -> object:
    """The restored database as a reader finds it, and how many files it has; None where there is none."""
    found = state(folder)
    return found and (found, sum(path.is_file() for path in (folder / f"{NAME}.files").rglob("*")))


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
    many = signs(work / "many", MANY)
    few, kept = work / "few", work / "kept"
    few.mkdir()
    kept.mkdir()
    create(few / NAME)
    ingest(few / NAME, signs(work / "signs", FEW))
    archive(few / NAME, kept / "kept")
    second = ("ingest", NAME, str(surveys / "2024"), "--amend", "second look", "--by", "R. Registrar")
    yield Job("ingest", harbour, second, state)
    yield Job(f"ingest of {MANY} objects", harbour, ("ingest", NAME, str(many)), state)
    yield Job("correct", harbour, ("correct", NAME, "objects", "OHM-1962-7", "maker=N. N.", *BY), state)
    yield Job("withdraw a survey", harbour, ("withdraw", NAME, "survey", "H14", *BY, "--yes"), state)
    yield Job("decide", both, ("decide", NAME, "OHM-1962-7/P1", "--refuse", *BY), state)
    yield Job("refresh", harbour, ("refresh", NAME), state)
    yield Job("init", empty, ("init", NAME), state)
    yield Job("migrate", old, ("migrate", NAME), state)
    yield Job("backup", both, ("backup", NAME, f"copy/{NAME}"), backup_state)
    yield Job("publish --replace", both, ("publish", NAME, "site", "--replace"), site_state)
    yield Job("export --as package", both, ("export", NAME, "whole", "--as", "package"), export_state)
    yield Job("archive", few, ("archive", NAME, "kept"), archive_state)
    yield Job("restore", kept, ("restore", "kept", NAME), restored_state)


def signs(package: Path, count: int) -> Path:
    """A survey of so many signs."""
    package.mkdir()
    (package / "survey.toml").write_text('code = "many"\ntitle = "Many"\nlead = "A. Lead"\nstarted = "2026"\n')
    rows = "".join(f"M{number},Sign,sign\n" for number in range(count))
    (package / "objects.csv").write_text(f"object,title,kind\n{rows}")
    return package


def begun(disk: Path, words: Sequence[str], said: Path) -> int:
    """The command in a child of this process, which has everything imported; its words go to a file. Gives its number."""
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
    return child


def typed(disk: Path, words: Sequence[str], said: Path) -> int:
    """The exit code of a command."""
    return os.waitstatus_to_exitcode(os.waitpid(begun(disk, words, said), 0)[1])


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
