"""The files of a package as a zip or a workbook, and ways to spoil their bytes and parts."""

from __future__ import annotations

import csv
import io
import random
import re
import tomllib
import zipfile
from collections.abc import Mapping

import xlsxwriter

_PIECES = (
    b"<script>",
    b" onload='a()'",
    b"<!DOCTYPE svg [<!ENTITY a 'b'>]>",
    b"&a;",
    b"<![CDATA[",
    b"]]>",
    b"<!--",
    b"<g>",
    b"</g>",
    b"javascript:",
    b"url(//x)",
    b"\x00",
    b"\xff\xfe",
    b"</svg>",
    b"<use href='#g'/>",
    b"PK\x03\x04",
    b"\r",
    b"\n",
)
_IN_PARTS = (
    (rb't="s"', (b't="n"', b't="e"', b't="b"', b't="d"', b't="str"', b't="inlineStr"', b't="zz"', b"")),
    (
        rb'r="[A-Z]+[0-9]+"',
        (b'r="ZZZZ1"', b'r="A0"', b'r="A99999999999"', b'r="1"', b'r=""', b'r="A1"', b"", b'r="XFD1048577"'),
    ),
    (
        rb'<row r="[0-9]+"',
        (b'<row r="0"', b'<row r="-1"', b'<row r="99999999999"', b'<row r="x"', b"<row", b'<row r="2"'),
    ),
    (
        rb"<v>[^<]*</v>",
        (
            b"<v>9999999</v>",
            b"<v>-1</v>",
            b"<v>1e999</v>",
            b"<v>nan</v>",
            b"<v>#REF!</v>",
            b"<v/>",
            b"<v>1</v>",
            b"<f>1+1</f><v>2</v>",
            b"<f>HYPERLINK(A1)</f>",
            b"<is><t>x</t></is>",
            b"<v>\xc3\xa9</v>",
        ),
    ),
    (
        rb"<t[^>]*>[^<]*</t>",
        (
            b"<t>=1+1</t>",
            b"<t>_xD800_</t>",
            b"<t>_x0000_</t>",
            b"<t/>",
            b"<t>\xe2\x80\xae</t>",
            b"<rPh><t>x</t></rPh>",
            b"<t>" + b"x" * 40_000 + b"</t>",
        ),
    ),
    (
        rb'name="[a-z_]+"',
        (b'name="layers"', b'name="Layers "', b'name="x"', b'name=""', b'name="_xD800_"', b'name="&#x202e;"'),
    ),
    (
        rb'Target="[^"]*"',
        (
            b'Target="../../x"',
            b'Target="/etc/passwd"',
            b'Target="http://127.0.0.1/"',
            b'Target=""',
            b'Target="xl/workbook.xml"',
        ),
    ),
    (
        rb"<\?xml[^>]*\?>",
        (
            b"",
            b"<!DOCTYPE a [<!ENTITY b 'c'>]>",
            b'<?xml version="1.0" encoding="UTF-7"?>',
            b'<?xml version="1.0" encoding="UTF-16"?>',
        ),
    ),
    (rb'numFmtId="[0-9]+"', (b'numFmtId="14"', b'numFmtId="x"', b'numFmtId="99999999999"', b'numFmtId="27"')),
    (rb' s="[0-9]+"', (b' s="9999999"', b' s="-1"', b' s="x"')),
    (
        rb' ref="[A-Z]+[0-9]+"',
        (b' ref="ZZZZ1"', b' ref="A99999999999"', b' ref="A1:B2"', b' ref=""', b"", b' ref="A0"'),
    ),
    (rb'authorId="[0-9]+"', (b'authorId="9"', b'authorId="-1"', b'authorId="x"', b"")),
    (rb"<strike/>", (b'<strike val="x"/>', b'<strike val="0"/>', b"<strike><strike/></strike>", b"<r><strike/></r>")),
    (rb'fontId="[0-9]+"', (b'fontId="99"', b'fontId="-1"', b'fontId="x"', b"")),
    (rb"relationships/comments", (b"relationships/threadedComment", b"relationships/worksheet", b"comments")),
)


