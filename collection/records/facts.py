"""The facts document: one object as the rules read it, frozen, with a canonical JSON and its hash.

It holds only evidence in account: no notes, private columns or provenance, and no proposals, so that proposing work
changes nothing that is known. The same document serves one assessment, the screening of
a whole collection and the published pages.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from functools import cache, cached_property
from typing import Any, TypeVar

from pydantic_core import SchemaSerializer, core_schema

from collection.records.sheets import (
    BY_SHEET,
    Advice,
    Analysis,
    Claim,
    Component,
    Condition,
    Decoration,
    Hazard,
    Layer,
    Object,
    Picture,
    Proposal,
    ProposalStep,
    Record,
    Reserve,
    Response,
    Sample,
    Scheme,
    Test,
    Treatment,
    TreatmentStep,
    Zone,
)
from collection.values import dates

R = TypeVar("R", bound=Record)
LEFT_OUT = frozenset({"notes", "audience", "listed_condition"})
"""Columns that no rule may read: what a list says of a condition is nobody's observation."""


@dataclass(frozen=True, eq=False)
class Facts:
    """Everything that is known of one object and in account; rows are in the order of their keys.

    Equal to itself alone; `sha256` tells whether two hold the same. What is computed of it is kept in a case.
    """

    object: Object
    components: tuple[Component, ...] = ()
    zones: tuple[Zone, ...] = ()
    schemes: tuple[Scheme, ...] = ()
    samples: tuple[Sample, ...] = ()
    layers: tuple[Layer, ...] = ()
    analyses: tuple[Analysis, ...] = ()
    decorations: tuple[Decoration, ...] = ()
    reserves: tuple[Reserve, ...] = ()
    tests: tuple[Test, ...] = ()
    responses: tuple[Response, ...] = ()
    conditions: tuple[Condition, ...] = ()
    treatments: tuple[Treatment, ...] = ()
    treatment_steps: tuple[TreatmentStep, ...] = ()
    advice: tuple[Advice, ...] = ()
    claims: tuple[Claim, ...] = ()
    hazards: tuple[Hazard, ...] = ()
    pictures: tuple[Picture, ...] = ()

    @cached_property
    def canonical(self) -> str:
        """The document as JSON: sorted keys, no blanks, no spaces, floats as the shortest exact text."""
        sheets = [(name, rows) for name in _SORTED if (rows := getattr(self, name))]
        text = b"{%s}" % b",".join(b'"%s":%s' % (name.encode(), _canonical_rows(rows)) for name, rows in sheets)
        return canonical_json(self.document()) if _may_differ(text) else text.decode()

    @cached_property
    def sha256(self) -> str:
        return hashlib.sha256(self.canonical.encode()).hexdigest()

    def document(self) -> dict[str, Any]:
        """The document as plain data: the object's row, then every sheet's rows in key order."""
        sheets = {
            f.name: [row_values(row) for row in getattr(self, f.name)] for f in fields(self) if f.name != "object"
        }
        return {"object": row_values(self.object), **{name: rows for name, rows in sheets.items() if rows}}


FACT_SHEETS = tuple(f.name for f in fields(Facts) if f.name != "object")
"""The sheets a facts document is made of, beside the object's own row."""
_SORTED = sorted(f.name for f in fields(Facts))
_EXPONENT = re.compile(rb"e[-+\d]")


@dataclass(frozen=True)
class ProposalFacts:
    """One proposal with its steps in order."""

    proposal: Proposal
    steps: tuple[ProposalStep, ...]

    def up_to(self, last: int) -> ProposalFacts:
        """The proposal as far as its step `last`: a step is judged on what those before it leave, so that
        approving steps one by one cannot hide what they do together."""
        return ProposalFacts(self.proposal, tuple(step for step in self.steps if step.step <= last))

    def planned_for(self, day: str) -> ProposalFacts:
        """The proposal as if it were planned for another day."""
        return ProposalFacts(self.proposal.model_copy(update={"planned_for": day}), self.steps)

    def document(self) -> dict[str, Any]:
        return {"proposal": row_values(self.proposal), "steps": [row_values(step) for step in self.steps]}


def row_values(row: Record) -> dict[str, Any]:
    """A record's values that rules may read; blanks, notes and private columns left out."""
    values = row.__dict__
    return {name: value for name in _read_by_rules(type(row)) if (value := values[name]) is not None and value != ""}


@cache
def _read_by_rules(record: type[Record]) -> tuple[str, ...]:
    # In sorted order, which saves the canonical text most of its sorting.
    return tuple(sorted(c.name for c in record.columns() if c.name not in LEFT_OUT and not c.private))


def _canonical_rows(rows: Record | tuple[Record, ...]) -> bytes:
    """The canonical text of an object's row, or of the rows of one sheet, unless `_may_differ` says otherwise."""
    if isinstance(rows, Record):
        return _writer(type(rows)).to_json([_in_key_order(rows)], exclude_none=True)[1:-1]
    return _writer(type(rows[0])).to_json([_in_key_order(row) for row in rows], exclude_none=True)


