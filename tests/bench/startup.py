"""`firstcoat --help` against `python -c "import click, sqlite3"`: CPU seconds, medians of interleaved runs.

Run: python tests/bench/startup.py [--runs 15]
"""

from __future__ import annotations

import argparse
import resource
import statistics
import subprocess
import sys


def cpu(command: list[str]) -> float:
    """CPU seconds of one run, its own and the system's for it."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return (after.ru_utime - before.ru_utime) + (after.ru_stime - before.ru_stime)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=15)
    runs = parser.parse_args().runs
    ways = {"import click, sqlite3": [sys.executable, "-c", "import click, sqlite3"],
            "firstcoat --help": [sys.executable, "-c", "from collection.cli import main; main(['--help'])"]}
    seen: dict[str, list[float]] = {name: [] for name in ways}
    for command in ways.values():
        cpu(command)
    for _ in range(runs):
        for name, command in ways.items():
            seen[name].append(cpu(command))
    floor = statistics.median(seen["import click, sqlite3"])
    print("| what | CPU ms, median | ratio |\n|---|---|---|")
    for name, values in seen.items():
        middle = statistics.median(values)
        print(f"| {name} | {1000 * middle:.0f} | {middle / floor:.2f} |")


if __name__ == "__main__":
    main()
