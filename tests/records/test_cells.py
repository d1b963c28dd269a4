"""One cell: what is read from it, and what is refused with a sentence."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import value

from collection.language.errors import BadValue
from collection.records import cells
from collection.records.cells import CLEAR
from collection.records.row import Record
from collection.records.sheets import BY_SHEET, SHEETS

BY, WHY = "A. Surveyor", "seen again"


@given(st.data(), st.sampled_from([(cls, c) for cls in SHEETS for c in cls.columns() if not c.reference]))
def test_what_a_column_can_hold_is_read_as_it_is(data: st.DataObject, of: tuple[type[Record], Any]) -> None:
    _cls, column = of
    wanted = data.draw(value(column))
    text = repr(wanted) if isinstance(wanted, float) else str(wanted)
    assert cells.read_cell(column, f"  {text}\n") == wanted


@given(st.sampled_from([c for cls in SHEETS for c in cls.columns()]), st.text(max_size=40))
def test_any_text_is_a_value_or_a_sentence(column: Any, text: str) -> None:
    """Nothing else is raised, and what is accepted fits the record."""
    fault = found = None
    try:
        found = cells.read_cell(column, text)
    except BadValue as refused:
        fault = refused
    if fault is not None:
        assert str(fault).endswith((".", "?"))
    elif found is None:
        assert not text.strip()
    elif found is CLEAR:
        assert not column.required
    elif column.is_number:
        assert column.low is None or found >= column.low
        assert column.high is None or found <= column.high
        assert str(found) != "-0.0"
    else:
        assert isinstance(found, str)
        assert found
        assert found == cells.clean(found)
        assert not any(ord(sign) < 32 and sign not in "\n\t" for sign in found)


@pytest.mark.parametrize(
    ("sheet", "column", "text", "said"),
    [
        ("zones", "zone", "a/b", "Only the number of an object"),
        ("zones", "zone", "ALL", "whole object"),
        ("components", "component", "all", "whole object"),
        ("zones", "zone", "x" * 81, "at most 80"),
        ("zones", "zone", "a\u200bb", "invisible"),
        ("zones", "zone", "a\tb", "tabs"),
        ("objects", "title", "x" * 20_001, "at most 20000"),
        ("pictures", "file", "../secret.png", "in the package"),
        ("pictures", "file", "C:\\a.png", "with / between"),
        ("pictures", "file", "/etc/a.png", "in the package"),
        ("treatment_steps", "removed", "1/varnish/x", "scheme and a role"),
        ("treatment_steps", "removed", "/varnish", "scheme"),
        ("zones", "outline", "0,0 1e4000,0 1,1", "no outline"),
        ("zones", "outline", "0,0 1e400,0 1,1", "beyond"),
        ("samples", "x", "1e10", "-1e+09 to 1e+09"),
        ("tests", "passes", "1.5", "whole number"),
        ("survey", "started", "2001-02-30", "no day 30"),
        ("objects", "title", "a\x1b[31mred", "U+001B"),
    ],
)
def test_cells_that_are_refused(sheet: str, column: str, text: str, said: str) -> None:
    with pytest.raises(BadValue, match=r"(?s).*") as fault:
        cells.read_cell(BY_SHEET[sheet].column(column), text)
    assert said in str(fault.value)


@pytest.mark.parametrize(
    ("sheet", "column", "text", "stored"),
    [
        ("objects", "object", " 1937/2 ", "1937/2"),
        ("samples", "place", "All", "all"),
        ("objects", "title", "A\u030a", "Å"),
        ("objects", "title", "a\r\nb", "a\nb"),
        ("treatment_steps", "removed", "1 / Clear coat", "1/varnish"),
        ("layers", "binder", "French  polish", "shellac"),
        ("conditions", "phenomenon", "Wet rot", "Wet rot"),
        ("conditions", "phenomenon", "Blisters", "blistering"),
        ("layers", "lab_a", "-0", 0.0),
        ("layers", "notes", "not recorded", CLEAR),
        ("layers", "notes", "\u00a0", None),
    ],
)
def test_cells_that_are_read(sheet: str, column: str, text: str, stored: Any) -> None:
    found = cells.read_cell(BY_SHEET[sheet].column(column), text)
    assert found == stored
    assert str(found) == str(stored)


@pytest.mark.parametrize(
    ("word", "texts"), [("yes", "ja Oui sí si x X ✓ ✔ WAHR 1"), ("no", "nein non nee nej não FALSCH ✗ 0")]
)
def test_yes_and_no_of_another_language_or_a_sign_are_offered_and_not_taken(word: str, texts: str) -> None:
    """Somebody whose form says `ja` is told `yes`, and answers it: what a cross means nobody can know from outside."""
    for sheet, name in (("samples", "reaches_support"), ("tests", "after_drying"), ("conditions", "active")):
        for text in texts.split():
            with pytest.raises(BadValue, match="Allowed: yes, no") as caught:
                cells.read_cell(BY_SHEET[sheet].column(name), text)
            assert (text, caught.value.nearest) == (text, word)
