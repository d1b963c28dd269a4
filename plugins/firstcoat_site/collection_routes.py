"""The routes of the whole collection: start, search, at risk, survey, how to read it, pictures."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from datasette.utils import tilde_decode
from datasette.utils.asgi import NotFound, Request, Response

from collection.language.words import PERIOD, ZONE_STATE
from collection.output.manual import ManualPage, manual_page, manual_pages
from firstcoat_site import (
    answers,
    before_routes,
    comparison_routes,
    filters,
    machine_routes,
    object_routes,
    queries,
    wording,
)
from firstcoat_site.addresses import Addresses
from firstcoat_site.matches import Match

if TYPE_CHECKING:
    from datasette.app import Datasette

Json = dict[str, Any]

LONGEST_QUESTION = 300
WORST = 5
"""How many objects at risk the start page shows."""
_TYPES = {"png": "image/png", "jpg": "image/jpeg", "svg": "image/svg+xml"}


async def start(datasette: Datasette, request: Request) -> Response:
    """The start page, or the results of a search."""
    asked, wanted, page = _asked(request), filters.read(request.args), _page(request)
    paging = {
        "asked": asked,
        "wanted": wanted,
        "states": ZONE_STATE.words,
        "periods": PERIOD.words,
        "page": page,
        "per_page": queries.PER_PAGE,
        "turned": lambda number: urlencode(
            {**({"q": asked} if asked else {}), **{name: text for name, text in wanted.items() if text}, "page": number}
        ),
    }
    if not asked and not any(wanted.values()):
        return await answers.page(
            datasette,
            "start",
            lambda c: {**paging, **queries.start(c, page), "at_risk": queries.at_risk(c, 1, WORST)["objects"]},
        )

    def results(connection: Any) -> Json:
        found = queries.search(connection, asked, wanted, page)
        names = queries.place_names(connection, [match.number for match in found.matches])
        return {
            **paging,
            "total": found.total,
            "results": [_result(datasette, match, names.get(match.number, {})) for match in found.matches],
        }

    return await answers.page(datasette, "results", results)


async def start_json(datasette: Datasette, request: Request) -> Response:
    """`{"format", "about", "counts", "objects", "surveys", "total"}`, objects by the page."""
    page = _page(request)
    return await answers.data(datasette, lambda c: {"format": 1, "page": page, **queries.start(c, page)})


async def search_json(datasette: Datasette, request: Request) -> Response:
    """`{"format", "total", "results": [{"object", "title", "places", "why", "record"}]}`."""
    asked, wanted, page = _asked(request), filters.read(request.args), _page(request)

    def results(connection: Any) -> Json:
        found = queries.search(connection, asked, wanted, page)
        return {
            "format": 1,
            "total": found.total,
            "results": [
                {
                    "object": match.code,
                    "title": match.title,
                    "places": match.places,
                    "why": match.text,
                    "record": match.record and {"kind": match.record[0], "key": match.record[1]["key"]},
                }
                for match in found.matches
            ],
        }

    return await answers.data(datasette, results)


async def at_risk(datasette: Datasette, request: Request) -> Response:
    """The objects at risk, the worst first."""
    page = _page(request)
    return await answers.page(
        datasette, "at_risk", lambda c: {"page": page, "per_page": queries.PER_PAGE, **queries.at_risk(c, page)}
    )


async def at_risk_json(datasette: Datasette, request: Request) -> Response:
    """`{"format", "kinds", "total", "objects": [{"object", "title", "numbers", "threats"}]}`."""
    return await answers.data(datasette, lambda c: {"format": 1, **queries.at_risk(c, _page(request))})


async def survey(datasette: Datasette, request: Request) -> Response:
    """One survey: what it was, and which objects it covered."""

    def content(connection: Any) -> Json:
        found = _survey(connection, request)
        return {
            **found,
            "brought": wording.brought(found["counts"]),
            "page": _page(request),
            "per_page": queries.PER_PAGE,
        }

    return await answers.page(datasette, "survey", content)


async def survey_json(datasette: Datasette, request: Request) -> Response:
    """`{"format", "survey", "counts", "total", "objects", "compared"}`."""
    return await answers.data(datasette, lambda c: {"format": 1, **_survey(c, request)})


async def about(datasette: Datasette, request: Request) -> Response:
    """How to read the site."""
    return await answers.page(
        datasette, "about", lambda c: {"surveys": queries.surveys(c), "means": wording.SEVERITY_MEANS}
    )


async def about_json(datasette: Datasette, request: Request) -> Response:
    """`{"format", "about", "states", "severities", "surveys"}`."""
    return await answers.data(
        datasette,
        lambda c: {
            "format": 1,
            "about": queries.about_file(c),
            "states": list(ZONE_STATE.words),
            "severities": wording.SEVERITY_MEANS,
            "surveys": queries.surveys(c),
        },
    )


async def manual(datasette: Datasette, request: Request) -> Response:
    """The list of the manual's pages, or one of them."""
    page = _manual_page(request)
    return await answers.page(datasette, "manual", lambda c: {"page": page, "pages": manual_pages()})


