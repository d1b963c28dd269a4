"""`blank`: an empty survey to fill in, as a workbook, a folder or a form for paper."""

from __future__ import annotations

from pathlib import Path

import click

from collection.language.errors import WrongCommand


@click.command()
@click.argument("out", type=click.Path(path_type=Path))
@click.option("--survey", metavar="CODE", help="The new survey's code; codes handed out begin with it.")
@click.option(
    "--from", "db", type=click.Path(path_type=Path), metavar="DB", help="The database that knows the objects."
)
@click.option("--object", "objects", multiple=True, metavar="KEY", help="Fill in what is known of an object.")
@click.option("--by", metavar="NAME", help="Who leads the survey.")
def blank(out: Path, survey: str | None, db: Path | None, objects: tuple[str, ...], by: str | None) -> int:
    """An empty survey to fill in: OUT.xlsx a workbook, OUT.html a form for paper, else a folder."""
    from collection.ingest.blank import blank_survey
    from collection.language.cautions import DUST, SOLVENT
    from collection.store.base import database

    if objects and db is None:
        raise WrongCommand("--object needs the database to read it from: --from DB.")
    if objects and not survey:
        raise WrongCommand(
            "Codes handed out begin with the new survey's code, so that two surveys never use the same "
            "one: --survey CODE."
        )
    if db is not None:
        if not survey:
            raise WrongCommand("A survey checked against a database needs its code: --survey CODE.")
        with database.opened(db, write=False) as connection:
            prepared = blank_survey.prepare(connection, objects, survey, by)
    else:
        prepared = blank_survey.empty(survey, by)
    made = blank_survey.write(prepared, out)
    known = sum(len(rows) for each in prepared.objects for rows in each.rows.values())
    what = (
        ""
        if not prepared.objects
        else (
            f" for {_count(len(prepared.objects), 'object')}: "
            f"{_count(known, 'known row')}, "
            f"{_count(len(prepared.questions), 'open question')}"
        )
    )
    click.echo(f"{out} is a survey to fill in{what}.")
    beside = [path for path in made if path != out]
    if beside:
        click.echo("Beside it, because its sheets name them: " + ", ".join(map(str, beside)) + ".")
    click.echo(f"Caution: {SOLVENT}\nCaution: {DUST}")
    click.echo(
        "Type it into a workbook or folder later."
        if out.suffix.lower() == blank_survey.PAPER
        else f"Next: fill it in, then firstcoat try {out}"
    )
    return 0


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"
