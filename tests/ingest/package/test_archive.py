"""Zip files as packages: what is unpacked and what is refused; nothing is ever written outside of the temporary
folder, and nothing is left in it."""

from __future__ import annotations

import stat
import struct
import zipfile
from collections.abc import Sequence
from pathlib import Path

import made_workbooks as made
import pytest
from checked import check_package

from collection.ingest import load
from collection.ingest.package import archive, zip_file
from collection.language.errors import CouldNot, Fault, InputRefused, WrongCommand
from collection.store.base import database

SURVEY = b'code = "h"\ntitle = "t"\nlead = "l"\nstarted = "2019"\n'
OBJECTS = b"object,title,kind\nT1,Tram,tram\n"
SOUND: list[tuple[str, bytes]] = [("survey.toml", SURVEY), ("objects.csv", OBJECTS)]


@pytest.fixture
def room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A temporary folder of our own, which has to be empty at the end."""
    place = tmp_path / "tmp"
    place.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(place))
    return place


def packed(path: Path, entries: Sequence[tuple[str | zipfile.ZipInfo, bytes]]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as made_zip:
        for name, content in entries:
            made_zip.writestr(name, content)
    return path


def refused(path: Path, room: Path) -> list[Fault]:
    outside = sorted(path.parent.rglob("*"))
    with pytest.raises(InputRefused) as caught:
        check_package(path)
    assert list(room.iterdir()) == []
    assert sorted(path.parent.rglob("*")) == outside
    assert all(fault.message[-1] in ".?…" for fault in caught.value.faults)
    return caught.value.faults


def link(name: str, target: bytes) -> tuple[zipfile.ZipInfo, bytes]:
    info = zipfile.ZipInfo(name)
    info.create_system = 3
    info.external_attr = (stat.S_IFLNK | 0o777) << 16
    return info, target


def special(name: str, kind: int) -> tuple[zipfile.ZipInfo, bytes]:
    info = zipfile.ZipInfo(name)
    info.create_system = 3
    info.external_attr = (kind | 0o644) << 16
    return info, b""


# What is added to a sound package; the name in the fault, and what it says.
HOSTILE: list[tuple[list[tuple[str | zipfile.ZipInfo, bytes]], str, str]] = [
    ([("../out.csv", b"x")], "../out.csv", "points outside"),
    ([("pictures/../../out.csv", b"x")], "pictures/../../out.csv", "points outside"),
    ([("/etc/out.csv", b"x")], "/etc/out.csv", "points outside"),
    ([("C:/out.csv", b"x")], "C:/out.csv", "points outside"),
    ([("c:out.csv", b"x")], "c:out.csv", "points outside"),
    ([("..\\out.csv", b"x")], "..\\out.csv", "points outside"),
    ([("pictures\\front.png", b"x")], "pictures\\front.png", "points outside"),
    ([("//server/out.csv", b"x")], "//server/out.csv", "points outside"),
    ([link("front.png", b"/etc/passwd")], "front.png", "link"),
    ([link("pictures", b"/tmp"), ("pictures/front.png", b"x")], "pictures", "link"),
    ([special("pipe", stat.S_IFIFO)], "pipe", "not an ordinary file"),
    ([special("device", stat.S_IFCHR)], "device", "not an ordinary file"),
    ([("Objects.csv", OBJECTS)], "Objects.csv", "same name"),
    ([("pictures/a.png", b"x"), ("Pictures/A.png", b"x")], "Pictures/A.png", "same name"),
    ([("caf\u00e9.png", b"x"), ("cafe\u0301.png", b"x")], "caf\u00e9.png", "twice"),
    ([("pictures", b"x"), ("pictures/a.png", b"x")], "pictures/a.png", "same name"),
    ([("a/" * 30 + "b.png", b"x")], "a/" * 30 + "b.png", "folders deep"),
    ([("con.png", b"x")], "con.png", "device"),
    ([("a\u202eb.png", b"x")], "a\\u202eb.png", "cannot be seen"),
    ([("x" * 300 + ".png", b"x")], "x" * 255, "255"),
]


@pytest.mark.parametrize(("added", "name", "said"), HOSTILE)
def test_a_name_or_kind_that_may_not_be_in_a_package_refuses_it(
    tmp_path: Path, room: Path, added: list[tuple[str | zipfile.ZipInfo, bytes]], name: str, said: str
) -> None:
    """Ways out, links, devices and names that are one to other computers: a fault each, and nothing is unpacked."""
    (fault,) = refused(packed(tmp_path / "h.zip", [*SOUND, *added]), room)
    assert (fault.file, said in fault.message) == (name, True), fault


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_that_stands_twice_is_refused(tmp_path: Path, room: Path) -> None:
    """Two entries of one name are read differently by different programs."""
    (fault,) = refused(packed(tmp_path / "h.zip", [*SOUND, ("objects.csv", b"object\n")]), room)
    assert (fault.file, "in the zip file twice" in fault.message) == ("objects.csv", True)


def test_all_faults_of_the_names_come_at_once(tmp_path: Path, room: Path) -> None:
    """A zip with several of them names each."""
    faults = refused(packed(tmp_path / "h.zip", [*SOUND, ("../a", b""), ("/b", b""), link("c", b"d")]), room)
    assert [fault.file for fault in faults] == ["../a", "/b", "c"]


def test_a_bomb_is_not_unpacked(tmp_path: Path, room: Path) -> None:
    """What becomes two hundred times its size is no survey."""
    (fault,) = refused(packed(tmp_path / "h.zip", [*SOUND, ("big.png", bytes(60_000_000))]), room)
    assert "200 times its size" in fault.message


def test_an_entry_that_is_longer_than_it_says_is_damaged(tmp_path: Path, room: Path) -> None:
    """The listing's size bounds what is unpacked: more of it is never written, and the check sum tells."""
    path = packed(tmp_path / "h.zip", [*SOUND, ("notes.txt", bytes(range(256)) * 400)])
    content = bytearray(path.read_bytes())
    place = content.rfind(b"PK\x01\x02")
    struct.pack_into("<I", content, place + 24, 1000)
    path.write_bytes(bytes(content))
    (fault,) = refused(path, room)
    assert "damaged" in fault.message


