"""The object in its finishes: the pictures made at `publish`, with what the records say of each finish."""

from __future__ import annotations

from typing import Any

from collection.output.published.addresses import Addresses
from collection.output.published.published_object import PublishedObject
from collection.output.tell.state import finishes_told

Json = dict[str, Any]


def finishes_data(published: PublishedObject) -> Json:
    """The finishes in the order in which they were put on, each with its schemes and its decorations."""
    return {"format": 1, "object": published.code, "finishes": finishes_told(published)}


def finishes_page(published: PublishedObject, data: Json, to: Addresses) -> Json:
    """What the template shows: every finish with its pictures."""
    return {"finishes": [{**each, "pictures": pictures(published, each["number"])} for each in data["finishes"]]}


def pictures(published: PublishedObject, number: int) -> list[str]:
    """The drawings of one finish, the places on no drawing last; none where the object has none."""
    names = [str(at) for at in range(1, len(published["drawings"]) + 1)] + ["others"]
    found = (published.figure(f"finish-{number}-{name}") for name in names)
    return [svg for svg in found if svg]
