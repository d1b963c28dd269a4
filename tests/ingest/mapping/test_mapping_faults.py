"""The faults of a mapping, each a sentence, and what a mapping may not say because only evidence may."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from mapped_lists import LIST, OBJECTS, PLAIN, SURVEY, faults_of, write

from collection.ingest import load
from collection.ingest.mapping.honesty import WORDS_THAT_CLEAR_NOTHING, why_not
from collection.ingest.mapping.mapping import MapText
from collection.ingest.mapping.mapping_file import read_mapping
from collection.language import words
from collection.language.errors import InputRefused
from collection.records.sheets import BY_SHEET, SHEETS

# The mapping's own faults


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (LIST + OBJECTS, "The table [survey] is missing"),
        (SURVEY + OBJECTS, "The table [list] is missing"),
        (PLAIN.replace("[objects]", "[object]"), "'object': A mapping has the tables survey, list"),
        (PLAIN.replace('"utf-8"', '"utf9"'), "Did you mean 'utf-8'?"),
        (PLAIN.replace('object = "No"', ""), "Say which heading holds the objects' numbers"),
        (PLAIN + 'makr = "M"\n', "The sheet objects has no such column"),
        (PLAIN + 'maker = { tak = "M" }\n', "Did you mean 'take'?"),
        (PLAIN + 'maker = { take = "M", say = "x" }\n', "in one way"),
        (PLAIN + 'maker = { take = ["A", "B"], part = 1, parted_by = ";" }\n', "Only a single cell"),
        (PLAIN + 'maker = { take = "A", part = 1 }\n', "`part` and `parted_by` go together"),
        (PLAIN + 'maker = { take = "A", characters = [3, 1] }\n', "first and the last character"),
        (PLAIN + "maker = { piece = true }\n", "have an `each`"),
        (PLAIN + 'maker = { date = "A" }\n', "This column holds no date"),
        (PLAIN + 'status = { take = "A", words = { x = "helt" } }\n', "Did you mean 'held'?"),
        (PLAIN + 'status = { take = "A", words = "states" }\n', "There is no table [words.states]"),
        (PLAIN + 'status = { take = "A", words = { "" = "held" } }\n', "A blank says nothing"),
        (PLAIN + 'object = "No"\n', "told once, below [list]"),
        (PLAIN + '[[rows]]\nsheet = "condition"\n', "Did you mean 'conditions'?"),
        (PLAIN + '[[rows]]\nsheet = "pictures"\n[rows.columns]\n', "A picture needs its file"),
        (
            PLAIN + '[[rows]]\nsheet = "conditions"\n[rows.columns]\nplace = { say = "all" }\nphenomenon = "A"\n',
            "Every row of conditions needs observed_on",
        ),
        (
            PLAIN + '[[rows]]\nsheet = "components"\n[rows.columns]\ncomponent = { numbered = 3 }\nname = "A"\n',
            "M1, M2",
        ),
        (PLAIN + '[[leave_out]]\nname = "r"\nheading = "A"\n', "asks one thing"),
        (PLAIN + '[[leave_out]]\nname = "r"\nheading = "A"\nis = []\n', "Name at least one word"),
        (
            PLAIN + '[[leave_out]]\nname = "r"\nheading = "A"\nblank = true\n[[keep_only]]\nname = "r"\nheading = "A"\n'
            "blank = false\n",
            "Two rules have this name",
        ),
        (PLAIN + '[dates]\nranges = "either"\n', "from to"),
        (PLAIN + '[dates]\nabout = ["19"]\n', "holds no digit"),
        (PLAIN + '[dates]\nmonths = ["Januar"]\n', "Name all 12"),
        (PLAIN + '[dates]\nblank_end = "year"\n', "Did you mean 'that year'?"),
        (PLAIN + '[dates]\nby_column = ["days"]\n', "Below [dates] stand"),
        (PLAIN + '[dates]\nparts = { Anfang = "begining" }\n', "Did you mean 'beginning'?"),
        (PLAIN + '[dates]\nphrases = { Victorian = "1837-1901" }\n', "Did you mean '1837/1901'?"),
        (PLAIN + 'made = { date = "A", phrases = { Victorian = "1901/1837" } }\n', "lies before the start"),
        (PLAIN + 'made = { date = "A", phrases = { "n.d." = "1900" } }\n', "stands for no date"),
        (PLAIN + 'made = { date = "A", phrases = { "?" = "1900" } }\n', "stands for no date"),
        (PLAIN + 'made = { date = "A", phrases = "eras" }\n', "There is no table [words.eras]"),
        (PLAIN + 'made = { date = "A", short_years = "yes" }\n', "Does 1910-12 mean"),
        (PLAIN + 'maker = { take = "A", phrases = { x = "1900" } }\n', "beside a `date` only"),
    ],
)
def test_a_fault_of_a_mapping_is_a_sentence(text: str, sentence: str) -> None:
    """What is wrong, where, and what is allowed."""
    found = faults_of(text)
    assert any(sentence in each for each in found), found
    assert all(each.startswith("map.toml") for each in found)


def test_all_faults_of_a_mapping_are_told_at_once(db: Path, tmp_path: Path) -> None:
    """With their lines, so that the registrar mends the file once."""
    text = PLAIN.replace('"utf-8"', '"utf9"').replace('lead = "Nora Pike"\n', "") + (
        'makr = "M"\nmade = { say = "1910" }\n'
    )
    files = write(tmp_path / "a", "No,Title,Kind\n", text)
    with pytest.raises(InputRefused) as caught:
        load.ingest(db, files[0], mapping=files[1])
    lines = text.splitlines()
    assert [(f.row, f.column) for f in caught.value.faults] == [
        (None, "lead"),
        (lines.index('encoding = "utf9"') + 1, "list.encoding"),
        (lines.index('makr = "M"') + 1, "objects.makr"),
        (lines.index('made = { say = "1910" }') + 1, "objects.made"),
    ]


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(
    st.recursive(
        st.none() | st.booleans() | st.integers(-3, 3) | st.text(max_size=4) | st.floats(allow_nan=False),
        lambda inner: (
            st.lists(inner, max_size=3)
            | st.dictionaries(
                st.sampled_from(
                    [
                        "survey",
                        "list",
                        "objects",
                        "rows",
                        "columns",
                        "title",
                        "made",
                        "take",
                        "say",
                        "date",
                        "words",
                        "part",
                        "parted_by",
                        "each",
                        "sheet",
                        "dates",
                        "about",
                        "is",
                        "leave_out",
                        "encoding",
                        "object",
                        "ranges",
                    ]
                ),
                inner,
                max_size=4,
            )
        ),
        max_leaves=12,
    )
)
def test_no_tables_however_odd_raise(held: Any) -> None:
    """Whatever TOML can hold, a mapping of it is read or has faults."""
    given_tables = held if isinstance(held, dict) else {"objects": held}
    base = tomllib.loads(PLAIN)
    for tables in (given_tables, {**base, **given_tables}, {**base, "objects": given_tables}):
        mapping, faults = read_mapping(MapText("map.toml", ""), tables)
        assert (mapping is None) == bool(faults)


# What only evidence may say


CLEARING = [
    ("schemes", "period", "later"),
    ("schemes", "period", "restoration"),
    ("schemes", "period", "recent"),
    ("schemes", "period", "original"),
    ("layers", "period", "original"),
    ("layers", "coverage", "absent"),
    ("layers", "role", "dirt"),
    ("layers", "binder", "wax"),
    ("components", "origin", "original"),
    ("components", "origin", "replaced"),
    ("components", "presence", "missing"),
    ("samples", "reaches_support", "yes"),
    ("samples", "chosen", "random"),
    ("samples", "place", "all"),
    ("tests", "place", "all"),
    ("tests", "application", "immersion"),
    ("responses", "response", "none seen"),
    ("decorations", "state", "lost"),
    ("decorations", "state", "not found"),
    ("conditions", "severity", "0"),
    ("conditions", "active", "no"),
    ("conditions", "observed_on", "2019"),
    ("conditions", "place", "Z1"),
    ("treatment_steps", "action", "strip"),
    ("treatment_steps", "place", "all"),
    ("treatment_steps", "removed", "1"),
    ("treatments", "outcome", "tried and failed"),
    ("claims", "status", "refuted"),
    ("claims", "status", "confirmed"),
    ("claims", "resolved_by", "report"),
    ("hazards", "status", "not found"),
    ("hazards", "status", "controlled"),
    ("hazards", "component", "body"),
    ("proposals", "permission", "given"),
    ("schemes", "keep", "may go"),
    ("schemes", "decided_by", "A"),
    ("schemes", "component", "body"),
    ("layers", "scheme", "9"),
    ("zones", "area_m2", "2"),
    ("zones", "visibility", "hidden"),
    ("objects", "made", "1910"),
    ("objects", "status", "left"),
    ("advice", "done_by", "T1"),
    ("reserves", "place", "body"),
    ("layers", "colour", "red"),
]


@pytest.mark.parametrize(("sheet", "column", "word"), CLEARING)
def test_a_mapping_may_not_say_what_would_clear(sheet: str, column: str, word: str) -> None:
    """Nobody looked, so the mapping's reader refuses it, however it is written."""
    record = BY_SHEET[sheet]
    sentence = why_not(record, record.column(column), word)
    assert sentence is not None
    assert sentence.endswith("the cells then stay with the record.")
    where = (
        "[objects]\n"
        if sheet == "objects"
        else f'[objects]\ntitle = "Title"\nkind = "Kind"\n[[rows]]\nsheet = "{sheet}"\n[rows.columns]\n'
    )
    for said in (
        f'{{ say = "{word}" }}',
        f'{{ take = "A", when_blank = "{word}" }}',
        f'{{ take = "A", when_none = "{word}" }}',
        f'{{ take = "A", when_unknown = "{word}" }}',
    ):
        found = faults_of(SURVEY + LIST + where + f"{column} = {said}\n")
        assert any(sentence in each for each in found), found


