"""The published site: nothing can be written, run, leaked or reached but its pages."""

from __future__ import annotations

import asyncio
import hashlib
import re
import socket
import sqlite3
import subprocess
import sys
from pathlib import Path
from urllib.parse import quote, urlsplit

import pytest
from datasette.utils import tilde_encode
from firstcoat_site import answers, before_routes, object_routes, queries, request_filter
from hypothesis import given
from hypothesis import strategies as st
from site_answers import HOSTILE, Page, all_paths, codes, get, hostile_text_site

from collection.language.errors import CouldNot
from collection.output.site.serve import make_datasette, serve

pytestmark = pytest.mark.slow


IMAGES = ("image/png", "image/jpeg")


@pytest.fixture(scope="module")
def hostile_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return hostile_text_site(tmp_path_factory.mktemp("hostile"))


def test_every_answer_carries_the_strict_headers(harbour: Path) -> None:
    for answer in get(harbour, *all_paths(harbour), "/nope", "/-/databases.json"):
        policy = answer.headers["content-security-policy"]
        assert policy.startswith("default-src 'none'")
        assert "unsafe" not in policy
        assert "script-src" not in policy
        assert "http:" not in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["referrer-policy"] == "no-referrer"
        assert "set-cookie" not in answer.headers
        # Pictures alone may be read by pages of other hosts, and manifests (test_machines.py): viewers need them.
        assert ("access-control-allow-origin" in answer.headers) == (answer.headers["content-type"] in IMAGES)


@pytest.mark.parametrize("site_name", ["harbour", "hostile_site"])
def test_no_page_holds_anything_that_runs_or_reaches_out(request: pytest.FixtureRequest, site_name: str) -> None:
    site = request.getfixturevalue(site_name)
    count = 0
    for answer in get(site, *all_paths(site)):
        assert answer.status_code == 200
        if not answer.headers["content-type"].startswith("text/html"):
            continue
        count += 1
        for tag, attrs in Page(answer.text).tags:
            assert tag not in ("script", "style", "iframe", "object", "embed", "base", "foreignobject", "b"), tag
            for name, value in attrs.items():
                assert not name.startswith("on"), (tag, name)
                assert name not in ("style", "srcset", "formaction", "xlink:href"), (tag, name)
                assert name != "action" or value in ("/", "/before")
                if name in ("href", "src"):
                    assert re.match(r"/(?!/)|#|[A-Za-z0-9_~+-]+(?:[/#.]|$)", value), (tag, value)
                    assert urlsplit(value)[:2] == ("", ""), value
    assert count >= 5


def test_hostile_text_is_shown_as_text(hostile_site: Path) -> None:
    """Every text column of the fixture that a page shows, exactly as it was typed."""
    (code,) = codes(hostile_site)
    pages = [path for path in all_paths(hostile_site) if path.startswith(("/object/", "/survey/")) and "." not in path]
    words = " ".join(Page(answer.text).words for answer in get(hostile_site, *pages))
    for column in (
        "objects.title",
        "objects.maker",
        "objects.materials",
        "schemes.basis",
        "decorations.description",
        "reserves.shows",
        "treatments.purpose",
        "treatment_steps.adds",
        "advice.what",
        "advice.why",
        "claims.statement",
        "hazards.kind",
        "hazards.basis",
        "pictures.caption",
        "pictures.rights",
        "proposals.title",
        "proposals.purpose",
        "sources.title",
        "layers.colour",
        "layers.fluorescence",
        "analyses.result",
        "samples.instrument",
        "survey.title",
        "survey.scope",
    ):
        assert " ".join(HOSTILE.format(column).split()) in words, column
    (data,) = get(hostile_site, f"/object/{tilde_encode(code)}.json")
    assert data.headers["content-type"].startswith("application/json")
    assert data.json()["record"]["title"] == HOSTILE.format("objects.title")


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT", "PROPFIND"])
def test_every_verb_but_reading_is_refused(harbour: Path, method: str) -> None:
    before = hashlib.sha256((harbour / "collection.db").read_bytes()).hexdigest()
    for answer in get(harbour, "/", "/object/OHM-1962-7", "/collection/objects", "/-/messages", method=method):
        assert answer.status_code == 405
        assert answer.headers["allow"] == "GET, HEAD"
        assert "content-security-policy" in answer.headers
    assert hashlib.sha256((harbour / "collection.db").read_bytes()).hexdigest() == before


