"""One published object as JSON-LD on the CIDOC Conceptual Reference Model (ISO 21127), in the shape of Linked Art.

Every column that an audience may read is carried and comes back, value by value (`facts.py`); `shapes.py` says where each
stands. Sources: the model of Linked Art (linked.art/model) for treatments under `modified_by`, samples as parts removed,
assessments under `attributed_by` and projects; CIDOC CRM 7.1.3 for the terms beside.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any

from collection.output.export.linked_art import beside
from collection.output.export.linked_art.context import CONTEXT, Json
from collection.output.export.linked_art.forms import LOOKED_FOR, Cell, Form
from collection.output.export.linked_art.ids import Ids
from collection.output.export.linked_art.shapes import (
    REMOVAL,
    REMOVED,
    SEEN_BY_THE_SURVEY,
    SHAPES,
    TAKEN_OFF,
    carried,
    form_of,
    is_dated,
    kind,
)
from collection.output.export.linked_art.thesaurus import document_term
from collection.output.published.published_object import newest
from collection.records.sheets import BY_SHEET

INVENTED = "Invented demonstration data. No such object, place or person exists."
WITHIN = {"layers": "samples", "responses": "tests", "treatment_steps": "treatments", "proposal_steps": "proposals"}
"""Sheets whose records stand inside those of another."""
_HUNG = tuple(sheet for sheet in SHAPES if sheet not in ("objects", "survey", *WITHIN))


def linked_object(document: Mapping[str, Any], ids: Ids, about: Mapping[str, str]) -> Json:
    """The JSON-LD of an object's published document.

    :param about: what a published file says of itself; of it whose collection this is, and which program computed.
    """
    node = _record("objects", document["record"], ids)
    node = {"@context": CONTEXT, "id": node.pop("id"), "type": node.pop("type"), "_label": document["title"], **node}
    ids.name_within(node, "identified_by")
    if document["invented"]:
        node["note"] = INVENTED
        node["fc:invented"] = True
    if document.get("changed_on"):
        node["fc:changed_on"] = document["changed_on"]
    if about.get("collection_name"):
        node.setdefault("part_of", []).append(_holding(ids, about))
    node["documented_in"] = [*node.get("documented_in", ()), _records(document, ids, about)]
    for row in document["surveys"]:
        _hang(node, "fc:surveys", _record("survey", row, ids))
    for sheet in _HUNG:
        for each in (
            _things(sheet, document[sheet], ids) if is_dated(sheet) else _records_of(sheet, document[sheet], ids)
        ):
            thing = SHAPES[sheet].thing
            _hang(node, SHAPES[sheet].at if thing is None else thing[0], each)
    _hang(node, "attributed_by", beside.survival(document["survival"], ids, about))
    for row in document.get("listed", ()):
        _hang(node, "fc:listed", beside.listed(row, ids))
    return node


def _record(sheet: str, row: Mapping[str, Any], ids: Ids) -> Json:
    """The node of one record."""
    shape = SHAPES[sheet]
    found = {"objects": ids.object, "survey": ""}.get(sheet)
    node: Json = {"id": found if found else ids.survey(row["code"]) if sheet == "survey" else ids.record(sheet, row)}
    node["type"] = shape.types[0] if len(shape.types) == 1 else list(shape.types)
    if shape.is_a is not None:
        node["classified_as"] = [shape.is_a]
    removed = sheet == "samples" and row.get("method") in REMOVED
    if sheet == "samples":
        _read(node, ids, removed=removed)
    for name, form in forms_of(sheet, removed=removed):
        value = row.get(name)
        if value is not None:
            form.write(node, Cell(sheet, name, ids), value)
    survey = row.get("survey")
    if survey is not None:
        node["fc:recorded_in"] = {"id": ids.survey(survey)}
        if sheet in SEEN_BY_THE_SURVEY:
            activity = node if sheet != "samples" else node["removed_by" if removed else "attributed_by"][0]
            activity["part_of"] = [{"id": ids.survey(survey)}]
    if row.get("from_row") is not None:
        node["fc:source_row"] = row["from_row"]
    _add(sheet, node, row, ids)
    if sheet == "survey":
        ids.name_within(node)
    return node


@cache
def forms_of(sheet: str, *, removed: bool) -> tuple[tuple[str, Form], ...]:
    """How each column of a sheet stands; of a sample that was taken off, who took it and when belong to its removal."""
    found = [(column.name, form_of(sheet, column.name)) for column in carried(sheet)]
    if not removed:
        return tuple(found)
    return tuple((name, form if form.inside is None else replace(form, inside=REMOVAL)) for name, form in found)


def _read(node: Json, ids: Ids, *, removed: bool) -> None:
    """The activity by which a sample came to be: taken off the object, or read where it is."""
    if removed:
        node["type"] = TAKEN_OFF[0]
        taken = {"type": REMOVAL[1], "classified_as": [document_term("sampling")], "diminished": {"id": ids.object}}
        node[REMOVAL[0]] = [taken]
    else:
        node["attributed_by"] = [{"type": "AttributeAssignment"}]


def _add(sheet: str, node: Json, row: Mapping[str, Any], ids: Ids) -> None:
    """What a record says in the words of the models beside its columns; nothing of it has to be read back."""
    if sheet == "samples" and row.get("method") in REMOVED:
        node["classified_as"].append(document_term("sample"))
    elif sheet == "conditions" and row.get("severity") == 0:
        node[LOOKED_FOR] = node.pop("assigned")
    elif sheet == "conditions":
        node["assigned_property"] = "classified_as"
        node["identified"] = [{"type": "ConditionState", "classified_as": node["assigned"]}]
    elif sheet in ("responses", "analyses") and row.get("sample") is not None and row.get("position") is not None:
        node["assigned_to"] = {"id": ids.coat(row["sample"], row["position"])}
    elif sheet == "responses" and row.get("decoration") is not None:
        node["assigned_to"] = {"id": ids.thing("decorations", row["decoration"])}
    elif sheet == "treatment_steps" and row.get("adds") is not None:
        node["type"] = "PartAddition"
        node["augmented"] = {"id": ids.object}
    elif sheet in ("pictures", "drawings") and row.get("file") is not None:
        address = ids.file(row["file"])
        shown = {
            "type": "DigitalObject",
            "fc:file": row["file"],
            **({"access_point": [{"id": address, "type": "DigitalObject"}]} if address else {}),
        }
        node["digitally_shown_by"] = [shown]
    elif sheet == "proposals":
        for decision in row["decisions"]:
            _hang(node, "attributed_by", beside.decision(decision, node["id"], ids))


def _records_of(sheet: str, rows: list[Json], ids: Ids) -> list[Json]:
    found = []
    for row in rows:
        node = _record(sheet, row, ids)
        for inner in (each for each, outer in WITHIN.items() if outer == sheet):
            for each in row[inner]:
                _hang(node, SHAPES[inner].at, _record(inner, each, ids))
        found.append(node)
    return found


def _things(sheet: str, rows: list[Json], ids: Ids) -> list[Json]:
    """Things with dated states: each once, as its newest state has it, with every state that was seen of it."""
    thing, code = SHAPES[sheet].thing, BY_SHEET[sheet].key[1]
    assert thing is not None
    found = []
    for row in newest(rows, code):
        node: Json = {"id": ids.thing(sheet, row[code]), "type": thing[1]}
        if sheet == "components":
            node["_label"] = row["name"]
            if row.get("parent") is not None:
                node["part_of"] = [{"id": ids.thing("components", row["parent"])}]
        elif sheet == "decorations":
            node["classified_as"] = [kind("decoration", "decoration"), {"type": "Type", "_label": row["kind"]}]
        else:
            node["classified_as"] = [kind("claim", "claim")]
            node["content"] = row["statement"]
        node["identified_by"] = [{"type": "Identifier", "content": row[code]}]
        own = [each for each in rows if each[code] == row[code]]
        node["attributed_by"] = [_record(sheet, each, ids) for each in own]
        found.append(node)
    return found


def _holding(ids: Ids, about: Mapping[str, str]) -> Json:
    """The collection that the object belongs to; who owns it is private."""
    code = about.get("collection_code")
    node: Json = {
        "id": ids.collection(about.get("collection_address")),
        "type": "CuratedHolding",
        "_label": about["collection_name"],
        **({"identified_by": [{"type": "Identifier", "content": code}]} if code else {}),
    }
    ids.name_within(node)
    return node


def _records(document: Mapping[str, Any], ids: Ids, about: Mapping[str, str]) -> Json:
    """The records themselves, with what they may be used for where that is said."""
    licence = about.get("collection_licence")
    return {
        **({"id": f"{ids.object}.json"} if ids.address else {}),
        "type": "Document",
        "_label": f"Records of {document['title']}",
        **({"subject_to": [{"type": "Right", "_label": licence}]} if licence else {}),
    }


def _hang(node: Json, name: str, other: Json) -> None:
    node.setdefault(name, []).append(other)
