"""The routes of one object: its page, and a page for each place, sample, proposal, loss and view of it, with JSON."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from typing import TYPE_CHECKING, Any

from datasette.utils import tilde_decode
from datasette.utils.asgi import NotFound, Request, Response

from firstcoat_site import answers, object_page, place_page, proposal_page, records_page, sample_page, sequence_page
from firstcoat_site import timeline as history
from firstcoat_site.addresses import Addresses
from firstcoat_site.told import Told

if TYPE_CHECKING:
    from datasette.app import Datasette

Json = dict[str, Any]
Data = Callable[..., Json | None]
"""The document of an object and the codes of the address → the page's data; None where there is no such thing."""
Page = Callable[[Told, Json, Addresses], Json]
Handler = Callable[["Datasette", Request], Coroutine[Any, Any, Response]]

_CODE = r"[^/.]+"
_OBJECT = rf"^/object/(?P<code>{_CODE})"


def _routes(end: str, template: str, data: Data, page: Page, *codes: str) -> list[tuple[str, Handler]]:
    """The page of an object at the end of an address, and its JSON. `codes` are the parts of it that name things."""
    def found(connection: Any, request: Request) -> tuple[Told, Json]:
        told = answers.told_of(connection, request)
        shown = data(told, *(tilde_decode(request.url_vars[name]) for name in codes))
        if shown is None:
            raise NotFound("No such page of this object")
        return told, shown

    async def html(datasette: Datasette, request: Request) -> Response:
        def content(connection: Any) -> Json:
            told, shown = found(connection, request)
            base = answers.of_object(datasette, told)
            return {**base, "data": shown, **page(told, shown, base["to"])}

        return await answers.page(datasette, template, content)

    async def json(datasette: Datasette, request: Request) -> Response:
        return await answers.data(datasette, lambda c: found(c, request)[1])

    pattern = _OBJECT + end.format(**{name: rf"(?P<{name}>{_CODE})" for name in codes})
    return [(rf"{pattern}$", html), (rf"{pattern}\.json$", json)]


async def drawn(datasette: Datasette, request: Request) -> Response:
    """The samples side by side, or the Harris matrix, as SVG."""
    made = sequence_page.PICTURES[request.url_vars["picture"]]
    svg = await answers.ask(datasette, lambda c: made(answers.told_of(c, request)))
    return Response(svg, content_type="image/svg+xml", headers=answers.CACHE)


ROUTES: list[tuple[str, Handler]] = [
    *_routes("", "object", lambda told: told.document, lambda told, _, to: {
        "own": to.object, "to": to.beside(), **object_page.object_page(told, to.beside())}),
    *_routes("/place/{place}", "place", place_page.place_data, place_page.place_page, "place"),
    *_routes("/sample/{sample}", "sample", sample_page.sample_data, sample_page.sample_page, "sample"),
    *_routes("/proposal/{proposal}", "proposal", proposal_page.proposal_data,
             lambda told, data, to: {"row": data["proposal"], **proposal_page.proposal_page(told, data["proposal"],
                                                                                            to)}, "proposal"),
    *_routes("/proposal/{proposal}/loss/{loss}", "loss", proposal_page.loss_data, proposal_page.loss_page,
             "proposal", "loss"),
    *_routes("/timeline", "timeline", history.timeline_data, records_page.timeline_page),
    *_routes("/tests", "tests", records_page.tests_data, records_page.tests_page),
    *_routes("/records", "records", records_page.records_data, records_page.records_page),
    *_routes("/stratigraphy", "stratigraphy", sequence_page.sequence_data,
             lambda told, _, to: sequence_page.sequence_page(told, to)),
    (rf"{_OBJECT}/(?P<picture>samples|matrix)\.svg$", drawn),
]
