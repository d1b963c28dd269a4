"""A generated survey package of any size: invented objects, their zones, schemes, samples and layers.

The shape is the one of the bars in the design: per 1,000,000 layers 20,000 objects, 20,000 parts, 120,000
zones, 80,000 schemes and 200,000 samples. The seed is fixed, so two runs measure the same bytes.
"""

from __future__ import annotations

import csv
import random
from collections.abc import Iterator
from pathlib import Path

ZONES, SCHEMES, SAMPLES, COATS = 6, 4, 10, 5
LAYERS_PER_OBJECT = SAMPLES * COATS

ROLES = ("primer", "body colour", "lining", "varnish", "filler", "metal leaf")
BINDERS = ("oil", "oleoresin", "alkyd", "shellac", "natural resin", "unknown")
COLOURS = ("dark green", "signal red", "cream", "brown black", "prussian blue", "vert foncé", "off-white")
KINDS = ("tram", "hand pump", "galloper", "shop sign", "boat", "bench")
SHEETS = ("objects", "components", "zones", "schemes", "samples", "layers")

HEADINGS = {
    "objects": "object,title,kind,maker,made,materials",
    "components": "object,component,name,support,area_m2,origin",
    "zones": "object,zone,component,name,area_m2,area_basis,visibility",
    "schemes": "object,scheme,name,period,rank,made,certainty",
    "samples": "object,sample,place,method,x,y,taken_on,taken_by,chosen,reaches_support,total_um",
    "layers": "object,sample,position,role,binder,binder_basis,colour,munsell,lab_l,lab_a,lab_b,gloss_gu,"
    "thickness_um,thickness_min_um,thickness_max_um,fluorescence,boundary,scheme,period,certainty,"
    "coverage,coverage_pct",
}


def write_package(folder: Path, layers: int, *, survey: str = "bench-1", first: int = 0, seed: int = 7) -> int:
    """A package of about `layers` layers; returns how many rows its sheets hold."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "survey.toml").write_text(
        f'code = "{survey}"\ntitle = "Generated collection"\nlead = "Invented Person"\nstarted = "2019-05"\n',
        encoding="utf-8",
    )
    count = max(1, layers // LAYERS_PER_OBJECT)
    rows = 0
    for sheet in SHEETS:
        make = globals()[f"_{sheet}"]
        chance = random.Random(f"{seed} {sheet}")
        with open(folder / f"{sheet}.csv", "w", encoding="utf-8", newline="") as file:
            file.write(HEADINGS[sheet] + "\r\n")
            writer = csv.writer(file)
            for number in range(first, first + count):
                for row in make(f"1987.{number:05d}", chance):
                    writer.writerow(row)
                    rows += 1
    return rows


def _objects(code: str, chance: random.Random) -> Iterator[tuple[object, ...]]:
    kind = chance.choice(KINDS)
    yield (code, f"{kind} {code}", kind, "Tidewell & Sons", f"{chance.randrange(1880, 1940)}~", "wood, iron")


def _components(code: str, chance: random.Random) -> Iterator[tuple[object, ...]]:
    yield (code, "body", "body", "oak", chance.randrange(2, 30), "original")


def _zones(code: str, chance: random.Random) -> Iterator[tuple[object, ...]]:
    for zone in range(1, ZONES + 1):
        yield (
            code,
            f"Z{zone}",
            "body",
            f"panel {zone}",
            f"{chance.uniform(0.1, 3):.2f}",
            "measured",
            chance.choice(("visible", "hidden", "inconspicuous")),
        )


def _schemes(code: str, chance: random.Random) -> Iterator[tuple[object, ...]]:
    for scheme in range(1, SCHEMES + 1):
        yield (
            code,
            scheme,
            f"scheme {scheme}",
            "original" if scheme == 1 else "later",
            scheme,
            f"{1880 + scheme * 20}/{1900 + scheme * 20}",
            chance.choice(("confirmed", "probable")),
        )


def _samples(code: str, chance: random.Random) -> Iterator[tuple[object, ...]]:
    for sample in range(1, SAMPLES + 1):
        yield (
            code,
            f"S{sample:02d}",
            f"Z{chance.randrange(1, ZONES + 1)}",
            "cross-section",
            f"{chance.uniform(0, 400):.1f}",
            f"{chance.uniform(0, 300):.1f}",
            f"2019-05-{chance.randrange(1, 29):02d}",
            "Invented Person",
            "random",
            chance.choice(("yes", "no")),
            chance.randrange(80, 600),
        )


def _layers(code: str, chance: random.Random) -> Iterator[tuple[object, ...]]:
    pick, between = chance.choice, chance.uniform
    for sample in range(1, SAMPLES + 1):
        for position in range(1, COATS + 1):
            middle = between(5, 80)
            scheme = min(position, SCHEMES)
            yield (
                code,
                f"S{sample:02d}",
                position,
                pick(ROLES),
                pick(BINDERS),
                "looked",
                pick(COLOURS),
                f"{chance.randrange(1, 11)}.5R {chance.randrange(2, 9)}/{chance.randrange(1, 12)}",
                f"{between(15, 95):.1f}",
                f"{between(-40, 60):.1f}",
                f"{between(-40, 70):.1f}",
                f"{between(1, 95):.1f}",
                f"{middle:.0f}",
                f"{middle * 0.8:.0f}",
                f"{middle * 1.2 + 1:.0f}",
                pick(("dull", "bright yellow", "")),
                pick(("sharp", "diffuse", "dirt between")),
                scheme,
                "original" if scheme == 1 else "later",
                pick(("confirmed", "probable", "possible")),
                pick(("intact", "partial", "trace")),
                pick((100, 60, 5)),
            )
