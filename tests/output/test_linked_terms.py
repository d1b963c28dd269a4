"""The words of linked data are published ones or ours, and mean what the standards say.

Linked Art's context and the table of CRM terms are those of the package cromulent; CIDOC CRM 7.1.3 as OWL for what is
inferred (`linked_graphs.SUPERIOR`); the shapes of the conservation model from linked.art (docs/model/conservation).
"""

from __future__ import annotations

import csv
import json
import re
from collections import Counter
from typing import Any

import pytest
from linked_graphs import (
    DOMAINS,
    PREFIXES,
    C,
    Exported,
    domain_and_range,
    graph,
    linked_art,
    published_terms,
    short,
    types,
    with_the_standard,
)
from rdflib import RDF, RDFS, Graph, Literal, URIRef

from collection import __version__
from collection.output.export.linked_art.context import AAT, CLASSES, CONTEXT, LINK, LINKS, LITERALS, OWN, SETS
from collection.output.export.linked_art.facts import facts_from
from collection.output.export.linked_art.shapes import PROJECT
from collection.output.export.linked_art.vocabulary import own_terms, vocabulary
from collection.values.resources import schema_file


@pytest.fixture(scope="module")
def standard(whole: Graph) -> Graph:
    return with_the_standard(whole)


def test_each_name_means_what_the_published_context_says() -> None:
    """So a program that knows Linked Art may read a document by its own context."""
    published = linked_art()
    for name, term in LINKS.items():
        assert published[name] == {"@id": term, "@type": "@id", "@container": "@set"}, name
    for name, term in LINK.items():
        assert published[name] == {"@id": term, "@type": "@id"}, name
    for name, meant in LITERALS.items():
        assert published[name] == meant, name
    for name, (term, parts) in CLASSES.items():
        assert published[name]["@id"] == term, name
        scoped = published[name].get("@context", {})
        for word, part in zip(("part", "part_of"), parts or (), strict=False):
            assert scoped[word] == {"@id": part, "@type": "@id", "@container": "@set"}, name
    for prefix, address in PREFIXES.items():
        assert published[prefix] == address, prefix
    assert CONTEXT["assigned_property"]["@id"] == published["assigned_property"]["@id"]
    assert {name for name, meant in published.items() if isinstance(meant, dict)} >= {
        *CLASSES,
        *LINKS,
        *LINK,
        *LITERALS,
    }


def test_every_term_used_is_published_or_told_in_our_own_vocabulary(whole: Graph) -> None:
    own, used = set(own_terms()), set()
    for subject, prop, thing in whole:
        assert (subject, RDF.type, None) in whole, subject
        for term in (prop, thing, *([subject] if str(subject).startswith(OWN) else [])):
            name = str(term)
            if name.startswith(OWN):
                used.add(name.removeprefix(OWN))
        if prop == RDF.type:
            assert short(thing) in published_terms(), thing  # type: ignore[arg-type]
        elif not str(prop).startswith(OWN) and prop != RDFS.label:
            assert domain_and_range(short(prop)), prop  # type: ignore[arg-type]
    assert used <= own
    assert len(used) > 100


def test_each_own_term_has_a_plain_sentence() -> None:
    for name, said in own_terms().items():
        assert re.fullmatch(r"[a-z][a-z0-9_]*", name), name
        assert len(said.split()) > 1 or name in ("kind_thickness",), (name, said)
    found = graph(json.dumps(vocabulary()))
    assert {str(each).removeprefix(OWN) for each in found.subjects(RDFS.comment)} == set(own_terms())


def test_every_link_has_the_domain_and_the_range_of_the_standard(whole: Graph) -> None:
    """By the published table. What `assigned_property` leads to is a property, by the published model of Linked Art."""
    seen: Counter[str] = Counter()
    for subject, prop, thing in whole:
        name = short(prop)  # type: ignore[arg-type]
        if str(prop).startswith(OWN) or prop in (RDF.type, RDFS.label) or name.startswith("P177"):
            continue
        domain, span = domain_and_range(name)
        assert domain in types(whole, subject), (name, subject)
        literal = span.startswith(("rdfs:", "xsd:"))
        assert isinstance(thing, Literal) if literal else span in types(whole, thing), (name, thing)
        seen[name] += 1
    assert len(seen) > 30


