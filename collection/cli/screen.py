"""`screen`: one action on every object."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.options import AS_JSON, DATABASE, Progress, say
from collection.cli.proposals import POLICY
from collection.cli.text.assessment import wrap
from collection.language.errors import WARNED, BadValue, WrongCommand
from collection.language.sentences import counted
from collection.language.words import SEVERITY_RANK, SEVERITY_SPOKEN
from collection.language.work_words import ACTION, APPLICATION
from collection.records.policy import load_policy

if TYPE_CHECKING:
    from collection.store.screen import Screened

LISTED = 40


@click.command()
@DATABASE
@click.option("--action", required=True, type=click.Choice(ACTION.words), metavar="ACTION", help="What would be done.")
@click.option("--agent", metavar="AGENT", help="With what: a liquid, or parts by volume.")
@click.option("--application", type=click.Choice(APPLICATION.words), metavar="WORD", help="How it is put on.")
@click.option("--dwell", "dwell_s", type=click.FloatRange(0), metavar="SECONDS", help="How long it stays wet.")
@click.option("--ph", type=click.FloatRange(0, 14), metavar="PH", help="At which pH.")
@click.option("--on", "day", metavar="DATE", help="The day of the work, else today; older tests clear nothing.")
@click.option("--full", is_flag=True, help="List every object.")
@POLICY
@AS_JSON
def screen(
    db: Path,
    action: str,
    agent: str | None,
    application: str | None,
    dwell_s: float | None,
    ph: float | None,
    day: str | None,
    full: bool,
    policy: Path | None,
    as_json: bool,
) -> int:
    """What one action would do to the whole of every object, worst first.

    It never says less than `assess` would of the same step. Reserves are left aside, because work on the whole of an
    object always touches them. What nobody recorded counts as untested.
    """
    from datetime import date

    from collection.records.sheets import ProposalStep
    from collection.store.base import database
    from collection.store.screen import screen as screened
    from collection.values import agents, dates, reference

    try:
        if agent is not None:
            agents.parse(agent, reference.packaged().solvents)
        day = day or date.today().isoformat()
        dates.bounds(day)
    except BadValue as error:
        raise WrongCommand(str(error)) from error
    step = ProposalStep(
        object="-",
        proposal="-",
        step=1,
        place="all",
        action=action,
        agent=agent,
        ph=ph,
        application=application,
        dwell_s=dwell_s,
    )
    connection = database.connect(db, write=False)
    try:
        found = screened(connection, step, day, load_policy(policy), progress=Progress("objects assessed in full"))
    finally:
        database.close(connection)
    if as_json:
        say(
            {
                "format": 1,
                "action": action,
                "agent": agent,
                "on": day,
                "objects": [
                    {
                        "object": each.object,
                        "title": each.title,
                        "severity": each.severity,
                        "in_full": each.harmed is not None,
                        "worst": list(each.harmed or ()),
                    }
                    for each in found
                ],
            }
        )
    else:
        click.echo("\n".join(_lines(found, full)))
    return WARNED if any(each.severity in ("destroys", "endangers", "untested") for each in found) else 0


def _lines(found: list[Screened], full: bool) -> list[str]:
    by_severity = {
        severity: [each for each in found if each.severity == severity]
        for severity in sorted(SEVERITY_RANK, key=lambda word: -SEVERITY_RANK[word])
    }
    lines = [
        "; ".join(
            f"{SEVERITY_SPOKEN[severity]}: {counted(len(own), 'object')}"
            for severity, own in by_severity.items()
            if own
        )
        + "."
    ]
    for severity, own in by_severity.items():
        if not own:
            continue
        lines += ["", SEVERITY_SPOKEN[severity].upper()]
        shown = own if full else own[:LISTED]
        for each in shown:
            where = (
                ""
                if not each.harmed
                else f": {', '.join(each.harmed[:4])}"
                + (f" and {len(each.harmed) - 4} more" if len(each.harmed) > 4 else "")
            )
            lines.append(wrap(f"{each.object}  {each.title}{where}", "  "))
        if len(shown) < len(own):
            lines.append(f"  … and {len(own) - len(shown):,} more; --full")
    lines += [
        "",
        wrap(
            "Where an object has only coats on record, only their binders were judged; `assess` says more of a "
            "proposal. Solvents and other agents can poison and burn, and old paint may hold lead: read the safety "
            "data sheets, and follow local codes and licensed practice."
        ),
    ]
    return lines