async def manual_json(datasette: Datasette, request: Request) -> Response:
    """`{"format", "pages": [{"topic", "title", "purpose", "text"}]}`, the text as Markdown; one page where one is asked."""
    page = _manual_page(request)
    shown = [asdict(one) for one in ([page] if page else manual_pages())]
    return Response.json({"format": 1, "pages": shown}, headers=answers.CACHE)


async def picture(datasette: Datasette, request: Request) -> Response:
    """A published image file."""
    name = f"{request.url_vars['name']}.{request.url_vars['kind']}"
    if not await answers.ask(datasette, lambda c: queries.is_picture(c, name)):
        raise NotFound("No such picture")
    path = Path(datasette.get_database(answers.DATABASE).path).parent / "pictures" / name
    return Response(
        path.read_bytes(),
        content_type=_TYPES[request.url_vars["kind"]],
        headers={"Cache-Control": "public, max-age=86400, immutable"},
    )


async def no_page(datasette: Datasette, request: Request) -> Response:
    """Datasette's own pages, which tell about the server and not the collection."""
    raise NotFound("No such page")


ROUTES: list[tuple[str, Any]] = [
    (r"^/$", start),
    (r"^/index\.json$", start_json),
    (r"^/search\.json$", search_json),
    *before_routes.ROUTES,
    (r"^/at-risk$", at_risk),
    (r"^/at-risk\.json$", at_risk_json),
    (r"^/survey/(?P<code>[^/.]+)$", survey),
    (r"^/survey/(?P<code>[^/.]+)\.json$", survey_json),
    (r"^/about$", about),
    (r"^/about\.json$", about_json),
    (r"^/manual(?:/(?P<topic>[a-z-]+))?$", manual),
    (r"^/manual(?:/(?P<topic>[a-z-]+))?\.json$", manual_json),
    *machine_routes.ROUTES,
    *object_routes.ROUTES,
    *comparison_routes.ROUTES,
    (r"^/picture/(?P<name>[0-9a-f]{32})\.(?P<kind>png|jpg|svg)$", picture),
    (r"^/-/(?!static)", no_page),
]


def _asked(request: Request) -> str:
    return " ".join((request.args.get("q") or "").split())[:LONGEST_QUESTION]


def _manual_page(request: Request) -> ManualPage | None:
    topic = request.url_vars.get("topic")
    page = manual_page(topic) if topic else None
    if topic and page is None:
        raise NotFound("No such topic")
    return page


def _page(request: Request) -> int:
    return queries.page_number(request.args.get("page"))


def _survey(connection: Any, request: Request) -> Json:
    found = queries.survey(connection, tilde_decode(request.url_vars["code"]), _page(request))
    if found is None:
        raise NotFound("No such survey")
    return found


def _result(datasette: Datasette, match: Match, names: dict[str, str | None]) -> Json:
    to = Addresses(datasette.urls.path, match.code)
    return {
        "title": match.title,
        "code": match.code,
        "url": to.object,
        "why": match.pieces,
        "lead": match.lead,
        "record_url": match.record and to.record(*match.record),
        "places": [(code, names.get(code), to.place(code) if code in names else None) for code in match.places],
    }
