"""The routes of two surveys: what changed on one object between them, and which objects changed."""

from __future__ import annotations

import json
import sqlite3
from typing import TYPE_CHECKING, Any

from datasette.utils import tilde_decode
from datasette.utils.asgi import NotFound, Request, Response

from collection.output.published.addresses import Addresses
from collection.output.tell.changes import summary
from firstcoat_site import answers, queries
from firstcoat_site.pages import compare

if TYPE_CHECKING:
    from datasette.app import Datasette

Json = dict[str, Any]

PER_PAGE = 20
WORST_FIRST = ("lost", "may_be_lost", "worse_original", "exposed", "worse", "disagree")
"""The columns by which objects are put in order."""


async def of_object(datasette: Datasette, request: Request) -> Response:
    """What changed on one object, with pictures of one view side by side."""

    def content(connection: Any) -> Json:
        data = comparison(connection, tilde_decode(request.url_vars["code"]), *_codes(request))
        published = answers.object_of(connection, request)
        base = answers.of_object(datasette, published)
        return {**base, "data": data, **compare.compare_page(published, data, base["to"])}

    return await answers.page(datasette, "compare", content)


async def of_object_json(datasette: Datasette, request: Request) -> Response:
    """The stored comparison: `{"format", "surveys", "overlap", "withheld", "numbers", "object", …}`."""
    code = tilde_decode(request.url_vars["code"])
    found = await answers.ask(datasette, lambda c: comparison(c, code, *_codes(request)))
    return Response.json(found, headers=answers.CACHE)


async def of_collection(datasette: Datasette, request: Request) -> Response:
    """Which objects changed between two surveys, the worst first."""

    def content(connection: Any) -> Json:
        found = _changed(connection, request)
        codes = [row["code"] for row in found["surveys"]]
        return {
            **found,
            "sides": compare.years(found["surveys"]),
            "rows": [
                {
                    **row,
                    "url": Addresses(datasette.urls.path, row["object"]).compare(*codes),
                    "summary": summary(row),
                    "pair": compare.first_pair(row),
                }
                for row in found["objects"]
            ],
            "per_page": PER_PAGE,
            "page": queries.page_number(request.args.get("page")),
        }

    return await answers.page(datasette, "compared", content)


async def of_collection_json(datasette: Datasette, request: Request) -> Response:
    """`{"format", "surveys", "both", "total", "objects"}`, each object as under its own address, by the page."""
    return Response.json(
        await answers.ask(datasette, lambda c: {"format": 1, **_changed(c, request)}), headers=answers.CACHE
    )


def _codes(request: Request) -> tuple[str, str]:
    return tilde_decode(request.url_vars["earlier"]), tilde_decode(request.url_vars["later"])


def comparison(connection: sqlite3.Connection, code: str, one: str, other: str) -> Json:
    """What changed on an object between two surveys, as it was stored.

    :raises NotFound: where they are not compared.
    """
    row = connection.execute(
        "select comparison from comparisons where object = ?1 and (earlier, later) in (values (?2, ?3), (?3, ?2))",
        (code, one, other),
    ).fetchone()
    if row is None:
        raise NotFound("These surveys of the object are not compared")
    found: Json = json.loads(row[0])
    return found


def _changed(connection: sqlite3.Connection, request: Request) -> Json:
    """Two surveys, how many objects were compared, and one page of those that changed."""
    surveys = [row for row in queries.surveys(connection) if row["key"] in _codes(request)]
    if len(surveys) != 2:
        raise NotFound("No such two surveys")
    codes = [row["key"] for row in surveys]
    wanted = "(earlier, later) in (values (?1, ?2), (?2, ?1))"
    (both,) = connection.execute(f"select count(*) from comparisons where {wanted}", codes).fetchone()
    if not both:
        raise NotFound("No object has records of both surveys, one after the other")
    worse = f"{wanted} and {' + '.join(WORST_FIRST)} > 0"
    (total,) = connection.execute(f"select count(*) from comparisons where {worse}", codes).fetchone()
    found = connection.execute(
        f"select comparison from comparisons where {worse} order by "
        f"{', '.join(f'{name} desc' for name in WORST_FIRST)}, object limit ?3 offset ?4",
        (*codes, PER_PAGE, (queries.page_number(request.args.get("page")) - 1) * PER_PAGE),
    )
    return {
        "surveys": [{"code": row["key"], **{n: row[n] for n in ("title", "started", "ended")}} for row in surveys],
        "both": both,
        "total": total,
        "objects": [json.loads(text) for (text,) in found],
    }


_CODE = r"[^/.]+"
_TWO = rf"/compare/(?P<earlier>{_CODE})/(?P<later>{_CODE})"
ROUTES: list[tuple[str, Any]] = [
    (rf"^/object/(?P<code>{_CODE}){_TWO}$", of_object),
    (rf"^/object/(?P<code>{_CODE}){_TWO}\.json$", of_object_json),
    (rf"^{_TWO}$", of_collection),
    (rf"^{_TWO}\.json$", of_collection_json),
]
