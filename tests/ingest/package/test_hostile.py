"""Packages that nobody meant well, and such as only look so: each refused with a sentence by the real command line,
nothing written anywhere, nothing that hangs.

What they try is common knowledge of such input: paths that leave a folder (CWE-22), links (CWE-59), names of devices
(CWE-67), text that reads otherwise than it is (CVE-2021-42574), formulas in CSV (CWE-1236), XML entities (CWE-611,
CWE-776), sizes that are not true. The lists are from memory.
"""

from __future__ import annotations

import hashlib
import json
import os
import resource
import shutil
import socket
import struct
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from faults import spoiled

from collection.cli import run
from collection.ingest.package.folder import DEEPEST_FOLDER
from collection.store.base import database

pytestmark = pytest.mark.slow

PNG = spoiled.SOUND["pictures/door.png"]
SVG = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 10 10"/>'


@dataclass
class Desk:
    """A database, a sound package, a folder to stand in and one for temporary files."""

    root: Path
    capsys: pytest.CaptureFixture[str]

    @property
    def db(self) -> Path:
        return self.root / "collection.db"

    @property
    def package(self) -> Path:
        return self.root / "package"

    def write(self, files: dict[str, str | bytes]) -> None:
        for name, content in files.items():
            path = self.package / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))

    def state(self) -> dict[str, str]:
        """Everything below the root, and in the package links and devices as such."""
        found = {}
        for folder, folders, files in os.walk(self.root):
            for name in (*folders, *files):
                path = Path(folder, name)
                plain = path.is_file() and not path.is_symlink()
                found[os.fsdecode(os.fsencode(path))] = (
                    hashlib.sha256(path.read_bytes()).hexdigest() if plain else oct(path.lstat().st_mode)
                )
        return found

    def ingest(self, package: Path | None = None) -> tuple[int, dict[str, Any]]:
        self.capsys.readouterr()
        code = run(["ingest", str(self.db), str(package or self.package), "--json"])
        out, err = self.capsys.readouterr()
        assert code != 70, err
        return code, json.loads(out) if out.strip().startswith("{") else {"error": err}

    def refused(self, package: Path | None = None, code: int = 1) -> list[dict[str, Any]]:
        """The faults, after making sure that nothing was left anywhere and that each is a sentence."""
        before = self.state()
        found, said = self.ingest(package)
        assert found == code, said
        assert self.state() == before
        assert not self.db.with_name("collection.db.files").exists()
        faults: list[dict[str, Any]] = said.get("errors", [{"message": said.get("error", "")}])
        assert faults
        for fault in faults:
            assert fault["message"].rstrip()[-1] in ".?…"
            assert fault["message"].isprintable()
            assert str(fault.get("file", "")).isprintable()
        return faults


