"""Words of a list in its own language: translated once for all columns, none read as none, titles in two languages."""

from __future__ import annotations

from pathlib import Path

import pytest
from asked import ask
from mapped_lists import PLAIN, faults_of, report_of, write

HAZARDS = (
    '[[rows]]\nsheet = "hazards"\n{each}[rows.columns]\nhazard = {{ numbered = "H" }}\nkind = {kind}\n'
    'status = {{ say = "suspected" }}\n'
)
WHOLE = HAZARDS.format(each="", kind='"Hazards"')
PIECES = HAZARDS.format(each='each = "Hazards"\nparted_by = ";"\n', kind="{ piece = true }")

NONE = [
    "None.",
    "none",
    "NONE",
    "No",
    "nil",
    "Keine",
    "kein.",
    "Aucun",
    "nessuno",
    "geen",
    "inga",
    "N/A",
    "n.a.",
    "-",
    "–",
    "k. A.",
]


@pytest.mark.parametrize("how", [WHOLE, PIECES])
@pytest.mark.parametrize("cell", NONE)
def test_a_cell_that_says_none_makes_no_hazard(db: Path, tmp_path: Path, how: str, cell: str) -> None:
    """Whatever the mapping says or leaves out; it stays as it was written, and is no finding that there is none."""
    _, told = report_of(
        db, write(tmp_path / "a", f'No,Title,Kind,Hazards\n1,Gate,door,"{cell}"\n2,Sign,sign,lead\n', PLAIN + how)
    )
    assert ask(db, "SELECT object, kind, status FROM hazards") == [("2", "lead", "suspected")]
    assert ask(db, "SELECT \"key\", value FROM unmapped_cells WHERE heading = 'Hazards'") == [("1", cell)]
    assert told["rows_not_made"] == {}


def test_what_only_begins_like_none_is_a_hazard(db: Path, tmp_path: Path) -> None:
    """And so is what the mapping translates, and a question mark: somebody suspects something."""
    how = HAZARDS.format(
        each="",
        kind='{ take = "Hazards", words = { nil = "nickel", "None known" = "unknown" }, untranslated = "as written" }',
    )
    rows = ["None of the paint was tested", "nil", "?", "lead", "None known"]
    text = "No,Title,Kind,Hazards\n" + "".join(f"{n},Gate,door,{cell}\n" for n, cell in enumerate(rows))
    report_of(db, write(tmp_path / "a", text, PLAIN + how))
    assert ask(db, "SELECT kind FROM hazards ORDER BY object") == [
        ("None of the paint was tested",),
        ("nickel",),
        ("?",),
        ("lead",),
        ("unknown",),
    ]


def test_a_dash_in_a_stack_is_no_missing_coat(db: Path, tmp_path: Path) -> None:
    """It may stand for a coat that nobody could name, so the stack stays in the list; only the mapping can say more."""
    stack = (
        '[[rows]]\nsheet = "samples"\n[rows.columns]\nsample = "Sample"\nplace = "Where"\nmethod = { say = "exposure" }\n'
        '[[rows]]\nsheet = "layers"\neach = "Coats"\nparted_by = ";"\n[rows.columns]\nsample = "Sample"\n'
        'position = { numbered = "" }\nrole = { piece = true }\n'
    )
    text = 'No,Title,Kind,Sample,Where,Coats\n1,Gate,door,S1,all,"support; -; varnish"\n'
    _, told = report_of(db, write(tmp_path / "a", text, PLAIN + stack))
    assert ask(db, "SELECT count(*) FROM layers") == [(0,)]
    assert told["rows_not_made"]["layers before or after it"] == 2


def test_words_of_closed_lists_are_translated_once_for_all_columns(db: Path, tmp_path: Path) -> None:
    """Each column takes those that are words of its list; a column's own table stands in their place; the rest is listed."""
    mapping = (
        PLAIN
        + 'status = "Besitz"\nsurroundings = "Klima"\n'
        + '[[rows]]\nsheet = "hazards"\n[rows.columns]\nhazard = { numbered = "H" }\nkind = "Gift"\nstatus = "Stand"\n'
        + '[words]\nLeihgabe = "on loan"\neigen = "held"\n"draußen" = "outdoors"\nVerdacht = "suspected"\n'
        + 'nachgewiesen = "confirmed"\n'
    )
    rows = [
        "1,A,b,Leihgabe,draußen,Blei,Verdacht",
        "2,A,b,EIGEN,drinnen,Arsen,nachgewiesen",
        "3,A,b,held,Depot,Quecksilber,vermutlich",
        "4,A,b,verkauft,drinnen,,",
    ]
    text = "No,Title,Kind,Besitz,Klima,Gift,Stand\n" + "\n".join(rows) + "\n"
    _, told = report_of(db, write(tmp_path / "a", text, mapping))
    assert ask(db, "SELECT status, surroundings FROM objects ORDER BY object") == [
        ("on loan", "outdoors"),
        ("held", None),
        ("held", None),
        (None, None),
    ]
    assert ask(db, "SELECT kind, status FROM hazards ORDER BY object") == [
        ("Blei", "suspected"),
        ("Arsen", "confirmed"),
    ]
    found = {column: {each["term"]: each["count"] for each in terms} for column, terms in told["untranslated"].items()}
    assert found == {
        "objects.status": {"verkauft": 1},
        "objects.surroundings": {"drinnen": 2, "Depot": 1},
        "hazards.status": {"vermutlich": 1},
    }


