"""Workbooks that are damaged or would do harm, and other kinds of workbook: each gets its sentence."""

from __future__ import annotations

import random
import struct
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import made_workbooks as made
import pytest
from checked import check_package

from collection.ingest.package import zip_file
from collection.ingest.package.workbook import book as workbook_book
from collection.language.errors import InputRefused

SPREADSHEET = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
ENTITIES = '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>'


def harmful(path: Path, kind: str) -> Path:
    objects = made.inline_row(1, ["object", "title", "kind"]) + made.inline_row(2, ["T1", "Tram", "tram"])
    sheet = "xl/worksheets/sheet2.xml"
    if kind == "entities in a sheet":
        return made.by_hand(
            path, {"objects": objects}, parts={sheet: ENTITIES + f"<worksheet {SPREADSHEET}><sheetData/></worksheet>"}
        )
    if kind == "entities in the texts":
        return made.by_hand(
            path, {"objects": objects}, parts={"xl/sharedStrings.xml": ENTITIES + f"<sst {SPREADSHEET}/>"}
        )
    if kind == "entities in the workbook":
        return made.by_hand(
            path, {"objects": objects}, parts={"xl/workbook.xml": ENTITIES + f"<workbook {SPREADSHEET}/>"}
        )
    if kind == "a bomb":
        return made.by_hand(path, {"objects": objects + " " * 60_000_000})
    if kind == "a far cell":
        return made.by_hand(path, {"objects": objects + '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'})
    if kind == "beyond the last column":
        return made.by_hand(path, {"objects": objects + '<row r="3"><c r="XFE3"><v>1</v></c></row>'})
    if kind == "rows out of order":
        return made.by_hand(path, {"objects": objects + made.inline_row(2, ["T2", "Bus", "bus"])})
    if kind == "cells out of order":
        return made.by_hand(
            path, {"objects": objects + '<row r="3"><c r="B3"><v>1</v></c><c r="A3"><v>1</v></c></row>'}
        )
    if kind == "a cell of another row":
        return made.by_hand(
            path,
            {"objects": objects + '<row r="3"><c r="A4"><v>1</v></c></row><row r="4"><c r="B4"><v>1</v></c></row>'},
        )
    if kind == "a cell with a formula of another row":
        return made.by_hand(path, {"objects": objects + '<row r="3"><c r="A2"><f>1</f><v>1</v></c></row>'})
    if kind == "a row in a row":
        return made.by_hand(
            path,
            {"objects": objects + '<row r="3"><c r="A3"><v>1</v></c><row r="4"><c r="A4"><v>1</v></c></row></row>'},
        )
    if kind == "a cell in a cell":
        return made.by_hand(
            path, {"objects": objects + '<row r="3"><c r="A3"><c r="B3"><v>1</v></c><v>2</v></c></row>'}
        )
    if kind in ("an encoding of no name", "an encoding of several bytes"):
        other = "nonsense" if kind.endswith("no name") else "shift_jis"
        return made.by_hand(path, {"objects": made.worksheet(objects).replace("UTF-8", other)})
    if kind == "an encoding of no name in the list":
        return made.by_hand(
            path,
            {"objects": objects},
            parts={
                "[Content_Types].xml": (
                    '<?xml version="1.0" encoding="nonsense"?>' + made.content_types(made.CONTENT_TYPE)
                )
            },
        )
    if kind == "a text that is not there":
        return made.by_hand(path, {"objects": objects + '<row r="3"><c r="A3" t="s"><v>99</v></c></row>'})
    if kind == "a negative text":
        return made.by_hand(path, {"objects": objects + '<row r="3"><c r="A3" t="s"><v>-1</v></c></row>'})
    if kind == "no number":
        return made.by_hand(path, {"objects": objects + '<row r="3"><c r="A3"><v>nan</v></c></row>'})
    if kind == "an unknown type":
        return made.by_hand(path, {"objects": objects + '<row r="3"><c r="A3" t="z"><v>1</v></c></row>'})
    if kind == "a merged range of no cells":
        return made.by_hand(
            path,
            {"objects": objects},
            parts={sheet: made.worksheet(objects, '<mergeCells><mergeCell ref="A:A"/></mergeCells>')},
        )
    if kind == "no end":
        return made.by_hand(path, {"objects": objects}, parts={sheet: made.worksheet(objects)[:-20]})
    if kind == "a sheet that is not there":
        made.by_hand(path, {"objects": objects})
        with zipfile.ZipFile(path) as archive:
            kept = {name: archive.read(name) for name in archive.namelist() if name != sheet}
        with zipfile.ZipFile(path, "w") as archive:
            for name, content in kept.items():
                archive.writestr(name, content)
        return path
    if kind == "a part twice":
        made.by_hand(path, {"objects": objects})
        with zipfile.ZipFile(path, "a") as archive:
            archive.writestr("xl/Workbook.xml", b"")
        return path
    if kind == "a row behind the rows":
        behind = '<extLst><row r="9"><c r="A9" t="inlineStr"><is><t>T9</t></is></c></row></extLst>'
        return made.by_hand(path, {"objects": objects}, parts={sheet: made.worksheet(objects, behind)})
    if kind == "a text of five megabytes":
        return made.by_hand(
            path, {"objects": objects + made.inline_row(3, ["T2", random.Random(1).randbytes(2_500_000).hex(), "bus"])}
        )
    if kind == "a text without end":
        return made.by_hand(path, {"objects": objects + made.inline_row(3, ["T2", "x" * 200_000, "bus"])})
    if kind == "a link outside":
        made.by_hand(path, {"objects": objects})
        with zipfile.ZipFile(path) as archive:
            links = archive.read("xl/_rels/workbook.xml.rels").decode()
        return made.by_hand(
            path,
            {"objects": objects},
            parts={
                "xl/_rels/workbook.xml.rels": links.replace(
                    'Target="worksheets/sheet2.xml"', 'Target="http://127.0.0.1:9/sheet.xml" TargetMode="External"'
                )
            },
        )
    assert kind == "macros"
    return made.by_hand(path, {"objects": objects}, parts={"xl/vbaProject.bin": b"x"})