@pytest.mark.parametrize(
    ("bound", "said"),
    [({"entries": 1}, "at most 1 are taken"), ({"entry": 10}, "One file in this"), ({"total": 50}, "becomes")],
)
def test_the_bounds_are_looked_at_first(
    tmp_path: Path, room: Path, monkeypatch: pytest.MonkeyPatch, bound: dict[str, int], said: str
) -> None:
    """Too many files, one too large, too much in all."""
    usual = {"entries": 10_000, "entry": 10**9, "total": 10**9, "ratio": 200}
    monkeypatch.setattr(archive, "BOUNDS", zip_file.Bounds(**{**usual, **bound}))
    monkeypatch.setattr("collection.ingest.package.package_format.BOUNDS", archive.BOUNDS)
    (fault,) = refused(packed(tmp_path / "h.zip", SOUND), room)
    assert said in fault.message


def test_a_listing_that_claims_too_much_is_not_read(tmp_path: Path, room: Path) -> None:
    """65,535 entries or more, or a listing of many megabytes, is refused by the last bytes alone (APPNOTE 4.3.16)."""
    path = packed(tmp_path / "h.zip", SOUND)
    content = bytearray(path.read_bytes())
    struct.pack_into("<H", content, len(content) - 12, 0xFFFF)
    path.write_bytes(bytes(content))
    assert "more files than are taken" in refused(path, room)[0].message


@pytest.mark.parametrize("comment", [0, 65_535])
def test_a_listing_that_claims_little_and_is_long_is_not_read(tmp_path: Path, room: Path, comment: int) -> None:
    """Where the record for large files stands before the end, its figures count and not the end's (APPNOTE 4.3.14,
    4.3.15): a listing of 17 MB cannot hide behind it."""
    path = tmp_path / "h.zip"
    with zipfile.ZipFile(path, "w") as made_zip:
        for name, content in SOUND:
            made_zip.writestr(name, content)
        for number in range(260):
            entry = zipfile.ZipInfo(f"{number}.txt")
            entry.comment = bytes(65_535)
            made_zip.writestr(entry, b"")
    content = path.read_bytes()
    end = content.rfind(b"PK\x05\x06")
    entries, size, start = struct.unpack("<HII", content[end + 10 : end + 20])
    path.write_bytes(
        content[:end]
        + struct.pack("<4sQHHIIQQQQ", b"PK\x06\x06", 44, 45, 45, 0, 0, entries, entries, size, start)
        + struct.pack("<4sIQI", b"PK\x06\x07", 0, end, 1)
        + struct.pack("<4sHHHHIIH", b"PK\x05\x06", 0, 0, 2, 2, 100, start, comment)
        + bytes(comment)
    )
    assert len(zipfile.ZipFile(path).infolist()) == entries
    assert "more files than are taken" in refused(path, room)[0].message


