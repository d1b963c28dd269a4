"""`blank`: an empty survey to fill in, as a workbook, a folder or a form for paper."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.language.errors import WrongCommand

if TYPE_CHECKING:
    from collection.records.sheets import Picture


@click.command()
@click.argument("out", type=click.Path(path_type=Path))
@click.option("--survey", metavar="CODE", help="The new survey's code; codes handed out begin with it.")
@click.option(
    "--from", "db", type=click.Path(path_type=Path), metavar="DB", help="The database that knows the objects."
)
@click.option("--object", "objects", multiple=True, metavar="KEY", help="Fill in what is known of an object.")
@click.option(
    "--pictures",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="A camera's folder: a row for each picture, with its day, and what its name holds a code of.",
)
@click.option("--by", metavar="NAME", help="Who leads the survey.")
def blank(
    out: Path, survey: str | None, db: Path | None, objects: tuple[str, ...], pictures: Path | None, by: str | None
) -> int:
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
    told: tuple[str, ...] = ()
    if db is not None:
        if not survey:
            raise WrongCommand("A survey checked against a database needs its code: --survey CODE.")
        with database.opened(db, write=False) as connection:
            prepared = blank_survey.prepare(connection, objects, survey, by)
            if pictures is not None:
                prepared, told = blank_survey.with_pictures(prepared, pictures, out, connection)
    else:
        prepared = blank_survey.empty(survey, by)
        if pictures is not None:
            prepared, told = blank_survey.with_pictures(prepared, pictures, out)
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
    if prepared.pictures:
        click.echo("\n".join(_pictured(prepared.pictures, told, in_place=not prepared.copied)))
    named = {out.parent / row.file for row in prepared.pictures}
    beside = [str(path) for path in made if path != out and path not in named]
    copied = sum(path in named for path in made)
    beside += [f"{_count(copied, 'picture')} in {out.parent / 'pictures'}"] if copied else []
    if beside:
        click.echo("Beside it, because its sheets name them: " + ", ".join(beside) + ".")
    click.echo(f"Caution: {SOLVENT}\nCaution: {DUST}")
    click.echo(
        "Type it into a workbook or folder later."
        if out.suffix.lower() == blank_survey.PAPER
        else f"Next: fill it in, then firstcoat try {out}"
    )
    return 0


def _pictured(rows: Sequence[Picture], told: Sequence[str], *, in_place: bool) -> list[str]:
    """What became of the camera's folder: how many rows, what is filled in, and what is not and why."""
    filled = [
        f"{sum(bool(getattr(row, column)) for row in rows)} with {what}"
        for column, what in (
            ("taken_on", "a day"),
            ("object", "an object"),
            ("sample", "a sample"),
            ("place", "a place"),
        )
    ]
    lines = [f"The sheet pictures has {_count(len(rows), 'picture')}: {', '.join(filled)}. Fill in the rest."]
    if in_place:
        lines.append("The pictures stay where they lie: hand in their folder together with the workbook.")
    if not all(row.picture for row in rows):
        lines.append("Their codes are blank: --survey CODE would give each picture one.")
    return [*lines, *(f"  {sentence}" for sentence in told)]


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"
