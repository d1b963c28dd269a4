"""What an approver reads first of an assessment: one sentence, the losses merged, where they lie, the section to look at.

An assessment has a line for every kept thing of every place. Somebody with twenty seconds needs them said once: what, of
which finish, in which places, how badly; and the spot and the sample that show it. Nothing is decided here: severities,
shares and reasons are those of the assessment.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from collection.compute.build_up.places import ALL
from collection.language.sentences import counted, percent
from collection.language.words import SEVERITY_RANK
from collection.output.drawings.stack_panel import Bracket
from collection.output.published.published_object import PublishedObject
from collection.records.codes import natural

Json = dict[str, Any]

CLEARED = ("stood", "clear")
UNSAID = "a place that is not published"
"""Stands for the place of a loss of which only the severity is published."""
MOST_NAMED = 3
"""How many places or coats a sentence names before it counts them."""
FORMS = {
    "destroys": "would be destroyed",
    "endangers": "endangered",
    "untested": "untested",
    "stood": "stood the test",
    "clear": "out of reach",
}
_NOT_FOUND, _NOT_FOUND_HERE = "not found so far", "not found here so far"
_SPECIAL = {
    "not examined": "whatever finish nobody has looked at",
    "below what was seen": "what lies deeper than anybody has looked",
    "paint over the joint": "the paint over joints and screws",
    "support": "the support",
    "part": "the part itself",
}
_STEP = re.compile(r"Step \d+ \([^)]*\): ")


@dataclass(frozen=True)
class Kept:
    """A kept thing as a reader calls it: `name` of the finish `finish`, which is empty where it belongs to none."""

    name: str
    finish: str = ""


@dataclass(frozen=True)
class Line:
    """Losses that say the same: one severity, one finish. `meant` are those that the work means to take off."""

    severity: str
    finish: str
    things: tuple[str, ...]
    places: tuple[str, ...]
    steps: tuple[int, ...]
    share: str | None
    reasons: tuple[str, ...]
    remedies: tuple[str, ...]
    meant: bool
    losses: tuple[Json, ...]
    withheld: int


@dataclass(frozen=True)
class Touched:
    """A place that the work touches, by the worst that it does there, and by which steps."""

    code: str
    severity: str
    steps: tuple[int, ...]


@dataclass(frozen=True)
class Need:
    """Requirements of one rule, with one remedy: what to do, and for what."""

    when: str
    rule: str
    remedy: str | None
    messages: tuple[str, ...]
    reference: str | None


def kept_thing(published: PublishedObject, loss: Json) -> Kept:
    """What a line of an assessment is about, in words: names before codes."""
    if not loss.get("place"):
        return Kept("something that is not published")
    finish = _finish(published, loss.get("scheme"))
    if loss.get("decoration"):
        return Kept(_decoration(published, loss["decoration"]), finish)
    thing = loss["id"].partition("/")[2]
    if loss.get("role") is None and loss.get("scheme") is None:
        scheme, _, rest = thing.partition("/")
        if rest == _NOT_FOUND and _finish(published, scheme):
            return Kept(_NOT_FOUND_HERE, _finish(published, scheme))
        if rest == f"finish {_NOT_FOUND}" and _finish(published, scheme):
            return Kept("what stood on the preparation", _finish(published, scheme))
        return Kept(_SPECIAL.get(thing, thing))
    if thing.endswith("/preparation"):
        return Kept("preparation", finish)
    if thing.endswith(_NOT_FOUND):
        return Kept(f"{loss['role']} ({_NOT_FOUND_HERE})", finish)
    return Kept(loss["role"] or thing, finish)


def lines(published: PublishedObject, losses: Iterable[Json]) -> list[Line]:
    """The losses merged, the worst first; within a severity what is not meant to go comes first."""
    groups: dict[tuple[str, bool, str], list[Json]] = {}
    for loss in losses:
        kept = kept_thing(published, loss)
        # Reserves are one kind of thing, each with a name of its own.
        about = kept.finish or kept.name.partition(" ")[0]
        groups.setdefault((loss["severity"], bool(loss.get("intended")), about), []).append(loss)
    found = []
    for (severity, meant, _), members in groups.items():
        kept_things = [kept_thing(published, loss) for loss in members]
        shares = [loss["share"] for loss in members if loss["share"]]
        whole = shares and [min(s[0] for s in shares), max(s[1] for s in shares), max(s[2] for s in shares)]
        found.append(
            Line(
                severity,
                kept_things[0].finish,
                tuple(dict.fromkeys(kept.name for kept in kept_things)),
                tuple(sorted(dict.fromkeys(loss["place"] or UNSAID for loss in members), key=natural)),
                tuple(sorted({step for loss in members for step in loss["steps"]})),
                percent(whole) if whole else None,
                tuple(dict.fromkeys(why for loss in members for why in _reasons(loss["message"]))),
                tuple(dict.fromkeys(loss["would_change_it"] for loss in members if loss["would_change_it"])),
                meant,
                tuple(members),
                sum(loss.get("withheld", 0) for loss in members),
            )
        )
    return sorted(found, key=lambda line: (-SEVERITY_RANK[line.severity], line.meant, not line.finish))


def sentence(published: PublishedObject, assessment: Json) -> str:
    """The verdict in a sentence or two: the worst, on what, where, how much; then what else is endangered."""
    merged = lines(published, assessment["losses"])
    worst = [line for line in merged if line.severity == assessment["outcome"]]
    if not worst:
        return _NOTHING[assessment["outcome"]]
    places = list(dict.fromkeys(place for line in worst for place in line.places))
    where = _where(published, places)
    what = _and([_things(line) for line in worst[:2]])
    if len(worst) > 2:
        what += f" and of {len(worst) - 2} more"
    said = _VERBS[assessment["outcome"]].format(what=what, where=where)
    meant = " That is meant to go." if all(line.meant for line in worst) else ""
    rest = [
        line
        for line in merged
        if line.severity == "endangers"
        and line not in worst
        and not all(_NOT_FOUND_HERE in thing for thing in line.things)
    ]
    told = {line.finish for line in worst}
    more = f" It also endangers {_and([_things(line, told) for line in rest[:2]])}." if rest else ""
    return f"{said[0].upper()}{said[1:]}{meant}{more}"


_VERBS = {
    "destroys": "Destroys {what} {where}.",
    "endangers": "Endangers {what} {where}.",
    "untested": "Nobody has tested what this does to {what} {where}.",
    "stood": "{what} {where} stood a test as harsh as this.",
    "clear": "Out of reach: {what} {where}.",
}
_NOTHING = {
    "destroys": "Destroys what is kept.",
    "endangers": "Endangers what is kept.",
    "untested": "Nobody has tested what this does to what is kept.",
    "stood": "What is kept stood a test as harsh as this.",
    "clear": "By the records, it can reach nothing that is kept.",
}


def touched(losses: Iterable[Json], steps: Iterable[Json]) -> list[Touched]:
    """The places that lose something or are worked on, the worst first; `steps` are the proposal's."""
    worst: dict[str, str] = {}
    numbers: dict[str, set[int]] = {}
    for step in steps:
        worst.setdefault(step["place"], "clear")
        numbers.setdefault(step["place"], set()).add(step["step"])
    for loss in losses:
        place = loss["place"] or UNSAID
        if SEVERITY_RANK[loss["severity"]] >= SEVERITY_RANK[worst.setdefault(place, "clear")]:
            worst[place] = loss["severity"]
        numbers.setdefault(place, set()).update(loss["steps"])
    found = [Touched(place, severity, tuple(sorted(numbers[place]))) for place, severity in worst.items()]
    return sorted(found, key=lambda place: (-SEVERITY_RANK[place.severity], natural(place.code)))


