"""Codes that a blank survey hands out: never in use, nearly so, or handed out twice."""

from __future__ import annotations

from pathlib import Path

import pytest
from blank_forms import PUMP, TRAM, fill_folder, prepared
from hypothesis import given
from hypothesis import strategies as st

from collection.ingest.blank import blank_survey
from collection.ingest.blank.codes import LETTERS, ROOM, hand_out, kin_of
from collection.ingest.load import ingest
from collection.language.errors import BadValue
from collection.records.cells import read_cell
from collection.records.codes import CODE_COLUMN, OWN_CODES, fold
from collection.records.sheets import BY_SHEET, Survey
from collection.store import survey_rows
from collection.store.base import database
from collection.store.changes import corrections


def survey_codes() -> st.SearchStrategy[str]:
    def is_code(text: str) -> bool:
        try:
            return read_cell(Survey.column("code"), text) == text and len(text) <= 80 - ROOM
        except BadValue:
            return False

    return st.text(st.sampled_from("hH034 -Sé²Z"), min_size=1, max_size=6).filter(is_code)


@pytest.mark.slow
@given(survey_codes(), st.data())
def test_a_code_handed_out_is_never_in_use_nor_nearly_so(survey: str, data: st.DataObject) -> None:
    """Whatever is stored, in any writing, no code handed out equals it once case, blanks, width and zeros go."""
    plain = st.builds(
        lambda kind, number, width: f"{survey}-{kind}{number:0{width}d}",
        st.sampled_from(sorted(LETTERS.values())),
        st.integers(0, 30),
        st.integers(1, 4),
    )
    texts = st.builds(
        lambda code, written: written(code),
        plain,
        st.sampled_from([str, str.lower, str.upper, lambda code: code.replace("-", " -")]),
    )
    in_use = {sheet: data.draw(st.lists(texts, max_size=12)) for sheet in LETTERS}
    taken = {sheet: {fold(code) for each in kin_of(sheet) for code in in_use[each]} for sheet in LETTERS}
    codes = hand_out(survey, ["A", "B/1"], taken)
    for sheet, by_object in codes.items():
        given_out = [code for each in by_object.values() for code in each]
        folded = {fold(code) for each in kin_of(sheet) for own in codes[each].values() for code in own}
        assert len({fold(code) for code in given_out}) == len(given_out)
        assert len(folded) == sum(len(own) for each in kin_of(sheet) for own in codes[each].values())
        assert not folded & taken[sheet]
        assert all(read_cell(BY_SHEET[sheet].column(CODE_COLUMN[sheet]), code) == code for code in given_out)


@given(survey_codes(), survey_codes())
def test_two_surveys_never_hand_out_the_same_code(one: str, other: str) -> None:
    """Two laptops collide only where their surveys' own codes are nearly the same, which the intake refuses."""

    def folded(survey: str) -> set[str | None]:
        return {fold(code) for own in hand_out(survey, [], {}).values() for codes in own.values() for code in codes}

    assert (folded(one) & folded(other) != set()) == (fold(one) == fold(other))


def test_withdrawn_codes_are_not_handed_out_again(db: Path) -> None:
    """A sample that was taken out of account keeps its code, on whatever object it lies."""
    blank = prepared(db, PUMP)
    first = blank.codes["samples"][PUMP][0]
    package = db.parent / "p"
    blank_survey.write(blank, package)
    fill_folder(
        package,
        {"title": "T", "lead": "L", "started": "2034", "code": "H34"},
        [{"object": PUMP, "sample": first.lower(), "place": "all", "method": "surface"}],
    )
    ingest(db, package)
    corrections.withdraw(db, "samples", f"{PUMP}/{first.lower()}", by="T. Ester", why="mistaken")
    again = prepared(db, TRAM)
    assert again.codes["samples"][TRAM][0] == "H34-S02"
    with database.opened(db, write=False) as connection:
        assert fold(first) in survey_rows.codes_in_use(connection, ("samples",))


def test_every_kind_with_a_code_of_its_own_has_a_letter() -> None:
    """Objects alone are numbered by the museum."""
    assert set(LETTERS) == set(OWN_CODES) - {"objects"}
    assert len(set(LETTERS.values())) == len(LETTERS)
