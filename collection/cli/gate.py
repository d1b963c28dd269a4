"""`assess` and `decide`."""

from __future__ import annotations

from pathlib import Path

import click

from collection.cli import render
from collection.cli.options import AS_JSON, BY, DATABASE, REASON, say
from collection.errors import WARNED, WrongCommand
from collection.policy import load_policy
from collection.words import SEVERITY_SPOKEN

POLICY = click.option("--policy", type=click.Path(exists=True, dir_okay=False, path_type=Path),
                      help="An institution's own policy file.")


def split_proposal(key: str) -> tuple[str, str]:
    """`OBJECT/CODE`, split from the right: object codes may hold a slash."""
    object_code, slash, code = key.rpartition("/")
    if not slash or not object_code:
        raise WrongCommand(f"A proposal is named OBJECT/CODE, as in T.1/P2; {key!r} has no object.")
    return object_code, code


@click.command()
@DATABASE
@click.argument("proposal", required=False)
@click.option("--all", "every", is_flag=True, help="Every proposal that is stored.")
@POLICY
@AS_JSON
def assess(db: Path, proposal: str | None, every: bool, policy: Path | None, as_json: bool) -> int:
    """What proposed work would take of what must be kept; PROPOSAL is OBJECT/CODE."""
    from collection.rules.assess import assess as assessed
    from collection.store import open as opening
    from collection.store import read

    if every == bool(proposal):
        raise WrongCommand("Name one proposal (OBJECT/CODE), or say --all.")
    connection = opening.connect(db, write=False)
    try:
        keys = read.proposal_keys(connection) if every else [split_proposal(proposal or "")]
        found = [assessed(read.facts_rows(connection, o), read.load_proposal(connection, o, p), load_policy(policy))
                 for o, p in keys]
    finally:
        opening.close(connection)
    if as_json:
        say({"format": 1, "assessments": [a.as_json() for a in found]} if every else found[0].as_json())
    else:
        click.echo("\n\n".join(render.assessment(a, brief=every) for a in found))
    return WARNED if any(a.warns for a in found) else 0


@click.command()
@DATABASE
@click.argument("proposal")
@click.option("--approve", "decision", flag_value="approve", help="Approve it.")
@click.option("--refuse", "decision", flag_value="refuse", help="Refuse it.")
@click.option("--defer", "decision", flag_value="defer", help="Defer it.")
@click.option("--step", "steps", type=int, multiple=True, help="Only this step; may be given again.")
@click.option("--condition", "conditions", multiple=True, metavar="TEXT", help="A condition; may be given again.")
@click.option("--override", "overrides", nargs=2, multiple=True, metavar="LOSS REASON",
              help="Accept one loss, by its id, with a reason; may be given again.")
@BY
@REASON
@POLICY
@AS_JSON
def decide(db: Path, proposal: str, decision: str | None, steps: tuple[int, ...], conditions: tuple[str, ...],
           overrides: tuple[tuple[str, str], ...], by: str, reason: str, policy: Path | None, as_json: bool) -> int:
    """Approve, refuse or defer a proposal; the assessment is made anew and kept with the decision."""
    from collection.store.decisions import decide as decided

    if decision is None:
        raise WrongCommand("Say --approve, --refuse or --defer.")
    object_code, code = split_proposal(proposal)
    made = decided(db, object_code, code, decision, by=by, reason=reason, steps=steps, conditions=conditions,
                   overrides=dict(overrides), policy=load_policy(policy))
    if as_json:
        say(made.as_json())
    else:
        click.echo(f"{made.proposal}: {made.decision} by {made.by}, decision {made.number}; outcome: "
                   f"{SEVERITY_SPOKEN[made.outcome]}.")
    return 0
