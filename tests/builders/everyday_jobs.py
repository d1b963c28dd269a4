"""Thirty everyday jobs and thirty harmful ones on the invented sample, each with the most or least that may come out.

    python tests/builders/everyday_jobs.py DB

prints the table. Which work is harmless and which is not is common practice, no published source. Reserves are left
aside: whatever is done to the whole of an object touches them.
"""

from __future__ import annotations

import sys
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from collection.compute.case import Case
from collection.records.facts import Facts, proposal_of
from collection.records.sheets import Proposal, ProposalStep
from collection.rules.assess import assess
from collection.rules.severity import worst
from collection.store.base import database, read

SPIRIT = {
    "action": "solvent",
    "agent": "dearomatised white spirit",
    "application": "rolled swab",
    "dwell_s": 10.0,
    "passes": 2.0,
    "temperature_c": 20.0,
}
DAMP = {
    "action": "wash",
    "agent": "water",
    "ph": 7.0,
    "application": "rolled swab",
    "dwell_s": 5.0,
    "passes": 1.0,
    "temperature_c": 20.0,
}


@dataclass(frozen=True)
class Job:
    """One step on one object, and the severity that it may at most or has at least to come to."""

    object: str
    bound: str
    why: str
    step: dict[str, Any]


def job(code: str, bound: str, why: str, **step: Any) -> Job:
    return Job(code, bound, why, {"place": "all", **step})


