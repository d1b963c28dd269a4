"""Judge the warnings end to end: a made world with a hidden truth, surveyed with errors, asked by the command line
alone.

    python tests/bench/world/judge.py [--objects N] [--seeds 1 2 3] [--processes 2] [--quick] [--json OUT] ...

`truth` and `made` make painted objects, `past` lets things happen to them, `survey` has them examined and tested in
`ladders`, `works` proposes careful, everyday and harmful work; each says what it assumes.
The rows go in through `init` and `ingest`; `assess --all` and `survival` answer; every answer is held against what
would truly be lost. No module of the product is imported but its command line.

What is counted:

- *Cleared*: a proposal whose outcome is `clear` or `stood`. It harms where any kept thing (a scheme's coats of one role
  at one place, covering at least `--least-share` of it) truly loses over 2 %, or 1 %. Things are counted by themselves
  as well: what a thing is told is its own line, else the worst line that stands in for what nobody saw there, else out
  of reach.
- *Careful, everyday*: alarmed where the outcome is `endangers` or `destroys`. The base is work that truly takes no more
  than 1 % of any kept thing, and for everyday work places whose finish holds; the rest is printed beside it.
- *Every coat met*: at least one kept coat is truly touched over more than 2 % of it, and each that is was itself met by
  a test that did nothing and is as harsh as the work in every coordinate. Work that truly reaches no kept coat, and
  work where every kept coat of the place was met, are printed beside it.
- *Intervals*: a loss interval holds the truth within half a per cent of the thing, a survival interval within half a
  per cent of the area.
"""

from __future__ import annotations

import argparse
import contextlib
import csv
import io
import json
import os
import sys
import tempfile
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, field, fields, replace
from functools import cache
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from world.causes import cause, names_of, unseen
from world.made import Knobs, make
from world.outcome import Kept, truth
from world.past import befall
from world.records import Survey
from world.survey import examine
from world.tables import Result, figures, tables
from world.truth import Thing, Zone
from world.works import Work, propose

SHARD = 40
DAY = "2026-06-01"
"""The day of asking, where a command takes one; the tests of the second season are young then."""
STAND_INS = ("not examined", "below what was seen", "not found so far")
RANK = {"clear": 0, "stood": 1, "untested": 2, "endangers": 3, "destroys": 4}


@dataclass
class Told:
    """One kept thing under one proposal: what was said of it, and what would come true."""

    place: str
    thing: str
    told: str
    by: str
    interval: list[float] | None
    covers: float
    lost: float
    touched: float
    met: bool
    known: bool
    why: str


@dataclass
class Judged:
    """One proposal with its answer and the truth. `alarms` are the ids of alarming lines with severity and cause."""

    seed: int
    object: str
    proposal: str
    kind: str
    sort: str
    place: str
    sections: int
    patchiness: str
    touches: bool
    failing: bool
    outcome: str
    lost: float
    met: bool
    things: list[Told] = field(default_factory=list)
    alarms: list[tuple[str, str, str]] = field(default_factory=list)


@dataclass
class Survived:
    """One survival interval, in shares of the area, with the truth; `place` is blank for the whole object."""

    seed: int
    object: str
    place: str
    patchiness: str
    sections: int
    interval: list[float]
    truth: float


def run(*arguments: str) -> str:
    """What a command of the product prints.

    :raises RuntimeError: where it refuses; 3 of `assess` is an answer.
    """
    from collection import cli

    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = cli.run(list(arguments))
    if code not in (0, 3):
        raise RuntimeError(f"{' '.join(arguments)}: exit {code}\n{out.getvalue()[-3000:]}\n{err.getvalue()[-3000:]}")
    return out.getvalue()


@cache
def asked_on() -> tuple[str, ...]:
    """The day, for an `assess` that can be asked of one."""
    return ("--on", DAY) if "--on " in run("assess", "--help") else ()


