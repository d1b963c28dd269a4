"""Hours of work as a terminal shows them: counts of logs first, figures second, and what has no figure in words."""

from __future__ import annotations

from collections.abc import Sequence

from collection.cli.text.assessment import wrap
from collection.compute.effort.hours import ActionRate, KindRate, Planned, Rest, StepHours, Surface
from collection.compute.effort.logs import Logged
from collection.language.sentences import around, counted, ended, figure, not_counting, square_metres
from collection.records.policy import Interval

HOW_SURE = (
    "An interval is for one more such piece of work, by anybody: nine in ten should lie in it. It is hours at the object, "
    "without setting up, drying and reports where those were not logged. A kind with few logs leans on other work, and "
    "its interval is wide. Small places take longer for their size than large ones, which these figures do not know."
)
NO_LEAVE = (
    "Hours are no leave to do it: `assess` says what the work would take of what must be kept, `safety` what its liquids do "
    "to people; treat old paint as leaded until it is analysed."
)
TO_LOG = "What gives a figure: in each step of a treatment, the hours and the m² worked on."


def of_table(rows: Sequence[ActionRate], logged: Logged) -> list[str]:
    """Hours per m² of each kind of work, and the kinds that have no figure."""
    shown = [row for row in rows if row.kinds]
    lines = [wrap(" ".join(filter(None, ("Hours by logged work.", logged.sentence(), logged.partly()))))]
    if shown:
        lines += [
            "",
            f"  {'kind of work, and binder':<24} {'logs':>4}   h/m², 90 % interval",
            f"  {'taken off or put on':<24}",
        ]
    for row in shown:
        lines.append(_rate(row.whole, row.whole.kind.action if len(row.kinds) > 1 else row.kinds[0].kind.said()))
        if len(row.kinds) > 1:
            lines += [_rate(each, f"  {each.kind.binder or 'binder not known'}") for each in row.kinds]
    without = [row for row in rows if not row.kinds]
    if without:
        lines += ["", "  no figure"]
        lines += [wrap(f"{row.whole.kind.action}: {_without(logged, row.whole.kind.action)}", "  ") for row in without]
    return [*lines, "", *([wrap(HOW_SURE)] if shown else []), wrap(TO_LOG)]


def of_proposal(planned: Planned, logged: Logged, *, judged: bool) -> list[str]:
    """A proposal's steps with their hours, and the sum in hours and weeks."""
    lines = [wrap(f"{planned.key}: hours by logged work."), *(_step(step) for step in planned.steps)]
    if not planned.steps:
        lines.append("  It has no steps.")
    return [*lines, "", *_sum(planned, judged=judged), wrap(logged.sentence()), wrap(HOW_SURE), wrap(NO_LEAVE)]


def of_windows(object_code: str, rests: Sequence[Rest], logged: Logged, *, judged: bool) -> list[str]:
    """What was uncovered on an object, and what the rest around it would take."""
    if not rests:
        return [f"{object_code}: no opened window is on record, so there is no rest to reckon."]
    lines = [f"{object_code}: what the rest around its windows would take, if it is done as they were."]
    for rest in rests:
        lines += ["", wrap(_rest(rest))]
        if rest.planned is not None:
            lines += [_step(step) for step in rest.planned.steps]
    if any(rest.planned is not None and rest.planned.hours for rest in rests):
        per_week = next(rest.planned.hours_per_week for rest in rests if rest.planned is not None)
        lines += ["", wrap(_a_week(per_week, judged=judged))]
    return [*lines, wrap(logged.sentence()), wrap(HOW_SURE), wrap(NO_LEAVE)]


def _rate(each: KindRate, label: str) -> str:
    assert each.hours_per_m2 is not None
    return f"  {label:<24} {each.logs:>4}   {around(each.hours_per_m2)}"


def _without(logged: Logged, action: str) -> str:
    hours = dict(logged.hours_alone).get(action, ())
    return logged.sentence(action)[:-1] + (f" ({', '.join(f'{each:g} h' for each in hours)})." if hours else ".")


def _step(step: StepHours) -> str:
    what = f"{step.label}  {step.kind.said()} at {step.place}, {_surface(step.surface)}"
    if step.hours is None:
        rate = f" ({around(step.hours_per_m2)} h/m²)" if step.hours_per_m2 else ""
        return wrap(f"{what}: {ended(step.why or '')}{rate}", "  ")
    own = "" if step.logs_of_kind == step.logs_of_action else f", {step.logs_of_kind or 'none'} on this binder"
    return wrap(
        f"{what}: {around(step.hours)} h; {counted(step.logs_of_action, 'log')} of {step.kind.action}{own}", "  "
    )


def _sum(planned: Planned, *, judged: bool) -> list[str]:
    if planned.hours is None or planned.weeks is None:
        return [wrap("Together: no figure.")]
    left = planned.without
    without = f" without step{'s' * (len(left) > 1)} {', '.join(left)}, so it is more" if left else ""
    return [
        wrap(f"Together: {_to(planned.hours)} h{without}: {_weeks(planned.weeks)}."),
        wrap(_a_week(planned.hours_per_week, judged=judged)),
    ]


def _rest(rest: Rest) -> str:
    done = f"{rest.place} in {rest.within}: "
    if rest.planned is None:
        return f"{done}its opening is not logged, so nothing says what the rest would take ({_surface(rest.surface)})."
    area = "surface not recorded" if rest.area_m2 is None else f"{figure(rest.area_m2)} m²"
    done += f"{figure(rest.hours)} h for {area}" if rest.hours else f"{area}, hours not logged"
    if rest.surface.area_m2 is None:
        return f"{done}; {rest.within} is not measured, so its rest has no hours."
    if rest.planned.hours is None or rest.planned.weeks is None:
        return f"{done}; no figure for the other {_surface(rest.surface)}."
    left = rest.planned.without
    comma = "," if rest.surface.unmeasured else ""
    return (
        f"{done}; the other {_surface(rest.surface)}{comma} would take {_to(rest.planned.hours)} h"
        + (f" (and more for {', '.join(left)})" if left else "")
        + f": {_weeks(rest.planned.weeks)} at {rest.planned.hours_per_week:g} h."
    )


def _a_week(hours_per_week: float, *, judged: bool) -> str:
    return f"Weeks of {hours_per_week:g} h{', which is judgement (--hours-per-week says others)' if judged else ''}."


def _surface(surface: Surface) -> str:
    if surface.area_m2 is None:
        return "not measured"
    return square_metres(surface.area_m2) + not_counting(surface.unmeasured)


def _number(value: float) -> str:
    return figure(value) if value < 1000 else f"{float(f'{value:.2g}'):,.0f}"


def _to(span: Interval) -> str:
    """`110 to 640` with the middle named, as nobody should plan by one figure alone."""
    low, middle, high = map(_number, span)
    return middle if low == high else f"{low} to {high} (middle {middle})"


def _weeks(span: Interval) -> str:
    low, high = span[0], span[2]
    if high < 1:
        return "under a week"
    return f"{'under 1' if low < 1 else _number(low)} to {_number(high)} weeks"
