"""What the public sees of an assessment, part of whose evidence may not be published.

Severities, figures and the outcome are those of the whole evidence: holding a record back makes nothing
look harmless. Every sentence comes from an assessment of the public evidence alone, so that no wording can
tell what is held back; where the two disagree, the line says so and names nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from collection.language.words import SEVERITY_SPOKEN

HELD_BACK = "It rests on evidence that is not published; ask the collection before any work."
UNNAMED = "Something that is not published would be touched here; ask the collection before any work."
UNNAMED_REQUIREMENT = "One more requirement concerns something that is not published; ask the collection."

Json = dict[str, Any]
Keys = Mapping[str, set[str]]


def public_assessment(whole: Json, public: Json | None, keys: Keys, steps: set[int], *, names: bool) -> Json:
    """An assessment as published: the contract's JSON, with `withheld` in each loss, the number of records
    behind it that are not named. The findings, of which the losses are the sum, are left out.

    :param whole: `Assessment.as_json()` of all evidence in account.
    :param public: the same of the public evidence alone; None where nothing of the object is held back.
    :param keys: by sheet, the keys of the public records.
    :param steps: the numbers of the proposal's public steps.
    :param names: whether people are named.
    """
    said = whole if public is None else public
    losses = [_loss(loss, said["losses"], keys, steps, number) for number, loss in enumerate(whole["losses"], 1)]
    advice = {
        name: [row if names else {**row, "given_by": None} for row in said[name]]
        for name in ("advice", "advice_beside")
    }
    return {
        **{name: value for name, value in whole.items() if name != "findings"},
        **advice,
        "losses": losses,
        "requirements": _requirements(whole["requirements"], said["requirements"]),
        "cautions": list(dict.fromkeys([*whole["cautions"], *said["cautions"]])),
    }


def _loss(loss: Json, said: Sequence[Json], keys: Keys, steps: set[int], number: int) -> Json:
    shown, withheld = _evidence(loss["evidence"], keys)
    known = next((other for other in said if other["id"] == loss["id"]), None)
    figures = {
        "severity": loss["severity"],
        "share": loss["share"],
        "area_m2": loss["area_m2"],
        "steps": [step for step in loss["steps"] if step in steps],
        "evidence": shown,
        "withheld": withheld,
    }
    if known is None:
        unnamed = dict.fromkeys(("place", "scheme", "role", "decoration", "would_change_it", "if_nothing_is_done"))
        return {
            **loss,
            **figures,
            **unnamed,
            "id": f"not published/{number}",
            "message": UNNAMED,
            "evidence": [],
            "withheld": len(loss["evidence"]),
        }
    if known["severity"] != loss["severity"]:
        return {
            **known,
            **figures,
            "would_change_it": None,
            "message": f"{SEVERITY_SPOKEN[loss['severity']].capitalize()}. {HELD_BACK}",
        }
    return {**known, **figures}


def _evidence(evidence: Sequence[Json], keys: Keys) -> tuple[list[Json], int]:
    shown = [item for item in evidence if item["key"] in keys.get(item["kind"], ())]
    return shown, len(evidence) - len(shown)


def _requirements(whole: Sequence[Json], said: Sequence[Json]) -> list[Json]:
    by_id = {requirement["id"]: requirement for requirement in said}
    found: list[Json] = []
    for number, requirement in enumerate(whole, 1):
        known = by_id.pop(requirement["id"], None)
        if known is None:
            found.append(
                {
                    **requirement,
                    **dict.fromkeys(("place", "reference", "remedy")),
                    "id": f"not published/{number}",
                    "rule": "not published",
                    "message": UNNAMED_REQUIREMENT,
                }
            )
        elif known["state"] != requirement["state"]:
            found.append({**known, "state": requirement["state"], "message": HELD_BACK, "remedy": None})
        else:
            found.append(known)
    # What only the public evidence leaves open stays open for its readers.
    return [*found, *by_id.values()]
