"""Sound survey packages and ways to spoil them: cells, rows, bytes, and the parts of zip files and workbooks.

Tests and the long run share it. The three forms of a package are a folder, a zip file of it, and a workbook with its
pictures beside it.
"""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Mapping
from pathlib import Path

from faults.spoiled_files import as_workbook, as_zip, spoiled_bytes, with_spoiled_entry

SURVEY = b'code = "harbour-1"\ntitle = "Harbour survey"\nlead = "Ada Penrose"\nstarted = "2019-05"\n'
SOUND: dict[str, bytes] = {
    "survey.toml": SURVEY,
    "objects.csv": b"object,title,kind,made,part_of\nT1,Tram 1,tram,1908~,\nT2,Pump,hand pump,190X,\n",
    "components.csv": b"object,component,name,parent,observed_on\nT1,body,body,,\nT1,door,door,body,2019\n"
    b"T2,head,head,,\n",
    "zones.csv": b'object,zone,component,within,area_m2,outline\nT1,Z1,body,,2.5,\nT1,Z2,body,Z1,1,"0,0 1,0 1,1"\n',
    "sources.csv": b"object,source,kind,title,dated\nT1,R1,report,Works report,1924/1931\n",
    "schemes.csv": b"object,scheme,name,period,rank,source\nT1,1,first,original,1,R1\nT1,2,repaint,later,2,\n",
    "samples.csv": b"object,sample,place,method,x,y\nT1,S01,Z1,cross-section,1,2\nT1,S02,door,exposure,,\n",
    "layers.csv": b"object,sample,position,role,colour,thickness_um,scheme\nT1,S01,1,primer,grey,20,1\n"
    b"T1,S01,2,body colour,vert fonc\xc3\xa9,35.5,1\nT1,S02,1,varnish,,,2\n",
    "tests.csv": b"object,test,place,agent,dwell_s\nT1,C1,Z1,1 acetone + 3 white spirit,10\n",
    "responses.csv": b"object,test,response,scheme,sample,position\nT1,C1,none seen,1,,\nT1,C1,softened,,S01,2\n",
    "conditions.csv": b"object,place,phenomenon,observed_on,severity\nT1,Z1,flaking,2019,2\n",
    "treatments.csv": b"object,treatment,purpose,started\nT1,B1,repair,1931\n",
    "treatment_steps.csv": b"object,treatment,step,place,action,removed\nT1,B1,1,all,scrape,2/varnish\n",
    "pictures.csv": b"object,picture,file,place\nT1,F1,pictures/door.png,door\n",
    "pictures/door.png": b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x00\x10\x00\x00\x00\x10\x08\x02\x00\x00\x00",
}
"""A package without a fault, by file."""

NASTY = (
    "",
    " ",
    "not recorded",
    "NaN",
    "inf",
    "-0",
    "1e400",
    "1_0",
    "1,5",
    "1,234",
    "999999999999999999999999",
    "٣",
    "all",
    "ALL",
    "T1",
    "t1",
    "T 1",
    "Z1",
    "Z01",
    "z1",
    "\u200bZ1",
    "S01",
    "S1",
    "a/b",
    "../x",
    "/etc/passwd",
    "C:\\x",
    "2019-02-30",
    "1924/1908",
    "[..]",
    "31.5.2019",
    "size",
    "gilding",
    "primr",
    "1/varnish",
    "9/9",
    "\x00",
    "\x07",
    "\u202e",
    "\ufeff",
    "\U0001f600",
    "e\u0301",
    "'; DROP TABLE layers; --",
    "<script>alert(1)</script>",
    "=1+1",
    "=cmd|'/C calc'!A0",
    "@SUM(A1)",
    "NUL.png",
    "..\\x",
    "%2e%2e/x",
    "file:///x",
    "\u3164",
    "x\ufe0f",
    "\U000e0041",
    '"',
    '""',
    "a\nb",
    "a\r\nb",
    "x" * 300,
    "0,0 1,1",
    "1 acetone + white spirit",
    "water + 5% x",
    "🜁" * 50,
)


