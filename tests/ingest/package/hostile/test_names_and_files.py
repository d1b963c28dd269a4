"""Names that lead out, collide or cannot be kept, and files that are none: refused with a sentence, nothing written.

What they try is common knowledge of such input: paths that leave a folder (CWE-22), links (CWE-59), names of devices
(CWE-67). The lists are from memory.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from faults import spoiled
from hostile_desk import PNG, Desk, pictured

from collection.ingest.package.folder import DEEPEST_FOLDER
from collection.store.base import database

pytestmark = pytest.mark.slow
LEAVING = {
    "a folder up": "../x.png",
    "two folders up": "pictures/../../x.png",
    "a folder up and back": "../package/x.png",
    "from the root": "/etc/passwd",
    "a drive": "C:/x.png",
    "a drive's own folder": "C:x.png",
    "backslashes": "pictures\\x.png",
    "backslashes up": "..\\x.png",
    "another computer": "\\\\host\\share\\x.png",
    "another computer, turned": "//host/share/x.png",
    "an address": "file:///etc/passwd",
    "a page": "https://host/x.png",
    "coded": "%2e%2e/x.png",
    "coded slash": "..%2Fx.png",
    "a stream": "door.png:hidden",
    "a home": "~/../x.png",
    "a pipe": "|id",
    "a pattern": "*.png",
    "here": "./pictures/door.png",
    "nothing between": "pictures//door.png",
}


@pytest.mark.parametrize("name", LEAVING.values(), ids=LEAVING)
def test_a_name_that_leads_out_of_the_package_is_refused(desk: Desk, name: str) -> None:
    """Whatever the way of writing it: the cell is named, with what may stand there."""
    desk.write(pictured(name))
    (fault,) = desk.refused()
    assert (fault["file"], fault["sheet"], fault["row"], fault["column"]) == ("pictures.csv", "pictures", 2, "file")
    assert "pictures/front.jpg" in fault["message"]


ODD_NAMES = {
    "a device": ("NUL.png", "name of a device"),
    "a device in small letters": ("con", "name of a device"),
    "a device in a folder": ("aux/x.png", "name of a device"),
    "a port": ("COM¹.png", "name of a device"),
    "a blank at the end": ("pictures /x.png", "end in a full stop or a blank"),
    "a full stop at the end": ("x.png.", "end in a full stop or a blank"),
    "a turned direction": ("x\u202egnp.exe", "U+202E"),
    "an isolate": ("x\u2066.png", "U+2066"),
    "no width": ("x\u200b.png", "U+200B"),
    "a tag": ("x\U000e0041.png", "U+E0041"),
    "private use": ("x\ue000.png", "U+E000"),
    "a control": ("x\x1b[2J.png", "U+001B"),
    "too long": ("x" * 256, "255"),
}


@pytest.mark.parametrize(("name", "said"), ODD_NAMES.values(), ids=ODD_NAMES)
def test_a_name_that_not_every_computer_keeps_is_refused(desk: Desk, name: str, said: str) -> None:
    """In a cell it is a fault; a file that has it and that nothing names is left aside with a warning."""
    desk.write(pictured(name))
    (fault,) = desk.refused()
    assert (fault["sheet"], fault["row"], fault["column"]) == ("pictures", 2, "file")
    assert said in fault["message"]
    desk.write({"pictures.csv": spoiled.SOUND["pictures.csv"]})
    if len(name) < 256:
        desk.write({name: PNG})
        code, report = desk.ingest()
        assert code == 0
        (warning,) = [w for w in report["warnings"] if "left aside" in w["message"]]
        assert said in warning["message"]
        assert warning["file"].isprintable()


def test_names_that_collide_are_refused(desk: Desk) -> None:
    """Two files whose names only some computers tell apart are named, in NFC and in NFD as well."""
    desk.write({"notes/A.png": PNG, "notes/a.PNG": PNG})
    (fault,) = desk.refused()
    assert fault["file"] == "notes/a.PNG"
    assert "notes/A.png" in fault["message"]
    assert "another name" in fault["message"]
    (desk.package / "notes/A.png").unlink()
    desk.write({"notes/é.png": PNG, "notes/e\u0301.png": PNG})
    (fault,) = desk.refused()
    assert fault["file"] == "notes/é.png"


def test_a_name_as_some_computers_take_it_apart_is_found(desk: Desk) -> None:
    """A file whose name came in NFD is the one that the sheet names in NFC."""
    desk.write({**pictured("Größe.png"), "Gro\u0308ße.png": PNG})
    assert desk.ingest()[0] == 0


def make_fifo(path: Path) -> None:
    os.mkfifo(path)


def make_socket(path: Path) -> None:
    # The path of a socket is short, so it is bound from its own folder.
    before = Path.cwd()
    os.chdir(path.parent)
    try:
        with socket.socket(socket.AF_UNIX) as made:
            made.bind(path.name)
    finally:
        os.chdir(before)


STRANGE: dict[str, Callable[[Path], None]] = {
    "a pipe": make_fifo,
    "a socket": make_socket,
    "a link out": lambda path: path.symlink_to("/etc/passwd"),
    "a link in": lambda path: path.symlink_to("survey.toml"),
    "a link to nothing": lambda path: path.symlink_to("nowhere"),
    "a link to itself": lambda path: path.symlink_to(path),
    "a link to a folder": lambda path: path.symlink_to(path.parent),
    "a folder": lambda path: path.mkdir(),
}


@pytest.mark.parametrize("make", STRANGE.values(), ids=STRANGE)
def test_what_is_no_ordinary_file_is_refused(desk: Desk, make: Callable[[Path], None]) -> None:
    """As a picture it is named at its cell, as a sheet at its file; it is never opened."""
    desk.write(pictured("x.png"))
    make(desk.package / "x.png")
    (fault,) = desk.refused()
    assert (fault["sheet"], fault["row"], fault["column"], fault["value"]) == ("pictures", 2, "file", "x.png")
    assert any(said in fault["message"] for said in ("put the file itself there", "no such file"))
    desk.write({"pictures.csv": spoiled.SOUND["pictures.csv"]})
    (desk.package / "layers.csv").unlink()
    make(desk.package / "layers.csv")
    if not (desk.package / "layers.csv").is_dir():
        assert {f["file"] for f in desk.refused()} == {"layers.csv"}


def test_a_hard_link_is_a_file(desk: Desk) -> None:
    """Two names for one file lead nowhere."""
    desk.write(pictured("x.png"))
    os.link(desk.package / "pictures/door.png", desk.package / "x.png")
    assert desk.ingest()[0] == 0


def test_folders_without_end_are_told(desk: Desk) -> None:
    """A folder in a folder, a thousand times, is left aside."""
    deep = desk.package
    for _ in range(1_000):
        deep = deep / "a"
        deep.mkdir()
    code, report = desk.ingest()
    # What comes after the test removes folders by recursion, which goes less deep.
    subprocess.run(["rm", "-r", str(desk.package / "a")], check=True)
    assert code == 0
    (warning,) = [w for w in report["warnings"] if "left aside" in w["message"]]
    assert f"more than {DEEPEST_FOLDER} folders deep" in warning["message"]


def as_anybody(desk: Desk, package: Path) -> subprocess.CompletedProcess[str]:
    """The command line without the right to read whatever it likes, which the tests may have."""
    command = [sys.executable, "-m", "collection", "ingest", str(desk.db), str(package)]
    if os.geteuid() == 0:
        if shutil.which("setpriv") is None:
            pytest.skip("no way here to give up a right")
        without = "-dac_override,-dac_read_search"
        command = ["setpriv", f"--bounding-set={without}", f"--inh-caps={without}", *command]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@pytest.mark.parametrize("name", ["layers.csv", "pictures/door.png", "pictures", "survey.toml", ""])
def test_a_file_that_may_not_be_read_is_told(desk: Desk, name: str) -> None:
    """Exit code 6 with the file's name, and nothing stored."""
    path = desk.package / name
    before, content = path.stat().st_mode, desk.db.read_bytes()
    path.chmod(0)
    try:
        done = as_anybody(desk, desk.package if name else desk.package / "inner")
    finally:
        path.chmod(before)
    assert done.returncode == 6, done.stderr
    assert "cannot be read" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert desk.db.read_bytes() == content


