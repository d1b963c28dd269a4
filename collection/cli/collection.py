"""`collection`: whose collection this is."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.options import AS_JSON, DATABASE, say
from collection.language.errors import WrongCommand

if TYPE_CHECKING:
    from collection.store.changes.collection_row import Statement


@click.command(name="collection")
@DATABASE
@click.argument("values", nargs=-1, metavar="[NAME=VALUE...]")
@click.option("--by", envvar="FIRSTCOAT_BY", metavar="NAME", help="Who says so (or FIRSTCOAT_BY in the environment).")
@click.option("--reason", metavar="TEXT", help="Why.")
@AS_JSON
def collection(db: Path, values: tuple[str, ...], by: str | None, reason: str | None, as_json: bool) -> None:
    """Whose collection this is: show it, or say it.

    NAME is code, name, contact, address (the lasting one of its pages) or licence; `not recorded` clears one. All of it
    is published.
    """
    from collection.store.base import database
    from collection.store.changes import collection_row

    if values:
        if not by or not reason:
            raise WrongCommand("Say who says so, and why: --by NAME --reason TEXT.")
        collection_row.state(db, _given(values), by, reason)
    with database.opened(db, write=False) as connection:
        said = collection_row.statements(connection)
    now = said[-1].collection if said else collection_row.Collection()
    if as_json:
        say({"format": 1, "collection": now.as_json(), "statements": [_as_json(each) for each in said]})
        return
    for name, text in now.as_json().items():
        click.echo(f"{name + ':':<9}{text or 'not recorded'}")
    for each in reversed(said):
        click.echo(f"  said by {each.by}, {each.at[:10]}: {each.why}" + _difference(each, said))


def _given(values: tuple[str, ...]) -> dict[str, str]:
    found = {}
    for value in values:
        name, equals, text = value.partition("=")
        if not equals:
            raise WrongCommand(f"Write each as NAME=VALUE; {value!r} has no =.")
        found[name.strip()] = text
    return found


def _difference(each: Statement, said: list[Statement]) -> str:
    """What a statement changed of the one before it."""
    place = said.index(each)
    if not place:
        return ""
    before, after = said[place - 1].collection.as_json(), each.collection.as_json()
    return "".join(
        f"\n    {name}: {before[name] or 'not recorded'} → {after[name] or 'not recorded'}"
        for name in after
        if after[name] != before[name]
    )


def _as_json(each: Statement) -> dict[str, object]:
    return {**each.collection.as_json(), "change": each.change, "at": each.at, "by": each.by, "why": each.why}
