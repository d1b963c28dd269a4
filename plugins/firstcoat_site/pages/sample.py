"""The page of one sample: its coats to scale beside its micrograph, and what was tried on them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import groupby
from typing import Any

from collection.output.drawings.colours import colour_of_row
from collection.output.drawings.elevation import spot_of
from collection.output.drawings.stack import draw, stack_of
from collection.output.published.addresses import Addresses
from collection.output.published.published_object import PublishedObject
from collection.output.tell.lighting import views
from collection.output.tell.readings import sentence
from collection.output.tell.response_grid import response_grid
from collection.output.tell.wording import conditions_of, met
from collection.values.spoken_dates import in_words

Json = dict[str, Any]

_BASIS = {"measured": "drawn as measured", "munsell": "drawn by its Munsell notation", "word": "drawn for the word"}


def sample_data(published: PublishedObject, code: str) -> Json | None:
    """One sample with its coats, outermost first, and the records about it; None where there is no such sample."""
    sample = next((row for row in published["samples"] if row["sample"] == code), None)
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
    schemes = {row["scheme"]: row for row in published["schemes"]}
    coats = [_coat(row, schemes, to) for row in sample["layers"]]
    # A finish is named once beside all of its coats that lie on each other.
    for _, run in groupby(coats, key=lambda row: (row.get("scheme"), row.get("certainty"))):
        first, *others = run
        first["coats_of_finish"] = 1 + len(others)
    certain = {row.get("certainty") for row in coats if row.get("scheme")}
    return {
        "sentence": sentence(sample),
        "place_name": published.name_of(sample["place"]),
        "stack": draw([stack_of(published, sample["sample"])], name="stack") if sample["layers"] else None,
        "spot": spot_of(published, sample),
        "views": views(data["pictures"]),
        "coats": coats,
        "certainty": certain.pop() if len(certain) == 1 else None,
        "from_rows": _from_rows(sample["layers"]),
        "tests_here": response_grid(published, data["tests"], to.record),
        "test_lines": test_lines(published, data["tests"], to),
        "place_state": published.states.get(sample["place"], {}).get("state"),
    }


def test_lines(published: PublishedObject, tests: Iterable[Json], to: Addresses) -> list[Json]:
    """Tests with their conditions and responses in words, each response with the address of its coat."""
    known: dict[str, dict[int, Json]] = {}

    def address(response: Json) -> str | None:
        sample = response.get("sample")
        if not sample:
            return None
        if sample not in known:
            known[sample] = {row["position"]: row for row in published.coats(sample)}
        row = known[sample].get(response.get("position") or 0)
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


def _coat(row: Json, schemes: Mapping[str, Json], to: Addresses) -> Json:
    """A coat for the table: its name, what else is known of it, its scheme by name."""
    colour = colour_of_row(row)
    binder = row.get("binder")
    basis = f" ({row['binder_basis']})" if binder and row.get("binder_basis") else ""
    measured = row.get("lab_l") is not None
    known = [
        f"{binder}{basis}" if binder else None,
        f"{row['coverage_pct']:g} % of the spot" if row.get("coverage_pct") is not None else None,
        f"fluorescence {row['fluorescence']}" if row.get("fluorescence") else None,
        row.get("boundary"),
        f"Munsell {row['munsell']}" if row.get("munsell") else None,
        f"L* {row['lab_l']:g} a* {row.get('lab_a', 0):g} b* {row.get('lab_b', 0):g}" if measured else None,
        f"{row['gloss_gu']:g} GU" if row.get("gloss_gu") is not None else None,
        row.get("notes"),
    ]
    scheme = schemes.get(row.get("scheme") or "")
    years = in_words(scheme.get("made")) if scheme else ""
    return {
        **row,
        "fill": colour and colour[0],
        "drawn": colour and _BASIS[colour[1]],
        "known": "; ".join(part for part in known if part),
        "scheme_name": scheme and scheme["name"] + (f", {years}" if years else ""),
        "scheme_url": scheme and to.record("schemes", scheme),
        "is_original": bool(scheme and scheme.get("period") == "original"),
    }


def _from_rows(layers: Iterable[Json]) -> list[tuple[str, str]]:
    """The surveys that brought the coats, each with its first and last row, because they are the same for most."""
    rows: dict[str, list[int]] = {}
    for row in layers:
        if row.get("survey"):
            rows.setdefault(row["survey"], []).extend([row["from_row"]] if row.get("from_row") else [])
    return [
        (survey, "" if not at else f"row {at[0]}" if len(at) == 1 else f"rows {min(at)}–{max(at)}")
        for survey, at in rows.items()
    ]