def section(published: PublishedObject, losses: Sequence[Json]) -> tuple[str, list[Bracket]] | None:
    """The sample that shows best what goes, with the coats bracketed by severity; None where no sample has any of them.

    Taken is the sample with most of the coats of the worst lines, in a place of theirs rather than elsewhere, with a
    micrograph rather than without; in case of doubt the first by code.
    """
    threatened = [loss for loss in losses if loss["severity"] not in CLEARED]
    coats: dict[str, dict[int, str]] = {}
    for loss in threatened or losses:
        for sample, position in _coats(loss):
            held = coats.setdefault(sample, {})
            if SEVERITY_RANK[loss["severity"]] >= SEVERITY_RANK[held.get(position, "clear")]:
                held[position] = loss["severity"]
    if not coats:
        return None
    at = {row["sample"]: row["place"] for row in published["samples"]}
    places = {loss["place"] for loss in threatened or losses}
    known = [sample for sample in coats if sample in at]
    if not known:
        return None

    def worth(sample: str) -> tuple[Any, ...]:
        ranks = sorted((SEVERITY_RANK[severity] for severity in coats[sample].values()), reverse=True)
        return (-ranks[0], at[sample] not in places, published.micrograph(sample) is None, [-rank for rank in ranks])

    best = min(sorted(known, key=natural), key=worth)
    order = [coat["position"] for coat in published.coats(best)]
    held = coats[best]
    runs = groupby((position for position in order), key=lambda position: held.get(position))
    brackets = [Bracket(tuple(run), FORMS[severity], severity) for severity, run in runs if severity is not None]
    return best, brackets