def _may_differ(text: bytes) -> bool:
    """Whether the compiled writer may have written a text unlike Python's: it keeps empty cells, and begins to use
    exponents at other numbers."""
    return (
        b':""' in text
        or b"0.0000" in text
        or any(text[found.start() - 1 : found.start()].isdigit() for found in _EXPONENT.finditer(text))
    )


def _in_key_order(row: Record) -> dict[str, Any]:
    values, order = row.__dict__, _names_in_order(type(row))
    return values if tuple(values) == order else {name: values[name] for name in order}


@cache
def _names_in_order(record: type[Record]) -> tuple[str, ...]:
    return tuple(sorted(record.model_fields))


@cache
def _writer(record: type[Record]) -> SchemaSerializer:
    """Writes rows of a sheet that are given as mappings, leaving out what rules do not read."""
    read = _read_by_rules(record)
    return SchemaSerializer(
        core_schema.list_schema(
            core_schema.typed_dict_schema(
                {
                    name: core_schema.typed_dict_field(core_schema.any_schema(), serialization_exclude=name not in read)
                    for name in record.model_fields
                }
            )
        )
    )


def canonical_json(document: Any) -> str:
    """JSON that is the same text for the same content, so that it can be hashed."""
    return json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def facts_of(object_row: Object, rows: Iterable[Record]) -> Facts:
    """Facts from records in any order; rows of sheets that rules do not read are left out."""
    by_sheet: dict[str, list[Record]] = {name: [] for name in FACT_SHEETS}
    for row in rows:
        if row.sheet in by_sheet:
            by_sheet[row.sheet].append(row)
    return Facts(object_row, **{name: _in_order(found) for name, found in by_sheet.items() if found})  # type: ignore[arg-type]


def read_document(document: Mapping[str, Any]) -> Facts:
    """Facts from the plain data of `Facts.document`; trusted, so nothing is validated again."""
    sheets = {
        name: tuple(BY_SHEET[name].model_construct(**row) for row in document.get(name, ())) for name in FACT_SHEETS
    }
    return Facts(Object.model_construct(**document["object"]), **sheets)  # type: ignore[arg-type]


def proposal_of(proposal: Proposal, steps: Iterable[ProposalStep]) -> ProposalFacts:
    """A proposal with its own steps in order."""
    own = [s for s in steps if (s.object, s.proposal) == (proposal.object, proposal.proposal)]
    return ProposalFacts(proposal, tuple(sorted(own, key=lambda s: s.step)))


def current(rows: Sequence[R], code: str) -> dict[str, R]:
    """The newest row of each code of a sheet of dated states; an undated row is the oldest."""
    newest: dict[str, R] = {}
    for row in sorted(rows, key=lambda r: (_newest_at(r), _order(r))):
        newest[getattr(row, code)] = row
    return newest


def surely_in_state(rows: Sequence[R], code: str, state: str, gone: Collection[str]) -> set[str]:
    """The codes whose newest row is in one of the `gone` states, surely later than every row that is not.

    Where two dates may overlap, the thing counts as still there: that clears less.
    """
    found = set()
    for key, newest in current(rows, code).items():
        if getattr(newest, state) not in gone:
            continue
        others = [row for row in rows if getattr(row, code) == key and getattr(row, state) not in gone]
        earliest = dates.bounds(getattr(newest, "observed_on", None)).earliest
        if all(dates.bounds(getattr(row, "observed_on", None)).latest < earliest for row in others):
            found.add(key)
    return found


def open_claims(facts: Facts) -> tuple[Claim, ...]:
    """The newest open state of each claim that is not settled, by code.

    A claim is settled when it was confirmed or refuted surely later than it was ever said to be open. A state without
    a place or decoration takes those of an earlier state.
    """
    settled = surely_in_state(facts.claims, "claim", "status", ("confirmed", "refuted"))
    found = current([row for row in facts.claims if row.status in ("untested", "supported")], "claim")
    return tuple(_placed(row, facts.claims) for code, row in sorted(found.items()) if code not in settled)


def _placed(claim: Claim, states: Sequence[Claim]) -> Claim:
    earlier = sorted((row for row in states if row.claim == claim.claim), key=_newest_at)
    about = {
        name: next((value for row in reversed(earlier) if (value := getattr(row, name))), None)
        for name in ("place", "decoration")
        if not getattr(claim, name)
    }
    return claim.model_copy(update={name: value for name, value in about.items() if value})


def _newest_at(row: Record) -> tuple[str, str]:
    when = getattr(row, "observed_on", None)
    if not when:
        return ("", "")
    span = dates.bounds(when)
    return (span.latest, span.earliest)


def _in_order(rows: list[Record]) -> tuple[Record, ...]:
    """Rows of one sheet in the order of their keys."""
    if len(rows) == 1:
        return tuple(rows)
    keys = [[row.__dict__[name] for row in rows] for name in type(rows[0]).key]
    if any(None in column for column in keys):
        return tuple(sorted(rows, key=_order))
    # Without blanks a column holds one type, and comparing the bare values gives the same order faster.
    return tuple(row for *_, row in sorted(zip(*keys, range(len(rows)), rows, strict=True)))


def _order(row: Record) -> tuple[Any, ...]:
    return tuple(
        (value is not None, isinstance(value, str), value) for value in (getattr(row, name) for name in type(row).key)
    )
