"""An object as JSON-LD, read by rdflib: everything is there once, typed, and says what the document says."""

from __future__ import annotations

import json
import re
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from datasette.utils import tilde_encode
from hypothesis import given, settings
from hypothesis import strategies as st
from linked_graphs import C, graph
from rdflib import RDF, RDFS, XSD, Graph, Literal, Namespace, URIRef
from site_answers import HOSTILE, WHOSE, codes, get, hostile_text_site
from told_documents import told_documents

from collection.output.export.linked_art.context import AAT, OWN
from collection.output.export.linked_art.document import linked_object
from collection.output.export.linked_art.ids import Ids
from collection.output.export.linked_art.vocabulary import own_terms
from collection.output.published.audience import PUBLIC
from collection.output.site.publish import publish
from collection.output.site.serve import make_datasette
from collection.values.dates import bounds
from collection.values.resources import sample_folder

FC = Namespace(OWN)
HOST = "https://collection.example/"


def read(site: Path, code: str) -> tuple[dict, Graph, URIRef]:
    own = f"/object/{tilde_encode(code)}"
    served = make_datasette(site, threads=0, address=HOST)
    document, linked = get(site, f"{own}.json", f"{own}.jsonld", datasette=served)
    assert linked.headers["content-type"].startswith("application/ld+json")
    return document.json(), graph(linked.text), URIRef(HOST + own[1:])


def test_every_object_carries_each_of_its_records_once(harbour_pages: Path) -> None:
    for code in codes(harbour_pages)[:5]:
        document, found, own = read(harbour_pages, code)
        assert (own, RDF.type, C["E22_Human-Made_Object"]) in found
        assert found.value(own, RDFS.label) == Literal(document["title"])
        for prop, kind, wanted in (
            (C.P46_is_composed_of, None, {row["component"] for row in document["components"]}),
            (C.P56_bears_feature, "kind_zone", {row["zone"] for row in document["zones"]}),
            (C.P56_bears_feature, "kind_decoration", {row["decoration"] for row in document["decorations"]}),
            (FC.samples, "kind_sample", {row["sample"] for row in document["samples"]}),
            (C.P31i_was_modified_by, "kind_treatment", {row["treatment"] for row in document["treatments"]}),
            (C.P31i_was_modified_by, "kind_test", {row["test"] for row in document["tests"]}),
            (C.P67i_is_referred_to_by, "kind_claim", {row["claim"] for row in document["claims"]}),
            (FC.surveys, None, {row["code"] for row in document["surveys"]}),
        ):
            things = [
                each for each in found.objects(own, prop) if kind is None or (each, C.P2_has_type, FC[kind]) in found
            ]
            assert Counter(number_of(found, thing) for thing in things) == Counter(wanted), (prop, kind)
            assert all(str(thing).startswith(HOST) for thing in things)
        conditions = [
            each
            for each in found.objects(own, C.P140i_was_attributed_by)
            if (each, RDF.type, C.E14_Condition_Assessment) in found
        ]
        assert len(conditions) == len(document["conditions"])
        assert {str(each) for each in found.objects(None, FC.sentence)} == {document["survival"]["sentence"]}
        assert any("Invented demonstration data" in str(note) for note in found.objects(own, C.P3_has_note))


def number_of(found: Graph, thing: Any) -> str:
    (number,) = [
        each for each in found.objects(thing, C.P1_is_identified_by) if (each, RDF.type, C.E42_Identifier) in found
    ]
    return str(found.value(number, C.P190_has_symbolic_content))


def test_thicknesses_and_dates_come_back_as_they_are(harbour_pages: Path) -> None:
    document, found, own = read(harbour_pages, "OHM-1962-7")
    told = Counter(float(str(value)) for value in found.objects(None, C.P90_has_value))
    coats = [coat for row in document["samples"] for coat in row["layers"]]
    assert told == Counter(
        each
        for each in (*(coat["thickness_um"] for coat in coats), *(row["total_um"] for row in document["samples"]))
        if each is not None
    )
    assert {str(found.value(each, C.P91_has_unit)) for each in found.subjects(C.P90_has_value)} == {str(FC.unit_um)}
    treated = {number_of(found, each): each for each in found.objects(own, C.P31i_was_modified_by)}
    for row in document["treatments"]:
        span = found.value(treated[row["treatment"]], C["P4_has_time-span"])
        for text, prop, end in (
            (row["started"], C.P82a_begin_of_the_begin, 0),
            (row["ended"], C.P82b_end_of_the_end, 1),
        ):
            day: Any = None if span is None else found.value(span, prop)
            if text is None:
                assert day is None
            else:
                assert day.datatype == XSD.dateTime
                assert str(day)[:10] == bounds(text)[end]


