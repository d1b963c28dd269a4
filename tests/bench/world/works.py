"""Work that people propose on the made world, and what it would truly take.

- *Careful*: milder, coordinate by coordinate, than a test that did nothing, on its place or on another of the same
  part; the test is stated in full where a blank could hide something, was not judged wet, is not too old, nothing was
  done there since, and no test that is no harsher did something to that coat, or to a kept coat of the part.
  Where finish is said to fail it is sometimes laid down first, with an aqueous glue.
- *Everyday*: dust, wrap, run (`operate`), drain, a damp swab for a few seconds. *Wax*: a polish in a hydrocarbon, told
  apart.
- *Harmful*: strip, blast, sand without a depth, a strong solvent, a tested agent left for long, washing soda, a hot air
  gun.
- *Removal*: the outermost later campaign with a liquid that moved it in a test, else any. *Cut*: to a depth, or to stop
  at the kept finish. *Window*: a few square centimetres with a strong liquid. *Any*: whatever comes to mind.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from world.ladders import rising
from world.made import Knobs
from world.materials import DILUENTS, RANKS
from world.records import Survey, Tried
from world.truth import TREATED, WATER_ALONE, Agent, Coat, Step, Thing, Use, Zone

TAKES = frozenset({"softened", "lifted", "partly removed", "removed"})
OLDEST = 2013
"""Tests from this year on may clear in the year of asking, which is some year before 2028."""
TOUCHES_NOTHING = frozenset({"dust", "wrap", "move", "operate", "drain"})
EVERYDAY = ("dust", "wrap", "operate", "drain", "damp swab")


@dataclass
class Work:
    """One proposal: what it is, what is written, and what would truly be done."""

    code: str
    kind: str
    sort: str
    place: str
    steps: list[Step] = field(default_factory=list)
    rows: list[dict[str, Any]] = field(default_factory=list)

    @property
    def touches(self) -> bool:
        """Whether any step reaches a surface."""
        return any(step.action not in TOUCHES_NOTHING for step in self.steps)


def propose(thing: Thing, survey: Survey, rng: np.random.Generator, knobs: Knobs) -> list[Work]:
    """About ten proposals for one object."""
    out: list[Work] = []
    listed = [zone for zone in thing.zones() if zone.listed]
    kinds = ["careful"] * 4 + ["everyday"] * 2 + ["harmful", "any"]
    for kind, chance in (("wax", 0.4), ("removal", 0.7), ("cut", 0.7), ("window", 0.4 if knobs.schema > 1 else 0.0)):
        if rng.random() < chance:
            kinds.append(kind)
    for kind in kinds:
        zone = listed[int(rng.integers(len(listed)))]
        work = Work(f"P{len(out) + 1}", kind, "", zone.code)
        _FILL[kind](work, thing, zone, survey, rng)
        if work.steps:
            for number, row in enumerate(work.rows):
                if work.place in survey.reserved and work.kind in ("careful", "everyday", "wax"):
                    row |= {"spares": survey.reserved[work.place]}
                row |= {"object": thing.code, "proposal": work.code, "step": number + 1}
            out.append(work)
            survey.add(
                "proposals",
                object=thing.code,
                proposal=work.code,
                title=f"{work.kind}: {work.sort}",
                proposed_by="Made Person",
                proposed_on="2025-01-10",
            )
            for row in work.rows:
                survey.add("proposal_steps", **row)
    return out


def contact(
    work: Work,
    place: str,
    use: Use,
    rng: np.random.Generator,
    action: str = "",
    area: float = 1.0,
    removes: str | None = None,
    **cells: Any,
) -> None:
    """A step with a liquid; passes of one and a room's temperature are often left unsaid."""
    action = action or ("aqueous" if use.agent.aqueous else "solvent")
    row: dict[str, Any] = {
        "place": place,
        "action": action,
        "agent": use.agent.text,
        "application": use.application,
        "dwell_s": use.dwell_s,
        "passes": use.passes,
        "temperature_c": use.temperature_c,
        "ph": use.ph if use.ph is not None else "",
        "removes": removes or "",
        **cells,
    }
    if use.passes == 1 and rng.random() < 0.3:
        row["passes"] = ""
    if use.temperature_c == 20 and rng.random() < 0.5:
        row["temperature_c"] = ""
    work.steps.append(Step(place, action, use, removes=removes, area=area))
    work.rows.append(row)


def _plain(work: Work, place: str, action: str) -> None:
    work.steps.append(Step(place, action))
    work.rows.append({"place": place, "action": action})


