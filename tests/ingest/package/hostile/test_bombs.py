"""Small packages that would grow: refused without taking the memory or the day. XML entities: CWE-776."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hostile_desk import HEADS, TOML_START, Desk, drawn, pictured, png

pytestmark = pytest.mark.slow


def measured(desk: Desk) -> tuple[int, str, int]:
    """Exit code, what was said, and the greatest memory in MB of the command in a process of its own."""
    # What the kernel's getrusage calls the greatest memory counts that of the test's process as well.
    script = (
        "import re, sys\nfrom pathlib import Path\nfrom collection.cli import run\ncode = run(sys.argv[1:])\n"
        "print('MB', int(re.search(r'VmHWM:\\s+([0-9]+)', Path('/proc/self/status').read_text())[1]) // 1024)\n"
        "sys.exit(code)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, "ingest", str(desk.db), str(desk.package)],
        capture_output=True,
        text=True,
        check=False,
        timeout=600,
    )
    return done.returncode, done.stderr, int(done.stdout.rsplit("MB", 1)[1])


BOMBS: dict[str, dict[str, str | bytes]] = {
    "a cell of 10 MB": {"sources.csv": HEADS + b"T1,R1,report," + b"x" * 10_000_000},
    "a cell of 10 MB in lines": {"sources.csv": HEADS + b'T1,R1,report,"' + b"x\n" * 5_000_000},
    "100,000 columns": {"sources.csv": HEADS[:-1] + b",x" * 100_000 + b"\n"},
    "entities": drawn(
        "x.svg",
        b'<!DOCTYPE svg [<!ENTITY a0 "ha">'
        + b"".join(b'<!ENTITY a%d "%s">' % (n, b"&a%d;" % (n - 1) * 10) for n in range(1, 10))
        + b"]><svg>&a9;</svg>",
    ),
    "copies": drawn(
        "x.svg",
        b'<svg xmlns="http://www.w3.org/2000/svg"><g id="c0"><g/></g>'
        + b"".join(b'<g id="c%d">' % n + b'<use href="#c%d"/>' % (n - 1) * 10 + b"</g>" for n in range(1, 15))
        + b"</svg>",
    ),
    "an absurd picture": {**pictured("x.png"), "x.png": png(90_000, 90_000)},
    "a name of many parts": {"survey.toml": TOML_START + "a." * 400_000 + "a = 1\n"},
}


@pytest.mark.parametrize("files", BOMBS.values(), ids=BOMBS)
def test_no_package_takes_the_memory_or_the_day(desk: Desk, files: dict[str, str | bytes]) -> None:
    """Refused, and in not much more memory than a small package takes."""
    desk.write(files)
    content = desk.db.read_bytes()
    code, said, megabytes = measured(desk)
    assert code == 1, said
    assert megabytes < 250
    assert desk.db.read_bytes() == content
