"""One object's published document, with what several of its pages need."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cached_property
from typing import Any, TypeVar

from collection.compute.build_up.places import ALL, Places, places_of
from collection.compute.case import Case
from collection.language.words import SHEET_NAMES
from collection.records.facts import Facts, facts_of
from collection.records.sheets import BY_SHEET, Object, Record
from collection.values.dates import bounds

Json = dict[str, Any]
R = TypeVar("R", bound=Record)

NESTED = ("layers", "responses", "treatment_steps", "proposal_steps")


class PublishedObject:
    """The document of one object.

    :param kept: the kept figures by name, given this object (`output/drawings/figures.py`).
    :ivar rows: every published record by sheet and key.
    """

    def __init__(self, document: Json, kept: Callable[[PublishedObject], Mapping[str, str]] = lambda _: {}) -> None:
        self.document = document
        self._kept = kept
        self.code: str = document["object"]
        self.title: str = document["title"]

    def __getitem__(self, name: str) -> Any:
        return self.document[name]

    @cached_property
    def _figures(self) -> Mapping[str, str]:
        return self._kept(self)

    def figure(self, name: str) -> str | None:
        """A kept figure as SVG text, its addresses still to be put in; None where there is none of that name."""
        return self._figures.get(name)

    def coats(self, sample: str) -> list[Json]:
        """The coats of a sample, outermost first."""
        row = next((row for row in self["samples"] if row["sample"] == sample), None)
        return [] if row is None else row["layers"]

    @cached_property
    def rows(self) -> dict[tuple[str, str], Json]:
        return {(sheet, row["key"]): row for sheet, row in self.records()}

    @cached_property
    def facts(self) -> Facts:
        """The published records as the computations read them; what is held back is not in it."""
        return facts_of(
            as_record(Object, self["record"]),
            [
                as_record(BY_SHEET[sheet], row)
                for sheet, row in self.records()
                if sheet in BY_SHEET and sheet not in ("proposals", "proposal_steps")
            ],
        )

    @cached_property
    def case(self) -> Case:
        return Case(self.facts)

    @cached_property
    def places(self) -> Places:
        return places_of(self.case)

    @cached_property
    def states(self) -> dict[str, Json]:
        """What survives in each place that is in account."""
        return {row["place"]: row for row in self["survival"]["places"]}

    @cached_property
    def named(self) -> dict[str, Json]:
        """The newest record of each part, and each zone, by code."""
        return {row["component"]: row for row in newest(self["components"], "component")} | {
            row["zone"]: row for row in self["zones"]
        }

    def has_place(self, code: str) -> bool:
        return code in self.named

    def name_of(self, code: str) -> str | None:
        return "the whole object" if code == ALL else self.named.get(code, {}).get("name")

    @cached_property
    def micrographs(self) -> dict[str, list[Json]]:
        """The pictures of each sample that have a file."""
        found: dict[str, list[Json]] = {}
        for row in self["pictures"]:
            if row["file"] and row.get("sample"):
                found.setdefault(row["sample"], []).append(row)
        return found

    def micrograph(self, sample: str | None) -> Json | None:
        """A sample's picture in normal light, else any of it; None where there is none."""
        pictures = self.micrographs.get(sample or "", [])
        return next((row for row in pictures if row.get("lighting") == "normal"), pictures[0] if pictures else None)

    def records(self) -> Iterator[tuple[str, Json]]:
        """Every published record but the object's own, with its sheet."""
        for sheet in SHEET_NAMES:
            for row in self.document.get(sheet, ()):
                yield sheet, row
                for nested in NESTED:
                    for inner in row.get(nested, ()):
                        yield nested, inner


def newest(rows: list[Json], code: str) -> list[Json]:
    """The newest dated state of each code, the earlier ones inside it as `earlier`."""
    groups: dict[str, list[Json]] = {}
    for row in rows:
        groups.setdefault(row[code], []).append(row)
    found = []
    for group in groups.values():
        ordered = sorted(group, key=lambda row: bounds(row.get("observed_on")).latest if row.get("observed_on") else "")
        found.append({**ordered[-1], "earlier": ordered[:-1]})
    return found


def as_record(record: type[R], row: Json) -> R:
    """A published row as its record; what is blank or held back is None."""
    made: R = record.model_construct(**{name: row.get(name) for name in record.model_fields})  # type: ignore[assignment]
    return made
