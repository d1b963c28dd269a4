"""The days on which somebody has to look again, as a calendar to subscribe to (RFC 5545)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from datasette.utils.asgi import Request, Response

from collection.output.export.calendar_file import Event, calendar
from collection.output.published.addresses import Addresses
from firstcoat_site import answers, queries
from firstcoat_site.feed_routes import is_for_staff, lasting_address

if TYPE_CHECKING:
    from datasette.app import Datasette


async def reviews(datasette: Datasette, request: Request) -> Response:
    """Every day that the published records name; of a site for staff more of them are."""
    address, private = lasting_address(datasette), is_for_staff(datasette)

    def event(row: dict[str, Any]) -> Event:
        page = None
        if address is not None:
            page = Addresses(lambda path: address + path.removeprefix("/"), row["object"]).object
        title = f"{row['title']} ({row['object_title']}, {row['object']})"
        return Event(f"{row['kind']}/{row['key']}", row["day"], title, row["message"], row["kind"], page)

    def content(connection: Any) -> str:
        about = queries.about_file(connection)
        return calendar(
            f"{about['title']}: days to look again",
            map(event, queries.reviews(connection)),
            whose=about.get("collection_code") or about.get("collection_name") or "",
            stamp=about.get("as_of") or "1970-01-01",
            private=private,
        )

    return Response(
        await answers.ask(datasette, content), content_type="text/calendar; charset=utf-8", headers=answers.CACHE
    )


ROUTES: list[tuple[str, Any]] = [(r"^/reviews\.ics$", reviews)]
