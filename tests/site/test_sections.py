"""The pages of samples and of their sequence, and what is said where nothing speaks of the maker's finish."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from site_answers import get
from site_packages import database_of, write_package

from collection.output.published.published_object import PublishedObject
from collection.output.site.publish import publish
from collection.output.tell.readings import NOBODY, looked_at, sentence

Json = dict[str, Any]
READ = {"method": "cross-section", "reaches_support": "no", "original": None}


def found(level: str, *, implied: bool = False, history: bool = False) -> Json:
    return {"level": level, "implied": implied, "history": history}


@pytest.mark.parametrize(
    ("sample", "said"),
    [
        (READ, "Looked at; the sample stops short of where the maker's finish would lie"),
        ({**READ, "reaches_support": "yes"}, "It does not say whether the maker's finish survives"),
        ({**READ, "method": "surface"}, "Only the surface was looked at; it says nothing of the maker's finish"),
        ({**READ, "method": "gauge"}, "Only its thickness was measured; nobody has looked at the coats here"),
        ({**READ, "original": found("intact")}, "The maker's finish is here, intact"),
        (
            {**READ, "original": found("partial", history=True)},
            "The maker's finish is here in part, before it was taken off",
        ),
        ({**READ, "original": found("absent", implied=True)}, "Nothing of the maker's finish is here"),
        ({**READ, "original": found("absent")}, "The maker's finish was looked for here and not found"),
    ],
)
def test_a_sample_says_what_it_shows(sample: Json, said: str) -> None:
    assert sentence(sample) == said


def place_with(*samples: Json) -> PublishedObject:
    return PublishedObject(
        {
            "object": "D-1",
            "title": "Door",
            "zones": [
                {"zone": "panel", "component": "door", "within": None},
                {"zone": "corner", "component": "door", "within": "panel"},
                {"zone": "frame", "component": "wall", "within": None},
            ],
            "samples": [{**READ, "sample": f"S{at}", **row} for at, row in enumerate(samples, 1)],
        }
    )


@pytest.mark.parametrize(
    ("samples", "said"),
    [
        ([], NOBODY),
        ([{"place": "frame"}], NOBODY),
        ([{"place": "door", "method": "gauge"}], NOBODY),
        ([{"place": "door"}], "Looked at; sample S1 stops short of where the maker's finish would lie"),
        ([{"place": "corner"}], "Looked at; sample S1 stops short of where the maker's finish would lie"),
        (
            [{"place": "door"}] * 10,
            "Looked at; samples S1, S2, S3, S4 and 6 more stop short of where the maker's finish would lie",
        ),
    ],
)
def test_looked_at_is_not_nobody_has_looked(samples: list[Json], said: str) -> None:
    """A sample that stops short was somebody's look; those of the zones in a part count for it, a gauge sees no coat."""
    assert looked_at(place_with(*samples), "door") == said


def test_a_coat_has_one_colour_on_every_page(tmp_path: Path) -> None:
    """Recorded by Munsell alone, under words that say another colour: the chip's colour in the stack of the sample and
    of the place, in the bands, and in the table. Before, pages fell back to the words."""
    rows: dict[str, list[Json]] = {
        "objects": [{"object": "D-1", "title": "Door", "kind": "door"}],
        "components": [{"object": "D-1", "component": "door", "name": "Door", "origin": "original"}],
        "schemes": [{"object": "D-1", "scheme": "1", "name": "First", "period": "original"}],
        "samples": [
            {"object": "D-1", "sample": "S1", "place": "door", "method": "cross-section", "reaches_support": "yes"}
        ],
        "layers": [
            {"object": "D-1", "sample": "S1", "position": 1, "role": "support", "colour": "oak"},
            {
                "object": "D-1",
                "sample": "S1",
                "position": 2,
                "role": "body colour",
                "scheme": "1",
                "colour": "harbour green",
                "munsell": "5B 5/6",
                "thickness_um": 30,
            },
        ],
    }
    survey = {"code": "S1", "title": "t", "lead": "l", "started": "2019-05-01"}
    publish(database_of(tmp_path / "a.db", write_package(tmp_path / "p", survey, rows)), tmp_path / "out")
    pages = get(tmp_path / "out", *(f"/object/D-1/{end}" for end in ("sample/S1", "place/door", "stratigraphy")))
    fills = [
        set(re.findall(r'fill="(#[0-9a-f]{6})"', page.text.split("<main")[1])) - {"#1d1d1d", "#6b6459"}
        for page in pages
    ]
    blue = set.intersection(*fills)
    assert len(blue) == 1
    red, green, more_blue = (int(next(iter(blue))[at : at + 2], 16) for at in (1, 3, 5))
    assert red < green < more_blue, "5B is a blue, whatever the words say"
