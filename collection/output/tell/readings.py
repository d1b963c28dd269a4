"""What a sample says of the maker's finish, in words, and which samples tell most side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from collection.language.sentences import some
from collection.output.published.published_object import PublishedObject
from collection.records.codes import natural
from collection.values.dates import bounds

Json = dict[str, Any]

NOBODY = "Nobody has looked here, which does not mean that nothing is there"
_FOUND = {
    "intact": "The maker's finish is here, intact",
    "present": "The maker's finish is here",
    "partial": "The maker's finish is here in part",
    "trace": "Only a trace of the maker's finish, or what prepared it, is here",
}
SILENT = {"gauge": "thickness measured only", "surface": "surface looked at only"}
"""What a sample says that tells nothing of what lies deeper, by its method."""
MOST_STACKS, MOST_COATS = 12, 60
"""How many samples stand side by side, and how many coats they have together: what a phone loads in a second or two."""


def sentence(sample: Mapping[str, Any]) -> str:
    """What a sample says about the maker's finish, without its full stop."""
    found = sample.get("original")
    if found is None:
        if sample["method"] == "gauge":
            return "Only its thickness was measured; nobody has looked at the coats here"
        if sample["method"] == "surface":
            return "Only the surface was looked at; it says nothing of the maker's finish"
        if sample.get("reaches_support") != "yes":
            return "Looked at; the sample stops short of where the maker's finish would lie"
        return "It does not say whether the maker's finish survives"
    if found["level"] == "absent":
        if found["history"]:
            return "The maker's finish was here, and has been taken off since"
        return (
            "Nothing of the maker's finish is here"
            if found["implied"]
            else "The maker's finish was looked for here and not found"
        )
    return _FOUND[found["level"]] + (", before it was taken off" if found["history"] else "")


def looked_at(published: PublishedObject, place: str) -> str:
    """What can be said of a place in which nothing speaks of the maker's finish, without its full stop: that nobody has
    looked, or who looked and stopped short. Samples of the zones in it count."""
    inside = _inside(published, place)
    silent = [
        row
        for row in published["samples"]
        if row["place"] in inside and row["method"] != "gauge" and row.get("original") is None
    ]
    if not silent:
        return NOBODY
    short = sorted((row["sample"] for row in silent if row.get("reaches_support") != "yes"), key=natural)
    if not short:
        return "Looked at, down to the support; no coat is known to be the maker's, and none is known to be missing"
    many = len(short) > 1
    return (
        f"Looked at; {'samples' if many else 'sample'} {some(short, 4)} {'stop' if many else 'stops'} short of where "
        "the maker's finish would lie"
    )


def _inside(published: PublishedObject, place: str) -> set[str]:
    """A place and the zones in it."""
    found, more = {place}, {place}
    while more:
        more = {
            row["zone"]
            for row in published["zones"]
            if row["zone"] not in found and (row.get("within") in more or row.get("component") in more)
        }
        found |= more
    return found


def verdict_of(published: PublishedObject, row: Json) -> Json:
    found = row["original"]
    if found is None:
        says = "does not tell" if row.get("reaches_support") == "yes" else "not reached: it stops short"
        return {"says": SILENT.get(row["method"], says), "pattern": "not examined"}
    says = {"partial": "found in part", "trace": "a trace found", "absent": "not found"}.get(found["level"], "found")
    where = published.states.get(row["place"], {}).get("state")
    pattern = {"partial": "original fragmentary", "trace": "original fragmentary", "absent": "original not found"}.get(
        found["level"], "original exposed" if where == "original exposed" else "original covered"
    )
    if found["history"]:
        return {"says": f"{says}, before it was taken off", "pattern": "original removed"}
    return {"says": says, "pattern": pattern}


def chosen(
    published: PublishedObject, samples: Sequence[Json], *, stacks: int = MOST_STACKS, coats: int = MOST_COATS
) -> list[Json]:
    """The samples to draw: of each place one before a second of any, those with a micrograph first, then the newest."""
    order = sorted(samples, key=_newest_first, reverse=True)
    order.sort(key=lambda row: published.micrograph(row["sample"]) is None)
    seen: dict[str, int] = {}
    turn = {}
    for row in order:
        turn[row["sample"]] = seen[row["place"]] = seen.get(row["place"], 0) + 1
    found: list[Json] = []
    drawn = 0
    for row in sorted(order, key=lambda row: turn[row["sample"]]):
        number = len(published.coats(row["sample"]))
        if number and (not found or drawn + number <= coats):
            found.append(row)
            drawn += number
        if len(found) == stacks:
            break
    return sorted(found, key=lambda row: natural(row["sample"]))


def _newest_first(row: Json) -> str:
    return bounds(row["taken_on"]).latest if row.get("taken_on") else ""
