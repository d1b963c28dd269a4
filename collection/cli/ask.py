"""`show` and `survival`: what is known, read only."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from collection.cli.options import AS_JSON, DATABASE, say
from collection.cli.render import square_metres


@click.command()
@DATABASE
@click.argument("object_code", metavar="OBJECT")
@click.option("--history", is_flag=True, help="Every earlier content of its records, with who, when and why.")
@AS_JSON
def show(db: Path, object_code: str, history: bool, as_json: bool) -> int:
    """Everything known of one object, on one screen."""
    from collection.compute.survival import object_survival
    from collection.store import open as opening
    from collection.store import read
    from collection.store.decisions import standing

    connection = opening.connect(db, write=False)
    try:
        facts = read.facts_rows(connection, object_code)
        document: dict[str, Any] = {"format": 1, "facts": facts.document()}
        proposals = [key for key in read.proposal_keys(connection) if key[0] == object_code]
        decided = [(p, standing(connection, *p)) for p in proposals]
        document["decisions"] = [d.as_json() for _, d in decided if d is not None]
        if history:
            document["history"] = read.object_history(connection, object_code)
    finally:
        opening.close(connection)
    if as_json:
        say(document)
        return 0
    survival = object_survival(facts)
    about = facts.object
    click.echo(f"{about.object}  {about.title} ({about.kind}{', ' + about.maker if about.maker else ''}"
               f"{', ' + about.made if about.made else ''})")
    click.echo(survival.sentence)
    for place in survival.places:
        click.echo(f"  {place.place:<14} {place.state:<24} {place.present} of {place.read} read")
    counts = {name: len(rows) for name, rows in document["facts"].items() if name != "object"}
    click.echo("Records: " + ", ".join(f"{count} {name.replace('_', ' ')}" for name, count in counts.items()) + ".")
    for (_, code), decision in decided:
        overtaken = " (overtaken: look again)" if decision is not None and decision.stale else ""
        state = "open" if decision is None else decision.decision + overtaken
        click.echo(f"Proposal {code}: {state}")
    for row in document.get("history", []):
        click.echo(f"{row['at']}  {row['sheet']} {row['key']} revision {row['revision']}, replaced by {row['by']}: "
                   f"{row['why']}")
    return 0


@click.command()
@DATABASE
@click.argument("object_code", metavar="[OBJECT]", required=False)
@AS_JSON
def survival(db: Path, object_code: str | None, as_json: bool) -> int:
    """What original finish survives, where, and how surely; of one object or of all."""
    from collection.compute.survival import object_survival
    from collection.store import open as opening
    from collection.store import read

    connection = opening.connect(db, write=False)
    try:
        codes = [object_code] if object_code else read.object_codes(connection)
        found = [object_survival(read.facts_rows(connection, code)) for code in codes]
    finally:
        opening.close(connection)
    if as_json:
        say({"format": 1, "objects": [one.as_json() for one in found]})
        return 0
    for one in found:
        area = "" if one.surviving_m2 is None else f"  {'at least ' if one.unmeasured_places else ''}" \
                                                   f"{square_metres(one.surviving_m2)}"
        click.echo(f"{one.object}  {one.title}: {one.sentence}{area}")
        if object_code:
            for place in one.places:
                click.echo(f"  {place.place:<14} {place.state:<24} {place.present} of {place.read} read"
                           f"{f', {place.traces} traces' if place.traces else ''}")
    return 0