HARMFUL = {
    "entities in a sheet": "declares XML entities",
    "entities in the texts": "declares XML entities",
    "entities in the workbook": "declares XML entities",
    "a bomb": "times its size",
    "a far cell": "below no heading",
    "beyond the last column": "do not stand in order",
    "rows out of order": "do not stand in order",
    "a cell of another row": "do not stand in order",
    "a cell with a formula of another row": "do not stand in order",
    "a row in a row": "damaged here",
    "a cell in a cell": "damaged here",
    "an encoding of no name": "'nonsense'",
    "an encoding of several bytes": "'shift_jis'",
    "an encoding of no name in the list": "'nonsense'",
    "cells out of order": "do not stand in order",
    "a text that is not there": "damaged here",
    "a negative text": "damaged here",
    "no number": "damaged here",
    "an unknown type": "damaged here",
    "a merged range of no cells": "damaged here",
    "no end": "damaged here",
    "a sheet that is not there": "does not hold",
    "a part twice": "twice",
    "a text without end": "longer than any text",
    "a text of five megabytes": "damaged here",
    "a row behind the rows": "do not stand in order",
    "macros": "holds macros",
}


@pytest.mark.parametrize("kind", HARMFUL)
def test_a_harmful_or_damaged_workbook_gets_its_sentence(tmp_path: Path, kind: str) -> None:
    """Entities, bombs, absurd places and broken parts are one fault each, quickly and without a traceback; a row that
    is read before it is known to stand in another has its own faults."""
    with pytest.raises(InputRefused) as caught:
        check_package(harmful(tmp_path / "b.xlsx", kind))
    assert HARMFUL[kind] in caught.value.faults[-1].message
    assert {fault.file for fault in caught.value.faults} == {"b.xlsx"}
    assert len(caught.value.faults) == 1


def test_links_to_other_places_are_not_followed(tmp_path: Path) -> None:
    """A sheet that lies elsewhere is no sheet of this workbook; it is left aside, and nothing is fetched."""
    said = check_package(harmful(tmp_path / "b.xlsx", "a link outside"))
    assert [(fault.value, "left aside" in fault.message) for fault in said] == [("objects", True)]


