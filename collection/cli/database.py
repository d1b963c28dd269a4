"""`init`, `migrate`, `refresh`, `check`, `backup`: the database as a whole."""

from __future__ import annotations

from pathlib import Path

import click

from collection.cli.options import AS_JSON, DATABASE, Progress, listing, say
from collection.language.errors import DAMAGE

SHARED = click.option(
    "--shared", is_flag=True, help="For a network drive: slower, and one writer shuts out every reader."
)


@click.command()
@DATABASE
@SHARED
def init(db: Path, shared: bool) -> None:
    """Make a new, empty database."""
    from collection.store.base import database

    database.create(db, shared=shared)
    click.echo(f"{db} is a new, empty database. Next: firstcoat ingest {db} SURVEY")


@click.command()
@DATABASE
@SHARED
@AS_JSON
def migrate(db: Path, shared: bool, as_json: bool) -> None:
    """Bring an older database up to date; a copy of the old one stays beside it."""
    from collection.store.base import database

    report = database.migrate(db, shared=shared)
    if as_json:
        say(report.as_json())
        return
    for line in (report.sentence(), *report.questions()):
        click.echo(line)


@click.command()
@DATABASE
def refresh(db: Path) -> None:
    """Compute everything again that is worked out from the records."""
    from collection.store import derive
    from collection.store.base import database

    connection = database.connect(db, write=True)
    try:
        with database.writing(connection):
            count = derive.refresh(connection, progress=Progress("objects computed"))
    finally:
        database.close(connection)
    click.echo(f"{count} objects were computed again.")


@click.command()
@DATABASE
@AS_JSON
def check(db: Path, as_json: bool) -> int:
    """Verify a database or an archive: checksums, the chain of changes, pictures, what was computed."""
    from collection.store.check import LISTED, MOST_LISTED

    most = MOST_LISTED if as_json else LISTED
    if db.is_dir():
        from collection.output.archive.checked import check_archive

        found = check_archive(db, progress=Progress, most=most)
        damage, notes, copy = found.damage, found.notes, "another copy of the archive"
    else:
        from collection.store.check import check as checked

        report = checked(db, most=most)
        damage, notes, copy = report.damage, report.notes, "a copy"
    if as_json:
        say({"format": 1, "damage": list(damage), "notes": list(notes)})
    else:
        for line in listing([f"Damage: {line}" for line in damage], len(damage), MOST_LISTED):
            click.echo(line)
        for line in notes:
            click.echo(f"Note: {line}")
        click.echo(f"Damage was found: restore from {copy}." if damage else "No damage was found.")
    return DAMAGE if damage else 0


@click.command()
@DATABASE
@click.argument("out", type=click.Path(path_type=Path))
@AS_JSON
def backup(db: Path, out: Path, as_json: bool) -> int:
    """Copy the database to OUT and its files to the folder beside that, while others work on it."""
    from collection.store.backup import backup as copied

    report = copied(db, out, progress=Progress)
    if as_json:
        say(report.as_json())
    else:
        for line in report.sentences():
            click.echo(line)
    return DAMAGE if report.damage else 0
