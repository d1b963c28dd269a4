"""How answers go out: tags, compression, cache times, HEAD, errors as JSON (RFC 9110 and 9111), numbers as people write them."""

from __future__ import annotations

import gzip
import re
from pathlib import Path

import pytest
from firstcoat_site import delivery, request_filter
from firstcoat_site.written_numbers import tokens
from site_answers import get
from site_packages import database_of, write_package

from collection.output.site.publish import publish
from collection.output.site.serve import make_datasette
from collection.values.resources import sample_folder

TRAM = "/object/OHM-1962-7"
GZIP = {"accept-encoding": "br, gzip;q=0.8"}


def test_a_page_that_the_reader_has_is_not_sent_again(harbour: Path) -> None:
    """RFC 9110, 13.1.2 and 15.4.5: the tag sent back gives 304, with the tag and no content."""
    site = make_datasette(harbour, threads=0)
    (first,) = get(harbour, TRAM, datasette=site)
    tag = first.headers["etag"]
    assert re.fullmatch(r'"[0-9a-f]{32}"', tag)
    for held in (tag, f'"other", {tag}', f"W/{tag}", "*"):
        (again,) = get(harbour, TRAM, headers={"if-none-match": held}, datasette=site)
        assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag), held
        assert again.headers["cache-control"] == "public, max-age=300"
    (other,) = get(harbour, TRAM, headers={"if-none-match": '"other"'}, datasette=site)
    assert (other.status_code, other.content) == (200, first.content)
    # Another address, another question, another site: another tag.
    tags = [answer.headers["etag"] for answer in get(harbour, f"{TRAM}.json", f"{TRAM}?x=1", datasette=site)]
    (elsewhere,) = get(harbour, TRAM, datasette=make_datasette(harbour, threads=0, address="https://museum.example/"))
    assert len({tag, *tags, elsewhere.headers["etag"]}) == 4
    assert "etag" not in get(harbour, "/nothing", datasette=site)[0].headers


@pytest.mark.parametrize("path", ["/", f"{TRAM}.json", f"{TRAM}/samples.svg", "/robots.txt"])
def test_text_is_compressed_for_who_takes_it(harbour: Path, path: str) -> None:
    site = make_datasette(harbour, threads=0)
    plain, packed = get(harbour, path, datasette=site)[0], get(harbour, path, headers=GZIP, datasette=site)[0]
    assert plain.headers["vary"] == packed.headers["vary"] == "Accept-Encoding"
    assert plain.headers["content-length"] == str(len(plain.content))
    assert packed.headers["content-length"] == str(len(packed.content))
    if len(plain.content) < delivery.SMALLEST:
        assert "content-encoding" not in packed.headers
        return
    assert packed.headers["content-encoding"] == "gzip"
    assert gzip.decompress(packed.content) == plain.content
    assert len(packed.content) < len(plain.content) / 2
    # Other bytes under one address have another strong tag (RFC 9110, 8.8.3.3), and either is known again.
    assert packed.headers["etag"] != plain.headers["etag"]
    for held in (plain.headers["etag"], packed.headers["etag"]):
        (again,) = get(harbour, path, headers={**GZIP, "if-none-match": held}, datasette=site)
        assert (again.status_code, again.headers["etag"]) == (304, held)


@pytest.mark.parametrize(
    ("accepted", "takes"),
    [("gzip", True), ("gzip;q=0", False), ("*", True), ("*;q=0", False), ("identity", False), ("", False)],
)
def test_who_takes_gzip(accepted: str, takes: bool) -> None:
    """RFC 9110, 12.5.3."""
    assert delivery.takes_gzip(accepted) is takes


def test_what_changes_its_address_with_its_content_is_kept_for_good(harbour: Path) -> None:
    site = make_datasette(harbour, threads=0)
    (page,) = get(harbour, TRAM, datasette=site)
    style = re.search(r'href="([^"]+\.css\?[0-9a-f]+)"', page.text)[1]
    picture = re.search(r'"(/picture/[0-9a-f]{32}\.png)"', page.text)[1]
    for path in (style, picture):
        (kept,) = get(harbour, path, datasette=site)
        assert (kept.status_code, kept.headers["cache-control"]) == (200, "public, max-age=31536000, immutable")
    # Under another hash nobody knows what a later version will be.
    (old,) = get(harbour, f"{style}0", datasette=site)
    assert old.headers["cache-control"] == "public, max-age=300"


