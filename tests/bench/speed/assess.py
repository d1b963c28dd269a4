"""Assessing one proposal of ten steps over twelve places, in CPU milliseconds after start-up.

    python tests/bench/speed/assess.py [--runs N] [--profile]

The object is made: three parts, twelve zones, 24 samples of twelve coats each in three schemes, 20 tests, a few
conditions and treatments. Each run has facts of its own, so that nothing is remembered of the one before; one run
beforehand brings in modules and reference tables. The bar is 50 ms.
"""

from __future__ import annotations

import argparse
import cProfile
import pstats
import statistics
import time
from typing import Any

from collection.compute.case import Case
from collection.records.facts import Facts, ProposalFacts, facts_of, proposal_of
from collection.records.sheets import (
    Component,
    Condition,
    Layer,
    Object,
    Proposal,
    ProposalStep,
    Record,
    Response,
    Sample,
    Scheme,
    Test,
    Treatment,
    TreatmentStep,
    Zone,
)
from collection.rules.assess import assess

BAR_MS = 50.0
COATS = (
    ("primer", "1", "grey", "oil"),
    ("filler", "1", "ochre", "oil"),
    ("body colour", "1", "red", "oil"),
    ("varnish", "1", None, "oleoresin"),
    ("primer", "2", "pink", "oil"),
    ("body colour", "2", "maroon", "oil"),
    ("body colour", "2", "maroon", "alkyd"),
    ("varnish", "2", None, "alkyd"),
    ("dirt", None, None, None),
    ("primer", "3", "white", "alkyd"),
    ("body colour", "3", "cream", "alkyd"),
    ("varnish", "3", None, "acrylic"),
)
AGENTS = ("acetone", "ethanol", "white spirit 18%", "1 acetone + 3 white spirit 18%", "water", "2-propanol", "toluene")
STEPS: tuple[dict[str, Any], ...] = (
    {"action": "wash", "agent": "water", "ph": 7.0},
    {"action": "solvent", "agent": "white spirit 18%"},
    {"action": "solvent", "agent": "1 acetone + 3 white spirit 18%", "removes": "3"},
    {"action": "solvent", "agent": "ethanol", "removes": "2/varnish"},
    {"action": "scrape", "depth_um": 60.0, "depth_sd_um": 10.0},
    {"action": "abrade", "stop_at": "2"},
    {"action": "heat", "temperature_c": 80.0},
    {"action": "consolidate", "agent": "2-propanol"},
    {"action": "polish", "depth_um": 3.0, "depth_sd_um": 1.0},
    {"action": "coat", "agent": "toluene", "adds": "clear coat", "removable_with": "toluene"},
)


def made(number: int) -> tuple[Facts, ProposalFacts]:
    """One made object with its proposal, under a number of its own."""
    key = f"A.{number}"
    rows: list[Record] = [
        Scheme(object=key, scheme=code, name=name, period=period, rank=rank, basis="made")
        for code, name, period, rank in (
            ("1", "first red", "original", 1.0),
            ("2", "maroon", "later", 2.0),
            ("3", "cream", "recent", 3.0),
        )
    ]
    for part in ("left", "right", "roof"):
        rows.append(Component(object=key, component=part, name=part, support="pine", area_m2=8.0, origin="original"))
        for place in range(4):
            zone = f"{part}{place}"
            rows.append(Zone(object=key, zone=zone, component=part, area_m2=2.0))
            for sample in range(2):
                code = f"{zone}-{sample}"
                rows.append(
                    Sample(
                        object=key,
                        sample=code,
                        place=zone,
                        method="cross-section",
                        reaches_support="yes",
                        taken_on="2021-06",
                    )
                )
                rows += [
                    Layer(
                        object=key,
                        sample=code,
                        position=position,
                        role=role,
                        scheme=scheme,
                        colour=colour,
                        binder=binder,
                        coverage="intact" if (position + place + sample) % 5 else "partial",
                        thickness_um=20.0 + (7 * position + 3 * place + sample + 1.3 * number) % 17,
                    )
                    for position, (role, scheme, colour, binder) in enumerate(COATS, 1)
                ]
    for test in range(20):
        zone = f"{('left', 'right', 'roof')[test % 3]}{test % 4}"
        code = f"T{test}"
        rows.append(
            Test(
                object=key,
                test=code,
                place=zone,
                agent=AGENTS[test % 7],
                dwell_s=10.0 + 10 * (test % 4),
                application="rolled swab",
                tested_on="2021-07",
                ph=7.0 if test % 7 == 4 else None,
            )
        )
        rows.append(
            Response(
                object=key,
                test=code,
                sample=f"{zone}-{test % 2}",
                position=12 - test % 9,
                response=("none seen", "colour on swab", "softened", "none seen", "swelled")[test % 5],
            )
        )
    rows += [
        Condition(object=key, place="left1", phenomenon="flaking", observed_on="2021", severity=2, active="yes"),
        Treatment(object=key, treatment="W1", purpose="cleaning", started="1998", outcome="done"),
        TreatmentStep(object=key, treatment="W1", step=1, place="roof", action="wash", agent="water"),
    ]
    head = Proposal(object=key, proposal="P", title="made", proposed_by="N. N.", proposed_on="2024-01-10")
    steps = [
        ProposalStep(
            object=key, proposal="P", step=step, place="all", dwell_s=30.0, application="rolled swab", **columns
        )
        if "agent" in columns
        else ProposalStep(object=key, proposal="P", step=step, place="all", **columns)
        for step, columns in enumerate(STEPS, 1)
    ]
    return facts_of(Object(object=key, title="made wagon", kind="wagon"), rows), proposal_of(head, steps)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=15)
    parser.add_argument("--profile", action="store_true", help="where the time of one run goes")
    words = parser.parse_args()
    facts, proposal = made(0)
    assess(Case(facts), proposal)
    took = []
    for run in range(1, words.runs + 1):
        facts, proposal = made(run)
        start = time.process_time()
        found = assess(Case(facts), proposal)
        took.append(1000 * (time.process_time() - start))
    if words.profile:
        facts, proposal = made(words.runs + 1)
        profile = cProfile.Profile()
        profile.runcall(assess, Case(facts), proposal)
        pstats.Stats(profile).sort_stats("cumulative").print_stats(30)
    median = statistics.median(took)
    print(
        f"{len(proposal.steps)} steps, {len({loss.place for loss in found.losses})} places, "
        f"{len(found.losses)} losses, outcome {found.outcome}: {median:.1f} ms of CPU, median of {words.runs} "
        f"({min(took):.1f}–{max(took):.1f}); bar {BAR_MS:g} ms"
    )
    return 0 if median <= BAR_MS else 1


if __name__ == "__main__":
    raise SystemExit(main())
