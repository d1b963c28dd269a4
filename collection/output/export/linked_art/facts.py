"""Reads a document of ours back: the facts that it carries, in the form of an object's published document."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from collection.output.export.linked_art import beside
from collection.output.export.linked_art.context import Json
from collection.output.export.linked_art.document import WITHIN, forms_of
from collection.output.export.linked_art.forms import Cell, first
from collection.output.export.linked_art.ids import Ids
from collection.output.export.linked_art.shapes import REMOVAL, SHAPES, is_dated
from collection.records.row import key_text
from collection.records.sheets import BY_SHEET


def facts_from(document: Mapping[str, Any]) -> Json:
    """The facts that a document carries: `record`, the rows of every sheet, `surveys`, `survival`, `listed`,
    `invented`, `changed_on`.

    A row has its key, its columns that are not blank, its survey and source row, as in the published document; columns of
    `shapes.NOT_CARRIED` are not in it.

    :raises KeyError: where it is no document of this form.
    """
    root = dict(document)
    code = first(root["identified_by"], "Identifier")
    assert code is not None
    ids = _ids(root["id"], code["content"])
    reading = _Reading(ids, {each["id"]: each["identified_by"][0]["content"] for each in root.get("fc:surveys", ())})
    survival = next(each for each in root["attributed_by"] if each.get("classified_as") == [beside.SURVIVAL])
    found: Json = {
        "object": code["content"],
        "title": root["_label"],
        "record": reading.row("objects", root, {"object": code["content"]}),
        "changed_on": root.get("fc:changed_on", ""),
        "invented": root.get("fc:invented", False),
        "surveys": [reading.row("survey", each, {}) for each in root.get("fc:surveys", ())],
        "survival": beside.survival_from(survival, ids),
    }
    for sheet in SHAPES:
        if sheet not in ("objects", "survey", *WITHIN):
            found[sheet] = list(reading.rows(sheet, root))
    found["listed"] = [beside.listed_from(each, reading.surveys) for each in root.get("fc:listed", ())]
    return found


def _ids(found: str, code: str) -> Ids:
    """The ids of a document; only what is asked of `code_of` depends on its form."""
    ids = Ids(code, None)
    ids.object = found
    return ids


class _Reading:
    def __init__(self, ids: Ids, surveys: Mapping[str, str]) -> None:
        self.ids, self.surveys = ids, surveys

    def rows(self, sheet: str, root: Json) -> Iterator[Json]:
        """The rows of a sheet that does not stand inside another."""
        around = {"object": self.ids.code}
        if is_dated(sheet):
            code = BY_SHEET[sheet].key[1]
            for thing in self._things(sheet, root):
                own = {**around, code: thing["identified_by"][0]["content"]}
                yield from (self.row(sheet, node, own) for node in thing["attributed_by"])
            return
        for node in self._nodes(sheet, root):
            row = self.row(sheet, node, around)
            for inner in (each for each, outer in WITHIN.items() if outer == sheet):
                code = BY_SHEET[sheet].key[1]
                own = {**around, code: row[code]}
                row[inner] = [self.row(inner, each, own) for each in node.get(SHAPES[inner].at, ())]
            if sheet == "proposals":
                row["decisions"] = [beside.decision_from(each, self.ids) for each in node.get("attributed_by", ())]
            yield row

    def row(self, sheet: str, node: Json, around: Mapping[str, str]) -> Json:
        """One row as published."""
        removed = sheet == "samples" and REMOVAL[0] in node
        said = dict(around)
        for name, form in forms_of(sheet, removed=removed):
            value = form.read(node, Cell(sheet, name, self.ids))
            if value is not None:
                said[name] = value
        if sheet == "survey":
            return said
        survey = node.get("fc:recorded_in")
        found = {
            "key": key_text(sheet, [said.get(name) for name in BY_SHEET[sheet].key]),
            **said,
            "survey": None if survey is None else self.surveys[survey["id"]],
            "from_row": node.get("fc:source_row"),
        }
        if sheet in ("pictures", "drawings"):
            shown = node.get("digitally_shown_by")
            found["file"] = shown[0]["fc:file"] if shown else None
        return found

    def _nodes(self, sheet: str, root: Json) -> list[Json]:
        shape = SHAPES[sheet]
        found: list[Json] = root.get(shape.at, [])
        return found if shape.is_a is None else [n for n in found if shape.is_a in n.get("classified_as", ())]

    def _things(self, sheet: str, root: Json) -> list[Json]:
        thing = SHAPES[sheet].thing
        assert thing is not None
        state = SHAPES[sheet].is_a
        return [
            node
            for node in root.get(thing[0], ())
            if "attributed_by" in node and state in node["attributed_by"][0].get("classified_as", ())
        ]
