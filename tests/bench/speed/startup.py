"""How long `firstcoat --help` takes beside `import click, sqlite3`; a command: python tests/bench/speed/startup.py

Wall-clock time of whole processes, in turn, medians of 15. The bar is that of the design; the exit code is 1 when
it is not met.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time

BAR, RUNS = 1.3, 15
WAYS = {
    "import click, sqlite3": [sys.executable, "-c", "import click, sqlite3"],
    "firstcoat --help": [sys.executable, "-m", "collection", "--help"],
}


def main() -> int:
    found: dict[str, list[float]] = {name: [] for name in WAYS}
    for run in range(RUNS + 1):
        for name, command in WAYS.items():
            began = time.perf_counter()
            subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
            # The first run warms the disk.
            if run:
                found[name].append(time.perf_counter() - began)
    floor, ours = (statistics.median(seconds) for seconds in found.values())
    for name, seconds in found.items():
        span = f"{min(seconds) * 1000:.1f}–{max(seconds) * 1000:.1f}"
        print(f"{name:24}{statistics.median(seconds) * 1000:8.1f} ms  ({span})")
    print(f"{ours / floor:.2f}× (bar {BAR}×) {'met' if ours / floor < BAR else 'NOT MET'}")
    return int(ours / floor >= BAR)


if __name__ == "__main__":
    raise SystemExit(main())