CLOSED = [
    "/-/databases.json",
    "/-/databases",
    "/-/threads",
    "/-/versions.json",
    "/-/plugins.json",
    "/-/settings.json",
    "/-/metadata.json",
    "/-/patterns",
    "/-/messages",
    "/-/allow-debug",
    "/-/permissions",
    "/-/logout",
    "/-/actor.json",
    "/-/auth-token",
    "/_internal",
    "/_memory",
    "/collection",
    "/collection.db",
    "/collection/objects",
    "/collection/objects.json?_shape=array",
    "/collection.json?sql=select+1",
    "/metadata.json",
    "/sha256sums.txt",
    "/collection/objects?_where=1",
    "/.json",
    "/-/static/app.css",
    "/-/static-plugins/firstcoat/../../__init__.py",
    "/-/static-plugins/firstcoat/%2e%2e/__init__.py",
    "/-/static-plugins/firstcoat/..%2f__init__.py",
    "/picture/../collection.db",
    "/picture/%2e%2e%2fcollection.db",
    "/picture/" + "0" * 32 + ".png",
    "/picture/" + "0" * 32 + ".db",
    "//etc/passwd",
    "/object/../about",
    "/object/%2e%2e/about",
    "/object/",
    "/object/none",
    "/object/~2E~2E~2Fcollection.json",
    "/object/OHM-1962-7/none",
    "/object/OHM-1962-7/place/none",
    "/object/OHM-1962-7/sample/none",
    "/object/OHM-1962-7/proposal/none.json",
    "/object/OHM-1962-7/proposal/P1/loss/none",
    "/object/OHM-1962-7/other.svg",
    "/survey/none",
    "/survey/",
    "/before/",
    "/at-risk/x",
    "/before.json/x",
    "/object/%00",
    "/about/",
    "/%ff%fe",
    "/favicon.ico",
]


@pytest.mark.parametrize("path", CLOSED)
def test_nothing_beside_the_pages_answers(harbour: Path, path: str) -> None:
    (answer,) = get(harbour, path)
    assert answer.status_code in (404, 308, 307, 302)
    assert answer.status_code == 404
    for secret in (str(harbour), "collection.db", "Traceback", "site-packages", "sqlite", "/usr", "datasette"):
        assert secret.lower() not in answer.text.lower(), secret


def test_a_question_that_is_too_long_is_refused(harbour: Path) -> None:
    (answer,) = get(harbour, "/?q=" + "a" * 5000)
    assert answer.status_code == 414


