"""Rows such as 45.1 and 45.2 are parts of one object, where the mapping says how such a number is made up."""

from __future__ import annotations

from pathlib import Path

import pytest
from asked import ask
from mapped_lists import PLAIN, faults_of, report_of, write

COMPONENTS = '[[rows]]\nsheet = "components"\n[rows.columns]\ncomponent = { part_row = true }\nname = "Title"\n'


def mapping(parts: str, more: str = "") -> str:
    return PLAIN + f"[parts]\n{parts}\n" + COMPONENTS + more


def stored(db: Path) -> list[tuple[str, str | None]]:
    return ask(
        db, "SELECT o.object, c.component FROM objects AS o LEFT JOIN components AS c USING (object) ORDER BY 1, 2"
    )


@pytest.mark.parametrize(
    ("parts", "numbers", "expected"),
    [
        ('parted_by = "."', ["45", "45.1", "45.2", "46"], [("45", "45.1"), ("45", "45.2"), ("46", None)]),
        ('parted_by = "."', ["45.1", "45", "45.1.2"], [("45", "45.1"), ("45", "45.1.2")]),
        # A number of a year has a point of its own.
        (
            'parted_by = "."\npieces = 2',
            ["1979.10", "1979.10.1", "1979.1"],
            [("1979.1", None), ("1979.10", "1979.10.1")],
        ),
        # Only object numbers may hold a stroke, so a part's code has a hyphen for it.
        ('parted_by = "/"', ["7", "7/a"], [("7", "7-a")]),
        # The whole is a row of its own kind.
        ('parted_by = "."\nwhole = ["0"]', ["45.0", "45.1"], [("45", "45.1")]),
        ("pattern = '([0-9]+)([a-z])'", ["007", "007a", "007b", "x"], [("007", "007a"), ("007", "007b"), ("x", None)]),
        # A separator with nothing behind it parts nothing off.
        ('parted_by = "."', ["45."], [("45.", None)]),
    ],
)
def test_a_part_belongs_to_its_object(
    db: Path, tmp_path: Path, parts: str, numbers: list[str], expected: list[tuple[str, str | None]]
) -> None:
    """By what stands between, by how many pieces are the object's, or by a pattern; each part has its number as its code."""
    text = "No,Title,Kind\n" + "".join(f"{number},Thing {number},box\n" for number in numbers)
    _, told = report_of(db, write(tmp_path / "a", text, mapping(parts)))
    assert stored(db) == expected
    assert told["rows_kept"] == len(numbers)
    assert told["rows_not_made"] == {}


def test_the_whole_describes_the_object_and_the_parts_themselves(db: Path, tmp_path: Path) -> None:
    """A part's kind is not its object's; a hazard and a damage lie on the part, those of the whole row on the whole."""
    more = (
        'support = "Material"\n[[rows]]\nsheet = "conditions"\n[rows.columns]\nplace = { part_row = true }\n'
        'phenomenon = "Damage"\nobserved_on = { date = "Seen" }\n[[rows]]\nsheet = "samples"\n[rows.columns]\n'
        'sample = "Sample"\nplace = { part_row = true }\nmethod = { say = "surface" }\n'
    )
    text = (
        "No,Title,Kind,Material,Damage,Seen,Sample\n45,Organ,organ,wood,cracking,2011,S1\n"
        "45.1,Lid,lid,oak,flaking,2012,S2\n45.2,Crank,crank,iron,,,\n"
    )
    _, told = report_of(db, write(tmp_path / "a", text, mapping('parted_by = "."', more)))
    assert ask(db, "SELECT object, title, kind FROM objects") == [("45", "Organ", "organ")]
    assert ask(db, "SELECT component, name, support FROM components ORDER BY 1") == [
        ("45.1", "Lid", "oak"),
        ("45.2", "Crank", "iron"),
    ]
    assert ask(db, "SELECT place, phenomenon FROM conditions ORDER BY 1") == [("45.1", "flaking"), ("all", "cracking")]
    # Evidence is never placed on the whole object by a mapping: it would clear what nobody looked at.
    assert ask(db, "SELECT sample, place FROM samples") == [("S2", "45.1")]
    assert told["rows_not_made"] == {"samples.place": 1}
    assert ask(db, "SELECT heading, value FROM unmapped_cells ORDER BY 1, 2") == [
        ("Kind", "lid"),
        ("Kind [2]", "crank"),
        ("Material", "wood"),
        ("Sample", "S1"),
    ]


