"""How an answer goes out: how long it may be kept, under which tag, compressed or not, and how long it is.

It sits between Datasette and the server. HTTP's rules are those of RFC 9110 (fields, tags, encodings) and 9111 (caches).
"""

from __future__ import annotations

import asyncio
import gzip
import hashlib
import re
from collections.abc import Awaitable, Callable
from datetime import date
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from collection.output.site.checksums import CHECKSUMS
from collection.output.site.computed_objects import program_checksum
from firstcoat_site.answers import DATABASE, version

if TYPE_CHECKING:
    from datasette.app import Datasette

Scope = dict[str, Any]
Message = dict[str, Any]
Send = Callable[[Message], Awaitable[None]]

FOREVER = b"public, max-age=31536000, immutable"
"""For what stands under an address that changes with its content."""
SHORT = b"public, max-age=300"
NEVER = b"no-store"
FOR_STAFF = b"private, no-store"
SMALLEST = 500
"""Bytes below which compressing gains nothing."""
BY_A_THREAD = 20_000
"""Bytes from which compressing takes long enough to be done beside the loop: about a millisecond for 60 kB."""
LEVEL = 5
_TEXTS = re.compile(rb"text/|image/svg|application/(?:[a-z.]+\+)?(?:json|xml)")
_STYLE = re.compile(r"/-/static-plugins/firstcoat/([a-z0-9_-]+)\.css")
_OURS = frozenset({b"cache-control", b"content-length", b"content-encoding", b"etag", b"vary"})


class Delivery:
    """How one site's answers go out.

    :param tagged: whether what stands at a path is the same bytes for as long as the site is the same.
    """

    def __init__(self, datasette: Datasette, tagged: Callable[[str], bool]) -> None:
        said = datasette.plugin_config("firstcoat_site") or {}
        self._tagged = tagged
        self._staff = said.get("audience") == "staff"
        folder = Path(str(datasette.get_database(DATABASE).path)).parent
        self._state = hashlib.sha256(
            f"{_listed(folder)}\n{_program()}\n{said.get('address')}\n{said.get('tables')}".encode()
        ).hexdigest()

    def tag(self, scope: Scope, path: str) -> str | None:
        """A strong tag from the site's state, the program and the address; None where an answer has none."""
        if self._staff or not self._tagged(path):
            return None
        # What is past its date, and "today" in an answer, may change with the day.
        asked = f"{self._state}\n{date.today()}\n{path}?".encode() + bytes(scope.get("query_string", b""))
        return hashlib.sha256(asked).hexdigest()[:32]

    async def deliver(self, app: Callable[[Send], Awaitable[None]], scope: Scope, path: str, send: Send) -> None:
        """Sends what `app` answers; where the reader has it already, only that it is the same."""
        asked = {bytes(name).lower(): bytes(value).decode("latin-1") for name, value in scope["headers"]}
        packing = takes_gzip(asked.get(b"accept-encoding", ""))
        tag, held = self.tag(scope, path), asked.get(b"if-none-match", "")
        known = None if tag is None else next((name for name in (tag, f"{tag}-gz") if f'"{name}"' in _tags(held)), None)
        if known is not None:
            await send(
                {
                    "type": "http.response.start",
                    "status": 304,
                    "headers": [
                        (b"etag", f'"{known}"'.encode()),
                        (b"cache-control", self._kept(scope, path, 200, SHORT)),
                        (b"vary", b"Accept-Encoding"),
                    ],
                }
            )
            await send({"type": "http.response.body", "body": b""})
            return
        start: Message = {}
        pieces: list[bytes] = []
        is_sent = False

        async def collect(message: Message) -> None:
            nonlocal start, is_sent
            if message["type"] == "http.response.start":
                start = message
                return
            pieces.append(message.get("body", b""))
            if not message.get("more_body") and not is_sent:
                is_sent = True
                await self._send(scope, path, start, b"".join(pieces), tag, packing, held == "*", send)

        await app(collect)

    async def _send(
        self,
        scope: Scope,
        path: str,
        start: Message,
        body: bytes,
        tag: str | None,
        packing: bool,
        any_held: bool,
        send: Send,
    ) -> None:
        status = start["status"]
        said = {bytes(name).lower(): bytes(value) for name, value in start["headers"]}
        headers = [(name, value) for name, value in start["headers"] if bytes(name).lower() not in _OURS]
        headers.append((b"cache-control", self._kept(scope, path, status, said.get(b"cache-control", NEVER))))
        packed = False
        if _TEXTS.match(said.get(b"content-type", b"")):
            headers.append((b"vary", b"Accept-Encoding"))
            packed = packing and len(body) >= SMALLEST
        if packed:
            body = await _packed(body)
            headers.append((b"content-encoding", b"gzip"))
        if status == 200 and tag is not None:
            headers.append((b"etag", f'"{tag}-gz"'.encode() if packed else f'"{tag}"'.encode()))
            if any_held:
                status, body = 304, b""
        if status != 304:
            headers.append((b"content-length", str(len(body)).encode()))
        await send({"type": "http.response.start", "status": status, "headers": headers})
        await send({"type": "http.response.body", "body": b"" if scope["method"] == "HEAD" else body})

    def _kept(self, scope: Scope, path: str, status: int, said: bytes) -> bytes:
        """How long an answer may be kept, and by whom."""
        if self._staff:
            return FOR_STAFF
        if status not in (200, 308):
            return NEVER
        if path.startswith("/picture/"):
            return FOREVER
        style = _STYLE.fullmatch(path)
        if style:
            return FOREVER if scope.get("query_string") == version(style[1]).encode() else SHORT
        return SHORT if path.startswith("/-/") else said


def takes_gzip(accepted: str) -> bool:
    """Whether a reader takes gzip, by its Accept-Encoding (RFC 9110, section 12.5.3)."""
    weights: dict[str, bool] = {}
    for part in accepted.lower().split(","):
        name, *more = (word.strip() for word in part.split(";"))
        weights[name] = not any(re.fullmatch(r"q=0(?:\.0*)?", word) for word in more)
    return weights.get("gzip", weights.get("x-gzip", weights.get("*", False)))


def _tags(held: str) -> set[str]:
    """The tags of If-None-Match, which compares weakly (RFC 9110, section 13.1.2)."""
    return {word.strip().removeprefix("W/") for word in held.split(",")}


async def _packed(body: bytes) -> bytes:
    if len(body) < BY_A_THREAD:
        return gzip.compress(body, LEVEL, mtime=0)
    return await asyncio.to_thread(gzip.compress, body, LEVEL, mtime=0)


def _listed(folder: Path) -> str:
    """The checksums of the site's files."""
    return (folder / CHECKSUMS).read_text("utf-8")


@cache
def _program() -> str:
    """Tells one version of the program, its templates and stylesheets from another."""
    found = hashlib.sha256(program_checksum().encode())
    package = Path(str(files("firstcoat_site")))
    for path in sorted(each for kind in ("*.py", "*.html") for each in package.rglob(kind)):
        found.update(path.read_bytes())
    return found.hexdigest()
