"""One object's published document, with what several of its pages need."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cached_property
from typing import Any, TypeVar

from collection.compute.build_up.places import ALL, Places, places_of
from collection.compute.case import Case
from collection.compute.stratigraphy.strata import strata
from collection.language.words import SHEET_NAMES
from collection.records.facts import Facts, facts_of
from collection.records.sheets import BY_SHEET, Object, Record
from collection.values.dates import bounds

Json = dict[str, Any]
R = TypeVar("R", bound=Record)

NESTED = {"layers": "samples", "responses": "tests", "treatment_steps": "treatments", "proposal_steps": "proposals"}
"""Sheets whose rows stand inside those of another sheet."""
ONE_BY_ONE = 20
"""Up to so many samples are asked one by one for their coats."""


class PublishedObject:
    """One published object. What it is made from may read each part of the document only when it is asked for.

    :param document: the object's document, or whatever gives its parts by name (`published/filed_object.py`).
    :param kept: the kept figures by name, given this object (`output/drawings/figures.py`); a filed object has its own.
    :ivar rows: every published record by sheet and key.
    """

    def __init__(
        self, document: Mapping[str, Any], kept: Callable[[PublishedObject], Mapping[str, str]] = lambda _: {}
    ) -> None:
        self._source = document
        self._filed = document if isinstance(document, Filed) else None
        self._kept = kept
        self.code: str = document["object"]
        self.title: str = document["title"]

    def __getitem__(self, name: str) -> Any:
        return self._source[name]

    def get(self, name: str, default: Any = None) -> Any:
        """A part of the document; `default` where it has none of that name."""
        return self._source.get(name, default)

    @cached_property
    def document(self) -> Json:
        """The whole document as plain data; of a large object that is much."""
        if self._filed is None:
            return dict(self._source)
        return {**self._source, "samples": self.with_coats(self["samples"])}

    @cached_property
    def figures(self) -> Mapping[str, str]:
        """The kept figures by name, of an object that is not filed."""
        return self._kept(self)

    def figure(self, name: str) -> str | None:
        """A kept figure as SVG text, its addresses still to be put in; None where there is none of that name."""
        return self.figures.get(name) if self._filed is None else self._filed.figure(name)

    @cached_property
    def strata(self) -> Json:
        """The correlation of the published samples, as `firstcoat strata --json` gives it."""
        return strata(self.case).as_json() if self._filed is None else self._filed.strata()

    def coats(self, sample: str) -> list[Json]:
        """The coats of a sample, outermost first."""
        if self._filed is not None:
            return self._filed.coats(sample)
        layers: list[Json] = self._samples[sample]["layers"] if sample in self._samples else []
        return layers

    @cached_property
    def _samples(self) -> dict[str, Json]:
        return {row["sample"]: row for row in self["samples"]}

    def with_coats(self, samples: Iterable[Json]) -> list[Json]:
        """Samples, each with its coats inside it as `layers`."""
        samples = list(samples)
        if self._filed is not None and len(samples) > ONE_BY_ONE:
            self._filed.read_all_coats()
        return [row if "layers" in row else {**row, "layers": self.coats(row["sample"])} for row in samples]

    @cached_property
    def rows(self) -> Mapping[tuple[str, str], Json]:
        return Rows(self)

    def _by_key(self, sheet: str) -> dict[str, Json]:
        """The rows of a sheet by key, those of a nested one too; of `layers` only where all are in memory."""
        if sheet not in self._keys:
            outer = NESTED.get(sheet)
            rows = self.get(sheet, ()) if outer is None else [r for row in self[outer] for r in row.get(sheet, ())]
            self._keys[sheet] = {row["key"]: row for row in rows}
        return self._keys[sheet]

    @cached_property
    def _keys(self) -> dict[str, dict[str, Json]]:
        return {}

    @cached_property
    def _coats_by_key(self) -> dict[str, dict[str, Json]]:
        return {}

    def row(self, sheet: str, key: str) -> Json | None:
        """One published record; None where there is none of that key."""
        if sheet == "layers":
            sample, _, _ = key.removeprefix(f"{self.code}/").rpartition("/")
            if sample not in self._coats_by_key:
                self._coats_by_key[sample] = {row["key"]: row for row in self.coats(sample)}
            return self._coats_by_key[sample].get(key)
        return self._by_key(sheet).get(key)

    @cached_property
    def facts(self) -> Facts:
        """The published records as the computations read them; what is held back is not in it."""
        return facts_of(
            as_record(Object, self["record"]),
            [
                as_record(BY_SHEET[sheet], row)
                for sheet, row in self._walk()
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

    def _walk(self) -> Iterator[tuple[str, Json]]:
        for sheet in SHEET_NAMES:
            rows = self.get(sheet, ())
            for row in self.with_coats(rows) if sheet == "samples" else rows:
                yield sheet, row
                for nested in NESTED:
                    for inner in row.get(nested, ()):
                        yield nested, inner


class Filed(Mapping[str, Any]):
    """What a published file holds of one object: the parts of its document by name, each read when it is asked for.

    The samples come without their coats.
    """

    @abstractmethod
    def coats(self, sample: str) -> list[Json]:
        """The coats of a sample, outermost first."""

    @abstractmethod
    def read_all_coats(self) -> None:
        """Reads the coats of all samples at once, for a page that asks for most of them."""

    @abstractmethod
    def figure(self, name: str) -> str | None:
        """A figure that was drawn at `publish`."""

    @abstractmethod
    def strata(self) -> Json:
        """The correlation that was computed at `publish`."""


class Rows(Mapping[tuple[str, str], Json]):
    """Every published record of an object by sheet and key; one is looked up without reading the others."""

    def __init__(self, published: PublishedObject) -> None:
        self._published = published

    def __getitem__(self, record: tuple[str, str]) -> Json:
        row = self._published.row(*record)
        if row is None:
            raise KeyError(record)
        return row

    def __iter__(self) -> Iterator[tuple[str, str]]:
        return ((sheet, row["key"]) for sheet, row in self._published._walk())

    def __len__(self) -> int:
        return sum(1 for _ in self)


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
