"""Linked data as a graph, and the published terms to hold it against.

The context of Linked Art and the terms of the CIDOC CRM with their domains and ranges are those that the package cromulent
carries (Apache-2.0; its terms are of CRM 7, where P31 has modified still leads to E24 alone and not to E18).
"""

from __future__ import annotations

import csv
import json
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from rdflib import RDF, RDFS, Graph, Namespace, URIRef

from collection.output.export.linked_art.context import CONTEXT, CRM

C = Namespace(CRM)
PREFIXES = {name: meant for name, meant in CONTEXT.items() if isinstance(meant, str) and meant.startswith("http")}

SUPERIOR = {
    "E79_Part_Addition": "E11_Modification",
    "E80_Part_Removal": "E11_Modification",
    "E11_Modification": "E7_Activity",
    "E14_Condition_Assessment": "E13_Attribute_Assignment",
    "E3_Condition_State": "E2_Temporal_Entity",
    "P110_augmented": "P31_has_modified",
    "P112_diminished": "P31_has_modified",
    "P111_added": "P16_used_specific_object",
    "P113_removed": "P12_occurred_in_the_presence_of",
    "P56_bears_feature": "P46_is_composed_of",
}
"""Classes and properties with the one above. CIDOC CRM 7.1.3 as OWL (github.com/erlangen-crm/ecrm, ECRM 240920), read
with rdflib."""
DOMAINS = {
    "P31_has_modified": ("E11_Modification", "E18_Physical_Thing"),
    "P126_employed": ("E11_Modification", "E57_Material"),
    "P34_concerned": ("E14_Condition_Assessment", "E18_Physical_Thing"),
    "P35_has_identified": ("E14_Condition_Assessment", "E3_Condition_State"),
    "P44_has_condition": ("E18_Physical_Thing", "E3_Condition_State"),
    "P32_used_general_technique": ("E7_Activity", "E55_Type"),
    "P33_used_specific_technique": ("E7_Activity", "E29_Design_or_Procedure"),
}
"""Properties with their domain and range, from the same file."""


@dataclass(frozen=True)
class Exported:
    """A folder that `export --as linked-art` wrote, with the texts of its objects' documents by file name."""

    folder: Path
    texts: dict[str, str]


def graph(*documents: str) -> Graph:
    """The graph of some documents, each with its context inside."""
    found = Graph()
    for text in documents:
        found.parse(data=text, format="json-ld")
    return found


@cache
def linked_art() -> dict[str, Any]:
    """The published context of Linked Art, version 1."""
    text = files("cromulent").joinpath("data", "linked-art.json").read_text("utf-8")
    found: dict[str, Any] = json.loads(text)["@context"]
    return found


@cache
def published_terms() -> dict[str, dict[str, str]]:
    """Each published class and property, as `E22_Human-Made_Object` or `la:Set`, with what stands of it in the table."""
    lines = files("cromulent").joinpath("data", "crm_vocab.tsv").read_text("utf-8").splitlines()
    return {line["term"]: line for line in csv.DictReader(lines, delimiter="\t", quoting=csv.QUOTE_NONE)}


@cache
def above(name: str) -> frozenset[str]:
    """A class with all that it is as well, by the published table."""
    own = (
        {up for up in published_terms()[name]["subPropertyOf"].split("|") if up} if name in published_terms() else set()
    )
    return frozenset({name}).union(*(above(up) for up in own))


def short(term: URIRef) -> str:
    """A term as the published table has it."""
    text = str(term)
    for prefix in ("la", "dig"):
        text = text.replace(PREFIXES[prefix], f"{prefix}:")
    return text.removeprefix(CRM)


def domain_and_range(name: str) -> tuple[str, str]:
    """The domain and range of a property, of an inverse one those of its own turned round."""
    known = published_terms()
    if name in known and known[name]["domain"]:
        return known[name]["domain"], known[name]["range"]
    (own,) = [each for each in known.values() if name in (each["inverse"], each["inverse"].replace("crm:", ""))]
    return own["range"], own["domain"]


def with_the_standard(found: Graph) -> Graph:
    """What is what in a graph and the links of the two tables, with the facts that their inferences need."""
    whole = Graph()
    for prop in (RDF.type, *(C[name] for name in {*SUPERIOR, *DOMAINS} if name.startswith("P"))):
        for triple in found.triples((None, prop, None)):
            whole.add(triple)
    for own, up in SUPERIOR.items():
        whole.add((C[own], RDFS.subClassOf if own.startswith("E") else RDFS.subPropertyOf, C[up]))
    return whole


def types(found: Graph, thing: Any) -> set[str]:
    """The classes of a thing and all above them."""
    return {up for kind in found.objects(thing, RDF.type) for up in above(short(kind))}  # type: ignore[arg-type]