@pytest.mark.parametrize(
    ("bound", "said"),
    [
        ({"entries": 3}, "at most 3 are taken"),
        ({"entry": 100}, "One file in this workbook"),
        ({"total": 1000}, "becomes"),
    ],
)
def test_the_bounds_of_a_workbook_come_before_its_reading(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, bound: dict[str, int], said: str
) -> None:
    """Too many parts, a part too large, too much in all: nothing is unpacked, and splitting is advised."""
    usual = {"entries": 10_000, "entry": 10**9, "total": 10**9, "ratio": 200}
    monkeypatch.setattr(workbook_book, "BOUNDS", zip_file.Bounds(**{**usual, **bound}))
    monkeypatch.setattr(workbook_book, "_read_book", None)
    with pytest.raises(InputRefused) as caught:
        check_package(made.written(tmp_path / "b.xlsx", {}))
    assert said in caught.value.faults[0].message
    assert "Split the survey" in caught.value.faults[0].message


def damaged(path: Path) -> Iterator[tuple[str, bytes]]:
    whole = path.read_bytes()
    yield "cut off", whole[: len(whole) // 2]
    yield "its end gone", whole[:-30]
    yield "bytes changed", whole[:200] + bytes(byte ^ 0x55 for byte in whole[200:400]) + whole[400:]
    yield "no zip", b"not a workbook at all"
    yield "nothing", b""


def test_damaged_files_get_a_sentence(tmp_path: Path) -> None:
    """Cut, spoiled, empty or other bytes under the name of a workbook: one fault, of the whole file."""
    sound = made.written(tmp_path / "b.xlsx", {"objects": (("object", "title", "kind"), ("T1", "Tram", "tram"))})
    for kind, content in list(damaged(sound)):
        path = tmp_path / f"{kind}.xlsx"
        path.write_bytes(content)
        with pytest.raises(InputRefused) as caught:
            check_package(path)
        (fault,) = caught.value.faults
        assert (fault.file, "damaged" in fault.message) == (path.name, True), kind


OTHER_KINDS: dict[str, tuple[Any, str]] = {
    "old.xls": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "older kind"),
    "locked.xlsx": (
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600) + "EncryptedPackage".encode("utf-16-le") + bytes(9),
        "encrypted",
    ),
    "open.ods": ("mimetype:application/vnd.oasis.opendocument.spreadsheet", "OpenDocument"),
    "macros.xlsm": ("application/vnd.ms-excel.sheet.macroEnabled.main+xml", "macros"),
    "binary.xlsb": ("application/vnd.ms-excel.sheet.binary.macroEnabled.main", "macros"),
    "letter.docx": ("application/vnd.openxmlformats-officedocument.wordprocessingml.document.main+xml", "not an .xlsx"),
}


@pytest.mark.parametrize("name", OTHER_KINDS)
def test_other_kinds_of_workbook_are_told_how_to_save(tmp_path: Path, name: str) -> None:
    """Old, locked, OpenDocument, macro and binary workbooks and letters are told by content, with what to do."""
    content, said = OTHER_KINDS[name]
    path = tmp_path / name
    if isinstance(content, bytes):
        path.write_bytes(content)
    elif content.startswith("mimetype:"):
        with zipfile.ZipFile(path, "w") as archive:
            archive.writestr("mimetype", content[9:])
    else:
        made.by_hand(path, {}, parts={"[Content_Types].xml": made.content_types(content)})
    with pytest.raises(InputRefused) as caught:
        check_package(path)
    (fault,) = caught.value.faults
    assert said in fault.message
    assert "ave" in fault.message


def test_an_encrypted_zip_entry_is_refused(tmp_path: Path) -> None:
    """The mark of encryption in the listing is enough (APPNOTE 4.4.4, bit 0)."""
    path = made.written(tmp_path / "b.xlsx", {})
    content = bytearray(path.read_bytes())
    place = content.find(b"PK\x01\x02")
    (flags,) = struct.unpack_from("<H", content, place + 8)
    struct.pack_into("<H", content, place + 8, flags | 1)
    path.write_bytes(bytes(content))
    with pytest.raises(InputRefused) as caught:
        check_package(path)
    assert "encrypted" in caught.value.faults[0].message