def _everyday(work: Work, thing: Thing, zone: Zone, survey: Survey, rng: np.random.Generator) -> None:
    work.sort = str(rng.choice(EVERYDAY, p=[0.3, 0.15, 0.15, 0.1, 0.3]))
    if work.sort == "damp swab":
        ph = 7.0 if rng.random() < 0.8 else None
        damp = Use(WATER_ALONE, "rolled swab", float(rng.integers(3, 7)), 1, 20.0, ph)
        contact(work, zone.code, damp, rng, "wash")
        return
    if work.sort == "wrap" and survey.schema > 1 and rng.random() < 0.3:
        work.sort = "move"
    work.place = "all" if work.sort != "dust" or rng.random() < 0.5 else zone.code
    _plain(work, work.place, work.sort)


def _wax(work: Work, thing: Thing, zone: Zone, survey: Survey, rng: np.random.Generator) -> None:
    work.sort = str(rng.choice(["turpentine", "dearomatised white spirit"]))
    contact(
        work,
        zone.code,
        Use(Agent(((work.sort, 1),)), "cloth", 60.0, 1),
        rng,
        "wax",
        adds="beeswax",
        adds_binder="wax",
        removable_with="dearomatised white spirit",
    )


def basis(test: Tried, zones: dict[str, Zone]) -> bool:
    """Whether a test may vouch for milder work."""
    needed = {"dwell_s", "application"} | ({"ph"} if test.use.agent.aqueous else set())
    since = zones[test.zone].before is not None and test.year < TREATED
    return test.year >= OLDEST and test.dried != "no" and not needed & test.blank and not since


def as_stated(test: Tried) -> Use:
    """A test's use as others read it, blanks at their mildest."""
    use = test.use
    return replace(
        use,
        passes=1 if "passes" in test.blank else use.passes,
        temperature_c=min(20.0, use.temperature_c) if "temperature_c" in test.blank else use.temperature_c,
    )


def milder(plan: Use, test: Use) -> bool:
    """Whether work is no harsher than a test in any coordinate."""
    (wet, rub), (test_wet, test_rub) = RANKS[plan.application], RANKS[test.application]
    if (
        plan.dwell_s > test.dwell_s
        or plan.passes > test.passes
        or plan.temperature_c > test.temperature_c
        or wet > test_wet
        or rub > test_rub
    ):
        return False
    names, tested = {name for name, _ in plan.agent.liquids}, {name for name, _ in test.agent.liquids}
    if names != tested:
        return False
    if plan.agent.aqueous:
        if plan.ph is None or test.ph is None:
            return False
        if (plan.ph - 7) * (test.ph - 7) < 0 or abs(plan.ph - 7) > abs(test.ph - 7):
            return False
        more = dict(test.agent.additives)
        return all(share <= more.get(name, -1) for name, share in plan.agent.additives) and {
            name for name, _ in plan.agent.additives
        } == set(more)
    return all(plan.agent.share(name) <= test.agent.share(name) + 1e-9 for name in names if name not in DILUENTS)


def _careful(work: Work, thing: Thing, zone: Zone, survey: Survey, rng: np.random.Generator) -> None:
    zones = {each.code: each for each in thing.zones()}
    fitting = [test for test in survey.tried if basis(test, zones) and test.met[0][1] == "none seen"]
    for _ in range(8 if fitting else 0):
        test = fitting[int(rng.integers(len(fitting)))]
        use = _tamer(as_stated(test), rng)
        met = test.met[0][0]
        spoken = any(
            milder(as_stated(other), use) and word != "none seen"
            for other in survey.tried
            if other.part == test.part
            for one, word in other.met
            if one is met or one.kept
        )
        part = next(each for each in thing.parts if each.code == test.part)
        others = [each.code for each in part.zones if each.listed and each.code != test.zone]
        if milder(use, as_stated(test)) and not spoken:
            work.place = str(rng.choice(others)) if others and rng.random() < 0.35 else test.zone
            work.sort = "same place" if work.place == test.zone else "same part"
            if rng.random() < 0.15:
                _plain(work, work.place, "dust")
            if work.place in survey.told_failing and rng.random() < 0.5:
                glue = Use(WATER_ALONE, "brush", 5.0, 1, 20.0, 7.0)
                contact(
                    work,
                    work.place,
                    glue,
                    rng,
                    "consolidate",
                    adds="sturgeon glue",
                    adds_binder="glue",
                    removable_with="water",
                )
            contact(work, work.place, use, rng)
            return


def _tamer(use: Use, rng: np.random.Generator) -> Use:
    """The same, milder in some coordinates and equal in others."""

    def less(value: float) -> float:
        return value if rng.random() < 0.4 else round(value * float(rng.uniform(0.4, 1.0)), 1)

    application = "rolled swab" if RANKS[use.application][1] >= 1 and rng.random() < 0.4 else use.application
    agent, ph = use.agent, use.ph
    if ph is not None and rng.random() < 0.5:
        ph = round(7 + (ph - 7) * float(rng.uniform(0.3, 1)), 1)
    if agent.additives and rng.random() < 0.4:
        agent = replace(
            agent,
            additives=tuple(
                (name, round(share * float(rng.uniform(0.5, 1)), 2) or share) for name, share in agent.additives
            ),
        )
    if len(agent.liquids) == 2 and rng.random() < 0.4:
        (acting, a), (diluent, d) = agent.liquids
        agent = Agent(((acting, a), (diluent, d + int(rng.integers(1, 3)))))
    return Use(agent, application, max(1.0, less(use.dwell_s)), max(1, int(less(use.passes))), use.temperature_c, ph)


