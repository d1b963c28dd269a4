"""`risks --since`: what is new or worse since a date, for people and for whatever runs it every night."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.options import say, write_new
from collection.language.errors import DONE, WARNED, WrongCommand
from collection.records.policy import Policy

if TYPE_CHECKING:
    import sqlite3

    from collection.compute.risk.ranking import AtRisk


def risks_since(
    db: Path, rules: Policy, since: str, on: str, object_code: str | None, letter: Path | None, most: int, as_json: bool
) -> int:
    """Say what moved, and write the letter where one is asked for.

    :returns: 3 where a threat is new or worse, otherwise 0.
    """
    # Imported here, because `--help` should not wait for them.
    from dataclasses import replace

    from collection.cli.text import watch as text
    from collection.store.base import database, read
    from collection.store.watch import watched

    from_then = moment(since)
    if from_then[:10] > on:
        raise WrongCommand(f"--since {since} lies after {on}, and nothing is known of then; name a day before it.")
    if letter is not None:
        from collection.output.new_file import may_be_new
        from collection.output.tell.pdf import need_press

        need_press()
        may_be_new(letter)
    with database.opened(db, write=False) as connection:
        connection.execute("BEGIN")  # one snapshot, whoever writes meanwhile
        found = watched(connection, rules, from_then, on)
        if object_code is not None:
            shown = read.load_facts(connection, object_code).object.object
            found = replace(found, moved=tuple(row for row in found.moved if row.object == shown))
        if letter is not None:
            from collection.output.new_file import write_new_file
            from collection.output.published.audience import Audience
            from collection.output.report.about import about_papers
            from collection.output.report.letter import letter_pdf

            write_new_file(letter, letter_pdf(found, rules.risk, about_papers(connection, Audience("staff"))))
            click.echo(f"{letter} was written, for staff only: do not show it outside.", err=True)
    if as_json:
        say(found.as_json(rules.risk))
    else:
        click.echo("\n".join(text.of_changes(found, rules.risk, most)))
    return WARNED if found.alarms else DONE


def draw(connection: sqlite3.Connection, rules: Policy, objects: Sequence[AtRisk], file: Path) -> None:
    """The pictures of some objects' threats, in a new file."""
    from collection.compute.risk.acts import loss_of
    from collection.output.drawings.risk_sheet import MOST_OBJECTS, pictures, sheet
    from collection.output.drawings.surviving_bars import Surviving
    from collection.store.surviving import surviving

    worst = sorted(objects, key=lambda each: -each.value * loss_of(each.threats, rules.risk)[1])[:MOST_OBJECTS]
    found = surviving(connection, [each.object for each in worst])
    bars = [Surviving(each.object, each.title, *found[each.object]) for each in worst]
    drawn = pictures(objects, bars, rules.risk)
    write_new(file, sheet("The collection at risk", list(drawn.values()), name="risk"))


def moment(since: str) -> str:
    """A day as it is, or a moment as the database writes them, in UTC.

    :raises WrongCommand: where it is neither.
    """
    try:
        if len(since) == len("2026-05-03"):
            return date.fromisoformat(since).isoformat()
        when = datetime.fromisoformat(since)
    except ValueError as error:
        raise WrongCommand(
            f"--since {since!r} is no day; write it as 2026-05-03, or with the time as 2026-05-03T06:00:00Z."
        ) from error
    at = when.replace(tzinfo=UTC) if when.tzinfo is None else when.astimezone(UTC)
    return at.isoformat(timespec="milliseconds")
