"""One large object: 120 samples with 2,000 layers on 40 zones of 4 parts, tests, works and proposals, all of it made up.

By the design's bar for pages (its section 11). A tram would have some of this after thirty years of surveys.
"""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

from site_packages import png, write_package

CODE = "BIG-1"
PARTS, ZONES_PER_PART, SAMPLES, COATS = 4, 10, 120, 17
SCHEMES = (
    ("1", "first green", "original", "dark green", "oil"),
    ("2", "second cream", "later", "cream", "oil"),
    ("3", "third red", "later", "red", "alkyd"),
    ("4", "fourth blue", "later", "blue", "alkyd"),
)
COLOURS = {code: colour for code, _, _, colour, _ in SCHEMES}
BINDERS = {code: binder for code, _, _, _, binder in SCHEMES}
BUILD_UP = (
    ("support", None),
    ("primer", "1"),
    ("ground", "1"),
    ("body colour", "1"),
    ("varnish", "1"),
    ("dirt", None),
    ("primer", "2"),
    ("body colour", "2"),
    ("varnish", "2"),
    ("dirt", None),
    ("primer", "3"),
    ("body colour", "3"),
    ("varnish", "3"),
    ("dirt", None),
    ("primer", "4"),
    ("body colour", "4"),
    ("varnish", "4"),
)
AGENTS = ("acetone", "1 ethanol + 4 isooctane", "isooctane", "water", "ethanol", "white spirit")
RESPONSES = ("no effect", "softened", "removed", "swelled")

Rows = dict[str, list[dict[str, Any]]]


def large_object(code: str = CODE, seed: int = 7) -> Rows:
    """The rows of the object by sheet; the same for the same seed."""
    draw = random.Random(seed)
    rows: Rows = {
        "objects": [{"object": code, "title": "Large tram", "kind": "tram", "surroundings": "indoors"}],
        "drawings": [{"object": code, "drawing": f"V{n}", "title": f"Side {n}", "file": "side.svg"} for n in (1, 2)],
        "schemes": [
            {"object": code, "scheme": scheme, "name": name, "period": period, "rank": scheme, "certainty": "confirmed"}
            for scheme, name, period, _, _ in SCHEMES
        ],
    }
    zones = [f"P{part}-Z{zone}" for part in range(PARTS) for zone in range(ZONES_PER_PART)]
    rows["components"] = [
        {"object": code, "component": f"P{part}", "name": f"part {part}", "area_m2": 12, "origin": "original"}
        for part in range(PARTS)
    ]
    rows["zones"] = []
    for number, zone in enumerate(zones):
        part, at = divmod(number, ZONES_PER_PART)
        left, top = 10 + 98 * at, 20 + 190 * (part % 2)
        rows["zones"].append(
            {
                "object": code,
                "zone": zone,
                "component": f"P{part}",
                "name": f"panel {at} of part {part}",
                "area_m2": 1.1,
                **(
                    {
                        "drawing": f"V{1 + part // 2}",
                        "outline": f"{left},{top} {left + 90},{top} {left + 90},{top + 170} {left},{top + 170}",
                    }
                    if at < ZONES_PER_PART - 1
                    else {}
                ),
            }
        )
    rows["samples"], rows["layers"] = [], []
    for number in range(SAMPLES):
        sample, at = f"S{number + 1}", number % len(zones)
        place = rows["zones"][at]
        where = {}
        if "outline" in place:
            left, top = (int(n) for n in place["outline"].split()[0].split(","))
            where = {"x": left + 20 + 20 * (number // len(zones)), "y": top + 60 + 30 * (number // len(zones))}
        whole = draw.random() < 0.8
        rows["samples"].append(
            {
                "object": code,
                "sample": sample,
                "place": place["zone"],
                "method": "cross-section",
                "taken_on": f"{2004 + number // 12}-05-{1 + number % 28:02d}",
                "reaches_support": "yes" if whole else "no",
                **where,
            }
        )
        build_up = BUILD_UP if whole else BUILD_UP[draw.randint(3, 8) :]
        # The rest up to the number of coats are later touching-in of the outermost scheme.
        for position, (role, scheme) in enumerate((*build_up, *[("body colour", "4")] * (COATS - len(build_up))), 1):
            rows["layers"].append(
                {
                    "object": code,
                    "sample": sample,
                    "position": position,
                    "role": role,
                    **({"binder": BINDERS[scheme]} if scheme else {}),
                    # Most surveyors name the maker's finish, few every later one: the rest is correlated.
                    **({"scheme": scheme} if scheme == "1" or (scheme and number % 3 == 0) else {}),
                    **({"colour": COLOURS[scheme]} if scheme and role == "body colour" else {}),
                    **({} if role == "support" else {"thickness_um": draw.randint(3, 40)}),
                }
            )
    rows["tests"] = [
        {
            "object": code,
            "test": f"T{n}",
            "place": draw.choice(zones),
            "agent": AGENTS[n % len(AGENTS)],
            "application": "rolled swab",
            "dwell_s": draw.choice((10, 30, 60)),
            "looked_with": "microscope",
            "after_drying": "yes",
            "tested_on": f"20{10 + n % 14:02d}-06-01",
        }
        for n in range(60)
    ]
    rows["responses"] = [
        {"object": code, "test": f"T{n}", "scheme": scheme, "response": draw.choice(RESPONSES)}
        for n in range(60)
        for scheme in ("1", "3", "4")
    ]
    rows["treatments"] = [
        {"object": code, "treatment": f"W{n}", "purpose": "repainting", "started": str(1920 + 3 * n), "outcome": "done"}
        for n in range(20)
    ]
    rows["treatment_steps"] = [
        {"object": code, "treatment": f"W{n}", "step": 1, "place": zones[2 * n], "action": "coat", "adds": "paint"}
        for n in range(20)
    ]
    rows["proposals"] = [
        {
            "object": code,
            "proposal": f"Q{n}",
            "title": f"Strip side {n}",
            "proposed_by": "A. Proposer",
            "proposed_on": "2024-02-01",
        }
        for n in range(4)
    ]
    rows["proposal_steps"] = [
        {
            "object": code,
            "proposal": f"Q{n}",
            "step": step,
            "place": zones[10 * n + step],
            "action": "solvent",
            "agent": AGENTS[step % 3],
            "application": "rolled swab",
            "dwell_s": 30,
            "removes": "4",
            "stop_at": "3",
        }
        for n in range(4)
        for step in range(1, 5)
    ]
    return rows


def large_package(folder: Path, *more: Rows) -> Path:
    """A survey package of the large object, and of others."""
    survey = {"code": "BIG", "title": "Made up", "lead": "A. Surveyor", "started": "2024-01-01", "invented": "yes"}
    side = (
        b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1000 400">'
        b'<rect width="1000" height="400" fill="#dddddd"/></svg>'
    )
    return write_package(folder, survey, large_object(), *more, files={"side.svg": side, "picture.png": png()})
