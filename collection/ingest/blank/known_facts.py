"""What is known about an object, for somebody beside it who is about to take a sample.

Hazards to people come first, then what must not be touched.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from collection.compute.build_up.readings import layers_by_sample
from collection.compute.case import Case
from collection.compute.survival.survival import PlaceSurvival, object_survival
from collection.ingest.blank.questions import last_conditions
from collection.language.cautions import DUST, SOLVENT
from collection.records.facts import Facts, current
from collection.records.sheets import Drawing, Layer, Sample

CAUTIONS = (SOLVENT, DUST)


@dataclass(frozen=True, slots=True)
class KnownLine:
    """One line: what it is about, its place or code, what is known, and as of when ('' = not said)."""

    about: str
    where: str
    what: str
    as_of: str = ""


def known_lines(facts: Facts, drawings: Sequence[Drawing] = ()) -> tuple[KnownLine, ...]:
    """Everything a surveyor should know of one object before touching it."""
    case = Case(facts)
    survival = object_survival(case)
    lines = [
        *(
            KnownLine(
                "hazard",
                row.component or "",
                _joined(f"{code}: {row.kind}, {row.status}", row.basis),
                row.observed_on or "",
            )
            for code, row in sorted(current(facts.hazards, "hazard").items())
            if row.status != "not found"
        ),
        *(KnownLine("caution", "", text) for text in CAUTIONS),
        *(
            KnownLine(
                "leave untouched",
                row.place,
                _joined(f"{row.reserve}: {row.kind}{f' until {row.until}' if row.until else ''}", row.shows),
                row.made_on or "",
            )
            for row in facts.reserves
        ),
        KnownLine("what survives", "", f"{survival.sentence}.", survival.as_of or ""),
        *(KnownLine("what survives", place.place, _counted(place), place.as_of or "") for place in survival.places),
        *(
            KnownLine(
                "scheme",
                row.scheme,
                _joined(f"{row.name}: {row.period}", row.certainty, row.basis, row.keep and f"decided: {row.keep}"),
                row.made or "",
            )
            for row in sorted(facts.schemes, key=lambda row: (row.rank is None, row.rank or 0, row.scheme))
        ),
    ]
    stacks = layers_by_sample(case)
    lines += [
        KnownLine(
            "sample",
            row.place,
            f"{row.sample}, {row.method}: " + stack_line(row, stacks.get(row.sample, ())),
            row.taken_on or "",
        )
        for row in facts.samples
    ]
    lines += [
        KnownLine(
            "decoration", row.place, _joined(f"{code}: {row.kind}", row.description, row.state), row.observed_on or ""
        )
        for code, row in sorted(current(facts.decorations, "decoration").items())
    ]
    said: dict[str, list[str]] = {}
    for response in facts.responses:
        coat = "/".join(
            str(part)
            for part in (response.scheme, response.role, response.sample, response.position, response.decoration)
            if part
        )
        said.setdefault(response.test, []).append(f"{coat} {response.response}")
    lines += [
        KnownLine(
            "test",
            row.place,
            _joined(f"{row.test}: {row.agent}", row.application, row.dwell_s is not None and f"{row.dwell_s:g} s")
            + ": "
            + (", ".join(said.get(row.test, ())) or "no response recorded"),
            row.tested_on or "",
        )
        for row in facts.tests
    ]
    lines += [
        KnownLine(
            "last condition",
            row.place,
            _joined(
                row.phenomenon,
                row.severity is not None and f"severity {row.severity}",
                row.extent_pct is not None and f"{row.extent_pct:g} % of the place",
                row.active and f"active: {row.active}",
                row.scheme and f"on scheme {row.scheme}",
            ),
            row.observed_on,
        )
        for row in last_conditions(facts)
    ]
    lines += [KnownLine("drawing", row.drawing, _joined(row.title, row.file)) for row in drawings]
    return tuple(lines)


def stack_line(sample: Sample, outermost_first: Sequence[Layer]) -> str:
    """A sample's coats from the support outward on one line, each with its scheme."""
    if not outermost_first:
        return "no coats recorded"
    runs = [(coat, sum(1 for _ in same)) for coat, same in groupby(map(_coat, reversed(outermost_first)))]
    coats = " | ".join(f"{count} × {coat}" if count > 1 else coat for coat, count in runs)
    return coats if sample.reaches_support == "yes" else f"… {coats}"


def _counted(place: PlaceSurvival) -> str:
    if not place.read:
        return place.state
    traces = f", {place.traces} of them traces" if place.traces else ""
    return f"{place.state}: seen at {place.present} of {place.read} spots read{traces}"


def _coat(layer: Layer) -> str:
    of = f" ({layer.scheme})" if layer.scheme else ""
    how = f" {layer.coverage}" if layer.coverage in ("absent", "trace") else ""
    return f"{layer.colour + ' ' if layer.colour else ''}{layer.role}{of}{how}"


def _joined(first: str, *rest: str | bool | None) -> str:
    return ", ".join([first, *(part for part in rest if isinstance(part, str) and part)])
