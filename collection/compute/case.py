"""One object that is being judged: its facts, what it is judged by, and every answer computed so far.

Every computation on an object goes through its case. A function marked `kept` is computed once for a case and each set
of further arguments; the answer is stored in the case and goes when the case goes. So answers are plain data: one that
held its own case would keep both alive.
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
        """The stored answer to a question, computed the first time it is asked."""
        try:
            return self._answers[question]  # type: ignore[no-any-return]
        except KeyError:
            found = self._answers[question] = answer()
            return found


def kept(compute: Callable[Concatenate[Case, P], R]) -> Callable[Concatenate[Case, P], R]:
    """Compute once for each case and each set of further arguments, which must be hashable."""

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
