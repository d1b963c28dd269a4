"""The page of one proposal, as its approver reads it, and the page of the evidence behind one of its lines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from collection.language.sentences import percent, square_metres, taken
from collection.output.drawings import elevation, stack, states
from collection.output.drawings.elevation import Look
from collection.output.published.addresses import Addresses
from collection.output.published.published_object import PublishedObject
from collection.output.tell import verdict
from collection.output.tell.wording import conditions_of
from collection.records.codes import natural
from firstcoat_site.pages import evidence

Json = dict[str, Any]

MOST_LINES = 8
"""How many merged lines the page, and its one sheet of paper, show before the grid."""
MOST_DRAWINGS = 2


@dataclass(frozen=True)
class Cell:
    """What happens to one thing in one place: the line of the assessment, and the address of its evidence."""

    severity: str
    said: str
    url: str | None


@dataclass(frozen=True)
class Finish:
    """A finish of the grid with its things, and for each place a cell for each of them."""

    name: str
    things: tuple[str, ...]
    rows: tuple[tuple[str, tuple[Cell | None, ...]], ...]


def proposal_data(published: PublishedObject, code: str) -> Json | None:
    """A proposal with its assessment and decisions; None where there is no such proposal."""
    row = published.row("proposals", f"{published.code}/{code}")
    return None if row is None else {"format": 1, "object": published.code, "proposal": row}


def proposal_page(published: PublishedObject, row: Json, to: Addresses) -> Json:
    """What the template shows of a proposal: the verdict, where, on which section, and what has to be settled."""
    return judged(published, row["assessment"], row["proposal_steps"], to, row["proposal"])


def judged(
    published: PublishedObject, assessment: Json, steps: Sequence[Json], to: Addresses, proposal: str | None
) -> Json:
    """An assessment as an approver reads it; `proposal` is its code where its lines have pages of their own."""
    losses = assessment["losses"]
    touched = verdict.touched(losses, steps)
    merged = verdict.lines(published, losses)
    drawings = where(published, touched)
    drawn = {code for _, codes in drawings for code in codes}
    return {
        "sentence": verdict.sentence(published, assessment),
        "outcome": assessment["outcome"],
        "taken": _taken(assessment),
        "advice": assessment["advice"],
        "advice_beside": assessment["advice_beside"],
        "cautions": assessment["cautions"],
        "steps": [
            {
                **step,
                "conditions": conditions_of(step),
                "removes_said": verdict.scheme_in_words(published, step.get("removes")),
                "stop_at_said": verdict.scheme_in_words(published, step.get("stop_at")),
            }
            for step in steps
        ],
        "drawings": [svg for svg, _ in drawings],
        "touched": touched,
        "key": [
            (Markup(states.swatch(word, name="key")), verdict.FORMS[word])
            for word in dict.fromkeys(place.severity for place in touched if place.code in drawn)
        ],
        "undrawn": [place for place in touched if place.code not in drawn],
        "section": section(published, losses),
        "lines": merged[:MOST_LINES],
        "more_lines": max(0, len(merged) - MOST_LINES),
        "number": len(losses),
        "grid": grid(published, losses, to, proposal),
        "open": verdict.needs(need for need in assessment["requirements"] if need["state"] == "open"),
        "met": verdict.needs(need for need in assessment["requirements"] if need["state"] != "open"),
    }


def where(published: PublishedObject, touched: Sequence[verdict.Touched]) -> list[tuple[str, set[str]]]:
    """The drawings that hold places which are touched, each place by the worst that happens there and the steps that
    do it: most touched first, at most two, each with the codes of the touched places on it."""
    looks = {
        place.code: Look(
            pattern=place.severity,
            label=_numbered(place.steps),
            said=f"{verdict.FORMS[place.severity]}, by {_numbered(place.steps)}",
        )
        for place in touched
    }
    found = []
    for view in elevation.elevations(published):
        codes = {shape.code for shape in view.shapes} & set(looks)
        if codes:
            found.append((view, codes))
    found.sort(key=lambda item: -len(item[1]))
    return [
        (elevation.draw(view, name=f"where{number}", looks=looks, spots=False), codes)
        for number, (view, codes) in enumerate(found[:MOST_DRAWINGS])
    ]


def _numbered(steps: Sequence[int]) -> str:
    """`step 2`, `steps 1, 3`; more than three are counted."""
    if len(steps) > 3:
        return f"{len(steps)} steps"
    return f"step{'s' if len(steps) > 1 else ''} {', '.join(map(str, steps))}"


def section(published: PublishedObject, losses: Sequence[Json]) -> str | None:
    """The sample that shows best what goes, beside its micrograph, with the lost coats bracketed; None without one."""
    found = verdict.section(published, losses)
    return None if found is None else stack.draw([stack.stack_of(published, *found)], name="lost", room=760)


def grid(published: PublishedObject, losses: Sequence[Json], to: Addresses, proposal: str | None) -> list[Finish]:
    """Every line of an assessment, by finish, place and thing; each cell leads to its evidence."""
    groups: dict[str, dict[str, dict[str, Cell]]] = {}
    for loss in losses:
        kept = verdict.kept_thing(published, loss)
        share = f", {percent(loss['share'])} of it" if loss["share"] else ""
        meant = ", meant to go" if loss.get("intended") else ""
        groups.setdefault(kept.finish, {}).setdefault(loss["place"] or verdict.UNSAID, {})[kept.name] = Cell(
            loss["severity"],
            f"{verdict.FORMS[loss['severity']]}{share}{meant}",
            None if proposal is None else to.loss(proposal, loss["id"]),
        )
    found = []
    for name, places in groups.items():
        things = tuple(dict.fromkeys(thing for cells in places.values() for thing in cells))
        rows = ((code, tuple(places[code].get(thing) for thing in things)) for code in sorted(places, key=natural))
        found.append(Finish(name, things, tuple(rows)))
    return sorted(found, key=lambda finish: not finish.name)


def loss_data(published: PublishedObject, code: str, loss: str) -> Json | None:
    """One line of a proposal; None where there is none of this id."""
    row = published.row("proposals", f"{published.code}/{code}")
    found = next((each for each in row["assessment"]["losses"] if each["id"] == loss), None) if row else None
    return (
        None
        if row is None or found is None
        else {"format": 1, "object": published.code, "proposal": code, "title": row["title"], "loss": found}
    )


def loss_page(published: PublishedObject, data: Json, to: Addresses) -> Json:
    """What the template of one line shows."""
    loss = data["loss"]
    (line,) = verdict.lines(published, [loss])
    return {
        "line": {
            **loss,
            "share_text": loss["share"] and percent(loss["share"]),
            "area_text": loss["area_m2"] and square_metres(loss["area_m2"]),
            "cards": evidence.cards(published, loss["evidence"], to),
        },
        "merged": line,
        "sentence": verdict.sentence(published, {"outcome": loss["severity"], "losses": [loss]}),
        "drawings": [svg for svg, _ in where(published, verdict.touched([loss], ()))],
        "section": section(published, [loss]),
    }


def _taken(assessment: Mapping[str, Any]) -> str | None:
    said = taken(
        assessment["outcome"], assessment["loss_m2"], assessment["loss_share"], assessment["unmeasured_places"]
    )
    intended = assessment["intended_m2"]
    if said is not None and intended is not None and any(intended):
        said += f"; {square_metres(intended)} of that is what it means to remove"
    return None if said is None else f"{said}."
