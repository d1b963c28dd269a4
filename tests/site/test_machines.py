"""One object for machines: the manifest of its pictures, its citation, the feed, the site map.

What must hold is that of IIIF Presentation API 3.0 (clause numbers below), RFC 4287 (Atom), RFC 3339 (dates), the
schema csl-data.json of the Citation Style Language, and the protocol of sitemaps.org.
"""

from __future__ import annotations

import re
import sqlite3
import xml.etree.ElementTree as ET
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from datasette.utils import tilde_encode
from site_answers import HOSTILE, WHOSE, codes, get, hostile_text_site
from site_packages import database_of, object_rows, write_package

from collection.output.export.manifest import rights_address
from collection.output.site.publish import publish
from collection.output.site.serve import make_datasette
from collection.store.decide.decisions import decide

HOST = "https://museum.example/finish/"
TRAM = "/object/OHM-1962-7"
ATOM = "{http://www.w3.org/2005/Atom}"
LISTED = "{http://www.sitemaps.org/schemas/sitemap/0.9}"


def language_map(found: Any) -> None:
    """Clause 4.1: an object whose names are languages or `none`, whose values are lists of texts."""
    assert set(found) <= {"en", "none"}
    assert found
    for texts in found.values():
        assert texts
        assert all(isinstance(text, str) and text for text in texts)


def check_manifest(found: Any) -> None:
    """Clauses 3 and 5 of the Presentation API 3.0, for what a manifest of plain images holds."""
    # 4.6: the context comes first. 5.2: a manifest has an address (http or https), a type, a label and canvases.
    assert next(iter(found)) == "@context"
    assert found["@context"] == "http://iiif.io/api/presentation/3/context.json"
    assert found["type"] == "Manifest"
    assert re.fullmatch(r"https?://[^#]+", found["id"])
    language_map(found["label"])
    language_map(found["summary"])
    for pair in [*found["metadata"], found["requiredStatement"]]:  # 3.1
        assert set(pair) == {"label", "value"}
        language_map(pair["label"])
        language_map(pair["value"])
    for name in ("thumbnail", "homepage", "seeAlso"):  # 3.1, 3.3.1: lists of things with an id and a type
        assert all(each["id"].startswith("http") and each["type"] for each in found[name])
    assert all(each["label"] for each in found["homepage"])
    assert found["items"]
    ids = [found["id"]]
    for canvas in found["items"]:
        # 5.3: a canvas has an address without a fragment, and both height and width or neither, whole and above 0.
        assert canvas["type"] == "Canvas"
        assert "#" not in canvas["id"]
        language_map(canvas["label"])
        assert all(isinstance(canvas[side], int) and canvas[side] > 0 for side in ("width", "height"))
        (page,) = canvas["items"]
        assert page["type"] == "AnnotationPage"  # 5.5
        (note,) = page["items"]
        # 5.6: what is painted says so, and its target is the canvas it stands in.
        assert (note["type"], note["motivation"], note["target"]) == ("Annotation", "painting", canvas["id"])
        assert note["body"]["type"] == "Image"  # 5.7
        assert note["body"]["format"] in ("image/png", "image/jpeg")
        assert re.fullmatch(r"https?://\S+", note["body"]["id"])
        if "rights" in canvas:  # 3.1: the address of a licence, with http
            assert canvas["rights"].startswith(("http://creativecommons.org/", "http://rightsstatements.org/"))
        ids += [canvas["id"], page["id"], note["id"]]
    known = {canvas["id"] for canvas in found["items"]}
    for part in found.get("structures", ()):  # 5.4
        assert part["type"] == "Range"
        language_map(part["label"])
        assert part["items"]
        assert all(each["type"] == "Canvas" and each["id"] in known for each in part["items"])
        ids.append(part["id"])
    assert len(ids) == len(set(ids))


def test_every_object_with_a_photograph_has_a_manifest_that_viewers_can_read(harbour: Path) -> None:
    site = make_datasette(harbour, threads=0, address=HOST)
    paths = [f"/object/{tilde_encode(code)}/manifest.json" for code in codes(harbour)]
    seen = 0
    for path, answer in zip(paths, get(harbour, *paths, datasette=site), strict=True):
        if answer.status_code == 404:
            assert answer.json()["error"] == "No picture of this object is published, so there is no manifest."
            continue
        seen += 1
        found = answer.json()
        check_manifest(found)
        assert found["id"] == HOST + path[1:]
        # 6.1: viewers on other sites read it, so that any site may.
        assert answer.headers["access-control-allow-origin"] == "*"
        assert answer.headers["content-type"].startswith("application/ld+json")
        own = [canvas["items"][0]["items"][0]["body"]["id"].removeprefix(HOST) for canvas in found["items"]]
        shown = get(harbour, *(f"/{file}" for file in own[:3]), datasette=site)
        assert [each.status_code for each in shown] == [200] * len(shown)
        assert {each.headers["access-control-allow-origin"] for each in shown} == {"*"}
    assert seen >= 3


