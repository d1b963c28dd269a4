"""`archive` and `restore`: a collection as a folder that outlives this program."""

from __future__ import annotations

import os
from pathlib import Path

import click

from collection.cli.options import AS_JSON, DATABASE, TEXT, Progress, for_whom, say
from collection.cli.site import PAPERS, names_told
from collection.language.errors import DAMAGE


@click.command()
@DATABASE
@click.argument("out", type=click.Path(path_type=Path))
@for_whom(
    "staff", "Whom it is for. For the public it holds what is published, and no database can be made of it again."
)
@click.option(
    "--object",
    "objects",
    metavar="OBJECT",
    multiple=True,
    type=TEXT,
    help="Only this object as it is published, to go along with a loan or transfer; may be given several times.",
)
@PAPERS
@AS_JSON
def archive(db: Path, out: Path, audience: str, objects: tuple[str, ...], papers: bool | None, as_json: bool) -> int:
    """Keep a collection in a new folder OUT: pages, papers, tables, pictures and the database itself."""
    # The matrices of hours are small: threads on them would wait for each other where the machine is busy.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from collection.output.archive.archive import archive as archived
    from collection.output.tell.pdf import can_print

    report = archived(
        db, out, audience=audience, objects=objects, papers=can_print() if papers is None else papers, progress=Progress
    )
    if as_json:
        say(report.as_json())
    else:
        for line in (*report.sentences(), *names_told(report.names_in_text)):
            click.echo(line)
    return 0


@click.command()
@click.argument("archive", type=click.Path(path_type=Path))
@DATABASE
@AS_JSON
def restore(archive: Path, db: Path, as_json: bool) -> int:
    """Make the database DB of an archive again, equal row by row to the one that was archived."""
    from collection.output.archive.restore import restore as restored

    report = restored(archive, db, progress=Progress)
    if as_json:
        say(report.as_json())
    else:
        for line in report.sentences():
            click.echo(line)
    return DAMAGE if report.damage else 0
