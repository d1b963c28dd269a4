"""What became of each condition between two sides: worse, better, new, gone, or not looked at again.

Rows of one place, phenomenon and scheme are compared, the newest of each side, and only where one is surely later. That
none was seen answers for every scheme where no scheme is named. Nothing is concluded from a row that is missing.
Common practice, no published source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product
from typing import Any

from collection.compute.build_up.places import places_of
from collection.compute.build_up.readings import original_schemes
from collection.compute.case import Case
from collection.compute.compare.sides import Sides, newest
from collection.compute.survival.survival import surviving_at
from collection.records.sheets import Condition
from collection.values import dates

ACTIVE, WORSE, NEW, KNOWN, FIRST, BETTER, RESTS, GONE, UNCLEAR, SAME = KINDS = (
    "became active",
    "worse",
    "new",
    "known to be active",
    "first recorded",
    "better",
    "came to rest",
    "gone",
    "unclear",
    "unchanged",
)
"""The kinds of change, gravest first. New = looked for earlier, and none then; first recorded = nobody says that it was
looked for earlier."""
BAD = frozenset({ACTIVE, WORSE, NEW})
CLOSED = "not accessible"

Key = tuple[str, str, str | None]
"""Place, phenomenon, scheme."""


@dataclass(frozen=True, slots=True)
class ConditionChange:
    """One condition: what became of it, with the row of each side; `kinds` gravest first, `why` where it is unclear;
    `original` whether it may be of original finish: its scheme is original, or none is named and original finish
    survives there."""

    place: str
    phenomenon: str
    scheme: str | None
    kinds: tuple[str, ...]
    then: Condition | None
    now: Condition
    why: str | None = None
    original: bool = False

    @property
    def kind(self) -> str:
        return self.kinds[0]

    @property
    def lost(self) -> bool:
        """Whether it says itself that more original finish is lost than was."""
        return (
            self.phenomenon == "loss"
            and self.original
            and bool(self.scheme)
            and not {WORSE, NEW}.isdisjoint(self.kinds)
        )

    def as_json(self) -> dict[str, Any]:
        return {
            "kind": self.kind,
            "also": list(self.kinds[1:]),
            "place": self.place,
            "phenomenon": self.phenomenon,
            "scheme": self.scheme,
            "then": _row(self.then),
            "now": _row(self.now),
            "may_be_original": self.original,
            "original_lost": self.lost,
            "why": self.why,
        }


@dataclass(frozen=True, slots=True)
class NotSeenAgain:
    """A condition of the earlier side that the later one did not look at again; `closed` where it says that the place
    could not be reached."""

    then: Condition
    closed: bool

    def as_json(self) -> dict[str, Any]:
        return {
            "place": self.then.place,
            "phenomenon": self.then.phenomenon,
            "scheme": self.then.scheme,
            "then": _row(self.then),
            "could_not_be_reached": self.closed,
        }


def is_there(row: Condition) -> bool:
    """Whether a row says that something was seen, and not that it was looked for and none found."""
    return row.severity != 0 and row.extent_pct != 0


def condition_changes(case: Case, sides: Sides) -> tuple[tuple[ConditionChange, ...], tuple[NotSeenAgain, ...]]:
    """What became of the conditions, gravest first; and those that nobody looked at again."""
    then, now = (
        [row for row in side.brought.conditions if row.phenomenon != CLOSED] for side in (sides.earlier, sides.later)
    )
    closed = [row for row in sides.later.brought.conditions if row.phenomenon == CLOSED]
    places = places_of(case)
    found: list[ConditionChange] = []
    unseen: list[NotSeenAgain] = []
    for key in dict.fromkeys(_key(row) for row in (*then, *now)):
        earlier = _of(then, key)
        later = [
            row
            for row in _of(now, key)
            if not any(dates.surely_before(row.observed_on, t.observed_on) for t in earlier)
        ]
        if earlier and later:
            found.append(_compared(key, earlier, later))
            continue
        beside = [
            row
            for row in (now if earlier else then)
            if row.phenomenon == key[1] and row not in earlier and places.overlap(row.place, key[0])
        ]
        if later:
            row = later[-1]
            if is_there(row):
                found.append(ConditionChange(*key, (UNCLEAR if beside else FIRST,), None, row, _beside(beside)))
        elif beside and is_there(earlier[-1]):
            found.append(ConditionChange(*key, (UNCLEAR,), earlier[-1], beside[-1], _beside(beside)))
        elif not beside:
            shut = any(places.contains(row.place, key[0]) for row in closed)
            unseen.append(NotSeenAgain(earlier[-1], shut))
    found = [replace(each, original=_may_be_original(sides, each)) for each in found]
    return (
        tuple(
            sorted(
                found,
                key=lambda each: (
                    KINDS.index(each.kind),
                    not each.original,
                    each.place,
                    each.phenomenon,
                    each.scheme or "",
                ),
            )
        ),
        tuple(sorted(unseen, key=lambda each: not is_there(each.then))),
    )


def _key(row: Condition) -> Key:
    return row.place, row.phenomenon, row.scheme or None


def _of(rows: list[Condition], key: Key) -> list[Condition]:
    """The newest rows that speak of a condition."""
    own = [row for row in rows if _key(row) == key]
    place, phenomenon, _ = key
    of_any = newest([row for row in rows if _key(row) == (place, phenomenon, None)])
    return newest(own) or ([] if any(map(is_there, of_any)) else of_any)


def _compared(key: Key, earlier: list[Condition], later: list[Condition]) -> ConditionChange:
    kinds = {_kinds(then, now) for then, now in product(earlier, later)}
    then, now = earlier[-1], later[-1]
    if len(kinds) > 1:
        return ConditionChange(*key, (UNCLEAR,), then, now, "several records may be the newest, and they differ")
    (only,) = kinds
    if only == (UNCLEAR,):
        return ConditionChange(*key, only, then, now, "neither its severity nor its extent is recorded both times")
    if only != (SAME,) and any(
        not dates.surely_before(one.observed_on, other.observed_on) for one, other in product(earlier, later)
    ):
        return ConditionChange(*key, (UNCLEAR,), then, now, "both may be of the same time")
    return ConditionChange(*key, only, then, now)


def _kinds(then: Condition, now: Condition) -> tuple[str, ...]:
    if then == now:
        return (SAME,)
    if is_there(then) != is_there(now):
        return (NEW,) if is_there(now) else (GONE,)
    if not is_there(then):
        return (SAME,)
    both = [
        (a, b)
        for a, b in ((then.severity, now.severity), (then.extent_pct, now.extent_pct))
        if a is not None and b is not None
    ]
    found = {WORSE for a, b in both if b > a} | {BETTER for a, b in both if b < a}
    if now.active == "yes" and then.active != "yes":
        found.add(ACTIVE if then.active == "no" else KNOWN)
    if then.active == "yes" and now.active == "no":
        found.add(RESTS)
    if not found:
        found.add(SAME if both else UNCLEAR)
    return tuple(sorted(found, key=KINDS.index))


def _may_be_original(sides: Sides, change: ConditionChange) -> bool:
    if change.scheme is None:
        return bool(surviving_at(sides.after, change.place))
    return change.scheme in original_schemes(sides.after)


def _beside(rows: list[Condition]) -> str | None:
    if not rows:
        return None
    row = rows[-1]
    scheme = f" on scheme {row.scheme}" if row.scheme else ", no scheme named"
    return f"the other time it is recorded for {row.place}{scheme}"


def _row(row: Condition | None) -> dict[str, Any] | None:
    return (
        None
        if row is None
        else {
            "observed_on": row.observed_on,
            "severity": row.severity,
            "extent_pct": row.extent_pct,
            "active": row.active,
            "scheme": row.scheme,
            "evidence": {"kind": "conditions", "key": row.key_text()},
        }
    )