def test_the_manifest_begins_with_the_whole_object_then_places_then_samples(harbour: Path) -> None:
    site = make_datasette(harbour, threads=0, address=HOST)
    (answer,) = get(harbour, f"{TRAM}/manifest.json", datasette=site)
    found = answer.json()
    facts = [{each["label"]["en"][0]: each["value"]["en"][0] for each in c["metadata"]} for c in found["items"]]
    kinds = [2 if "Sample" in f else 0 if f["Place"] == "the whole object" else 1 for f in facts]
    assert kinds == sorted(kinds)
    assert kinds[0] == 0
    assert kinds[-1] == 2
    assert found["requiredStatement"]["value"]["en"] == [
        WHOSE["name"],
        f"Records: {WHOSE['licence']}",
        "Invented demonstration data. No such object, place or person exists.",
    ]
    assert {"Number": "OHM-1962-7", "What survives": "Original finish seen at 15 of 16 places looked at"}.items() <= {
        each["label"]["en"][0]: each["value"]["en"][0] for each in found["metadata"]
    }.items()
    assert found["structures"][0]["label"]["en"] == ["The whole object"]


def test_a_site_without_an_address_says_why_it_has_no_manifest_and_no_feed(harbour: Path) -> None:
    manifest, feed, page = get(harbour, f"{TRAM}/manifest.json", "/feed.atom", TRAM)
    assert manifest.json()["status"] == manifest.status_code == 404
    assert "was not told its own" in manifest.json()["error"]
    assert "was not told its own address" in feed.text
    assert "manifest.json" not in page.text


@pytest.mark.parametrize(
    ("said", "address"),
    [
        ("CC BY 4.0", None),
        ("CC-BY-4.0", "http://creativecommons.org/licenses/by/4.0/"),
        ("CC0-1.0", "http://creativecommons.org/publicdomain/zero/1.0/"),
        ("https://rightsstatements.org/vocab/InC/1.0/", "http://rightsstatements.org/vocab/InC/1.0/"),
        ("the museum", None),
        ("https://creativecommons.org.example/", None),
    ],
)
def test_rights_are_an_address_only_where_words_name_a_licence(said: str, address: str | None) -> None:
    """SPDX identifiers by spdx.org/licenses; a licence is not guessed from other words."""
    assert rights_address(said) == address


CSL_TYPES = {"article", "book", "collection", "dataset", "document", "entry", "figure", "graphic", "report", "webpage"}
"""Some of the types of csl-data.json (github.com/citation-style-language/schema, schemas/input)."""
CSL_TEXTS = {"title", "container-title", "publisher", "URL", "version", "language", "note"}


def test_the_citation_is_csl_json(harbour: Path) -> None:
    """The schema wants a list of objects, each with `type` and `id`, and no names but its own."""
    known = make_datasette(harbour, threads=0, address=HOST)
    for site, url in ((known, HOST + TRAM[1:]), (None, None)):
        (answer,) = get(harbour, f"{TRAM}/cite.json", datasette=site)
        (found,) = answer.json()
        assert found["type"] in CSL_TYPES
        assert found["id"] == (url or "OHM-1962-7")
        assert found.get("URL") == url
        assert set(found) <= CSL_TEXTS | {"type", "id", "issued", "number"}
        assert all(isinstance(found[name], str) for name in CSL_TEXTS & set(found))
        ((year, month, day),) = found["issued"]["date-parts"]
        assert datetime(year, month, day) <= datetime.now()
        assert found["publisher"] == WHOSE["name"]
        assert found["title"] == "Horse tram body no. 9 (invented)"


def moment(text: str) -> datetime:
    """A date as RFC 3339 has it, with its offset, which RFC 4287 (3.3) asks for."""
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?(?:Z|[+-]\d\d:\d\d)", text), text
    return datetime.fromisoformat(text)


