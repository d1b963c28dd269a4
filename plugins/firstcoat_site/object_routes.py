"""The routes of one object: its page, and a page for each place, sample, proposal, loss and view of it, with JSON."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from typing import TYPE_CHECKING, Any

from datasette.utils import tilde_decode
from datasette.utils.asgi import NotFound, Request, Response

from collection.output.published.addresses import Addresses
from collection.output.published.filed_object import whole_json
from collection.output.published.published_object import PublishedObject
from collection.output.site.papers import KINDS
from firstcoat_site import answers
from firstcoat_site.pages import finishes, object, place, proposal, records, sample, stratigraphy
from firstcoat_site.pages import timeline as history

if TYPE_CHECKING:
    from datasette.app import Datasette

Json = dict[str, Any]
Data = Callable[..., Json | None]
"""The document of an object and the codes of the address → the page's data; None where there is no such thing."""
Page = Callable[[PublishedObject, Json, Addresses], Json]
Handler = Callable[["Datasette", Request], Coroutine[Any, Any, Response]]

_CODE = r"[^/.]+"
_OBJECT = rf"^/object/(?P<code>{_CODE})"


def _routes(end: str, template: str, data: Data, page: Page, *codes: str) -> list[tuple[str, Handler]]:
    """The page of an object at the end of an address, and its JSON. `codes` are the parts of it that name things."""

    def found(connection: Any, request: Request) -> tuple[PublishedObject, Json]:
        published = answers.object_of(connection, request)
        shown = data(published, *(tilde_decode(request.url_vars[name]) for name in codes))
        if shown is None:
            raise NotFound("No such page of this object")
        return published, shown

    async def html(datasette: Datasette, request: Request) -> Response:
        def content(connection: Any) -> Json:
            published, shown = found(connection, request)
            base = answers.of_object(datasette, published, beside=not end)
            return {**base, "data": shown, **page(published, shown, base["to"])}

        return await answers.page(datasette, template, content)

    async def json(datasette: Datasette, request: Request) -> Response:
        def content(connection: Any) -> Json:
            published, shown = found(connection, request)
            samples = shown.get("samples")
            # A list of samples may also be of their codes alone.
            return {**shown, "samples": published.with_coats(samples)} if samples and "key" in samples[0] else shown

        return await answers.data(datasette, content)

    pattern = _OBJECT + end.format(**{name: rf"(?P<{name}>{_CODE})" for name in codes})
    return [(rf"{pattern}$", html), (rf"{pattern}\.json$", json)]


async def whole(datasette: Datasette, request: Request) -> Response:
    """Everything published about an object, as JSON that was written at `publish`."""
    text = await answers.ask(datasette, lambda c: whole_json(c, tilde_decode(request.url_vars["code"])))
    if text is None:
        raise NotFound("No such object")
    return Response(text, content_type="application/json; charset=utf-8", headers=answers.CACHE)


async def drawn(datasette: Datasette, request: Request) -> Response:
    """The samples side by side, or the Harris matrix, as SVG with the addresses of this site in it."""

    def svg(connection: Any) -> str:
        published = answers.object_of(connection, request)
        found = published.figure(request.url_vars["picture"])
        if found is None:
            raise NotFound("No such drawing of this object")
        placed: str = answers.of_object(datasette, published)["placed"](found)
        return placed

    return Response(await answers.ask(datasette, svg), content_type="image/svg+xml", headers=answers.CACHE)


async def paper(datasette: Datasette, request: Request) -> Response:
    """The object's report or tag, to keep: made at `publish`, where the extra was installed there."""
    code, kind = tilde_decode(request.url_vars["code"]), request.url_vars["paper"]
    path = answers.paper(datasette, code, kind)
    if not path.is_file():
        raise answers.NotHere(f"No {kind} of this object was made when the site was published.")
    return Response(
        path.read_bytes(),
        content_type="application/pdf",
        headers={**answers.CACHE, "Content-Disposition": f'attachment; filename="{path.name}"'},
    )


ROUTES: list[tuple[str, Handler]] = [
    (rf"{_OBJECT}\.json$", whole),
    *_routes("", "object", lambda published: {}, lambda published, _, to: object.object_page(published, to)),
    *_routes("/place/{place}", "place", place.place_data, place.place_page, "place"),
    *_routes("/sample/{sample}", "sample", sample.sample_data, sample.sample_page, "sample"),
    *_routes(
        "/proposal/{proposal}",
        "proposal",
        proposal.proposal_data,
        lambda published, data, to: {
            "row": data["proposal"],
            "found": proposal.proposal_page(published, data["proposal"], to),
        },
        "proposal",
    ),
    *_routes("/proposal/{proposal}/loss/{loss}", "loss", proposal.loss_data, proposal.loss_page, "proposal", "loss"),
    *_routes("/timeline", "timeline", history.timeline_data, records.timeline_page),
    *_routes("/tests", "tests", records.tests_data, records.tests_page),
    *_routes("/finishes", "finishes", finishes.finishes_data, finishes.finishes_page),
    *_routes("/records", "records", records.records_data, records.records_page),
    *_routes("/stratigraphy", "stratigraphy", stratigraphy.sequence_data, stratigraphy.sequence_page),
    (rf"{_OBJECT}/(?P<picture>samples|matrix)\.svg$", drawn),
    (rf"{_OBJECT}/(?P<paper>{'|'.join(KINDS)})\.pdf$", paper),
]
