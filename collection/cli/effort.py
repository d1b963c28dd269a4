"""`effort`: how many hours work takes, by the steps that were logged with hours and surface."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.options import AS_JSON, DATABASE, HOURS_PER_WEEK, TEXT, say, write_new
from collection.cli.proposals import POLICY
from collection.compute.case import Case
from collection.language.errors import NotFound, WrongCommand
from collection.records.policy import load_policy

if TYPE_CHECKING:
    import sqlite3

    from collection.records.facts import Facts, ProposalFacts


@click.command()
@DATABASE
@click.argument("what", type=TEXT, metavar="[OBJECT/PROPOSAL or OBJECT]", required=False)
@HOURS_PER_WEEK
@click.option("--svg", type=click.Path(path_type=Path), metavar="FILE", help="Draw the hours by kind of work.")
@POLICY
@AS_JSON
def effort(
    db: Path, what: str | None, hours_per_week: float | None, svg: Path | None, policy: Path | None, as_json: bool
) -> int:
    """Hours by logged work: of each kind of it, of a proposal, or of the rest around an object's opened windows.

    From steps logged with hours and surface alone; where no such work was logged there is no figure.
    """
    # The matrices are small: threads on them would wait for each other, for minutes where the machine is busy.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from collection.cli.text import effort as text
    from collection.compute.effort import hours
    from collection.compute.effort.rates import Rates
    from collection.store.base import database
    from collection.store.logged_work import logged_work

    if svg is not None and what is not None:
        raise WrongCommand("--svg draws the hours by kind of work: leave the object or proposal out.")
    rules = load_policy(policy)
    a_week = hours_per_week or rules.effort.hours_per_week
    with database.opened(db, write=False) as connection:
        facts, proposal = (None, None) if what is None else _asked(connection, what)
        logged = logged_work(connection)
    rates = Rates(logged.logs, rules.effort) if logged.logs else None
    answer = hours.head(logged, a_week, rules.effort)
    judged = hours_per_week is None
    if facts is None:
        rows = hours.table(logged, rates)
        if svg is not None:
            from collection.output.drawings import hours_bars

            write_new(svg, hours_bars.draw("Hours by kind of work", rows, logged.sentence(), name="hours"))
        answer["actions"] = [row.as_json(logged) for row in rows]
        lines = text.of_table(rows, logged)
    elif proposal is not None:
        planned = hours.of_proposal(Case(facts, rules), proposal, logged, rates, a_week)
        answer["proposal"] = planned.as_json()
        lines = text.of_proposal(planned, logged, judged=judged)
    else:
        rests = hours.rests(Case(facts, rules), logged, rates, a_week)
        answer |= {"object": facts.object.object, "windows": [rest.as_json() for rest in rests]}
        lines = text.of_windows(facts.object.object, rests, logged, judged=judged)
    if as_json:
        say(answer)
    else:
        click.echo("\n".join(lines))
    return 0


def _asked(db: sqlite3.Connection, what: str) -> tuple[Facts, ProposalFacts | None]:
    """The object that is named, or the proposal with its object; codes of objects may hold a slash themselves."""
    from collection.store.base import read

    try:
        return read.load_facts(db, what), None
    except NotFound:
        object_code, slash, code = what.rpartition("/")
        if not slash:
            raise
    try:
        facts = read.load_facts(db, object_code)
    except NotFound:
        facts = read.load_facts(db, what)
    return facts, read.load_proposal(db, object_code, code)
