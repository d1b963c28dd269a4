"""A list with the traps of real ones, from end to end: each cell is compared with what a person reads.

The list is invented; its shape is that of old registers: a title and a blank row above the headings, a second row that
explains them, cells of several lines, part rows, titles in two languages, words for a condition, hazards cells that say
"None.", a remark under the table. It is written in turn as spreadsheets write lists.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
import xlsxwriter
from asked import ask
from mapped_lists import report_of

from collection.ingest import load
from collection.language.errors import InputRefused

ROWS = [
    ["Inventar der Sammlung Hafenstraße, Stand Mai 2019"],
    [],
    ["Inv.-Nr.", "Bezeichnung", "Title", "Gattung", "Datierung", "Zustand", "am", "stabil", "Schäden", "Gefahrstoffe"],
    ["Number", "Name", "Title", "Kind", "Dating", "Condition", "Seen on", "Stable", "Damage", "Hazards"],
    ["45", "Drehorgel", "Barrel organ", "Orgel", "um 1900", "gut", "2011-05", "ja", "Risse\nRost", "None."],
    ["45.1", "Deckel", "Lid", "Orgel", "", "mäßig", "2011-05", "", "Risse", ""],
    ["45.2", "Kurbel „neu“", "Crank “new”", "Orgel", "", "", "2011-05", "", "keine", "Blei"],
    ["46.1", "Türflügel links", "Left leaf", "Tür", "1910", "gut", "2012", "", "", "Blei – Arsen"],
    ["46.2", "Türflügel rechts", "Right leaf", "Tür", "1910", "", "", "", "Ausblühung", "N/A"],
    ["47", "Ladenschild", "", "Schild", "1920er Jahre", "schlecht", "", "nein", "", "-"],
    ["007", "Kuckuck", "Kuckuck", "Figur; klein", "unbekannt", "", "", "", "", "nil"],
    [],
    ["* = Leihgabe; Zustand nach Augenschein"],
]
MAPPING = """\
[survey]
code = "hafen"
title = "Inventar der Sammlung"
lead = "R. Petersen"
started = "2019-05-02"

[list]
{written}
headings_row = 3
rows_below_headings = 1
remark_below = true
object = "Inv.-Nr."
unknown = ["unbekannt"]

[parts]
parted_by = "."
without_whole = "first part"

[dates]
about = ["um"]
decade = ["er Jahre"]

[words]
Risse = "cracking"
Rost = "corrosion under paint"

[objects]
title = {{ take = ["Bezeichnung", "Title"], languages = ["de", "en"] }}
kind = "Gattung"
made = {{ date = "Datierung" }}
listed_condition = {{ take = ["Zustand", "am", "stabil"], between = [", ", "; stabil: "] }}

[[rows]]
sheet = "components"
[rows.columns]
component = {{ part_row = true }}
name = {{ take = ["Bezeichnung", "Title"], languages = ["de", "en"] }}

[[rows]]
sheet = "conditions"
each = "Schäden"
parted_by = "\\n"
[rows.columns]
place = {{ part_row = true }}
phenomenon = {{ piece = true, words = "damage" }}
observed_on = {{ date = "am" }}

[[rows]]
sheet = "hazards"
each = "Gefahrstoffe"
parted_by = " – "
[rows.columns]
hazard = {{ numbered = "H" }}
kind = {{ piece = true, words = {{ Blei = "lead", Arsen = "arsenic" }} }}
status = {{ say = "suspected" }}
component = {{ part_row = true }}

