"""The names that a document uses, and the context that says what each of them means.

Where Linked Art (linked.art, context of version 1) has a name, that is used: `HumanMadeObject`, `modified_by`. Each stands
for a term of the CIDOC CRM. What neither has a word for stands under `fc:`, our own name space. The context goes inside
every document, with the names used and no others: a document has to say what it means in forty years too, without a
network and without anybody's server; the address of a published context promises neither.
"""

from __future__ import annotations

from typing import Any

Json = dict[str, Any]

CRM = "http://www.cidoc-crm.org/cidoc-crm/"
AAT = "http://vocab.getty.edu/aat/"
OWN = "urn:uuid:7204569e-dca6-4ead-93d0-0e6952e92485#"
"""Our name space: a name, no address, so that it needs no web site to stay ours. The export holds its vocabulary."""

_EVENT = ("crm:P9_consists_of", "crm:P9i_forms_part_of")
_PHYSICAL = ("crm:P46_is_composed_of", "crm:P46i_forms_part_of")
_SYMBOLIC = ("crm:P106_is_composed_of", "crm:P106i_forms_part_of")
CLASSES: dict[str, tuple[str, tuple[str, str] | None]] = {
    "Activity": ("crm:E7_Activity", _EVENT),
    "Modification": ("crm:E11_Modification", _EVENT),
    "Production": ("crm:E12_Production", _EVENT),
    "AttributeAssignment": ("crm:E13_Attribute_Assignment", _EVENT),
    "Creation": ("crm:E65_Creation", _EVENT),
    "PartAddition": ("crm:E79_Part_Addition", _EVENT),
    "PartRemoval": ("crm:E80_Part_Removal", _EVENT),
    "HumanMadeObject": ("crm:E22_Human-Made_Object", _PHYSICAL),
    "HumanMadeFeature": ("crm:E25_Human-Made_Feature", _PHYSICAL),
    "PhysicalFeature": ("crm:E26_Physical_Feature", _PHYSICAL),
    "LinguisticObject": ("crm:E33_Linguistic_Object", _SYMBOLIC),
    "InformationObject": ("crm:E73_Information_Object", _SYMBOLIC),
    "VisualItem": ("crm:E36_Visual_Item", _SYMBOLIC),
    "Identifier": ("crm:E42_Identifier", None),
    "Name": ("crm:E33_E41_Linguistic_Appellation", None),
    "ConditionState": ("crm:E3_Condition_State", None),
    "ConditionAssessment": ("crm:E14_Condition_Assessment", None),
    "DesignOrProcedure": ("crm:E29_Design_or_Procedure", None),
    "Document": ("crm:E31_Document", None),
    "Right": ("crm:E30_Right", None),
    "Actor": ("crm:E39_Actor", None),
    "Person": ("crm:E21_Person", None),
    "Group": ("crm:E74_Group", None),
    "CuratedHolding": ("crm:E78_Curated_Holding", None),
    "TimeSpan": ("crm:E52_Time-Span", None),
    "Dimension": ("crm:E54_Dimension", None),
    "MeasurementUnit": ("crm:E58_Measurement_Unit", None),
    "Type": ("crm:E55_Type", None),
    "Material": ("crm:E57_Material", None),
    "DigitalObject": ("dig:D1_Digital_Object", None),
}
"""Each class, with what `part` and `part_of` mean in it."""
LINKS = {
    "identified_by": "crm:P1_is_identified_by",
    "classified_as": "crm:P2_has_type",
    "carried_out_by": "crm:P14_carried_out_by",
    "modified": "crm:P31_has_modified",
    "modified_by": "crm:P31i_was_modified_by",
    "technique": "crm:P32_used_general_technique",
    "specific_technique": "crm:P33_used_specific_technique",
    "concerned": "crm:P34_concerned",
    "identified": "crm:P35_has_identified",
    "dimension": "crm:P43_has_dimension",
    "made_of": "crm:P45_consists_of",
    "bears": "crm:P56_bears_feature",
    "referred_to_by": "crm:P67i_is_referred_to_by",
    "foresees_use_of": "crm:P68_foresees_use_of",
    "documented_in": "crm:P70i_is_documented_in",
    "subject_to": "crm:P104_is_subject_to",
    "removed_by": "crm:P113i_was_removed_by",
    "employed": "crm:P126_employed",
    "representation": "crm:P138i_has_representation",
    "attributed_by": "crm:P140i_was_attributed_by",
    "assigned": "crm:P141_assigned",
    "digitally_shown_by": "la:digitally_shown_by",
    "access_point": "la:access_point",
}
"""Properties that lead to any number of things."""
LINK = {
    "timespan": "crm:P4_has_time-span",
    "unit": "crm:P91_has_unit",
    "created_by": "crm:P94i_was_created_by",
    "produced_by": "crm:P108i_was_produced_by",
    "augmented": "crm:P110_augmented",
    "diminished": "crm:P112_diminished",
    "assigned_to": "crm:P140_assigned_attribute_to",
}
"""Properties that lead to one thing."""
LITERALS: dict[str, Json] = {
    "_label": {"@id": "rdfs:label"},
    "note": {"@id": "crm:P3_has_note"},
    "content": {"@id": "crm:P190_has_symbolic_content"},
    "value": {"@id": "crm:P90_has_value"},
    "lower_value_limit": {"@id": "crm:P90a_has_lower_value_limit"},
    "upper_value_limit": {"@id": "crm:P90b_has_upper_value_limit"},
    "at_some_time_within": {"@id": "crm:P82_at_some_time_within"},
    "begin_of_the_begin": {"@id": "crm:P82a_begin_of_the_begin", "@type": "xsd:dateTime"},
    "end_of_the_end": {"@id": "crm:P82b_end_of_the_end", "@type": "xsd:dateTime"},
}
SETS = frozenset(LINKS) | {"part", "part_of"}
"""Properties whose value is written as a list, also of one."""


def _set_of(term: str) -> Json:
    return {"@id": term, "@type": "@id", "@container": "@set"}


def _of_class(term: str, parts: tuple[str, str] | None) -> Json:
    return {
        "@id": term,
        **({"@context": dict(zip(("part", "part_of"), map(_set_of, parts), strict=True))} if parts else {}),
    }


CONTEXT: Json = {
    "@version": 1.1,
    "crm": CRM,
    "la": "https://linked.art/ns/terms/",
    "dig": "http://www.ics.forth.gr/isl/CRMdig/",
    "rdfs": "http://www.w3.org/2000/01/rdf-schema#",
    "xsd": "http://www.w3.org/2001/XMLSchema#",
    "fc": {"@id": OWN, "@prefix": True},
    "id": "@id",
    "type": "@type",
    **{name: _of_class(*meant) for name, meant in CLASSES.items()},
    **{name: _set_of(term) for name, term in LINKS.items()},
    **{name: {"@id": term, "@type": "@id"} for name, term in LINK.items()},
    "assigned_property": {"@id": "crm:P177_assigned_property_of_type", "@type": "@vocab"},
    **LITERALS,
}