def test_nothing_of_a_site_for_staff_is_kept_anywhere(tmp_path: Path) -> None:
    packages = Path(str(sample_folder())) / "harbour"
    publish(database_of(tmp_path / "a.db", packages / "2014"), tmp_path / "inner", staff=True)
    (page,) = get(tmp_path / "inner", TRAM)
    style = re.search(r'href="([^"]+\.css\?[0-9a-f]+)"', page.text)[1]
    picture = re.search(r'"(/picture/[0-9a-f]{32}\.png)"', page.text)[1]
    paths = (TRAM, f"{TRAM}.json", style, picture, "/", "/nothing", "/object/OHM-1962.7", "/robots.txt")
    for answer in get(tmp_path / "inner", *paths):
        assert answer.headers["cache-control"] == "private, no-store"
        assert "etag" not in answer.headers
        assert "access-control-allow-origin" not in answer.headers


@pytest.mark.parametrize("path", ["/", TRAM, f"{TRAM}.json", "/nothing", "/nothing.json"])
def test_head_is_get_without_the_content(harbour: Path, path: str) -> None:
    """RFC 9110, 9.3.2."""
    site = make_datasette(harbour, threads=0)
    for headers in ({}, GZIP):
        (read,) = get(harbour, path, headers=headers, datasette=site)
        (head,) = get(harbour, path, headers=headers, method="HEAD", datasette=site)
        assert (head.status_code, head.headers, head.content) == (read.status_code, read.headers, b"")


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/nothing.json", 404),
        ("GET", "/object/none.json", 404),
        ("GET", "/object/none.jsonld", 404),
        ("GET", "/object/none/manifest.json", 404),
        ("GET", f"{TRAM}/cite.json?{'a' * 5000}", 414),
        ("GET", f"/{'a' * 2000}.json", 414),
        ("POST", f"{TRAM}.json", 405),
        ("DELETE", f"{TRAM}.jsonld", 405),
        ("GET", "/before.json?object=OHM-1962-7&action=nonsense", 400),
    ],
)
def test_an_error_at_an_address_of_json_is_json(harbour: Path, method: str, path: str, status: int) -> None:
    (answer,) = get(harbour, path, method=method)
    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/json; charset=utf-8"
    assert answer.headers["cache-control"] == "no-store"
    found = answer.json()
    assert (found["format"], found["status"]) == (1, status)
    assert found["error"].endswith((".", "?"))


