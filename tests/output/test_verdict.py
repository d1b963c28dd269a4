"""What an approver reads first: the worst of an assessment in a sentence, each thing once, and the coats that go."""

from __future__ import annotations

from typing import Any

import pytest

from collection.output.published.published_object import PublishedObject
from collection.output.tell import verdict

Json = dict[str, Any]


def loss(place: str, thing: str, severity: str, *steps: int, coats: tuple[str, ...] = (), **more: Any) -> Json:
    scheme, _, role = thing.partition("/")
    return {
        "id": f"{place}/{thing}",
        "place": place,
        "scheme": scheme if role else None,
        "role": role or None,
        "decoration": None,
        "severity": severity,
        "steps": list(steps),
        "share": [0.1, 0.5, 1.0],
        "area_m2": None,
        "message": f"{place}: {thing} … Step {steps[0]} (scrape): It cuts to the wood.",
        "would_change_it": "Stop above it.",
        "intended": False,
        "withheld": 0,
        "evidence": [{"kind": "layers", "key": f"DOOR/{coat}"} for coat in coats],
        **more,
    }


def coat(sample: str, position: int, role: str) -> Json:
    return {"key": f"DOOR/{sample}/{position}", "sample": sample, "position": position, "role": role}


@pytest.fixture
def door() -> PublishedObject:
    """A shop door: first green on both leaves, under cream; S2 has a micrograph, S10 has none."""
    roles = ("varnish", "body colour", "primer", "support")
    samples = [
        {
            "sample": sample,
            "place": place,
            "method": "cross-section",
            "reaches_support": "yes",
            "original": None,
            "layers": [coat(sample, position, role) for position, role in zip((4, 3, 2, 1), roles, strict=True)],
        }
        for sample, place in (("S10", "L"), ("S2", "R"))
    ]
    return PublishedObject(
        {
            "object": "DOOR",
            "title": "Shop door",
            "components": [{"component": "BODY", "name": "door"}],
            "zones": [{"zone": "L", "name": "left leaf"}, {"zone": "R", "name": "right leaf"}, {"zone": "F"}],
            "schemes": [
                {"scheme": "1", "name": "First green: oil, lined in gold", "period": "original"},
                {"scheme": "2", "name": "Cream", "period": "later"},
            ],
            "decorations": [{"decoration": "D1", "kind": "lining"}],
            "samples": samples,
            "pictures": [{"picture": "M1", "file": "m.png", "sample": "S2", "lighting": "normal"}],
        }
    )


def assessed(outcome: str, *losses: Json) -> Json:
    return {"outcome": outcome, "losses": list(losses)}


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (
            assessed("destroys", loss("L", "1/varnish", "destroys", 1), loss("L", "1/body colour", "endangers", 1)),
            "Destroys varnish of “First green” on left leaf. It also endangers body colour.",
        ),
        (
            assessed("destroys", loss("L", "1/varnish", "destroys", 1), loss("R", "1/varnish", "destroys", 1)),
            "Destroys varnish of “First green” on left leaf and right leaf.",
        ),
        (
            assessed("destroys", loss("L", "1/varnish", "destroys", 1, intended=True)),
            "Destroys varnish of “First green” on left leaf. That is meant to go.",
        ),
        (
            assessed("endangers", loss("L", "1/varnish", "endangers", 1), loss("L", "2/varnish", "endangers", 1)),
            "Endangers varnish of “First green” and varnish of “Cream” on left leaf.",
        ),
        (
            assessed("untested", loss("F", "not examined", "untested", 1)),
            "Nobody has tested what this does to whatever finish nobody has looked at on F.",
        ),
        (
            assessed("untested", loss("L", "1/finish not found so far", "untested", 1, scheme=None, role=None)),
            "Nobody has tested what this does to what stood on the preparation of “First green” on left leaf.",
        ),
        (
            assessed("stood", loss("L", "1/varnish", "stood", 1)),
            "Varnish of “First green” on left leaf stood a test as harsh as this.",
        ),
        (
            assessed("destroys", {**loss("L", "1/varnish", "destroys", 1), "id": "not published/1", "place": None}),
            "Destroys something that is not published on a place that is not published.",
        ),
        (assessed("clear"), "By the records, it can reach nothing that is kept."),
    ],
)
def test_the_sentence_says_the_worst_by_name(door: PublishedObject, found: Json, said: str) -> None:
    assert verdict.sentence(door, found) == said


