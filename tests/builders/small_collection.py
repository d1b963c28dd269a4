"""A small collection drawn at random, with everything that a search can be narrowed by; for tests of searching."""

from __future__ import annotations

import csv
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROLES = ("body colour", "lining", "varnish", "primer", "dirt")
COLOURS = ("dark green", "green", "signal red", "vert foncé", "red brown", "")
PERIODS = ("original", "early", "later", "unknown")
MUNSELL = ("7.5R 3/8", "5R 3/8", "7.5R 4/8", "2.5Y 8/10", "N 4/", "")
WORDS = ("crazed", "dirt between", "sharp", "dark", "Tidewell", "7.5", "3/8", "naïve", "red-lead", "the green one", "")
AGENTS = ("acetone", "1 acetone + 3 isooctane", "water + 1% ammonium citrate", "isopropanol")
HAZARDS = ("lead paint", "white lead in the ground", "asbestos")

Rows = Iterator[dict[str, Any]]


def write_small(folder: Path, seed: int, objects: int = 24) -> Path:
    """The package; equal seeds give equal files."""
    folder.mkdir(parents=True)
    (folder / "survey.toml").write_text(
        'code = "S1"\ntitle = "Small"\nlead = "Ada Penrose"\nstarted = "2019-05"\n', encoding="utf-8"
    )
    chance = random.Random(seed)
    sheets: dict[str, list[dict[str, Any]]] = {}
    for number in range(objects):
        for sheet, row in _object(
            f"{'OHM-19' if number % 2 else '1987.'}{number}{'/a' if number % 5 == 0 else ''}", chance
        ):
            sheets.setdefault(sheet, []).append(row)
    for sheet, rows in sheets.items():
        names = list(dict.fromkeys(name for row in rows for name in row))
        with open(folder / f"{sheet}.csv", "w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, names)
            writer.writeheader()
            writer.writerows(rows)
    return folder


def _object(code: str, chance: random.Random) -> Iterator[tuple[str, dict[str, Any]]]:
    pick = chance.choice
    yield (
        "objects",
        {
            "object": code,
            "title": f"{pick(('Tram', 'Hand pump', 'Galloper'))} {pick(WORDS)}",
            "kind": pick(("tram", "hand pump", "tram trailer")),
            "maker": pick(WORDS),
            "made": "1908~",
        },
    )
    yield "components", {"object": code, "component": "body", "name": "body", "area_m2": 4}
    zones = [f"Z{n}" for n in range(1, chance.randrange(2, 5))]
    for zone in zones:
        yield "zones", {"object": code, "zone": zone, "component": "body", "name": pick(WORDS), "area_m2": 0.5}
    schemes = [str(n) for n in range(1, chance.randrange(2, 4))]
    for scheme in schemes:
        yield "schemes", {"object": code, "scheme": scheme, "name": f"scheme {pick(WORDS)}", "period": pick(PERIODS)}
    places = (*zones, "body", "all")
    for number in range(chance.randrange(0, 5)):
        sample = f"S{number}"
        yield (
            "samples",
            {
                "object": code,
                "sample": sample,
                "place": pick(places),
                "method": "cross-section",
                "taken_on": "2019-05-02",
                "taken_by": "Bela Quist",
                "reaches_support": pick(("yes", "no")),
            },
        )
        for position in range(1, chance.randrange(2, 5)):
            yield (
                "layers",
                {
                    "object": code,
                    "sample": sample,
                    "position": position,
                    "role": pick(ROLES),
                    "colour": pick(COLOURS),
                    "munsell": pick(MUNSELL),
                    "scheme": pick((*schemes, "")),
                    "period": "" if schemes else pick(PERIODS),
                    "boundary": pick(WORDS),
                    "coverage": pick(("intact", "partial", "trace", "absent", "")),
                },
            )
    for number in range(chance.randrange(0, 3)):
        for when in chance.sample(("2001", "2019", ""), chance.randrange(1, 3)):
            yield (
                "decorations",
                {
                    "object": code,
                    "decoration": f"D{number}",
                    "place": pick(places),
                    "kind": pick(("lining", "lettering")),
                    "scheme": pick((*schemes, "")),
                    "state": pick(("exposed", "covered", "fragment", "lost", "not found", "")),
                    "observed_on": when,
                    "description": pick(WORDS),
                },
            )
    for number in range(chance.randrange(0, 2)):
        yield (
            "tests",
            {
                "object": code,
                "test": f"T{number}",
                "place": pick(places),
                "agent": pick(AGENTS),
                "tested_by": "Bela Quist",
            },
        )
    for number in range(chance.randrange(0, 3)):
        for when in chance.sample(("2001", "2019", ""), chance.randrange(1, 3)):
            yield (
                "hazards",
                {
                    "object": code,
                    "hazard": f"H{number}",
                    "kind": pick(HAZARDS),
                    "status": pick(("suspected", "confirmed", "not found")),
                    "observed_on": when,
                },
            )


SEEDS = (1, 2, 3)
EVERY = 1000
