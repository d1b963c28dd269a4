"""What a paper says of the collection, of its readers and of the program."""

from __future__ import annotations

import sqlite3

from collection import __version__
from collection.output.published.audience import Audience
from collection.store.changes import collection_row


def about_papers(connection: sqlite3.Connection, audience: Audience, site: str | None = None) -> dict[str, str]:
    """`audience`, `names`, `program` and, as far as they are recorded, `collection_name` and the others.

    :param site: the address of the site below which the object's page stands; None for the collection's own.
    """
    whose = collection_row.present(connection)
    return {
        "audience": audience.word,
        "names": "published" if audience.names else "not published",
        "program": f"firstcoat {__version__}",
        **{f"collection_{name}": text for name, text in whose.as_json().items() if text},
        **({"collection_address": site} if site else {}),
    }
