"""The intake under violence, the long run; a command: python tests/bench/faults.py --kills 200 --packages 10000

Kills: an ingest is killed at random moments; the database must be as before or as after, `check` clean, and the
package must go in afterwards. Packages: sound ones spoiled in one to six places; each must be wholly stored or
refused with sentences, and any other error is printed with its seed. The exit code is 1 when anything is wrong.
"""

from __future__ import annotations

import argparse
import collections
import random
import shutil
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

import killed
import made_package
import spoiled

from collection.errors import FirstcoatError, InputRefused
from collection.ingest.load import ingest
from collection.store.check import check
from collection.store.open import create


def kills(work: Path, count: int, layers: int, seed: int) -> int:
    """How many of the kills left anything but the state before or after."""
    database = work / "collection.db"
    create(database)
    made_package.write_package(work / "first", 2_000, survey="first")
    ingest(database, work / "first")
    made_package.write_package(work / "second", layers, survey="second", first=100_000)
    whole = killed.copied(database, work / "whole.db")
    seconds = killed.duration(whole, work / "second")
    after = killed.state(whole)
    sides: collections.Counter[str] = collections.Counter()
    for moment in killed.moments(count, seconds, seed):
        try:
            sides[killed.one_kill(database, work / "second", work, after, moment)] += 1
        except AssertionError as error:
            sides["between"] += 1
            print(error)
    print(f"{count} kills within {seconds:.2f} s of an ingest of {layers:,} layers: {sides['before']} before, "
          f"{sides['after']} after, {sides['between']} between")
    return sides["between"]


def packages(work: Path, count: int, seed: int) -> int:
    """How many of the spoiled packages ended in anything but stored or refused."""
    empty = work / "empty.db"
    create(empty)
    content = empty.read_bytes()
    ends: collections.Counter[str] = collections.Counter()
    began = time.monotonic()
    for number in range(seed, seed + count):
        place = work / "one"
        database = place / "collection.db"
        spoiled.write(place / "package", spoiled.spoil(random.Random(number)))
        shutil.copy(empty, database)
        try:
            ingest(database, place / "package")
            wrong = check(database).damage
            ends["stored" if not wrong else "damaged"] += 1
            if wrong:
                print(f"seed {number}: {wrong}")
        except FirstcoatError as error:
            kept = database.read_bytes() == content and not (place / "collection.db.files").exists()
            sound = kept and error.exit_code in (1, 2) and (not isinstance(error, InputRefused) or bool(error.faults))
            ends["refused" if sound else "refused wrongly"] += 1
            if not sound:
                print(f"seed {number}: {type(error).__name__}: {error}")
        except Exception as error:
            ends["traceback"] += 1
            print(f"seed {number}: {type(error).__name__}: {error}")
        shutil.rmtree(place)
    print(f"{count} packages in {time.monotonic() - began:.0f} s: "
          + ", ".join(f"{how} {many}" for how, many in sorted(ends.items())))
    return count - ends["stored"] - ends["refused"]


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--kills", type=int, default=200)
    options.add_argument("--packages", type=int, default=10_000)
    options.add_argument("--layers", type=int, default=5_000)
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    work = Path(tempfile.mkdtemp(prefix="firstcoat-faults-"))
    try:
        wrong = packages(work, given.packages, given.seed)
        wrong += kills(work, given.kills, given.layers, given.seed)
        return int(wrong > 0)
    finally:
        shutil.rmtree(work)


if __name__ == "__main__":
    raise SystemExit(main())
