"""Published sites for the tests, and what they answer when they are asked."""

from __future__ import annotations

import asyncio
import json
import re
import sqlite3
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote

from datasette.utils import tilde_encode
from firstcoat_site.object_routes import ROUTES
from site_packages import database_of, object_rows, write_package

from collection.output.manual import TOPICS
from collection.output.site.publish import publish
from collection.output.site.serve import make_datasette
from collection.store.changes import collection_row
from collection.values.resources import sample_folder

WHOSE = {
    "code": "OHM",
    "name": "Ostrinmouth Harbour Museum (invented)",
    "contact": "the registrar",
    "licence": "CC0-1.0",
}
HOSTILE = (
    "<script>alert('{0}')</script> \"'><img src=x onerror=alert(1)> javascript:alert({0}) '); DROP TABLE objects; --"
)


def hostile(sheet: str, column: str, kind: str) -> str:
    return HOSTILE.format(f"{sheet}.{column}")


def harbour_site(folder: Path) -> Path:
    """The invented harbour collection, taken in and published."""
    packages = Path(str(sample_folder())) / "harbour"
    path = database_of(folder / "harbour.db", packages / "2014", packages / "2024")
    collection_row.state(path, WHOSE, "T. Ester", "as the board decided")
    publish(path, folder / "out")
    return folder / "out"


def hostile_text_site(folder: Path) -> Path:
    """One object whose every text and name is hostile, published with names."""
    survey = {
        "code": "S1",
        "title": hostile("survey", "title", ""),
        "lead": hostile("survey", "lead", ""),
        "scope": hostile("survey", "scope", ""),
        "method": "m",
        "institution": "i",
        "started": "2019-05-01",
    }
    path = database_of(folder / "h.db", write_package(folder / "p", survey, object_rows("H/1'\"<b>", hostile)))
    said = {name: hostile("collection", name, "") for name in ("name", "contact", "licence")}
    collection_row.state(path, said, "T. Ester", "as the board decided")
    publish(path, folder / "out", names=True)
    return folder / "out"


@dataclass
class Answer:
    """What came back over the wire."""

    status_code: int
    headers: dict[str, str]
    content: bytes

    @property
    def text(self) -> str:
        return self.content.decode("utf-8", "replace")

    def json(self) -> Any:
        return json.loads(self.content)


async def call(app: Any, method: str, target: str, headers: dict[str, str]) -> Answer:
    """One request with its path as it stands: clients would tidy `..` away before it is sent."""
    path, _, query = target.partition("?")
    sent: list[dict[str, Any]] = []
    scope = {
        "type": "http",
        "http_version": "1.1",
        "method": method,
        "scheme": "http",
        "path": unquote(path),
        "raw_path": path.encode("ascii"),
        "query_string": query.encode("ascii"),
        "root_path": "",
        "headers": [(b"host", b"localhost"), *((n.encode(), v.encode()) for n, v in headers.items())],
        "client": ("127.0.0.1", 1),
        "server": ("localhost", 80),
    }

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    await app(scope, receive, send)
    return Answer(
        sent[0]["status"],
        {n.decode().lower(): v.decode() for n, v in sent[0]["headers"]},
        b"".join(m.get("body", b"") for m in sent[1:]),
    )


def get(
    site: Path, *paths: str, method: str = "GET", headers: dict[str, str] | None = None, datasette: Any = None
) -> list[Answer]:
    """The answers of a fresh site to some requests."""

    async def ask() -> list[Answer]:
        ds = datasette or make_datasette(site, threads=0)
        await ds.invoke_startup()
        app = ds.app()
        return [await call(app, method, path, headers or {}) for path in paths]

    return asyncio.run(ask())


class Page(HTMLParser):
    """What a browser would find in a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.ids: list[str] = []
        self.text: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self.ids += [value for name, value in attrs if name == "id" and value]

    def handle_data(self, data: str) -> None:
        self.text.append(data)

    @property
    def words(self) -> str:
        return " ".join("".join(self.text).split())

    def links(self) -> list[str]:
        return [href for tag, attrs in self.tags if tag == "a" and (href := attrs.get("href"))]


def codes(site: Path) -> list[str]:
    connection = sqlite3.connect(f"file:{site / 'collection.db'}?mode=ro", uri=True)
    try:
        return [row[0] for row in connection.execute("SELECT object FROM objects ORDER BY id")]
    finally:
        connection.close()


def pages_without_codes() -> list[str]:
    """The pages of an object that there is one of, such as its timeline, as the routes have them."""
    ends = (pattern.partition(")/")[2] for pattern, _ in ROUTES)
    return [end.removesuffix("$") for end in ends if re.fullmatch(r"[a-z-]+\$", end)]


def all_paths(site: Path) -> list[str]:
    """Every page of a site, its JSON beside it, and some of its pictures."""
    connection = sqlite3.connect(f"file:{site / 'collection.db'}?mode=ro", uri=True)
    try:
        told = [
            (kind, object_code, code)
            for table, kind, column in (
                ("places", "place", "place"),
                ("samples", "sample", "sample"),
                ("proposals", "proposal", "proposal"),
            )
            for object_code, code in connection.execute(f"SELECT object, {column} FROM {table}")
        ]
        losses = connection.execute(
            "SELECT object, proposal, loss FROM losses GROUP BY proposal_id, severity"
        ).fetchall()
        surveys = [code for (code,) in connection.execute("SELECT key FROM surveys")]
        compared = connection.execute("SELECT object, earlier, later FROM comparisons").fetchall()
        pictures = connection.execute("SELECT file FROM pictures WHERE file IS NOT NULL").fetchall()
    finally:
        connection.close()
    own = [f"/object/{tilde_encode(code)}" for code in codes(site)]
    pages = [
        "/about",
        "/before",
        "/at-risk",
        "/manual",
        *(f"/manual/{topic}" for topic in TOPICS),
        *(f"/survey/{tilde_encode(code)}" for code in surveys),
        *own,
        *(f"{path}/{page}" for path in own for page in pages_without_codes()),
        *(f"/object/{tilde_encode(o)}/{kind}/{tilde_encode(code)}" for kind, o, code in told),
        *(f"/object/{tilde_encode(o)}/proposal/{tilde_encode(p)}/loss/{tilde_encode(loss)}" for o, p, loss in losses),
        *sorted({f"/compare/{tilde_encode(one)}/{tilde_encode(other)}" for _, one, other in compared}),
        *(f"/object/{tilde_encode(o)}/compare/{tilde_encode(one)}/{tilde_encode(other)}" for o, one, other in compared),
    ]
    first = quote(codes(site)[0])
    return [
        "/",
        "/?q=red",
        "/?q=nothing+holds+this",
        "/?colour=red",
        "/index.json",
        "/search.json?q=red",
        *pages,
        *(f"{page}.json" for page in pages if page != "/before"),
        f"/before?object={first}",
        f"/before?object={first}&action=solvent&agent=acetone",
        f"/before.json?object={first}&action=dust",
        *(f"{path}/{name}.svg" for path in own for name in ("samples", "matrix")),
        *(f"/picture/{file}" for (file,) in pictures[:3]),
        "/-/static-plugins/firstcoat/firstcoat.css",
        "/-/static-plugins/firstcoat/icon.svg",
    ]
