"""Before you approve: what one action would do to one object, by the published records.

It is asked by an address alone and stores nothing. What is held back cannot speak here, so where anything is,
nothing is told as cleared.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from collection.compute.build_up.actions import KIND_OF_ACTION
from collection.compute.build_up.places import ALL
from collection.compute.case import Case
from collection.language.errors import BadValue
from collection.language.words import SEVERITY_RANK
from collection.output.published.published_object import PublishedObject
from collection.records.cells import Clear, read_cell
from collection.records.codes import natural
from collection.records.facts import ProposalFacts
from collection.records.sheets import Proposal, ProposalStep
from collection.rules.assess import assess

Json = dict[str, Any]

CODE = "asked"
"""The code of a proposal that is not stored."""
COLUMNS = {column.name: column for column in ProposalStep.columns()}
ASKED = (
    "place",
    "action",
    "agent",
    "application",
    "dwell_s",
    "passes",
    "ph",
    "temperature_c",
    "depth_um",
    "depth_sd_um",
    "removes",
    "stop_at",
)
LABELS = {
    "place": "Where",
    "action": "What would be done",
    "agent": "With what",
    "application": "How it is put on",
    "dwell_s": "For how many seconds",
    "passes": "How many times",
    "ph": "pH, where it holds water",
    "temperature_c": "At how many °C",
    "depth_um": "How deep it cuts, in µm",
    "depth_sd_um": "How much that depth varies, in µm",
    "removes": "The scheme to take off",
    "stop_at": "The scheme to stop at",
}
CLEARED = ("stood", "clear")
HELD_BACK = (
    "The published records speak for it, but records that are not published may speak against it: ask the collection."
)


def asked(args: Mapping[str, Any]) -> dict[str, str]:
    """The answers in the address, as they were written; blank where there is none."""
    return {name: " ".join((args.get(name) or "").split())[:200] for name in ASKED}


def read_step(published: PublishedObject, words: Mapping[str, str]) -> tuple[ProposalStep | None, dict[str, str]]:
    """The step in question, or what is wrong with each answer, as a sentence."""
    values: dict[str, Any] = {}
    faults: dict[str, str] = {}
    for name in ASKED:
        try:
            value = read_cell(COLUMNS[name], words[name])
            values[name] = None if isinstance(value, Clear) else value
        except BadValue as fault:
            faults[name] = str(fault)
    if values.get("action") is None and "action" not in faults:
        faults["action"] = "Choose what would be done."
    place = values["place"] = values.get("place") or ALL
    if place != ALL and not published.has_place(place):
        faults["place"] = f"{published.code} has no place {place}. Choose one of the list."
    schemes = {row["scheme"] for row in published["schemes"]}
    for name in ("removes", "stop_at"):
        if values.get(name) and str(values[name]).partition("/")[0] not in schemes:
            faults[name] = (
                f"{published.code} has no scheme {values[name]}. It has {', '.join(sorted(schemes)) or 'none'}."
            )
    if faults:
        return None, faults
    return ProposalStep.model_construct(object=published.code, proposal=CODE, step=1, **values), {}


def judged(published: PublishedObject, step: ProposalStep, day: str | None = None) -> Json:
    """The assessment of one step by the published records, as `firstcoat assess --json` gives it.

    :param day: the day the work is meant for, YYYY-MM-DD; today where none is given.
    """
    return wary(assessed(published.case, step, day), step, withheld=bool(published["withheld"]))


def assessed(case: Case, step: ProposalStep, day: str | None = None) -> Json:
    """The same, as if everything were published."""
    head = Proposal.model_construct(
        object=step.object,
        proposal=CODE,
        title="asked on the published view",
        proposed_by="a reader",
        proposed_on=day or date.today().isoformat(),
    )
    return assess(case, ProposalFacts(head, (step,))).as_json()


def wary(found: Json, step: ProposalStep, *, withheld: bool) -> Json:
    """An assessment in which, where anything is held back, nothing is shown as cleared."""
    if not withheld or KIND_OF_ACTION[step.action] == "none":
        return found
    losses = [
        {**loss, "severity": "untested", "message": f"{loss['message']} {HELD_BACK}"}
        if loss["severity"] in CLEARED
        else loss
        for loss in found["losses"]
    ]
    worst = max([found["outcome"], "untested", *(loss["severity"] for loss in losses)], key=SEVERITY_RANK.__getitem__)
    return {**found, "outcome": worst, "losses": losses}


def choices(published: PublishedObject) -> list[tuple[str, list[tuple[str, str]]]]:
    """The places to choose from: each part with its zones, by name, in natural order."""
    zones: dict[str, list[str]] = {}
    for row in published["zones"]:
        zones.setdefault(row["component"], []).append(row["zone"])
    parts = sorted({row["component"] for row in published["components"]} | set(zones), key=natural)
    return [
        (
            published.name_of(part) or part,
            [
                (code, f"{published.name_of(code) or code} ({code})" if published.name_of(code) else code)
                for code in (part, *sorted(zones.get(part, ()), key=natural))
                if published.has_place(code)
            ],
        )
        for part in parts
    ]


def shown_step(step: ProposalStep) -> Json:
    """The step as the page of a proposal shows it."""
    return {name: value for name in COLUMNS if (value := getattr(step, name, None)) is not None}
