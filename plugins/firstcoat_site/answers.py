"""Makes the pages: one question to the published file, one template or one JSON document, and the error pages."""

from __future__ import annotations

import hashlib
import sys
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from datasette.utils import tilde_decode, tilde_encode
from datasette.utils.asgi import Base400, Forbidden, NotFound, Request, Response
from jinja2 import Environment, PackageLoader
from markupsafe import Markup

from collection.language.sentences import counted
from collection.output.drawings import elevation, states
from collection.output.published.addresses import Addresses, anchor
from collection.output.published.comparisons import pairs
from collection.output.published.filed_object import published_object
from collection.output.published.published_object import PublishedObject
from collection.output.published.whole_records import whole_records
from collection.output.site.papers import KINDS, PAPERS, paper_name
from collection.output.tell import wording
from collection.values.spoken_dates import in_words
from firstcoat_site import queries

if TYPE_CHECKING:
    from datasette.app import Datasette

Json = dict[str, Any]

DATABASE = "collection"
MOST_STEPS = 100_000_000
"""How many of its own steps SQLite may take for one page: a second or two of its work. A clock would count our own
computing between two questions as well, and whatever else the machine is doing."""
_COUNTED = 1000
"""How many steps are counted at a time."""
PER_COPIED_PAGE = 200
CACHE = {"Cache-Control": "public, max-age=300"}
ERRORS = {
    400: ("This cannot be read", "The address or the question cannot be read."),
    403: ("Not open", "This page is not open to readers."),
    404: ("Not found", "There is no such page. The object may have another number, or it is not published."),
    405: ("Read only", "This site can only be read."),
    414: ("Too long", "The question is too long."),
    500: ("Something went wrong", "The page could not be made. The fault is the program's, not yours."),
}


class NotHere(NotFound):  # type: ignore[misc]
    """What is asked for is not there, and the reader is told why in these words."""


async def page(datasette: Datasette, name: str, content: Callable[[Any], Json]) -> Response:
    """A page, read and rendered in one go in the database's thread."""
    template = _templates().get_template(f"firstcoat_{name}.html")
    common = _common(datasette)
    return Response.html(
        await ask(datasette, lambda c: template.render(**{**common, "about": queries.about_file(c), **content(c)})),
        headers=CACHE,
    )


def rendered(datasette: Datasette, connection: Any, name: str, content: Json) -> Markup:
    """What a page shows below its head, to stand inside another page."""
    common = {**_common(datasette), "layout": "firstcoat_inside.html", "inside": True}
    return Markup(
        _templates()
        .get_template(f"firstcoat_{name}.html")
        .render(**{**common, "about": queries.about_file(connection), **content})
    )


async def data(datasette: Datasette, content: Callable[[Any], Json]) -> Response:
    """The same as JSON: every published column of every record, blank ones as null."""
    found, columns = await ask(datasette, lambda c: (content(c), queries.columns(c)))
    return Response.json(whole_records(found, columns), headers=CACHE)


async def ask(datasette: Datasette, question: Callable[[Any], Any]) -> Any:
    """The published file's answer to one question, within `MOST_STEPS`.

    :raises sqlite3.OperationalError: where SQLite takes more steps than that.
    """

    def within(connection: Any) -> Any:
        with _limited(connection):
            return question(connection)

    return await datasette.get_database(DATABASE).execute_fn(within)


def copied(datasette: Datasette) -> Json | None:
    """Where the pages are copied into an archive: its `name`, its `day`, and the folder of its `papers` where it has one.

    A copy has no forms, nothing that asks, and lists where the site has a search.
    """
    found: Json | None = (datasette.plugin_config("firstcoat_site") or {}).get("copied")
    return found


def per_page(datasette: Datasette) -> int:
    """How many objects a list shows on one page; in a copy nobody can search, so there are more."""
    return queries.PER_PAGE if copied(datasette) is None else PER_COPIED_PAGE


def paper(datasette: Datasette, code: str, kind: str) -> Path:
    """Where the file of an object's paper stands, if it was made: beside the pages, or with the archive of a copy."""
    beside = Path(str(datasette.get_database(DATABASE).path)).parent / PAPERS
    return Path((copied(datasette) or {}).get("papers") or beside) / paper_name(code, kind)


@contextmanager
def _limited(connection: Any) -> Iterator[None]:
    left = MOST_STEPS // _COUNTED

    def stop() -> bool:
        nonlocal left
        left -= 1
        return left < 0

    connection.set_progress_handler(stop, _COUNTED)
    try:
        yield
    finally:
        connection.set_progress_handler(None, 0)


def object_of(connection: Any, request: Request) -> PublishedObject:
    """The object that the address names.

    :raises NotFound: where there is none.
    """
    published = published_object(connection, tilde_decode(request.url_vars["code"]))
    if published is None:
        raise NotFound("No such object")
    return published


