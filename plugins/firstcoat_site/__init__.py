"""The published view: one Datasette plugin package.

Installed beside other Datasette sites it does nothing: every hook asks first whether the site was published
by firstcoat (its metadata say so).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from datasette import hookimpl

from firstcoat_site import answers, collection_routes, request_filter

if TYPE_CHECKING:
    from datasette.app import Datasette

PLUGIN = "firstcoat_site"


def is_ours(datasette: Datasette) -> bool:
    """Whether this Datasette serves a site that firstcoat published."""
    return bool(datasette.plugin_config(PLUGIN))


@hookimpl  # type: ignore[untyped-decorator]
def register_routes(datasette: Datasette) -> list[tuple[str, Any]]:
    return collection_routes.ROUTES if is_ours(datasette) else []


@hookimpl  # type: ignore[untyped-decorator]
def asgi_wrapper(datasette: Datasette) -> Any:
    return request_filter.wrapper(datasette) if is_ours(datasette) else lambda app: app


@hookimpl(tryfirst=True)  # type: ignore[untyped-decorator]
def handle_exception(datasette: Datasette, request: Any, exception: Exception) -> Any:
    return answers.answer_error(datasette, request, exception) if is_ours(datasette) else None