def test_what_the_standard_infers_holds(standard: Graph) -> None:
    """Every part addition and removal is a modification; what augments or diminishes modifies; domains and ranges."""
    up = "rdfs:subClassOf*"
    for kind in ("E79_Part_Addition", "E80_Part_Removal"):
        own = asked(standard, f"SELECT ?x WHERE {{ ?x a crm:{kind} }}", "x")
        assert own, kind
        assert set(own) <= set(asked(standard, f"SELECT ?x WHERE {{ ?x a/{up} crm:E11_Modification }}", "x"))
    modified = asked(
        standard, "SELECT DISTINCT ?x WHERE { ?p rdfs:subPropertyOf* crm:P31_has_modified . ?x ?p ?thing }", "x"
    )
    diminished = asked(standard, "SELECT DISTINCT ?x WHERE { ?x crm:P112_diminished|crm:P110_augmented ?thing }", "x")
    assert diminished
    assert set(diminished) <= set(modified)
    unused = {"P44_has_condition", "P33_used_specific_technique"}  # no treatment of the sample was proposed before
    for name, (domain, span) in DOMAINS.items():
        links = list(standard.subject_objects(C[name]))
        assert bool(links) == (name not in unused), name
        for subject, thing in links:
            assert domain in types(standard, subject), name
            assert span in types(standard, thing), name


def test_a_condition_a_treatment_and_a_sample_have_the_published_shape(exported: Exported) -> None:
    """Assessment: an `AttributeAssignment` under `attributed_by` with `assigned_property`; project: an `Activity` of type
    300404519 that it is part of; treatment: `Modification` with `technique` under `modified_by`; sample: `removed_by` a
    `PartRemoval` whose `diminished` is the whole."""
    document = json.loads(exported.texts["OHM-1962-7.jsonld"])
    condition = next(each for each in document["attributed_by"] if "ConditionAssessment" in each["type"])
    assert "AttributeAssignment" in condition["type"]
    assert condition["assigned_property"] == "classified_as"
    assert [(each["type"], each["_label"]) for each in condition["assigned"]] == [("Type", "corrosion under paint")]
    assert condition["timespan"]["begin_of_the_begin"] == "2014-05-07T00:00:00Z"
    surveys = {each["id"]: each for each in document["fc:surveys"]}
    project = surveys[condition["part_of"][0]["id"]]
    assert project["type"] == "Activity"
    assert [each["id"] for each in project["classified_as"]] == [f"{AAT}300404519"]
    assert project["timespan"]["end_of_the_end"] == "2014-11-28T23:59:59Z"
    treatment = next(each for each in document["modified_by"] if each.get("_label") == "Valance flakes laid")
    assert treatment["type"] == "Modification"
    assert [each["_label"] for each in treatment["part"][0]["technique"]] == ["lay flakes"]
    sample = next(each for each in document["fc:samples"] if each["id"].endswith("/sample/S01"))
    assert sample["type"] == "HumanMadeObject"
    assert sample["removed_by"][0]["type"] == "PartRemoval"
    assert sample["removed_by"][0]["diminished"]["id"] == document["id"]
    window = next(each for each in document["fc:samples"] if each["classified_as"][1]["_label"] == "exposure")
    assert window["type"] == "PhysicalFeature"
    assert "removed_by" not in window


def test_numbers_of_the_thesaurus_are_those_of_the_table_and_most_words_have_none(whole: Graph) -> None:
    """Counted, so that nobody takes it that every word has a number. `tests/values/test_reference.py` holds the table
    against the published lists."""
    lines = list(csv.DictReader(schema_file("reference/terms.csv").read_text("utf-8").splitlines()))
    exact = {(line["word"], f"{AAT}{line['aat_id']}") for line in lines if line["match"] == "exact"}
    words: dict[bool, set[str]] = {True: set(), False: set()}
    for kind in (C.E55_Type, C.E57_Material):
        for thing in whole.subjects(RDF.type, kind):
            labels = [str(label) for label in whole.objects(thing, RDFS.label)]
            if str(thing).startswith(AAT) and str(thing) != PROJECT["id"]:
                assert [(label, str(thing)) for label in labels if (label, str(thing)) in exact] == [
                    (labels[0], str(thing))
                ]
            if not str(thing).startswith(OWN):
                words[isinstance(thing, URIRef)].update(labels)
    assert {str(each) for each in whole.all_nodes() if str(each).startswith(AAT)} == {
        f"{AAT}{line['aat_id']}"
        for line in lines
        if line["word"] in words[True]
        if line["match"] == "exact" or f"{AAT}{line['aat_id']}" == PROJECT["id"]
    }
    assert (len(words[True]), len(words[False] - words[True])) == (27, 173)


