"""Two surveys or two dates in the terminal: first what got worse, what was lost, what disagrees; then object by object."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from collection.cli.text.assessment import wrap
from collection.compute.compare import conditions, finish
from collection.compute.compare.comparison import AGAINST, FOLLOWED, LAPSED, REPLACED, STILL, Comparison
from collection.compute.compare.conditions import ConditionChange
from collection.compute.compare.finish import FinishChange
from collection.compute.compare.rates import Rate
from collection.compute.compare.samples import Disagreement
from collection.language.sentences import counted, figure, some
from collection.language.words import SEVERITY_SPOKEN
from collection.records.sheets import Condition, Layer
from collection.rules.track_record import Foreseen
from collection.store.comparison import Compared, SurveysCompared

HOW_BAD = {0: "none", 1: "slight", 2: "moderate", 3: "severe"}
UNIT = {"extent_pct": " % of the place a year", "coverage_pct": " % of the place a year", "area_m2": " m² a year"}


def surveys_compared(found: SurveysCompared, full: bool) -> list[str]:
    """Two surveys, the earlier first."""
    earlier, later = found.surveys
    named = " and ".join(
        f"{one.code} ({one.started} {f'to {one.ended}' if one.ended else 'on'})" for one in found.surveys
    )
    lines = [wrap(f"{named}: {counted(len(found.objects), 'object')} in both.")]
    if found.overlap:
        lines.append("They overlap in time; what may be of the same time is not called a change.")
    lines += _body(found.objects, full)
    for one in dict.fromkeys((earlier.code, later.code)):
        if own := found.only.get(one):
            lines += ["", wrap(f"Only in {one}: {some(own, len(own) if full else 12)}.")]
    return lines


def dates_compared(found: Sequence[Compared], first: str, second: str, full: bool) -> list[str]:
    """Two dates, the earlier first."""
    looked = f"{counted(len(found), 'object')}"
    return [f"By the end of {first}, and from then to the end of {second}: {looked}.", *_body(found, full)]


def _body(found: Sequence[Compared], full: bool) -> list[str]:
    lines = [*map(wrap, _in_short(found))]
    for each in sorted(found, key=_gravity):
        told = list(_told(each, full))
        if told:
            lines += ["", f"{each.comparison.object}  {each.comparison.title}", *(wrap(line, "  ") for line in told)]
    if any(rate.interval is None for each in found for rate in each.comparison.rates):
        lines += [
            "",
            wrap("A change per year without a range rests on two readings: how far it may be off is not known."),
        ]
    return lines


def _gravity(each: Compared) -> tuple[int | str, ...]:
    """The key by which the gravest comes first."""
    return (*(-number for number in each.numbers.values()), each.comparison.object)


def _is_told(change: ConditionChange) -> bool:
    """Whether a condition is told by itself, and not only counted: it got worse, or was first seen at work in original
    finish."""
    return change.kind in conditions.BAD or (
        change.kind == conditions.FIRST and change.original and change.now.active == "yes"
    )


def _in_short(found: Sequence[Compared]) -> list[str]:
    """The answer in a few sentences."""
    every = [each.comparison for each in found]
    bad = sum(len(one.worse) for one in every)
    original = sum(change.original for one in every for change in one.worse)
    kinds = Counter(change.kind for one in every for change in one.finish)
    said = [
        f"Worse, newly active or new: {counted(bad, 'condition')} on {counted(sum(bool(one.worse) for one in every), 'object')}, "
        f"{original} of them of original finish or where it survives."
        if bad
        else "No condition is known to have got worse."
    ]
    gone = sum(one.losses for one in every)
    lost = [f"lost {counted(gone, 'time')}"] * bool(gone)
    lost += [f"{counted(kinds[finish.PART], 'part')} missing"] * bool(kinds[finish.PART])
    lost += [f"perhaps lost {counted(kinds[finish.MAY_BE_LOST], 'time')}"] * bool(kinds[finish.MAY_BE_LOST])
    lost += [f"exposed at {counted(kinds[finish.EXPOSED], 'place')}"] * bool(kinds[finish.EXPOSED])
    said.append(
        f"Original finish: {', '.join(lost)}." if lost else "No loss or exposure of original finish is on record."
    )
    differ = sum(len(one.unexplained) for one in every)
    if differ:
        verb = "disagrees" if differ == 1 else "disagree"
        said.append(f"{counted(differ, 'sample')} {verb} with the earlier ones of the same place.")
    missed = sum(seen.missed for each in found for work in each.foreseen for seen in work.seen)
    if missed:
        said.append(f"{counted(missed, 'loss', 'losses')} came without a warning.")
    return said


def _told(each: Compared, full: bool) -> Iterator[str]:
    one = each.comparison
    for change in one.finish:
        if change.kind in finish.EVENTS:
            yield f"{change.kind.upper()}  {_finish(one, change)}"
    for seen in one.conditions:
        if _is_told(seen):
            yield f"{finish.LOST.upper() if seen.lost else seen.kind.upper()}  {_condition(one, seen)}"
    for sample in one.disagreements:
        yield f"DISAGREES  {_disagreement(one, sample)}"
    for work in each.foreseen:
        yield from (f"PREDICTED  {line}" for line in _predicted(work))
    for advice in one.advice:
        if advice.kind in _ADVISED:
            row = advice.advice
            what = _ADVISED[advice.kind].format(by=", ".join(advice.by), until=row.until)
            yield f"ADVICE  {row.advice} of {row.given_on}, “{row.what}”: {what}."
    if full:
        yield from _rest_in_full(one)
    elif rest := "; ".join(_rest(each)):
        yield f"Otherwise  {rest}."


_ADVISED = {
    AGAINST: "{by} did what it spoke against",
    LAPSED: "ran out on {until}, and no record says that anybody followed it",
    FOLLOWED: "followed by {by}",
}


def _place(one: Comparison, code: str) -> str:
    name = one.names.get(code)
    return f"{name} ({code})" if name and name.casefold() != code.casefold() else code


def _finish(one: Comparison, change: FinishChange) -> str:
    thing = (
        f"decoration {change.decoration}"
        if change.decoration
        else f"scheme {change.scheme}"
        if change.scheme
        else "the part"
        if change.kind == finish.PART
        else "original finish"
    )
    what = f"{_place(one, change.place)}: {thing}"
    if change.then is not None and (change.then != "not examined" or change.kind == finish.EXPOSED):
        what += f", {change.then.removeprefix('original ')} then, {(change.now or '').removeprefix('original ')} now"
    if change.area_m2 is not None:
        what += f", {figure(change.area_m2)} m²"
    if not change.by:
        return f"{what}; no record says by what." if change.kind in finish.EVENTS else f"{what}."
    by = ", ".join(change.by)
    return f"{what}; {by} may have taken it." if change.kind == finish.MAY_BE_LOST else f"{what}; by {by}."


def _condition(one: Comparison, change: ConditionChange) -> str:
    then, now = change.then, change.now
    what = f"{_place(one, change.place)}: {change.phenomenon}" + (
        f" of scheme {change.scheme}" if change.scheme else ""
    )
    measured = " → ".join(f"{_measured(row)} ({row.observed_on})" for row in (then, now) if row is not None)
    rate = next((r for r in one.rates if ("conditions", now.key_text()) in [by for *_, by in r.readings]), None)
    parts = [
        f"{what}, {measured}",
        _pace(rate) if rate else None,
        "also better in part" if conditions.BETTER in change.kinds[1:] else None,
        ("original finish" if change.scheme else "original finish survives here") if change.original else None,
        change.why,
    ]
    return "; ".join(part for part in parts if part) + "."


def _measured(row: Condition) -> str:
    if row.severity == 0:
        return "none"
    parts = [
        HOW_BAD[row.severity] if row.severity is not None else None,
        None if row.extent_pct is None else f"{figure(row.extent_pct)} %",
        {"yes": "active", "no": "at rest"}.get(row.active or ""),
    ]
    return " ".join(part for part in parts if part) or "seen"


def _pace(rate: Rate) -> str:
    sign = "+" if rate.per_year > 0 else "−"
    pace = f"{sign}{figure(abs(rate.per_year))}{UNIT[rate.column]}"
    if rate.interval is None:
        return pace
    low, _, high = rate.interval
    return f"{pace} (95 %: {low:.2g} to {high:.2g}, from {counted(len(rate.readings), 'reading')})"


def _disagreement(one: Comparison, sample: Disagreement) -> str:
    found = sample.differences
    parts = [
        *_only(sample.then, [each.then for each in found if each.now is None]),
        *_only(sample.now, [each.now for each in found if each.then is None]),
        *(
            f"{_coat(each.then)} in {sample.then}, {_coat(each.now)} in {sample.now}"
            for each in found
            if each.then is not None and each.now is not None
        ),
    ]
    if looked := [each for each in found if each.looked]:
        parts.append(f"{counted(len(looked), 'coat')} of them looked for and not found in the other")
    if sample.original:
        parts.append("so original finish of the earlier one is missing in the later")
    if sample.by:
        parts.append(f"{', '.join(sample.by)} between them may be why")
    return f"{_place(one, sample.place)}: {sample.now} and the earlier {sample.then}; {'; '.join(parts)}."


def _only(sample: str, coats: Sequence[Layer | None]) -> Iterator[str]:
    """The coats that only one sample has, equal ones counted."""
    named = Counter(_coat(coat) for coat in coats if coat is not None)
    if named:
        yield f"only in {sample}: " + ", ".join(f"{coat}{f' ({n} times)' * (n > 1)}" for coat, n in named.items())


def _coat(layer: Layer) -> str:
    scheme = f" of scheme {layer.scheme}" if layer.scheme else ""
    return f"{layer.role}{scheme}" + (f" ({layer.colour})" if layer.colour else "")


def _predicted(work: Foreseen) -> Iterator[str]:
    name = work.treatment + (f", by proposal {work.proposal}" if work.proposal else "")
    for seen in work.seen:
        if seen.missed:
            said = SEVERITY_SPOKEN[seen.predicted]
            yield f"{name}: {seen.loss} would have been told “{said}” the day before, and is lost ({seen.by})."
    for answer, told in ((True, "came true"), (False, "did not come true")):
        own = [seen for seen in work.seen if seen.came_true is answer and not seen.missed]
        if own:
            listed = (f"{seen.loss} “{SEVERITY_SPOKEN[seen.predicted]}”, {seen.found} ({seen.by})" for seen in own)
            yield f"{name}: {told}: {'; '.join(listed)}."


def _rest(each: Compared) -> Iterator[str]:
    """What is neither worse, lost nor in doubt, counted."""
    one = each.comparison
    kinds = Counter(change.kind for change in one.conditions if not _is_told(change))
    known = Counter(change.kind for change in one.finish if change.kind not in finish.EVENTS)
    if kinds:
        yield "conditions: " + ", ".join(f"{kinds[kind]} {kind}" for kind in conditions.KINDS if kinds[kind])
    if known:
        yield "places: " + ", ".join(f"{known[kind]} {KNOWN_AS[kind]}" for kind in finish.KINDS if known[kind])
    gone = [counted(len(one.not_seen_again), "condition")] * bool(one.not_seen_again)
    gone += [counted(len(one.not_looked_at), "place")] * bool(one.not_looked_at)
    if gone:
        yield f"not looked at again: {' and '.join(gone)}"
    undone = [row.advice.advice for row in one.advice if row.kind == STILL and row.advice.against is None]
    if undone:
        yield f"advised then and not done: {', '.join(undone)}"
    open_still = [work.treatment for work in each.foreseen if any(s.found == "not looked since" for s in work.seen)]
    if open_still:
        yield f"not all that {' and '.join(open_still)} may have touched was looked at since"
    if one.pictures:
        yield f"pictures of one view then and now: {len(one.pictures)}"


KNOWN_AS = {
    finish.FRAGMENT: "now read as fragmentary",
    finish.FOUND: "with original finish found",
    finish.FIRST: "first read",
}


def _rest_in_full(one: Comparison) -> Iterator[str]:
    for change in one.conditions:
        if not _is_told(change):
            yield f"{change.kind}  {_condition(one, change)}"
    for known in one.finish:
        if known.kind not in finish.EVENTS:
            yield f"{KNOWN_AS[known.kind]}  {_finish(one, known)}"
    for kind in (STILL, REPLACED):
        own = [f"{row.advice.advice} ({row.advice.what})" for row in one.advice if row.kind == kind]
        if own:
            yield f"advice {kind}  {'; '.join(own)}."
    if one.not_seen_again:
        rows = (
            f"{each.then.phenomenon} at {_place(one, each.then.place)}" + ", which could not be reached" * each.closed
            for each in one.not_seen_again
        )
        yield f"conditions not looked at again  {'; '.join(rows)}."
    if one.not_looked_at:
        yield f"places not looked at again  {', '.join(_place(one, place) for place in one.not_looked_at)}."
    if one.pictures:
        pairs = (
            f"{_place(one, p.place)}, {p.view}, {p.lighting}: {p.then.picture}, {p.now.picture}" for p in one.pictures
        )
        yield f"pictures of one view then and now  {'; '.join(pairs)}."
