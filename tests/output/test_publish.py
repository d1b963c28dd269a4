"""Publishing: the same site each time, a whole site or none after a kill, and its pictures cleaned."""

from __future__ import annotations

import base64
import contextlib
import json
import os
import re
import shutil
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import killed_at
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published_secrets import Secrets, document_of, rows_of
from site_packages import SVG, chunk, database_of, object_rows, png, write_package

from collection.compute.case import Case
from collection.compute.survival.survival import object_survival
from collection.ingest.pictures.image_files import NotAPicture
from collection.language.errors import CouldNot, DamageFound, WrongCommand
from collection.output.published.images import cleaned
from collection.output.site.checksums import CHECKSUMS
from collection.output.site.publish import publish
from collection.output.site.serve import verify
from collection.records.sheets import BY_SHEET, SHEETS
from collection.store.base import database, read
from collection.values.resources import sample_folder


def test_the_same_database_gives_the_same_site_again(filled_in: Path, site: Path, tmp_path: Path) -> None:
    publish(filled_in, tmp_path / "again")
    assert (tmp_path / "again" / CHECKSUMS).read_text() == (site / CHECKSUMS).read_text()


def test_the_checksums_hold_and_tell_of_one_changed_byte(site: Path, tmp_path: Path) -> None:
    """`sha256sum` of GNU coreutils is the outside check of the list."""
    done = subprocess.run(
        ["sha256sum", "--check", "--strict", CHECKSUMS], cwd=site, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout
    copy = tmp_path / "copy"
    shutil.copytree(site, copy)
    assert verify(copy) == len((site / CHECKSUMS).read_text().splitlines())
    content = bytearray((copy / "collection.db").read_bytes())
    content[len(content) // 2] ^= 1
    (copy / "collection.db").write_bytes(content)
    with pytest.raises(DamageFound, match=r"collection\.db"):
        verify(copy)
    (copy / "more.txt").write_text("came in")
    with pytest.raises(DamageFound, match=r"more\.txt"):
        verify(copy)


def test_the_file_is_closed_whole_and_sound(site: Path) -> None:
    assert sorted(p.name for p in site.iterdir()) == ["collection.db", "metadata.json", "pictures", CHECKSUMS]
    assert rows_of(site, "PRAGMA journal_mode") == [("delete",)]
    assert rows_of(site, "PRAGMA integrity_check") == [("ok",)]
    assert rows_of(site, "PRAGMA foreign_key_check") == []
    assert rows_of(site, "SELECT count(*) FROM sqlite_master WHERE name = 'sqlite_sequence'") == [(0,)]
    assert rows_of(
        site, "SELECT count(*) FROM documents AS d JOIN search AS s ON s.id = d.object_id WHERE s.object = d.object"
    ) == [(1,)]


def test_every_column_of_the_file_is_described(site: Path) -> None:
    """In the dictionary inside, but for row numbers and links, and in Datasette's metadata."""
    told = set(rows_of(site, "SELECT table_name, column_name FROM dictionary"))
    metadata = json.loads((site / "metadata.json").read_text("utf-8"))["databases"]["collection"]
    assert metadata["allow_sql"] is False
    for record in SHEETS:
        for row in rows_of(site, f'PRAGMA table_info("{record.table}")'):
            if not row[1].endswith("_id") and row[1] not in ("id", "key", "survey", "from_row", "file"):
                assert (record.table, row[1]) in told
                assert metadata["tables"][record.table]["columns"][row[1]]


def test_the_new_folder_is_never_an_old_one(filled_in: Path, tmp_path: Path) -> None:
    (tmp_path / "there").mkdir()
    with pytest.raises(WrongCommand, match="exists already"):
        publish(filled_in, tmp_path / "there")
    with pytest.raises(CouldNot, match="no folder"):
        publish(filled_in, tmp_path / "no" / "parent")
    with pytest.raises(CouldNot, match="no database"):
        publish(tmp_path / "absent.db", tmp_path / "out")
    (tmp_path / "text.db").write_text("this is no database, whatever its name says it is, and it is long enough")
    with pytest.raises(CouldNot):
        publish(tmp_path / "text.db", tmp_path / "out")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["text.db", "there"]


PUBLISHED = """
from pathlib import Path
from collection.output.site.publish import publish
def work(db, out):
    publish(Path(db), Path(out))
"""


@pytest.mark.slow
def test_a_kill_leaves_the_whole_site_or_none(filled_in: Path, tmp_path: Path) -> None:
    whole = killed_at.calls(PUBLISHED, filled_in, tmp_path / "whole")
    seen = []
    for moment in killed_at.moments(whole, 6):
        out = tmp_path / f"killed{moment}" / "site"  # a folder each, because what was left is cleared away by the next
        out.parent.mkdir()
        killed_at.kill(PUBLISHED, filled_in, out, at=moment)
        seen.append(out.exists())
        if out.exists():
            assert verify(out) > 0
    assert seen == sorted(seen)
    assert set(seen) == {False, True}
    left = [str(path) for path in out.parent.glob(".*")]
    assert list(publish(filled_in, out.parent / "after").leftovers) == left
    assert not list(out.parent.glob(".*"))


def test_a_full_disk_is_a_sentence_and_leaves_nothing(filled_in: Path, tmp_path: Path) -> None:
    """A limit on the size of files stands in for the full disk: the write fails in the same place."""
    limited = (
        "import resource, signal, sys\nsignal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "from pathlib import Path\nfrom collection.language.errors import CouldNot\n"
        "from collection.output.site.publish import publish\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))\n"
        "try:\n    publish(Path(sys.argv[1]), Path(sys.argv[2]))\n"
        "except CouldNot as error:\n    print(error)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", limited, filled_in, tmp_path / "out"], capture_output=True, text=True, check=False
    )
    assert "could not be written" in done.stdout, done.stderr
    assert "Nothing was published" in done.stdout
    assert list(tmp_path.iterdir()) == []


JPEG = base64.b64decode(
    "/9j/4AAQSkZJRgABAQAAAQABAAD/4QAuRXhpZgAATU0AKgAAAAgAAQEOAAIAAAALAAAAGgAAAABTRUNSRVRFWElGAAD//gAPU0VD"
    "UkVUQ09NTUVOVP/bAEMAFA4PEg8NFBIQEhcVFBgeMiEeHBwePSwuJDJJQExLR0BGRVBac2JQVW1WRUZkiGVtd3uBgoFOYI2XjH2W"
    "c36BfP/bAEMBFRcXHhoeOyEhO3xTRlN8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fP/A"
    "ABEIAAgACAMBIgACEQEDEQH/xAAVAAEBAAAAAAAAAAAAAAAAAAAABf/EABcQAQADAAAAAAAAAAAAAAAAAAAycrH/xAAVAQEBAAAA"
    "AAAAAAAAAAAAAAABBf/EABcRAQEBAQAAAAAAAAAAAAAAAAEDABH/2gAMAwEAAhEDEQA/AJUK4AJzKHXWKUZvDf/Z"
)
"""A JPEG of 8 × 8 pixels, made once with Pillow, with EXIF (SECRETEXIF) and a comment (SECRETCOMMENT)."""


def test_png_keeps_its_pixels_and_loses_its_texts() -> None:
    secret = (
        (b"tEXt", b"Author\0SECRET"),
        (b"iTXt", b"XML:com\0\0\0\0\0SECRET"),
        (b"eXIf", b"II*\0SECRET"),
        (b"zTXt", b"k\0\0" + zlib.compress(b"SECRET")),
        (b"prVt", b"SECRET"),
        (b"pHYs", b"\0" * 9),
    )
    kind, content = cleaned(png(*secret) + b"SECRETTAIL")
    assert kind == "png"
    assert b"SECRET" not in content
    assert content == png((b"pHYs", b"\0" * 9))
    profile = (b"iCCP", b"name\0\0" + zlib.compress(b"profile"))
    assert cleaned(png(profile))[1] == png(profile)


@pytest.mark.parametrize(
    "content",
    [
        png()[:-3],
        png().replace(b"IDAT", b"IDAX"),
        b"\x89PNG\r\n\x1a\n",
        png((b"ABCD", b"unknown, must be understood")),
        JPEG[:60],
        JPEG[:-2],
        b"GIF89a",
        b"",
        b"<html><body>x</body></html>",
        b"<svg",
        b'<!DOCTYPE svg [<!ENTITY a "aaaa">]><svg xmlns="http://www.w3.org/2000/svg"><text>&a;</text></svg>',
        b"<svg xmlns='http://www.w3.org/2000/svg'>" + b"<g>" * 80 + b"</g>" * 80 + b"</svg>",
    ],
)
def test_a_file_that_is_no_sound_picture_is_left_out(content: bytes) -> None:
    with pytest.raises(NotAPicture):
        cleaned(content)


@settings(max_examples=300)
@given(st.sampled_from([png(), JPEG, SVG]), st.integers(0, 10_000), st.integers(0, 255))
def test_no_damaged_picture_does_more_than_be_left_out(content: bytes, where: int, byte: int) -> None:
    damaged = bytearray(content)
    damaged[where % len(damaged)] = byte
    with contextlib.suppress(NotAPicture):
        cleaned(bytes(damaged))


def test_jpeg_loses_exif_and_comments_and_keeps_its_scan() -> None:
    assert b"SECRETEXIF" in JPEG
    assert b"SECRETCOMMENT" in JPEG
    kind, content = cleaned(JPEG)
    assert kind == "jpg"
    assert b"SECRET" not in content
    assert b"Exif" not in content
    scan = JPEG[JPEG.index(b"\xff\xda") :]
    assert content.endswith(scan)
    assert cleaned(content) == ("jpg", content)


def segment(marker: int, content: bytes) -> bytes:
    return bytes([0xFF, marker]) + struct.pack(">H", len(content) + 2) + content


@pytest.mark.parametrize("order", ["<", ">"])
def test_jpeg_keeps_its_colour_profile_and_which_way_is_up(order: str) -> None:
    """Without them a photograph would lie on its side, or in other colours (Exif 2.3, tag 274; ICC.1, annex B.4)."""
    start = b"II*\0" if order == "<" else b"MM\0*"
    entries = struct.pack(f"{order}HHII", 270, 2, 7, 38) + struct.pack(f"{order}HHIHH", 274, 3, 1, 6, 0)
    exif = start + struct.pack(f"{order}IH", 8, 2) + entries + bytes(4) + b"SECRET\0"
    profile = segment(0xE2, b"ICC_PROFILE\0\x01\x01profile")
    bare = cleaned(JPEG)[1]
    camera = bare[:2] + segment(0xE1, b"Exif\0\0" + exif) + profile + segment(0xE2, b"MPF\0SECRET") + bare[2:]
    kind, content = cleaned(camera)
    turned = b"Exif\0\0MM\0*" + struct.pack(">IHHHIHHI", 8, 1, 274, 3, 1, 6, 0, 0)
    assert (kind, content) == ("jpg", bare[:2] + segment(0xE1, turned) + profile + bare[2:])
    assert cleaned(content)[1] == content


HOSTILE_SVG = b"""<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 9 9"
 onload="alert(1)"><script>alert(2)</script><style>@import url(http://x.test/a.css)</style>
<a xlink:href="javascript:alert(3)"><rect width="9" height="9" fill="red" onclick="alert(4)"/></a>
<image href="http://x.test/a.png"/><use href="#a"/><foreignObject><b xmlns="http://www.w3.org/1999/xhtml">x</b>
</foreignObject><metadata>SECRET</metadata><!-- SECRET --><?php SECRET ?>
<rect id="a" x="1" fill="url(http://x.test/#f)" stroke="url(#g)" style="fill:#123456;background:url(//x.test)"/>
<path d="M0 0L9 9" fill="none" stroke="javascript:alert(5)"/><animate attributeName="href" to="javascript:alert(6)"/>
<text x="1" y="2">seen &amp; kept</text></svg>"""


def test_svg_keeps_shapes_and_loses_what_runs_links_or_loads() -> None:
    kind, content = cleaned(HOSTILE_SVG)
    assert kind == "svg"
    for bad in (
        b"script",
        b"alert",
        b"http://x",
        b"//x.test",
        b"onload",
        b"onclick",
        b"href",
        b"SECRET",
        b"foreign",
        b"style",
        b"animate",
        b"image",
        b"<a",
        b"<?php",
    ):
        assert bad not in content.lower(), bad
    for good in (b"viewBox", b'fill="#123456"', b"url(#g)", b"seen &amp; kept", b"M0 0L9 9"):
        assert good in content, good


def test_only_pictures_with_rights_are_published(tmp_path: Path) -> None:
    rows = object_rows("OBJ", Secrets("X"))
    first = rows["pictures"][0]
    silent = {**first, "picture": "B2", "rights": "", "file": "silent.png"}
    text = {**first, "picture": "B3", "file": "drawn.svg"}
    rows["pictures"] += [silent, text]
    files = {
        "picture.png": png((b"tEXt", b"k\0SECRET")),
        "silent.png": png(width=7),
        "view.svg": SVG,
        "drawn.svg": SVG.replace(b"777777", b"123123"),
    }
    path = database_of(
        tmp_path / "a.db",
        write_package(
            tmp_path / "p", {"code": "S1", "title": "t", "lead": "l", "started": "2019-05-01"}, rows, files=files
        ),
    )
    report = publish(path, tmp_path / "out")
    assert report.pictures == 3  # two pictures and the drawing
    assert report.pictures_left_out == {"OBJ/B2": "its rights are not filled in"}
    kept = {p.name: p.read_bytes() for p in (tmp_path / "out" / "pictures").iterdir()}
    assert png() in kept.values()
    assert all(re.fullmatch(r"[0-9a-f]{32}\.(png|svg)", name) for name in kept)
    assert {row["picture"]: row["file"] in kept for row in document_of(tmp_path / "out", "OBJ")["pictures"]} == {
        "B1": True,
        "B2": False,
        "B3": True,
    }


def test_a_drawing_is_published_with_the_box_that_its_outlines_lie_in(tmp_path: Path) -> None:
    harbour = Path(str(sample_folder())) / "harbour"
    publish(database_of(tmp_path / "h.db", harbour / "2014"), tmp_path / "out")
    side, front = document_of(tmp_path / "out", "OHM-1962-7")["drawings"]
    assert (side["box"], front["title"]) == ([0.0, 0.0, 460.0, 300.0], "Front elevation (invented)")
    content = (tmp_path / "out" / "pictures" / side["file"]).read_text("utf-8")
    assert 'viewBox="0 0 460 300"' in content
    assert "script" not in content


def test_the_sample_is_published_whole(tmp_path: Path) -> None:
    """The invented harbour collection: all its rows are public, and every total is the one computed from it."""
    harbour = Path(str(sample_folder())) / "harbour"
    path = database_of(tmp_path / "harbour.db", harbour / "2014", harbour / "2024")
    report = publish(path, tmp_path / "out")
    assert report.withheld == {}
    with database.opened(path, write=False) as connection:
        for sheet, count in report.rows.items():
            live = f"SELECT count(*) FROM live_{BY_SHEET[sheet].table}"
            assert connection.execute(live).fetchone()[0] == count
        for code in read.object_codes(connection):
            document = document_of(tmp_path / "out", code)
            assert document["invented"] is True
            assert document["survival"]["sentence"] == object_survival(Case(read.load_facts(connection, code))).sentence
            for proposal in document["proposals"]:
                # Every piece of evidence is a record that is there.
                assert {loss["withheld"] for loss in proposal["assessment"]["losses"]} <= {0}
    assert os.stat(tmp_path / "out").st_mode & 0o777 == 0o755
    assert chunk(b"IEND", b"") in next((tmp_path / "out" / "pictures").glob("*.png")).read_bytes()
