"""`same` and `rename`: what a code means; and what every change tells of its consequences."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable
from pathlib import Path

import click

from collection.cli.options import AS_JSON, BY, DATABASE, DRY_RUN, REASON, say

KIND = click.argument("kind", metavar="KIND")


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


@click.command()
@DATABASE
@KIND
@click.argument("first", metavar="KEY")
@click.argument("second", metavar="KEY")
@click.option("--not", "taken_back", is_flag=True, help="Take back that they are one thing.")
@BY
@REASON
@DRY_RUN
@AS_JSON
def same(
    db: Path, kind: str, first: str, second: str, taken_back: bool, by: str, reason: str, dry_run: bool, as_json: bool
) -> int:
    """Say that two codes stand for one thing, which is read as the first from then on; records stay as they are."""
    from collection.cli.records import sheet_of
    from collection.store.changes import same as statements

    sheet = sheet_of(kind)
    done = (
        f"{kind} {first} and {second} are two things again."
        if taken_back
        else f"{kind} {first} and {second} are one thing, read as {first}; `firstcoat same --not` takes it back."
    )
    return carry_out(
        db,
        lambda c: statements.touched_by(c, sheet, first, second),
        lambda c: statements.same(c, sheet, first, second, by, reason, holds=not taken_back),
        done,
        dry_run,
        as_json,
    )


@click.command()
@DATABASE
@KIND
@click.argument("key", metavar="KEY")
@click.argument("code", metavar="CODE")
@BY
@REASON
@DRY_RUN
@AS_JSON
def rename(db: Path, kind: str, key: str, code: str, by: str, reason: str, dry_run: bool, as_json: bool) -> int:
    """Give a thing another code: everything that names it is read so, and the old code still finds it."""
    from collection.cli.records import sheet_of
    from collection.store.changes import same as statements

    sheet = sheet_of(kind)
    return carry_out(
        db,
        lambda c: statements.touched_by(c, sheet, key),
        lambda c: statements.rename(c, sheet, key, code, by, reason),
        f"{kind} {key} is called {code} now; the old code still finds it, and `firstcoat rename` to it "
        "takes the name back.",
        dry_run,
        as_json,
    )