def write(folder: Path, files: dict[str, bytes]) -> Path:
    """The files of a package on the disk."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    return folder


def with_cell(content: bytes, row: int, column: int, text: str) -> bytes:
    """A table with one cell replaced, counted around the table."""
    rows = list(csv.reader(io.StringIO(content.decode("utf-8", "replace"), newline="")))
    if not rows:
        return content
    cells = rows[row % len(rows)]
    if cells:
        cells[column % len(cells)] = text
    out = io.StringIO(newline="")
    csv.writer(out).writerows(rows)
    return out.getvalue().encode("utf-8", "surrogatepass")


def with_bytes(content: bytes, position: int, put: bytes, drop: int) -> bytes:
    """Bytes put in, and others dropped, at a place counted around the file."""
    at = position % (len(content) + 1)
    return content[:at] + put + content[at + drop :]


def with_row(content: bytes, row: int, to: int) -> bytes:
    """One line taken from its place and put to another, or doubled."""
    lines = content.splitlines(keepends=True)
    if not lines:
        return content
    line = lines[row % len(lines)]
    lines.insert(to % (len(lines) + 1), line)
    return b"".join(lines)


def _any_text(chance: random.Random) -> str:
    return "".join(
        chr(chance.choice((chance.randrange(32, 127), chance.randrange(0x3000)))) for _ in range(chance.randrange(9))
    )


def spoil(chance: random.Random, sound: Mapping[str, bytes] = SOUND) -> dict[str, bytes]:
    """A package with one to three things wrong, or by chance none."""
    files = dict(sound)
    for _ in range(chance.randrange(1, 4)):
        if not files:
            break
        name = chance.choice(sorted(files))
        how = chance.randrange(8)
        if how < 4 and name.endswith(".csv"):
            text = chance.choice(NASTY) if chance.random() < 0.8 else _any_text(chance)
            files[name] = with_cell(files[name], chance.randrange(9), chance.randrange(9), text)
        elif how < 6:
            files[name] = with_bytes(
                files[name], chance.randrange(10_000), chance.randbytes(chance.randrange(4)), chance.randrange(4)
            )
        elif how == 6:
            files[name] = with_row(files[name], chance.randrange(9), chance.randrange(9))
        elif chance.random() < 0.5:
            del files[name]
        else:
            files[chance.choice(("Layers.CSV", "layer.csv", "notes.txt", "survey.csv", "a.tsv"))] = files[name]
    return files


FORMS = ("folder", "zip", "workbook")
SVG = (
    b'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 10 10">\n'
    b'<style>.a { fill: url(#g) }</style><defs><linearGradient id="g"/></defs>\n'
    b'<path class="a" d="M0 0h9v9z"/>\n</svg>'
)
DRAWN: dict[str, bytes] = {
    **SOUND,
    "drawings.csv": b"object,drawing,file,title\nT1,D1,side.svg,Side\n",
    "side.svg": SVG,
}
"""The same package with a drawing."""


def write_spoiled(place: Path, form: str, chance: random.Random) -> Path:
    """A spoiled package of one form on the disk, and the path to hand in."""
    files = spoil(chance, DRAWN)
    if "side.svg" in files and chance.random() < 0.3:
        files["side.svg"] = spoiled_bytes(chance, files["side.svg"])
    if form == "folder":
        return write(place / "package", files)
    place.mkdir(parents=True, exist_ok=True)
    content = as_zip(files) if form == "zip" else as_workbook(files)
    deep = chance.random()
    if deep < 0.4:
        content = with_spoiled_entry(chance, content)
    elif deep < 0.7:
        content = spoiled_bytes(chance, content)
    path = place / ("package.zip" if form == "zip" else "package.xlsx")
    if form == "workbook":
        write(place, {name: held for name, held in files.items() if not name.endswith((".csv", ".toml"))})
    path.write_bytes(content)
    return path