@pytest.mark.parametrize("term", ["?", "-", "N/A", "Unknown", "not examined"])
def test_what_says_nothing_is_not_translated_into_a_find(term: str) -> None:
    """A term of somebody who did not look or does not know stands for no word that would clear; for others it may."""
    rows = PLAIN + '[[rows]]\nsheet = "layers"\n[rows.columns]\nsample = "S"\nposition = "P"\nrole = "R"\n'
    clearing = rows + f'coverage = {{ take = "C", words = {{ "{term}" = "absent" }} }}\n'
    assert any("says nothing" in each for each in faults_of(clearing))
    assert faults_of(rows + f'period = {{ take = "C", words = {{ "{term}" = "unknown" }} }}\n') == []
    assert faults_of(clearing.replace(f'"{term}"', '"none left"')) == []


def test_every_closed_list_was_thought_of() -> None:
    """Of each closed list some words are allowed, by name, or none; all that are allowed are words of the list."""
    for (sheet, name), allowed in WORDS_THAT_CLEAR_NOTHING.items():
        column = BY_SHEET[sheet].column(name)
        assert column.words is not None
        assert set(allowed) < set(column.words.words) or name in ("method", "kind", "counted_from", "priority")
    for record in SHEETS:
        for column in record.columns():
            if column.words is not None and not column.words.open_list and column.name != "audience":
                said = {word for word in column.words.words if why_not(record, column, word) is None}
                assert said == set(WORDS_THAT_CLEAR_NOTHING.get((record.sheet, column.name), ()))
                assert not said & (words.LATER_PERIODS | {"absent", "not found", "refuted", "controlled", "none seen"})
