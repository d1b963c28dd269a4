"""What heat does to a coat: an alarm where its binder softens; nothing here clears.

The temperatures are the policy's, from memory and wide. A lower temperature is no sign that the work is safe, because
ageing, dwell time and what else is in the coat shift them.
"""

from __future__ import annotations

from collections.abc import Sequence

from collection.records.policy import Interval, Policy

ACTS: Interval = (0.0, 0.5, 1.0)


def heat_alarm(binders: Sequence[str], temperature_c: float | None, policy: Policy) -> tuple[Interval, str] | None:
    """The alarm for the binders of a coat at a temperature in °C, and why; None where there is nothing to say.

    A temperature that is not stated may be any.
    """
    soft = sorted((policy.softens[binder], binder) for binder in binders if binder in policy.softens)
    if not soft:
        return None
    lowest, binder = soft[0]
    if temperature_c is None:
        return ACTS, f"{binder} softens from about {lowest:g} °C (policy, from memory), and no temperature is stated"
    if temperature_c < lowest:
        return None
    return ACTS, f"{binder} softens from about {lowest:g} °C (policy, from memory)"