@pytest.fixture(scope="module")
def numbers(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Objects whose numbers hold what numbers hold: dots, slashes, spaces; two that differ only in a separator."""
    folder = tmp_path_factory.mktemp("numbers")
    survey = {
        "code": "S1",
        "title": "t",
        "lead": "l",
        "scope": "s",
        "method": "m",
        "institution": "i",
        "started": "2019",
    }
    named = ("OHM-1962.7", "OHM-1949/1", "1949.1", "1949-1", "A b.c", "OHM-1949")
    rows = {
        "objects": [{"object": code, "title": f"Thing {code}", "kind": "sign"} for code in named],
        "components": [{"object": "OHM-1949/1", "component": "D.1", "name": "door"}],
    }
    publish(database_of(folder / "a.db", write_package(folder / "p", survey, rows)), folder / "site")
    return folder / "site"


@pytest.mark.parametrize(
    ("written", "stands"),
    [
        ("OHM-1962.7", "OHM-1962~2E7"),
        ("OHM-1949/1", "OHM-1949~2F1"),
        ("OHM-1949%2F1", "OHM-1949~2F1"),
        ("OHM-1962.7/", "OHM-1962~2E7"),
        ("ohm%201962.7", "OHM-1962~2E7"),
        ("ohm1962.7", "OHM-1962~2E7"),
        ("OHM-1962.7.json", "OHM-1962~2E7.json"),
        ("OHM-1949/1.jsonld", "OHM-1949~2F1.jsonld"),
        ("OHM-1949/1/manifest.json", "OHM-1949~2F1/manifest.json"),
        ("OHM-1949/1/timeline", "OHM-1949~2F1/timeline"),
        ("OHM-1949/1/place/D.1", "OHM-1949~2F1/place/D~2E1"),
        ("OHM-1949/1/place/D.1.json", "OHM-1949~2F1/place/D~2E1.json"),
        ("OHM-1949~2F1/place/D.1", "OHM-1949~2F1/place/D~2E1"),
        ("1949.1", "1949~2E1"),
        ("a%20B.C", "A~20b~2Ec"),
        ("OHM-1949/", "OHM-1949"),
    ],
)
def test_a_number_as_people_write_it_leads_to_where_its_object_stands(numbers: Path, written: str, stands: str) -> None:
    stands = stands.replace("~20", "+")
    (answer,) = get(numbers, f"/object/{written}?page=2")
    assert (answer.status_code, answer.headers["location"]) == (308, f"/object/{stands}?page=2")
    (there,) = get(numbers, f"/object/{stands}")
    # The site was told no address, so that manifests are not there.
    assert there.status_code == (404 if stands.endswith("manifest.json") else 200)


@pytest.mark.parametrize(
    "written",
    [
        "1949%201",
        "1949",
        "OHM",
        "",
        "/",
        "%00",
        "%ff",
        "OHM-1962.7/nothing",
        "OHM-1949~2F1/place/none",
        "..",
        "%0d%0aX",
    ],
)
def test_a_number_that_means_no_object_or_two_is_not_found(numbers: Path, written: str) -> None:
    """`1949 1` may be 1949.1 or 1949-1."""
    (answer,) = get(numbers, f"/object/{written}")
    assert answer.status_code == 404
    assert "location" not in answer.headers


def test_what_stands_between_the_figures_of_a_number_does_not_count_but_that_it_stands_there() -> None:
    assert tokens("OHM 1962.7") == tokens("ohm-1962/7") == tokens("OHM1962-7")
    assert tokens("OHM-19.627") != tokens("OHM-1962.7")


VERBS = ("POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT", "PROPFIND", "get", "")
KINDS = (
    "", ".json", ".jsonld", "/manifest.json", "/cite.json", "/finishes", "/finishes.json", "/place/{}", "/sample/{}",
    "/proposal/{}", "/proposal/{}/loss/{}", "/compare/{}/{}", "/compare/{}/{}.json", "/samples.svg", "/stratigraphy",
)  # fmt: skip
ATTACKS = (
    "1'%20OR%20'1'='1", "x~27~3B~20DROP~20TABLE~20objects~3B--", "x'~20UNION~20SELECT~20sql~20FROM~20sqlite_master--",
    "..%2f..%2fcollection.db", "%2e%2e%2f%2e%2e%2fetc%2fpasswd", "%252e%252e%252fmetadata.json", "..%5c..%5ccollection.db",
    "x%0d%0aSet-Cookie:%20a=b", "x~0D~0ALocation:~20https:~2F~2Fevil.example", "%3Cscript%3Ealert(1)%3C/script%3E",
    "~3Cscript~3E", "%00", "%c0%ae%c0%ae%2f", "%F0%9F", "~", "~ZZ", "%", "%zz", "a" * 900, "/" * 300, ".7" * 400,
    "https:%2F%2Fevil.example", "%2F%2Fevil.example",
)  # fmt: skip


def test_no_attack_on_any_address_of_an_object_writes_runs_or_leaks(harbour: Path) -> None:
    site = make_datasette(harbour, threads=0, address="https://museum.example/")
    before = (harbour / "collection.db").read_bytes()
    paths = [
        f"/object/{attack}{kind.format('X', 'X')}" for attack in ATTACKS for kind in ("", ".json", "/manifest.json")
    ]
    paths += [f"{TRAM}{kind.format(attack, attack)}" for attack in ATTACKS for kind in KINDS if "{}" in kind]
    paths += [f"/{kind}/{attack}" for attack in ATTACKS for kind in ("compare/H14", "survey", "picture", "feed.atom")]
    for path, answer in zip(paths, get(harbour, *paths, datasette=site), strict=True):
        assert answer.status_code in (404, 414, 308), path
        assert answer.headers.get("location", f"{TRAM}/").startswith("/object/OHM-"), path
        assert "set-cookie" not in answer.headers
        for leak in ("<script>alert", "sqlite", "Traceback", str(harbour), "root:x"):
            assert leak not in answer.text, path
        assert not any("\n" in value or "\r" in value for value in answer.headers.values())
    assert (harbour / "collection.db").read_bytes() == before


def test_every_verb_but_reading_is_refused_on_every_route(harbour: Path) -> None:
    site = make_datasette(harbour, threads=0)
    paths = ["/", "/feed.atom", "/before", "/compare/H14/H24", *(f"{TRAM}{kind.format('X', 'X')}" for kind in KINDS)]
    assert all(request_filter.is_page(path) for path in paths)
    for verb in VERBS:
        for answer in get(harbour, *paths, method=verb, datasette=site):
            assert (answer.status_code, answer.headers["allow"]) == (405, "GET, HEAD")


@pytest.mark.parametrize(
    "query", ["%", "q=%ff%fe", "q=%00", "page=1;drop", "&&&=&=", "_shape=array&sql=select+1", "q=" + "%22" * 900]
)
def test_a_broken_question_changes_nothing(harbour: Path, query: str) -> None:
    site = make_datasette(harbour, threads=0, address="https://museum.example/")
    paths = [f"{TRAM}{end}?{query}" for end in ("", "/manifest.json", "/cite.json", "/finishes", "/compare/H14/H24")]
    for answer in get(harbour, *paths, f"/feed.atom?{query}", f"/?{query}", datasette=site):
        assert answer.status_code == 200
