"""The day in a picture's Exif, of every kind that has one; whatever else stands there gives no day and no error."""

from __future__ import annotations

import io
import struct

import pytest
from camera_pictures import DAY, exif, jpeg, png, tiff, webp
from hypothesis import given
from hypothesis import strategies as st

from collection.ingest.pictures.date_taken import date_taken
from collection.ingest.pictures.image_files import picture_size


def taken(content: bytes) -> str | None:
    return date_taken(io.BytesIO(content))


@pytest.mark.parametrize(
    "content",
    [
        jpeg(DAY),
        jpeg(held=exif(order="<")),
        png(exif()),
        png(exif(order="<")),
        webp(exif()),
        webp(b"Exif\0\0" + exif(order="<")),
        tiff(order="<"),
        tiff(order=">"),
    ],
    ids=["jpeg", "jpeg little", "png", "png little", "webp", "webp with mark", "tiff", "tiff big"],
)
def test_each_kind_tells_its_day(content: bytes) -> None:
    assert picture_size(io.BytesIO(content)) == (40, 30), "else these files are none"
    assert taken(content) == "2026-05-02"


def test_the_segment_may_stand_behind_others() -> None:
    """Most cameras put JFIF first; some fill up with FF between segments (ISO/IEC 10918-1, B.1.1.2)."""
    sound = jpeg(DAY)
    jfif = b"\xff\xe0" + struct.pack(">H", 16) + b"JFIF\0" + bytes(9)
    other = b"\xff\xe1" + struct.pack(">H", 8) + b"http:/"
    assert taken(sound[:2] + jfif + other + b"\xff\xff" + sound[2:]) == "2026-05-02"


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026:05:02 10:11:12", "2026-05-02"),
        ("2026-05-02T10:11", "2026-05-02"),
        ("1935:07:01 00:00:00", "1935-07-01"),
        ("0000:00:00 00:00:00", None),
        ("2026:02:30 10:11:12", None),
        ("    :  :     :  :  ", None),
        ("2026:05:021 0:11:12", None),
        ("yesterday", None),
        ("", None),
    ],
)
def test_only_a_day_that_exists_is_one(text: str, day: str | None) -> None:
    """Cameras whose clock was never set write blanks or noughts (Exif 2.3: unknown is blanks and colons)."""
    assert taken(jpeg(held=exif(text))) == day


@pytest.mark.parametrize("content", [b"", b"\xff\xd8\xff", jpeg(), b"GIF89a" + bytes(30), b"no picture", exif()[:20]])
def test_without_exif_there_is_no_day(content: bytes) -> None:
    assert taken(content) is None


@given(st.binary(max_size=120), st.integers(0, 80))
def test_garbage_gives_a_day_or_none_and_never_an_error(garbage: bytes, at: int) -> None:
    """In place of Exif, within it, and cut off anywhere: of each kind of file."""
    sound = exif()
    bad = sound[:at] + garbage + sound[at + len(garbage) :]
    for held in (garbage, bad, sound[:at]):
        for content in (jpeg(held=held), png(held), webp(held), b"II*\0" + held, b"MM\0*" + held):
            found = taken(content)
            assert found is None or len(found) == 10
    for whole in (jpeg(DAY), png(sound), webp(sound), tiff()):
        assert taken(whole[:at]) in (None, "2026-05-02")
