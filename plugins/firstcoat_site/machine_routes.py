"""For machines: an object as JSON-LD, the site map, and what crawlers may read.

A map needs whole addresses, so there is one only where the site knows its own.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

from datasette.utils import tilde_encode
from datasette.utils.asgi import NotFound, Request, Response

from collection.output.site.linked_data import linked_object
from firstcoat_site import answers, queries
from firstcoat_site.addresses import Addresses

if TYPE_CHECKING:
    from datasette.app import Datasette

Json = dict[str, Any]

PER_MAP = 50_000
"""The most addresses of one site map, by the protocol of sitemaps.org."""
FIXED = ("", "at-risk", "about", "manual")
_SPACE = 'xmlns="http://www.sitemaps.org/schemas/sitemap/0.9"'


async def linked(datasette: Datasette, request: Request) -> Response:
    """An object as JSON-LD."""
    address = _address(datasette)

    def content(connection: Any) -> Json:
        published = answers.object_of(connection, request)
        to = Addresses(lambda path: (address or "/") + datasette.urls.path(path).removeprefix("/"), published.code)

        def link(kind: str, code: str) -> str:
            if kind == "object":
                return to.object if code == published.code else Addresses(to.path, code).object
            if kind == "record":
                sheet, _, key = code.partition("/")
                return to.record(sheet, published.rows[sheet, key])
            return to.place(code) if kind == "place" else to.sample(code)

        return linked_object(published.document, link, queries.about_file(connection))

    found = await answers.ask(datasette, content)
    return Response(
        json.dumps(found, ensure_ascii=False), content_type="application/ld+json; charset=utf-8", headers=answers.CACHE
    )


async def site_map(datasette: Datasette, request: Request) -> Response:
    """The addresses of all objects and surveys, or where there are too many the list of such lists."""
    address = _address(datasette)
    if address is None or _is_for_staff(datasette):
        raise NotFound("No site map")
    codes = await answers.ask(datasette, queries.addressed)
    paths = [
        *FIXED,
        *(f"survey/{tilde_encode(code)}" for code in codes["surveys"]),
        *(f"object/{tilde_encode(code)}" for code in codes["objects"]),
    ]
    maps = -(-len(paths) // PER_MAP)
    part = request.url_vars.get("part")
    if part is None and maps > 1:
        listed = "".join(
            f"<sitemap><loc>{escape(f'{address}sitemap-{n}.xml')}</loc></sitemap>" for n in range(1, maps + 1)
        )
        return _xml(f"<sitemapindex {_SPACE}>{listed}</sitemapindex>")
    number = int(part or 1)
    shown = paths[(number - 1) * PER_MAP : number * PER_MAP] if 1 <= number <= maps else []
    if not shown:
        raise NotFound("No such site map")
    return _xml(
        f"<urlset {_SPACE}>"
        + "".join(f"<url><loc>{escape(address + path)}</loc></url>" for path in shown)
        + "</urlset>"
    )


async def robots(datasette: Datasette, request: Request) -> Response:
    """What crawlers may read: of the public site everything but searches, of the staff site nothing."""
    address = _address(datasette)
    if _is_for_staff(datasette):
        lines = ["User-agent: *", "Disallow: /"]
    else:
        lines = ["User-agent: *", "Disallow: /before", "Disallow: /*?"] + (
            [f"Sitemap: {address}sitemap.xml"] if address else []
        )
    return Response.text("\n".join([*lines, ""]), headers=answers.CACHE)


ROUTES: list[tuple[str, Any]] = [
    (r"^/object/(?P<code>[^/.]+)\.jsonld$", linked),
    (r"^/sitemap(?:-(?P<part>[1-9][0-9]{0,4}))?\.xml$", site_map),
    (r"^/robots\.txt$", robots),
]


def _address(datasette: Datasette) -> str | None:
    return (datasette.plugin_config("firstcoat_site") or {}).get("address")


def _is_for_staff(datasette: Datasette) -> bool:
    return (datasette.plugin_config("firstcoat_site") or {}).get("audience") == "staff"


def _xml(body: str) -> Response:
    return Response(
        f'<?xml version="1.0" encoding="UTF-8"?>\n{body}\n',
        content_type="application/xml; charset=utf-8",
        headers=answers.CACHE,
    )
