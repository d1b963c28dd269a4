"""How a list is written: any encoding that the mapping states, and what to state where it is another one.

Encodings are those of Python's standard library, which knows them from the registry of character sets (iana.org).
"""

from __future__ import annotations

from pathlib import Path

import pytest
from asked import ask
from mapped_lists import PLAIN, faults_of, report_of, write

from collection.ingest import load
from collection.ingest.mapping.list_file.encoding import codec_of
from collection.language.errors import InputRefused

TEXT = "No,Title,Kind\n1,{},door\n"


@pytest.mark.parametrize(
    ("stated", "encoding", "title"),
    [
        ("utf-8", "utf-8", "Tür"),
        ("utf-8", "utf-8-sig", "Tür"),
        ("UTF8", "utf-8-sig", "Tür"),
        ("utf-16", "utf-16", "Tür – “neu”"),
        ("utf-16-be", "utf-16-be", "Tür"),
        ("windows-1252", "cp1252", "Tür – “neu”"),
        ("windows-1250", "cp1250", "Dveře, žluté".replace(",", "")),
        ("iso-8859-2", "iso-8859-2", "Dveře"),
        ("koi8-r", "koi8-r", "Дверь"),
        ("shift_jis", "shift_jis", "扉"),
        ("mac-roman", "mac-roman", "Tür – “neu”"),
        ("cp437", "cp437", "Tür"),
    ],
)
def test_a_list_is_read_in_the_encoding_that_is_stated(
    db: Path, tmp_path: Path, stated: str, encoding: str, title: str
) -> None:
    """The title comes out as it was typed."""
    report_of(db, write(tmp_path / "a", TEXT.format(title), PLAIN.replace('"utf-8"', f'"{stated}"'), encoding))
    assert ask(db, "SELECT title FROM objects") == [(title,)]


@pytest.mark.parametrize(
    ("stated", "encoding", "advice"),
    [
        ("utf-8", "cp1252", 'older Macs "mac-roman": write below [list] the one that it was saved in'),
        ("utf-8", "utf-16", 'write encoding = "utf-16"'),
        ("windows-1252", "utf-16", 'write encoding = "utf-16"'),
        ("windows-1252", "utf-16-le", 'write encoding = "utf-16-le"'),
        ("utf-16", "utf-16-be", 'write encoding = "utf-16-be"'),
        ("utf-16", "utf-8", 'write encoding = "utf-8"'),
        ("ascii", "utf-8", 'write encoding = "utf-8"'),
    ],
)
def test_a_wrong_encoding_is_refused_with_the_likely_one(
    db: Path, tmp_path: Path, stated: str, encoding: str, advice: str
) -> None:
    """Nothing is stored, and the sentence says what to write."""
    files = write(tmp_path / "a", TEXT.format("Tür"), PLAIN.replace('"utf-8"', f'"{stated}"'), encoding)
    with pytest.raises(InputRefused, match="1 fault") as caught:
        load.ingest(db, files[0], mapping=files[1])
    assert advice in caught.value.faults[0].message
    assert ask(db, "SELECT count(*) FROM objects") == [(0,)]


def test_invisible_characters_of_latin_1_are_doubted(db: Path, tmp_path: Path) -> None:
    """A list of windows-1252 under the name of Latin-1: its dashes become characters that nobody sees, so it is told."""
    files = write(tmp_path / "a", TEXT.format("Tür") + "2,Tor –,gate\n", PLAIN.replace("utf-8", "latin-1"), "cp1252")
    report, _ = report_of(db, files)
    assert "it may be written in windows-1252" in report.warnings[0].message
    assert "the first in line 3" in report.warnings[0].message


@pytest.mark.parametrize(
    "name", ["utf9", "hex", "rot13", "base64", "idna", "unicode_escape", "undefined", "", "\x00", "é"]
)
def test_what_is_no_encoding_of_files_is_refused(name: str) -> None:
    """Codecs of Python that are none for text in files are not taken either."""
    assert codec_of(name) is None
    if name.isascii() and name.isprintable():
        found = faults_of(PLAIN.replace('"utf-8"', f'"{name}"'))
        assert any("There is no encoding of this name" in each for each in found)


def test_a_list_that_is_no_workbook_needs_encoding_and_separator(db: Path, tmp_path: Path) -> None:
    """A mapping of a workbook leaves both out; a CSV file with it is refused in one sentence."""
    mapping = PLAIN.replace('encoding = "utf-8"\nseparator = ","\n', "")
    files = write(tmp_path / "a", TEXT.format("Tür"), mapping)
    with pytest.raises(InputRefused, match="1 fault") as caught:
        load.ingest(db, files[0], mapping=files[1])
    assert 'encoding = "utf-8" and separator = ";"' in caught.value.faults[0].message
