"""The page of one sample: its coats to scale beside its micrograph, and what was tried on them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from firstcoat_site.addresses import Addresses
from firstcoat_site.pages.drawings import spot_of
from firstcoat_site.pages.lighting import views
from firstcoat_site.pages.stack import drawing
from firstcoat_site.published_object import Told
from firstcoat_site.wording import conditions_of, met

Json = dict[str, Any]


def sample_data(told: Told, code: str) -> Json | None:
    """One sample with its coats, outermost first, and what speaks of it; None where there is no such sample."""
    sample = told.rows.get(("samples", f"{told.code}/{code}"))
    if sample is None:
        return None
    return {
        "format": 1,
        "object": told.code,
        "sample": sample,
        "tests": [
            row
            for row in told["tests"]
            if row.get("sample") == code or any(response.get("sample") == code for response in row["responses"])
        ],
        "analyses": [row for row in told["analyses"] if row.get("sample") == code],
        "pictures": [row for row in told["pictures"] if row.get("sample") == code],
    }


def sample_page(told: Told, data: Json, to: Addresses) -> Json:
    """What the template of a sample shows beside its data."""
    sample = data["sample"]
    return {
        "drawing": drawing(sample["layers"]),
        "spot": spot_of(told, sample),
        "views": views(data["pictures"]),
        "schemes": {row["scheme"]: row for row in told["schemes"]},
        "test_lines": test_lines(told, data["tests"], to),
        "place_state": told.states.get(sample["place"], {}).get("state"),
    }


def test_lines(told: Told, tests: Iterable[Json], to: Addresses) -> list[Json]:
    """Tests with their conditions and responses in words, each response with the address of its coat."""

    def address(response: Json) -> str | None:
        row = told.rows.get(("layers", f"{told.code}/{response.get('sample')}/{response.get('position')}"))
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
