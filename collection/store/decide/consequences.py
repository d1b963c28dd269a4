"""What a change of records does to proposed work: each open or approved proposal, assessed before and after.

Withdrawing or correcting unfavourable evidence may lower a severity. That is never hidden: proposals are assessed
inside the transaction of the change, the person who signs it sees the difference, and approvals that became stale are
named.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from typing import Any

from collection.compute.case import Case
from collection.language.words import SEVERITY_RANK, SEVERITY_SPOKEN
from collection.records.policy import Policy, default_policy
from collection.rules.advice import ANSWERED
from collection.rules.assess import assess
from collection.rules.effect import RESERVE
from collection.rules.findings import Assessment, Loss
from collection.store.base import database, names, read
from collection.store.base.names import Names
from collection.store.decide import decisions
from collection.store.decide.staleness import is_stale

MOST_PROPOSALS = 500
"""With more proposals than this on the touched objects, none is assessed before and after the change."""

MOST_LOSSES = 20
"""Losses of one proposal that are listed for a person; JSON has them all."""

Severities = dict[str, str]
Called = Callable[[str, str], str]
Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Consequence:
    """One proposal: its outcome before and after (None = not in account), and each loss and requirement that changed,
    as it was and as it is (None = not there). `overtaken` says that its approval has become stale; `called` is the
    proposal's earlier key, if that was different."""

    proposal: str
    before: str | None
    after: str | None
    losses: tuple[tuple[str, str | None, str | None], ...] = ()
    requirements: tuple[tuple[str, str | None, str | None], ...] = ()
    overtaken: bool = False
    called: str | None = None

    @property
    def changed(self) -> bool:
        return bool(self.before != self.after or self.losses or self.requirements or self.overtaken or self.called)

    def sentences(self) -> list[str]:
        """The change as lines for a person; none where nothing changed."""
        if not self.changed:
            return []
        called = f" (was {self.called})" if self.called else ""
        lines = [f"{self.proposal}{called}: {_from_to(self.before, self.after)}"]
        lines += [
            f"  {loss}: {_from_to(before, after, 'no loss')}" for loss, before, after in self.losses[:MOST_LOSSES]
        ]
        if len(self.losses) > MOST_LOSSES:
            lines.append(f"  … and {len(self.losses) - MOST_LOSSES} losses more; --json lists all.")
        lines += [
            f"  {requirement}: {before or 'not asked'} -> {after or 'not asked'}"
            for requirement, before, after in self.requirements
        ]
        if self.overtaken:
            lines.append("  Its approval is out of date: it has to be decided again.")
        return lines

    def as_json(self) -> dict[str, Any]:
        def listed(rows: Iterable[tuple[str, str | None, str | None]]) -> list[dict[str, str | None]]:
            return [{"id": name, "before": before, "after": after} for name, before, after in rows]

        return {
            "proposal": self.proposal,
            "called_before": self.called,
            "before": self.before,
            "after": self.after,
            "losses": listed(self.losses),
            "requirements": listed(self.requirements),
            "approval_overtaken": self.overtaken,
        }


@dataclass(frozen=True, slots=True)
class Consequences:
    """Every proposal assessed, in the order of their keys; `not_looked` is the number of proposals on the touched
    objects if there were too many to assess any."""

    proposals: tuple[Consequence, ...] = ()
    not_looked: int = 0

    def sentences(self) -> list[str]:
        """What changed, then how many proposals are as before."""
        if self.not_looked:
            return [
                f"{self.not_looked} proposals are on the objects it touches, too many to assess before and after: "
                "`firstcoat assess --all` assesses them now."
            ]
        lines = [line for proposal in self.proposals for line in proposal.sentences()]
        same = sum(not proposal.changed for proposal in self.proposals)
        if same:
            lines.append(
                f"{same} open or approved proposals are as before."
                if same > 1
                else "One open or approved proposal is as before."
            )
        return lines

    def as_json(self) -> dict[str, Any]:
        """For the answers of commands."""
        return {
            "severities": [proposal.as_json() for proposal in self.proposals],
            "severities_not_looked_at": self.not_looked,
        }


NOT_ASKED = Consequences()
"""Used where nobody asked, or there is no proposal."""


