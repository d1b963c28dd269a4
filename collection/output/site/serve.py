"""`serve`: Datasette, in this process, on a published folder; it writes nothing and asks no other host.

The settings below are Datasette's own. `firstcoat_site.request_filter` answers before Datasette sees a request.
"""

from __future__ import annotations

import asyncio
import hashlib
import json
import logging
import secrets
import socket
from collections.abc import Callable, Mapping
from ipaddress import ip_address
from pathlib import Path
from typing import Any

import uvicorn

# Datasette registers its own handler for errors only if the application is imported first.
from datasette import app as datasette_app
from datasette import handle_exception as datasette_errors
from uvicorn.protocols.http.h11_impl import H11Protocol

from collection.language.errors import CouldNot, DamageFound
from collection.output.site.checksums import CHECKSUMS
from collection.output.site.publish import METADATA
from collection.output.site.site_file import FILE_NAME

DEFAULT_PORT = 8001
HEARD_WITHIN = 10.0
"""Seconds within which who connects has to ask: connections that ask nothing would take the places of readers."""
LOOK_EVERY = 1.0
"""Seconds between looks whether another site stands in the folder."""
LOG = logging.getLogger(__name__)
SETTINGS: dict[str, Any] = {
    "default_allow_sql": False,
    "allow_download": False,
    "allow_csv_stream": False,
    "allow_signed_tokens": False,
    "suggest_facets": False,
    "default_cache_ttl": 300,
    "max_returned_rows": 500,
    "sql_time_limit_ms": 1000,
    "facet_time_limit_ms": 200,
    "max_csv_mb": 10,
    "template_debug": False,
    "trace_debug": False,
}
_UNSAFE_IN_URI = "?#%"
EVERYWHERE = ("0.0.0.0", "::")


def make_datasette(
    out_folder: Path, *, threads: int = 3, address: str | None = None, copied: Mapping[str, str] | None = None
) -> datasette_app.Datasette:
    """The site of a published folder, ready to be served or asked.

    :param address: where it is served, for lasting links, where it was published without saying so.
    :param threads: database threads; 0 asks the database in the loop itself, where nobody else waits.
    :param copied: where its pages are copied into an archive: that archive's `name` and `day`, and the folder of `papers`
        that go with it. Such pages have no forms, and lists instead of a search.
    :raises CouldNot: when the folder is not a published site.
    """
    folder = Path(out_folder).resolve()
    database, metadata = folder / FILE_NAME, folder / METADATA
    for path in (database, metadata):
        if not path.is_file():
            raise CouldNot(f"{out_folder} is not a published site: {path.name} is missing. Publish again.")
    if any(sign in str(database) for sign in _UNSAFE_IN_URI):
        raise CouldNot(
            f"The path {database} holds one of the signs ? # %, which would open another file. Rename the folder."
        )
    # The errors' own printer would write what lies in memory to the screen.
    datasette_errors.rich = None
    said = json.loads(metadata.read_text("utf-8"))
    own = said["plugins"]["firstcoat_site"]
    own["address"] = own.get("address") or address
    if copied is not None:
        own["copied"] = dict(copied)
    known = {setting.name for setting in datasette_app.SETTINGS}
    return datasette_app.Datasette(
        [],
        immutables=[str(database)],
        metadata=said,
        settings={**{name: value for name, value in SETTINGS.items() if name in known}, "num_sql_threads": threads},
        secret=secrets.token_hex(32),
        cors=False,
        memory=False,
        crossdb=False,
        pdb=False,
    )


def is_for_staff(out_folder: Path) -> bool:
    """Whether a published folder is the site for staff.

    :raises CouldNot: when the folder is not a published site.
    """
    metadata = Path(out_folder) / METADATA
    if not metadata.is_file():
        raise CouldNot(f"{out_folder} is not a published site: {METADATA} is missing. Publish again.")
    said: dict[str, Any] = json.loads(metadata.read_text("utf-8"))
    return bool(said["plugins"]["firstcoat_site"].get("audience") == "staff")


def heard_here_only(host: str) -> bool:
    """Whether only this machine can reach a host address."""
    try:
        found = socket.getaddrinfo(host, None, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)
    except (OSError, UnicodeError):  # a name that is none; `serve` says so
        return False
    return all(ip_address(str(where[0]).partition("%")[0]).is_loopback for *_, where in found)