def needs(requirements: Iterable[Json]) -> list[Need]:
    """Requirements of one rule and remedy together: those before approval first."""
    groups: dict[tuple[str, str, str | None], list[Json]] = {}
    for row in requirements:
        groups.setdefault((row["when"], row["rule"], row["remedy"]), []).append(row)
    found = [
        Need(when, rule, remedy, tuple(dict.fromkeys(row["message"] for row in rows)), rows[0]["reference"])
        for (when, rule, remedy), rows in groups.items()
    ]
    return sorted(found, key=lambda need: need.when != "approval")


def scheme_in_words(published: PublishedObject, code: str | None) -> str | None:
    """`1/varnish` as `varnish of First green`; the code itself where the object has no such scheme."""
    scheme, _, role = (code or "").partition("/")
    name = _finish(published, scheme)
    return f"{role} of {name}" if name and role else name or code


def named(published: PublishedObject, code: str) -> str:
    """A place by its name; its code where nobody named it."""
    return published.name_of(code) or code


def _coats(loss: Json) -> list[tuple[str, int]]:
    """The coats among the evidence of a line, by sample and position."""
    found = []
    for item in loss["evidence"]:
        if item["kind"] == "layers":
            sample, _, position = item["key"].rpartition("/")
            found.append((sample.rpartition("/")[2], int(position)))
    return found


def _finish(published: PublishedObject, scheme: str | None) -> str:
    row = next((row for row in published["schemes"] if row["scheme"] == scheme), None)
    return "" if row is None else row.get("name") or f"scheme {scheme}"


def _decoration(published: PublishedObject, code: str) -> str:
    row = next((row for row in published["decorations"] if row["decoration"] == code), None)
    return f"{row['kind']} {code}" if row else f"decoration {code}"


def _reasons(message: str) -> list[str]:
    """The sentences of a line that say which step does what, and why; without the place and the thing, said already."""
    at = _STEP.search(message)
    return [message[at.start() :].strip()] if at else []


def _things(line: Line, told: Container[str] = ()) -> str:
    """`varnish and lining DL1 of “First green”`; over three are counted, and what was found goes before what may be
    there. The finish is named by what stands before its colon, and not again where it was told."""
    things = [thing for thing in line.things if _NOT_FOUND_HERE not in thing] or list(line.things)
    what = _and(things) if len(things) <= MOST_NAMED else counted(len(things), "coat")
    return f"{what} of “{line.finish.partition(':')[0]}”" if line.finish and line.finish not in told else what


def _where(published: PublishedObject, places: Sequence[str]) -> str:
    if ALL in places:
        return "on the whole object"
    if len(places) > MOST_NAMED:
        return f"in {len(places)} places"
    return "on " + _and([named(published, place) for place in places])


def _and(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + f" and {parts[-1]}"
