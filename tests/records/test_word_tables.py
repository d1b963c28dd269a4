"""Every word of a closed list that computing ranks or translates has its row there; the failure names word and table."""

from __future__ import annotations

from collections.abc import Collection

import pytest

from collection.compute.build_up.actions import KIND_OF_ACTION
from collection.compute.survival import decorations
from collection.compute.survival.survival import HOW_CHOSEN
from collection.language import words, work_words
from collection.language.word_list import WordList
from collection.records.policy import default_policy
from collection.values import reference


@pytest.mark.parametrize(
    ("listed", "rows", "table"),
    [
        (work_words.APPLICATION, work_words.WETTING_RUBBING, "WETTING_RUBBING in collection/language/work_words.py"),
        (work_words.ACTION, KIND_OF_ACTION, "_KINDS in collection/compute/build_up/actions.py"),
        (words.SEVERITY, words.SEVERITY_SPOKEN, "SEVERITY_SPOKEN in collection/language/words.py"),
        (words.BINDER, reference.binder_notes(), "schema/reference/binders.csv"),
        (words.COVERAGE, default_policy().cover, "the table cover of schema/policy.toml"),
        (work_words.RESPONSE, default_policy().response, "the table response of schema/policy.toml"),
        (words.CHOSEN, HOW_CHOSEN, "HOW_CHOSEN in collection/compute/survival/survival.py"),
        (words.DECORATION_STATE, decorations._STATE, "_STATE in collection/compute/survival/decorations.py"),
        (words.DECORATION_STATE, decorations._AS_LEVEL, "_AS_LEVEL in collection/compute/survival/decorations.py"),
    ],
    ids=lambda value: value.name if isinstance(value, WordList) else "",
)
def test_every_word_has_its_row(listed: WordList, rows: Collection[str], table: str) -> None:
    missing = [word for word in listed.words if word not in rows]
    assert not missing, f"{table} has no row for {', '.join(missing)} of the list {listed.name!r}"
