"""`export`: everything can leave."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.options import AS_JSON, DATABASE, say
from collection.language.errors import DAMAGE

if TYPE_CHECKING:
    from collection.output.export.package import PackageReport
    from collection.output.export.tables import TablesReport


@click.command()
@DATABASE
@click.argument("out", type=click.Path(path_type=Path))
@click.option(
    "--as",
    "form",
    type=click.Choice(("csv", "package")),
    required=True,
    help="csv: every table as it stands, with its dictionary; package: everything that ever was, for ingest.",
)
@AS_JSON
def export(db: Path, out: Path, form: str, as_json: bool) -> int:
    """Write the whole database out into a new folder OUT: as CSV, or as survey packages that make it again."""
    from collection.store.base import unfinished

    for name in unfinished.clean(out.parent):
        click.echo(f"Removed what a killed run had left: {name}", err=True)
    if form == "package":
        from collection.output.export.package import export_package

        report: PackageReport | TablesReport = export_package(db, out)
    else:
        from collection.output.export.tables import export_tables

        report = export_tables(db, out)
    if as_json:
        say(report.as_json())
    else:
        click.echo("\n".join(report.sentences()))
    return DAMAGE if report.damaged else 0
