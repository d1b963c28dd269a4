"""What the commands that change records have in common: naming a record, and telling the consequences."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.options import say
from collection.ingest.package.headings import nearest, plain
from collection.language.errors import WrongCommand
from collection.language.words import SHEET_NAMES
from collection.records.sheets import BY_SHEET

if TYPE_CHECKING:
    from collection.store.changes.leaving import Leaving

KIND = click.argument("kind", metavar="KIND")
KEY = click.argument("key", metavar="KEY")


def sheet_of(kind: str) -> str:
    """The sheet of a kind of record, by the sheet's name or by what one of its records is called: `samples`, `sample`.

    :raises WrongCommand: where there is none; the nearest is named.
    """
    kinds = _kinds()
    sheet = kinds.get(plain(kind))
    if sheet is None:
        near = nearest(kind, [*kinds])
        known = ", ".join(_one(each) for each in BY_SHEET)
        hint = f" Did you mean {near.replace('_', ' ')!r}?" if near else ""
        raise WrongCommand(f"There is no kind of record {kind!r}.{hint} The kinds are {known}.")
    return sheet


@cache
def _kinds() -> dict[str, str]:
    """Every writing of a kind, as headings are compared, with its sheet."""
    found: dict[str, str] = {}
    for sheet in BY_SHEET:
        called = plain(SHEET_NAMES.get(sheet, sheet))
        for name in (sheet, sheet.removesuffix("s"), called, f"{called}s"):
            found.setdefault(name, sheet)
    return found


def _one(sheet: str) -> str:
    """One record of a sheet, by the sheet's name."""
    return "analysis" if sheet == "analyses" else sheet.removesuffix("s").replace("_", " ")


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
