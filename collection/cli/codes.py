"""`same` and `rename`: what a code means."""

from __future__ import annotations

from pathlib import Path

import click

from collection.cli.changes import KIND, carry_out
from collection.cli.options import AS_JSON, BY, DATABASE, DRY_RUN, REASON
from collection.records.kinds import sheet_of


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
    """Say that two codes are one thing, called by the first from now on; records stay as they are."""
    from collection.store.changes import statements

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
    """Give a thing another code: everything that names it shows the new one, and the old one still finds it."""
    from collection.store.changes import statements

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
