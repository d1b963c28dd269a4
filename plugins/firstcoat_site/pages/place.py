"""The page of one place: where it is, what survives there, its samples side by side, what was advised and done."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from collection.compute.advice import in_force
from collection.compute.build_up.places import Places
from collection.compute.case import Case
from collection.compute.loss.outcome import BELOW, NOT_EXAMINED
from collection.language.words import SEVERITY_RANK, ZONE_STATE
from collection.output.drawings.elevation import Elevation, Look, elevations
from collection.output.drawings.stack import notes, panels, stack_of
from collection.output.published.addresses import Addresses
from collection.output.published.published_object import PublishedObject, as_record, newest
from collection.output.tell.lighting import views
from collection.output.tell.readings import NOBODY, chosen, looked_at, verdict_of
from collection.output.tell.response_grid import response_grid
from collection.output.tell.state import place_told as place
from collection.output.tell.wording import conditions_of
from collection.records.codes import natural
from collection.records.facts import Facts, facts_of
from collection.records.sheets import BY_SHEET, Object
from collection.rules.support import JOINT, PART, SUPPORT
from collection.values.dates import bounds
from firstcoat_site.pages.before import CLEARED

Json = dict[str, Any]

SHEETS = ("samples", "tests", "conditions", "decorations", "reserves", "claims", "pictures", "advice")
AROUND = ("conditions", "reserves", "claims", "advice")
IN_WORDS = {
    NOT_EXAMINED: "what nobody has looked at",
    BELOW: "what lies below what was seen",
    SUPPORT: "the support",
    PART: "the part itself",
    JOINT: "paint over the joint",
}
"""Things that are no coat and no decoration."""
MOST_LISTED = 24
"""More samples than these are listed by place, a line each."""


def place_data(published: PublishedObject, code: str) -> Json | None:
    """Everything published about one place and what lies in it, as plain data; None where there is no such place.

    Records of places that hold this one stand under `of_the_whole`.
    """
    if not published.has_place(code):
        return None
    places = Places(Case(_facts(published, "components", "zones")))
    inside = {other for other in (*published.named, code) if places.contains(code, other)}
    around = [other for other in places.around(code) if other != code]
    return {
        "format": 1,
        "object": published.code,
        "place": code,
        "name": published.name_of(code),
        "components": [row for row in published["components"] if row["component"] == code],
        "zones": [row for row in published["zones"] if row["zone"] == code],
        "survival": published.states.get(code),
        "lies_in": around,
        "holds": sorted(inside - {code}, key=natural),
        **{sheet: _at(published[sheet], inside) for sheet in SHEETS},
        "treatments": _work(published, inside),
        "losses": _losses(published, inside),
        "of_the_whole": {
            **{sheet: _at(published[sheet], set(around)) for sheet in AROUND},
            "treatments": _work(published, set(around)),
        },
    }


def place_page(published: PublishedObject, data: Json, to: Addresses, *, own_stacks: bool = False) -> Json:
    """What the template of a place shows beside its data.

    :param own_stacks: draws only samples that were taken in this very place, where those of the places in it stand nearby.
    """
    code, state, samples = data["place"], data["survival"], data["samples"]
    shown = chosen(published, [row for row in samples if row["place"] == code] if own_stacks else samples)
    stacks = [stack_of(published, row["sample"]) for row in shown]
    zoned = {row["component"] for row in published["zones"]}
    inner = [
        {**place(published, published.states[other]), "beside": other in zoned}
        for other in data["holds"]
        if other in published.states
    ]
    by_place = _by_place(published, samples) if len(samples) > MOST_LISTED else []
    told = {row["place"] for row in by_place}
    states = [row["state"] for row in inner]
    own = any(row["place"] == code for row in samples)
    advice = [*data["advice"], *data["of_the_whole"]["advice"]]
    return {
        "state_row": None if state is None else place(published, state),
        "looked": f"{NOBODY if inner and not own else looked_at(published, code)}.",
        "inner": [row for row in inner if row["place"] not in told],
        "inner_states": [(word, number) for word in ZONE_STATE.words if (number := states.count(word))],
        "outer": [other for other in data["lies_in"] if published.has_place(other)],
        "drawings": _drawings(published, code, data["holds"]),
        "stacks": list(zip(shown, panels(stacks, name="stack"), strict=True)),
        "stack_notes": notes(stacks),
        "more_samples": len(samples) - len(shown),
        "readings": _readings(published, samples) if len(samples) <= MOST_LISTED else [],
        "readings_by_place": by_place,
        "removals": [row for row in data["treatments"] if any(step.get("removed") for step in row["treatment_steps"])],
        "surveys": _surveys(published, samples),
        "views": views(row for row in data["pictures"] if not row.get("sample")),
        "tests_here": response_grid(published, data["tests"], to.record),
        "conditions": sorted(
            [*data["conditions"], *data["of_the_whole"]["conditions"]],
            key=lambda row: bounds(row["observed_on"]).latest,
            reverse=True,
        ),
        "claims": newest([*data["claims"], *data["of_the_whole"]["claims"]], "claim"),
        "decorations": newest(data["decorations"], "decoration"),
        "reserves": [*data["reserves"], *data["of_the_whole"]["reserves"]],
        "advice": _advice(published, advice),
        "works": _in_order([*data["treatments"], *data["of_the_whole"]["treatments"]]),
        "proposed": _by_proposal(published, data["losses"], to),
    }


def _facts(published: PublishedObject, *sheets: str) -> Facts:
    """The facts of a few sheets: all the records of a large object would take longer than its page."""
    return facts_of(
        as_record(Object, published["record"]),
        [as_record(BY_SHEET[sheet], row) for sheet in sheets for row in published[sheet]],
    )


def _drawings(published: PublishedObject, code: str, inside: Sequence[str]) -> list[tuple[Elevation, Json]]:
    """The drawings that show a place, each with how to draw it: the place stands out, or of a part that has no outline
    of its own the places in it show their states and the others are only outlined."""
    shown: list[tuple[Elevation, Json]] = []
    for view in elevations(published):
        if any(shape.code == code for shape in view.shapes):
            shown.append((view, {"here": code}))
        elif any(shape.code in inside for shape in view.shapes):
            own = [shape for shape in view.shapes if shape.code in inside]
            looks = {shape.code: Look(pattern=shape.state or "", said=shape.said) for shape in own}
            shown.append((view, {"looks": looks, "spots": False}))
    return shown


def _at(rows: Iterable[Json], places: set[str]) -> list[Json]:
    return [row for row in rows if (row.get("place") or "all") in places]


def _readings(published: PublishedObject, samples: Sequence[Json]) -> list[Json]:
    """What each sample says of the maker's finish: in words, and by the state whose pattern stands for it."""
    return [{**row, **verdict_of(published, row), "place_name": published.name_of(row["place"])} for row in samples]


