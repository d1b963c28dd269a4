"""Rows of a list as records: conditions with a date, numbers, stacks of coats, joined cells."""

from __future__ import annotations

from pathlib import Path

import pytest
from asked import ask
from mapped_lists import PLAIN, mapping_of, report_of, write

from collection.ingest.mapping.list_file.list_rows import ForeignList, ListRow
from collection.ingest.mapping.rows import carry_over

CONDITIONS = (
    PLAIN
    + """
[[rows]]
sheet = "conditions"
each = "Damage"
parted_by = ";"
[rows.columns]
place = { say = "all" }
phenomenon = { piece = true, part = 1, parted_by = ":", words = "damage", none = ["keine"] }
severity = { piece = true, part = 2, parted_by = ":", words = { leicht = "1", stark = "3" } }
observed_on = { date = "Seen" }
[words.damage]
Rost = "corrosion under paint"
"blättert" = "flaking"
"""
)


def test_a_note_becomes_conditions_only_where_somebody_dated_it(db: Path, tmp_path: Path) -> None:
    """Without the date of the look no row is made: the note stays with the object, counted by what was wanting."""
    text = (
        "No,Title,Kind,Damage,Seen\n1,Gate,door,Rost: leicht; blättert: stark,2019-05\n2,Sign,sign,Rost: stark,\n"
        "3,Flag,flag,keine,2019\n4,Pole,pole,Schimmel: stark,2019\n"
    )
    files = write(tmp_path / "a", text, CONDITIONS)
    _, told = report_of(db, files)
    assert ask(db, "SELECT object, phenomenon, severity, observed_on FROM conditions ORDER BY object, phenomenon") == [
        ("1", "corrosion under paint", 1, "2019-05"),
        ("1", "flaking", 3, "2019-05"),
    ]
    assert told["rows_not_made"] == {"conditions.observed_on": 1, "conditions.phenomenon": 1}
    assert told["said_to_be"]["none"] == {"conditions.phenomenon": 1}
    assert told["untranslated"]["conditions.phenomenon"] == [{"term": "Schimmel", "count": 1, "nearest": None}]
    assert ask(db, "SELECT \"key\", value FROM unmapped_cells WHERE heading = 'Damage' ORDER BY 1") == [
        ("1", "Rost: leicht; blättert: stark"),
        ("2", "Rost: stark"),
        ("3", "keine"),
        ("4", "Schimmel: stark"),
    ]


def test_numbers_and_words_are_read_or_left(db: Path, tmp_path: Path) -> None:
    """A word that means two things, a number with its unit, a status that is none: each stays as it is, with the
    sentence that says why."""
    mapping = PLAIN + 'status = "State"\nvalue_points = "Points"\n'
    files = write(tmp_path / "a", "No,Title,Kind,State,Points\n1,Gate,door,HELD,3\n2,Sign,sign,hold,12 EUR\n", mapping)
    _, told = report_of(db, files)
    assert ask(db, "SELECT status, value_points FROM objects ORDER BY object") == [("held", 3.0), (None, None)]
    assert told["untranslated"] == {"objects.status": [{"term": "hold", "count": 1, "nearest": "held"}]}
    assert told["not_read"]["objects.value_points"][0]["text"] == "12 EUR"
    assert "unit" in told["not_read"]["objects.value_points"][0]["message"]
    assert told["unmapped_cells"] == {"State": 1, "Points": 1}


def test_numbered_rows_keep_their_numbers_when_more_are_added(db: Path, tmp_path: Path) -> None:
    """A list to which something is added at the end changes no code; equal pieces are one row."""
    mapping = PLAIN + (
        '[[rows]]\nsheet = "components"\neach = "Parts"\nparted_by = ","\n[rows.columns]\n'
        'component = { numbered = "P" }\nname = { piece = true }\n'
    )
    report_of(db, write(tmp_path / "a", 'No,Title,Kind,Parts\n1,A,b,"seat, back, seat"\n', mapping))
    assert ask(db, "SELECT component, name FROM components ORDER BY 1") == [("P1", "seat"), ("P2", "back")]
    report, told = report_of(db, write(tmp_path / "b", 'No,Title,Kind,Parts\n1,A,b,"seat, back, seat, leg"\n', mapping))
    assert (report.added, report.changed, told["rows_merged"]) == ({"components": 1}, {}, 1)
    many = ",".join(f"p{n}" for n in range(1_001))
    _, told = report_of(db, write(tmp_path / "c", f'No,Title,Kind,Parts\n2,A,b,"{many}"\n', mapping))
    assert told["rows_made"] == {"objects": 1}
    assert told["unmapped_cells"] == {"Parts": 1}
    assert list(told["not_read"]) == ["components from Parts"]


STACKS = (
    PLAIN
    + """
[[rows]]
sheet = "layers"
{each}
[rows.columns]
sample = "Sample"
position = {{ numbered = "" }}
role = {role}
"""
)


def stack_of(mapping: str, *coats: str) -> list[tuple[str, str]]:
    """Positions and roles that rows of a list become, each row with what stands below Coats."""
    rows = [
        ListRow(n, {"No": "1", "Title": "A", "Kind": "b", "Sample": "S1", "Coats": cell})
        for n, cell in enumerate(coats, 2)
    ]
    made = carry_over(ForeignList("list.csv", ("No", "Title", "Kind", "Sample", "Coats"), rows), mapping_of(mapping))
    assert made.cells == []
    return [(row.values["position"], row.values["role"]) for row in made.sheets["layers"]]