def test_what_was_looked_for_and_not_seen_is_not_said_to_be_there(exported: Exported) -> None:
    """A condition of severity 0 assigns nothing and identifies no state."""
    none_seen, seen = 0, 0
    for text in exported.texts.values():
        for each in json.loads(text).get("attributed_by", ()):
            if "ConditionAssessment" in each["type"]:
                absent = each.get("fc:severity") == 0
                assert ("fc:looked_for" in each, "assigned" in each, "identified" in each) == (
                    absent,
                    not absent,
                    not absent,
                )
                none_seen, seen = none_seen + absent, seen + (not absent)
    assert none_seen
    assert seen


def test_who_says_so_stands_beside_every_statement(exported: Exported) -> None:
    """A survey for what is recorded, the program for what is computed; what a survey did is a part of it."""
    document = json.loads(exported.texts["OHM-1962-7.jsonld"])
    surveys = {each["id"] for each in document["fc:surveys"]}
    things = [
        each for name in ("part", "bears", "referred_to_by") for each in document[name] if "fc:recorded_in" not in each
    ]
    states = [state for thing in things for state in thing["attributed_by"]]
    records = [*document["fc:samples"], *document["modified_by"], *document["representation"], *states]
    coats = [coat for sample in document["fc:samples"] for coat in sample.get("part", ())]
    assert states
    for each in (*records, *coats):
        assert each["fc:recorded_in"]["id"] in surveys
    for sample in document["fc:samples"]:
        (reading,) = sample.get("removed_by") or sample["attributed_by"]
        assert reading["part_of"] == [{"id": sample["fc:recorded_in"]["id"]}]
    (computed,) = [each for each in document["attributed_by"] if "fc:computed_by" in each]
    assert computed["fc:computed_by"] == f"firstcoat {__version__}"
    assert len(computed["part"]) == len(facts_from(document)["survival"]["places"])


def test_no_id_is_relative_and_every_list_is_a_list(exported: Exported) -> None:
    def look(node: Any) -> None:
        if isinstance(node, dict):
            if "id" in node and isinstance(node["id"], str):
                assert re.match(r"https://|http://vocab\.getty\.edu/|fc:", node["id"]), node["id"]
            for name, value in node.items():
                if name in SETS:
                    assert isinstance(value, list), name
                look(value)
        elif isinstance(node, list):
            for each in node:
                look(each)

    for text in exported.texts.values():
        document = json.loads(text)
        del document["@context"]
        look(document)


def test_read_together_documents_say_nothing_twice(whole: Graph) -> None:
    """What several documents tell of, a survey or the collection, has one name, one time-span, one lead among them all."""
    for kind in (C.E7_Activity, C["E78_Curated_Holding"], C["E22_Human-Made_Object"]):
        for thing in whole.subjects(RDF.type, kind):
            for prop in (C.P1_is_identified_by, C["P4_has_time-span"], C.P14_carried_out_by):
                kinds = Counter(whole.value(each, RDF.type) for each in whole.objects(thing, prop))
                assert set(kinds.values()) <= {1}, thing
    assert len(set(whole.subjects(RDF.type, C["E78_Curated_Holding"]))) == 1
    assert len(set(whole.subjects(RDF.type, C.E7_Activity))) == 2


def asked(found: Graph, question: str, name: str) -> list[str]:
    prefixes = {"crm": str(C), "rdfs": str(RDFS), "fc": OWN}
    rows: Any = found.query(question, initNs=prefixes)
    return [str(row[name]) for row in rows]