[words.damage]
Risse = "cracking"
Rost = "corrosion under paint"
"""

OBJECTS = [
    ("007", "Kuckuck", "Figur; klein", None, None, 11),
    ("45", "Drehorgel [de] / Barrel organ [en]", "Orgel", "1900~", "gut, 2011-05; stabil: ja", 5),
    # Of 46 the list has parts only: the first names it, and neither its date nor its condition is the whole door's.
    ("46", "Türflügel links [de] / Left leaf [en]", "Tür", None, None, 8),
    ("47", "Ladenschild [de]", "Schild", "192X", "schlecht; stabil: nein", 10),
]
COMPONENTS = [
    ("45", "45.1", "Deckel [de] / Lid [en]", 6),
    ("45", "45.2", "Kurbel „neu“ [de] / Crank “new” [en]", 7),
    ("46", "46.1", "Türflügel links [de] / Left leaf [en]", 8),
    ("46", "46.2", "Türflügel rechts [de] / Right leaf [en]", 9),
]
CONDITIONS = [
    ("45", "45.1", "cracking", "2011-05", 6),
    ("45", "all", "corrosion under paint", "2011-05", 5),
    ("45", "all", "cracking", "2011-05", 5),
]
HAZARDS = [
    ("45", "H1", "lead", "suspected", "45.2", 7),
    ("46", "H1", "lead", "suspected", "46.1", 8),
    ("46", "H2", "arsenic", "suspected", "46.1", 8),
]
KEPT = {
    # What is translated or read as a date stays as it was written, and so does what no column takes.
    ("007", "Datierung"): "unbekannt",
    ("007", "Gefahrstoffe"): "nil",
    ("45", "Datierung"): "um 1900",
    ("45", "Schäden"): "Risse\nRost",
    ("45", "Schäden [2]"): "Risse",
    ("45", "Schäden [3]"): "keine",
    ("45", "Gefahrstoffe"): "None.",
    ("45", "Gefahrstoffe [2]"): "Blei",
    # The kind and the condition of a part, and its day where no damage has it: objects have them, parts do not.
    ("45", "Gattung"): "Orgel",
    ("45", "Zustand"): "mäßig",
    ("45", "am"): "2011-05",
    ("46", "Datierung"): "1910",
    ("46", "Gattung"): "Tür",
    ("46", "Zustand"): "gut",
    ("46", "am"): "2012",
    ("46", "Schäden"): "Ausblühung",
    ("46", "Gefahrstoffe"): "Blei – Arsen",
    ("46", "Gefahrstoffe [2]"): "N/A",
    ("47", "Datierung"): "1920er Jahre",
    ("47", "Gefahrstoffe"): "-",
}


def as_csv(separator: str, encoding: str) -> bytes:
    """The list as a spreadsheet saves it: every row as wide as the widest."""
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=separator).writerows([*row, *[""] * (10 - len(row))] for row in ROWS)
    return out.getvalue().encode(encoding)


def as_workbook(path: Path) -> None:
    """The list as XlsxWriter writes it: numbers of three digits, a month as a real date, a hidden row, a second sheet."""
    with xlsxwriter.Workbook(str(path)) as book:
        page, notes = book.add_worksheet("Inventar 2019"), book.add_worksheet("Notizen")
        notes.write_string(0, 0, "not the list")
        month, noughts = book.add_format({"num_format": "yyyy-mm"}), book.add_format({"num_format": "000"})
        for at, row in enumerate(ROWS):
            for place, cell in enumerate(row):
                if cell == "2011-05":
                    page.write_number(at, place, 40664, month)  # 1 May 2011
                elif cell == "007":
                    page.write_number(at, place, 7, noughts)
                else:
                    page.write_string(at, place, cell)
        page.set_row(8, None, None, {"hidden": True})


WRITTEN = {
    "windows-1252": 'encoding = "windows-1252"\nseparator = ";"',
    "utf-16": 'encoding = "utf-16"\nseparator = "\\t"',
    "utf-8": 'encoding = "utf-8"\nseparator = ","',
    "cp1250": 'encoding = "cp1250"\nseparator = "|"',
    "xlsx": 'sheet = "Inventar 2019"',
}


def written(folder: Path, how: str) -> tuple[Path, Path]:
    separators = {"windows-1252": ";", "utf-16": "\t", "utf-8": ",", "cp1250": "|"}
    folder.mkdir(exist_ok=True)
    path, mapping = folder / ("list.xlsx" if how == "xlsx" else "list.csv"), folder / "map.toml"
    if how == "xlsx":
        as_workbook(path)
    else:
        path.write_bytes(as_csv(separators[how], how))
    mapping.write_text(MAPPING.format(written=WRITTEN[how]), encoding="utf-8")
    return path, mapping


@pytest.mark.parametrize("how", WRITTEN)
def test_a_list_is_read_as_a_person_reads_it(db: Path, tmp_path: Path, how: str) -> None:
    """Every record, and every cell beside them, whatever the list was saved as."""
    report, told = report_of(db, written(tmp_path / "list", how))
    assert ask(db, "SELECT object, title, kind, made, listed_condition, from_row FROM objects ORDER BY 1") == OBJECTS
    assert ask(db, "SELECT object, component, name, from_row FROM components ORDER BY 1, 2") == COMPONENTS
    assert (
        ask(db, "SELECT object, place, phenomenon, observed_on, from_row FROM conditions ORDER BY 1, 2, 3")
        == CONDITIONS
    )
    assert ask(db, "SELECT object, hazard, kind, status, component, from_row FROM hazards ORDER BY 1, 2") == HAZARDS
    kept = {
        (code, heading): value for code, heading, value in ask(db, 'SELECT "key", heading, value FROM unmapped_cells')
    }
    assert kept == KEPT
    assert told["rows_kept"] == told["rows_read"] == 7
    assert told["named_by_part"] == ["46"]
    assert told["untranslated"] == {"conditions.phenomenon": [{"term": "Ausblühung", "count": 1, "nearest": None}]}
    assert told["said_to_be"]["none"]["hazards.kind"] == 2
    doubts = [each.message for each in report.warnings]
    assert any("This remark under the table is no part of the list" in each for each in doubts)
    assert any("1 rows of this sheet are hidden" in each for each in doubts) is (how == "xlsx")
    assert any("1 cells of Inv.-Nr. are numbers of the spreadsheet" in each for each in doubts) is (how == "xlsx")


def test_nothing_of_the_shape_is_guessed_in_silence(db: Path, tmp_path: Path) -> None:
    """Without the three lines that say where the table lies there are three sentences, each with what to write."""
    files = written(tmp_path / "list", "windows-1252")
    mapping = files[1].read_text(encoding="utf-8")
    for line in ("headings_row = 3\n", "rows_below_headings = 1\n", "remark_below = true\n"):
        mapping = mapping.replace(line, "")
    files[1].write_text(mapping, encoding="utf-8")
    with pytest.raises(InputRefused) as caught:
        load.ingest(db, files[0], mapping=files[1])
    found = [(fault.row, fault.message) for fault in caught.value.faults]
    assert [row for row, _ in found] == [1, 4, 13]
    for (_, message), key in zip(
        found, ("headings_row = 3", "rows_below_headings = 1", "remark_below = true"), strict=True
    ):
        assert key in message
    assert ask(db, "SELECT count(*) FROM objects") == [(0,)]


def test_the_same_list_again_changes_nothing(db: Path, tmp_path: Path) -> None:
    """From the workbook first and the CSV file after it: the same records, told apart from nothing."""
    report_of(db, written(tmp_path / "a", "xlsx"))
    report, _ = report_of(db, written(tmp_path / "b", "utf-16"))
    assert (report.added, report.changed) == ({}, {})
