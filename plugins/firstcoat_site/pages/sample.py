"""The page of one sample: its coats to scale beside its micrograph, and what was tried on them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from collection.output.drawings.elevation import spot_of
from collection.output.drawings.stack import draw, stack_of
from collection.output.published_object import PublishedObject
from firstcoat_site.addresses import Addresses
from firstcoat_site.pages.lighting import views
from firstcoat_site.wording import conditions_of, met

Json = dict[str, Any]


def sample_data(published: PublishedObject, code: str) -> Json | None:
    """One sample with its coats, outermost first, and the records about it; None where there is no such sample."""
    sample = published.rows.get(("samples", f"{published.code}/{code}"))
    if sample is None:
        return None
    return {
        "format": 1,
        "object": published.code,
        "sample": {**sample, "layers": published.coats(code)},
        "tests": [
            row
            for row in published["tests"]
            if row.get("sample") == code or any(response.get("sample") == code for response in row["responses"])
        ],
        "analyses": [row for row in published["analyses"] if row.get("sample") == code],
        "pictures": [row for row in published["pictures"] if row.get("sample") == code],
    }


def sample_page(published: PublishedObject, data: Json, to: Addresses) -> Json:
    """What the template of a sample shows beside its data."""
    sample = data["sample"]
    return {
        "stack": draw([stack_of(published, sample["sample"])], name="stack"),
        "spot": spot_of(published, sample),
        "views": views(data["pictures"]),
        "schemes": {row["scheme"]: row for row in published["schemes"]},
        "test_lines": test_lines(published, data["tests"], to),
        "place_state": published.states.get(sample["place"], {}).get("state"),
    }


def test_lines(published: PublishedObject, tests: Iterable[Json], to: Addresses) -> list[Json]:
    """Tests with their conditions and responses in words, each response with the address of its coat."""

    def address(response: Json) -> str | None:
        row = published.rows.get(("layers", f"{published.code}/{response.get('sample')}/{response.get('position')}"))
        return None if row is None else to.record("layers", row)

    return [
        {
            **row,
            "conditions": conditions_of(row),
            "url": to.record("tests", row),
            "met": [(met(response), response, address(response)) for response in row["responses"]],
        }
        for row in tests
    ]
