"""`report`: an object, or a survey, on paper."""

from __future__ import annotations

from pathlib import Path

import click

from collection.cli.options import DATABASE, Progress, for_whom
from collection.language.errors import WrongCommand


@click.command()
@DATABASE
@click.argument("what", nargs=-1, required=True, metavar="[OBJECT] OUT.pdf")
@click.option("--survey", metavar="CODE", help="In place of an object: what this survey did, for the owner.")
@for_whom("staff", "Whom it is for; the public gets no private columns, notes, names or rows for staff.")
@click.option("--names", is_flag=True, help="With --audience public: people's names too.")
def report(db: Path, what: tuple[str, ...], survey: str | None, audience: str, names: bool) -> None:
    """Write the report of an object into a new file OUT.pdf: to be read without this program, and signed.

    `report DB OBJECT OUT.pdf`, or `report DB --survey CODE OUT.pdf` for the owner of the collection.
    """
    if len(what) != (1 if survey else 2):
        raise WrongCommand("Write `report DB OBJECT OUT.pdf`, or `report DB --survey CODE OUT.pdf`.")
    # Imported here, because `--help` should not wait for them.
    from tempfile import TemporaryDirectory

    from collection.output.new_file import may_be_new, write_new_file
    from collection.output.published.audience import Audience
    from collection.output.report.about import about_papers
    from collection.output.report.object_report import report_pdf
    from collection.output.report.survey_report import survey_report_pdf
    from collection.output.site.computed_objects import told_object
    from collection.output.tell.pdf import need_press
    from collection.store.base import unfinished
    from collection.store.base.database import opened

    out = Path(what[-1])
    need_press()
    may_be_new(out)
    for name in unfinished.clean(out.parent):
        click.echo(f"Removed what a killed run had left: {name}", err=True)
    whom = Audience(audience, names)
    with opened(db, write=False) as connection:
        connection.execute("BEGIN")  # one snapshot, whoever writes meanwhile
        about = about_papers(connection, whom)
        if survey:
            made = survey_report_pdf(connection, survey, whom, about, Progress("objects read"))
        else:
            with TemporaryDirectory(prefix="firstcoat-") as folder:
                published = told_object(connection, db, what[0], whom, Path(folder))
                made = report_pdf(published, Path(folder), about)
    write_new_file(out, made)
    click.echo(f"{out} was written" + (", for staff only: do not show it outside." if whom.is_staff else "."))
