"""One object under judgement: its facts, what it is judged by, and everything already computed of it.

Every computation on an object asks its case. A function marked `kept` is computed once for a case and for each set of
further arguments; the answer stays in the case and goes when the case goes. So answers are plain data: one that held
its own case would keep both alive.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

from collection.records.facts import Facts
from collection.records.policy import Policy, default_policy
from collection.values.reference import Reference, packaged

P = ParamSpec("P")
R = TypeVar("R")


@dataclass(frozen=True, eq=False)
class Case:
    """The facts of one object, with the policy and the reference tables that it is judged by."""

    facts: Facts
    policy: Policy = field(default_factory=default_policy)
    reference: Reference = field(default_factory=packaged)
    _answers: dict[Hashable, Any] = field(default_factory=dict, init=False, repr=False)

    def once(self, question: Hashable, answer: Callable[[], R]) -> R:
        """The answer to a question that is kept, worked out where it is asked for the first time."""
        try:
            return self._answers[question]  # type: ignore[no-any-return]
        except KeyError:
            found = self._answers[question] = answer()
            return found


def kept(compute: Callable[Concatenate[Case, P], R]) -> Callable[Concatenate[Case, P], R]:
    """Compute once for each case and further arguments, which have to be hashable."""

    @wraps(compute)
    def ask(case: Case, /, *args: P.args, **named: P.kwargs) -> R:
        question: Hashable = compute
        if args or named:
            question = (compute, args, *named.items()) if named else (compute, args)
        try:
            return case._answers[question]  # type: ignore[no-any-return]
        except KeyError:
            found = case._answers[question] = compute(case, *args, **named)
            return found

    return ask