def test_an_error_of_ours_is_not_told_as_damage(tmp_path: Path, room: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of what fails while a zip file is unpacked, only the zip file's own errors are its damage."""

    def fails(*_: object, **__: object) -> None:
        raise ValueError("ours")

    path = packed(tmp_path / "h.zip", SOUND)
    monkeypatch.setattr(Path, "joinpath", fails)
    with pytest.raises(ValueError, match="ours"):
        check_package(path)
    assert list(room.iterdir()) == []


def test_no_room_is_said_and_nothing_is_left(tmp_path: Path, room: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the disk has less than the files need, none is unpacked."""
    monkeypatch.setattr("shutil.disk_usage", lambda _: type("Usage", (), {"free": 10}))
    with pytest.raises(CouldNot, match="no room"):
        check_package(packed(tmp_path / "h.zip", SOUND))
    assert list(room.iterdir()) == []


def test_what_programs_leave_behind_is_ignored(tmp_path: Path, room: Path) -> None:
    """Folders' own entries, resource forks and thumbnails are no part of a package."""
    litter = [
        "pictures/",
        "__MACOSX/._objects.csv",
        "__MACOSX/pictures/._a.png",
        ".DS_Store",
        "pictures/.DS_Store",
        "Thumbs.db",
        "~$objects.csv",
        ".~lock.objects.csv#",
    ]
    path = packed(tmp_path / "h.zip", [*SOUND, *((name, b"") for name in litter)])
    assert check_package(path) == []
    assert list(room.iterdir()) == []


@pytest.mark.parametrize("flagged", [True, False])
def test_names_are_read_in_utf8_marked_or_not(tmp_path: Path, room: Path, flagged: bool) -> None:
    """Bit 11 says UTF-8 (APPNOTE 4.4.4); without it many programs write it all the same, and some code page 437."""
    pictures = "object,picture,file\nT1,F1,Wägen/straße.png\n".encode()
    picture = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01\x08\x02"
    path = packed(tmp_path / "h.zip", [*SOUND, ("pictures.csv", pictures), ("Wägen/straße.png", picture)])
    if not flagged:
        content = path.read_bytes()
        for mark, at in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
            start = 0
            while (start := content.find(mark, start)) >= 0:
                content = content[: start + at] + b"\0\0" + content[start + at + 2 :]
                start += 4
        path.write_bytes(content)
        assert any("Ã" in name or "├" in name for name in zipfile.ZipFile(path).namelist())
    assert check_package(path) == []


def test_names_in_code_page_437(tmp_path: Path, room: Path) -> None:
    """What is no UTF-8 is read in the code page that the format names (APPNOTE, appendix D)."""
    pictures = "object,picture,file\nT1,F1,ä.png\n".encode()
    picture = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01\x08\x02"
    path = packed(tmp_path / "h.zip", [*SOUND, ("pictures.csv", pictures), ("q.png", picture)])
    path.write_bytes(path.read_bytes().replace(b"q.png", b"\x84.png"))
    assert check_package(path) == []


def test_faults_name_the_files_as_they_stand_in_the_zip(tmp_path: Path, room: Path) -> None:
    """Below the survey's folder, as in a folder; the database keeps the same names."""
    path = packed(tmp_path / "h.zip", [("2014/survey.toml", SURVEY), ("2014/objects.csv", OBJECTS + b"T2,,tram\n")])
    assert [(f.file, f.row, f.column) for f in refused(path, room)] == [("objects.csv", 3, "title")]
    database.create(tmp_path / "collection.db")
    load.ingest(tmp_path / "collection.db", packed(tmp_path / "s.zip", [(f"2014/{n}", c) for n, c in SOUND]))
    with database.opened(tmp_path / "collection.db", write=False) as db:
        assert db.execute("SELECT from_file FROM objects").fetchall() == [("objects.csv",)]
        assert db.execute("SELECT why FROM changes").fetchall() == [("survey package s.zip",)]
    assert list(room.iterdir()) == []


def test_a_zip_without_a_package_says_so(tmp_path: Path, room: Path) -> None:
    """Nothing in it, nothing that is a survey, or more than one workbook."""
    for entries, said in (
        ([], "not a survey package"),
        ([("a.txt", b"x")], "not a survey package"),
        ([("a/b/survey.toml", SURVEY)], "not a survey package"),
        ([("a.xlsx", b"x"), ("b.xlsx", b"x")], "2 workbooks"),
    ):
        with pytest.raises(WrongCommand, match=said):
            check_package(packed(tmp_path / "h.zip", entries))
    assert list(room.iterdir()) == []


def test_a_workbook_in_a_zip_is_judged_like_any_other(tmp_path: Path, room: Path) -> None:
    """Its faults name it, and one of another kind is told how to save."""
    book = made.written(tmp_path / "book.xlsx", {"objects": (("object", "title", "kind"), ("T1", "", "tram"))})
    faults = refused(packed(tmp_path / "h.zip", [("in/book.xlsx", book.read_bytes())]), room)
    assert [(f.file, f.sheet, f.row, f.column) for f in faults] == [("book.xlsx", "objects", 2, "title")]
    old = packed(tmp_path / "o.zip", [("book.xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(100))])
    assert "older kind" in refused(old, room)[0].message


def test_a_zip_named_otherwise_is_told_by_its_content(tmp_path: Path, room: Path) -> None:
    """The name says nothing; other files are no package."""
    assert check_package(packed(tmp_path / "survey.dat", SOUND)) == []
    (tmp_path / "list.csv").write_bytes(OBJECTS)
    with pytest.raises(WrongCommand, match="not a survey package"):
        check_package(tmp_path / "list.csv")
    (tmp_path / "cut.zip").write_bytes((tmp_path / "survey.dat").read_bytes()[:60])
    assert "damaged" in refused(tmp_path / "cut.zip", room)[0].message
    (tmp_path / "text.zip").write_bytes(b"none")
    assert "damaged" in refused(tmp_path / "text.zip", room)[0].message
