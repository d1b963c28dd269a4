"""The ways in which a column's value stands in a document: each writes the value and reads it again."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from collection.output.export.linked_art.context import SETS, Json
from collection.output.export.linked_art.ids import Ids
from collection.output.export.linked_art.thesaurus import term
from collection.values.dates import UNKNOWN, bounds

LOOKED_FOR = "fc:looked_for"


class Cell(NamedTuple):
    """One column of one row, as a form needs to know it."""

    sheet: str
    column: str
    ids: Ids

    @property
    def own(self) -> str:
        """Our own word for the column."""
        return f"fc:{self.column}"


@dataclass(frozen=True)
class Form(ABC):
    """:ivar inside: the property and the class of the node within the record's own in which the value stands."""

    inside: tuple[str, str] | None = field(default=None, kw_only=True)

    is_own = False
    """Whether the value stands under our own word for the column."""

    def write(self, node: Json, cell: Cell, value: Any) -> None:
        self.put(node if self.inside is None else _made_within(node, *self.inside), cell, value)

    def read(self, node: Json, cell: Cell) -> Any:
        """The value; None where the document has none."""
        found = node if self.inside is None else first(node.get(self.inside[0]), self.inside[1])
        return None if found is None else self.get(found, cell)

    @abstractmethod
    def put(self, node: Json, cell: Cell, value: Any) -> None: ...

    @abstractmethod
    def get(self, node: Json, cell: Cell) -> Any: ...


@dataclass(frozen=True)
class Said(Form):
    """The value as it is, under our own word."""

    is_own = True

    def put(self, node: Json, cell: Cell, value: Any) -> None:
        node[cell.own] = value

    def get(self, node: Json, cell: Cell) -> Any:
        return node.get(cell.own)


@dataclass(frozen=True)
class Text(Form):
    """The value as it is, under a word of Linked Art."""

    name: str = "_label"

    def put(self, node: Json, cell: Cell, value: Any) -> None:
        node[self.name] = value

    def get(self, node: Json, cell: Cell) -> Any:
        return node.get(self.name)


@dataclass(frozen=True)
class Named(Form):
    """A name or a number by which the thing is known."""

    kind: str = "Name"

    def put(self, node: Json, cell: Cell, value: Any) -> None:
        node.setdefault("identified_by", []).append({"type": self.kind, "content": value})

    def get(self, node: Json, cell: Cell) -> Any:
        return next((each["content"] for each in node.get("identified_by", ()) if each["type"] == self.kind), None)


@dataclass(frozen=True)
class Word(Form):
    """A word as a type or material, after those that every record of its kind has."""

    name: str = "classified_as"
    kind: str = "Type"
    after: int = 0

    def put(self, node: Json, cell: Cell, value: Any) -> None:
        node.setdefault(self.name, []).append(term(cell.sheet, cell.column, value, self.kind))

    def get(self, node: Json, cell: Cell) -> Any:
        found = node.get(self.name, ())
        return found[self.after]["_label"] if len(found) > self.after else None


@dataclass(frozen=True)
class Seen(Word):
    """What was seen, or where it was looked for and not seen, under our own word: that assigns nothing."""

    name: str = "assigned"

    def get(self, node: Json, cell: Cell) -> Any:
        return super().get({self.name: node.get(self.name) or node.get(LOOKED_FOR, ())}, cell)


@dataclass(frozen=True)
class Link(Form):
    """The thing that a code names, under a word of Linked Art or our own."""

    to: str = "place"
    name: str | None = None

    @property
    def is_own(self) -> bool:  # type: ignore[override]
        return self.name is None

    def put(self, node: Json, cell: Cell, value: Any) -> None:
        leads = {"id": cell.ids.thing(self.to, value)}
        name = self.name or cell.own
        node[name] = [leads] if name in SETS else leads

    def get(self, node: Json, cell: Cell) -> Any:
        found = node.get(self.name or cell.own)
        if isinstance(found, list):
            found = found[0] if found else None
        return None if found is None else cell.ids.code_of(self.to, found["id"])


@dataclass(frozen=True)
class Whole(Form):
    """The object that an object is a part of, with its number."""

    def put(self, node: Json, cell: Cell, value: Any) -> None:
        whole: Json = {"id": cell.ids.other(value), "type": "HumanMadeObject"}
        whole["identified_by"] = [{"type": "Identifier", "content": value}]
        cell.ids.name_within(whole)
        node.setdefault("part_of", []).append(whole)

    def get(self, node: Json, cell: Cell) -> Any:
        found = first(node.get("part_of"), "HumanMadeObject")
        return None if found is None else found["identified_by"][0]["content"]


