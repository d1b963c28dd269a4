"""What the commands that change records have in common: naming a record, and telling the consequences."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable
from pathlib import Path

import click

from collection.cli.options import say
from collection.language.errors import WrongCommand
from collection.records.sheets import BY_SHEET

KIND = click.argument("kind", metavar="KIND")
KEY = click.argument("key", metavar="KEY")


def sheet_of(kind: str) -> str:
    """The sheet of a kind of record."""
    if kind not in BY_SHEET:
        raise WrongCommand(f"There is no kind of record {kind!r}; there are {', '.join(BY_SHEET)}.")
    return kind


def carry_out(
    db: Path,
    objects: Callable[[sqlite3.Connection], Iterable[str]],
    act: Callable[[sqlite3.Connection], int],
    done: str,
    dry_run: bool,
    as_json: bool,
) -> int:
    """Make one change, or try it out, and tell what it does to proposed work."""
    from collection.store.decide.consequences import carried_out

    change, found = carried_out(db, objects, act, dry_run=dry_run)
    if as_json:
        say({"format": 1, "change": change, "dry_run": dry_run, **found.as_json()})
        return 0
    click.echo("Nothing was changed; this is what it would do to proposed work:" if dry_run else done)
    for line in found.sentences() or (["No open or approved proposal on what it touches."] if dry_run else []):
        click.echo(f"  {line}")
    return 0
