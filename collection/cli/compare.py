"""`compare`: what changed between two surveys, or two dates."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from collection.cli.options import AS_JSON, DATABASE, Progress, say
from collection.language.errors import BadValue, WrongCommand


@click.command()
@DATABASE
@click.argument("surveys", nargs=-1, metavar="[SURVEY SURVEY]")
@click.option("--dates", nargs=2, metavar="DATE DATE", help="Two dates (EDTF) in place of two surveys.")
@click.option("--object", "objects", multiple=True, metavar="OBJECT", help="Only this object; may be repeated.")
@click.option("--full", is_flag=True, help="List what is better, unchanged, unclear or not looked at again too.")
@AS_JSON
def compare(
    db: Path,
    surveys: tuple[str, ...],
    dates: tuple[str, str] | None,
    objects: tuple[str, ...],
    full: bool,
    as_json: bool,
) -> int:
    """What changed between two surveys: what got worse, what was lost, what disagrees."""
    if bool(dates) == bool(surveys) or (surveys and len(surveys) != 2):
        raise WrongCommand(
            "Name two surveys, as in `compare DB H14 H24`, or two dates: `compare DB --dates 2014 2024`."
        )
    # Imported here, because `--help` should not wait for them.
    from collection.cli.text import comparison as text
    from collection.store import comparison
    from collection.store.base.database import opened

    progress = Progress("objects compared")
    with opened(db, write=False) as connection:
        if dates:
            _check(dates)
            found = comparison.compare_dates(connection, *dates, objects, progress)
            first, second = sorted(dates, key=comparison.end_of)
            answer: dict[str, Any] = {
                "format": 1,
                "surveys": None,
                "dates": [first, second],
                "only": None,
                "overlap": False,
            }
            lines = text.dates_compared(found, first, second, full)
        else:
            compared = comparison.compare_surveys(connection, surveys[0], surveys[1], objects, progress)
            found = compared.objects
            told = [one.model_dump(include={"code", "title", "started", "ended"}) for one in compared.surveys]
            answer = {"format": 1, "surveys": told, "dates": None}
            answer |= {"only": {code: list(own) for code, own in compared.only.items()}, "overlap": compared.overlap}
            lines = text.surveys_compared(compared, full)
    if as_json:
        say({**answer, "objects": [each.as_json() for each in found]})
    else:
        click.echo("\n".join(lines))
    return 0


def _check(days: tuple[str, str]) -> None:
    from collection.values import dates

    for day in days:
        try:
            dates.bounds(day)
        except BadValue as fault:
            raise WrongCommand(f"--dates {day}: {fault}") from fault