def check_feed(text: str) -> list[ET.Element]:
    """RFC 4287: 4.1.1 what a feed must have, 4.1.2 what an entry must have; the entries."""
    root = ET.fromstring(text)
    assert root.tag == f"{ATOM}feed"
    for name in ("id", "title", "updated"):
        assert len(root.findall(f"{ATOM}{name}")) == 1
    assert root.find(f"{ATOM}author/{ATOM}name").text  # 4.1.1, 4.2.1
    assert [link.get("href") for link in root.findall(f"{ATOM}link") if link.get("rel") == "self"] == [
        f"{HOST}feed.atom"
    ]
    entries = root.findall(f"{ATOM}entry")
    ids = []
    for entry in entries:
        for name in ("id", "title", "updated"):
            assert len(entry.findall(f"{ATOM}{name}")) == 1
        assert any(link.get("rel") == "alternate" for link in entry.findall(f"{ATOM}link"))  # no content stands in it
        ids.append(entry.findtext(f"{ATOM}id"))
    assert len(ids) == len(set(ids))  # 4.2.6
    times = [moment(entry.findtext(f"{ATOM}updated") or "") for entry in entries]
    assert times == sorted(times, reverse=True)
    assert moment(root.findtext(f"{ATOM}updated") or "") == times[0]
    return entries


def test_the_feed_tells_surveys_newest_first(harbour: Path) -> None:
    site = make_datasette(harbour, threads=0, address=HOST)
    (answer,) = get(harbour, "/feed.atom", datasette=site)
    assert answer.headers["content-type"].startswith("application/atom+xml")
    entries = check_feed(answer.text)
    assert [entry.findtext(f"{ATOM}id") for entry in entries] == [f"{HOST}survey/H24", f"{HOST}survey/H14"]
    # Names are not published here: who led a survey is not told.
    assert not any(entry.findall(f"{ATOM}author") for entry in entries)


@pytest.mark.parametrize("names", [False, True])
def test_the_feed_tells_a_decision_and_who_made_it_only_where_names_are_published(tmp_path: Path, names: bool) -> None:
    survey = {"code": "S1", "title": "Survey", "lead": "A. Surveyor", "started": "2019-05-01"}
    db = database_of(tmp_path / "k.db", write_package(tmp_path / "p", survey, object_rows("K", lambda *_: "kept")))
    decide(db, "K", "P1", "refuse", by="C. Curator", reason="It would take the first red with it")
    publish(db, tmp_path / "out", names=names)
    (answer,) = get(tmp_path / "out", "/feed.atom", datasette=make_datasette(tmp_path / "out", threads=0, address=HOST))
    newest, _ = check_feed(answer.text)
    assert newest.findtext(f"{ATOM}title") == "Refused: kept, kept"
    assert newest.findtext(f"{ATOM}summary") == "It would take the first red with it"
    assert newest.findtext(f"{ATOM}id") == f"{HOST}object/K/proposal/P1#decision-1"
    assert newest.findtext(f"{ATOM}author/{ATOM}name") == ("C. Curator" if names else None)


def test_every_page_stands_in_the_site_map_with_the_day_of_its_last_change(harbour: Path) -> None:
    site = make_datasette(harbour, threads=0, address=HOST)
    (answer,) = get(harbour, "/sitemap.xml", datasette=site)
    urls = {url.findtext(f"{LISTED}loc"): url.findtext(f"{LISTED}lastmod") for url in ET.fromstring(answer.text)}
    with sqlite3.connect(f"file:{harbour / 'collection.db'}?mode=ro", uri=True) as connection:
        days = dict(connection.execute("select object, changed_on from computed"))
        for kind, table in (("place", "places"), ("sample", "samples"), ("proposal", "proposals")):
            for code, own in connection.execute(f"select object, {kind} from {table}"):
                assert urls[f"{HOST}object/{tilde_encode(code)}/{kind}/{tilde_encode(own)}"] == days[code]
    assert urls[f"{HOST}object/OHM-1962-7/stratigraphy"] == days["OHM-1962-7"]
    assert all(re.fullmatch(r"\d{4}-\d\d-\d\d", day or "") for day in urls.values())
    assert not any("#" in (url or "") or "?" in (url or "") for url in urls)


def test_hostile_text_stays_text_for_machines(tmp_path: Path) -> None:
    site = hostile_text_site(tmp_path)
    (code,) = codes(site)
    known = make_datasette(site, threads=0, address=HOST)
    own = f"/object/{tilde_encode(code)}"
    manifest, cited, feed = get(site, f"{own}/manifest.json", f"{own}/cite.json", "/feed.atom", datasette=known)
    assert cited.json()[0]["title"] == HOSTILE.format("objects.title")
    check_manifest(manifest.json())
    assert manifest.json()["label"]["en"] == [HOSTILE.format("objects.title")]
    (entry,) = check_feed(feed.text)
    assert entry.findtext(f"{ATOM}title") == f"Survey: {HOSTILE.format('survey.title')}"
    assert entry.findtext(f"{ATOM}author/{ATOM}name") == HOSTILE.format("survey.lead")