def test_whose_collection_it_is_and_how_its_records_may_be_used_go_along(harbour_pages: Path) -> None:
    """The holding is named, not owned: who owns an object is private. The licence is that of the records."""
    document, found, own = read(harbour_pages, "OHM-1962-7")
    (holding,) = found.subjects(RDF.type, C["E78_Curated_Holding"])
    assert (own, C.P46i_forms_part_of, holding) in found
    assert found.value(holding, RDF.type) == C["E78_Curated_Holding"]
    assert found.value(holding, RDFS.label) == Literal(WHOSE["name"])
    (right,) = found.objects(URIRef(f"{own}.json"), C.P104_is_subject_to)
    assert found.value(right, RDFS.label) == Literal(WHOSE["licence"])
    assert (own, C.P70i_is_documented_in, URIRef(f"{own}.json")) in found
    assert document["object"] == "OHM-1962-7"


def test_hostile_text_stays_text(tmp_path: Path) -> None:
    site = hostile_text_site(tmp_path)
    (code,) = codes(site)
    _, found, own = read(site, code)
    assert found.value(own, RDFS.label) == Literal(HOSTILE.format("objects.title"))


@settings(max_examples=20)
@given(told_documents(PUBLIC), st.sampled_from((HOST, None)))
def test_any_document_is_a_graph_and_its_title_survives(document: Any, address: str | None) -> None:
    """Any content at all is read without a complaint, and nothing of it becomes a link or a word of ours."""
    ids = Ids(document["object"], address)
    found = graph(json.dumps(linked_object(document, ids, {})))
    own = URIRef(ids.object)
    assert found.value(own, RDFS.label) == Literal(document["title"])
    terms = set(own_terms())
    assert {str(prop).removeprefix(OWN) for prop in found.predicates() if str(prop).startswith(OWN)} <= terms
    assert all(str(each).startswith((HOST, "urn:uuid:", AAT)) for each in found.subjects() if isinstance(each, URIRef))


@pytest.mark.slow
def test_the_site_map_names_every_object_and_the_crawlers_file_names_the_map(
    harbour_pages: Path, tmp_path: Path
) -> None:
    site = make_datasette(harbour_pages, threads=0, address=HOST)
    listed, said = get(harbour_pages, "/sitemap.xml", "/robots.txt", datasette=site)
    urls = re.findall(r"<loc>([^<]+)</loc>", listed.text)
    assert len(urls) == len(set(urls))
    assert {f"{HOST}object/{tilde_encode(code)}" for code in codes(harbour_pages)} <= set(urls)
    assert [
        r.status_code for r in get(harbour_pages, *(url.removeprefix(HOST[:-1]) for url in urls), datasette=site)
    ] == [200] * len(urls)
    assert f"Sitemap: {HOST}sitemap.xml" in said.text
    assert "Disallow: /before" in said.text
    nowhere = make_datasette(harbour_pages, threads=0)
    assert [r.status_code for r in get(harbour_pages, "/sitemap.xml", "/robots.txt", datasette=nowhere)] == [404, 200]
    (split,) = get(harbour_pages, "/sitemap-2.xml", datasette=site)
    assert split.status_code == 404


def test_a_map_that_is_too_long_is_split(harbour_pages: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """However it is split, every page stands in one of the parts, once."""
    from firstcoat_site import feed_routes

    site = make_datasette(harbour_pages, threads=0, address=HOST)
    (whole,) = get(harbour_pages, "/sitemap.xml", datasette=site)
    monkeypatch.setattr(feed_routes, "PER_MAP", 100)
    (index,) = get(harbour_pages, "/sitemap.xml", datasette=site)
    parts = [url.removeprefix(HOST[:-1]) for url in re.findall(r"<loc>([^<]+)</loc>", index.text)]
    assert parts[0] == "/sitemap-1.xml"
    found = [
        url
        for answer in get(harbour_pages, *parts, datasette=site)
        for url in re.findall(r"<loc>([^<]+)</loc>", answer.text)
    ]
    assert found == re.findall(r"<loc>([^<]+)</loc>", whole.text)
    assert len(parts) == -(-len(found) // 100)


def test_the_site_for_staff_says_so_and_keeps_crawlers_out(tmp_path: Path) -> None:
    from site_packages import database_of

    packages = Path(str(sample_folder())) / "harbour"
    publish(database_of(tmp_path / "a.db", packages / "2014"), tmp_path / "inner", staff=True, address=HOST)
    start, said, listed, page = get(tmp_path / "inner", "/", "/robots.txt", "/sitemap.xml", "/object/OHM-1962-7")
    assert "For staff only" in start.text
    assert "For staff only" in page.text
    assert "Disallow: /\n" in said.text
    assert listed.status_code == 404
    assert start.headers["x-robots-tag"] == "noindex, nofollow"
    assert f"{HOST}object/OHM-1962-7" in page.text
