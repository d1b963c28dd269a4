"""What is on the site and what is new: the site map (sitemaps.org) and the feed of surveys, decisions and new threats (RFC 4287).

Both need whole addresses, so there are some only where the site knows its own.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape, quoteattr

from datasette.utils import tilde_encode
from datasette.utils.asgi import NotFound, Request, Response

from collection.output.manual import TOPICS
from collection.output.published.addresses import Addresses
from collection.values.dates import bounds
from firstcoat_site import answers, queries

if TYPE_CHECKING:
    from datasette.app import Datasette

Json = dict[str, Any]

PER_MAP = 50_000
"""The most addresses of one site map, by the protocol of sitemaps.org."""
FIXED = ("", "at-risk", "about", "manual", *(f"manual/{topic}" for topic in TOPICS))
SINGLE = ("timeline", "finishes", "tests", "records", "stratigraphy")
"""The pages of an object that there is one of."""
NEWEST = 50
"""How many entries the feed has."""
NO_ADDRESS = "There is no feed, because this site was not told its own address. Whoever publishes it says it once."
_SPACE = 'xmlns="http://www.sitemaps.org/schemas/sitemap/0.9"'
_MOVED = {"new": "New threat", "worse": "Threat that got worse, or may have"}
_ONE_THREAT = ("what", "kind", "event", "place", "message", "changed_on")
"""What tells one entry about a threat from another."""
_DECIDED = {"approve": "approved", "refuse": "refused", "defer": "deferred"}


def lasting_address(datasette: Datasette) -> str | None:
    """Where the site stands, as `https://host/`; None where nobody said."""
    return (datasette.plugin_config("firstcoat_site") or {}).get("address")


def is_for_staff(datasette: Datasette) -> bool:
    return (datasette.plugin_config("firstcoat_site") or {}).get("audience") == "staff"


async def site_map(datasette: Datasette, request: Request) -> Response:
    """The addresses of all pages with the day of their last change, or where there are too many the list of such lists."""
    address = lasting_address(datasette)
    if address is None or is_for_staff(datasette):
        raise NotFound("No site map")
    part = request.url_vars.get("part")
    total = len(FIXED) + await answers.ask(datasette, lambda c: _number_addressed(c, SINGLE))
    maps = -(-total // PER_MAP)
    if part is None and maps > 1:
        listed = "".join(
            f"<sitemap><loc>{escape(f'{address}sitemap-{n}.xml')}</loc></sitemap>" for n in range(1, maps + 1)
        )
        return _xml(f"<sitemapindex {_SPACE}>{listed}</sitemapindex>")
    number = int(part or 1)
    if not 1 <= number <= maps:
        raise NotFound("No such site map")
    first = (number - 1) * PER_MAP

    def listed_pages(connection: Any) -> str:
        return "".join(
            f"<url><loc>{escape(address + path)}</loc>{f'<lastmod>{day}</lastmod>' if day else ''}</url>"
            for path, day in _pages(connection, first, PER_MAP)
        )

    return _xml(f"<urlset {_SPACE}>{await answers.ask(datasette, listed_pages)}</urlset>")


def _pages(connection: Any, first: int, most: int) -> Iterator[tuple[str, str | None]]:
    """Some of the site's pages with the day on which each last changed."""
    as_of = queries.about_file(connection).get("as_of") or None
    fixed = [(path, as_of) for path in FIXED]
    yield from fixed[first : first + most]
    start, left = max(first - len(fixed), 0), most - len(fixed[first : first + most])
    for code, kind, part, day in _addressed(connection, SINGLE, left, start):
        to = Addresses(lambda path: path.removeprefix("/"), code)
        if kind == "survey":
            yield f"survey/{tilde_encode(code)}", as_of
        elif kind == "object":
            yield to.object, day or as_of
        else:
            path = to.page(part) if kind == "page" else f"{to.object}/{kind}/{tilde_encode(part)}"
            yield path, day or as_of


def _addressed(
    connection: Any, pages: Iterable[str], most: int, first: int
) -> Iterator[tuple[str, str, str, str | None]]:
    """Some of the addressed things, in a fixed order: number or code, kind, part, and the day of their last change.

    :param pages: the pages that each object has one of.
    """
    yield from connection.execute(
        f"select * from ({_ADDRESSED}) limit ? offset ?", (json.dumps(list(pages)), most, first)
    )


def _number_addressed(connection: Any, pages: Iterable[str]) -> int:
    """How many addressed things there are."""
    (found,) = connection.execute(f"select count(*) from ({_ADDRESSED})", (json.dumps(list(pages)),)).fetchone()
    return int(found)


