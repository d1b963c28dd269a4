"""`mounts`: where every mounted sample is kept."""

from __future__ import annotations

from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.options import AS_JSON, DATABASE, TEXT, say
from collection.cli.text.assessment import wrap
from collection.language.sentences import counted

if TYPE_CHECKING:
    from collection.store.mounts import Mount


@click.command()
@DATABASE
@click.argument("object_code", type=TEXT, metavar="[OBJECT]", required=False)
@AS_JSON
def mounts(db: Path, object_code: str | None, as_json: bool) -> int:
    """Where every mounted sample is kept, drawer by drawer: of the collection, or of one object.

    Cross-sections, and scrapings with a mount or a place recorded. Those with no place recorded come last; withdrawn
    ones are listed too, because they still lie where they lay.
    """
    from collection.store.base import database, read
    from collection.store.mounts import mounts as mounted

    with database.opened(db, write=False) as connection:
        own = None if object_code is None else read.load_facts(connection, object_code).object.object
        found = mounted(connection, own)
    if as_json:
        say(
            {
                "format": 1,
                "samples": [each.as_json() for each in found],
                "count": len(found),
                "place_not_recorded": sum(each.kept_at is None for each in found),
                "mount_not_recorded": sum(each.lacks_mount for each in found),
                "out_of_account": sum(not each.in_account for each in found),
            }
        )
    else:
        click.echo("\n".join(mount_lines(found)))
    return 0


def mount_lines(found: list[Mount]) -> list[str]:
    """The samples under the places where they are kept, after a sentence that counts them."""
    if not found:
        return ["No mounted sample is recorded."]
    homeless = sum(each.kept_at is None for each in found)
    bare = sum(each.lacks_mount for each in found)
    withdrawn = sum(not each.in_account for each in found)
    said = [
        f"{counted(len(found), 'mounted sample')}",
        homeless and f"{homeless} with no place recorded",
        bare and f"{bare} with no mount recorded",
        withdrawn and f"{withdrawn} withdrawn",
    ]
    lines = [wrap(f"{'; '.join(part for part in said if part)}.")]
    for kept_at, some in groupby(found, key=lambda each: each.kept_at):
        here = list(some)
        lines += ["", wrap(f"{kept_at or 'NO PLACE RECORDED'} ({len(here)})")]
        lines += [wrap(_line(each), "  ") for each in here]
    return lines


def _line(each: Mount) -> str:
    parts = (f"{each.method} at {each.place}", "mount not recorded" if each.lacks_mount else each.mount, each.taken_on)
    return f"{each.object}  {each.sample}  {', '.join(part for part in parts if part)}" + (
        "" if each.in_account else "  [withdrawn]"
    )
