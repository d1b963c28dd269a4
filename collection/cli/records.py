"""`ingest`, `correct`, `withdraw`, `reinstate`: records come in, are corrected, go out of account and come back."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.changes import KEY, KIND, carry_out
from collection.cli.options import AS_JSON, BY, DATABASE, DRY_RUN, REASON, Progress, listing, say
from collection.language.errors import ASKS_AMENDMENT, REFUSED, Difference, NotConfirmed, WrongCommand, together
from collection.language.sentences import counted
from collection.records.kinds import sheet_of

if TYPE_CHECKING:
    import sqlite3

    from collection.ingest.load import IngestReport


@click.command()
@DATABASE
@click.argument("survey", type=click.Path(path_type=Path))
@click.option("--amend", metavar="REASON", help="Replace what is stored where it differs, for this reason; needs --by.")
@click.option(
    "--amend-corrected",
    multiple=True,
    metavar="KIND/KEY",
    help="A record of which --amend replaces what somebody corrected too (repeatable).",
)
@click.option("--by", envvar="FIRSTCOAT_BY", metavar="NAME", help="Who does it (or FIRSTCOAT_BY in the environment).")
@click.option(
    "--map",
    "mapping",
    type=click.Path(path_type=Path),
    metavar="MAP.toml",
    help="SURVEY is a list from elsewhere, a CSV; this says what its columns mean.",
)
@click.option("--dry-run", is_flag=True, help="Only check and compare; change nothing.")
@AS_JSON
def ingest(
    db: Path,
    survey: Path,
    amend: str | None,
    amend_corrected: tuple[str, ...],
    by: str | None,
    mapping: Path | None,
    dry_run: bool,
    as_json: bool,
) -> int:
    """Take in a survey: a folder, a .zip or an .xlsx; or the export of a whole database."""
    from collection.ingest.load import ingest as taken_in
    from collection.ingest.package.whole_export import is_export

    if is_export(survey):
        if amend is not None or mapping is not None:
            raise WrongCommand(f"{survey} is the export of a whole database and says itself who changed what and why.")
        return _take_in_whole(db, survey, dry_run, as_json)
    report = taken_in(
        db,
        survey,
        amend=amend,
        amend_corrected=amend_corrected,
        by=by,
        dry_run=dry_run,
        mapping=mapping,
        consequences=True,
        progress=Progress("objects brought up to date; the survey is stored"),
    )
    if as_json:
        say(report.as_json())
    else:
        click.echo(_report_lines(report))
    return REFUSED if report.would_be_refused else 0


def _take_in_whole(db: Path, export: Path, dry_run: bool, as_json: bool) -> int:
    from collection.ingest.whole_database import ingest_export

    report = ingest_export(db, export, dry_run=dry_run, progress=Progress("changes taken in"))
    if as_json:
        say(report.as_json())
    else:
        click.echo("\n".join(report.sentences()))
    return 0


def _report_lines(report: IngestReport) -> str:
    """What an ingest did, in a few lines."""
    cells = {name: n for name, n in report.listed.items() if n}
    if report.kept_count and not report.added and not report.changed:
        first = f"{report.survey}: nothing was changed: what differs was corrected by hand, and stays."
    elif cells and not report.added and not report.changed:
        number = counted(sum(cells.values()), "cell")
        first = (
            f"{report.survey}: no record changes; new or different: {number} of the list that no column takes whole."
        )
    elif not report.added and not report.changed:
        first = f"{report.survey}: the same as what is stored; nothing was changed."
    else:
        verb = "would be" if report.dry_run else "were"
        first = f"{report.survey}: {sum(report.added.values())} records {verb} added"
        first += f", {sum(report.changed.values())} amended." if report.changed else "."
    lines = [first]
    if report.amendment_not_needed and report.added:
        lines.append("  Nothing that is stored differs: it only adds, and no amendment was needed.")
    if report.would_be_refused:
        lines.append(
            "  As it is it would be refused: records exist with other content. A correction needs --amend "
            "REASON --by NAME; a change over time is a new record with its own date."
        )
    for name, counts in (
        ("added", report.added),
        ("amended", report.changed),
        ("the same", report.unchanged),
        ("withdrawn earlier, left so", report.withdrawn),
        ("stored by this survey and not in the package, left as they are", report.missing),
        ("cells of the list kept with their objects, see `firstcoat show … --listed`", cells),
    ):
        if counts:
            lines.append(f"  {name}: " + ", ".join(f"{sheet.replace('_', ' ')} {n}" for sheet, n in counts.items()))
    differences = [
        _differing(each) + ("" if each.told == ASKS_AMENDMENT else f". {each.told}") for each in report.differences
    ]
    lines += [f"  {line}" for line in listing(differences, report.difference_count, len(report.differences))]
    left = [f"Left as it is: {_differing(each)}. {each.told}" for each in report.kept]
    lines += [f"  {line}" for line in listing(left, report.kept_count, len(report.kept))]
    lines += [f"  {line}" for line in report.consequences.sentences()]
    warnings = [f"Warning: {line}" for line in together(report.warnings)]
    lines += [f"  {line}" for line in listing(warnings, report.warning_count, len(report.warnings))]
    if report.mapping is not None:
        lines += [f"  {line}" for line in report.mapping.sentences()]
    return "\n".join(lines)


def _differing(each: Difference) -> str:
    if each.column == "survey":
        return f"{each.sheet} {each.key}: it belongs to survey {each.stored!r}"
    given = "not recorded" if each.given is None else repr(each.given)
    stored = "nothing" if each.stored is None else repr(each.stored)
    return f"{each.sheet} {each.key}, {each.column}: {stored} is stored, {given} is given"


@click.command()
@DATABASE
@KIND
@KEY
@click.argument("changes", nargs=-1, required=True, metavar="COLUMN=VALUE...")
@BY
@REASON
@DRY_RUN
@AS_JSON
def correct(
    db: Path, kind: str, key: str, changes: tuple[str, ...], by: str, reason: str, dry_run: bool, as_json: bool
) -> int:
    """Put cells of one record right; what they said before stays in the history. `not recorded` clears a cell."""
    from collection.store.changes import corrections

    values = {}
    for change in changes:
        column, equals, value = change.partition("=")
        if not equals:
            raise WrongCommand(f"Write each change as COLUMN=VALUE; {change!r} has no =.")
        values[column.strip()] = value
    sheet = sheet_of(kind)
    return carry_out(
        db,
        lambda c: corrections.touched_by(c, sheet, key),
        lambda c: corrections.correct(c, sheet, key, values, by=by, why=reason),
        f"{kind} {key} was corrected by {by}; its earlier content stays in the history.",
        dry_run,
        as_json,
    )


@click.command()
@DATABASE
@KIND
@KEY
@BY
@REASON
@click.option("--yes", is_flag=True, help="Withdraw a survey without being asked again.")
@DRY_RUN
@AS_JSON
def withdraw(db: Path, kind: str, key: str, by: str, reason: str, yes: bool, dry_run: bool, as_json: bool) -> int:
    """Withdraw a record, or a survey: it stays readable, and no longer counts."""
    from collection.store.changes import corrections
    from collection.store.changes.leaving import Leaving, Watch
    from collection.store.decide.consequences import carried_out

    sheet = sheet_of(kind)
    left: list[Leaving] = []

    def objects(connection: sqlite3.Connection) -> list[str]:
        return corrections.touched_by(connection, sheet, key)

    def act(connection: sqlite3.Connection) -> int:
        watch = Watch(connection, objects(connection))
        change = corrections.withdraw(connection, sheet, key, by=by, why=reason)
        left.append(watch.left())
        return change

    if sheet == "survey" and not (yes or dry_run):
        _, found = carried_out(db, objects, act, dry_run=True)
        if as_json or not sys.stdin.isatty():
            raise NotConfirmed(f"survey {key}", left[-1].sentences("takes"), {"out_of_account": left[-1].as_json()})
        for line in (*left[-1].sentences("takes"), *found.sentences()):
            click.echo(line)
        if not click.confirm(f"Withdraw the survey {key}?"):
            click.echo("Nothing was changed.")
            return REFUSED
    done = f"{kind} {key} was withdrawn; `firstcoat reinstate` brings it back."
    return carry_out(db, objects, act, done, dry_run, as_json, lambda: left[-1])


@click.command()
@DATABASE
@KIND
@KEY
@BY
@REASON
@DRY_RUN
@AS_JSON
def reinstate(db: Path, kind: str, key: str, by: str, reason: str, dry_run: bool, as_json: bool) -> int:
    """Take a withdrawal back."""
    from collection.store.changes import corrections

    sheet = sheet_of(kind)
    return carry_out(
        db,
        lambda c: corrections.touched_by(c, sheet, key),
        lambda c: corrections.reinstate(c, sheet, key, by=by, why=reason),
        f"{kind} {key} counts again.",
        dry_run,
        as_json,
    )
