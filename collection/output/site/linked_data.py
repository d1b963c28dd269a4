"""One published object as JSON-LD on the CIDOC Conceptual Reference Model (ISO 21127), with its context inside.

Class and property names are those of CIDOC CRM 7.1.3 in its RDF encoding, seen as OWL (erlangen-crm, ECRM 240920); P82a
and P82b are the encoding's own bounds of a time-span.
What cannot be said in them (severities, shares, intervals) stays in the JSON document that `seeAlso` names.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from collection.values.dates import UNKNOWN, bounds

Json = dict[str, Any]

CRM = "http://www.cidoc-crm.org/cidoc-crm/"
CLASSES = {
    "E3_Condition_State",
    "E11_Modification",
    "E12_Production",
    "E14_Condition_Assessment",
    "E16_Measurement",
    "E22_Human-Made_Object",
    "E25_Human-Made_Feature",
    "E30_Right",
    "E31_Document",
    "E35_Title",
    "E39_Actor",
    "E42_Identifier",
    "E52_Time-Span",
    "E54_Dimension",
    "E55_Type",
    "E57_Material",
    "E58_Measurement_Unit",
    "E78_Curated_Holding",
}
PROPERTIES = {
    "P1_is_identified_by",
    "P2_has_type",
    "P3_has_note",
    "P4_has_time-span",
    "P9_consists_of",
    "P14_carried_out_by",
    "P31i_was_modified_by",
    "P34i_was_assessed_by",
    "P35_has_identified",
    "P39i_was_measured_by",
    "P40_observed_dimension",
    "P45_consists_of",
    "P46_is_composed_of",
    "P46i_forms_part_of",
    "P56_bears_feature",
    "P70i_is_documented_in",
    "P82_at_some_time_within",
    "P82a_begin_of_the_begin",
    "P82b_end_of_the_end",
    "P90_has_value",
    "P91_has_unit",
    "P102_has_title",
    "P104_is_subject_to",
    "P108i_was_produced_by",
    "P126_employed",
    "P190_has_symbolic_content",
}
"""Every term that may be used."""
_DATES = ("P82a_begin_of_the_begin", "P82b_end_of_the_end")
CONTEXT: Json = {
    "crm": CRM,
    "xsd": "http://www.w3.org/2001/XMLSchema#",
    "rdfs": "http://www.w3.org/2000/01/rdf-schema#",
    "id": "@id",
    "type": "@type",
    "label": "rdfs:label",
    "see_also": {"@id": "rdfs:seeAlso", "@type": "@id"},
    **{name: {"@id": f"crm:{name}"} for name in sorted(PROPERTIES) if name not in _DATES},
    **{name: {"@id": f"crm:{name}", "@type": "xsd:date"} for name in _DATES},
    "P90_has_value": {"@id": "crm:P90_has_value", "@type": "xsd:double"},
    **{name: f"crm:{name}" for name in sorted(CLASSES)},
}


def linked_object(document: Mapping[str, Any], link: Callable[[str, str], str], about: Mapping[str, str]) -> Json:
    """The JSON-LD of an object's published document.

    :param link: the lasting address of a thing by its kind and code: `object`, `place`, `sample` with the code, and
        `record` with the key of a row behind its sheet (`conditions/OBJ/door/flaking/2019`).
    :param about: what the published file says of itself; of it whose collection this is.
    """
    record, code = document["record"], document["object"]
    own = link("object", code)
    made = _without_blanks(
        {
            "type": "E12_Production",
            "P4_has_time-span": _span(record.get("made"), record.get("made")),
            "P14_carried_out_by": record.get("maker") and {"type": "E39_Actor", "label": record["maker"]},
        }
    )
    notes = [document["survival"]["sentence"]]
    if document["invented"]:
        notes.append("Invented demonstration data. No such object, place or person exists.")
    return {
        "@context": CONTEXT,
        **_without_blanks(
            {
                "id": own,
                "type": "E22_Human-Made_Object",
                "label": document["title"],
                "P1_is_identified_by": [{"type": "E42_Identifier", "P190_has_symbolic_content": code}],
                "P102_has_title": {"type": "E35_Title", "P190_has_symbolic_content": document["title"]},
                "P2_has_type": _type(record["kind"]),
                "P45_consists_of": record.get("materials") and {"type": "E57_Material", "label": record["materials"]},
                "P108i_was_produced_by": made if len(made) > 1 else None,
                "P3_has_note": notes,
                "P46_is_composed_of": _parts(document, link),
                "P56_bears_feature": [_zone(row, link) for row in document["zones"]],
                "P34i_was_assessed_by": [_condition(row, link) for row in document["conditions"]],
                "P31i_was_modified_by": [_treatment(row, link) for row in document["treatments"]],
                "P39i_was_measured_by": [_reading(row, link) for row in document["samples"]],
                "P46i_forms_part_of": _part_of(record, link, about),
                "P70i_is_documented_in": [
                    *_records_of(own, document, about),
                    *(
                        {"type": "E31_Document", "label": row["title"], "P2_has_type": _type("survey")}
                        for row in document["surveys"]
                    ),
                ],
                "see_also": f"{own}.json",
            }
        ),
    }


def _part_of(record: Json, link: Callable[[str, str], str], about: Mapping[str, str]) -> list[Json] | Json:
    """The object that it is a part of, and the collection that it belongs to."""
    whole = record.get("part_of")
    found = [{"id": link("object", whole), "type": "E22_Human-Made_Object"}] if whole else []
    if about.get("collection_name"):
        holding = {"type": "E78_Curated_Holding", "label": about["collection_name"]}
        code = about.get("collection_code")
        found.append(
            _without_blanks(
                {
                    "id": about.get("collection_address"),
                    **holding,
                    "P1_is_identified_by": code and {"type": "E42_Identifier", "P190_has_symbolic_content": code},
                }
            )
        )
    return found[0] if len(found) == 1 else found


def _records_of(own: str, document: Mapping[str, Any], about: Mapping[str, str]) -> list[Json]:
    """The records themselves, where it is said under what they may be used."""
    licence = about.get("collection_licence")
    if not licence:
        return []
    return [
        {
            "id": f"{own}.json",
            "type": "E31_Document",
            "label": f"Records of {document['title']}",
            "P104_is_subject_to": {"type": "E30_Right", "label": licence},
        }
    ]


def _parts(document: Mapping[str, Any], link: Callable[[str, str], str]) -> list[Json]:
    """Each part once, under its newest name."""
    found: dict[str, Json] = {}
    for row in document["components"]:
        found[row["component"]] = _without_blanks(
            {
                "id": link("place", row["component"]),
                "type": "E22_Human-Made_Object",
                "label": row["name"],
                "P1_is_identified_by": {"type": "E42_Identifier", "P190_has_symbolic_content": row["component"]},
                "P45_consists_of": row.get("support") and {"type": "E57_Material", "label": row["support"]},
            }
        )
    return list(found.values())


def _zone(row: Json, link: Callable[[str, str], str]) -> Json:
    return _without_blanks(
        {
            "id": link("place", row["zone"]),
            "type": "E25_Human-Made_Feature",
            "label": row.get("name") or row["zone"],
            "P1_is_identified_by": {"type": "E42_Identifier", "P190_has_symbolic_content": row["zone"]},
        }
    )


def _condition(row: Json, link: Callable[[str, str], str]) -> Json:
    return _without_blanks(
        {
            "id": link("record", f"conditions/{row['key']}"),
            "type": "E14_Condition_Assessment",
            "label": f"{row['phenomenon']} at {row['place']}",
            "P4_has_time-span": _span(row["observed_on"], row["observed_on"]),
            "P14_carried_out_by": row.get("observed_by") and {"type": "E39_Actor", "label": row["observed_by"]},
            "P35_has_identified": None
            if row.get("severity") == 0
            else {"type": "E3_Condition_State", "P2_has_type": _type(row["phenomenon"])},
        }
    )


def _treatment(row: Json, link: Callable[[str, str], str]) -> Json:
    return _without_blanks(
        {
            "id": link("record", f"treatments/{row['key']}"),
            "type": "E11_Modification",
            "label": row["purpose"],
            "P4_has_time-span": _span(row.get("started") or row.get("ended"), row.get("ended") or row.get("started")),
            "P14_carried_out_by": row.get("treated_by") and {"type": "E39_Actor", "label": row["treated_by"]},
            "P9_consists_of": [
                _without_blanks(
                    {
                        "id": link("record", f"treatment_steps/{step['key']}"),
                        "type": "E11_Modification",
                        "P2_has_type": _type(step["action"]),
                        "label": f"{step['action']} at {step['place']}",
                        "P126_employed": step.get("agent") and {"type": "E57_Material", "label": step["agent"]},
                    }
                )
                for step in row["treatment_steps"]
            ],
        }
    )


def _reading(row: Json, link: Callable[[str, str], str]) -> Json:
    """A sample as the measurement it is, with the thickness of each coat that has one."""
    return _without_blanks(
        {
            "id": link("sample", row["sample"]),
            "type": "E16_Measurement",
            "label": f"{row['method']} at {row['place']}",
            "P1_is_identified_by": {"type": "E42_Identifier", "P190_has_symbolic_content": row["sample"]},
            "P4_has_time-span": _span(row.get("taken_on"), row.get("taken_on")),
            "P14_carried_out_by": row.get("taken_by") and {"type": "E39_Actor", "label": row["taken_by"]},
            "P40_observed_dimension": [
                {
                    "id": link("record", f"layers/{coat['key']}"),
                    "type": "E54_Dimension",
                    "label": f"thickness of coat {coat['position']}, {coat['role']}",
                    "P90_has_value": coat["thickness_um"],
                    "P91_has_unit": {"type": "E58_Measurement_Unit", "label": "µm"},
                }
                for coat in row["layers"]
                if coat.get("thickness_um") is not None
            ],
        }
    )


def _type(word: str) -> Json:
    return {"type": "E55_Type", "label": word}


def _span(start: str | None, end: str | None) -> Json | None:
    """A time-span between two EDTF dates; an end that is open is left out."""
    if start is None or end is None:
        return None
    first, last = bounds(start).earliest, bounds(end).latest
    said = {"P82_at_some_time_within": start if start == end else f"{start} to {end}"}
    if first > UNKNOWN.earliest:
        said["P82a_begin_of_the_begin"] = first
    if last < UNKNOWN.latest:
        said["P82b_end_of_the_end"] = last
    return {"type": "E52_Time-Span", **said}


def _without_blanks(row: Json) -> Json:
    return {name: value for name, value in row.items() if value not in (None, "", [])}
