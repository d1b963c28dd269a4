"""Signs that nobody sees, formulas, tables and survey files in odd bytes: refused or doubted with a sentence.

What they try is common knowledge of such input: text that reads otherwise than it is (CVE-2021-42574), formulas in CSV
(CWE-1236). The lists are from memory.
"""

from __future__ import annotations

import pytest
from faults import spoiled
from hostile_desk import HEADS, PNG, TOML_START, Desk

from collection.store.base import database

pytestmark = pytest.mark.slow

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