@dataclass(frozen=True)
class Dated(Form):
    """An EDTF date as a time-span: the text, and the days between which it lies."""

    def put(self, node: Json, cell: Cell, value: Any) -> None:
        node["timespan"] = span(value)

    def get(self, node: Json, cell: Cell) -> Any:
        return node.get("timespan", {}).get("at_some_time_within")


@dataclass(frozen=True)
class Day(Form):
    """A date that is not the record's own, as a time-span under our own word."""

    is_own = True

    def put(self, node: Json, cell: Cell, value: Any) -> None:
        node[cell.own] = span(value)

    def get(self, node: Json, cell: Cell) -> Any:
        return node.get(cell.own, {}).get("at_some_time_within")


@dataclass(frozen=True)
class End(Form):
    """The first or last day of a time-span: the text under our own word, and the earliest or latest day beside it."""

    name: str = "begin_of_the_begin"
    is_own = True

    def put(self, node: Json, cell: Cell, value: Any) -> None:
        own = node.setdefault("timespan", {"type": "TimeSpan"})
        own[cell.own] = value
        own |= {name: day for name, day in span(value).items() if name == self.name}

    def get(self, node: Json, cell: Cell) -> Any:
        return node.get("timespan", {}).get(cell.own)


@dataclass(frozen=True)
class Who(Form):
    """Whoever did it."""

    kind: str = "Actor"

    def put(self, node: Json, cell: Cell, value: Any) -> None:
        node.setdefault("carried_out_by", []).append({"type": self.kind, "_label": value})

    def get(self, node: Json, cell: Cell) -> Any:
        found = first(node.get("carried_out_by"), self.kind)
        return None if found is None else found["_label"]


MICROMETRE: Json = {"id": "fc:unit_um", "type": "MeasurementUnit", "_label": "µm"}
THICKNESS: Json = {"id": "fc:kind_thickness", "type": "Type", "_label": "thickness"}


@dataclass(frozen=True)
class Thick(Form):
    """A thickness, or its least or greatest value, in micrometres: one dimension holds all three."""

    name: str = "value"

    def put(self, node: Json, cell: Cell, value: Any) -> None:
        made = _made_within(node, "dimension", "Dimension")
        made.setdefault("classified_as", [THICKNESS])
        made[self.name] = value
        made.setdefault("unit", MICROMETRE)

    def get(self, node: Json, cell: Cell) -> Any:
        found = first(node.get("dimension"), "Dimension")
        return None if found is None else found.get(self.name)


@dataclass(frozen=True)
class Licence(Form):
    """Under what a picture may be shown."""

    def put(self, node: Json, cell: Cell, value: Any) -> None:
        node["subject_to"] = [{"type": "Right", "_label": value}]

    def get(self, node: Json, cell: Cell) -> Any:
        found = first(node.get("subject_to"), "Right")
        return None if found is None else found["_label"]


@dataclass(frozen=True)
class Around(Form):
    """Said by where the record stands: inside that of its object, sample, test …"""

    def put(self, node: Json, cell: Cell, value: Any) -> None:
        pass

    def get(self, node: Json, cell: Cell) -> Any:
        return None


def span(text: str) -> Json:
    """An EDTF date as a time-span; an end that is open or unknown is left out, and so is the year 0, which dates of XML
    do not have."""
    first, last = bounds(text)
    return {
        "type": "TimeSpan",
        "at_some_time_within": text,
        **({} if first[:4] == UNKNOWN.earliest[:4] else {"begin_of_the_begin": f"{first}T00:00:00Z"}),
        **({} if last == UNKNOWN.latest or last[:4] == "0000" else {"end_of_the_end": f"{last}T23:59:59Z"}),
    }


def _made_within(node: Json, name: str, kind: str) -> Json:
    found = first(node.get(name), kind)
    if found is None:
        found = {"type": kind}
        node[name] = [*node.get(name, ()), found] if name in SETS else found
    return found


def first(found: Any, kind: str) -> Json | None:
    """The first node of a class among one or several."""
    nodes: Iterable[Json] = found if isinstance(found, list) else () if found is None else (found,)
    return next((each for each in nodes if each.get("type") == kind), None)
