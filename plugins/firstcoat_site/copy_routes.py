"""The routes that a copy has beside those of the site: lists instead of a search, and the places, samples, proposals and
comparisons of an object each on one page. They answer nowhere but where pages are copied into an archive."""

from __future__ import annotations

import re
from collections.abc import Callable, Coroutine
from functools import partial
from typing import TYPE_CHECKING, Any

from datasette.utils import tilde_encode
from datasette.utils.asgi import NotFound, Request, Response
from markupsafe import Markup

from collection.compute.risk.threat import KINDS
from collection.language.words import ZONE_STATE
from collection.output.published.addresses import Addresses
from collection.output.published.comparisons import pairs
from collection.output.published.published_object import PublishedObject
from collection.records.codes import natural
from firstcoat_site import answers, comparison_routes, copy_lists, object_routes, queries
from firstcoat_site.bars import state_bar
from firstcoat_site.inside import inside
from firstcoat_site.pages import compare, place, proposal, sample

if TYPE_CHECKING:
    from datasette.app import Datasette

Json = dict[str, Any]
Handler = Callable[["Datasette", Request], Coroutine[Any, Any, Response]]

SECTIONS = 10
"""How many places, samples or proposals stand on one page: of the largest object they make up some 450 kB."""
CODES = 1000
WORST = 5
KINDS_OF_SECTION = {
    "places": "Places",
    "samples": "Samples",
    "proposals": "Proposals and decisions",
    "changes": "What changed between surveys",
}

_SINGLE = [found[1] for pattern, _ in object_routes.ROUTES if (found := re.search(r"\)/([a-z-]+)\$$", pattern))]
"""The pages of an object that there is one of."""


def in_a_copy(handler: Handler) -> Handler:
    """Answers only where pages are copied."""

    async def answered(datasette: Datasette, request: Request) -> Response:
        if answers.copied(datasette) is None:
            raise NotFound("No such page")
        return await handler(datasette, request)

    return answered


async def codes(datasette: Datasette, request: Request) -> Response:
    """`{"codes": [...], "total", "surveys": [...]}`, the codes by the thousand."""
    page = queries.page_number(request.args.get("page"))

    def content(connection: Any) -> Json:
        return {
            "codes": copy_lists.codes(connection, page, CODES),
            "total": int(queries.about_file(connection)["count_objects"]),
            "surveys": [row["key"] for row in queries.surveys(connection)],
        }

    return Response.json(await answers.ask(datasette, content))


async def contents(datasette: Datasette, request: Request) -> Response:
    """Which pages there are of an object: `{"pages": [name], "places": [code], …, "per_page"}`; those that would only say
    that there is nothing are left out."""

    def content(connection: Any) -> Json:
        published = answers.object_of(connection, request)
        # A page that is not named here is always written.
        rows = {
            "timeline": published["treatments"] or published["advice"] or published["schemes"] or published["claims"],
            "tests": published["tests"],
            "finishes": published["schemes"],
            "stratigraphy": published["samples"],
        }
        return {
            "pages": [name for name in _SINGLE if rows.get(name, True)],
            **{
                kind: ["/".join(map(tilde_encode, codes)) for codes in _told(published, kind)]
                for kind in KINDS_OF_SECTION
            },
            "per_page": SECTIONS,
        }

    return Response.json(await answers.ask(datasette, content))


def _told(published: PublishedObject, kind: str) -> list[tuple[str, ...]]:
    """The codes of what has a section of its own, in order."""
    if kind == "places":
        return [(code,) for code in sorted(published.named, key=natural)]
    if kind == "samples":
        return [(row["sample"],) for row in sorted(published["samples"], key=lambda row: natural(row["sample"]))]
    if kind == "proposals":
        return [(row["proposal"],) for row in published["proposals"]]
    return list(pairs(published["surveys"]))


async def sections(datasette: Datasette, request: Request) -> Response:
    """Some of an object's places, samples, proposals or comparisons, each as on its own page."""
    kind, page = request.url_vars["kind"], queries.page_number(request.args.get("page"))
    return await answers.page(datasette, "copy_sections", partial(_sections, datasette, request, kind, page))


