"""The routes: each asks one function of `firstcoat_site.queries`, and renders one template."""

from __future__ import annotations

import hashlib
import sys
import traceback
from collections.abc import Callable
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from datasette.utils import sqlite_timelimit, tilde_decode, tilde_encode
from datasette.utils.asgi import Base400, Forbidden, NotFound, Request, Response
from jinja2 import Environment, PackageLoader

from collection.sentences import counted
from firstcoat_site import object_page, queries, wording
from firstcoat_site.matches import why

if TYPE_CHECKING:
    from datasette.app import Datasette

DATABASE = "collection"
TIME_LIMIT_MS = 2000
CACHE = {"Cache-Control": "public, max-age=300"}
LONGEST_QUESTION = 300
SHOWN_LOSSES = 6
"""How many lines of a proposal stand on the object's page; the rest is on the proposal's own."""
_TYPES = {"png": "image/png", "jpg": "image/jpeg", "svg": "image/svg+xml"}
_ERRORS = {
    400: ("This cannot be asked", "The address or the question cannot be read."),
    403: ("Not open", "This page is not open to readers."),
    404: ("Not found", "There is no such page. The object may have another number, or may not be published."),
    405: ("Only reading", "This site can only be read."),
    414: ("Too long", "The question is too long."),
    500: ("Something went wrong", "The page could not be made. The fault is the program's, not yours."),
}


async def start(datasette: Datasette, request: Request) -> Response:
    """The start page, or the answer to a question."""
    asked, page = _asked(request), _page(request)
    paging = {"asked": asked, "page": page, "per_page": queries.PER_PAGE}
    if not asked:
        return await _render(datasette, "start", lambda c: {**paging, **queries.start(c, page)})

    def results(connection: Any) -> dict[str, Any]:
        found = queries.search(connection, asked, page)
        return {**paging, "about": queries.told(connection), "total": found.total,
                "results": [_result(document, asked) for document in found.documents]}

    return await _render(datasette, "results", results)


async def search_json(datasette: Datasette, request: Request) -> Response:
    """`{"format", "total", "results": [{"object", "title", "places", "why"}]}`."""
    asked = _asked(request)
    found = await _ask(datasette, lambda c: queries.search(c, asked, _page(request)))
    results = [_result(document, asked) for document in found.documents]
    return Response.json({"format": 1, "total": found.total, "results": [
        {"object": r["object"], "title": r["title"], "places": r["places"],
         "why": "".join(text for text, _ in r["why"])} for r in results]}, headers=CACHE)


async def one_object(datasette: Datasette, request: Request) -> Response:
    """An object's page."""
    def content(connection: Any) -> dict[str, Any]:
        document = _document(connection, request)
        return {**object_page.object_page(document), **_anchors(document), "about": queries.told(connection),
                "page_url": "", "shown_losses": SHOWN_LOSSES, "whole": False}

    return await _render(datasette, "object", content)


def _anchors(document: dict[str, Any]) -> dict[str, Any]:
    """How an object's page names its own records: by keys, without saying the object each time."""
    own = f"{document['object']}/"
    return {"anchor": lambda sheet, key: wording.anchor(sheet, key.removeprefix(own))}


async def one_proposal(datasette: Datasette, request: Request) -> Response:
    """One proposal with every line of it."""
    code = tilde_decode(request.url_vars["proposal"])

    def content(connection: Any) -> dict[str, Any]:
        document = _document(connection, request)
        page = object_page.object_page(document)
        row = next((row for row in page["proposals"] if row["proposal"] == code), None)
        if row is None:
            raise NotFound("No such proposal")
        return {**page, **_anchors(document), "row": row, "shown_losses": len(row["losses"]), "whole": True,
                "page_url": datasette.urls.path(f"/object/{tilde_encode(document['object'])}")}

    return await _render(datasette, "proposal_page", content)


async def one_object_json(datasette: Datasette, request: Request) -> Response:
    """An object's document, blank columns as null."""
    document, columns = await _ask(datasette, lambda c: (_document(c, request), queries.columns(c)))
    return Response.json(_completed(document, columns), headers=CACHE)


async def about(datasette: Datasette, request: Request) -> Response:
    """How to read the site."""
    return await _render(datasette, "about", lambda c: {**queries.about(c), "means": wording.SEVERITY_MEANS})


async def picture(datasette: Datasette, request: Request) -> Response:
    """A published image file."""
    name = f"{request.url_vars['name']}.{request.url_vars['kind']}"
    if not await _ask(datasette, lambda c: queries.is_picture(c, name)):
        raise NotFound("No such picture")
    path = Path(datasette.get_database(DATABASE).path).parent / "pictures" / name
    return Response(path.read_bytes(), content_type=_TYPES[request.url_vars["kind"]],
                    headers={"Cache-Control": "public, max-age=86400, immutable"})


async def no_page(datasette: Datasette, request: Request) -> Response:
    """What would tell about the server rather than the collection."""
    raise NotFound("No such page")


