"""`assess` and `decide`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.options import AS_JSON, BY, DATABASE, REASON, say
from collection.cli.text import assessment
from collection.compute.case import Case
from collection.language.errors import WARNED, BadValue, WrongCommand
from collection.language.words import SEVERITY_SPOKEN
from collection.records.policy import load_policy

if TYPE_CHECKING:
    from collection.rules.track_record import Outturn

POLICY = click.option(
    "--policy", type=click.Path(exists=True, dir_okay=False, path_type=Path), help="An institution's own policy file."
)


def split_proposal(key: str) -> tuple[str, str]:
    """`OBJECT/CODE`, split from the right: object codes may hold a slash."""
    object_code, slash, code = key.rpartition("/")
    if not slash or not object_code:
        raise WrongCommand(f"A proposal is named OBJECT/CODE, as in T.1/P2; {key!r} has no object.")
    return object_code, code


@click.command()
@DATABASE
@click.argument("proposal", required=False)
@click.option(
    "--all", "every", is_flag=True, help="Every open proposal, worst first, and what became of those carried out."
)
@click.option(
    "--package",
    type=click.Path(exists=True, path_type=Path),
    metavar="SURVEY",
    help="A survey that holds the proposal; it is not stored.",
)
@click.option("--sheet", is_flag=True, help="A decision sheet of two pages to sign.")
@click.option(
    "--on", "day", metavar="DATE", help="As if it were done on that day; tests too old by then clear nothing."
)
@POLICY
@AS_JSON
def assess(
    db: Path,
    proposal: str | None,
    every: bool,
    package: Path | None,
    sheet: bool,
    day: str | None,
    policy: Path | None,
    as_json: bool,
) -> int:
    """What proposed work would take of what must be kept; PROPOSAL is OBJECT/CODE."""
    if every == bool(proposal) or (every and (package or sheet)) or (sheet and as_json):
        raise WrongCommand("Name one proposal (OBJECT/CODE), or say --all; --package and --sheet go with one proposal.")
    if day is not None:
        from collection.values import dates

        try:
            dates.bounds(day)
        except BadValue as error:
            raise WrongCommand(f"--on: {error}") from error
    if package is not None:
        from collection.ingest.trial_copy import with_package

        with with_package(db, package) as copy:
            return _assess_one(copy, proposal or "", sheet, day, policy, as_json)
    if every:
        return _assess_all(db, day, policy, as_json)
    return _assess_one(db, proposal or "", sheet, day, policy, as_json)


def _assess_one(db: Path, proposal: str, sheet: bool, day: str | None, policy: Path | None, as_json: bool) -> int:
    from collection.rules.advice import with_answers
    from collection.rules.assess import assess as assessed
    from collection.store.base import database, read
    from collection.store.decide.decisions import answers_so_far

    connection = database.connect(db, write=False)
    key = split_proposal(proposal)
    try:
        facts, whole = read.facts_rows(connection, key[0]), read.load_proposal(connection, *key)
        found = assessed(Case(facts, load_policy(policy)), whole if day is None else whole.planned_for(day))
        found = with_answers(found, answers_so_far(connection, *key, facts, found))
    finally:
        database.close(connection)
    if as_json:
        say(found.as_json())
    elif sheet:
        from collection.cli.text.decision_sheet import decision_sheet

        click.echo(decision_sheet(facts, whole, found))
    else:
        click.echo(assessment.assessment(facts, whole, found))
    return WARNED if found.warns else 0


def _assess_all(db: Path, day: str | None, policy: Path | None, as_json: bool) -> int:
    from collection.store.base import database
    from collection.store.decide.standing_proposals import every_proposal

    connection = database.connect(db, write=False)
    try:
        found, done = every_proposal(connection, load_policy(policy), day)
    finally:
        database.close(connection)
    if as_json:
        say(
            {
                "format": 1,
                "assessments": [
                    each.assessment.as_json()
                    | {"title": each.title, "decision": each.decision, "overtaken": each.overtaken}
                    for each in found
                ],
                "track_record": [each.as_json() for each in done],
            }
        )
    else:
        lines = [assessment.one_line(each.assessment, each.title, each.told) for each in found] or [
            "No proposal is open."
        ]
        click.echo("\n".join([*lines, "", *(assessment.wrap(line) for line in _track_record(done))]))
    return WARNED if any(each.assessment.warns for each in found) else 0


def _track_record(done: list[Outturn]) -> list[str]:
    """What became of proposals that were carried out, beside what had been predicted."""
    from collection.rules.track_record import summed

    return [*summed(done), *(sentence for each in done for sentence in each.sentences())]


@click.command()
@DATABASE
@click.argument("proposal")
@click.option("--approve", "decision", flag_value="approve", help="Approve it.")
@click.option("--refuse", "decision", flag_value="refuse", help="Refuse it.")
@click.option("--defer", "decision", flag_value="defer", help="Defer it.")
@click.option("--step", "steps", type=int, multiple=True, help="Only this step; may be given again.")
@click.option("--condition", "conditions", multiple=True, metavar="TEXT", help="A condition; may be given again.")
@click.option(
    "--override",
    "overrides",
    nargs=2,
    multiple=True,
    metavar="LOSS REASON",
    help="Accept one loss, by its id, with a reason; may be given again.",
)
@click.option(
    "--answer",
    "answers",
    nargs=2,
    multiple=True,
    metavar="ADVICE REASON",
    help="Answer advice against the work, by its code, with a reason; may be given again.",
)
@BY
@REASON
@POLICY
@AS_JSON
def decide(
    db: Path,
    proposal: str,
    decision: str | None,
    steps: tuple[int, ...],
    conditions: tuple[str, ...],
    overrides: tuple[tuple[str, str], ...],
    answers: tuple[tuple[str, str], ...],
    by: str,
    reason: str,
    policy: Path | None,
    as_json: bool,
) -> int:
    """Approve, refuse or defer a proposal. It is assessed again, and the assessment is kept with the decision."""
    from collection.store.decide.decisions import decide as decided

    if decision is None:
        raise WrongCommand("Say --approve, --refuse or --defer.")
    object_code, code = split_proposal(proposal)
    made = decided(
        db,
        object_code,
        code,
        decision,
        by=by,
        reason=reason,
        steps=steps,
        conditions=conditions,
        overrides=dict(overrides),
        answers=dict(answers),
        policy=load_policy(policy),
    )
    if as_json:
        say(made.as_json())
    else:
        click.echo(
            f"{made.proposal}: {made.decision} by {made.by}, decision {made.number}; outcome: "
            f"{SEVERITY_SPOKEN[made.outcome]}."
        )
    return 0