def test_what_may_be_there_is_not_told_before_what_was_found(door: PublishedObject) -> None:
    found = assessed(
        "endangers",
        loss("L", "1/metal leaf", "endangers", 1, id="L/1/metal leaf not found so far"),
        loss("L", "1/varnish", "endangers", 1),
    )
    assert verdict.sentence(door, found) == "Endangers varnish of “First green” on left leaf."
    (line,) = verdict.lines(door, found["losses"])
    assert line.things == ("metal leaf (not found here so far)", "varnish")


def test_one_line_says_each_thing_and_each_place_once(door: PublishedObject) -> None:
    """Two coats on two leaves, one of them by two steps: four losses, one line; a decoration belongs to its finish."""
    losses = [
        loss("R", "1/varnish", "destroys", 1),
        loss("L", "1/varnish", "destroys", 1, 3),
        loss("L", "1/body colour", "destroys", 2),
        loss("R", "1/lining", "destroys", 2, decoration="D1"),
        loss("L", "2/varnish", "stood", 1),
    ]
    worst, stood = verdict.lines(door, losses)
    assert worst.things == ("varnish", "body colour", "lining D1")
    assert worst.places == ("L", "R")
    assert worst.steps == (1, 2, 3)
    assert worst.reasons == ("Step 1 (scrape): It cuts to the wood.", "Step 2 (scrape): It cuts to the wood.")
    assert worst.remedies == ("Stop above it.",)
    assert (stood.severity, stood.finish) == ("stood", "Cream")


def test_a_place_shows_its_worst_and_every_step_that_touches_it(door: PublishedObject) -> None:
    losses = [loss("L", "1/varnish", "stood", 1), loss("L", "1/body colour", "endangers", 2)]
    found = verdict.touched(losses, [{"step": 1, "place": "L"}, {"step": 2, "place": "L"}, {"step": 3, "place": "R"}])
    assert [(place.code, place.severity, place.steps) for place in found] == [
        ("L", "endangers", (1, 2)),
        ("R", "clear", (3,)),
    ]


def test_the_section_brackets_just_the_coats_that_would_go(door: PublishedObject) -> None:
    """Of S10 the varnish is destroyed and the primer untested, the body colour between them stands."""
    losses = [
        loss("L", "1/varnish", "destroys", 1, coats=("S10/4",)),
        loss("L", "1/preparation", "untested", 1, coats=("S10/2",)),
        loss("L", "1/body colour", "stood", 1, coats=("S10/3",)),
    ]
    found = verdict.section(door, losses)
    assert found is not None
    assert found[0] == "S10"
    assert [(bracket.kind, bracket.positions) for bracket in found[1]] == [("destroys", (4,)), ("untested", (2,))]


def test_the_section_is_of_a_place_that_loses_and_has_a_micrograph_if_it_can(door: PublishedObject) -> None:
    both = [loss(place, "1/varnish", "destroys", 1, coats=("S2/4", "S10/4")) for place in ("L", "R")]
    left = [loss("L", "1/varnish", "destroys", 1, coats=("S2/4", "S10/4"))]
    assert [found and found[0] for found in (verdict.section(door, both), verdict.section(door, left))] == ["S2", "S10"]
    assert verdict.section(door, [loss("F", "not examined", "untested", 1)]) is None


def test_requirements_with_one_remedy_stand_together_and_those_before_approval_first() -> None:
    rows = [
        {"when": when, "rule": rule, "remedy": remedy, "message": message, "reference": None}
        for when, rule, remedy, message in (
            ("work", "trial panel", "Make a trial panel.", "Step 1: none."),
            ("work", "trial panel", "Make a trial panel.", "Step 2: none."),
            ("approval", "owner's permission", "Record it.", "Not recorded."),
        )
    ]
    found = [(need.rule, need.messages) for need in verdict.needs(rows)]
    assert found == [("owner's permission", ("Not recorded.",)), ("trial panel", ("Step 1: none.", "Step 2: none."))]
