"""What a document carries that is no row of a sheet: what survives, decisions, cells of lists. Each both ways."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from collection.output.export.linked_art.context import Json
from collection.output.export.linked_art.forms import first
from collection.output.export.linked_art.ids import Ids
from collection.output.export.linked_art.shapes import kind

SURVIVAL = kind("survival", "what survives, as computed")
_ENDS = ("low", "middle", "high")
OF_OBJECT = (
    "area_m2",
    "at_least",
    "unmeasured_places",
    "unexamined_places",
    "present",
    "read",
    "traces",
    "as_of",
    "sentence",
    "how_chosen",
    "withheld_readings",
)
"""What is said of the whole object's survival, beside the interval `surviving_m2`."""
OF_PLACE = ("area_m2", "present", "read", "traces", "as_of")
"""What is said of a place's, beside its state and the interval `share`."""
OF_DECISION = ("number", "reason", "decided_at", "outcome", "stale", "withheld", "answers_withheld")
OF_OVERRIDE = ("loss", "severity", "reason")
OF_CELL = ("heading", "list", "row", "on", "change", "in_account")


def survival(found: Mapping[str, Any], ids: Ids, about: Mapping[str, str]) -> Json:
    """What survives, as an assertion of the program about each place, which says that it was computed and by what."""
    own = ids.under(ids.object, "survival")
    return {
        "id": own,
        "type": "AttributeAssignment",
        "classified_as": [SURVIVAL],
        "_label": "Computed by firstcoat from these records",
        **({"fc:computed_by": about["program"]} if about.get("program") else {}),
        **_said(found, OF_OBJECT),
        **_interval("surviving_m2", found.get("surviving_m2")),
        "part": [
            {
                "type": "AttributeAssignment",
                "assigned_to": {"id": ids.place(row["place"])},
                "assigned": [{"type": "Type", "_label": row["state"]}],
                **({"fc:component": {"id": ids.thing("components", row["component"])}} if row["component"] else {}),
                **_said(row, OF_PLACE),
                **_interval("share", row["share"]),
            }
            for row in found["places"]
        ],
    }


def survival_from(node: Json, ids: Ids) -> Json:
    """What `survival` was given of the object and its places."""
    return {
        **_read(node, OF_OBJECT),
        "surviving_m2": _interval_from(node, "surviving_m2"),
        "places": [
            {
                "place": ids.code_of("place", row["assigned_to"]["id"]),
                "component": ids.code_of("components", row["fc:component"]["id"]) if "fc:component" in row else None,
                "state": row["assigned"][0]["_label"],
                **_read(row, OF_PLACE),
                "share": _interval_from(row, "share"),
            }
            for row in node.get("part", ())
        ],
    }


def decision(found: Mapping[str, Any], proposal: str, ids: Ids) -> Json:
    """A decision on a proposal, with what was overridden and which advice was answered."""
    by = found["decided_by"]
    return {
        "id": ids.under(proposal, f"decision-{found['number']}"),
        "type": "AttributeAssignment",
        "assigned": [{"type": "Type", "_label": found["decision"]}],
        **({"carried_out_by": [{"type": "Actor", "_label": by}]} if by is not None else {}),
        **_said(found, OF_DECISION),
        **{f"fc:{name}": {"@list": found[name]} for name in ("steps", "conditions") if found[name] is not None},
        "part": [
            *({"type": "AttributeAssignment", **_said(each, OF_OVERRIDE)} for each in found["overrides"]),
            *(
                {
                    "type": "AttributeAssignment",
                    "fc:answered": {"id": ids.thing("advice", each["advice"])},
                    "fc:reason": each["reason"],
                }
                for each in found["answers"]
            ),
        ],
    }


def decision_from(node: Json, ids: Ids) -> Json:
    """What `decision` was given."""
    who = first(node.get("carried_out_by"), "Actor")
    return {
        "decision": node["assigned"][0]["_label"],
        "decided_by": None if who is None else who["_label"],
        **_read(node, OF_DECISION),
        **{name: node[f"fc:{name}"]["@list"] if f"fc:{name}" in node else None for name in ("steps", "conditions")},
        "overrides": [_read(each, OF_OVERRIDE) for each in node["part"] if "fc:loss" in each],
        "answers": [
            {"advice": ids.code_of("advice", each["fc:answered"]["id"]), "reason": each["fc:reason"]}
            for each in node["part"]
            if "fc:answered" in each
        ],
    }


def listed(found: Mapping[str, Any], ids: Ids) -> Json:
    """A cell of a list that no column took whole, as it was written, with what the same survey said before."""
    return {
        "type": "LinguisticObject",
        "content": found["text"],
        **_said(found, OF_CELL),
        "fc:recorded_in": {"id": ids.survey(found["survey"])},
        "fc:earlier": [listed(each, ids) for each in found["earlier"]],
    }


def listed_from(node: Json, surveys: Mapping[str, str]) -> Json:
    """What `listed` was given; `surveys` are their codes by id."""
    return {
        "text": node["content"],
        **_read(node, OF_CELL),
        "survey": surveys[node["fc:recorded_in"]["id"]],
        "earlier": [listed_from(each, surveys) for each in node["fc:earlier"]],
    }


def _said(row: Mapping[str, Any], names: tuple[str, ...]) -> Json:
    return {f"fc:{name}": row[name] for name in names if row.get(name) is not None}


def _read(node: Json, names: tuple[str, ...]) -> Json:
    return {name: node.get(f"fc:{name}") for name in names}


def _interval(name: str, found: list[float] | None) -> Json:
    return {} if found is None else {f"fc:{name}_{end}": each for end, each in zip(_ENDS, found, strict=True)}


def _interval_from(node: Json, name: str) -> list[float] | None:
    found = [node.get(f"fc:{name}_{end}") for end in _ENDS]
    return None if found[0] is None else [each for each in found if each is not None]