def write(folder: Path, surveys: Iterable[Survey], schema: int) -> Path:
    """All that was written down, as one package."""
    folder.mkdir(parents=True)
    (folder / "survey.toml").write_text(
        'code = "MW"\ntitle = "Made world (invented)"\nlead = "Made Person"\n'
        'started = "2007-05"\nended = "2024-06"\n' + ('invented = "yes"\n' if schema > 1 else ""),
        encoding="utf-8",
    )
    sheets: dict[str, list[dict[str, Any]]] = {}
    for survey in surveys:
        for sheet, rows in survey.sheets.items():
            sheets.setdefault(sheet, []).extend(rows)
    for sheet, rows in sheets.items():
        names = list(dict.fromkeys(name for row in rows for name in row))
        with open(folder / f"{sheet}.csv", "w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, names, restval="")
            writer.writeheader()
            writer.writerows(rows)
    return folder


def judge_shard(seed: int, numbers: range, knobs: Knobs, keep: str = "") -> tuple[list[Judged], list[Survived]]:
    """Some objects of one seed, in one database."""
    made: list[tuple[Thing, Survey, list[tuple[Work, list[Kept]]]]] = []
    for number in numbers:
        rng = np.random.default_rng([seed, number])
        thing = make(f"W{seed}.{number}", rng, knobs)
        past = befall(thing, rng, knobs)
        survey = examine(thing, past, rng, knobs)
        if knobs.schema == 1:
            for row in survey.sheets.get("tests", []):
                row.pop("finish")
        works = propose(thing, survey, rng, knobs)
        made.append((thing, survey, [(work, truth(thing, work, survey, rng, knobs)) for work in works]))
    with tempfile.TemporaryDirectory() as temporary:
        room = Path(keep) / f"{seed}-{numbers.start}" if keep else Path(temporary)
        room.mkdir(parents=True, exist_ok=True)
        package, db = write(room / "package", (survey for _, survey, _ in made), knobs.schema), str(room / "world.db")
        run("init", db)
        run("ingest", db, str(package), "--json")
        told = json.loads(run("assess", db, "--all", "--json", *asked_on()))
        answers = {each["proposal"]: each for each in told["assessments"]}
        survival = {each["object"]: each for each in json.loads(run("survival", db, "--json"))["objects"]}
        if "places" not in next(iter(survival.values())):
            survival = {code: json.loads(run("survival", db, code, "--json"))["objects"][0] for code in survival}
    judged = [
        judge_one(seed, thing, survey, work, kept, answers[f"{thing.code}/{work.code}"])
        for thing, survey, works in made
        for work, kept in works
    ]
    return judged, [row for thing, _, _ in made for row in survived(seed, thing, survival[thing.code])]


def judge_one(seed: int, thing: Thing, survey: Survey, work: Work, kept: list[Kept], answer: dict[str, Any]) -> Judged:
    """Hold one answer against the truth."""
    lines = {line["id"]: line for line in answer["losses"]}
    zones = {zone.code: zone for zone in thing.zones()}
    over = [zone for zone in zones.values() if work.place in ("all", zone.part, zone.code)]
    things = [_told(one, lines, survey, zones) for one in kept]
    alarms = [
        (line["id"], line["severity"], cause(line, answer["findings"], thing, survey, kept))
        for line in answer["losses"]
        if RANK[line["severity"]] >= RANK["endangers"]
    ]
    if not alarms and RANK[answer["outcome"]] >= RANK["endangers"]:
        alarms = [("", answer["outcome"], "outcome without a line")]
    return Judged(
        seed,
        thing.code,
        work.code,
        work.kind,
        work.sort,
        work.place,
        survey.sections.get(work.place, thing.sections),
        thing.patchiness,
        work.touches,
        any(zone.failing.any() or zone.code in survey.told_failing for zone in over),
        answer["outcome"],
        max((one.lost for one in kept), default=0.0),
        all(one.met for one in kept),
        things,
        alarms,
    )


def _told(one: Kept, lines: dict[str, dict[str, Any]], survey: Survey, zones: dict[str, Zone]) -> Told:
    own = [lines[name] for name in names_of(one) if name in lines]
    by, found = "own line", own
    if not own:
        by = "stand-in"
        found = [
            line
            for line in lines.values()
            if line["place"] in (one.place, one.part, "all") and any(word in line["id"] for word in STAND_INS)
        ]
    if not found:
        by = "nothing said"
    told = max((line["severity"] for line in found), key=RANK.__getitem__, default="clear")
    interval = own[0]["share"] if own else None
    return Told(
        one.place,
        one.thing,
        told,
        by,
        interval,
        one.share,
        one.lost,
        one.touched,
        one.met,
        one.known,
        unseen(one, survey, zones),
    )


def survived(seed: int, thing: Thing, answer: dict[str, Any]) -> Iterable[Survived]:
    """The intervals of an object and its places against the truth; the whole is that of the places with a share."""
    cells = {place: (zone, where) for zone in thing.zones() for place, where in zone.places().items()}
    told = [place for place in answer["places"] if place["share"] is not None and place["place"] in cells]
    true = {place["place"]: cells[place["place"]][0].surviving(cells[place["place"]][1]) for place in told}
    area = sum(place["area_m2"] for place in told)
    if told and not answer["unmeasured_places"]:
        yield Survived(
            seed,
            thing.code,
            "",
            thing.patchiness,
            thing.sections,
            [value / area for value in answer["surviving_m2"]],
            sum(place["area_m2"] * true[place["place"]] for place in told) / area,
        )
    for place in told:
        yield Survived(
            seed, thing.code, place["place"], thing.patchiness, thing.sections, place["share"], true[place["place"]]
        )


def judge(
    objects: int, seed: int, knobs: Knobs | None = None, *, processes: int = 1, keep: str = ""
) -> tuple[Result, list[Judged], list[Survived]]:
    """Make, survey, ask and judge so many objects; equal arguments give equal counts."""
    knobs = knobs or Knobs()
    shards = [range(start, min(objects, start + SHARD)) for start in range(0, objects, SHARD)]
    if processes > 1:
        with ProcessPoolExecutor(processes) as pool:
            count = len(shards)
            done = list(pool.map(judge_shard, [seed] * count, shards, [knobs] * count, [keep] * count))
    else:
        done = [judge_shard(seed, shard, knobs, keep) for shard in shards]
    judged, survival = [row for rows, _ in done for row in rows], [row for _, rows in done for row in rows]
    return figures(judged, survival), judged, survival


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--objects", type=int, default=1000, help="objects of each seed")
    parser.add_argument("--seeds", type=int, nargs="+", default=[1, 2, 3])
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--quick", action="store_true", help="60 objects of one seed")
    parser.add_argument("--json", type=Path, help="every judged row, one a line")
    parser.add_argument("--keep", default="", help="a folder in which packages and databases stay")
    for each in fields(Knobs):
        kind = {"int": int, "int | None": int, "str": str}.get(str(each.type), float)
        parser.add_argument(f"--{each.name.replace('_', '-')}", type=kind, default=each.default)
    asked = parser.parse_args()
    knobs = replace(Knobs(), **{each.name: getattr(asked, each.name) for each in fields(Knobs)})
    judged: list[Judged] = []
    survival: list[Survived] = []
    for seed in asked.seeds[:1] if asked.quick else asked.seeds:
        _, rows, shares = judge(
            60 if asked.quick else asked.objects, seed, knobs, processes=asked.processes, keep=asked.keep
        )
        judged, survival = judged + rows, survival + shares
        print(f"seed {seed}: {len(rows)} proposals judged", file=sys.stderr, flush=True)
    print(json.dumps(asdict(knobs)))
    print(tables(judged, survival))
    if asked.json:
        with open(asked.json, "w", encoding="utf-8") as file:
            for each_row in (*map(asdict, judged), *map(asdict, survival)):
                file.write(json.dumps(each_row) + os.linesep)


if __name__ == "__main__":
    main()
