"""The generated survey package of the benches with words in it: as frequent and as rare as in a real collection.

Word frequencies fall with their rank (Zipf), from a few trade words in a third of all coats to invented ones in a
handful. Beside the sheets of `made_package` there are tests, hazards, decorations and conditions, so that every
filter has something to narrow. The seed is fixed.
"""

from __future__ import annotations

import csv
import random
from itertools import accumulate
from pathlib import Path

from speed.made_package import write_package

TRADE = (
    "crazed",
    "dirt",
    "varnish",
    "sharp",
    "diffuse",
    "granular",
    "pale",
    "opaque",
    "red",
    "brown",
    "orange",
    "fluoresces",
    "yellowed",
    "green",
    "thin",
    "cream",
    "coarse",
    "black",
    "particles",
    "translucent",
    "lead",
    "white",
    "ochre",
    "blue",
    "lake",
    "umber",
    "bleached",
    "scratched",
    "wrinkled",
    "chalky",
    "bronze",
    "vermilion",
    "ultramarine",
    "orpiment",
    "verdigris",
    "smalt",
)
COLOURS = (
    "dark green",
    "signal red",
    "cream",
    "brown black",
    "prussian blue",
    "vert foncé",
    "off-white",
    "chocolate brown",
    "pale cream",
    "warm grey",
    "bottle green",
    "deep crimson lake",
    "straw yellow",
    "slate",
    "purple brown",
    "ivory",
    "royal blue",
    "gold",
    "silver grey",
    "salmon pink",
    "eau de nil",
    "maroon",
)
MAKERS = ("Tidewell & Sons", "Harbottle Carriage Works", "Ostrin Foundry", "Mellish & Crane", "unknown maker")
AGENTS = (
    "acetone",
    "1 acetone + 3 isooctane",
    "water",
    "ethanol",
    "2 ethanol + 1 isooctane",
    "water + 1% ammonium citrate",
    "white spirit 17%",
    "isopropanol",
)
HAZARDS = ("lead paint", "asbestos packing", "mercury pigment", "arsenic pigment")
RARE = 4000
_SYLLABLES = (
    "al",
    "bro",
    "cor",
    "den",
    "el",
    "fa",
    "gri",
    "hol",
    "im",
    "ju",
    "ka",
    "lo",
    "mi",
    "nor",
    "os",
    "pri",
    "qua",
    "ru",
    "sti",
    "tor",
    "ul",
    "ven",
    "wy",
    "zan",
)


def rare_words() -> list[str]:
    """Invented words, each another one."""
    chance = random.Random(11)
    found: dict[str, None] = {}
    while len(found) < RARE:
        found.setdefault("".join(chance.choices(_SYLLABLES, k=4)))
    return list(found)


WORDS = (*TRADE, *rare_words())
_WEIGHTS = list(accumulate(1 / rank for rank in range(1, len(WORDS) + 1)))
_COLOUR_WEIGHTS = list(accumulate(1 / rank for rank in range(1, len(COLOURS) + 1)))


def write_searched(folder: Path, layers: int) -> None:
    """The package: as `write_package`, with words in its coats and titles, and some sheets more."""
    write_package(folder, layers)
    chance = random.Random(3)
    _changed(folder / "layers.csv", lambda row: _coat(row, chance))
    _changed(folder / "objects.csv", lambda row: _object(row, chance))
    codes = [row["object"] for row in _rows(folder / "objects.csv")]
    _written(
        folder / "tests.csv",
        "object,test,place,agent,application,tested_on",
        (
            (code, "T1", f"Z{chance.randrange(1, 7)}", chance.choice(AGENTS), "rolled swab", "2019-05")
            for code in codes
            if chance.random() < 0.3
        ),
    )
    _written(
        folder / "hazards.csv",
        "object,hazard,kind,status",
        (
            (code, "H1", chance.choice(HAZARDS), chance.choice(("suspected", "confirmed", "not found")))
            for code in codes
            if chance.random() < 0.2
        ),
    )
    _written(
        folder / "decorations.csv",
        "object,decoration,place,kind,scheme,state,description",
        (
            (
                code,
                "D1",
                f"Z{chance.randrange(1, 7)}",
                chance.choice(("lettering", "lining", "ornament")),
                "1",
                chance.choice(("exposed", "covered", "lost", "not found")),
                " ".join(_some(chance, 3)),
            )
            for code in codes
            if chance.random() < 0.3
        ),
    )
    _written(
        folder / "conditions.csv",
        "object,place,phenomenon,observed_on,severity",
        (
            (code, f"Z{chance.randrange(1, 7)}", chance.choice(("flaking", "cracking", "bloom")), "2019-05", 2)
            for code in codes
            if chance.random() < 0.4
        ),
    )


def _coat(row: dict[str, str], chance: random.Random) -> None:
    (row["colour"],) = chance.choices(COLOURS, cum_weights=_COLOUR_WEIGHTS)
    row["boundary"] = " ".join(_some(chance, chance.randrange(1, 5))) if chance.random() < 0.4 else ""


def _object(row: dict[str, str], chance: random.Random) -> None:
    row["title"] = " ".join((row["kind"].capitalize(), *_some(chance, 2)))
    row["maker"] = chance.choice(MAKERS)


def _some(chance: random.Random, count: int) -> list[str]:
    return chance.choices(WORDS, cum_weights=_WEIGHTS, k=count)


def _rows(path: Path) -> list[dict[str, str]]:
    with open(path, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _changed(path: Path, change: object) -> None:
    assert callable(change)
    before = path.with_suffix(".before")
    path.rename(before)
    with open(before, encoding="utf-8", newline="") as old, open(path, "w", encoding="utf-8", newline="") as new:
        reader = csv.DictReader(old)
        writer = csv.DictWriter(new, reader.fieldnames or ())
        writer.writeheader()
        for row in reader:
            change(row)
            writer.writerow(row)
    before.unlink()


def _written(path: Path, headings: str, rows: object) -> None:
    with open(path, "w", encoding="utf-8", newline="") as file:
        file.write(headings + "\r\n")
        csv.writer(file).writerows(rows)  # type: ignore[arg-type]
