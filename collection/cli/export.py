"""`export`: everything can leave."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.options import AS_JSON, DATABASE, say
from collection.language.errors import DAMAGE, WrongCommand

if TYPE_CHECKING:
    from collection.output.export.linked_art.folder import LinkedArtReport
    from collection.output.export.package import PackageReport
    from collection.output.export.tables import TablesReport


@click.command()
@DATABASE
@click.argument("out", type=click.Path(path_type=Path))
@click.option(
    "--as",
    "form",
    type=click.Choice(("csv", "package", "linked-art")),
    required=True,
    help="csv: every table as it stands, with its dictionary; package: everything that ever was, for ingest; "
    "linked-art: each object as JSON-LD on the CIDOC CRM, for other programs.",
)
@click.option(
    "--audience",
    type=click.Choice(("public", "staff")),
    help="With linked-art: whom it is for, the public if you do not say; staff also get private columns, notes and names.",
)
@click.option("--names", is_flag=True, help="With linked-art: people's names too.")
@click.option(
    "--address",
    metavar="URL",
    help="With linked-art: where the site stands or will, from which ids are made; otherwise the collection's own.",
)
@AS_JSON
def export(
    db: Path, out: Path, form: str, audience: str | None, names: bool, address: str | None, as_json: bool
) -> int:
    """Write the whole database out into a new folder OUT: as CSV, as survey packages that make it again, or as linked
    data."""
    if form != "linked-art" and (audience or names or address):
        raise WrongCommand(
            f"--as {form} is always whole, for staff: --audience, --names and --address go with --as linked-art."
        )
    from collection.store.base import unfinished

    for name in unfinished.clean(out.parent):
        click.echo(f"Removed what a killed run had left: {name}", err=True)
    if form == "package":
        from collection.output.export.package import export_package

        report: PackageReport | TablesReport | LinkedArtReport = export_package(db, out)
    elif form == "linked-art":
        from collection.output.export.linked_art.folder import export_linked_art

        report = export_linked_art(db, out, audience=audience or "public", names=names, address=address)
    else:
        from collection.output.export.tables import export_tables

        report = export_tables(db, out)
    if as_json:
        say(report.as_json())
    else:
        click.echo("\n".join(report.sentences()))
    return DAMAGE if report.damaged else 0
