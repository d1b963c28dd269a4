"""A made door of two varnishes, the steps of a ladder on it, and what window, bench and assessment say of them.

The door: a later varnish, 2, over the maker's varnish, 1, over red paint.
"""

from __future__ import annotations

from typing import Any

import objects as o
from objects import REFERENCE as TABLES

from collection.compute.case import Case
from collection.compute.windows.companion.next_step import Step, next_step
from collection.compute.windows.mixtures import read_jar
from collection.compute.windows.windows import pair_of
from collection.compute.windows.working_window import Window, working_window
from collection.records import sheets
from collection.records.sheets import Layer, Response
from collection.rules.assess import assess

DAY = "2024-06-01"
CITRATE = "water + 1% ammonium citrate"
HAVE = (
    "acetone",
    "isooctane",
    "water pH 7",
    "water pH 8",
    "water pH 9",
    f"{CITRATE} pH 8",
    f"{CITRATE} pH 8.5",
    f"{CITRATE} pH 9",
    "water pH 8 + 2% ammonium citrate",
    "water pH 6",
)
GONE, KEPT = 3, 2


def door(*more: Any, binders: tuple[Any, ...] = (None, None)) -> list[Any]:
    rows = [row for row in o.base() if not isinstance(row, Layer)]
    return [
        *rows,
        *more,
        o.layer(1, "body colour", "1", "red"),
        o.layer(KEPT, "varnish", "1", None, binder=binders[1]),
        o.layer(GONE, "varnish", "2", None, binder=binders[0]),
    ]


def step(
    code: str, go: str | None = None, stay: str | None = None, agent: str = CITRATE, **conditions: Any
) -> list[Any]:
    """One test and what it did to the coat to go and to the coat to stay; None: not told."""
    given = {
        "application": "rolled swab",
        "dwell_s": 30.0,
        "after_drying": "yes",
        "tested_on": "2020-05-02",
        **conditions,
    }
    return [
        sheets.Test(object=o.OBJ, test=code, place="door", agent=agent, **given),
        *(
            Response(object=o.OBJ, test=code, sample="S1", position=at, response=word)
            for at, word in ((GONE, go), (KEPT, stay))
            if word is not None
        ),
    ]


NO, OFF, HURT = "none seen", "removed", "softened"


def window(rows: list[Any], liquids: tuple[Any, ...] = ("toluene",), day: str = DAY) -> Window:
    return working_window(pair_of(Case(o.facts(rows)), "door", "2", "1/varnish", day), liquids)


def bench(rows: list[Any], have: tuple[Any, ...] = HAVE, day: str = DAY, **more: Any) -> Step:
    facts = o.facts(rows)
    pair = pair_of(Case(facts), "door", "2", "1/varnish", day)
    return next_step(pair, [read_jar(text, TABLES.solvents) for text in have], **more)


def assessed(rows: list[Any], plan: sheets.ProposalStep, day: str = DAY) -> str:
    """The severity of the maker's varnish by a whole assessment of one step."""
    proposal = o.proposal(
        {
            "action": plan.action,
            "agent": plan.agent,
            "ph": plan.ph,
            "dwell_s": plan.dwell_s,
            "passes": plan.passes,
            "temperature_c": plan.temperature_c,
            "conductivity_mscm": plan.conductivity_mscm,
            "application": plan.application,
        }
    )
    found = {loss.id: loss.severity for loss in assess(Case(o.facts(rows)), proposal.planned_for(day)).losses}
    return found.get("door/1/varnish", "clear")


def told(rows: list[Any], **more: Any) -> list[tuple[str, str]]:
    """Each proven window: its conditions and what it says."""
    found = window(rows, **more)
    return [(each.head(), " ".join(each.sentences("2", "1"))) for each in found.proven]


def said(plan: sheets.ProposalStep) -> tuple[Any, ...]:
    return (plan.agent, plan.ph, plan.dwell_s, plan.passes, plan.application)
