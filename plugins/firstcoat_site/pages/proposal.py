"""The page of one proposal, and the page of the evidence behind one of its lines."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from collection.language.sentences import percent, square_metres, taken
from collection.output.drawings.elevation import elevations
from collection.output.published_object import PublishedObject
from firstcoat_site.addresses import Addresses
from firstcoat_site.pages import evidence
from firstcoat_site.wording import conditions_of

Json = dict[str, Any]


def proposal_data(published: PublishedObject, code: str) -> Json | None:
    """A proposal with its assessment and decisions; None where there is no such proposal."""
    row = published.rows.get(("proposals", f"{published.code}/{code}"))
    return None if row is None else {"format": 1, "object": published.code, "proposal": row}


def proposal_page(published: PublishedObject, row: Json, to: Addresses) -> Json:
    """What the template shows of a proposal: its figures in words, and each loss with its evidence in lines."""
    return {
        **judged(published, row["assessment"], to, row["proposal"]),
        "steps": [{**step, "conditions": conditions_of(step)} for step in row["proposal_steps"]],
    }


def judged(published: PublishedObject, assessment: Json, to: Addresses, proposal: str | None) -> Json:
    """An assessment in words; `proposal` is its code where its lines have pages of their own."""
    return {
        "advice": assessment["advice"],
        "advice_beside": assessment["advice_beside"],
        "outcome": assessment["outcome"],
        "taken": _taken(assessment),
        "cautions": assessment["cautions"],
        "losses": [_loss(published, loss, to, proposal) for loss in assessment["losses"]],
        "open": [need for need in assessment["requirements"] if need["state"] == "open"],
        "met": [need for need in assessment["requirements"] if need["state"] != "open"],
    }


def loss_data(published: PublishedObject, code: str, loss: str) -> Json | None:
    """One line of a proposal; None where there is none of this id."""
    row = published.rows.get(("proposals", f"{published.code}/{code}"))
    found = next((each for each in row["assessment"]["losses"] if each["id"] == loss), None) if row else None
    return (
        None
        if row is None or found is None
        else {"format": 1, "object": published.code, "proposal": code, "title": row["title"], "loss": found}
    )


def loss_page(published: PublishedObject, data: Json, to: Addresses) -> Json:
    """What the template of one line shows."""
    place = data["loss"]["place"]
    return {
        "line": _loss(published, data["loss"], to, data["proposal"]),
        "place_name": published.name_of(place) if place else None,
        "elevations": [view for view in elevations(published) if any(shape.code == place for shape in view.shapes)],
    }


def _loss(published: PublishedObject, loss: Json, to: Addresses, proposal: str | None) -> Json:
    return {
        **loss,
        "share_text": loss["share"] and percent(loss["share"]),
        "area_text": loss["area_m2"] and square_metres(loss["area_m2"]),
        "url": None if proposal is None else to.loss(proposal, loss["id"]),
        "cards": evidence.cards(published, loss["evidence"], to),
    }


def _taken(assessment: Mapping[str, Any]) -> str | None:
    said = taken(
        assessment["outcome"], assessment["loss_m2"], assessment["loss_share"], assessment["unmeasured_places"]
    )
    intended = assessment["intended_m2"]
    if said is not None and intended is not None and any(intended):
        said += f"; {square_metres(intended)} of that is what it means to remove"
    return None if said is None else f"{said}."