def _sections(datasette: Datasette, request: Request, kind: str, page: int, connection: Any) -> Json:
    published = answers.object_of(connection, request)
    base = answers.of_object(datasette, published)
    told = _told(published, kind)
    some = told[(page - 1) * SECTIONS : page * SECTIONS]
    if not some:
        raise NotFound("No such page of this object")
    found = []
    for codes in some:
        template, shown = _section(connection, published, kind, codes, base["to"])
        mark = f"{kind}-{'-'.join(map(tilde_encode, codes))}"
        html = answers.rendered(datasette, connection, template, {**base, **shown})
        name, code = _name(published, kind, codes), " and ".join(codes)
        called = name if name == code else f"{name} {code}"
        found.append({"mark": mark, "name": name, "code": code, "html": Markup(inside(html, mark, called))})
    return {
        **base,
        "kind": kind,
        "title": KINDS_OF_SECTION[kind],
        "sections": found,
        "page": page,
        "per_page": SECTIONS,
        "total": len(told),
    }


def _section(
    connection: Any, published: PublishedObject, kind: str, codes: tuple[str, ...], to: Addresses
) -> tuple[str, Json]:
    """The template of a section, and what it shows."""
    data: Json | None
    if kind == "places":
        data = place.place_data(published, *codes)
        return "place", {"data": data, **place.place_page(published, data or {}, to, own_stacks=True)}
    if kind == "samples":
        data = sample.sample_data(published, *codes)
        return "sample", {"data": data, **sample.sample_page(published, data or {}, to)}
    if kind == "proposals":
        row = published.rows["proposals", f"{published.code}/{codes[0]}"]
        shown = {"row": row, "found": proposal.proposal_page(published, row, to)}
        return "proposal", {"data": {"proposal": row}, **shown}
    data = comparison_routes.comparison(connection, published.code, *codes)
    return "compare", {"data": data, **compare.compare_page(published, data, to)}


def _name(published: PublishedObject, kind: str, codes: tuple[str, ...]) -> str:
    """What a section is called in the list of sections."""
    if kind == "places":
        return published.name_of(codes[0]) or codes[0]
    if kind == "proposals":
        return str(published.rows["proposals", f"{published.code}/{codes[0]}"]["title"])
    return " and ".join(codes)


async def front(datasette: Datasette, request: Request) -> Response:
    """Where a reader of the copy begins: what is in it, and the lists."""

    def content(connection: Any) -> Json:
        size = answers.per_page(datasette)
        lists = {
            by: copy_lists.shortened(copy_lists.groups(connection, by, size))
            for by in ("name", "kind", "maker", "state")
        }
        return {
            **queries.start(connection, 1, "most"),
            "at_risk": queries.at_risk(connection, 1, WORST)["objects"],
            "lists": [(copy_lists.TITLES[by], f"/by-{by}", found) for by, found in lists.items()],
            "states": ZONE_STATE.words,
            "risks": KINDS,
            "bar": state_bar,
            "per_page": queries.PER_PAGE,
        }

    return await answers.page(datasette, "copy_front", content)


async def listed(datasette: Datasette, request: Request) -> Response:
    """One page of a list of all objects."""
    by, page, size = request.url_vars["by"], queries.page_number(request.args.get("page")), answers.per_page(datasette)

    def content(connection: Any) -> Json:
        found = copy_lists.groups(connection, by, size)
        return {
            "title": copy_lists.TITLES[by],
            "by": by,
            "groups": copy_lists.shortened(found),
            "marks": {group.name: group.mark for group in found},
            "shown": copy_lists.shown(connection, by, page, size),
            "total": sum(group.number for group in found),
            "page": page,
            "per_page": size,
            "states": ZONE_STATE.words,
            "bar": state_bar,
        }

    return await answers.page(datasette, "copy_list", content)


_OBJECT = r"^/object/(?P<code>[^/.]+)"
ROUTES: list[tuple[str, Handler]] = [
    (pattern, in_a_copy(handler))
    for pattern, handler in (
        (r"^/front$", front),
        (r"^/codes\.json$", codes),
        (rf"^/by-(?P<by>{'|'.join(copy_lists.TITLES)})$", listed),
        (rf"{_OBJECT}/contents\.json$", contents),
        (rf"{_OBJECT}/(?P<kind>{'|'.join(KINDS_OF_SECTION)})$", sections),
    )
]
