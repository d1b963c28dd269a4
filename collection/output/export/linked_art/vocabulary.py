"""Our own terms, each with a sentence: what Linked Art and the CIDOC CRM have no word for.

Most are columns of a sheet and mean there what the sheet says they do; the others are told here.
"""

from __future__ import annotations

from functools import cache

from collection.language.words import SHEET_NAMES
from collection.output.export.linked_art.context import OWN, Json
from collection.output.export.linked_art.shapes import SHAPES, carried, form_of

_BESIDE = {
    "samples": "leads from an object to the places where its build-up was read, taken off it or not",
    "proposals": "leads from an object to the work that somebody wants to do on it",
    "surveys": "leads from an object to the surveys from which its records come",
    "listed": "leads from an object to cells of a list that were kept as they were written",
    "recorded_in": "the survey that brought this record and answers for it",
    "source_row": "the row of the survey's sheet in which this record stands",
    "changed_on": "the day of the newest change to the object's records",
    "invented": "true where everything said is invented for a demonstration",
    "computed_by": "the program, with its version, that computed this from the records; nobody saw it",
    "looked_for": "what was looked for and not seen",
    "answered": "the advice against the work that the decision answers, with the reason beside it",
    "earlier": "what the same survey said before",
    "document": "the file of the export that holds an object's document",
    "file": "the name of the published image file",
    "at_least": "true where places without a known area would add to the figure",
    "unmeasured_places": "places whose area is not known",
    "unexamined_places": "places where nobody has looked",
    "present": "readings that found original finish",
    "read": "readings that went deep enough to find it",
    "traces": "readings that found traces alone",
    "as_of": "the day of the newest record that this rests on",
    "sentence": "what survives, in one sentence",
    "how_chosen": "how the places that were looked at were chosen",
    "withheld_readings": "readings that are counted and not published",
    **{
        f"{name}_{end}": f"{end} {'end' if end != 'middle' else ''} of {what}".replace("  ", " ")
        for name, what in (
            ("share", "the interval in which the surviving share of the place lies, 0 to 1"),
            ("surviving_m2", "the interval in which the surviving area lies, in m²"),
        )
        for end in ("low", "middle", "high")
    },
    "number": "which decision on the proposal it is, 1 = first",
    "reason": "the reason given",
    "decided_at": "when it was decided, UTC",
    "conditions": "the conditions of a decision, in order",
    "steps": "the steps of the proposal that a decision is about; all where there are none",
    "stale": "true where the records have changed since in a way that bears on the decision",
    "loss": "the loss that was approved although it was warned of, as PLACE/THING",
    "withheld": "overrides about things that are not published",
    "answers_withheld": "answers to advice that is not published",
    "heading": "the heading under which a cell stood in a list",
    "list": "the list's file name",
    "row": "the row of the list",
    "on": "the day on which the list was taken in",
    "change": "the number of the change that took it in",
    "in_account": "false where the survey was withdrawn since",
    "unit_um": "micrometre, µm",
    "kind_thickness": "thickness",
    "kind_survival": "an assertion about what survives, computed and not seen",
}
"""What is no column, and columns that mean something more elsewhere."""
_MORE = {
    "area_m2": "with an assertion about what survives: the area that it is about, in m²",
    "severity": "with an override: how bad the loss was said to be",
    "outcome": "with a decision: the worst that was warned of when it was made",
}


@cache
def own_terms() -> dict[str, str]:
    """Each term of our name space, by its name, with what it means."""
    meant: dict[str, dict[str, list[str]]] = {}
    kinds = {}
    for sheet, shape in SHAPES.items():
        if shape.is_a is not None and shape.is_a["id"].startswith("fc:"):
            kinds[shape.is_a["id"].removeprefix("fc:")] = f"a record of this kind: {shape.is_a['_label']}"
        for column in carried(sheet):
            if form_of(sheet, column.name).is_own:
                said = column.meaning + (f", in {column.unit}" if column.unit else "")
                meant.setdefault(column.name, {}).setdefault(said, []).append(SHEET_NAMES.get(sheet, sheet))
    found = {
        name: next(iter(ways))
        if len(ways) == 1
        else "; ".join(f"of a {' or '.join(sheets)}: {said}" for said, sheets in ways.items())
        for name, ways in meant.items()
    }
    kinds |= {"kind_decoration": "a decoration, with its states", "kind_claim": "a claim, with what became of it"}
    for name, said in {**_BESIDE, **_MORE, **kinds}.items():
        found[name] = f"{found[name]}; {said}" if name in found else said
    return dict(sorted(found.items()))


def vocabulary() -> Json:
    """Our own terms as a document of their own."""
    return {
        "@context": {
            "fc": {"@id": OWN, "@prefix": True},
            "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
            "rdfs": "http://www.w3.org/2000/01/rdf-schema#",
            "crm": "http://www.cidoc-crm.org/cidoc-crm/",
            "id": "@id",
            "type": "@type",
            "label": "rdfs:label",
            "comment": "rdfs:comment",
        },
        "@graph": [
            {
                "id": f"fc:{name}",
                "type": "crm:E55_Type"
                if name.startswith("kind_")
                else "crm:E58_Measurement_Unit"
                if name.startswith("unit_")
                else "rdf:Property",
                "label": name.replace("_", " "),
                "comment": said,
            }
            for name, said in own_terms().items()
        ],
    }