ROUTES: list[tuple[str, Any]] = [
    (r"^/$", start),
    (r"^/about$", about),
    (r"^/search\.json$", search_json),
    (r"^/object/(?P<code>[^/]+)\.json$", one_object_json),
    (r"^/object/(?P<code>[^/.]+)$", one_object),
    (r"^/object/(?P<code>[^/.]+)/(?P<proposal>[^/.]+)$", one_proposal),
    (r"^/picture/(?P<name>[0-9a-f]{32})\.(?P<kind>png|jpg|svg)$", picture),
    (r"^/-/(?!static)", no_page),
]


def answer_error(datasette: Datasette, request: Request, exception: Exception) -> Any:
    """The answer to anything that went wrong: a status and our own words, never the exception's."""
    async def inner() -> Response:
        if isinstance(exception, Forbidden):
            status = 403
        elif isinstance(exception, Base400):
            status = exception.status
        else:
            status = getattr(exception, "status", 500)
        status = status if status in _ERRORS else 500 if status >= 500 else 400
        if status == 500:
            # For whoever runs the server; the reader gets the sentence alone.
            traceback.print_exception(exception, limit=-8, file=sys.stderr)
        return Response.html(await error_page(datasette, status), status=status, headers={"Cache-Control": "no-store"})

    return inner


async def error_page(datasette: Datasette, status: int) -> str:
    """The page of an error; it needs nothing of the request and nothing of the database."""
    title, message = _ERRORS[status]
    return _templates().get_template("firstcoat_error.html").render(
        **_common(datasette), title=title, message=message)


async def _render(datasette: Datasette, name: str, content: Callable[[Any], dict[str, Any]]) -> Response:
    """A page whose content is asked for and rendered in one go, in the database's thread."""
    template = _templates().get_template(f"firstcoat_{name}.html")
    common = _common(datasette)
    return Response.html(await _ask(datasette, lambda c: template.render(**{**common, **content(c)})), headers=CACHE)


@cache
def _templates() -> Environment:
    """Our own environment: Datasette's awaits every macro, which costs several times the page."""
    return Environment(loader=PackageLoader("firstcoat_site"), autoescape=True, auto_reload=False)


def _common(datasette: Datasette) -> dict[str, Any]:
    urls = datasette.urls
    return {
        "css": f"{urls.static_plugins('firstcoat', 'firstcoat.css')}?{_css_version()}",
        "icon": urls.static_plugins("firstcoat", "icon.svg"), "home": urls.path("/"), "about_url": urls.path("/about"),
        "object_url": lambda code: urls.path(f"/object/{tilde_encode(code)}"),
        "proposal_part": tilde_encode,
        "picture_url": lambda name: urls.path(f"/picture/{name}"),
        "asked": "", "anchor": wording.anchor, "severity": wording.severity,
        "counted": counted, "read_counts": wording.read_counts,
        "conditions_of": wording.conditions_of, "tables_url": urls.path(f"/{DATABASE}") if _shows_tables(datasette)
        else None,
    }


def _shows_tables(datasette: Datasette) -> bool:
    return bool((datasette.plugin_config("firstcoat_site") or {}).get("tables"))


@cache
def _css_version() -> str:
    return hashlib.sha256(files("firstcoat_site").joinpath("static", "firstcoat.css").read_bytes()).hexdigest()[:12]


async def _ask(datasette: Datasette, question: Callable[[Any], Any]) -> Any:
    def limited(connection: Any) -> Any:
        with sqlite_timelimit(connection, TIME_LIMIT_MS):
            return question(connection)

    return await datasette.get_database(DATABASE).execute_fn(limited)


def _document(connection: Any, request: Request) -> dict[str, Any]:
    document = queries.document(connection, tilde_decode(request.url_vars["code"]))
    if document is None:
        raise NotFound("No such object")
    return document


def _asked(request: Request) -> str:
    return " ".join((request.args.get("q") or "").split())[:LONGEST_QUESTION]


def _page(request: Request) -> int:
    text = request.args.get("page") or "1"
    number = int(text) if text.isascii() and text.isdigit() and len(text) < 6 else 1
    return min(max(number, 1), queries.LARGEST_PAGE)


def _result(document: dict[str, Any], asked: str) -> dict[str, Any]:
    places, reason = why(document, asked, queries.asked_words(asked))
    return {"object": document["object"], "title": document["title"], "kind": document["record"]["kind"],
            "places": places, "place_codes": {row["place"] for row in document["survival"]["places"]}, "why": reason,
            "lead": document["survival"]["sentence"]}


def _completed(document: dict[str, Any], columns: dict[str, list[str]]) -> dict[str, Any]:
    """The document with every published column of every record, blank ones as None."""
    def filled(table: str, row: dict[str, Any]) -> dict[str, Any]:
        nested = {name: [filled(name, inner) for inner in row[name]] for name in columns
                  if isinstance(row.get(name), list)}
        return {**dict.fromkeys(columns[table]), **row, **nested}

    return {name: filled("objects", value) if name == "record" else
            [filled(name, row) for row in value] if name in columns and isinstance(value, list) else value
            for name, value in document.items()}