def verify(out_folder: Path) -> int:
    """Compares every file of a published folder with its checksum; gives how many files were read.

    :raises DamageFound: naming each file that is not what was published.
    :raises CouldNot: when the folder has no checksums.
    """
    folder = Path(out_folder)
    listed = folder / CHECKSUMS
    if not listed.is_file():
        raise CouldNot(f"{out_folder} is not a published site: {CHECKSUMS} is missing. Publish again.")
    said = {line[66:]: line[:64] for line in listed.read_text("utf-8").splitlines()}
    found = {
        path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file() and path.name != CHECKSUMS
    }
    wrong = sorted(
        name
        for name in set(said) | found
        if name not in found or name not in said or _sha256(folder / name) != said[name]
    )
    if wrong:
        raise DamageFound(
            f"{out_folder} is not what was published: {', '.join(wrong)} changed, went missing or came "
            "in. Publish again."
        )
    return len(said)


def serve(
    out_folder: Path, host: str = "127.0.0.1", port: int = DEFAULT_PORT, *, ready: Callable[[str], None] | None = None
) -> None:
    """Serve a published folder until interrupted; a site that is published anew over it is taken up by itself.

    `ready` is called with the address once it listens.

    :raises CouldNot: when the folder holds no site, or the port is taken or not allowed.
    :raises DamageFound: when a file of the folder is not what was published.
    """
    verify(out_folder)
    listening = _listen(host, port)
    shown = f"[{host}]" if ":" in host else host
    address = f"http://{shown}:{listening.getsockname()[1]}/"
    # An address that means every address of this machine is nobody's to keep.
    kept = None if host in EVERYWHERE else address
    with listening:
        while True:
            site = _identity(out_folder)
            datasette = make_datasette(out_folder, address=kept)
            if ready is not None:
                ready(address)
                ready = None
            if not asyncio.run(_serve_one(datasette, out_folder, site, host, listening)):
                return


class Patient(H11Protocol):
    """HTTP/1.1 that waits `HEARD_WITHIN` seconds for the first whole request of a connection."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self.loop.call_later(HEARD_WITHIN, self._let_go_if_silent)

    def _let_go_if_silent(self) -> None:
        if self.cycle is None:  # no whole request has come
            self.timeout_keep_alive_handler()


async def _serve_one(
    datasette: datasette_app.Datasette, folder: Path, site: object, host: str, listening: socket.socket
) -> bool:
    """Serve until interrupted, or until another whole site stands in the folder: then True, and who asks waits for it."""
    config = uvicorn.Config(
        datasette.app(),
        host=host,
        log_level="warning",
        access_log=False,
        server_header=False,
        date_header=True,
        proxy_headers=False,
        lifespan="on",
        timeout_keep_alive=5,
        limit_concurrency=500,
        http=Patient,
        ws="none",
    )
    server = uvicorn.Server(config)
    watching = asyncio.create_task(_wait_for_another(folder, site))
    watching.add_done_callback(lambda _: setattr(server, "should_exit", True))
    try:
        await server.serve(sockets=[listening.dup()])
    finally:
        for database in datasette.databases.values():
            database.close()
    if watching.done():
        watching.result()
        return True
    watching.cancel()
    return False


async def _wait_for_another(folder: Path, site: object) -> None:
    """Return when another site than this one stands in the folder, and every file of it is what was published."""
    seen = site
    while True:
        await asyncio.sleep(LOOK_EVERY)
        found = _identity(folder)
        if found in (None, seen):
            continue
        seen = found
        if found != site:
            try:
                await asyncio.to_thread(verify, folder)
            except (CouldNot, DamageFound, OSError) as error:
                LOG.warning("Note: the site as it was is shown on. %s", error)
            else:
                return


def _identity(folder: Path) -> tuple[int, int, int] | None:
    """Which file the site's database is; None while there is none."""
    try:
        found = (Path(folder) / FILE_NAME).stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino, found.st_mtime_ns


def _listen(host: str, port: int) -> socket.socket:
    if not 0 <= port <= 65_535:
        raise CouldNot(f"There is no port {port}: ports go from 0 to 65535. Choose another with --port.")
    listening = None
    try:
        family, kind, protocol, _, where = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        listening = socket.socket(family, kind, protocol)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind(where)
        listening.listen(128)
    except (UnicodeError, socket.gaierror) as error:
        raise CouldNot(
            f"The site cannot be served at {host}: this machine knows no address of that name. Give another "
            "with --host."
        ) from error
    except OSError as error:
        if listening is not None:
            listening.close()
        raise CouldNot(
            f"The site cannot be served at {host}, port {port} ({error.strerror}): another program may "
            "use the port. Choose another with --port."
        ) from error
    return listening


def _sha256(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(1 << 20):
            digest.update(block)
    return digest.hexdigest()
