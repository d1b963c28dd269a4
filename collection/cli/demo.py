"""`demo`: the invented sample survey, from package to published site."""

from __future__ import annotations

import shutil
from importlib.resources import as_file
from pathlib import Path

import click

from collection.cli.text import assessment
from collection.compute.case import Case
from collection.language.errors import CouldNot
from collection.values.resources import sample_folder

LISTED = 5
"""How many objects, and proposals of one severity, are named, so that it all fits on a screen."""
AMENDED = "Put right by the second look (invented); each row's notes say why"
LEAD = "Idwal Marrable (invented)"
WHOSE = {
    "code": "OHM",
    "name": "Ostrinmouth Harbour Museum (invented)",
    "contact": "the registrar, collection@ostrinmouth.example (invented)",
    "licence": "CC0-1.0",
}
"""Without an address: the demonstration's pages stand wherever somebody opens them."""


@click.command()
@click.argument("folder", type=click.Path(path_type=Path), default=Path("firstcoat-demo"))
@click.option("--serve", "open_it", is_flag=True, help="Open the published site afterwards.")
@click.option("--port", default=8001, show_default=True, help="Port for --serve.")
def demo(folder: Path, open_it: bool, port: int) -> int:
    """The invented sample survey, from package to published site, in FOLDER (made new)."""
    from collection.compute.survival.survival import object_survival
    from collection.ingest.load import ingest
    from collection.language.words import SEVERITY_RANK, SEVERITY_SPOKEN
    from collection.output.site.publish import publish
    from collection.rules.assess import assess
    from collection.store.base import database, read
    from collection.store.changes import collection_row

    if folder.exists():
        raise CouldNot(f"{folder} is there already; nothing was changed. Name another folder, or remove it first.")
    folder.mkdir(parents=True)
    db, site = folder / "collection.db", folder / "site"
    database.create(db)
    click.echo("Everything here is invented: the town, its collection, makers, people and figures.")
    surveys = folder / "surveys"
    with as_file(sample_folder().joinpath("harbour")) as packages:
        # Copied, so that the manual's commands have surveys to work on.
        for package in sorted(p for p in packages.iterdir() if p.is_dir()):
            shutil.copytree(package, surveys / package.name)
        for package in sorted(surveys.iterdir()):
            report = ingest(db, package, amend=AMENDED, by=LEAD)
            click.echo(
                f"Ingested {report.survey}: {sum(report.added.values())} records in {len(report.added)} sheets, "
                f"{report.warning_count} warnings kept."
            )
            if report.changed:
                click.echo(
                    f"  Put right: {sum(report.changed.values())} records of the earlier survey "
                    f"({', '.join(f'{sheet} {n}' for sheet, n in report.changed.items())}); what they said before "
                    "stays in the history."
                )
    collection_row.state(db, WHOSE, LEAD, "The demonstration says whose it is (invented)")
    connection = database.connect(db, write=False)
    try:
        cases = {code: Case(read.facts_rows(connection, code)) for code in read.object_codes(connection)}
        found = [assess(cases[o], read.load_proposal(connection, o, p)) for o, p in read.proposal_keys(connection)]
    finally:
        database.close(connection)
    click.echo("\nWhat survives")
    # Where most places were looked at first; the objects that nobody has looked at are counted, not hidden.
    surviving = sorted(map(object_survival, cases.values()), key=lambda one: (-one.places_read, one.object))
    for one in surviving[:LISTED]:
        click.echo(f"  {one.object:<11} {one.title}: {one.sentence}")
    if len(surviving) > LISTED:
        unread = sum(not one.places_read for one in surviving)
        click.echo(
            f"  and {len(surviving) - LISTED} more; at {unread} of {len(surviving)} objects nobody has looked: "
            f"firstcoat survival {db}"
        )
    click.echo("\nProposals")
    for severity in sorted({a.outcome for a in found}, key=lambda word: -SEVERITY_RANK[word]):
        which = [a.proposal for a in found if a.outcome == severity]
        more = f" and {len(which) - LISTED} more" if len(which) > LISTED else ""
        click.echo(f"  {SEVERITY_SPOKEN[severity] + ':':<16} {', '.join(which[:LISTED])}{more}")
    # The warning with the most measured finish at stake tells the story best.
    worst = max((a for a in found if a.losses), key=lambda a: (SEVERITY_RANK[a.outcome], (a.loss_m2 or (0, 0, 0))[1]))
    loss = next((one for one in worst.losses if one.area_m2), worst.losses[0])
    click.echo("\nOne warning, with its evidence")
    click.echo(assessment.one_loss(worst, loss))
    publish(db, site)
    click.echo(f"\nOpen the site:      firstcoat serve {site}")
    click.echo(f"Read one warning:   firstcoat assess {db} {worst.proposal}")
    click.echo("Read the manual:    firstcoat manual")
    if open_it:
        from collection.cli.site import say_where
        from collection.output.site.serve import serve

        serve(site, host="127.0.0.1", port=port, ready=say_where)
    return 0
