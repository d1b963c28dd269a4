"""Why a line alarmed, and why a thing was cleared, as far as words and evidence tell: for counts of causes only."""

from __future__ import annotations

from typing import Any

from world.outcome import Kept
from world.records import Survey
from world.truth import Thing, Zone

WORDS = (
    ("reserve", ("reserve", "must stay")),
    ("failing finish", ("failing", "flaking", "blister", "lifting", "chalking")),
    ("not found so far", ("not found so far",)),
    ("like", ("its like", "a like", "same scheme")),
    ("model or class", ("published", "model", "known to act", "class")),
    ("heat", ("soften",)),
    ("cut", ("cut of", "films", "film above", "stop", "edges")),
)


def names_of(one: Kept) -> tuple[str, ...]:
    """The lines that speak of a kept thing: of its role, and of a line that was listed as a decoration."""
    own = f"{one.place}/{one.thing}"
    return (own, f"{one.place}/D-{one.place}") if one.thing == "1/lining" else (own,)


def cause(line: dict[str, Any], findings: list[dict[str, Any]], thing: Thing, survey: Survey, kept: list[Kept]) -> str:
    """A few words: what spoke, and of which kind of coat.

    Kinds of coat: met or not by a test that did nothing and is as harsh; reached in truth or not; not kept in truth.
    """
    own = [
        each
        for each in findings
        if each["severity"] == line["severity"]
        and each["place"] == line["place"]
        and (each["id"].endswith(line["id"]) or line["id"].split("/", 1)[-1] in each["id"])
    ]
    text = " ".join([*(each["message"] for each in own), line["message"]]).casefold()
    tests = any(one["kind"] == "tests" for each in own for one in each["evidence"])
    rules = {each["rule"] for each in own} - {"effect"}
    if rules:
        spoke = min(rules)
    else:
        # A response stands at the start of what speaks of the coat's own test; a like or a model says so later.
        spoke = next((name for name, words in WORDS if any(word in text for word in words)), "")
        spoke = spoke or ("harsher test of the coat" if "harsher" in text else "own test" if tests else "other")
    true = next((one for one in kept if line["id"] in names_of(one)), None)
    if line["id"].endswith("/support"):
        kind = "the support"
    elif true is None:
        kind = "a coat that is not there"
    elif true.touched <= 0.02:
        kind = "a coat out of reach in truth"
    else:
        kind = "a coat met by such a test" if true.met else "a coat reached and never met"
    return f"{spoke}; {kind}"


def unseen(one: Kept, survey: Survey, zones: dict[str, Zone]) -> str:
    """What its place was read for, and what befell it: to tell how a harm could be cleared."""
    read = survey.readings.get(one.place, [])
    zone = zones.get(one.place)
    past = zone.past if zone is not None and zone.past else "window" if zone is None else "nothing befell it"
    seen = sum(one.thing in things for _, things in read)
    short = sum(not whole for whole, _ in read)
    return f"{past}; " + (
        "no section of its own"
        if not read
        else f"{'seen' if seen else 'not seen'} in its own sections" + (", some short" if short else "")
    )