def test_a_word_for_all_columns_has_to_be_a_word_of_some_list() -> None:
    """A slip is told with the nearest word; a text has a table of its own."""
    found = faults_of(PLAIN + '[words]\nLeihgabe = "on laon"\n')
    assert any("No list of words holds this one" in each and "Did you mean 'on loan'?" in each for each in found), found
    assert any("Words are a table" in each for each in faults_of(PLAIN + "[words]\nLeihgabe = 3\n"))


def test_every_untranslated_term_is_in_the_json(db: Path, tmp_path: Path) -> None:
    """However many: a registrar translates them one by one."""
    text = "No,Title,Kind,State\n" + "".join(f"{n},A,b,Wort {n}\n" for n in range(300))
    _, told = report_of(db, write(tmp_path / "a", text, PLAIN + 'status = "State"\n'))
    assert len(told["untranslated"]["objects.status"]) == 300


TITLES = [
    # Two columns, and what a person would write into one line.
    ('{ take = ["DE", "EN"], languages = ["de", "en"] }', ("Tür", "door"), "Tür [de] / door [en]"),
    ('{ take = ["DE", "EN"], languages = ["de", "en"] }', ("Tür", ""), "Tür [de]"),
    ('{ take = ["DE", "EN"], languages = ["de", "en"] }', ("", "door"), "door [en]"),
    ('{ take = ["DE", "EN"], languages = ["de", "en"] }', ("Radio", "radio"), "Radio"),
    ('{ take = ["DE", "EN"], languages = ["de", "en"], between = "; " }', ("Tür", "door"), "Tür [de]; door [en]"),
    ('{ take = ["DE", "EN"], languages = ["de", "en"], none = ["n. n."] }', ("Tür", "N. N."), "Tür [de]"),
    # One column with both, parted as the list parts them.
    ('{ take = "DE", parted_by = "/", languages = ["de", "en"] }', ("Tür / door", ""), "Tür [de] / door [en]"),
    # Which language a lone title is in, or which of three pieces, nobody can tell: it stays as it is written.
    ('{ take = "DE", parted_by = "/", languages = ["de", "en"] }', ("Tür", ""), "Tür"),
    ('{ take = "DE", parted_by = "/", languages = ["de", "en"] }', ("Tür/Tor/gate", ""), "Tür/Tor/gate"),
]


@pytest.mark.parametrize(("recipe", "cells", "title"), TITLES)
def test_a_title_in_two_languages_keeps_both(
    db: Path, tmp_path: Path, recipe: str, cells: tuple[str, str], title: str
) -> None:
    """Each with the mark of its language; nothing of the cells is left over."""
    mapping = PLAIN.replace('title = "Title"', f"title = {recipe}")
    _, told = report_of(db, write(tmp_path / "a", f'No,DE,EN,Kind\n1,"{cells[0]}","{cells[1]}",door\n', mapping))
    assert ask(db, "SELECT title FROM objects") == [(title,)]
    assert {heading for heading in told["unmapped_cells"] if heading != "EN"} == set()


@pytest.mark.parametrize(
    ("recipe", "sentence"),
    [
        ('{ take = ["A", "B"], languages = ["de"] }', "Name the languages in their order"),
        ('{ take = ["A", "B"], languages = ["de", "English"] }', "Name the languages in their order"),
        ('{ take = ["A", "B", "C"], languages = ["de", "en"] }', "Each language needs a column of its own"),
        ('{ take = "A", languages = ["de", "en"] }', "Each language needs a column of its own"),
        ('{ take = "A", parted_by = "/", part = 1, languages = ["de", "en"] }', "`part` and `parted_by` go together"),
        ('{ take = ["A", "B"], between = ["; ", ", "] }', "two cells have one gap"),
    ],
)
def test_languages_are_checked(recipe: str, sentence: str) -> None:
    found = faults_of(PLAIN.replace('title = "Title"', f"title = {recipe}"))
    assert any(sentence in each for each in found), found
