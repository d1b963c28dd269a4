"""Evidence as cards: each record with its date and survey, and a sample with its micrograph and its spot."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from collection.language.words import SHEET_NAMES
from collection.output.drawings.elevation import Spot, spot_of
from collection.output.published.addresses import Addresses
from collection.output.published.published_object import PublishedObject
from collection.output.tell.wording import one_line

Json = dict[str, Any]

_DATES = (
    "tested_on",
    "taken_on",
    "observed_on",
    "made_on",
    "started",
    "given_on",
    "analysed_on",
    "dated",
    "proposed_on",
)
MOST_SAID = 4


@dataclass(frozen=True)
class Card:
    """One piece of evidence. `links` are texts with their addresses, `surveys` where it comes from, each with the rows
    of its sheet; coats of one sample share a card."""

    name: str
    links: tuple[tuple[str, str], ...]
    line: str
    date: str | None
    place: str | None
    surveys: tuple[tuple[str, tuple[int, ...]], ...]
    picture: Json | None
    spot: Spot | None


def cards(published: PublishedObject, evidence: Iterable[Mapping[str, str]], to: Addresses) -> list[Card]:
    """The cards of pairs of sheet and key, in their order; records that are not published have none."""
    found: list[Card] = []
    coats: dict[str, list[Json]] = {}
    for item in evidence:
        row = published.rows.get((item["kind"], item["key"]))
        if row is None:
            continue
        if item["kind"] == "layers":
            coats.setdefault(row["sample"], []).append(row)
            continue
        found.append(_card(published, item["kind"], row, to))
    return [_of_coats(published, sample, rows, to) for sample, rows in coats.items()] + found


def _card(published: PublishedObject, sheet: str, row: Json, to: Addresses) -> Card:
    code = row["key"].removeprefix(f"{published.code}/")
    sample = published.rows.get(("samples", f"{published.code}/{row['sample']}")) if row.get("sample") else None
    return Card(
        f"{SHEET_NAMES[sheet]} ",
        ((code, to.record(sheet, row)),),
        one_line(sheet, row),
        _date(published, row),
        row.get("place"),
        _surveys([row]),
        published.micrograph(row.get("sample")) if sheet == "samples" else None,
        None if sample is None else spot_of(published, sample),
    )


def _of_coats(published: PublishedObject, sample: str, rows: list[Json], to: Addresses) -> Card:
    rows.sort(key=lambda row: row["position"])
    whole = published.rows[("samples", f"{published.code}/{sample}")]
    said = list(dict.fromkeys(one_line("layers", row) for row in rows))
    more = f"; {len(said) - MOST_SAID} more" if len(said) > MOST_SAID else ""
    return Card(
        f"sample {sample}, {'coat' if len(rows) == 1 else 'coats'} ",
        tuple((str(row["position"]), to.record("layers", row)) for row in rows),
        " / ".join(said[:MOST_SAID]) + more,
        whole.get("taken_on"),
        whole["place"],
        _surveys(rows),
        published.micrograph(sample),
        spot_of(published, whole),
    )


def _date(published: PublishedObject, row: Json) -> str | None:
    own = next((row[name] for name in _DATES if row.get(name)), None)
    for sheet, code in (("tests", "test"), ("treatments", "treatment"), ("proposals", "proposal")):
        if own is None and row.get(code):
            outer = published.rows.get((sheet, f"{published.code}/{row[code]}"), {})
            own = next((outer[name] for name in _DATES if outer.get(name)), None)
    return own


def _surveys(rows: Iterable[Json]) -> tuple[tuple[str, tuple[int, ...]], ...]:
    found: dict[str, list[int]] = {}
    for row in rows:
        if row.get("survey"):
            found.setdefault(row["survey"], []).extend([row["from_row"]] if row.get("from_row") else [])
    return tuple((survey, tuple(numbers)) for survey, numbers in found.items())