def _by_place(published: PublishedObject, samples: Sequence[Json]) -> list[Json]:
    """The same for many samples: a line for each place, its samples under what they say."""
    found: dict[str, dict[str, Json]] = {}
    for row in samples:
        verdict = verdict_of(published, row)
        said = found.setdefault(row["place"], {}).setdefault(verdict["says"], {**verdict, "samples": []})
        said["samples"].append(row["sample"])
    return [
        {"place": code, "state": published.states.get(code, {}).get("state"), "said": list(found[code].values())}
        for code in sorted(found, key=natural)
    ]


def _surveys(published: PublishedObject, samples: Iterable[Json]) -> list[Json]:
    codes = {row["survey"] for row in samples}
    return [row for row in published["surveys"] if row["code"] in codes]


def _advice(published: PublishedObject, given: Sequence[Json]) -> list[Json]:
    """Advice that holds today first, newest first; then what was followed, replaced or has run out."""
    held = {row.advice: at for at, row in enumerate(in_force(_facts(published, "treatments", "advice"), _today()))}
    rows = [{**row, "holds": row["advice"] in held} for row in given]
    return sorted(rows, key=lambda row: held.get(row["advice"], len(held)))


def _today() -> str:
    return date.today().isoformat()


def _work(published: PublishedObject, places: set[str]) -> list[Json]:
    """Treatments with their steps in some places."""
    found = []
    for row in published["treatments"]:
        steps = _at(row["treatment_steps"], places)
        if steps:
            found.append({**row, "treatment_steps": steps})
    return found


def _in_order(works: Iterable[Json]) -> list[Json]:
    """Treatments from the first to the last, each once, with the conditions of their steps in words."""
    found: dict[str, Json] = {}
    for row in works:
        steps = [{**step, "conditions": conditions_of(step)} for step in row["treatment_steps"]]
        if row["key"] in found:
            found[row["key"]]["treatment_steps"] += steps
        else:
            found[row["key"]] = {**row, "treatment_steps": steps}
    return sorted(found.values(), key=lambda row: bounds(row.get("started") or row.get("ended") or "").earliest)


def _by_proposal(published: PublishedObject, losses: list[Json], to: Addresses) -> list[Json]:
    """What each proposal would do here, the worst first: by severity and scheme the things it would reach, each once
    with how many places and with the evidence for one of them; what is cleared is only counted."""
    schemes = {row["scheme"]: row["name"] for row in published["schemes"]}
    decorations = {row["decoration"]: row for row in published["decorations"]}
    found: dict[str, Json] = {}
    for loss in losses:
        row = found.setdefault(
            loss["proposal"],
            {
                "title": loss["title"],
                "outcome": loss["severity"],
                "reached": {},
                "cleared": 0,
                "url": to.proposal(loss["proposal"]),
            },
        )
        if loss["severity"] in CLEARED:
            row["cleared"] += 1
            continue
        thing = loss["id"].partition("/")[2]
        own = decorations.get(thing)
        scheme, _, what = thing.partition("/")
        if own is not None:
            scheme, what = own.get("scheme") or "", f"{own['kind']} {thing}"
        elif what and scheme not in schemes:
            scheme, what = "", f"{loss['role'] or 'coat'} of no named scheme"
        elif not what:
            scheme, what = "", IN_WORDS.get(thing, thing)
        things = row["reached"].setdefault(loss["severity"], {}).setdefault(schemes.get(scheme, ""), {})
        things.setdefault(what, {"url": to.loss(loss["proposal"], loss["id"]), "places": 0})["places"] += 1
    return list(found.values())


def _losses(published: PublishedObject, places: set[str]) -> list[Json]:
    found = [
        {
            "proposal": row["proposal"],
            "title": row["title"],
            **{name: loss[name] for name in ("id", "role", "severity", "message")},
        }
        for row in published["proposals"]
        for loss in row["assessment"]["losses"]
        if loss["place"] in places
    ]
    return sorted(found, key=lambda loss: -SEVERITY_RANK[loss["severity"]])