def test_a_coat_that_comes_twice_in_a_stack_is_two_coats() -> None:
    """The second varnish of a cell, or of further rows, is a coat of its own; a cell that is repeated says no more."""
    stack = [("1", "varnish"), ("2", "body colour"), ("3", "varnish")]
    pieces = STACKS.format(each='each = "Coats"\nparted_by = ";"', role="{ piece = true }")
    cell = "varnish; body colour; varnish"
    assert stack_of(pieces, cell) == stack_of(pieces, cell, cell) == stack
    assert stack_of(STACKS.format(each="", role='"Coats"'), "varnish", "body colour", "varnish") == stack


@pytest.mark.parametrize(
    ("each", "coats"),
    [
        (True, ("support; Lasur",)),
        (True, ("support; primer; unbekannt; varnish",)),
        (False, ("support", "Lasur")),
        (True, ("support; primer", "Lasur")),
    ],
)
def test_a_stack_comes_in_whole_or_not_at_all(each: bool, coats: tuple[str, ...]) -> None:
    """A coat that nobody can translate is there all the same: without it the support would be bare."""
    text = (
        STACKS.format(each='each = "Coats"\nparted_by = ";"', role="{ piece = true }")
        if each
        else STACKS.format(each="", role='"Coats"')
    ).replace('"No"\n', '"No"\nunknown = ["unbekannt"]\n')
    heads = ("No", "Title", "Kind", "Sample", "Coats")
    rows = [ListRow(n, dict(zip(heads, ("1", "A", "b", "S1", cell), strict=True))) for n, cell in enumerate(coats, 2)]
    other = ListRow(9, dict(zip(heads, ("1", "A", "b", "S2", "varnish"), strict=True)))
    blank = ListRow(10, dict(zip(heads, ("1", "A", "b", "S2", ""), strict=True)))
    made = carry_over(ForeignList("list.csv", heads, [*rows, other, blank]), mapping_of(text))
    assert [row.values["sample"] for row in made.sheets["layers"]] == ["S2"]
    assert {cell.value for cell in made.cells if cell.heading.startswith("Coats")} == set(coats)
    assert made.report.rows_not_made["layers.role"] >= 1
    assert made.report.rows_not_made["layers before or after it"] >= 1


def test_two_coats_at_one_position_bring_in_neither() -> None:
    """Nobody knows which lies there, so the stack stays in the list, and both rows are told."""
    heads = ("No", "Title", "Kind", "Sample", "At", "Coats")
    text = STACKS.format(each="", role='"Coats"').replace('{ numbered = "" }', '"At"')
    rows = [
        ListRow(n, dict(zip(heads, ("1", "A", "b", "S1", at, coat), strict=True)))
        for n, (at, coat) in enumerate((("1", "support"), ("2", "primer"), ("2", "varnish")), 2)
    ]
    made = carry_over(ForeignList("list.csv", heads, rows), mapping_of(text))
    assert "layers" not in made.sheets
    assert made.report.differing == {"layers.role": [4]}
    assert {cell.value for cell in made.cells} >= {"support", "primer", "varnish"}


def test_joined_cells_are_never_moved_up_to_a_blank_one(db: Path, tmp_path: Path) -> None:
    """A year and a day are no month, and 12 with its third part is not 12 with its second."""
    made = PLAIN + 'made = { take = ["Year", "Month", "Day"], between = "-" }\n'
    _, told = report_of(
        db, write(tmp_path / "a", "No,Title,Kind,Year,Month,Day\n1,A,b,1910,,12\n2,A,b,1910,11,\n", made)
    )
    assert ask(db, "SELECT made FROM objects ORDER BY object") == [(None,), ("1910-11",)]
    assert list(told["not_read"]) == ["objects.made"]
    assert ask(db, "SELECT heading, value FROM unmapped_cells ORDER BY 1") == [("Day", "12"), ("Year", "1910")]
    parts = PLAIN.replace('"No"', '{ take = ["No", "Part", "Piece"], between = "." }')
    _, told = report_of(db, write(tmp_path / "b", "No,Part,Piece,Title,Kind\n12,,3,A,b\n12,3,,A,b\n", parts))
    assert [(each["count"], each["rows"]) for each in told["set_aside"]] == [(1, [2])]
    assert told["objects"] == 1


def test_numbers_joined_to_the_same_text_are_not_the_same(db: Path, tmp_path: Path) -> None:
    """1 with 23 and 12 with 3 are two things: the later row is set aside and told."""
    joined = PLAIN.replace('"No"', '{ take = ["No", "Part"], between = "" }')
    _, told = report_of(db, write(tmp_path / "a", "No,Part,Title,Kind\n1,23,A,b\n12,3,A,b\n1,23,A,b\n", joined))
    assert told["set_aside"] == [
        {"reason": "the object's number is joined from other cells than in an earlier row", "count": 1, "rows": [3]}
    ]
    assert ask(db, "SELECT object FROM objects") == [("123",)]
