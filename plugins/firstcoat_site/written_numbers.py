"""Numbers as people write them in addresses: dots, slashes, spaces and other letters lead to where the object stands."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from typing import TYPE_CHECKING, Any
from urllib.parse import unquote_to_bytes
from weakref import WeakKeyDictionary

from datasette.utils import tilde_decode, tilde_encode

from firstcoat_site.answers import ask

if TYPE_CHECKING:
    from datasette.app import Datasette

OBJECT = "/object/"
LONGEST = 1000
MOST_CUTS = 40
"""How many places of an address are tried as the end of the number."""
_TOKEN = re.compile(r"[^\W\d_]+|\d+")
_END = re.compile(r"\.(?:json|jsonld|svg)$", re.IGNORECASE)
_CODED = re.compile(r"/(place|sample|proposal)/(.+)", re.DOTALL)

Numbers = tuple[frozenset[str], dict[tuple[str, ...], list[str]]]
_NUMBERS: WeakKeyDictionary[Datasette, Numbers] = WeakKeyDictionary()


async def where_it_stands(datasette: Datasette, path: str, is_page: Callable[[str], bool]) -> str | None:
    """The address that a path below `/object/` means, where it means exactly one object and not itself; else None.

    :param path: as it came over the wire, percent-encoded.
    :param is_page: whether the site has pages at such an address.
    """
    if not path.startswith(OBJECT) or len(path) > LONGEST:
        return None
    try:
        written = unquote_to_bytes(path.removeprefix(OBJECT)).decode("utf-8")
    except UnicodeDecodeError:
        return None
    if any(unicodedata.category(sign) == "Cc" for sign in written):
        return None
    written = written.strip("/ ")
    numbers = await _numbers(datasette)
    cuts = [len(written), *(at for at in range(len(written) - 1, 0, -1) if written[at] in "/.")]
    for cut in cuts[:MOST_CUTS]:
        code = _meant(numbers, written[:cut])
        end = None if code is None else _end(written[cut:], is_page)
        if code is not None and end is not None:
            found = f"{OBJECT}{tilde_encode(code)}{end}"
            return None if found == path else found
    return None


def tokens(number: str) -> tuple[str, ...]:
    """What a number is made of, whatever stands between: `OHM 1962.7` and `ohm-1962-7` are `("ohm", "1962", "7")`."""
    return tuple(_TOKEN.findall(unicodedata.normalize("NFKC", number).casefold()))


def _meant(numbers: Numbers, written: str) -> str | None:
    exact, alike = numbers
    for number in (written, tilde_decode(written)):
        number = unicodedata.normalize("NFC", number)
        if number in exact:
            return number
    for number in (written, tilde_decode(written)):
        found = alike.get(tokens(number), [])
        if len(found) == 1:
            return found[0]
    return None


def _end(written: str, is_page: Callable[[str], bool]) -> str | None:
    """What follows the number, as the site writes it; None where the site has nothing there."""
    kind = _END.search(written)
    inner = written[: kind.start()] if kind else written
    form = kind[0].lower() if kind else ""
    inner = inner.rstrip("/")
    if inner and not inner.startswith("/"):
        return None
    coded = _CODED.fullmatch(inner)
    ways = [inner.split("/")[1:]]
    if coded:
        # The code of a place or sample may hold a slash as well.
        ways.append([coded[1], coded[2]])
    for segments in ways:
        end = "".join(f"/{tilde_encode(tilde_decode(segment))}" for segment in segments) + form
        if is_page(f"{OBJECT}x{end}"):
            return end
    return None


async def _numbers(datasette: Datasette) -> Numbers:
    """All numbers of the site, read once: its file does not change while it is served."""
    if datasette not in _NUMBERS:

        def read(connection: Any) -> Numbers:
            exact: set[str] = set()
            alike: dict[tuple[str, ...], list[str]] = {}
            for (code,) in connection.execute("select object from objects"):
                exact.add(code)
                alike.setdefault(tokens(code), []).append(code)
            alike.pop((), None)
            return frozenset(exact), alike

        _NUMBERS[datasette] = await ask(datasette, read)
    return _NUMBERS[datasette]