_ADDRESSED = (
    "select key as code, 'survey' as kind, '' as part, null as day from surveys "
    "union all select o.object, 'object', '', c.changed_on from objects as o join computed as c on c.object_id = o.id "
    "union all select o.object, 'page', p.value, c.changed_on from objects as o "
    "join computed as c on c.object_id = o.id cross join json_each(?) as p "
    "union all select p.object, 'place', p.place, c.changed_on from places as p "
    "join computed as c on c.object_id = p.object_id "
    "union all select s.object, 'sample', s.sample, c.changed_on from samples as s "
    "join computed as c on c.object_id = s.object_id "
    "union all select p.object, 'proposal', p.proposal, c.changed_on from proposals as p "
    "join computed as c on c.object_id = p.object_id"
)


async def feed(datasette: Datasette, request: Request) -> Response:
    """The newest surveys, decisions, and threats that are new or worse, as an Atom feed."""
    address = lasting_address(datasette)
    if address is None or is_for_staff(datasette):
        raise answers.NotHere(NO_ADDRESS)

    def content(connection: Any) -> str:
        about = queries.about_file(connection)
        entries = sorted(_entries(connection, address), key=lambda entry: (entry["updated"], entry["id"]), reverse=True)
        whose = about.get("collection_name") or about["title"]
        updated = max([entry["updated"] for entry in entries], default=_moment(about.get("as_of") or "1970-01-01"))
        return (
            '<feed xmlns="http://www.w3.org/2005/Atom" xml:lang="en">'
            f"<id>{escape(address)}</id><title>{_text(about['title'])}: surveys, decisions and threats</title>"
            f"<updated>{updated}</updated><author><name>{_text(whose)}</name></author>"
            f'<link rel="self" type="application/atom+xml" href={quoteattr(f"{address}feed.atom")}/>'
            f'<link rel="alternate" type="text/html" href={quoteattr(address)}/>'
            + "".join(_entry(entry) for entry in entries[:NEWEST])
            + "</feed>"
        )

    return _xml(await answers.ask(datasette, content), "application/atom+xml")


def _entries(connection: Any, address: str) -> Iterator[Json]:
    """Surveys by their last day, decisions by the time they were made, threats that are new or worse by the day of the
    change that shows them; who decided only where names are published."""
    for row in queries.surveys(connection):
        day = bounds(row.get("ended") or row["started"]).latest
        where = f"{address}survey/{tilde_encode(row['key'])}"
        yield {
            "id": where,
            "link": where,
            "updated": _moment(day),
            "title": f"Survey: {row['title']}",
            "summary": row.get("scope") or "",
            "by": row.get("lead"),
        }
    for row in queries.newest_decisions(connection, NEWEST):
        to = Addresses(lambda path: address + path.removeprefix("/"), row["object"])
        page = to.proposal(row["proposal"])
        decided = _DECIDED[row["decision"]]
        yield {
            "id": f"{page}#decision-{row['number']}",
            "link": page,
            "updated": _moment(row["decided_at"]),
            "title": f"{decided.capitalize()}: {row['proposal_title'] or row['proposal']}, {row['title']}",
            "summary": (row["reason"] or "")
            + (" The records or the rules have changed since: it has to be decided again." if row["stale"] else ""),
            "by": row["decided_by"],
        }
    for row in queries.ranking(connection)["moved"]:
        to = Addresses(lambda path: address + path.removeprefix("/"), row["object"])
        place = "" if row["place"] in (None, "all") else f" at {row['place']}"
        yield {
            "id": uuid.uuid5(uuid.NAMESPACE_URL, json.dumps([to.object, *map(row.get, _ONE_THREAT)])).urn,
            "link": f"{to.object}#threats",
            "updated": _moment(row["changed_on"]),
            "title": f"{_MOVED[row['what']]}: {row['kind']}{place}, {row['title']}",
            "summary": f"{row['message']} {row['remedy']}",
            "by": None,
        }


def _entry(entry: Json) -> str:
    by = f"<author><name>{_text(entry['by'])}</name></author>" if entry["by"] else ""
    return (
        f"<entry><id>{escape(entry['id'])}</id><title>{_text(entry['title'])}</title><updated>{entry['updated']}</updated>"
        f'{by}<link rel="alternate" type="text/html" href={quoteattr(entry["link"])}/>'
        f"<summary>{_text(entry['summary'] or entry['title'])}</summary></entry>"
    )


def _moment(when: str) -> str:
    """A day or time in UTC as RFC 3339 has it; of a day its end is not known, so its beginning stands."""
    return f"{when}T00:00:00Z" if len(when) == len("2026-01-01") else when.replace(" ", "T").replace("+00:00", "Z")


def _text(words: str) -> str:
    """Text without the control signs that XML 1.0 has no way to write."""
    return escape("".join(sign for sign in words if sign in "\t\n" or sign >= " "))


def _xml(body: str, kind: str = "application/xml") -> Response:
    return Response(
        f'<?xml version="1.0" encoding="UTF-8"?>\n{body}\n',
        content_type=f"{kind}; charset=utf-8",
        headers=answers.CACHE,
    )


ROUTES: list[tuple[str, Any]] = [
    (r"^/sitemap(?:-(?P<part>[1-9][0-9]{0,4}))?\.xml$", site_map),
    (r"^/feed\.atom$", feed),
]
