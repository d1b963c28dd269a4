"""Our words in the Getty Art & Architecture Thesaurus: those for which `schema/reference/terms.csv` has an exact match.

A word that has only a wider, narrower or related one there, or several, carries its label alone: a number would say more
than anybody saw.
"""

from __future__ import annotations

import csv
from functools import cache

from collection.output.export.linked_art.context import AAT, Json
from collection.values.resources import schema_file

_KINDS = {
    ("layers", "role"): "role",
    ("responses", "role"): "role",
    ("layers", "binder"): "binder",
    ("treatment_steps", "adds_binder"): "binder",
    ("tests", "action"): "action",
    ("treatment_steps", "action"): "action",
    ("proposal_steps", "action"): "action",
    ("conditions", "phenomenon"): "phenomenon",
    ("tests", "agent"): "agent",
    ("treatment_steps", "agent"): "agent",
    ("proposal_steps", "agent"): "agent",
}
"""The list of words in the table by sheet and column."""


@cache
def numbers() -> dict[tuple[str, str], str]:
    """The thesaurus number of each word that has exactly one, by kind of word and word."""
    lines = csv.DictReader(schema_file("reference/terms.csv").read_text("utf-8").splitlines())
    return {(line["kind"], line["word"]): line["aat_id"] for line in lines if line["match"] == "exact"}


def term(sheet: str, column: str, word: str, kind: str = "Type") -> Json:
    """A word as a type or material, with its number where it has one."""
    number = numbers().get((_KINDS.get((sheet, column), ""), word))
    return {**({"id": f"{AAT}{number}"} if number else {}), "type": kind, "_label": word}


def document_term(word: str) -> Json:
    """A word of documentation itself: `sample`, `sampling`."""
    return {"id": f"{AAT}{numbers()['document', word]}", "type": "Type", "_label": word}
