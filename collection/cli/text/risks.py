"""The ranked threats and the plan of work as a terminal shows them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from collection.cli.text.assessment import wrap
from collection.compute.risk.acts import LOGGED
from collection.compute.risk.magnitude import half_step
from collection.compute.risk.ranking import FROM_MEMORY, RANKED_BY, Ranked, Step
from collection.language.sentences import counted, ended, figure
from collection.records.policy import Interval, RiskPolicy

SCALE = (
    "MR is A + B + C, at most 15, with its low and high end; one step more is ten times the loss. A says how soon, B how "
    "much of the object's painted surface goes in original finish, C how much of the collection the object is."
)


def of_collection(
    ranked: Sequence[Ranked], steps: Sequence[Step], answer: dict[str, Any], policy: RiskPolicy, weeks: int
) -> list[str]:
    """The list, the gravest first, then the plan week by week."""
    lines = [
        wrap(
            f"{counted(answer['threats'], 'threat')} to {counted(answer['objects'], 'object')} on {answer['on']}, "
            f"ranked by {RANKED_BY}."
        ),
        wrap(SCALE),
        "",
    ]
    for each in ranked:
        lines += _threat(each, policy)
    if len(ranked) < answer["threats"]:
        lines += [f"  … and {answer['threats'] - len(ranked):,} more; --most {answer['threats']} lists all.", ""]
    if weeks:
        lines += [*_plan(steps, answer), ""]
    return [*lines, wrap(FROM_MEMORY)]


def _threat(each: Ranked, policy: RiskPolicy) -> list[str]:
    threat, found = each.threat, each.magnitude
    place = f" at {threat.place}" if threat.place else ""
    low, middle, high = found.exact
    told = found.as_json(policy)
    head = (
        f"{each.rank:>3}. MR {_half(middle)} ({_half(low)}–{_half(high)}, {told['band']})  {each.object}{place}: "
        f"{threat.kind}"
    )
    lines = [
        head,
        wrap(f"{each.title}. {threat.message}", "     "),
        wrap(
            f"A {told['a']['half_step']:g}, B {told['b']['half_step']:g}, C {told['c']['half_step']:g}. "
            f"{_costs(found.loss, told['loss_per_century'][1])}",
            "     ",
        ),
    ]
    if each.lowered is not None:
        left = each.lowered.left
        does = "ends it" if left is None else f"lowers it to MR {_half(left.exact[1])}"
        lines.append(
            wrap(
                f"→ {each.lowered.act.what} {_hours(each.lowered.act.hours)}, by {each.lowered.act.hours_are}; "
                f"{does}{_saves(each.lowered.drop)}.",
                "     ",
            )
        )
    return lines


def _saves(drop: float) -> str:
    return f" and saves {_share(drop)} a year" if drop else ", but saves nothing alone: other threats take as much"


def _half(exact: float) -> str:
    return f"{half_step(exact):g}"


def _costs(loss: Interval, century: float) -> str:
    low, middle, high = loss
    return f"{_share(middle)} of the collection's value a year ({_share(low)}–{_share(high)}), {_share(century)} in a century."


def _share(share: float) -> str:
    """A share of the collection."""
    return f"{figure(100 * share)} %" if share >= 1e-6 else "next to nothing"


def _hours(hours: Interval) -> str:
    low, middle, high = map(figure, hours)
    return f"{middle} h" if low == high else f"{middle} h ({low}–{high})"


def _plan(steps: Sequence[Step], answer: dict[str, Any]) -> list[str]:
    a_week = answer["hours_per_week"]
    judged = "" if answer["hours_per_week_is"] == "as asked" else ", which is judgement (--hours-per-week says others)"
    lines = [
        wrap(
            f"Plan of work at {a_week:g} h a week{judged}: what saves most by the hour first, counted again after each "
            "act; within a week by object."
        )
    ]
    if not steps:
        return [*lines, "  Nothing that is known here lowers any threat."]
    by_week: dict[int, list[Step]] = {}
    for step in steps:
        by_week.setdefault(step.weeks(a_week)[0], []).append(step)
    for week, own in by_week.items():
        lines.append(f"  Week {week}")
        # Nobody goes to an object twice in a week for what can be done in one visit.
        for code in dict.fromkeys(step.object for step in own):
            here = [step for step in own if step.object == code]
            lines.append(wrap(f"{code}  {here[0].title}", "    "))
            lines += [_step(step, a_week) for step in here]
    saved, cost = sum(step.drop for step in steps), answer["loss_per_year"][1]
    return [
        *lines,
        wrap(
            f"Together they save {_share(saved)} of the collection's value a year, of {_share(min(cost, 1.0))} expected."
        ),
    ]


def _step(step: Step, a_week: float) -> str:
    first, last = step.weeks(a_week)
    until = f", into week {last}" if last > first else ""
    logged = ", by logged work" if step.act.hours_are == LOGGED else ""
    return wrap(
        f"{step.number:>2}. {ended(step.act.what)} {_hours(step.act.hours)}{logged}{until}; saves "
        f"{_share(step.drop)} a year.",
        "      ",
    )