def of_object(datasette: Datasette, published: PublishedObject, *, beside: bool = False) -> Json:
    """What the template of every page about an object gets.

    :param beside: for the object's own page, whose links can be shorter.
    """
    own = Addresses(datasette.urls.path, published.code)
    to = own.beside() if beside else own
    return {
        "own": own.object,
        "published": published,
        "document": published,
        "compared": pairs(published["surveys"]),
        "papers": [kind for kind in KINDS if paper(datasette, published.code, kind).is_file()],
        "to": to,
        "anchor": to.anchor,
        "placed": lambda svg: placed(svg, to, datasette.urls.path("/picture/")),
        "drawn": lambda view, name, **how: placed(
            elevation.draw(view, name=name, **how), to, datasette.urls.path("/picture/")
        ),
        "names_agent": bool(published["tests"] or published["proposals"] or published["treatments"]),
    }


def placed(svg: str | None, to: Addresses, pictures: str) -> Markup:
    """A figure with its addresses put in; nothing where there is no figure.

    :param pictures: the address below which the published files stand.
    """
    return Markup(
        (svg or "").replace('href="@/', f'href="{to.object}/').replace('href="@picture/', f'href="{pictures}')
    )


def answer_error(datasette: Datasette, request: Request, exception: Exception) -> Any:
    """The answer to any error: a status and our own words, never those of the exception."""

    async def inner() -> Response:
        if isinstance(exception, Forbidden):
            status = 403
        elif isinstance(exception, Base400):
            status = exception.status
        else:
            status = getattr(exception, "status", 500)
        status = status if status in ERRORS else 500 if status >= 500 else 400
        if status == 500:
            # For whoever runs the server; the reader gets the sentence alone.
            traceback.print_exception(exception, limit=-8, file=sys.stderr)
        return await error(datasette, status, request.path, str(exception) if isinstance(exception, NotHere) else None)

    return inner


async def error(datasette: Datasette, status: int, path: str, message: str | None = None) -> Response:
    """The answer that says what is wrong: a page, or JSON at an address of JSON. It asks no database.

    :param message: instead of the sentence that goes with the status.
    """
    title, usual = ERRORS[status]
    message = message or usual
    if path.lower().endswith((".json", ".jsonld")):
        found = Response.json({"format": 1, "error": message, "status": status}, status=status)
    else:
        template = _templates().get_template("firstcoat_error.html")
        found = Response.html(
            template.render(**_common(datasette), about={}, title=title, message=message), status=status
        )
    found.headers["Cache-Control"] = "no-store"
    return found


@cache
def _templates() -> Environment:
    """Our own environment, because Datasette's awaits every macro, which costs several times the page."""
    found = Environment(
        loader=PackageLoader("firstcoat_site"), autoescape=True, auto_reload=False, trim_blocks=True, lstrip_blocks=True
    )
    found.filters["dated"] = in_words
    found.filters["coded"] = tilde_encode
    return found


def _common(datasette: Datasette) -> Json:
    path = datasette.urls.path
    return {
        "style": lambda name: f"{datasette.urls.static_plugins('firstcoat', f'{name}.css')}?{version(name)}",
        "icon": datasette.urls.static_plugins("firstcoat", "icon.svg"),
        "layout": "firstcoat_base.html",
        "copied": copied(datasette),
        "path": path,
        "home": path("/"),
        "object_url": lambda code: path(f"/object/{tilde_encode(code)}"),
        "survey_url": lambda code: path(f"/survey/{tilde_encode(code)}"),
        "compare_url": lambda one, other: path(f"/compare/{tilde_encode(one)}/{tilde_encode(other)}"),
        "picture_url": lambda name: path(f"/picture/{name}"),
        "address": (datasette.plugin_config("firstcoat_site") or {}).get("address"),
        "turned": lambda number: urlencode({"page": number}),
        "asked": "",
        "anchor": anchor,
        "sprite": _sprite(),
        "severity": wording.severity,
        "counted": counted,
        "decided": wording.DECIDED,
        "read_counts": wording.read_counts,
        "conditions_of": wording.conditions_of,
        "advised": wording.advised,
        "dry": wording.DRY,
        "tables_url": path(f"/{DATABASE}") if _shows_tables(datasette) else None,
    }


@cache
def _sprite() -> Markup:
    return Markup(states.symbols())


def _shows_tables(datasette: Datasette) -> bool:
    return bool((datasette.plugin_config("firstcoat_site") or {}).get("tables"))


@cache
def version(name: str) -> str:
    """Tells one content of a stylesheet from another."""
    return hashlib.sha256(files("firstcoat_site").joinpath("static", f"{name}.css").read_bytes()).hexdigest()[:12]
