"""The site under load: python tests/bench/speed/site_load.py [--seconds 60] [--clients 50]

A real server (`firstcoat serve`) on the invented harbour collection and one large object (tests/builders/large_object.py).
Each client asks for one page a second, of a fixed mix that begins somewhere else for each; connections are kept, as
browsers keep them, and nothing is answered from a cache of theirs. Bars: no error, 95 of 100 answers within 20 times that of
the same mix when nobody else asks, memory within 1.2 times what it was after the first hundred answers. The exit code is 1
where one is missed.
"""

from __future__ import annotations

import argparse
import http.client
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

TESTS = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(TESTS / "builders"))

SLOWEST, MOST_MEMORY, FIRST = 20.0, 1.2, 100
SMALL = "/object/OHM-1962-7"
MIX = (
    "/",
    "/?q=red",
    "/at-risk",
    "/about",
    "/survey/H24",
    "/object/OHM-1962.7",
    *(f"{SMALL}{end}" for end in ("", "/place/L-STRIP", "/sample/S21", "/proposal/P5", "/stratigraphy", "/tests")),
    *(f"{SMALL}{end}" for end in (".json", ".jsonld", "/manifest.json", "/timeline", "/records", "/samples.svg")),
    "/object/BIG-1",
    "/object/BIG-1.json",
    "/object/BIG-1/stratigraphy",
    "/object/BIG-1/stratigraphy.json",
    "/object/BIG-1/place/P0-Z1",
    "/object/BIG-1/tests",
    "/object/BIG-1/records",
    "/sitemap.xml",
    "/feed.atom",
    "/before?object=OHM-1962-7&place=L-STRIP&action=solvent&agent=acetone",
    "/before?object=BIG-1&place=P0-Z1&action=solvent&agent=acetone",
    "/nothing-here.json",
)
"""What is asked, one after the other."""
RIGHT = {"/object/OHM-1962.7": 308, "/nothing-here.json": 404}
"""The answers that are not 200."""

Answers = list[tuple[str, int, float]]


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--clients", type=int, default=50)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="firstcoat-bench-") as work:
        site = made_site(Path(work))
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        command = [sys.executable, "-m", "collection", "serve", str(site), "--port", str(port)]
        with subprocess.Popen(command, cwd=TESTS.parent, stdout=subprocess.DEVNULL) as server:
            try:
                return loaded(server.pid, port, asked.clients, asked.seconds)
            finally:
                server.terminate()


def made_site(folder: Path) -> Path:
    """The harbour collection and the large object, published."""
    from large_object import large_package
    from site_packages import database_of

    from collection.output.site.publish import publish
    from collection.values.resources import sample_folder

    packages = Path(str(sample_folder())) / "harbour"
    database = database_of(folder / "a.db", packages / "2014", packages / "2024", large_package(folder / "large"))
    publish(database, folder / "site")
    return folder / "site"


def loaded(pid: int, port: int, clients: int, seconds: int) -> int:
    wait_for(port)
    answers: Answers = []
    ask(port, MIX, answers)  # each once, so that nothing is measured that happens only at first
    del answers[:]
    for _ in range(3):
        ask(port, MIX, answers)
    alone = statistics.median(took for _, _, took in answers)
    worst_alone = max(took for _, _, took in answers)
    while len(answers) < FIRST:
        ask(port, MIX, answers)
    before = memory(pid)
    del answers[:]
    began = time.monotonic()
    threads = [
        threading.Thread(target=client, args=(port, number, clients, began, seconds, answers))
        for number in range(clients)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    after = memory(pid)
    wrong = [(path, status) for path, status, _ in answers if status != RIGHT.get(path, 200)]
    times = sorted(took for _, _, took in answers)
    p95 = times[int(len(times) * 0.95)]
    print(f"{len(answers)} answers of {clients * seconds} asked for, {len(wrong)} wrong {wrong[:3]}")
    print(f"alone: median {alone * 1000:.1f} ms, slowest {worst_alone * 1000:.0f} ms")
    print(
        f"under load: median {statistics.median(times) * 1000:.1f} ms, 95 of 100 within {p95 * 1000:.1f} ms "
        f"({p95 / alone:.1f} times; bar {SLOWEST:g}), slowest {times[-1] * 1000:.0f} ms"
    )
    print(f"memory: {before / 1e6:.0f} MB, then {after / 1e6:.0f} MB ({after / before:.2f} times; bar {MOST_MEMORY:g})")
    return int(
        bool(wrong) or len(answers) != clients * seconds or p95 > SLOWEST * alone or after > MOST_MEMORY * before
    )


def client(port: int, number: int, clients: int, began: float, seconds: int, answers: Answers) -> None:
    """One reader: a page a second, beginning at a moment and a page of its own."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    for turn in range(seconds):
        time.sleep(max(0.0, began + turn + number / clients - time.monotonic()))
        one(connection, MIX[(number * 7 + turn) % len(MIX)], answers)
    connection.close()


def ask(port: int, paths: tuple[str, ...], answers: Answers) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    for path in paths:
        one(connection, path, answers)
    connection.close()


def one(connection: http.client.HTTPConnection, path: str, answers: Answers) -> None:
    start = time.monotonic()
    try:
        connection.request("GET", path, headers={"Accept-Encoding": "gzip"})
        answer = connection.getresponse()
        answer.read()
        status = answer.status
    except (OSError, http.client.HTTPException) as error:
        print(f"{path}: {error!r}")
        connection.close()
        status = 0
    answers.append((path, status, time.monotonic() - start))


def memory(pid: int) -> int:
    """The bytes of memory that a process holds."""
    for line in Path(f"/proc/{pid}/status").read_text("ascii").splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1]) * 1024
    raise RuntimeError(f"There is no memory of process {pid} to read.")


def wait_for(port: int) -> None:
    """Waits until the server listens."""
    for _ in range(600):
        with socket.socket() as tried:
            if tried.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.1)
    raise RuntimeError("The server did not begin to listen.")


if __name__ == "__main__":
    sys.exit(main())
