"""Lists and mappings for the tests, and the check that nothing of a list is lost."""

from __future__ import annotations

import csv
import json
import re
import sqlite3
import tomllib
import unicodedata
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from collection.ingest import load
from collection.ingest.mapping.mapping import Mapping, MapText
from collection.ingest.mapping.mapping_file import read_mapping

OPEN_LISTS = Path(__file__).resolve().parents[1] / "open_lists"

SURVEY = '[survey]\ncode = "list-1"\ntitle = "A list"\nlead = "Nora Pike"\nstarted = "2024-05"\n'
LIST = '[list]\nencoding = "utf-8"\nseparator = ","\nobject = "No"\n'
OBJECTS = '[objects]\ntitle = "Title"\nkind = "Kind"\n'
PLAIN = SURVEY + LIST + OBJECTS

GERMAN_LIST = """\
Inv.-Nr.;Teil;Bezeichnung / Name;Gattung;Material;Datierung;früher Nr.;Zustand;Fläche m²;Bemerkung;Standort
1979.10;;Karussellpferd / carousel horse;Figur;Holz; Farbe;um 1900;keine;Abblätterung (stark);1,25;alt übermalt;Depot 2
1979.10;a;Sattel / saddle;Figur;Leder;-;A 12;keine;0,5;;Depot 2
007;;Türschild / door sign;Schild;Email auf Eisen;unbekannt;B 3;unbekannt;;;Saal
007;;Türschild / door sign;Schild;Email auf Eisen;1920er Jahre;B 3;Rost (schwach);;;Saal
12;;;Schild;Holz;zwischen 1890 und 1910;;;;;Saal
13;;Modell;Modell;Zinn;Gründerzeit;;Riß;;;Depot 1
14;;Foto / photograph;Foto;Papier;1931;;;;;Archiv
""".replace("Holz; Farbe", '"Holz; Farbe"')
"""An invented registrar's list, as a European spreadsheet saves it."""

GERMAN_MAP = """\
[survey]
code = "liste-2024"
title = "Inventarliste"
lead = "R. Petersen"
started = "2024-05-02"

[list]
encoding = "latin-1"
separator = ";"
decimal_mark = ","
object = { take = ["Inv.-Nr.", "Teil"], between = " " }
blank = ["-"]
none = ["keine"]
unknown = ["unbekannt"]

[dates]
about = ["um"]
between = ["zwischen"]
to = ["und", "bis", "-"]
decade = ["er Jahre"]

[words.material]
Holz = "wood"
Farbe = "paint"
Leder = "leather"
"Email auf Eisen" = "vitreous enamel on iron"

[[leave_out]]
name = "photographs"
heading = "Gattung"
is = ["Foto"]

[objects]
title = { take = "Bezeichnung / Name", part = 2, parted_by = " / ", when_blank = "untitled in the list" }
kind = { take = "Gattung", words = { Figur = "carved figure", Schild = "sign" }, untranslated = "as written" }
made = { date = "Datierung" }
other_numbers = { take = "früher Nr.", when_none = "none" }
store_place = "Standort"

[[rows]]
sheet = "components"
each = "Material"
parted_by = ";"
[rows.columns]
component = { numbered = "M" }
name = { piece = true, words = "material" }
support = { piece = true, words = "material" }
area_m2 = "Fläche m²"
"""


def write(folder: Path, text: str, mapping: str, encoding: str = "utf-8", name: str = "list.csv") -> tuple[Path, Path]:
    """A list and its mapping in a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_bytes(text.encode(encoding))
    (folder / "map.toml").write_text(mapping, encoding="utf-8")
    return folder / name, folder / "map.toml"


def rows_of(path: Path, *, encoding: str = "utf-8-sig", separator: str = ",") -> list[dict[str, str]]:
    """The rows of a list, read by the standard library alone."""
    with open(path, encoding=encoding, newline="") as file:
        return list(csv.DictReader(file, delimiter=separator))


def words_in(text: str) -> set[str]:
    """What a text is made of, without regard to its separators and to the signs of EDTF."""
    return set(re.split(r"[\s;,/|.\[\]~?%]+", unicodedata.normalize("NFC", text))) - {""}


def lost_cells(rows: Iterable[dict[str, str]], number: str, db: Path, sheets: Iterable[str]) -> list[tuple[str, str]]:
    """Cells of rows whose object is stored that are neither in its records nor kept with it, word by word."""
    connection = sqlite3.connect(db)
    connection.row_factory = sqlite3.Row
    lost = []
    try:
        for row in rows:
            held = [
                str(value)
                for sheet in sheets
                for found in connection.execute(f"SELECT * FROM {sheet} WHERE object = ?", (row[number],))
                for value in found
                if value is not None
            ]
            kept = {
                value
                for (value,) in connection.execute('SELECT value FROM unmapped_cells WHERE "key" = ?', (row[number],))
            }
            present = set().union(*map(words_in, held)) if held else set()
            lost += [
                (row[number], heading)
                for heading, cell in row.items()
                if cell and cell.strip() and cell not in kept and not words_in(cell) <= present
            ]
    finally:
        connection.close()
    return lost


def report_of(db: Path, files: tuple[Path, Path], **more: Any) -> tuple[load.IngestReport, dict[str, Any]]:
    """What an ingest reports, and its account of the list as JSON."""
    report = load.ingest(db, files[0], mapping=files[1], **more)
    assert report.mapping is not None
    told = json.loads(json.dumps(report.as_json()))
    return report, told["mapping"]


def mapping_of(text: str) -> Mapping:
    mapping, faults = read_mapping(MapText("map.toml", text), tomllib.loads(text))
    assert mapping is not None, [fault.sentence() for fault in faults]
    return mapping


def faults_of(text: str) -> list[str]:
    _, faults = read_mapping(MapText("map.toml", text), tomllib.loads(text))
    return [fault.sentence() for fault in faults]


def open_list(name: str) -> tuple[Path, Path]:
    return OPEN_LISTS / f"{name}.csv", OPEN_LISTS / f"{name}.toml"
