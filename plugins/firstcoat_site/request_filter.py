"""The request filter: which paths and verbs a request may use, and which headers every answer carries.

It wraps the whole of Datasette: two verbs, the paths of the site's routes, fixed headers. A page that has its route needs
nothing here.
"""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable
from functools import cache
from typing import TYPE_CHECKING, Any

from datasette.utils.asgi import Response

from firstcoat_site.answers import error
from firstcoat_site.collection_routes import ROUTES, no_page
from firstcoat_site.delivery import Delivery
from firstcoat_site.written_numbers import LONGEST, OBJECT, where_it_stands

if TYPE_CHECKING:
    from datasette.app import Datasette

Scope = dict[str, Any]
Send = Callable[[dict[str, Any]], Awaitable[None]]
App = Callable[[Scope, Any, Send], Awaitable[None]]

STATIC = r"/-/static-plugins/firstcoat/[a-z0-9_-]+\.(?:css|svg)"
TABLES = re.compile(r"/(?:collection(?:/[A-Za-z0-9_~+,.-]*)*|-/static/[A-Za-z0-9_./-]+)")
"""Further paths where the publisher lets readers browse the tables."""
_SIGNS = re.compile(r"[A-Za-z0-9_~+./-]*")
VERBS = ("GET", "HEAD")
LONGEST_QUERY = 4000

POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
PICTURE_POLICY = "default-src 'none'; sandbox"
PICTURES = (".png", ".jpg", ".svg")
HEADERS = {
    b"x-content-type-options": b"nosniff",
    b"x-frame-options": b"DENY",
    b"referrer-policy": b"no-referrer",
    b"cross-origin-opener-policy": b"same-origin",
    b"cross-origin-resource-policy": b"same-origin",
    b"permissions-policy": b"camera=(), geolocation=(), microphone=(), interest-cohort=()",
}
FOR_VIEWERS = re.compile(r"/picture/[^/]+|/object/[^/]+/manifest\.json")
"""What viewers on other sites may read: IIIF Presentation 3.0 asks for it, as pictures without a person's data."""
OPEN = {b"access-control-allow-origin": b"*", b"cross-origin-resource-policy": b"cross-origin"}
_DROPPED = frozenset({*HEADERS, *OPEN, b"content-security-policy", b"server", b"set-cookie"})


@cache
def _pages() -> re.Pattern[str]:
    """The paths of all routes; the names of their parts are left out, since several routes have the same."""
    patterns = [pattern for pattern, handler in ROUTES if handler is not no_page]
    return re.compile("|".join(re.sub(r"\(\?P<\w+>", "(?:", pattern) for pattern in (*patterns, f"^{STATIC}$")))


def is_page(path: str) -> bool:
    """Whether a path, as it came over the wire, is of the kind that the site has."""
    return (
        _SIGNS.fullmatch(path) is not None
        and ".." not in path
        and "//" not in path
        and _pages().fullmatch(path) is not None
    )


def is_allowed(path: str, *, tables: bool) -> bool:
    """The same, with the tables where readers may browse them."""
    return is_page(path) or (tables and ".." not in path and "//" not in path and TABLES.fullmatch(path) is not None)


def wrapper(datasette: Datasette) -> Callable[[App], App]:
    """The filter for one site; its error pages are rendered by `firstcoat_site.answers`."""
    said = datasette.plugin_config("firstcoat_site") or {}
    tables = bool(said.get("tables"))
    is_for_staff = said.get("audience") == "staff"
    more = {b"x-robots-tag": b"noindex, nofollow"} if is_for_staff else {}

    def wrap(app: App) -> App:
        delivery = Delivery(datasette, is_page)

        async def filtered(scope: Scope, receive: Any, send: Send) -> None:
            if scope["type"] != "http":
                await app(scope, receive, send)
                return
            path = wire_path(scope)
            opened = OPEN if not is_for_staff and FOR_VIEWERS.fullmatch(path) else {}
            send = _guarded(send, PICTURE_POLICY if path.endswith(PICTURES) else POLICY, {**more, **opened})

            async def answer(send: Send) -> None:
                if scope["method"] not in VERBS:
                    refused = await error(datasette, 405, path)
                    refused.headers["Allow"] = "GET, HEAD"
                    await refused.asgi_send(send)
                elif len(path) > LONGEST or len(scope.get("query_string", b"")) > LONGEST_QUERY:
                    await (await error(datasette, 414, path)).asgi_send(send)
                elif is_allowed(path, tables=tables):
                    await app(_without_identity(scope), receive, _or_moved(datasette, scope, path, send))
                else:
                    found = await _moved(datasette, scope, path) or await error(datasette, 404, path)
                    await found.asgi_send(send)

            await delivery.deliver(answer, scope, path, send)

        return filtered

    return wrap


def _or_moved(datasette: Datasette, scope: Scope, path: str, send: Send) -> Send:
    """Sends an answer on; "not found" below `/object/` only where the number means no object."""
    if not path.startswith(OBJECT):
        return send
    has_moved = False

    async def sent(message: dict[str, Any]) -> None:
        nonlocal has_moved
        if message["type"] == "http.response.start" and message["status"] == 404:
            found = await _moved(datasette, scope, path)
            if found is not None:
                has_moved = True
                await found.asgi_send(send)
        if not has_moved:
            await send(message)

    return sent


async def _moved(datasette: Datasette, scope: Scope, path: str) -> Response | None:
    """A redirect to where an object stands whose number was written otherwise; None where there is none such."""
    found = await where_it_stands(datasette, path, is_page)
    if found is None:
        return None
    query = bytes(scope.get("query_string", b"")).decode("latin-1")
    # Only the site's own path: never a host, and a query of printable signs alone.
    address = datasette.urls.path(found) + (f"?{query}" if query and query.isascii() and query.isprintable() else "")
    return Response("", status=308, headers={"Location": address, "Cache-Control": "public, max-age=300"})


def wire_path(scope: Scope) -> str:
    """The path as it was sent, undecoded; what is not ASCII never matches a page."""
    raw = scope.get("raw_path") or scope["path"].encode("utf-8")
    return bytes(raw).partition(b"?")[0].decode("latin-1")


def _without_identity(scope: Scope) -> Scope:
    """The request without anything that could make two readers' answers differ."""
    kept = [(name, value) for name, value in scope["headers"] if name.lower() not in (b"cookie", b"authorization")]
    return {**scope, "headers": kept}


def _guarded(send: Send, policy: str, more: dict[bytes, bytes]) -> Send:
    async def guarded(message: dict[str, Any]) -> None:
        if message["type"] == "http.response.start":
            headers = [(name, value) for name, value in message.get("headers", []) if name.lower() not in _DROPPED]
            fixed = {**HEADERS, **more, b"content-security-policy": policy.encode()}
            message = {**message, "headers": [*headers, *fixed.items()]}
        await send(message)

    return guarded
