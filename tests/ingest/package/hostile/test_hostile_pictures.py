"""Pictures and drawings that are none, that harm or that are only odd: refused, or kept with a doubt.

What they try is common knowledge of such input, such as XML entities (CWE-611, CWE-776) and sizes that are not true. The
lists are from memory.
"""

from __future__ import annotations

import struct

import pytest
from hostile_desk import PNG, SVG, Desk, drawn, pictured, png

pytestmark = pytest.mark.slow


def jpeg(width: int, height: int) -> bytes:
    return b"\xff\xd8\xff\xe0\x00\x04\x00\x00\xff\xc0\x00\x0b\x08" + struct.pack(">HH", height, width) + bytes(6)


def tiff(*entries: tuple[int, int], following: int = 0) -> bytes:
    rows = b"".join(struct.pack("<HHII", tag, 4, 1, value) for tag, value in entries)
    return b"II*\x00" + struct.pack("<IH", 8, len(entries)) + rows + struct.pack("<I", following)


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
