"""Violence, the long run; a command: python tests/bench/faults/long_run.py --kills 20 --packages 10000

Kills: each command that writes is killed at random moments; what it makes must be as before or as after, `check` clean,
and the command must do its work afterwards. Packages: sound ones spoiled in one to six places; each must be wholly stored or
refused with sentences, in each of its three forms (folder, zip file, workbook), within a bounded time, with nothing
left behind; any other end is printed with its seed. The exit code is 1 when anything is wrong.
"""

from __future__ import annotations

import argparse
import collections
import random
import shutil
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from faults import killed, spoiled
from faults.jobs import copied, jobs

from collection.ingest.load import ingest
from collection.language.errors import FirstcoatError, InputRefused
from collection.store.base.database import create
from collection.store.check import check


def kills(work: Path, count: int, seed: int, only: Sequence[str] = ()) -> int:
    """How many of the kills, so many of each command or of these alone, left anything but the state before or after."""
    between = 0
    for job in jobs(work):
        if only and job.name not in only:
            continue
        before = job.state(copied(job.desk, work / "scratch"))
        seconds, after = killed.duration(job, work)
        sides: collections.Counter[str] = collections.Counter()
        for moment in killed.moments(count, seconds, seed):
            try:
                sides[killed.one_kill(job, work, before, after, moment)] += 1
            except AssertionError as error:
                sides["between"] += 1
                print(f"{job.name}, killed after {moment:.3f} s: {error}")
        print(
            f"{job.name}: {count} kills within {seconds:.2f} s: {sides['before']} before, {sides['after']} after, "
            f"{sides['between']} between",
            flush=True,
        )
        between += sides["between"]
    return between


SLOWEST = 20.0
"""Seconds within which any small package has to be answered, on a machine that does other things as well."""


def packages(work: Path, count: int, seed: int, forms: Sequence[str] = spoiled.FORMS) -> int:
    """How many of the spoiled packages ended in anything but stored or refused."""
    empty = work / "empty.db"
    create(empty)
    temporary = work / "temporary"
    temporary.mkdir()
    tempfile.tempdir = str(temporary)
    wrong = 0
    for at, form in enumerate(forms):
        ends: collections.Counter[str] = collections.Counter()
        began, slowest = time.monotonic(), 0.0
        for number in range(seed + at, seed + count, len(forms)):
            before = time.monotonic()
            ends[one_package(work / "one", empty, form, number)] += 1
            slowest = max(slowest, time.monotonic() - before)
            if any(temporary.iterdir()):
                ends["left something behind"] += 1
                print(f"{form}, seed {number}: {sorted(temporary.iterdir())}")
                shutil.rmtree(temporary)
                temporary.mkdir()
        print(
            f"{form}: {sum(ends.values())} packages in {time.monotonic() - began:.0f} s, the slowest in "
            f"{slowest:.1f} s: " + ", ".join(f"{how} {many}" for how, many in sorted(ends.items()))
        )
        wrong += sum(many for how, many in ends.items() if how not in ("stored", "refused")) + int(slowest > SLOWEST)
    return wrong


def one_package(place: Path, empty: Path, form: str, number: int) -> str:
    """How one spoiled package ended; what may not be is printed."""
    database = place / "collection.db"
    try:
        package = spoiled.write_spoiled(place, form, random.Random(number))
        shutil.copy(empty, database)
        ingest(database, package)
        damage = check(database).damage
        again = ingest(database, package)
        if damage or again.change is not None:
            print(f"{form}, seed {number}: {damage or 'the same package changed something'}")
            return "damaged"
        return "stored"
    except FirstcoatError as error:
        kept = database.read_bytes() == empty.read_bytes() and not (place / "collection.db.files").exists()
        said = [fault.sentence() for fault in error.faults] if isinstance(error, InputRefused) else [str(error)]
        told = bool(said) and all(line.isprintable() and line[-1] in ".?…" for line in said)
        if kept and told and error.exit_code in (1, 2):
            return "refused"
        print(f"{form}, seed {number}: {type(error).__name__} {error.exit_code}, kept {kept}: {error} {said[:3]}")
        return "refused wrongly" if kept else "half loaded"
    except Exception as error:
        print(f"{form}, seed {number}: {type(error).__name__}: {error}")
        return "traceback"
    finally:
        shutil.rmtree(place, ignore_errors=True)


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--kills", type=int, default=20, help="of each command")
    options.add_argument("--packages", type=int, default=10_000)
    options.add_argument("--only", nargs="*", default=(), help="the commands that are killed, by name")
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    work = Path(tempfile.mkdtemp(prefix="firstcoat-faults-"))
    try:
        wrong = packages(work, given.packages, given.seed)
        wrong += kills(work, given.kills, given.seed, given.only)
        return int(wrong > 0)
    finally:
        shutil.rmtree(work)


if __name__ == "__main__":
    raise SystemExit(main())
