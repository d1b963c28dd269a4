"""What threatens an object by the records that are published of it, each threat with what its magnitude is made of."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from collection.compute.case import Case
from collection.compute.risk.standing import standing_threats
from collection.compute.risk.threat import Hanging, Paper, Planned, Threat
from collection.compute.risk.threats import all_threats
from collection.output.published.audience import PublicRows, row_key
from collection.records.sheets import Source
from collection.values.numbers import six

Json = dict[str, Any]


def published_threats(
    case: Case,
    public: PublicRows,
    works: Sequence[Planned],
    on: str,
    hanging: Sequence[Hanging],
    *,
    tags_used: bool,
    on_site: bool,
) -> tuple[Threat, ...]:
    """Every threat on a day, gravest kind first.

    :param case: the facts that are published.
    :param works: the published proposals.
    """
    papers = [Paper(row_key(Source, row), row["kind"], bool(row.get("file"))) for row in public.rows.get("sources", ())]
    return all_threats(
        standing_threats(case, papers),
        works,
        on,
        hanging=hanging,
        tags_used=tags_used,
        on_loan=case.facts.object.status == "on loan",
        published=on_site,
    )


def risk_json(threat: Threat) -> Json:
    """A threat with what its magnitude is made of, beside what the object is worth: how it comes about (a row of the
    policy), and the share of the object's painted surface that it reaches, [low, middle, high]."""
    return {
        **threat.as_json(),
        "event": threat.event,
        "soon": threat.soon,
        "share": [six(end) for end in threat.share],
        "pace_years": None if threat.pace_years is None else six(threat.pace_years),
    }
