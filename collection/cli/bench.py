"""`bench`: beside the swab, which mixture to try next, from the survey that is just being written."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from collection.cli.options import AS_JSON, TEXT, say
from collection.cli.proposals import POLICY
from collection.compute.case import Case
from collection.language.errors import BadValue, FirstcoatError, WrongCommand
from collection.records.policy import Policy, load_policy

if TYPE_CHECKING:
    from collection.compute.windows.companion.coats import Coats
    from collection.compute.windows.windows import Pair
    from collection.ingest.companion.answer import Answer
    from collection.records.facts import Facts


@click.command()
@click.argument("survey", type=click.Path(path_type=Path))
@click.argument("object_code", type=TEXT, metavar="OBJECT")
@click.argument("place", type=TEXT)
@click.option(
    "--have", type=click.Path(path_type=Path), required=True, metavar="BOTTLES.toml", help="The liquids within reach."
)
@click.option(
    "--also",
    type=click.Path(path_type=Path),
    multiple=True,
    metavar="EARLIER",
    help="An earlier survey of the object, or the database, for what was read before.",
)
@click.option("--remove", type=TEXT, metavar="COAT", help="The coat to take off, if not the outermost later one.")
@click.option("--keep", type=TEXT, metavar="COAT", help="The coat to leave, if not the next kept one beneath.")
@click.option("--on", "day", metavar="DATE", help="The day of the work, else today.")
@click.option("--watch", is_flag=True, help="Answer again at each save of the survey; Ctrl-C ends it.")
@POLICY
@AS_JSON
def bench(
    survey: Path,
    object_code: str,
    place: str,
    have: Path,
    also: tuple[Path, ...],
    remove: str | None,
    keep: str | None,
    day: str | None,
    watch: bool,
    policy: Path | None,
    as_json: bool,
) -> int:
    """Beside the swab: what to try next in a place, what stops it, what means stop.

    SURVEY is read as it was last saved, half filled in or not; no database is needed. Suggestions for spot tests in an
    inconspicuous place, and no more.
    """
    from datetime import date

    from collection.cli.text.companion import screen
    from collection.values import dates

    try:
        day = day or date.today().isoformat()
        dates.bounds(day)
    except BadValue as error:
        raise WrongCommand(f"--on: {error}") from error
    rules = load_policy(policy)

    def answer() -> None:
        found = told((*also, survey), object_code, place, have, remove, keep, day, rules)
        if as_json:
            say(document(found))
        else:
            click.echo("\n".join(screen(found)))

    if watch:
        _watch(survey, have, answer)
    else:
        answer()
    return 0


def _watch(survey: Path, have: Path, answer: Any) -> None:
    """Answer, and answer again each time the survey or the list of bottles is saved; a file that cannot be read just
    then is reported and tried again."""
    import time

    from collection.ingest.companion.open_survey import saved_stamp

    seen: object = None
    while True:
        stamp = saved_stamp(survey), saved_stamp(have)
        if stamp != seen:
            seen = stamp
            click.clear()
            try:
                answer()
            except FirstcoatError as error:
                click.echo(f"{error}\nSave the survey again, and this is read anew.")
        time.sleep(0.5)


def told(
    surveys: tuple[Path, ...],
    object_code: str,
    place: str,
    have: Path,
    remove: str | None,
    keep: str | None,
    day: str,
    policy: Policy,
) -> Answer:
    """Everything for one screen; the last of the surveys is the one being written.

    :raises WrongCommand: for an object, a place or a coat that none of the surveys names.
    """
    from collection.compute.windows.arrest import arresting
    from collection.compute.windows.companion import choice, next_step, signs
    from collection.ingest.companion.answer import Answer
    from collection.ingest.companion.bottles import read_bottles
    from collection.ingest.companion.open_facts import open_facts
    from collection.ingest.companion.open_survey import read_open
    from collection.values.reference import packaged

    reference = packaged()
    bottles = read_bottles(have, reference)
    read = [read_open(path, object_code) for path in surveys]
    found = open_facts(object_code, read)
    if found is None:
        raise _no_object(object_code, sorted(set().union(*(each.objects for each in read))))
    facts = found.facts
    _look_for(facts, place)
    case = Case(facts, policy, reference)
    coats, pair = _pair(case, place, remove, keep, day)
    step = (
        next_step.Step(coats.kind)
        if pair is None
        else next_step.next_step(
            pair,
            bottles.jars,
            doubtful=found.doubtful,
            application=bottles.applications[0] if bottles.applications else None,
            unplaced={each.spot: each.test for each in found.harm},
        )
    )
    stops = [] if pair is None or step.agent is None else arresting(pair, step.agent, bottles.agents)
    arrest = stops[0] if stops else None
    calmest = (
        None
        if pair is None or step.agent is None or arrest is not None
        else choice.calmest(pair, step.agent, bottles.agents)
    )
    used = [
        (agent, purpose)
        for agent, purpose in ((step.agent, "solvent"), (arrest.liquid if arrest else calmest, "solvent"))
        if agent is not None
    ]
    return Answer(
        object_code,
        place,
        read[-1].name,
        read[-1].in_use,
        found,
        coats,
        pair,
        step,
        arrest,
        calmest,
        bottles,
        signs.last_tests(case, place, day),
        signs.dangers(case, place, used),
        case,
        _not_here(facts),
    )


def _pair(case: Case, place: str, remove: str | None, keep: str | None, day: str) -> tuple[Coats, Pair | None]:
    from collection.compute.windows.companion.coats import Coats, coats_of, kept_below
    from collection.compute.windows.windows import pair_of

    coats = coats_of(case, place)
    below = kept_below(case, place, remove) if remove is not None else coats.keep
    to_go = coats.remove.thing if remove is None and coats.remove is not None else remove
    to_stay = below.thing if keep is None and below is not None else keep
    if to_go is None or to_stay is None:
        return (coats if remove is None else Coats(None, None, "nothing beneath")), None
    try:
        pair = pair_of(case, place, to_go, to_stay, day)
    except BadValue as error:
        raise WrongCommand(str(error)) from error
    return Coats(pair.remove, pair.keep, "test"), pair


def _no_object(object_code: str, known: list[str]) -> WrongCommand:
    import difflib

    near = difflib.get_close_matches(object_code, known, n=1, cutoff=0.5)
    hint = f" Did you mean {near[0]!r}?" if near else f" It names {', '.join(known[:8])}." if known else ""
    return WrongCommand(f"The survey has no row of an object {object_code!r}.{hint}")


def _look_for(facts: Facts, place: str) -> None:
    """:raises WrongCommand: for a place that no row of the object names."""
    import difflib

    known = sorted(
        {
            *(row.zone for row in facts.zones),
            *(row.component for row in facts.components),
            "all",
            *(row.place for row in facts.samples),
            *(row.place for row in facts.tests),
        }
    )
    if place not in known:
        near = difflib.get_close_matches(place, known, n=1, cutoff=0.5)
        hint = f" Did you mean {near[0]!r}?" if near else f" Places there: {', '.join(known[:12])}."
        raise WrongCommand(f"No row of {facts.object.object} that can be read names a place {place!r}.{hint}")


def _not_here(facts: Facts) -> tuple[str, ...]:
    """The schemes that coats name but the survey does not describe; they count as kept."""
    known = {row.scheme for row in facts.schemes}
    return tuple(sorted({row.scheme for row in facts.layers if row.scheme is not None} - known))


def document(found: Answer) -> dict[str, Any]:
    """The answer for programs."""
    from collection.cli.text.companion import why
    from collection.compute.windows.companion.signs import stop_signs

    step, pair = found.step, found.pair
    return {
        "format": 1,
        "object": found.object_code,
        "place": found.place,
        "survey": found.survey,
        "kind": step.kind,
        "remove": None if found.coats.remove is None else found.coats.remove.thing,
        "keep": None if found.coats.keep is None else found.coats.keep.thing,
        "next": None
        if step.plan is None
        else {
            "agent": step.plan.agent,
            "ph": step.plan.ph,
            "application": step.plan.application,
            "dwell_s": step.plan.dwell_s,
            "passes": step.plan.passes,
        },
        "changes": None if step.rung is None else step.rung.condition,
        "window": None if step.window is None else step.window.as_json(),
        "wanting": step.wanting,
        "chance": step.chance,
        "risk": step.risk,
        "why": why(found),
        "tests": list(step.tests),
        "arrest": None if found.arrest is None else found.arrest.as_json(),
        "least_active": None if found.calmest is None else found.calmest.text,
        "stop_if": [] if pair is None else list(stop_signs(pair)),
        "stopped": [{"liquids": name, "tests": list(tests)} for name, tests in step.stopped],
        "wait": None
        if found.wait is None
        else {
            "day": found.wait.day,
            "tests": list(found.wait.tests),
            "softened": list(found.wait.softened),
            "same_day": found.wait.same_day,
            "hours": found.case.policy.bench.wait_hours,
        },
        "safety": found.safety.as_json(),
        "not_in_survey": list(found.not_here),
        "unread": [
            {"where": each.spot, "effect": each.effect, "faults": [fault.sentence() for fault in each.faults]}
            for each in found.open.unread
        ],
        "may_tell_of_harm": [each.spot for each in found.open.harm],
        "bottles": list(found.bottles.told),
        "cautions": list(found.safety.cautions),
    }
