"""An object as JSON-LD, read by rdflib: everything is there once, typed, and says what the document says."""

from __future__ import annotations

import json
import re
from collections import Counter
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from datasette.utils import tilde_encode
from hypothesis import given
from hypothesis import strategies as st
from rdflib import RDF, RDFS, XSD, Graph, Literal, Namespace, URIRef
from site_answers import HOSTILE, WHOSE, codes, get, harbour_site, hostile_text_site

from collection.output.site.linked_data import CLASSES, CRM, PROPERTIES, linked_object
from collection.output.site.publish import publish
from collection.output.site.serve import make_datasette
from collection.values.dates import bounds
from collection.values.resources import sample_folder

C = Namespace(CRM)
HOST = "https://collection.example/"


@pytest.fixture(scope="module")
def harbour(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return harbour_site(tmp_path_factory.mktemp("harbour"))


def graph(text: str) -> Graph:
    return Graph().parse(data=text, format="json-ld")


def read(site: Path, code: str) -> tuple[dict, Graph, URIRef]:
    own = f"/object/{tilde_encode(code)}"
    served = make_datasette(site, threads=0, address=HOST)
    document, linked = get(site, f"{own}.json", f"{own}.jsonld", datasette=served)
    assert linked.headers["content-type"].startswith("application/ld+json")
    return document.json(), graph(linked.text), URIRef(HOST + own[1:])


def test_every_object_carries_each_of_its_records_once(harbour: Path) -> None:
    for code in codes(harbour):
        document, found, own = read(harbour, code)
        assert (own, RDF.type, C["E22_Human-Made_Object"]) in found
        assert found.value(own, RDFS.label) == Literal(document["title"])
        for prop, wanted in (
            (C.P46_is_composed_of, {row["component"] for row in document["components"]}),
            (C.P56_bears_feature, {row["zone"] for row in document["zones"]}),
            (C.P39i_was_measured_by, {row["sample"] for row in document["samples"]}),
        ):
            things = list(found.objects(own, prop))
            told = [
                str(found.value(found.value(thing, C.P1_is_identified_by), C.P190_has_symbolic_content))
                for thing in things
            ]
            assert Counter(told) == Counter(wanted), prop
            assert all(str(thing).startswith(f"{own}/") for thing in things)
        assert len(list(found.objects(own, C.P34i_was_assessed_by))) == len(document["conditions"])
        assert {str(found.value(each, RDFS.label)) for each in found.objects(own, C.P31i_was_modified_by)} == {
            row["purpose"] for row in document["treatments"]
        }
        assert Literal(document["survival"]["sentence"]) in set(found.objects(own, C.P3_has_note))
        assert any("Invented demonstration data" in str(note) for note in found.objects(own, C.P3_has_note))


def test_thicknesses_and_dates_come_back_as_they_are(harbour: Path) -> None:
    document, found, own = read(harbour, "OHM-1962-7")
    told = Counter(float(str(value)) for value in found.objects(None, C.P90_has_value))
    assert told == Counter(
        coat["thickness_um"]
        for row in document["samples"]
        for coat in row["layers"]
        if coat["thickness_um"] is not None
    )
    treated = {
        str(found.value(each, RDFS.label)): found.value(each, C["P4_has_time-span"])
        for each in found.objects(own, C.P31i_was_modified_by)
    }
    for row in document["treatments"]:
        span = treated[row["purpose"]]
        start, end = row["started"] or row["ended"], row["ended"] or row["started"]
        if start is None:
            assert span is None
            continue
        first: Any = found.value(span, C.P82a_begin_of_the_begin)
        last: Any = found.value(span, C.P82b_end_of_the_end)
        assert (first.datatype, last.datatype) == (XSD.date, XSD.date)
        assert (first.toPython(), last.toPython()) == (
            date.fromisoformat(bounds(start).earliest),
            date.fromisoformat(bounds(end).latest),
        )


def test_only_terms_of_the_model_are_used_and_everything_is_typed(harbour: Path) -> None:
    for code in codes(harbour)[:5]:
        _, found, _ = read(harbour, code)
        for subject, prop, thing in found:
            if prop == RDF.type:
                assert str(thing).removeprefix(CRM) in CLASSES
            elif str(prop).startswith(CRM):
                assert str(prop).removeprefix(CRM) in PROPERTIES
            assert (subject, RDF.type, None) in found, subject
    for name in CLASSES:
        assert re.fullmatch(r"E\d+_[A-Za-z_-]+", name)
    for name in PROPERTIES:
        assert re.fullmatch(r"P\d+[abi]?_[a-z_-]+", name)


# CIDOC CRM 7.1.3 as OWL (erlangen-crm, ECRM 240920), read with rdflib: of each class those above it that are a domain
# or range below, and of each property its domain and range; None for a literal.
ABOVE = {
    "E11_Modification": "E1 E2 E4 E7",
    "E12_Production": "E1 E11 E2 E4 E7",
    "E14_Condition_Assessment": "E1 E2 E4 E7",
    "E16_Measurement": "E1 E2 E4 E7",
    "E22_Human-Made_Object": "E1 E18 E19 E24 E71",
    "E25_Human-Made_Feature": "E1 E18 E24 E26 E71",
    "E30_Right": "E1 E71",
    "E31_Document": "E1 E71 E72 E90",
    "E35_Title": "E1 E41 E71 E90",
    "E39_Actor": "E1",
    "E3_Condition_State": "E1 E2",
    "E42_Identifier": "E1 E41 E71 E90",
    "E52_Time-Span": "E1",
    "E54_Dimension": "E1",
    "E55_Type": "E1 E71",
    "E57_Material": "E1 E55 E71",
    "E58_Measurement_Unit": "E1 E55 E71",
    "E78_Curated_Holding": "E1 E18 E24 E71",
}
LINKS = {
    "P1_is_identified_by": ("E1", "E41"),
    "P2_has_type": ("E1", "E55"),
    "P3_has_note": ("E1", None),
    "P4_has_time-span": ("E2", "E52"),
    "P9_consists_of": ("E4", "E4"),
    "P14_carried_out_by": ("E7", "E39"),
    "P31i_was_modified_by": ("E18", "E11"),
    "P34i_was_assessed_by": ("E18", "E14"),
    "P35_has_identified": ("E14", "E3"),
    "P39i_was_measured_by": ("E18", "E16"),
    "P40_observed_dimension": ("E16", "E54"),
    "P45_consists_of": ("E18", "E57"),
    "P46_is_composed_of": ("E18", "E18"),
    "P46i_forms_part_of": ("E18", "E18"),
    "P56_bears_feature": ("E19", "E26"),
    "P70i_is_documented_in": ("E1", "E31"),
    "P82_at_some_time_within": ("E52", None),
    "P82a_begin_of_the_begin": ("E52", None),
    "P82b_end_of_the_end": ("E52", None),
    "P90_has_value": ("E54", None),
    "P91_has_unit": ("E54", "E58"),
    "P102_has_title": ("E71", "E35"),
    "P104_is_subject_to": ("E72", "E30"),
    "P108i_was_produced_by": ("E24", "E12"),
    "P126_employed": ("E11", "E57"),
    "P190_has_symbolic_content": ("E90", None),
}


def test_every_link_has_the_domain_and_the_range_of_the_standard(harbour: Path) -> None:
    assert set(ABOVE) == CLASSES
    assert set(LINKS) == PROPERTIES
    used = set()
    for code in codes(harbour):
        _, found, _ = read(harbour, code)

        def kinds(thing: Any, found: Graph = found) -> set[str]:
            names = [str(kind).removeprefix(CRM) for kind in found.objects(thing, RDF.type)]
            return {name.split("_")[0] for name in names} | {up for name in names for up in ABOVE[name].split()}

        for subject, prop, thing in found:
            name = str(prop).removeprefix(CRM)
            if name in LINKS:
                domain, span = LINKS[name]
                assert domain in kinds(subject), (name, subject)
                assert isinstance(thing, Literal) if span is None else span in kinds(thing), (name, thing)
                used.add(name)
    assert set(LINKS) == used


def test_whose_collection_it_is_and_how_its_records_may_be_used_go_along(harbour: Path) -> None:
    """The holding is named, not owned: who owns an object is private. The licence is that of the records."""
    document, found, own = read(harbour, "OHM-1962-7")
    (holding,) = found.objects(own, C.P46i_forms_part_of)
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


@given(st.text(min_size=1).filter(lambda text: text.strip()))
def test_any_title_survives(title: str) -> None:
    document = {
        "object": "A",
        "title": title,
        "record": {"kind": "sign", "maker": title},
        "invented": False,
        "survival": {"sentence": "nothing"},
        "components": [],
        "zones": [],
        "conditions": [],
        "treatments": [],
        "samples": [],
        "surveys": [],
    }
    found = graph(json.dumps(linked_object(document, lambda kind, code: f"{HOST}{kind}/{code}", {})))
    assert found.value(URIRef(f"{HOST}object/A"), RDFS.label) == Literal(title)


@pytest.mark.slow
def test_the_site_map_names_every_object_and_the_crawlers_file_names_the_map(harbour: Path, tmp_path: Path) -> None:
    site = make_datasette(harbour, threads=0, address=HOST)
    listed, said = get(harbour, "/sitemap.xml", "/robots.txt", datasette=site)
    urls = re.findall(r"<loc>([^<]+)</loc>", listed.text)
    assert len(urls) == len(set(urls))
    assert {f"{HOST}object/{tilde_encode(code)}" for code in codes(harbour)} <= set(urls)
    assert [r.status_code for r in get(harbour, *(url.removeprefix(HOST[:-1]) for url in urls), datasette=site)] == [
        200
    ] * len(urls)
    assert f"Sitemap: {HOST}sitemap.xml" in said.text
    assert "Disallow: /before" in said.text
    nowhere = make_datasette(harbour, threads=0)
    assert [r.status_code for r in get(harbour, "/sitemap.xml", "/robots.txt", datasette=nowhere)] == [404, 200]
    (split,) = get(harbour, "/sitemap-2.xml", datasette=site)
    assert split.status_code == 404


def test_a_map_that_is_too_long_is_split(harbour: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """However it is split, every page stands in one of the parts, once."""
    from firstcoat_site import feed_routes

    site = make_datasette(harbour, threads=0, address=HOST)
    (whole,) = get(harbour, "/sitemap.xml", datasette=site)
    monkeypatch.setattr(feed_routes, "PER_MAP", 100)
    (index,) = get(harbour, "/sitemap.xml", datasette=site)
    parts = [url.removeprefix(HOST[:-1]) for url in re.findall(r"<loc>([^<]+)</loc>", index.text)]
    assert parts[0] == "/sitemap-1.xml"
    found = [
        url for answer in get(harbour, *parts, datasette=site) for url in re.findall(r"<loc>([^<]+)</loc>", answer.text)
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