EVERYDAY = (
    job("OHM-1937/3", "clear", "the tank is drained for winter", action="drain"),
    job("OHM-1937/3", "clear", "the pump's bearings are oiled", action="oil mechanism"),
    job("OHM-1962-7", "clear", "the brake gear is oiled", action="oil mechanism"),
    job("OHM-1980-2", "clear", "the doors are eased with oil", action="oil mechanism"),
    job("OHM-1991-30.1", "clear", "the beam is oiled", action="oil mechanism"),
    # Sound finish that somebody has looked at: a brush or a sheet takes nothing.
    job("OHM-1962-40", "clear", "dusted", action="dust"),
    job("OHM-1962-40", "clear", "wrapped for a move", action="wrap"),
    job("OHM-1937/3", "clear", "the cistern is dusted for a visit", action="dust", place="BOX"),
    job("OHM-1988/5", "clear", "wrapped against the frost", action="wrap"),
    job("OHM-1962-7", "clear", "the uncovered strip is dusted", action="dust", place="L-STRIP"),
    job("OHM-1969-3", "clear", "the doors are dusted", action="dust", place="TAIL"),
    job("OHM-1969-3", "clear", "a dry sponge on the near side", action="dry sponge", place="NS"),
    job("OHM-1974-21", "clear", "the rosette is dusted", action="dust", place="G-ROSE"),
    job("OHM-1976-4", "clear", "the field is dusted", action="dust", place="P-TOP"),
    job("OHM-1989-2", "clear", "the names are dusted, not the back", action="dust", place="Q-NAME"),
    job("OHM-1958-12", "clear", "a dry sponge takes the soot off the rim", action="dry sponge", place="M-RIM"),
    # True, and no alarm: somebody has to look there first.
    job("OHM-1937/3", "untested", "dusted all over, the undercarriage never seen", action="dust"),
    job("OHM-1949/1", "untested", "dusted, the inside never told of", action="dust"),
    job("OHM-1952-11", "untested", "a sheet over a board nobody has reached", action="wrap"),
    job("OHM-1969-3", "untested", "a dry sponge all over, the floor never seen", action="dry sponge"),
    # Wear and weather of what lies open.
    job("OHM-1937/3", "untested", "worked by hand: the bare brass wears", action="operate"),
    job("OHM-1976-11", "untested", "his arm is set going: it rubs the coat", action="operate"),
    job("OHM-1962-7", "untested", "the open strip in the yard for a day", action="display outdoors", place="L-STRIP"),
    job("OHM-1962-7", "clear", "the dash in the yard: its lake is covered", action="display outdoors", place="F-DASH"),
    job("OHM-1962-7", "stood", "its own tests stood it", place="L-STRIP", **SPIRIT),
    job("OHM-1974-21", "stood", "its own tests stood it", place="G-ROSE", **SPIRIT),
    job("OHM-1980-2", "untested", "white spirit on a polish that stood it", place="I-BACK", **SPIRIT),
    job("OHM-1976-11", "untested", "white spirit on oil paint never tried", place="F-COAT", **SPIRIT),
    job("OHM-1991-30.1", "untested", "white spirit on oil paint never tried", place="S-FRONT", **SPIRIT),
    job("OHM-1962-40", "untested", "a damp swab on oil paint", place="B-REAR", **DAMP),
)
HARMFUL = (
    *(
        job(code, "destroys", "stripped", action="strip")
        for code in ("OHM-1937/3", "OHM-1949/1", "OHM-1962-7", "OHM-1974-21")
    ),
    *(job(code, "destroys", "blasted", action="blast") for code in ("OHM-1937/3", "OHM-1989-2", "OHM-1991-30.1")),
    *(
        job(code, "destroys", "sanded down, no depth stated", action="abrade")
        for code in ("OHM-1969-3", "OHM-1949/1", "OHM-1952-11")
    ),
    job("OHM-1974-21", "destroys", "pared to the wood", action="scrape", place="G-RUMP"),
    job("OHM-1962-7", "destroys", "new side panels", action="replace", place="SIDE-L"),
    # A soft brush is harm enough where the finish falls at a touch.
    job("OHM-1974-21", "endangers", "a brush over the flaking neck", action="dust"),
    job("OHM-1962-7", "endangers", "a sheet over the flaking valance", action="wrap"),
    job("OHM-1989-2", "endangers", "a dry sponge on the flaking back", action="dry sponge", place="Q-BACK"),
    job("OHM-1937/3", "endangers", "stripper on oil paint", action="solvent", agent="dichloromethane"),
    job("OHM-1962-7", "endangers", "stripper on oil paint", action="solvent", agent="benzyl alcohol"),
    job("OHM-1976-4", "endangers", "stripper on oil paint", action="solvent", agent="n-methyl-2-pyrrolidone"),
    job("OHM-1980-2", "endangers", "alcohol on shellac", action="solvent", agent="ethanol"),
    job(
        "OHM-1976-11",
        "endangers",
        "two harmless liquids dissolve nitrate",
        action="solvent",
        agent="1 diethyl ether + 1 ethanol",
        place="F-COAT",
        application="rolled swab",
        dwell_s=20.0,
        passes=3.0,
    ),
    job(
        "OHM-1989-2",
        "endangers",
        "washing soda",
        action="wash",
        agent="water + 2% sodium carbonate",
        ph=11.0,
        application="sponge",
        dwell_s=120.0,
        place="Q-NAME",
    ),
    job(
        "OHM-1962-7",
        "endangers",
        "acetone on varnish",
        action="solvent",
        agent="acetone",
        dwell_s=60.0,
        application="rubbed swab",
    ),
    job("OHM-1974-21", "endangers", "acetone on a resin varnish", action="solvent", agent="acetone"),
    job(
        "OHM-1958-12",
        "endangers",
        "toluene poultice",
        action="solvent",
        agent="toluene",
        application="poultice",
        dwell_s=1800.0,
    ),
    job("OHM-1980-2", "endangers", "a heat gun on shellac", action="heat", temperature_c=150.0),
    job("OHM-1962-7", "endangers", "a heat gun on oil paint", action="heat", temperature_c=300.0),
    job(
        "OHM-1974-21",
        "endangers",
        "water on leaf over glue",
        action="wash",
        agent="water",
        application="sponge",
        dwell_s=60.0,
        place="G-CRUP",
    ),
    job("OHM-1962-40", "endangers", "wax in turpentine on oleoresin", action="wax", agent="turpentine"),
    job(
        "OHM-1988/5",
        "endangers",
        "ammonia",
        action="aqueous",
        agent="water + 5% ammonia",
        ph=11.5,
        application="brush",
        dwell_s=60.0,
    ),
    job("OHM-1937/3", "destroys", "galvanised anew", action="plate"),
)


def facts_of_all(db: Path) -> dict[str, Facts]:
    with database.opened(db, write=False) as connection:
        return {code: read.facts_rows(connection, code) for code in read.object_codes(connection)}


def outcome(facts: Facts, asked: Job) -> str:
    """The worst severity of the job, reserves aside."""
    head = Proposal(object=asked.object, proposal="J", title=asked.why, proposed_by="N. N.", proposed_on="2025-01-10")
    step = ProposalStep(object=asked.object, proposal="J", step=1, **asked.step)
    return worst(
        loss.severity
        for loss in assess(Case(facts), proposal_of(head, [step])).losses
        if not loss.thing.startswith("reserve ")
    )


def main() -> int:
    everything = facts_of_all(Path(sys.argv[1]))
    for name, jobs in (("everyday", EVERYDAY), ("harmful", HARMFUL)):
        print(name, dict(Counter(outcome(everything[each.object], each) for each in jobs)))
        for each in jobs:
            print(
                f"  {each.object:14} {each.step['action']:16} {each.why:45} {each.bound:10}"
                f" {outcome(everything[each.object], each)}"
            )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
