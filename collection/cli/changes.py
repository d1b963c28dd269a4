"""What the commands that change records have in common: naming a record, and telling the consequences."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.options import say

if TYPE_CHECKING:
    from collection.store.changes.leaving import Leaving

KIND = click.argument("kind", metavar="KIND")
KEY = click.argument("key", metavar="KEY")


def carry_out(
    db: Path,
    objects: Callable[[sqlite3.Connection], Iterable[str]],
    act: Callable[[sqlite3.Connection], int],
    done: str,
    dry_run: bool,
    as_json: bool,
    leaving: Callable[[], Leaving | None] = lambda: None,
) -> int:
    """Make one change, or try it out, and tell what it does to proposed work.

    :param leaving: asked after it, which records left the account.
    """
    from collection.store.decide.consequences import carried_out

    change, found = carried_out(db, objects, act, dry_run=dry_run)
    left = leaving()
    if as_json:
        more = {} if left is None else {"out_of_account": left.as_json()}
        say({"format": 1, "change": change, "dry_run": dry_run, **more, **found.as_json()})
        return 0
    click.echo("Nothing was changed; this is what it would do to proposed work:" if dry_run else done)
    for line in [] if left is None or left.count == 1 else left.sentences("would take" if dry_run else "took"):
        click.echo(f"  {line}")
    for line in found.sentences() or (["No open or approved proposal on what it touches."] if dry_run else []):
        click.echo(f"  {line}")
    return 0
