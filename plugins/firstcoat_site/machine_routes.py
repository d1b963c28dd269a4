"""One object for machines: as JSON-LD, as a IIIF manifest of its pictures, as a citation; and what crawlers may read."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from datasette.utils import tilde_decode
from datasette.utils.asgi import Request, Response

from collection.output.export.citation import citation
from collection.output.export.linked_art.document import linked_object
from collection.output.export.linked_art.ids import Ids
from collection.output.export.manifest import CONTEXT, manifest
from collection.output.published.addresses import Addresses
from collection.output.published.published_object import PublishedObject
from firstcoat_site import answers, feed_routes, queries, review_routes
from firstcoat_site.feed_routes import is_for_staff, lasting_address

if TYPE_CHECKING:
    from datasette.app import Datasette

Json = dict[str, Any]

NO_ADDRESS = (
    "A manifest names its pictures by whole addresses, and this site was not told its own. "
    "Whoever publishes it says it once: publish with an address."
)
NO_PICTURE = "No picture of this object is published, so there is no manifest."


async def linked(datasette: Datasette, request: Request) -> Response:
    """An object as JSON-LD, the same that `export --as linked-art` writes."""
    address = lasting_address(datasette)
    below = None if address is None else address + datasette.urls.path("/").removeprefix("/")

    def content(connection: Any) -> Json:
        published, about = answers.object_of(connection, request), queries.about_file(connection)
        whose = about.get("collection_code") or about.get("collection_name") or ""
        return linked_object(published.document, Ids(published.code, below, whose), about)

    found = await answers.ask(datasette, content)
    return _as_json(found, "application/ld+json; charset=utf-8")


async def pictures(datasette: Datasette, request: Request) -> Response:
    """The pictures of an object as a IIIF manifest."""
    if lasting_address(datasette) is None:
        raise answers.NotHere(NO_ADDRESS)
    thumb = await answers.ask(datasette, lambda c: queries.thumb(c, tilde_decode(request.url_vars["code"])))
    found = await _told(datasette, request, lambda o, link, about: manifest(o, link, about, thumb))
    if found is None:
        raise answers.NotHere(NO_PICTURE)
    # The media type is that of clause 6.1, "Media types", of the Presentation API 3.0.
    return _as_json(found, f'application/ld+json;profile="{CONTEXT}"')


async def cited(datasette: Datasette, request: Request) -> Response:
    """The citation of an object as CSL JSON."""
    is_known = lasting_address(datasette) is not None
    found = await _told(
        datasette,
        request,
        lambda published, link, about: citation(published, link("object", published.code) if is_known else None, about),
    )
    return _as_json(found, "application/vnd.citationstyles.csl+json; charset=utf-8")


async def robots(datasette: Datasette, request: Request) -> Response:
    """What crawlers may read: of the public site everything but searches, of the staff site nothing."""
    address = lasting_address(datasette)
    if is_for_staff(datasette):
        lines = ["User-agent: *", "Disallow: /"]
    else:
        lines = ["User-agent: *", "Disallow: /before", "Disallow: /*?"] + (
            [f"Sitemap: {address}sitemap.xml"] if address else []
        )
    return Response.text("\n".join([*lines, ""]), headers=answers.CACHE)


ROUTES: list[tuple[str, Any]] = [
    (r"^/object/(?P<code>[^/.]+)\.jsonld$", linked),
    (r"^/object/(?P<code>[^/.]+)/manifest\.json$", pictures),
    (r"^/object/(?P<code>[^/.]+)/cite\.json$", cited),
    (r"^/robots\.txt$", robots),
    *feed_routes.ROUTES,
    *review_routes.ROUTES,
]


async def _told(
    datasette: Datasette,
    request: Request,
    tell: Callable[[PublishedObject, Callable[[str, str], str], dict[str, str]], Any],
) -> Any:
    """What `tell` makes of the object, of a function from kind and code to a lasting address, and of the file's words."""
    address = lasting_address(datasette) or "/"

    def content(connection: Any) -> Any:
        published = answers.object_of(connection, request)
        to = Addresses(lambda path: address + datasette.urls.path(path).removeprefix("/"), published.code)

        def link(kind: str, code: str) -> str:
            if kind == "object":
                return to.object if code == published.code else Addresses(to.path, code).object
            if kind == "record":
                sheet, _, key = code.partition("/")
                return to.record(sheet, published.rows[sheet, key])
            if kind == "picture":
                return to.path(f"/picture/{code}")
            return to.place(code) if kind == "place" else to.sample(code)

        return tell(published, link, queries.about_file(connection))

    return await answers.ask(datasette, content)


def _as_json(found: Any, kind: str) -> Response:
    return Response(json.dumps(found, ensure_ascii=False), content_type=kind, headers=answers.CACHE)
