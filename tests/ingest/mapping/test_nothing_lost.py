"""Any list by any mapping: every cell is stored, kept or counted, or the list is refused."""

from __future__ import annotations

import csv
import io
import tempfile
import unicodedata
from pathlib import Path

import pytest
from asked import ask
from hypothesis import given, settings
from hypothesis import strategies as st
from mapped_lists import LIST, SURVEY, mapping_of, words_in, write

from collection.ingest import load
from collection.ingest.mapping.list_file.list_rows import ForeignList, ListRow
from collection.ingest.mapping.rows import carry_over
from collection.language.errors import InputRefused
from collection.store.base import database
from collection.store.check import check

CELL = st.text("ab1970.;/ -é\u0301ßkeiun", max_size=14) | st.sampled_from(
    [
        "",
        "-",
        "keine",
        "unbekannt",
        "1910",
        "um 1900",
        "oak; pine",
        "horse / Pferd",
        "held",
        "not recorded",
        "Title",
        " x ",
        "oak;oak",
        "A;;B",
        "1900-1910",
        "=1+1",
    ]
)
RECIPES = {
    "title": [
        '"B"',
        '{ take = "B", when_blank = "untitled" }',
        '{ take = "B", part = 1, parted_by = " / " }',
        '{ take = ["B", "C"], between = "; " }',
    ],
    "kind": [
        '"C"',
        '{ say = "thing" }',
        '{ take = "C", words = { held = "kept" }, untranslated = "as written" }',
        '{ take = "C", when_blank = "thing", when_unknown = "unknown thing" }',
    ],
    "maker": [
        '"D"',
        '{ take = "D", part = 2, parted_by = ";" }',
        '{ take = "D", characters = [1, 4] }',
        '{ take = "D", words = { oak = "Eiche" } }',
    ],
    "made": ['{ date = "D" }', '{ date = "D", earliest = "E", latest = "F" }', '{ earliest = "E" }'],
    "status": ['"E"', '{ take = "E", words = { keine = "left", a = "held" } }'],
    "other_numbers": ['{ take = ["E", "F"], between = "." }', '{ take = "F", when_none = "none" }'],
    "part_of": [],
}
ROWS = [
    "",
    '[[rows]]\nsheet = "components"\neach = "F"\nparted_by = ";"\n[rows.columns]\ncomponent = { numbered = "M" }\n'
    'name = { piece = true }\nsupport = { take = "E" }\n',
    '[[rows]]\nsheet = "claims"\n[rows.columns]\nclaim = "E"\nstatement = "F"\nstatus = { say = "untested" }\n',
    '[[rows]]\nsheet = "advice"\neach = "D"\nparted_by = ";"\n[rows.columns]\nadvice = { numbered = "A" }\n'
    'what = { piece = true, part = 1, parted_by = "/" }\ngiven_on = { date = "E" }\n',
]
JOINED = '{ take = ["A", "B"], between = "." }'
RULES = ["", '[[leave_out]]\nname = "r"\nheading = "C"\nis = ["keine"]\n']


@st.composite
def mappings(draw: st.DrawFn) -> str:
    """A mapping that reads, of any of these recipes."""
    chosen = {
        name: draw(st.sampled_from(ways))
        for name, ways in RECIPES.items()
        if ways and (name in ("title", "kind") or draw(st.booleans()))
    }
    objects = "".join(f"{name} = {way}\n" for name, way in chosen.items())
    number = draw(st.sampled_from(['"A"', JOINED]))
    return (
        SURVEY
        + LIST.replace('"No"', number)
        + 'blank = ["-"]\nnone = ["keine"]\nunknown = ["unbekannt"]\n'
        + draw(st.sampled_from(RULES))
        + '[dates]\nabout = ["um"]\n'
        + "[objects]\n"
        + objects
        + draw(st.sampled_from(ROWS))
        + draw(st.sampled_from(ROWS))
    )


LISTS = st.lists(
    st.fixed_dictionaries({"A": st.sampled_from(["1", "2", "1.x", ""]), **dict.fromkeys("BCDEF", CELL)}), max_size=6
)


def _number(row: dict[str, str], text: str) -> str:
    """The number of a row, told without the program: a part number counts where it is one."""
    part = unicodedata.normalize("NFC", row["B"].strip())
    joined = JOINED in text and part not in ("", "-", "keine", "unbekannt")
    return f"{row['A'].strip()}.{part}" if joined else row["A"].strip()


@given(LISTS, mappings())
def test_nothing_of_any_list_is_lost_by_any_mapping(rows: list[dict[str, str]], text: str) -> None:
    """Each row is kept, left out by a rule or set aside; of kept rows each cell that is not blank is kept with the
    object as it was written, or every word of it stands in the object's records."""
    listed = ForeignList("list.csv", tuple("ABCDEF"), [ListRow(n, row) for n, row in enumerate(rows, 2)])
    carried = carry_over(listed, mapping_of(text))
    report = carried.report
    aside = {row for numbers in report.set_aside.values() for row in numbers}
    assert len(rows) == report.rows_kept + sum(report.left_out.values()) + len(aside)
    held: dict[str, set[str]] = {}
    for made in carried.sheets.values():
        for each in made:
            held.setdefault(each.values["object"], set()).update(*map(words_in, each.values.values()))
    kept: dict[tuple[str, str], set[str]] = {}
    for one in carried.cells:
        kept.setdefault((one.object, one.heading.split(" [")[0]), set()).add(one.value)
    for row in listed.rows:
        if row.row in aside or (report.left_out.get("r") and row.cells["C"].strip() == "keine"):
            continue
        for heading, cell in row.cells.items():
            code = _number(row.cells, text)
            if cell.strip() and cell.strip() != "-":
                assert cell in kept.get((code, heading), ()) or words_in(cell) <= held[code], (heading, cell)


@pytest.mark.slow
@settings(max_examples=25)
@given(LISTS, mappings())
def test_any_list_is_stored_whole_or_refused(rows: list[dict[str, str]], text: str) -> None:
    """What the sheets get reads as it was carried over, nothing is half stored, and once more changes nothing."""
    out = io.StringIO()
    writer = csv.DictWriter(out, tuple("ABCDEF"))
    writer.writeheader()
    writer.writerows(rows)
    with tempfile.TemporaryDirectory() as folder:
        db = Path(folder) / "collection.db"
        database.create(db)
        files = write(Path(folder) / "list", out.getvalue(), text)
        try:
            report = load.ingest(db, files[0], mapping=files[1])
        except InputRefused as error:
            refused = error
        else:
            refused = None
        if refused is not None:
            assert all("differs from" in fault.message for fault in refused.faults), refused.faults
            assert ask(db, "SELECT count(*) FROM changes") == [(0,)]
            return
        assert report.mapping is not None
        assert report.added == {"survey": 1, **{sheet: n for sheet, n in report.mapping.rows_made.items() if n}}
        assert check(db).damage == ()
        files[1].write_text(text + "\n", encoding="utf-8")
        again = load.ingest(db, files[0], mapping=files[1])
        assert (again.added, again.changed, again.change) == ({}, {}, None)
        assert again.unchanged == report.added
