"""The request filter: which paths and verbs a request may use, and which headers every answer carries.

It wraps the whole of Datasette and knows nothing of it: two verbs, a list of paths, fixed headers.
"""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable
from typing import TYPE_CHECKING, Any

from firstcoat_site.answers import error_page

if TYPE_CHECKING:
    from datasette.app import Datasette

Scope = dict[str, Any]
Send = Callable[[dict[str, Any]], Awaitable[None]]
App = Callable[[Scope, Any, Send], Awaitable[None]]

CODE = r"[A-Za-z0-9_~+-]+"
PICTURE = r"[0-9a-f]{32}\.(?:png|jpg|svg)"
OF_OBJECT = (
    rf"(?:place|sample)/{CODE}|proposal/{CODE}(?:/loss/{CODE})?|timeline|tests|records|finishes|stratigraphy|"
    rf"compare/{CODE}/{CODE}"
)
OF_SITE = (
    rf"about|before|at-risk|manual(?:/[a-z-]+)?|survey/{CODE}|compare/{CODE}/{CODE}|object/{CODE}(?:/(?:{OF_OBJECT}))?"
)
PAGES = re.compile(
    rf"/(?:(?:index|search)\.json|(?:{OF_SITE})(?:\.json)?"
    rf"|object/{CODE}(?:/(?:samples|matrix)\.svg|\.jsonld)|picture/{PICTURE}"
    r"|robots\.txt|sitemap(?:-[1-9][0-9]{0,4})?\.xml"
    r"|-/static-plugins/firstcoat/[a-z0-9_-]+\.(?:css|svg))?"
)
TABLES = re.compile(r"/(?:collection(?:/[A-Za-z0-9_~+,.-]*)*|-/static/[A-Za-z0-9_./-]+)")
"""Further paths where the publisher lets readers browse the tables."""
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
_DROPPED = frozenset({*HEADERS, b"content-security-policy", b"server", b"set-cookie", b"access-control-allow-origin"})


def is_allowed(path: str, *, tables: bool) -> bool:
    """Whether a path, as it came over the wire, is one of the site's."""
    if ".." in path or "//" in path:
        return False
    return PAGES.fullmatch(path) is not None or (tables and TABLES.fullmatch(path) is not None)


def wrapper(datasette: Datasette) -> Callable[[App], App]:
    """The filter for one site; its error pages are rendered by `firstcoat_site.answers`."""
    said = datasette.plugin_config("firstcoat_site") or {}
    tables = bool(said.get("tables"))
    more = {b"x-robots-tag": b"noindex, nofollow"} if said.get("audience") == "staff" else {}

    def wrap(app: App) -> App:
        async def filtered(scope: Scope, receive: Any, send: Send) -> None:
            if scope["type"] != "http":
                await app(scope, receive, send)
                return
            path = wire_path(scope)
            send = _guarded(send, PICTURE_POLICY if path.endswith(PICTURES) else POLICY, more)
            if scope["method"] not in VERBS:
                await _answer(send, 405, await error_page(datasette, 405), scope, {b"allow": b"GET, HEAD"})
            elif not is_allowed(path, tables=tables):
                await _answer(send, 404, await error_page(datasette, 404), scope)
            elif len(scope.get("query_string", b"")) > LONGEST_QUERY:
                await _answer(send, 414, await error_page(datasette, 414), scope)
            else:
                await app(_without_identity(scope), receive, send)

        return filtered

    return wrap


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
            message = {
                **message,
                "headers": [*headers, *HEADERS.items(), *more.items(), (b"content-security-policy", policy.encode())],
            }
        await send(message)

    return guarded


async def _answer(send: Send, status: int, body: str, scope: Scope, more: dict[bytes, bytes] | None = None) -> None:
    content = body.encode()
    await send(
        {
            "type": "http.response.start",
            "status": status,
            "headers": [
                (b"content-type", b"text/html; charset=utf-8"),
                (b"content-length", str(len(content)).encode()),
                (b"cache-control", b"no-store"),
                *(more or {}).items(),
            ],
        }
    )
    await send({"type": "http.response.body", "body": b"" if scope["method"] == "HEAD" else content})
