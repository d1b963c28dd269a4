"""`risks`: the collection's threats, ranked by what they would cost it, and what a small team should do first."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.options import AS_JSON, DATABASE, HOURS_PER_WEEK, TEXT, say
from collection.cli.proposals import POLICY
from collection.language.errors import WrongCommand
from collection.records.policy import load_policy

if TYPE_CHECKING:
    import sqlite3

    from collection.compute.risk.acts import TreatmentHours
    from collection.records.policy import Interval, Policy

LISTED, WEEKS = 20, 4


@click.command()
@DATABASE
@click.argument("object_code", type=TEXT, metavar="[OBJECT]", required=False)
@HOURS_PER_WEEK
@click.option(
    "--weeks", type=click.IntRange(0, 520), default=WEEKS, show_default=True, help="How many weeks are planned."
)
@click.option(
    "--most",
    type=click.IntRange(1),
    default=LISTED,
    show_default=True,
    metavar="N",
    help="How many threats are listed.",
)
@click.option("--on", "day", metavar="DATE", help="The day by which something is past its date, else today.")
@click.option(
    "--since",
    metavar="DATE",
    help="Only what is new, worse, better or gone since then; ends with 3 where new or worse.",
)
@click.option(
    "--letter",
    type=click.Path(path_type=Path),
    metavar="OUT.pdf",
    help="With --since: also a letter of one page on what changed.",
)
@click.option("--svg", type=click.Path(path_type=Path), metavar="FILE", help="Draw it into a new file as well.")
@POLICY
@AS_JSON
def risks(
    db: Path,
    object_code: str | None,
    hours_per_week: float | None,
    weeks: int,
    most: int,
    day: str | None,
    since: str | None,
    letter: Path | None,
    svg: Path | None,
    policy: Path | None,
    as_json: bool,
) -> int:
    """What threatens the collection's original finish, ranked by what it would cost; and the work, in hours a week.

    Magnitudes by the ABC method: how soon, how much of the object, how much of the collection.
    """
    # The matrices are small: threads on them would wait for each other, for minutes where the machine is busy.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from datetime import date

    from collection.cli.text import risks as text
    from collection.compute.risk import ranking
    from collection.store.base import database, read
    from collection.store.risks import at_risk

    try:
        on = date.today().isoformat() if day is None else date.fromisoformat(day).isoformat()
    except ValueError as error:
        raise WrongCommand(f"{day!r} is no day; write it as 2026-05-03.") from error
    rules = load_policy(policy)
    if letter is not None and since is None:
        raise WrongCommand("A letter says what changed: say since when, as in `--since 2026-05-03 --letter OUT.pdf`.")
    if since is not None:
        if svg is not None:
            raise WrongCommand("--svg draws what there is now; leave --since out.")
        from collection.cli.watch import risks_since

        return risks_since(db, rules, since, on, object_code, letter, most, as_json)
    with database.opened(db, write=False) as connection:
        shown = None if object_code is None else read.load_facts(connection, object_code).object.object
        whole = at_risk(connection, rules, on)
        hours = _hours(connection, rules)
        if svg is not None:
            from collection.cli.watch import draw

            draw(connection, rules, [each for each in whole if shown in (None, each.object)], svg)
    objects = [each for each in whole if shown in (None, each.object)]
    if not objects and shown is not None:
        raise WrongCommand(f"{shown} has left the collection, so nothing threatens it here.")
    a_week = hours_per_week or rules.risk.hours_per_week
    ranked = ranking.rank(objects, rules.risk, hours, most)
    steps = ranking.plan(objects, rules.risk, weeks * a_week, hours)
    answer = ranking.as_json(
        ranked,
        steps,
        rules.risk,
        on=on,
        objects=len(objects),
        threats=sum(len(each.threats) for each in objects),
        cost=ranking.together(objects, rules.risk),
        hours_per_week=a_week,
        asked=hours_per_week is not None,
    )
    if as_json:
        say(answer)
    else:
        click.echo("\n".join(text.of_collection(ranked, steps, answer, rules.risk, weeks)))
    return 0


def _hours(connection: sqlite3.Connection, rules: Policy) -> TreatmentHours:
    """Hours of a treatment by logged work; the model is made when the first is asked for."""
    from functools import cache

    from collection.compute.effort.logs import Kind
    from collection.compute.effort.rates import Rates, Wanted
    from collection.store.logged_work import logged_work

    logged = logged_work(connection)

    @cache
    def per_m2(action: str) -> Interval | None:
        logs = [log for log in logged.logs if log.kind.action == action]
        if not logs:
            return None
        return Rates(logged.logs, rules.effort).predict([Wanted(Kind(action), any_binder=True)]).interval(0)

    def hours(action: str, area_m2: float) -> Interval | None:
        rate = per_m2(action)
        return None if rate is None else (rate[0] * area_m2, rate[1] * area_m2, rate[2] * area_m2)

    return hours