class Watch:
    """Assesses the proposals on some objects before a change, and again after it in the same transaction."""

    def __init__(self, db: sqlite3.Connection, objects: Iterable[str], policy: Policy | None = None) -> None:
        self._db, self._policy = db, policy or default_policy()
        self._objects = set(objects)
        self._names = names.load(db)
        keys = self._keys()
        self._many = len(keys)
        self._before = self._standing(keys) if self._many <= MOST_PROPOSALS else {}

    def after(self) -> Consequences:
        """The differences now."""
        keys = self._keys()
        many = max(self._many, len(keys))
        if many > MOST_PROPOSALS:
            return Consequences(not_looked=many)
        now = self._standing(keys)
        found = []
        called = _called(self._names, names.load(self._db))
        for key in sorted({*self._before, *now}):
            was, then = self._before.get(key), now.get(key)
            assessed = then or was
            assert assessed is not None
            found.append(_consequence(assessed[0].proposal, was, then, called(key[0]) if was and then else _as_it_is))
        return Consequences(tuple(sorted(found, key=lambda each: each.proposal)))

    def _keys(self) -> list[Key]:
        """The stored keys of the proposals in account on the objects, under any of their numbers."""
        known = names.load(self._db)
        numbers = {own for code in self._objects for own in ((code,) if known is None else known.objects(code))}
        return self._db.execute(
            "SELECT object, proposal FROM live_proposals WHERE object IN (SELECT value FROM "
            "json_each(?)) ORDER BY object, proposal",
            (json.dumps(sorted(numbers)),),
        ).fetchall()

    def _standing(self, keys: Iterable[Key]) -> dict[Key, tuple[Assessment, bool]]:
        """The assessment of each open or approved proposal, and whether its approval stands."""
        found = {}
        for number, some in groupby(keys, itemgetter(0)):
            facts = read.facts_rows(self._db, number)
            case = Case(facts, self._policy)
            for _, code in some:
                made = decisions.decisions(self._db, number, code)
                # Refusing some steps leaves the others open.
                if made and made[-1].decision == "refuse" and made[-1].steps is None:
                    continue
                proposal = read.load_proposal(self._db, number, code)
                assessed = assess(case, proposal)
                stands = (
                    bool(made)
                    and made[-1].decision == "approve"
                    and not is_stale(made[-1].basis, case, proposal, assessed)
                )
                found[number, code] = (assessed, stands)
        return found


def carried_out(
    path: Path | str,
    objects: Callable[[sqlite3.Connection], Iterable[str]],
    act: Callable[[sqlite3.Connection], int],
    *,
    dry_run: bool = False,
    policy: Policy | None = None,
) -> tuple[int | None, Consequences]:
    """Make one change in a transaction of its own, and return what it does to proposed work.

    :param objects: the objects it touches, asked before the change.
    :param act: the change, inside the transaction; gives its number.
    :param dry_run: undo it again; the number is None then, and the file keeps its bytes.
    :raises InputRefused: as `act` does; nothing is changed.
    """
    with database.opened(path, write=True) as db:
        try:
            with database.writing(db):
                watch = Watch(db, objects(db), policy)
                change = act(db)
                found = watch.after()
                if dry_run:
                    raise Undone
        except Undone:
            return None, found
    return change, found


class Undone(Exception):
    """Ends the transaction of a dry run."""


def _called(before: Names | None, after: Names | None) -> Callable[[str], Called]:
    """A function that gives what a code of an object becomes through a change."""
    nothing = Names((), {})
    earlier, later = before or nothing, after or nothing

    def of_object(object_code: str) -> Called:
        return _as_it_is if earlier is later else lambda sheet, code: earlier.moved(later, sheet, object_code, code)

    return of_object


def _as_it_is(sheet: str, code: str) -> str:
    return code


def _consequence(
    called: str, was: tuple[Assessment, bool] | None, then: tuple[Assessment, bool] | None, moved: Called
) -> Consequence:
    before, after = (None if each is None else each[0] for each in (was, then))
    return Consequence(
        called,
        before.outcome if before else None,
        after.outcome if after else None,
        _other(_losses(before, moved), _losses(after, _as_it_is)) if before and after else (),
        _other(_requirements(before, moved), _requirements(after, _as_it_is)) if before and after else (),
        overtaken=bool(was and was[1] and not (then and then[1])),
        called=before.proposal if before and before.proposal != called else None,
    )


def _losses(found: Assessment, moved: Called) -> Severities:
    """Severity by the loss's id in the codes after the change; if several become one, the worst of them."""
    worst: Severities = {}
    for loss in found.losses:
        name = f"{moved('place', loss.place)}/{_thing(loss, moved)}"
        worst[name] = max(loss.severity, worst.get(name, loss.severity), key=SEVERITY_RANK.__getitem__)
    return worst


def _thing(loss: Loss, moved: Called) -> str:
    code, slash, rest = loss.thing.partition("/")
    if loss.decoration is not None and loss.thing == loss.decoration:
        return moved("decorations", code)
    if loss.scheme is not None and code == loss.scheme:
        return moved("schemes", code) + slash + rest
    kept = f"{RESERVE} "
    if loss.role is None and code.startswith(kept):
        return kept + moved("reserves", code.removeprefix(kept))
    return moved("samples", code) + slash + rest


_SUBJECT = {
    "decision on a later scheme": "schemes",
    "open claim": "claims",
    "hazard addressed": "hazards",
    ANSWERED: "advice",
}


def _requirements(found: Assessment, moved: Called) -> Severities:
    states: Severities = {}
    for each in found.requirements:
        subject = each.subject
        if subject is not None and each.rule in _SUBJECT:
            subject = moved(_SUBJECT[each.rule], subject)
        name = replace(each, place=each.place and moved("place", each.place), subject=subject).id
        states[name] = "open" if not each.met or states.get(name) == "open" else "met"
    return states


def _other(before: Severities, after: Severities) -> tuple[tuple[str, str | None, str | None], ...]:
    return tuple(
        (name, before.get(name), after.get(name))
        for name in sorted({*before, *after})
        if before.get(name) != after.get(name)
    )


def _from_to(before: str | None, after: str | None, nothing: str = "not in account") -> str:
    one, other = (SEVERITY_SPOKEN.get(each, each) if each else nothing for each in (before, after))
    return f"{one}, as before" if before == after else f"{one} -> {other}"
