"""The routes of the whole collection: start, search, at risk, survey, how to read it, pictures."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from datasette.utils import tilde_decode
from datasette.utils.asgi import NotFound, Request, Response

from collection.compute.risk.threat import KINDS
from collection.language.words import PERIOD, ZONE_STATE
from collection.output.manual import ManualPage, manual_page, manual_pages
from collection.output.published.addresses import Addresses
from collection.output.tell import wording
from firstcoat_site import (
    answers,
    before_routes,
    comparison_routes,
    copy_routes,
    filters,
    machine_routes,
    object_routes,
    queries,
)
from firstcoat_site.bars import state_bar
from firstcoat_site.matches import Match

if TYPE_CHECKING:
    from datasette.app import Datasette

Json = dict[str, Any]

LONGEST_QUESTION = 300
NEVER = "objects that nobody has examined"
WORST = 5
"""How many objects at risk the start page shows."""
_TYPES = {"png": "image/png", "jpg": "image/jpeg", "svg": "image/svg+xml"}


async def start(datasette: Datasette, request: Request) -> Response:
    """The start page, or the results of a search."""
    asked, wanted, page, sort = _asked(request), filters.read(request.args), _page(request), _sort(request)
    kept = {**({"q": asked} if asked else {}), **{name: text for name, text in wanted.items() if text}}
    if request.args.get("beginnings") == "1":
        kept["beginnings"] = "1"

    def address(**changed: Any) -> str:
        return urlencode({**kept, **({"sort": sort} if sort != "number" else {}), **changed})

    narrowed = [NEVER if name == "looked" else text for name, text in wanted.items() if text]
    paging = {
        "narrowed": narrowed,
        "asked": asked,
        "wanted": wanted,
        "states": ZONE_STATE.words,
        "periods": PERIOD.words,
        "risks": KINDS,
        "sorts": [(name, said, address(sort=name)) for name, (said, _) in queries.SORTS.items()],
        "sort": sort,
        "page": page,
        "per_page": queries.PER_PAGE,
        "turned": lambda number: address(page=number),
        "bar": state_bar,
    }
    if not asked and not any(wanted.values()):
        return await answers.page(
            datasette,
            "start",
            lambda c: {
                **paging,
                "kinds": queries.kinds(c),
                **queries.start(c, page, sort),
                "at_risk": queries.at_risk(c, 1, WORST)["objects"],
            },
        )

    def results(connection: Any) -> Json:
        found = queries.search(connection, asked, wanted, page, beginnings="beginnings" in kept, sort=sort)
        numbers = [match.number for match in found.matches]
        names = queries.place_names(connection, numbers)
        shown = queries.glances(connection, numbers)
        return {
            **paging,
            "kinds": queries.kinds(connection),
            "total": found.total,
            "beginnings": found.beginnings,
            "more": found.more,
            "more_url": address(beginnings=1),
            "results": [
                {**_result(datasette, match, names.get(match.number, {})), "glance": row}
                for match, row in zip(found.matches, shown, strict=True)
            ],
        }

    return await answers.page(datasette, "results", results)


async def start_json(datasette: Datasette, request: Request) -> Response:
    """`{"format", "about", "counts", "objects", "surveys", "total"}`, objects by the page."""
    page, sort = _page(request), _sort(request)
    return await answers.data(datasette, lambda c: {"format": 1, "page": page, **queries.start(c, page, sort)})


async def search_json(datasette: Datasette, request: Request) -> Response:
    """`{"format", "total", "beginnings", "more", "results": [{"object", "title", "places", "why", "record"}]}`."""
    asked, wanted, page = _asked(request), filters.read(request.args), _page(request)

    def results(connection: Any) -> Json:
        found = queries.search(connection, asked, wanted, page, beginnings=request.args.get("beginnings") == "1")
        return {
            "format": 1,
            "total": found.total,
            "beginnings": found.beginnings,
            "more": found.more,
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
    page, size = _page(request), answers.per_page(datasette)

    def content(connection: Any) -> Json:
        found = queries.at_risk(connection, page, size)
        codes = {row["object"]: number for number, row in queries.numbered(connection, found["objects"])}
        names = queries.place_names(connection, list(codes.values()))
        for row in found["objects"]:
            row["reasons"] = reasons(row["threats"], names.get(codes[row["object"]], {}))
        ranked = queries.ranking(connection) if page == 1 else None
        return {"page": page, "per_page": size, "ranking": ranked, **found}

    return await answers.page(datasette, "at_risk", content)


@dataclass
class Reason:
    """Threats that say the same, with the places that they are about: codes with names."""

    kind: str
    message: str
    remedy: str
    places: list[tuple[str, str]]


def reasons(threats: list[Json], names: Mapping[str, str | None]) -> list[Reason]:
    """The threats of one object, said once: what is alike but for the place and the day it was seen goes together, and
    what to do about several stands with the last of them."""
    found: dict[tuple[str, str, str], list[Json]] = {}
    for threat in threats:
        found.setdefault((threat["kind"], _SEEN.sub("", threat["message"]), threat["remedy"]), []).append(threat)
    said = [
        Reason(
            kind,
            message if len(own) > 1 else own[0]["message"],
            remedy,
            [
                (row["place"], names.get(row["place"]) or row["place"])
                for row in own
                if row["place"] not in (None, "all")
            ],
        )
        for (kind, message, remedy), own in found.items()
    ]
    for reason, after in pairwise(said):
        if reason.remedy == after.remedy:
            reason.remedy = ""
    return said


_SEEN = re.compile(r" \(seen [^)]*\)")


async def at_risk_json(datasette: Datasette, request: Request) -> Response:
    """`{"format", "kinds", "total", "objects": [{"object", "title", "numbers", "threats"}], "ranking": {"threats", "objects",
    "counted_alike", "from_memory", "ranked", "surviving"}}`, the last of it the same on every page."""

    def content(connection: Any) -> Json:
        ranked = {name: said for name, said in queries.ranking(connection).items() if name != "pictures"}
        return {"format": 1, **queries.at_risk(connection, _page(request)), "ranking": ranked}

    return await answers.data(datasette, content)


async def survey(datasette: Datasette, request: Request) -> Response:
    """One survey: what it was, and which objects it covered."""
    size = answers.per_page(datasette)

    def content(connection: Any) -> Json:
        found = _survey(connection, request, size)
        return {**found, "brought": wording.brought(found["counts"]), "page": _page(request), "per_page": size}

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
    # Its name is made from its content: how long it may be kept says `delivery`.
    return Response(await asyncio.to_thread(path.read_bytes), content_type=_TYPES[request.url_vars["kind"]])


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
    *copy_routes.ROUTES,
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


def _sort(request: Request) -> str:
    asked = request.args.get("sort") or ""
    return asked if asked in queries.SORTS else "number"


def _page(request: Request) -> int:
    return queries.page_number(request.args.get("page"))


def _survey(connection: Any, request: Request, size: int = queries.PER_PAGE) -> Json:
    found = queries.survey(connection, tilde_decode(request.url_vars["code"]), _page(request), size)
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
