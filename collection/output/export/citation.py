"""One published object as CSL JSON, the form in which programs for references take a citation.

Names and types are those of the published schema of the Citation Style Language, `csl-data.json`, version 1.0.2.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from collection.output.published.published_object import PublishedObject

Json = dict[str, Any]

TYPE = "entry"
"""An entry in a catalogue, by the list of types of the schema."""


def citation(published: PublishedObject, address: str | None, about: Mapping[str, str]) -> list[Json]:
    """The citation of an object's records: a list of one, as the schema wants it.

    :param address: the lasting address of the object's page; None where the site knows none.
    :param about: what the published file says of itself.
    """
    day = about.get("as_of")
    found: Json = {
        "id": address or published.code,
        "type": TYPE,
        "title": published.title,
        "number": published.code,
        "container-title": about["title"],
        "publisher": about.get("collection_name"),
        "URL": address,
        "issued": {"date-parts": [[int(part) for part in day.split("-")]]} if day else None,
        "version": about["state"],
        "language": "en",
        "note": "Invented demonstration data. No such object exists." if published["invented"] else None,
    }
    return [{name: value for name, value in found.items() if value is not None}]