LITTER = (
    ".DS_Store",
    "._layers.csv",
    "Thumbs.db",
    "desktop.ini",
    "~$survey.xlsx",
    ".git/config",
    "__MACOSX/._layers.csv",
    ".~lock.layers.csv#",
    "layers.csv~",
    "layers.csv.bak",
    "Icon\r",
    ".Spotlight-V100/x",
    "pictures/.DS_Store",
)


def test_what_computers_leave_behind_is_passed_over(desk: Desk) -> None:
    """Neither a fault nor a warning, and the package keeps its hash."""
    _, plain = desk.ingest()
    desk.write(dict.fromkeys(LITTER, b"\x00\x01"))
    code, report = desk.ingest()
    assert code == 0
    assert report["package_sha256"] == plain["package_sha256"]
    assert (report["warnings"], report["added"]) == ([], {})


def test_a_folder_with_an_odd_name_is_taken(desk: Desk) -> None:
    """The package's own name goes into the record of changes, where it must not act or fail."""
    for name in ("x\u202ey", "a\x1b[2Jb", os.fsdecode(b"Gr\xf6\xdfe"), "-rf", "%2e%2e", "=1+1", "x" * 200):
        other = Path(os.path.join(desk.root, name))
        desk.package.rename(other)
        code, report = desk.ingest(other)
        assert code == 0, report
        other.rename(desk.package)
        survey = (desk.package / "survey.toml").read_text()
        (desk.package / "survey.toml").write_text(survey.replace("Harbour", "Harbour again") + "\n")
        desk.write({"survey.toml": survey.replace("harbour-1", f"h{len(name)}{hash(name)}")})
    with database.opened(desk.db, write=False) as db:
        assert all(name.isprintable() for (name,) in db.execute("SELECT name FROM packages"))
