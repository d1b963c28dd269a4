"""Hostile zip files and workbooks, and any package at all in its three forms: stored as a whole, or refused.

The archives are the published kinds: names that leave the folder (CWE-22), links in archives (CWE-59), bombs by ratio,
by overlap and by nesting (CWE-409), listings that lie. From memory.
"""

from __future__ import annotations

import csv
import io
import json
import os
import random
import shutil
import stat
import struct
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from faults import spoiled
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import collection_rows, surveys

from collection.cli import run
from collection.ingest import load
from collection.language.errors import FirstcoatError, InputRefused
from collection.records.row import Record
from collection.records.sheets import BY_SHEET
from collection.store.base import database
from collection.store.check import check

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("empty") / "collection.db"
    database.create(path)
    return path


@pytest.fixture
def place(tmp_path: Path, empty: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder with a database in it, and an empty one for temporary files, which has to be empty again."""
    shutil.copy(empty, tmp_path / "collection.db")
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(temporary))
    yield tmp_path
    assert list(temporary.iterdir()) == []


def refused(place: Path, package: Path, capsys: pytest.CaptureFixture[str], code: int = 1) -> list[dict[str, object]]:
    """The faults that the command line tells of a package, which left nothing behind."""
    before = sorted(os.listdir(place))
    content = (place / "collection.db").read_bytes()
    capsys.readouterr()
    assert run(["ingest", str(place / "collection.db"), str(package), "--json"]) == code
    said = json.loads(capsys.readouterr().out)
    assert (place / "collection.db").read_bytes() == content
    assert sorted(os.listdir(place)) == before
    faults: list[dict[str, object]] = said.get("errors", [{"message": said.get("error")}])
    for fault in faults:
        assert str(fault["message"])[-1] in ".?…"
        assert str(fault["message"]).isprintable()
        assert str(fault.get("file", "")).isprintable()
    return faults


@pytest.mark.parametrize("form", spoiled.FORMS)
def test_what_is_spoiled_below_is_sound(place: Path, form: str) -> None:
    """In each form the same records and the one doubt that is meant; of the workbook its comments are told as well."""
    if form == "folder":
        package = spoiled.write(place / "package", spoiled.DRAWN)
    elif form == "zip":
        package = place / "package.zip"
        package.write_bytes(spoiled.as_zip(spoiled.DRAWN))
    else:
        package = place / "package.xlsx"
        package.write_bytes(spoiled.as_workbook(spoiled.DRAWN))
        spoiled.write(place, {name: content for name, content in spoiled.DRAWN.items() if "/" in name or "svg" in name})
    report = load.ingest(place / "collection.db", package)
    assert (sum(report.added.values()), report.added["drawings"]) == (24, 1)
    doubts = [w for w in report.warnings if "struck out" not in w.message and "comment" not in w.message]
    assert [(w.sheet, w.column) for w in doubts] == [("tests", "agent")]


def entry(name: str, mode: int | None = None) -> zipfile.ZipInfo:
    made = zipfile.ZipInfo(name, (2019, 5, 1, 0, 0, 0))
    if mode is not None:
        made.create_system, made.external_attr = 3, mode << 16
    return made


BAD_ENTRIES = {
    "a folder up": (entry("../x.png"), "points outside the package"),
    "a folder up within": (entry("pictures/../../x.png"), "points outside the package"),
    "from the root": (entry("/etc/x.png"), "points outside the package"),
    "a drive": (entry("C:/x.png"), "points outside the package"),
    "backslashes": (entry("..\\x.png"), "points outside the package"),
    "a link": (entry("x.png", stat.S_IFLNK | 0o777), "is a link"),
    "a device": (entry("x.png", stat.S_IFBLK | 0o644), "not an ordinary file"),
    "a pipe": (entry("x.png", stat.S_IFIFO | 0o644), "not an ordinary file"),
    "a reserved name": (entry("pictures/NUL"), "name of a device"),
    "a hidden direction": (entry("x\u202egnp.exe"), "U+202E"),
    "a control": (entry("x\x1b[2J.png"), "U+001B"),
    "the same in capitals": (entry("LAYERS.csv"), "same name to many computers"),
    "a file for a folder": (entry("pictures"), "same name to many computers"),
    "too deep": (entry("a/" * 30 + "x.png"), "folders deep"),
    "the same twice": (entry("layers.csv"), "in the zip file twice"),
}


@pytest.mark.parametrize(("bad", "said"), BAD_ENTRIES.values(), ids=BAD_ENTRIES)
@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_zip_file_holds_no_entry_that_leaves_it(
    place: Path, capsys: pytest.CaptureFixture[str], bad: zipfile.ZipInfo, said: str
) -> None:
    """The entry is named with what is wrong; nothing is unpacked."""
    package = place / "package.zip"
    package.write_bytes(spoiled.as_zip(spoiled.DRAWN))
    with zipfile.ZipFile(package, "a") as archive:
        archive.writestr(bad, b"/etc/passwd")
    faults = refused(place, package, capsys)
    assert any(said in str(fault["message"]) for fault in faults)
    assert not (place.parent / "x.png").exists()


def bomb(path: Path, name: str, megabytes: int) -> Path:
    """A zip file, with a sound package in it, of which one entry becomes much."""
    path.write_bytes(spoiled.as_zip(spoiled.DRAWN))
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED, compresslevel=9) as archive, archive.open(name, "w") as file:
        for _ in range(megabytes):
            file.write(bytes(1 << 20))
    return path


def overlapping(path: Path, entries: int) -> Path:
    """A zip file whose many entries all share the same packed bytes (the listing names one place again and again)."""
    path.write_bytes(spoiled.as_zip({"x.png": bytes(3 << 20)}))
    content = path.read_bytes()
    start = content.index(b"PK\x01\x02")
    listed = content[start : content.index(b"PK\x05\x06")]
    many = b"".join(listed.replace(b"x.png", f"{number:05d}".encode()) for number in range(entries))
    end = struct.pack("<4sHHHHIIH", b"PK\x05\x06", 0, 0, entries, entries, len(many), start, 0)
    path.write_bytes(content[:start] + many + end)
    return path


def measured(place: Path, package: Path) -> tuple[int, str, int]:
    """Exit code, what was said, and the greatest memory in MB of the command in a process of its own."""
    # What the kernel's getrusage calls the greatest memory counts that of the test's process as well.
    script = (
        "import re, sys\nfrom pathlib import Path\nfrom collection.cli import run\ncode = run(sys.argv[1:])\n"
        "print('MB', int(re.search(r'VmHWM:\\s+([0-9]+)', Path('/proc/self/status').read_text())[1]) // 1024)\n"
        "sys.exit(code)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, "ingest", str(place / "collection.db"), str(package)],
        capture_output=True,
        text=True,
        check=False,
        timeout=600,
    )
    return done.returncode, done.stderr, int(done.stdout.rsplit("MB", 1)[1])


def test_a_zip_file_that_becomes_too_much_is_refused_unopened(place: Path) -> None:
    """By its ratio, and by entries that share their bytes; in bounded memory, with nothing unpacked."""
    content = (place / "collection.db").read_bytes()
    for package in (bomb(place / "ratio.zip", "x.png", 300), overlapping(place / "overlap.zip", 5_000)):
        code, said, megabytes = measured(place, package)
        assert code == 1, said
        assert "times its size" in said
        assert megabytes < 150
    assert (place / "collection.db").read_bytes() == content


def part(content: bytes, name: str, replaced: bytes) -> bytes:
    """A workbook with one part replaced."""
    held = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as new:
        for each in old.namelist():
            new.writestr(each, replaced if each == name else old.read(each))
        if name not in old.namelist():
            new.writestr(name, replaced)
    return held.getvalue()


def read(content: bytes, name: str) -> bytes:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return archive.read(name)


MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
LAUGHS = (
    '<!DOCTYPE x [<!ENTITY a0 "ha">' + "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10)) + "]>"
)
BOOK_BOMBS = {
    "entities in the texts": ("xl/sharedStrings.xml", f"{LAUGHS}<sst {MAIN}><si><t>&a9;</t></si></sst>".encode()),
    "entities in a sheet": ("xl/worksheets/sheet1.xml", f"{LAUGHS}<worksheet {MAIN}>&a9;</worksheet>".encode()),
    "entities in the list": ("[Content_Types].xml", f"{LAUGHS}<Types>&a9;</Types>".encode()),
    "a file in the texts": (
        "xl/sharedStrings.xml",
        b'<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]>' + f"<sst {MAIN}><si><t>&a;</t></si></sst>".encode(),
    ),
    "a sheet of one endless tag": (
        "xl/worksheets/sheet1.xml",
        f'<worksheet {MAIN} a="'.encode() + os.urandom(1 << 20).hex().encode() * 15,
    ),
    "an endless comment": (
        "xl/sharedStrings.xml",
        f"<sst {MAIN}><!--".encode() + os.urandom(1 << 20).hex().encode() * 15,
    ),
    "endless depth": ("xl/sharedStrings.xml", f"<sst {MAIN}>".encode() + b"<si>" * 3_000_000),
    "a sheet of nothing": ("xl/worksheets/sheet2.xml", b"\x00" * 10_000_000),
    "rows that go back": (
        "xl/worksheets/sheet2.xml",
        f'<worksheet {MAIN}><sheetData><row r="9">'.encode()
        + b"".join(
            b'<c r="%s9" t="inlineStr"><is><t>%s</t></is></c>' % pair
            for pair in ((b"A", b"object"), (b"B", b"title"), (b"C", b"kind"))
        )
        + b'</row><row r="2"><c r="A2"><v>1</v></c></row></sheetData></worksheet>',
    ),
    "a row beyond all": (
        "xl/worksheets/sheet2.xml",
        f'<worksheet {MAIN}><sheetData><row r="99999999"><c r="A1"/></row></sheetData></worksheet>'.encode(),
    ),
    "a column beyond all": (
        "xl/worksheets/sheet2.xml",
        f'<worksheet {MAIN}><sheetData><row r="1"><c r="ZZZZZ1"><v>1</v></c></row></sheetData></worksheet>'.encode(),
    ),
}


@pytest.mark.parametrize(("name", "content"), BOOK_BOMBS.values(), ids=BOOK_BOMBS)
def test_a_workbook_made_to_harm_is_refused(place: Path, name: str, content: bytes) -> None:
    """Entities, tags and comments without end, places beyond any sheet: a sentence, in bounded memory and time."""
    package = place / "package.xlsx"
    package.write_bytes(part(spoiled.as_workbook(spoiled.SOUND), name, content))
    spoiled.write(place, {"pictures/door.png": spoiled.SOUND["pictures/door.png"]})
    before = (place / "collection.db").read_bytes()
    code, said, megabytes = measured(place, package)
    assert code == 1, said
    assert all(line.strip().startswith("package.xlsx") for line in said.splitlines()[1:])
    assert any(word in said for word in ("save it again", "Look where it comes from"))
    assert megabytes < 250
    assert (place / "collection.db").read_bytes() == before


def test_a_million_blank_rows_are_passed_over(place: Path) -> None:
    """Rows that hold no cell, as a spreadsheet formats them in advance, cost seconds and little memory."""
    book = spoiled.as_workbook(spoiled.SOUND)
    sheet = read(book, "xl/worksheets/sheet2.xml")
    rows = b"".join(b'<row r="%d" spans="1:5"/>' % number for number in range(1_000, 1_001_000))
    package = place / "package.xlsx"
    package.write_bytes(part(book, "xl/worksheets/sheet2.xml", sheet.replace(b"</sheetData>", rows + b"</sheetData>")))
    spoiled.write(place, {"pictures/door.png": spoiled.SOUND["pictures/door.png"]})
    code, said, megabytes = measured(place, package)
    assert code == 0, said
    assert megabytes < 250


HIDDEN_NAMES = ("_xD800_", "x\u202ey", "_x0000_", "a&#x202e;b")


@pytest.mark.parametrize("name", HIDDEN_NAMES)
def test_a_sheet_whose_name_hides_something_is_told(place: Path, capsys: pytest.CaptureFixture[str], name: str) -> None:
    """What nobody sees in the name of a sheet is written as its number."""
    book = spoiled.as_workbook(spoiled.SOUND)
    listed = read(book, "xl/workbook.xml").replace(b'name="objects"', f'name="{name}"'.encode())
    package = place / "package.xlsx"
    package.write_bytes(part(book, "xl/workbook.xml", listed))
    faults = refused(place, package, capsys)
    assert any("No sheet of a survey has this name" in str(fault["message"]) for fault in faults)
    assert all(str(fault["column"] or "").isprintable() for fault in faults)


@pytest.mark.parametrize("form", ["zip", "workbook"])
@pytest.mark.parametrize("name", ["x\u202ey", "a\x1b[2Jb", os.fsdecode(b"Gr\xf6\xdfe"), "=1+1", "x" * 200])
def test_a_package_with_an_odd_name_is_taken(place: Path, form: str, name: str) -> None:
    """The file's own name goes into the record of changes, where it must not act or fail."""
    package = place / (name + (".zip" if form == "zip" else ".xlsx"))
    files = {key: content for key, content in spoiled.SOUND.items() if not key.startswith("pictures")}
    package.write_bytes(spoiled.as_zip(files) if form == "zip" else spoiled.as_workbook(files))
    assert load.ingest(place / "collection.db", package).change == 1
    with database.opened(place / "collection.db", write=False) as db:
        assert db.execute("SELECT name FROM packages").fetchone()[0].isprintable()
    assert check(place / "collection.db").damage == ()


def whole_or_nothing(empty: Path, place: Path, package: Path) -> str:
    """How a package ends: stored, sound and the same the second time; or refused with sentences, nothing changed."""
    db_path = place / "collection.db"
    shutil.copy(empty, db_path)
    refusal: FirstcoatError | None = None
    try:
        load.ingest(db_path, package)
    except FirstcoatError as error:
        refusal = error
    if refusal is None:
        assert check(db_path).damage == ()
        assert load.ingest(db_path, package).change is None
        return "stored"
    assert refusal.exit_code in (1, 2), refusal
    assert db_path.read_bytes() == empty.read_bytes()
    assert not (place / "collection.db.files").exists()
    said = [fault.sentence() for fault in refusal.faults] if isinstance(refusal, InputRefused) else [str(refusal)]
    assert said
    assert all(line.isprintable() and line[-1] in ".?…" for line in said), said
    json.dumps(refusal.as_json()).encode()
    return "refused"


@given(seed=st.integers(0, 1 << 32), form=st.sampled_from(spoiled.FORMS))
def test_no_spoiled_package_gets_halfway_in_any_form(
    empty: Path, tmp_path_factory: pytest.TempPathFactory, seed: int, form: str
) -> None:
    """Cells, rows, files, parts and bytes spoiled by chance; the long run is tests/bench/faults/long_run.py."""
    place = tmp_path_factory.mktemp("spoiled")
    package = spoiled.write_spoiled(place, form, random.Random(seed))
    whole_or_nothing(empty, place, package)
    shutil.rmtree(place)


def tables(rows: list[Record], headings: bool) -> dict[str, bytes]:
    """Records as a package of CSV, with a file for each that they name."""
    files: dict[str, bytes] = {}
    by_sheet: dict[str, list[Record]] = {}
    for row in rows:
        by_sheet.setdefault(row.sheet, []).append(row)
        for column in row.columns():
            if column.kind == "file" and getattr(row, column.name):
                name = getattr(row, column.name)
                files[name] = spoiled.SVG if name.endswith(".svg") else spoiled.SOUND["pictures/door.png"]
    for sheet, held in by_sheet.items():
        names = [column.name for column in BY_SHEET[sheet].columns()]
        if headings:
            names = [name.upper().replace("_", " ") for name in names]
        out = io.StringIO(newline="")
        writer = csv.writer(out)
        writer.writerow(names)
        for row in held:
            values = [getattr(row, column.name) for column in row.columns()]
            writer.writerow(
                ["" if value is None else repr(value) if isinstance(value, float) else value for value in values]
            )
        files[f"{sheet}.csv"] = out.getvalue().encode()
    return files


def toml(survey: Record) -> bytes:
    lines = [
        f"{column.name} = {json.dumps(getattr(survey, column.name), ensure_ascii=True)}\n"
        for column in survey.columns()
        if getattr(survey, column.name) is not None
    ]
    return "".join(lines).encode()


@settings(max_examples=settings().max_examples // 2)
@given(
    rows=collection_rows(),
    survey=surveys("s-1"),
    seed=st.none() | st.integers(0, 1 << 32),
    headings=st.booleans(),
    form=st.sampled_from(spoiled.FORMS),
)
def test_any_records_get_in_whole_or_not_at_all(
    empty: Path,
    tmp_path_factory: pytest.TempPathFactory,
    rows: list[Record],
    survey: Record,
    seed: int | None,
    headings: bool,
    form: str,
) -> None:
    """Records of any content, as they are or with something in them spoiled, in any form."""
    place = tmp_path_factory.mktemp("any")
    files = {"survey.toml": toml(survey), **tables(rows, headings)}
    if seed is not None:
        files = spoiled.spoil(random.Random(seed), files)
    beside = {name: content for name, content in files.items() if not name.endswith((".csv", ".toml"))}
    if form == "folder":
        package = spoiled.write(place / "package", files)
    elif form == "zip":
        package = place / "package.zip"
        package.write_bytes(spoiled.as_zip(files))
    else:
        package = spoiled.write(place, beside) / "package.xlsx"
        package.write_bytes(spoiled.as_workbook(files))
    whole_or_nothing(empty, place, package)
    shutil.rmtree(place)