@pytest.fixture
def desk(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Desk:
    made = Desk(tmp_path, capsys)
    database.create(made.db)
    for name in ("temporary", "here"):
        (tmp_path / name).mkdir()
    monkeypatch.chdir(tmp_path / "here")
    monkeypatch.setenv("TMPDIR", str(tmp_path / "temporary"))
    monkeypatch.setenv("SQLITE_TMPDIR", str(tmp_path / "temporary"))
    monkeypatch.setattr(tempfile, "tempdir", None)
    spoiled.write(made.package, spoiled.SOUND)
    return made


def pictured(name: str) -> dict[str, str | bytes]:
    return {"pictures.csv": f"object,picture,file\nT1,F1,{name}\n"}


def drawn(name: str, content: str | bytes) -> dict[str, str | bytes]:
    return {"drawings.csv": f"object,drawing,file,title\nT1,D1,{name},Side\n", name: content}


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


UNSEEN = [
    "\u202a",
    "\u202b",
    "\u202c",
    "\u202d",
    "\u202e",
    "\u2066",
    "\u2067",
    "\u2068",
    "\u2069",
    "\u200e",
    "\u200f",
    "\u061c",
    "\x00",
    "\x1b",
    "\x7f",
    "\x85",
    "\x9b",
    "\u2028",
    "\u2029",
    "\ufdd0",
    "\uffff",
    "\U0001fffe",
    "\ufff9",
    "\U000e0041",
    "\U000e0001",
]
UNSEEN_IN_CODES = [
    "\u200b",
    "\u200c",
    "\u200d",
    "\u2060",
    "\ufeff",
    "\u00ad",
    "\u034f",
    "\u115f",
    "\u3164",
    "\uffa0",
    "\u2800",
    "\ufe0f",
    "\U000e0100",
    "\ue000",
    "\U000f0000",
    "\u180e",
]


@pytest.mark.parametrize("sign", UNSEEN, ids=[f"U+{ord(sign):04X}" for sign in UNSEEN])
def test_a_sign_that_turns_or_hides_text_is_refused_everywhere(desk: Desk, sign: str) -> None:
    """In free text, in a code, in a person's name: the code point is named."""
    desk.write(
        {
            "objects.csv": f"object,title,kind\nT1,Tram{sign}1,tram\nT2{sign},Pump,hand pump\n",
            "survey.toml": 'code = "h"\ntitle = "t"\nlead = "A. \\U' + f'{ord(sign):08x}P"\nstarted = "2019"\n',
            **dict.fromkeys(("components.csv",), "object,component,name\nT1,body,body\nT1,door,door\n"),
        }
    )
    faults = [f for f in desk.refused() if f"U+{ord(sign):04X}" in f["message"]]
    assert [(f["sheet"], f["row"], f["column"]) for f in faults] == [
        ("survey", 3, "lead"),
        ("objects", 2, "title"),
        ("objects", 3, "object"),
    ]
    assert "type the cell again" in faults[1]["message"]


@pytest.mark.parametrize("sign", UNSEEN_IN_CODES, ids=[f"U+{ord(sign):04X}" for sign in UNSEEN_IN_CODES])
def test_a_sign_that_nobody_sees_is_refused_in_codes(desk: Desk, sign: str) -> None:
    """Two codes that look the same would be two things; in free text the same sign does no harm."""
    desk.write({"sources.csv": f"object,source,kind,title\nT1,R1,report,A{sign}B\nT1,R{sign}2,report,C\n"})
    (fault,) = desk.refused()
    assert (fault["sheet"], fault["row"], fault["column"]) == ("sources", 3, "source")
    assert f"U+{ord(sign):04X}" in fault["message"]


def test_a_surrogate_in_toml_is_refused(desk: Desk) -> None:
    """TOML's escapes can write what is no character; the line is named."""
    desk.write({"survey.toml": 'code = "h"\ntitle = "\\ud800"\nlead = "l"\nstarted = "2019"\n'})
    assert [(f["file"], f["row"]) for f in desk.refused()] == [("survey.toml", 2)]


FORMULAS = (
    "=1+1",
    "=cmd|'/C calc'!A0",
    "@SUM(1+1)*cmd|' /C calc'!A0",
    "+1+cmd|' /C calc'!A0",
    "-2+3+cmd|'x'!A0",
    '=HYPERLINK(""http://127.0.0.1"",""x"")',
)


@pytest.mark.parametrize("formula", FORMULAS)
def test_a_formula_is_text_in_a_text_and_a_doubt(desk: Desk, formula: str) -> None:
    """Nothing computes it here; it is kept letter by letter, and whoever hands it in is told what it may do."""
    desk.write({"sources.csv": f'object,source,kind,title\nT1,R1,report,"{formula}"\n'})
    code, report = desk.ingest()
    assert code == 0
    (warning,) = [w for w in report["warnings"] if w["sheet"] == "sources"]
    assert (warning["file"], warning["row"], warning["column"]) == ("sources.csv", 2, "title")
    assert "kept as the text" in warning["message"]
    with database.opened(desk.db, write=False) as db:
        assert db.execute("SELECT title FROM sources").fetchone()[0] == formula.replace('""', '"')


def test_plus_and_minus_before_a_text_are_no_formula(desk: Desk) -> None:
    """People write lists and tolerances."""
    desk.write(
        {"sources.csv": "object,source,kind,title\nT1,R1,report,- flaking!\nT1,R2,report,+/- 2 mm at x@y = z | w\n"}
    )
    assert [w for w in desk.ingest()[1]["warnings"] if w["sheet"] == "sources"] == []


@pytest.mark.parametrize(
    ("name", "text", "column"),
    [
        ("sources.csv", "object,source,kind,title\nT1,=R1,report,x\n", "source"),
        ("objects.csv", "object,title,kind\n=T1,x,tram\n", "object"),
        ("schemes.csv", "object,scheme,name,period\nT1,=1+1,x,later\n", "scheme"),
    ],
)
def test_a_code_is_no_formula(desk: Desk, name: str, text: str, column: str) -> None:
    """A code that begins with = is refused, with the code behind it."""
    desk.write({name: text})
    fault = next(f for f in desk.refused() if f["file"] == name and f["row"] == 2)
    assert fault["column"] == column
    assert "begin with '='" in fault["message"]
    assert fault["nearest"] == fault["value"].lstrip("=")


HEADS = b"object,source,kind,title\n"
ENCODINGS: dict[str, tuple[bytes, tuple[int | None, str | None, str]]] = {
    "UTF-16, little end first": ("object,source\n".encode("utf-16"), (None, None, "UTF-16")),
    "UTF-16, big end first": (b"\xfe\xff" + "object,source\n".encode("utf-16-be"), (None, None, "UTF-16")),
    "UTF-16 without a mark": ("object,source\n".encode("utf-16-le"), (None, None, "UTF-16")),
    "UTF-32, little end first": (b"\xff\xfe\0\0" + "object\n".encode("utf-32-le"), (None, None, "UTF-32")),
    "UTF-32, big end first": (b"\0\0\xfe\xff" + "object\n".encode("utf-32-be"), (None, None, "UTF-32")),
    "UTF-7": (b"+/v8-" + HEADS + b"T1,R1,report,x\n", (1, "+/v8-object", "no such column")),
    "two marks": (b"\xef\xbb\xbf" * 2 + HEADS + b"T1,R1,report,x\n", (1, "\\ufeffobject", "no such column")),
    "Latin-1": (HEADS + "T1,R1,report,Größe\n".encode("latin-1"), (2, "title", "UTF-8")),
    "CP1252": (HEADS + "T1,R1,report,“Works” – 5 €\n".encode("cp1252"), (2, "title", "UTF-8")),
    "Shift-JIS": (HEADS + "T1,R1,report,漆塗り\n".encode("shift-jis"), (2, "title", "UTF-8")),
    "GB 18030": (HEADS + "T1,R1,report,漆\n".encode("gb18030"), (2, "title", "UTF-8")),
    "surrogates in UTF-8": (HEADS + b"T1,R1,report,\xed\xa0\x80\n", (2, "title", "UTF-8")),
    "too long a way to write a slash": (HEADS + b"T1,R1,report,..\xc0\xaf..\n", (2, "title", "UTF-8")),
    "half a character at the end": (HEADS + b"T1,R1,report,x\xe2\x82", (2, "title", "UTF-8")),
    "a NUL in a heading": (b"obj\x00ect,source,kind,title\n", (1, "obj\\u0000ect", "no such column")),
    "a NUL in a cell": (HEADS + b"T1,R1,report,a\x00b\n", (2, "title", "U+0000")),
    "a NUL in a number": (b"object,source,kind,title,dated\nT1,R1,report,x,19\x0024\n", (2, "dated", "U+0000")),
    "a workbook": (b"PK\x03\x04" + bytes(100), (None, None, "workbook")),
    "a picture": (PNG + bytes(100), (None, None, "")),
}


@pytest.mark.parametrize(("content", "expected"), ENCODINGS.values(), ids=ENCODINGS)
def test_a_table_in_other_bytes_is_named(
    desk: Desk, content: bytes, expected: tuple[int | None, str | None, str]
) -> None:
    """The encoding, or the first cell that cannot be read; never letters that were not meant."""
    desk.write({"sources.csv": content, "schemes.csv": "object,scheme,name,period\nT1,1,a,original\nT1,2,b,later\n"})
    faults = [f for f in desk.refused() if f["file"] == "sources.csv"]
    row, column, said = expected
    if said:
        assert (faults[0]["row"], faults[0]["column"]) == (row, column)
        assert said in faults[0]["message"]
    assert {f["file"] for f in faults} == {"sources.csv"}


TABLES: dict[str, tuple[str | bytes, tuple[int | None, str | None, str]]] = {
    "the same heading twice": ("object,source,kind,title,Title\nT1,R1,report,x,y\n", (1, "title", "appears twice")),
    "a heading a hundred times": ("object,source,kind,title" + ",kind" * 100 + "\n", (1, "kind", "appears twice")),
    "100,000 columns": ("object,source,kind,title" + ",x" * 100_000 + "\n", (1, None, "100,004 columns")),
    "100,000 blank columns": (
        "object,source,kind,title" + "," * 100_000 + "\nT1,R1,report,x\n",
        (1, None, "100,004 columns"),
    ),
    "100,000 cells": ("object,source,kind,title\nT1,R1,report,x" + ",y" * 100_000 + "\n", (2, None, "100004 cells")),
    "semicolons below commas": ("object,source,kind,title\nT1;R1;report;x\n", (2, None, "1 cells")),
    "a cell of 10 MB": ("object,source,kind,title\nT1,R1,report," + "x" * 10_000_000, (None, None, "Line 2 of")),
    "a cell of 1 MB": ("object,source,kind,title\nT1,R1,report," + "x" * 1_000_000, (2, None, "longer than any")),
    "a cell of 10 MB in lines": (
        'object,source,kind,title\nT1,R1,report,"' + "x\n" * 5_000_000 + '"\n',
        (2, None, "longer than any"),
    ),
    "a heading of 10 MB": ("x" * 10_000_000, (None, None, "Line 1 of")),
    "a heading of 1 MB": ("x" * 1_000_000 + ",source\n", (1, None, "longer than any")),
    "no line ends": ("object,source,kind,title," * 300_000, (None, None, "Line 1 of")),
    "quotation marks only": ('"' * 1_000_001, (1, None, "")),
    "a quotation mark not closed": ('object,source,kind,title\nT1,R1,report,"x\n', (2, None, "never closed")),
}


@pytest.mark.parametrize(("content", "expected"), TABLES.values(), ids=TABLES)
def test_a_table_that_is_none_is_named(
    desk: Desk, content: str | bytes, expected: tuple[int | None, str | None, str]
) -> None:
    """Headings, sizes and separators: one sentence that a person can act on, at the right row."""
    desk.write({"sources.csv": content, "schemes.csv": "object,scheme,name,period\nT1,1,a,original\nT1,2,b,later\n"})
    faults = [f for f in desk.refused() if f["file"] == "sources.csv"]
    row, column, said = expected
    assert (faults[0]["row"], faults[0]["column"]) == (row, column)
    assert said in faults[0]["message"]


def test_tables_that_only_look_odd_are_read(desk: Desk) -> None:
    """Headings alone, lines that end in a carriage return alone, a mark of UTF-8, and a million blank rows."""
    desk.write(
        {
            "sources.csv": b"\xef\xbb\xbfobject,source,kind,title,dated\rT1,R1,report,x,1924\rT1,R2,report,y,\r",
            "treatment_steps.csv": "object,treatment,step,place,action\n",
            "layers.csv": spoiled.SOUND["layers.csv"] + b"\n" * 500_000 + b",,,,,,\n" * 500_000,
        }
    )
    code, report = desk.ingest()
    assert code == 0, report
    assert report["added"]["sources"] == 2
    assert report["added"]["layers"] == 3


def test_numbers_are_read_strictly_whatever_ends_the_lines(desk: Desk) -> None:
    """A file of one long line, as a carriage return alone makes it, has numbers below its headings too."""
    desk.write({"layers.csv": b"object,sample,position,role,thickness_um\rT1,S01,1,primer,1_0\rT1,S01,2,varnish,5.\r"})
    faults = [f for f in desk.refused() if f["column"] == "thickness_um"]
    assert [(f["row"], f["value"]) for f in faults] == [(2, "1_0"), (3, "5.")]


TOML_START = 'code = "h"\ntitle = "t"\nlead = "l"\nstarted = "2019"\n'
TOMLS: dict[str, tuple[str | bytes, int | None, str]] = {
    "lists in lists": (TOML_START + "scope = " + "[" * 100_000, None, "not valid TOML"),
    "a name of many parts": (TOML_START + "a." * 400_000 + "a = 1\n", 5, "too many parts"),
    "a table of many parts": (TOML_START + "[" + "a." * 400_000 + "a]\n", 5, "too many parts"),
    "quoted parts": (TOML_START + '"a b" . ' * 100 + "c = 1\n", 5, "too many parts"),
    "the same line twice": (TOML_START + 'code = "i"\n', 5, "is there twice"),
    "the same table twice": ("[survey]\n" + TOML_START + "[survey]\n", 6, "is there twice"),
    "a number without end": (TOML_START + "scope = " + "9" * 10_000 + "\n", None, "not valid TOML"),
    "a number in sixteens without end": (TOML_START + "scope = 0x" + "f" * 100_000 + "\n", 5, "as it was typed"),
    "a number in sixteens": (TOML_START + "scope = 0x10\n", 5, "as it was typed"),
    "a number with underscores": (TOML_START + "scope = 1_0\n", 5, "as it was typed"),
    "a truth": (TOML_START + "scope = true\n", 5, "as it was typed"),
    "not a number": (TOML_START + "scope = nan\n", 5, "as it was typed"),
    "a table for a text": (TOML_START + "scope = {a = 1}\n", 5, "as it was typed"),
    "100,000 lines": (TOML_START + "".join(f"a{n} = 1\n" for n in range(80_000)), None, "80,004 columns"),
    "over 1 MB": (TOML_START + "scope = '''" + "x\n" * 600_000 + "'''\n", None, "over 1 MB"),
    "UTF-16": (TOML_START.encode("utf-16"), None, "UTF-16"),
    "Latin-1": (TOML_START.replace('"t"', '"Größe"').encode("latin-1"), 2, "not written in UTF-8"),
    "a control": (TOML_START.replace('"t"', '"\x1b[2J"'), 2, "not valid TOML"),
    "a hidden name": (TOML_START + '"co\\u202ede" = "x"\n', None, "no such column"),
    "a name of lines": (TOML_START + '"a\\nb" = 1.5\n', None, "no such column"),
    "a time": (TOML_START.replace('"2019"', "2019-05-12T25:00:00"), 4, "not valid TOML"),
    "nothing": ("", None, "column is missing"),
}


@pytest.mark.parametrize(("content", "row", "said"), TOMLS.values(), ids=TOMLS)
def test_a_survey_file_that_nobody_would_write_is_named(
    desk: Desk, content: str | bytes, row: int | None, said: str
) -> None:
    """Depth, length, kinds of value: the line and the remedy."""
    desk.write({"survey.toml": content})
    faults = [f for f in desk.refused() if said in f["message"]]
    assert faults
    assert faults[0]["file"] == "survey.toml"
    assert faults[0]["row"] == row


def jpeg(width: int, height: int) -> bytes:
    return b"\xff\xd8\xff\xe0\x00\x04\x00\x00\xff\xc0\x00\x0b\x08" + struct.pack(">HH", height, width) + bytes(6)


def tiff(*entries: tuple[int, int], following: int = 0) -> bytes:
    rows = b"".join(struct.pack("<HHII", tag, 4, 1, value) for tag, value in entries)
    return b"II*\x00" + struct.pack("<IH", 8, len(entries)) + rows + struct.pack("<I", following)


def png(width: int, height: int) -> bytes:
    return b"\x89PNG\r\n\x1a\n" + struct.pack(">I4sII", 13, b"IHDR", width, height) + b"\x08\x02\x00\x00\x00" + bytes(4)


MANY_FRAMES = png(9, 9) + struct.pack(">I4sII", 8, b"acTL", 5, 0) + bytes(4)
GIF = b"GIF89a" + struct.pack("<HH", 9, 9) + b"\x00\x00\x00"
GIF_FRAME = b"," + struct.pack("<HHHH", 0, 0, 9, 9) + b"\x00\x02\x01\x00\x00"
WEBP = b"RIFF\x1e\x00\x00\x00WEBPVP8X\x0a\x00\x00\x00"
REFUSED_PICTURES: dict[str, tuple[str, bytes, str]] = {
    "a PNG of absurd size": ("x.png", png(900_000, 900_000), "900000 × 900000"),
    "a PNG of absurd width": ("x.png", png(2**31 - 1, 1), "2147483647 × 1"),
    "a JPEG of absurd size": ("x.jpg", jpeg(65_535, 65_535), "65535 × 65535"),
    "a GIF of absurd size": ("x.gif", b"GIF89a\xff\xff\xff\xff\x00\x00\x00", "65535 × 65535"),
    "a TIFF of absurd size": ("x.tif", tiff((256, 10**9), (257, 10**9)), "1000000000 × 1000000000"),
    "a TIFF of two sizes": ("x.tif", tiff((256, 10**9), (256, 9), (257, 9)), "1000000000 × 9"),
    "a WebP of absurd size": ("x.webp", WEBP + b"\x00" * 4 + b"\xff" * 6, "16777216 × 16777216"),
    "a PNG without pixels": ("x.png", png(0, 9), "no pixels"),
    "a JPEG without pixels": ("x.jpg", jpeg(9, 0), "no pixels"),
    "a page under a picture's name": ("x.png", b"<!DOCTYPE html><script>alert(1)</script>", "web page"),
    "a page with blanks before it": ("x.jpg", b"\xef\xbb\xbf \n<html><body onload=alert(1)>", "web page"),
    "a drawing under a picture's name": ("x.png", SVG, "Give it the ending .svg"),
    "a script under a picture's name": ("x.gif", b"<svg xmlns='http://www.w3.org/2000/svg' onload='a()'/>", "Line 1"),
    "a compressed drawing": ("x.svgz", b"\x1f\x8b\x08" + bytes(20), "compressed"),
    "a drawing in UTF-16": ("x.svg", SVG.decode().encode("utf-16"), "UTF-16"),
    "a drawing of 11 MB": ("x.svg", b"<svg>" + b" " * 11_000_000, "11,000,005 bytes"),
    "no drawing at all": ("x.svg", b"nothing", "not valid XML"),
    "entities": ("x.svg", b'<!DOCTYPE svg [<!ENTITY a "b">]><svg>&a;</svg>', "document type"),
}


@pytest.mark.parametrize("sheet", ["pictures", "drawings"])
@pytest.mark.parametrize(("name", "content", "said"), REFUSED_PICTURES.values(), ids=REFUSED_PICTURES)
def test_a_picture_that_is_none_or_harms_is_refused(
    desk: Desk, sheet: str, name: str, content: bytes, said: str
) -> None:
    """The cell that names it is named, in both sheets, and what is wrong with the file."""
    desk.write({**pictured(name), name: content} if sheet == "pictures" else drawn(name, content))
    (fault,) = desk.refused()
    assert (fault["file"], fault["sheet"], fault["row"], fault["column"], fault["value"]) == (
        f"{sheet}.csv",
        sheet,
        2,
        "file",
        name,
    )
    assert said in fault["message"]


DOUBTED_PICTURES: dict[str, tuple[str, bytes, str]] = {
    "a PNG under another name": ("x.jpg", png(9, 9), "PNG under the name of another kind"),
    "a PNG called a drawing": ("x.svg", png(9, 9), "PNG under the name of another kind"),
    "a moving PNG": ("x.png", MANY_FRAMES, "several pictures"),
    "a moving GIF": ("x.gif", GIF + GIF_FRAME * 2 + b";", "several pictures"),
    "a moving WebP": ("x.webp", WEBP + b"\x02\x00\x00\x00" + bytes(6), "several pictures"),
    "a TIFF of pages": ("x.tif", tiff((256, 9), (257, 9), following=8), "several pictures"),
    "a cut PNG": ("x.png", PNG[:20], "damaged"),
    "a PNG that begins otherwise": ("x.png", PNG[:12] + b"IDAT" + PNG[16:], "damaged"),
    "a cut JPEG": ("x.jpg", jpeg(9, 9)[:14], "damaged"),
    "a JPEG of markers": ("x.jpg", b"\xff\xd8" + b"\xff\xd0" * 2_000_000, "damaged"),
    "a JPEG of filling": ("x.jpg", b"\xff\xd8" + b"\xff" * 4_000_000, "damaged"),
    "a JPEG of empty parts": ("x.jpg", b"\xff\xd8" + b"\xff\xe0\x00\x00" * 100, "damaged"),
    "a TIFF that names no size": ("x.tif", tiff((258, 1)), "damaged"),
    "a TIFF that ends before its list": ("x.tif", b"II*\x00\xff\xff\xff\x7f", "damaged"),
    "a TIFF of a list too long": ("x.tif", b"II*\x00\x08\x00\x00\x00\xff\xff" + bytes(12) * 1000, "damaged"),
    "a cut WebP": ("x.webp", WEBP, "damaged"),
    "something else": ("x.psd", b"8BPS" + bytes(60), "not a PNG, JPEG"),
    "nothing": ("x.png", b"", "not a PNG, JPEG"),
}


@pytest.mark.parametrize(("name", "content", "said"), DOUBTED_PICTURES.values(), ids=DOUBTED_PICTURES)
def test_a_picture_that_is_only_odd_is_kept_with_a_doubt(desk: Desk, name: str, content: bytes, said: str) -> None:
    """A damaged photograph may be the only one there is."""
    desk.write({**pictured(name), name: content})
    code, report = desk.ingest()
    assert code == 0
    assert [(w["file"], w["row"], w["column"]) for w in report["warnings"] if said in w["message"]] == [
        ("pictures.csv", 2, "file")
    ]


def test_outlines_and_points_beyond_the_drawing_are_doubted(desk: Desk) -> None:
    """What lies outside of the drawing was measured on another one, or mistyped."""
    desk.write(
        {
            **drawn("side.svg", SVG),
            "zones.csv": 'object,zone,component,drawing,outline\nT1,Z1,body,D1,"0,0 10,0 10,10"\n'
            'T1,Z2,body,D1,"0,0 10,0 10,100"\n',
            "samples.csv": "object,sample,place,method,x,y\nT1,S01,Z1,cross-section,9,2\nT1,S02,Z2,exposure,50,60\n",
        }
    )
    code, report = desk.ingest()
    assert code == 0
    beyond = [w for w in report["warnings"] if "side.svg" in w["message"]]
    assert [(w["file"], w["row"], w["column"], w["value"]) for w in beyond] == [
        ("zones.csv", 3, "outline", "10,100"),
        ("samples.csv", 3, "x", "50,60"),
    ]


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


@pytest.fixture(autouse=True)
def _limits() -> Iterator[None]:
    """No test may need more address space than a small computer has."""
    before = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (min(8 << 30, before[1]) if before[1] > 0 else 8 << 30, before[1]))
    yield
    resource.setrlimit(resource.RLIMIT_AS, before)
