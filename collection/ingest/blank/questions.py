"""Open questions about a known object: what nobody has examined, decided, tested, measured or done yet.

Each question says which rows of which sheet would answer it. Nothing here reads today's date.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from collection.compute.build_up.areas import place_areas
from collection.compute.build_up.places import ALL, places_of
from collection.compute.build_up.readings import is_absent, layers_by_sample, shown_later
from collection.compute.case import Case
from collection.compute.survival.survival import object_survival
from collection.language.words import FOREIGN_ROLES
from collection.records.facts import Facts, current, open_claims
from collection.records.sheets import Condition, Layer
from collection.values import dates

STATED_AGAIN = "This changes a stored record, so the package is taken in with --amend REASON --by NAME."


@dataclass(frozen=True, slots=True)
class Question:
    """One open question about a place of an object ('' = the object as a whole)."""

    object: str
    about: str
    place: str
    question: str
    answer: str


def open_questions(facts: Facts) -> tuple[Question, ...]:
    """Every open question about one object: what can hurt people first, then what is lost first if nobody asks."""
    own = facts.object.object
    found = [
        Question(own, about, place, question, answer)
        for about, asked in _ASKED
        for place, question, answer in asked(facts)
    ]
    return tuple(found)


Asked = Iterator[tuple[str, str, str]]


def _hazards(facts: Facts) -> Asked:
    for code, row in sorted(current(facts.hazards, "hazard").items()):
        if row.status == "suspected":
            yield (
                row.component or "",
                f"{code}, {row.kind}, is suspected{_day(row.observed_on)}. Is it there?",
                "analyses; then hazards, the same code with its new status and observed_on",
            )


def _temporary(facts: Facts) -> Asked:
    for row in facts.treatments:
        if row.temporary_until:
            places = sorted({s.place for s in facts.treatment_steps if s.treatment == row.treatment})
            yield (
                places[0] if len(places) == 1 else "",
                f"{row.treatment}, {row.purpose}, was to stay no longer than {row.temporary_until}. Is it still on?",
                "treatments with treatment_steps, if it was taken off; conditions, if it is still on",
            )


def _conditions(facts: Facts) -> Asked:
    for row in last_conditions(facts):
        if row.severity == 0:
            continue
        told = [
            word
            for word in (
                f"severity {row.severity}" if row.severity else "",
                f"{row.extent_pct:g} % of the place" if row.extent_pct is not None else "",
                "going on" if row.active == "yes" else "",
            )
            if word
        ]
        on = f" on scheme {row.scheme}" if row.scheme else ""
        yield (
            row.place,
            f"{row.phenomenon}{on}: {', '.join(told) or 'seen'}, {row.observed_on}. And now?",
            "conditions, the same place and phenomenon with a new observed_on; severity 0 = looked for and none",
        )


def _unexamined(facts: Facts) -> Asked:
    zoned = {zone.component for zone in facts.zones}
    for place in object_survival(Case(facts)).places:
        if place.state == "not examined":
            where = "on this part beside its zones" if place.place in zoned else "here"
            yield (
                place.place,
                f"Nobody has looked beneath the surface {where}. What lies there?",
                "samples with layers; if it cannot be reached, conditions: not accessible",
            )


def _stops_short(facts: Facts) -> Asked:
    read = layers_by_sample(Case(facts))
    deeper = {s.place for s in facts.samples if s.reaches_support == "yes"}
    for row in facts.samples:
        if row.reaches_support == "no" and row.method not in ("surface", "gauge") and row.place not in deeper:
            yield (
                row.place,
                f"{row.sample} stops short of the support after {len(read.get(row.sample, ()))} coats. "
                "What lies beneath them?",
                "samples, a deeper one at the same place, with layers",
            )


def _unplaced_layers(facts: Facts) -> Asked:
    where = {s.sample: s.place for s in facts.samples}
    open_ones: dict[str, list[Layer]] = {}
    for layer in facts.layers:
        if layer.scheme is None and layer.role not in FOREIGN_ROLES | {"support"} and not is_absent(layer):
            open_ones.setdefault(layer.sample, []).append(layer)
    for sample, layers in open_ones.items():
        coats = ", ".join(f"{layer.position} ({layer.role})" for layer in layers)
        yield (
            where.get(sample, ""),
            f"{_count(len(layers), 'coat')} of {sample} with no scheme: {coats}. To which campaign does each belong?",
            f"layers, the same position with its scheme. {STATED_AGAIN}",
        )


def _schemes(facts: Facts) -> Asked:
    for row in facts.schemes:
        lacking = [
            what
            for what, absent in (
                ("its period", row.period == "unknown"),
                ("its rank", row.rank is None),
                ("what its period rests on", not row.basis),
            )
            if absent
        ]
        if lacking:
            yield (
                "",
                f"Scheme {row.scheme}, {row.name}: {' and '.join(lacking)} not recorded. What is known?",
                f"schemes, the same row. {STATED_AGAIN}",
            )


def _untested(facts: Facts) -> Asked:
    """Kept coats that no test has met, by scheme: the roles seen of it, less those with a response."""
    seen: dict[str, dict[str, None]] = {}
    tested: set[tuple[str, str | None]] = set()
    by_position = {(layer.sample, layer.position): layer for layer in facts.layers}
    for layer in facts.layers:
        if layer.scheme is not None and layer.role not in FOREIGN_ROLES | {"support"} and not is_absent(layer):
            seen.setdefault(layer.scheme, {})[layer.role] = None
    for row in facts.responses:
        met = by_position.get((row.sample or "", row.position or 0))
        tested.add((row.scheme, row.role) if row.scheme else (met.scheme, met.role) if met and met.scheme else ("", ""))
    for scheme in facts.schemes:
        roles = [role for role in seen.get(scheme.scheme, {}) if (scheme.scheme, role) not in tested]
        if shown_later(scheme) or not roles or ((scheme.scheme, None) in tested and len(seen[scheme.scheme]) == 1):
            continue
        yield (
            "",
            f"No cleaning test names these coats of scheme {scheme.scheme}, {scheme.name}, which is kept: "
            f"{', '.join(roles)}. What touches them?",
            "tests where nobody looks first, with responses: the scheme and the role of the coat met",
        )


_STATE_AGAIN = "decorations, the same code with its state and a new observed_on"


def _decorations(facts: Facts) -> Asked:
    for code, row in sorted(current(facts.decorations, "decoration").items()):
        name = f"{code}, {row.kind}{', ' + row.description if row.description else ''}"
        if row.state == "not found":
            yield (
                row.place,
                f"{name}: looked for and not found{_day(row.observed_on)}. Is it elsewhere, or lost?",
                _STATE_AGAIN,
            )
        elif row.state is None:
            yield row.place, f"{name}: nobody has said how it is. Exposed, covered, a fragment, lost?", _STATE_AGAIN
        elif row.state in ("covered", "fragment"):
            yield row.place, f"{name}: {row.state}{_day(row.observed_on)}. And now?", _STATE_AGAIN


def _claims(facts: Facts) -> Asked:
    for row in open_claims(facts):
        if row.status == "untested":
            yield (
                row.place or "",
                f"{row.claim}: it is said that: {row.statement}. Nobody has tested it. Is it so?",
                "samples or tests; then claims, the same code with its status, what settled it, a new observed_on",
            )


def _advice(facts: Facts) -> Asked:
    for row in facts.advice:
        if row.done_by is None:
            urgent = f", {row.priority}" if row.priority else ""
            yield (
                row.place or "",
                f"{row.advice} of {row.given_on}{urgent}: {row.what}. Was it done?",
                f"treatments, if it was; then advice, the same row with done_by. {STATED_AGAIN}",
            )


def _reserves(facts: Facts) -> Asked:
    for row in facts.reserves:
        until = f", to stay until {row.until}" if row.until else ""
        yield (
            row.place,
            f"{row.reserve} ({row.kind}{until}): is it untouched?",
            "conditions at the place, or pictures; treatments, if anything was done to it",
        )


def _areas(facts: Facts) -> Asked:
    bare = [place for place, area in sorted(place_areas(Case(facts)).items()) if area is None and place != ALL]
    if bare:
        yield (
            "",
            f"Never measured: {', '.join(bare)}. How large are they?",
            f"zones or components, the same row with area_m2 (and area_basis of a zone). {STATED_AGAIN}",
        )


def _origins(facts: Facts) -> Asked:
    places = places_of(Case(facts))
    for code, row in sorted(current(facts.components, "component").items()):
        if row.origin in (None, "unknown") and places.is_there(code):
            yield (
                code,
                f"{row.name}: nobody knows whether it is the maker's. What tells?",
                "components, the same code with its origin and a new observed_on",
            )


def _unpictured(facts: Facts) -> Asked:
    of_sample = {s.sample: s.place for s in facts.samples}
    shown = {place for row in facts.pictures for place in (row.place, of_sample.get(row.sample or "")) if place}
    places = places_of(Case(facts))
    bare = [
        place
        for place in sorted({*places.zones, *places.components})
        if places.is_there(place) and shown.isdisjoint(places.around(place)[:-1])
    ]
    if bare:
        yield "", f"No picture shows: {', '.join(bare)}. Who takes them?", "pictures, with place, lighting and stage"


_ASKED = (
    ("hazard", _hazards),
    ("temporary measure", _temporary),
    ("condition", _conditions),
    ("not examined", _unexamined),
    ("stops short", _stops_short),
    ("layers without scheme", _unplaced_layers),
    ("scheme", _schemes),
    ("never tested", _untested),
    ("decoration", _decorations),
    ("claim", _claims),
    ("advice", _advice),
    ("reserve", _reserves),
    ("area", _areas),
    ("origin", _origins),
    ("picture", _unpictured),
)


def last_conditions(facts: Facts) -> tuple[Condition, ...]:
    """The newest row of each phenomenon at each place and scheme, in the order of the places."""
    newest: dict[tuple[str, str, str], Condition] = {}
    for row in sorted(facts.conditions, key=lambda r: (dates.bounds(r.observed_on).latest, r.observed_on)):
        newest[row.place, row.phenomenon, row.scheme or ""] = row
    return tuple(newest[key] for key in sorted(newest))


def _day(written: str | None) -> str:
    return f" ({written})" if written else ""


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"