@pytest.mark.parametrize(
    "path",
    [
        "/?page=abc",
        "/?page=-1",
        "/?page=0",
        "/?page=99999999999",
        "/?page=٣",
        "/?q=red&page=40",
        "/?_timelimit=abc",
        "/?_ttl=x",
        "/about?_context=1",
        "/?q=red&_trace=1",
        "/?page=1&page=2",
    ],
)
def test_odd_arguments_change_nothing(harbour: Path, path: str) -> None:
    assert get(harbour, quote(path, safe="/?=&"))[0].status_code == 200


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/object/OHM-1962-7",
        "/object/OHM-1962-7.json",
        "/?q=red",
        "/search.json?q=red",
        "/object/OHM-1962-7/place/L-STRIP",
        "/at-risk",
        "/survey/H14",
        "/before?object=OHM-1962-7",
        "/before.json?object=OHM-1962-7",
    ],
)
def test_an_exceptions_text_never_reaches_the_reader(
    harbour: Path, path: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError(f"PLANTED at {harbour}")

    for name in ("start", "search", "at_risk", "survey"):
        monkeypatch.setattr(queries, name, broken)
    for module, name in (
        (answers, "published_object"),
        (before_routes, "published_object"),
        (object_routes, "whole_json"),
    ):
        monkeypatch.setattr(module, name, broken)
    (answer,) = get(harbour, path)
    assert answer.status_code == 500
    assert "PLANTED" not in answer.text
    assert str(harbour) not in answer.text
    assert "The fault is the program" in answer.text
    assert answer.headers["content-security-policy"] == request_filter.POLICY
    # For whoever runs the server, and without the values of variables.
    told = capsys.readouterr()
    assert "PLANTED" in told.err
    assert "locals" not in told.out + told.err


def test_cookies_and_keys_change_no_answer(harbour: Path) -> None:
    plain, with_cookie = (
        get(harbour, "/", headers=headers)[0]
        for headers in ({}, {"cookie": "ds_actor=x; ds_messages=y", "authorization": "Bearer dstok_x"})
    )
    assert plain.text == with_cookie.text
    assert plain.headers["cache-control"] == with_cookie.headers["cache-control"] == "public, max-age=300"


def test_the_connection_cannot_write(harbour: Path) -> None:
    async def attempts() -> bool:
        ds = make_datasette(harbour, threads=0)
        await ds.invoke_startup()
        database = ds.get_database("collection")
        for sql in ("DELETE FROM objects", "CREATE TABLE x (a)", "PRAGMA user_version = 5"):
            with pytest.raises(sqlite3.OperationalError, match="readonly"):
                await database.execute_fn(lambda c, sql=sql: c.execute(sql))
        return database.is_mutable

    before = hashlib.sha256((harbour / "collection.db").read_bytes()).hexdigest()
    assert asyncio.run(attempts()) is False
    assert hashlib.sha256((harbour / "collection.db").read_bytes()).hexdigest() == before
    assert sorted(p.name for p in harbour.iterdir()) == ["collection.db", "metadata.json", "pictures", "sha256sums.txt"]


@given(st.text(st.characters(codec="ascii"), max_size=40))
def test_the_list_of_paths_is_closed(path: str) -> None:
    """Every allowed address uses only the few characters of our own addresses."""
    if request_filter.is_allowed(f"/{path}", tables=False):
        assert re.fullmatch(r"[A-Za-z0-9_~+./-]*", path)
        assert ".." not in path


def test_a_folder_without_a_site_or_with_a_bad_name_is_a_sentence(harbour: Path, tmp_path: Path) -> None:
    with pytest.raises(CouldNot, match="not a published site"):
        make_datasette(tmp_path)
    (tmp_path / "a#b").mkdir()
    for name in ("collection.db", "metadata.json"):
        (tmp_path / "a#b" / name).write_bytes((harbour / name).read_bytes())
    with pytest.raises(CouldNot, match="Rename the folder"):
        make_datasette(tmp_path / "a#b")


def test_a_port_in_use_is_a_sentence(harbour: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(CouldNot, match=rf"port {port} .*--port"):
            serve(harbour, port=port)
    with pytest.raises(CouldNot, match="port 70000"):
        serve(harbour, port=70000)


SERVE = (
    "import sys; from pathlib import Path; from collection.output.site.serve import serve; "
    "serve(Path(sys.argv[1]), port=0, ready=lambda address: print(address, flush=True))"
)


def test_the_real_server_over_a_real_socket(harbour: Path) -> None:
    """curl is the outside client: raw paths, verbs and headers arrive as they are sent."""
    with subprocess.Popen([sys.executable, "-c", SERVE, harbour], stdout=subprocess.PIPE, text=True) as process:
        address = process.stdout.readline().strip()

        def curl(*words: str) -> str:
            return subprocess.run(
                ["curl", "-s", "-i", "--path-as-is", *words], capture_output=True, text=True, check=True
            ).stdout

        try:
            start = curl(address)
            assert start.startswith("HTTP/1.1 200")
            assert "\nserver:" not in start.lower()
            for path in (
                "../../etc/passwd",
                "picture/../collection.db",
                "-/static-plugins/firstcoat/../queries.py",
                "-/databases.json",
                "%2e%2e/%2e%2e/etc/passwd",
            ):
                assert curl(address + path).startswith("HTTP/1.1 404")
            assert curl("-X", "POST", "-d", "a=b", address).startswith("HTTP/1.1 405")
            assert curl("-X", "DELETE", f"{address}object/OHM-1962-7").startswith("HTTP/1.1 405")
            head = curl("-I", address)
            assert head.startswith("HTTP/1.1 200")
            assert head.split("\n\n", 1)[1] == ""
        finally:
            process.terminate()


def test_who_connects_and_asks_nothing_is_let_go_and_readers_are_answered(harbour: Path) -> None:
    """520 half requests take all 500 places; when their time is over, the next reader is answered."""
    impatient = SERVE.replace(
        "serve(Path", "from collection.output.site import serve as s; s.HEARD_WITHIN = 2.0; serve(Path"
    )
    with subprocess.Popen([sys.executable, "-c", impatient, harbour], stdout=subprocess.PIPE, text=True) as process:
        address = urlsplit(process.stdout.readline().strip())
        where = (address.hostname, address.port)
        held = []
        try:
            for _ in range(520):
                held.append(socket.create_connection(where))
                held[-1].sendall(b"GET / HT")
            # Each is closed by the server, whenever that may be: `recv` then gives nothing.
            for each in held:
                each.settimeout(120)
                while each.recv(4096):
                    pass
            with socket.create_connection(where) as reader:
                reader.settimeout(120)
                reader.sendall(b"GET / HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")
                assert reader.recv(15) == b"HTTP/1.1 200 OK"
        finally:
            for each in held:
                each.close()
            process.terminate()