def test_parts_without_a_row_for_the_whole_are_set_aside_or_named_by_the_first(db: Path, tmp_path: Path) -> None:
    """Nobody makes up a title: the reason says what to write, and then it is counted who is named so."""
    text = "No,Title,Kind,Maker\n46.1,Left leaf,door,Hope\n46.2,Right leaf,door,\n47,Sign,sign,\n"
    made = mapping('parted_by = "."').replace('kind = "Kind"\n', 'kind = "Kind"\nmaker = "Maker"\n')
    _, told = report_of(db, write(tmp_path / "a", text, made))
    assert stored(db) == [("47", None)]
    assert [(each["count"], each["rows"]) for each in told["set_aside"]] == [(2, [2, 3])]
    assert "without_whole" in told["set_aside"][0]["reason"]
    assert told["rows_read"] == told["rows_kept"] + 2
    first = made.replace('parted_by = "."\n', 'parted_by = "."\nwithout_whole = "first part"\n')
    report, told = report_of(db, write(tmp_path / "b", text, first))
    assert stored(db) == [("46", "46.1"), ("46", "46.2"), ("47", None)]
    assert told["named_by_part"] == ["46"]
    assert report.mapping is not None
    assert "Objects without a row of their own, named by their first part: 1 (46)." in report.mapping.sentences()
    # Only its name: the maker of one leaf need not be the maker of the door.
    assert ask(db, "SELECT title, maker FROM objects WHERE object = '46'") == [("Left leaf", None)]
    assert ("Maker", "Hope") in ask(db, "SELECT heading, value FROM unmapped_cells WHERE \"key\" = '46'")


def test_parts_of_objects_that_are_stored_need_no_row_for_the_whole(db: Path, tmp_path: Path) -> None:
    """A list that says nothing of titles adds its parts to what is there."""
    report_of(db, write(tmp_path / "a", "No,Title,Kind\n45,Organ,organ\n", PLAIN))
    parts = mapping('parted_by = "."').replace('[objects]\ntitle = "Title"\nkind = "Kind"\n', "")
    report, told = report_of(db, write(tmp_path / "b", "No,Title\n45.1,Lid\n45.2,Crank\n", parts))
    assert report.added == {"survey": 1, "components": 2} or report.added == {"components": 2}
    assert stored(db) == [("45", "45.1"), ("45", "45.2")]
    assert told["set_aside"] == []


def test_a_part_that_the_list_does_not_name_is_counted(db: Path, tmp_path: Path) -> None:
    """No component is made without a name, and its number stays with the object."""
    _, told = report_of(
        db, write(tmp_path / "a", "No,Title,Kind\n45,Organ,organ\n45.1,,organ\n", mapping('parted_by = "."'))
    )
    assert stored(db) == [("45", None)]
    assert told["rows_not_made"] == {"components.name": 1}
    assert ("No", "45.1") in ask(db, "SELECT heading, value FROM unmapped_cells")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (mapping("pieces = 2"), "in one way"),
        (mapping("parted_by = \".\"\npattern = '(a)(b)'"), "in one way"),
        (mapping("pattern = '([0-9]+)'"), "two groups"),
        (mapping("pattern = '([0-9]+'"), "This is no pattern"),
        (mapping('parted_by = "."\npieces = 0'), "how many pieces"),
        (mapping('parted_by = "."\nwithout_whole = "guess"'), "named by its first part"),
        (PLAIN + '[parts]\nparted_by = "."\n', "The parts are rows of components"),
        (PLAIN + COMPONENTS, "Say in a table [parts]"),
        (mapping('parted_by = "."', "support = { part_row = true }\n"), "where a place or a component is pointed to"),
    ],
)
def test_how_parts_are_told_apart_is_checked(text: str, sentence: str) -> None:
    found = faults_of(text)
    assert any(sentence in each for each in found), found