def _harmful(work: Work, thing: Thing, zone: Zone, survey: Survey, rng: np.random.Generator) -> None:
    work.sort = str(
        rng.choice(["strip", "blast", "sand", "strong solvent", "left for long", "washing soda", "hot air"])
    )
    place = str(rng.choice([zone.code, zone.part, "all"], p=[0.6, 0.25, 0.15]))
    work.place = place
    if work.sort in ("strip", "blast", "sand"):
        _plain(work, place, "abrade" if work.sort == "sand" else work.sort)
    elif work.sort == "hot air":
        work.steps.append(Step(place, "heat", heat_c=float(rng.choice([180.0, 250.0, 300.0]))))
        work.rows.append({"place": place, "action": "heat", "temperature_c": work.steps[0].heat_c})
    elif work.sort == "washing soda":
        soda = replace(WATER_ALONE, additives=(("sodium carbonate", 3.0),))
        contact(work, place, Use(soda, "sponge", 120.0, 2, 30.0, 11.0), rng, "wash")
    elif work.sort == "strong solvent":
        liquid = str(rng.choice(["dichloromethane", "n-methyl-2-pyrrolidone", "benzyl alcohol"]))
        contact(work, place, Use(Agent(((liquid, 1),)), "gel", 600.0, 2), rng)
    elif survey.tried:
        test = survey.tried[int(rng.integers(len(survey.tried)))]
        use = replace(as_stated(test), application="gel", dwell_s=1800.0, passes=3, temperature_c=30.0)
        contact(work, place, use, rng)


def _later(zone: Zone) -> list[Coat]:
    return [one for one in zone.stack if one.scheme is not None and not one.kept]


def _removal(work: Work, thing: Thing, zone: Zone, survey: Survey, rng: np.random.Generator) -> None:
    later = _later(zone)
    if not later:
        return
    outer = later[-1]
    moved = [test for test in survey.tried if any(one is outer and word in TAKES for one, word in test.met)]
    work.sort = "as tested" if moved else "untried"
    use = as_stated(moved[int(rng.integers(len(moved)))]) if moved else rising(rng)[-1]
    contact(work, zone.code, replace(use, passes=int(rng.integers(1, 5))), rng, removes=outer.scheme)


def _cut(work: Work, thing: Thing, zone: Zone, survey: Survey, rng: np.random.Generator) -> None:
    later, kept = _later(zone), [one for one in zone.stack if one.kept]
    if not later or not kept:
        return
    action = str(rng.choice(["scrape", "abrade"]))
    if rng.random() < 0.5:
        work.sort = "stop at"
        stop = kept[-1].scheme if rng.random() < 0.6 else f"{kept[-1].scheme}/{kept[-1].role}"
        work.steps.append(Step(zone.code, action, stop_at=stop))
        work.rows.append({"place": zone.code, "action": action, "stop_at": stop})
        return
    work.sort = "depth"
    film = sum(float(zone.thick[n].mean()) for n, one in enumerate(zone.stack) if one in later)
    depth = round(film * float(rng.choice([0.2, 0.5, 0.8, 1.0])) * float(np.exp(rng.normal(0, 0.15))), 1)
    sd = round(depth * float(rng.choice([0.1, 0.2])), 1)
    work.steps.append(Step(zone.code, action, depth_um=depth, depth_sd_um=sd))
    work.rows.append({"place": zone.code, "action": action, "depth_um": depth, "depth_sd_um": sd})


def _window(work: Work, thing: Thing, zone: Zone, survey: Survey, rng: np.random.Generator) -> None:
    use = rising(rng)[-1]
    area = round(zone.area_m2 * float(rng.choice([0.002, 0.01, 0.05, 0.3])), 6)
    work.sort = "small window"
    contact(work, zone.code, replace(use, dwell_s=60.0, passes=4), rng, area=area / zone.area_m2, area_m2=area)


def _any(work: Work, thing: Thing, zone: Zone, survey: Survey, rng: np.random.Generator) -> None:
    uses = rising(rng)
    work.sort = "any"
    contact(work, zone.code, uses[int(rng.integers(len(uses)))], rng)


_FILL = {
    "careful": _careful,
    "everyday": _everyday,
    "wax": _wax,
    "harmful": _harmful,
    "removal": _removal,
    "cut": _cut,
    "window": _window,
    "any": _any,
}
