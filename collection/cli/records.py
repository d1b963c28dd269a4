"""`ingest`, `correct`, `withdraw`, `reinstate`: records in, mended, out of account and back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.options import AS_JSON, BY, DATABASE, REASON, say
from collection.errors import WrongCommand
from collection.records import BY_SHEET

if TYPE_CHECKING:
    from collection.ingest.load import IngestReport

KIND = click.argument("kind", metavar="KIND")
KEY = click.argument("key", metavar="KEY")


def _sheet(kind: str) -> str:
    if kind not in BY_SHEET:
        raise WrongCommand(f"There is no kind of record {kind!r}; there are {', '.join(BY_SHEET)}.")
    return kind


@click.command()
@DATABASE
@click.argument("survey", type=click.Path(path_type=Path))
@click.option("--amend", metavar="REASON", help="Replace stored content that differs, and why; needs --by.")
@click.option("--by", envvar="FIRSTCOAT_BY", metavar="NAME", help="Who does it (or the environment's FIRSTCOAT_BY).")
@click.option("--dry-run", is_flag=True, help="Check and compare only; change nothing.")
@AS_JSON
def ingest(db: Path, survey: Path, amend: str | None, by: str | None, dry_run: bool, as_json: bool) -> int:
    """Take in a survey package: a folder with survey.toml and its CSV sheets."""
    from collection.ingest.load import ingest as taken_in

    report = taken_in(db, survey, amend=amend, by=by, dry_run=dry_run)
    if as_json:
        say(report.as_json())
    else:
        click.echo(_told(report))
    return 0


def _told(report: IngestReport) -> str:
    """What an ingest did, in a few lines; the warnings stay attached to their records."""
    if not report.added and not report.changed:
        first = f"{report.survey}: the same as what is stored; nothing was changed."
    else:
        verb = "would be" if report.dry_run else "were"
        first = f"{report.survey}: {sum(report.added.values())} records {verb} added"
        first += f", {sum(report.changed.values())} amended." if report.changed else "."
    lines = [first]
    for name, counts in (("added", report.added), ("amended", report.changed),
                         ("stored by this survey and not in the package, left as they are", report.missing)):
        if counts:
            lines.append(f"  {name}: " + ", ".join(f"{sheet.replace('_', ' ')} {n}" for sheet, n in counts.items()))
    lines += [f"  Warning: {fault.sentence()}" for fault in report.warnings]
    return "\n".join(lines)


@click.command()
@DATABASE
@KIND
@KEY
@click.argument("changes", nargs=-1, required=True, metavar="COLUMN=VALUE...")
@BY
@REASON
def correct(db: Path, kind: str, key: str, changes: tuple[str, ...], by: str, reason: str) -> int:
    """Mend cells of one record; what it said stays in the history. `not recorded` clears a cell."""
    from collection.store import write

    values = {}
    for change in changes:
        column, equals, value = change.partition("=")
        if not equals:
            raise WrongCommand(f"Write each change as COLUMN=VALUE; {change!r} has no =.")
        values[column.strip()] = value
    write.correct(db, _sheet(kind), key, values, by=by, why=reason)
    click.echo(f"{kind} {key} was corrected by {by}; its earlier content stays in the history.")
    return 0


@click.command()
@DATABASE
@KIND
@KEY
@BY
@REASON
def withdraw(db: Path, kind: str, key: str, by: str, reason: str) -> int:
    """Take a record, or a survey, out of account; it stays readable."""
    from collection.store import write

    write.withdraw(db, _sheet(kind), key, by=by, why=reason)
    click.echo(f"{kind} {key} is out of account; `firstcoat reinstate` undoes it.")
    return 0


@click.command()
@DATABASE
@KIND
@KEY
@BY
@REASON
def reinstate(db: Path, kind: str, key: str, by: str, reason: str) -> int:
    """Undo a withdrawal."""
    from collection.store import write

    write.reinstate(db, _sheet(kind), key, by=by, why=reason)
    click.echo(f"{kind} {key} counts again.")
    return 0