def as_zip(files: Mapping[str, bytes]) -> bytes:
    """The files of a package as a zip file."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(zipfile.ZipInfo(name, (2019, 5, 1, 0, 0, 0)), content)
    return held.getvalue()


def as_workbook(files: Mapping[str, bytes]) -> bytes:
    """The sheets of a package as a workbook of texts, with comments and struck-out text; what is no table is left out."""
    held = io.BytesIO()
    book = xlsxwriter.Workbook(held, {"in_memory": True, "constant_memory": False})
    struck = book.add_format({"font_strikeout": True})
    tables: dict[str, list[list[str]]] = {}
    if "survey.toml" in files:
        try:
            row = tomllib.loads(files["survey.toml"].decode("utf-8", "replace"))
        except (ValueError, RecursionError):
            row = {"code": ""}
        tables["survey"] = [[key, str(value)] for key, value in row.items()]
    for name, content in files.items():
        if name.endswith(".csv") and "/" not in name:
            try:
                tables.setdefault(name[:-4].lower(), list(csv.reader(io.StringIO(content.decode("utf-8", "replace")))))
            except csv.Error:
                continue
    for sheet, rows in tables.items():
        page = book.add_worksheet(sheet[:31])
        page.write_comment(1, len(tables) % 5, f"look at {sheet} again", {"author": "B. Reader"})
        for at, cells in enumerate(rows):
            for place, text in enumerate(cells):
                if text and (at, place) == (2, 2) and 1 < len(text) < 100:
                    page.write_rich_string(at, place, text[:1], struck, text[1:])
                elif text:
                    page.write_string(at, place, text[:32_767], struck if (at, place) == (1, 1) else None)
    book.close()
    return held.getvalue()


def spoiled_bytes(chance: random.Random, content: bytes) -> bytes:
    """Bytes flipped, cut off, put in, or a block of them doubled, dropped or moved."""
    found = bytearray(content)
    for _ in range(chance.choice((1, 1, 1, 2, 5, 20))):
        at, size = chance.randrange(len(found) + 1), chance.choice((1, 1, 2, 4, 16, 200))
        how = chance.randrange(7)
        if how == 0 and at < len(found):
            found[at] ^= 1 << chance.randrange(8)
        elif how == 1 and at < len(found):
            found[at : at + size] = chance.randbytes(size)
        elif how == 2:
            del found[at : at + size]
        elif how == 3:
            found[at:at] = chance.randbytes(size)
        elif how == 4:
            found[at:at] = found[at : at + size]
        elif how == 5:
            found[at:at] = chance.choice(_PIECES)
        elif chance.random() < 0.2:
            del found[at:]
    return bytes(found)


def spoiled_part(chance: random.Random, content: bytes) -> bytes:
    """One part of a workbook with something of its XML replaced."""
    pattern, instead = chance.choice(_IN_PARTS)
    places = list(re.finditer(pattern, content))
    if not places or chance.random() < 0.2:
        return spoiled_bytes(chance, content)
    place = chance.choice(places)
    return content[: place.start()] + chance.choice(instead) + content[place.end() :]


def with_spoiled_entry(chance: random.Random, content: bytes) -> bytes:
    """A zip file written anew with an entry spoiled, dropped, doubled or under another name."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        entries = [(name, archive.read(name)) for name in archive.namelist()]
    at = chance.randrange(len(entries))
    name, held = entries[at]
    how = chance.randrange(8)
    if how == 0:
        del entries[at]
    elif how == 1:
        entries.append((name, spoiled_bytes(chance, held)))
    elif how == 2:
        other = (
            "../" + name,
            "/" + name,
            "a\\b",
            name.upper(),
            name + ".",
            "CON",
            "x\u202e",
            "C:x",
            name + "/",
            "__MACOSX/._x",
        )
        entries[at] = (chance.choice(other), held)
    else:
        entries[at] = (name, spoiled_part(chance, held))
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w", zipfile.ZIP_DEFLATED) as archive:
        for number, (name, held) in enumerate(entries):
            entry = zipfile.ZipInfo(name, (2019, 5, 1, 0, 0, 0))
            if how == 7 and number == at:
                entry.create_system, entry.external_attr = 3, chance.choice((0o120777, 0o010644, 0o060644)) << 16
            # A name that is there twice is meant, so the archive must not know that it is.
            archive.NameToInfo.pop(name, None)
            archive.writestr(entry, held)
    return written.getvalue()
