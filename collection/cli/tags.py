"""`tag` and `tags`: the tag that hangs on an object, and which hang where."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from collection.cli.options import AS_JSON, DATABASE, TEXT, for_whom, say
from collection.language.errors import WrongCommand
from collection.language.words import TAG

if TYPE_CHECKING:
    from collection.output.site.tag_list import TagList
    from collection.store.changes.tags import Tag

WHOM = for_whom("public", "For whom: one for the public says nothing of what is held back.")
ADDRESS = click.option(
    "--address", metavar="URL", help="The site whose page its code leads to; otherwise the collection's own address."
)


@click.command()
@DATABASE
@click.argument("object_code", type=TEXT, metavar="OBJECT")
@click.argument("out", type=click.Path(path_type=Path), metavar="OUT.pdf")
@click.option("--sheet", is_flag=True, help="A sheet of four tags and eight small labels, with marks to cut along.")
@WHOM
@ADDRESS
@AS_JSON
def tag(db: Path, object_code: str, out: Path, sheet: bool, audience: str, address: str | None, as_json: bool) -> int:
    """The tag to hang on an object: what survives under here, what not to do, whom to ask."""
    import tempfile

    from collection.output.new_file import may_be_new, write_new_file
    from collection.output.published.audience import Audience
    from collection.output.site.computed_objects import told_object
    from collection.output.tag.printed import tag_pdf
    from collection.output.tag.told import tag_hash, tag_told
    from collection.output.tell.pdf import need_press
    from collection.store.base import database

    need_press()
    may_be_new(out)
    with tempfile.TemporaryDirectory() as folder, database.opened(db, write=False) as connection:
        connection.execute("BEGIN")
        about = _about(connection, address)
        published = told_object(connection, db, object_code, Audience(audience), Path(folder))
        told = tag_told(published, about)
        made = tag_pdf(published, about, sheet=sheet, pictures=Path(folder))
    write_new_file(out, made)
    if as_json:
        say({"format": 1, "file": str(out), "says_sha256": tag_hash(told), "tag": told})
        return 0
    click.echo(f"{out}: “{told['main']}”, {told['title']} ({told['object']}), as of {told['date']}.")
    for row in told["donts"]:
        click.echo(f"  {row['words']}. {row['why']}")
    if told["address"] is None:
        click.echo("  No code to scan: no lasting address is known (`collection DB address=https://…`, or --address).")
    elif not told["code"]:
        click.echo(f"  No code to scan: {told['address']} is too long for one that a telephone reads from a tag.")
    if not any(told["ask"].values()):
        click.echo("  It names nobody to ask: say whom with `collection DB name=… contact=…`.")
    click.echo(f"  Once it hangs: firstcoat tags {db} --printed {told['object']} --where TEXT --on DATE --by NAME")
    return 0


@click.command()
@DATABASE
@click.option("--printed", type=TEXT, metavar="OBJECT", help="Record that a tag for this object hangs.")
@click.option("--taken-off", type=TEXT, metavar="OBJECT", help="Record that a tag no longer hangs on this object.")
@click.option("--where", type=TEXT, metavar="TEXT", help="Where it hangs, in words.")
@click.option("--kind", type=click.Choice(TAG.words), help="A tag (else), or a small label of the sheet.")
@click.option("--number", type=click.IntRange(1), metavar="N", help="Which of several was taken off.")
@click.option("--on", "day", metavar="DATE", help="The day, as 2026-05-03; otherwise today.")
@click.option("--by", envvar="FIRSTCOAT_BY", metavar="NAME", help="Who did it (or FIRSTCOAT_BY in the environment).")
@WHOM
@ADDRESS
@AS_JSON
def tags(
    db: Path,
    printed: str | None,
    taken_off: str | None,
    where: str | None,
    kind: str | None,
    number: int | None,
    day: str | None,
    by: str | None,
    audience: str,
    address: str | None,
    as_json: bool,
) -> int:
    """Which tags hang where, since when, by whom; which are out of date, and where one is missing.

    A tag is out of date when a tag printed now would say something else, or when it was hung before the newest change
    of its object. One is missing where original finish lies under later paint and no tag hangs.
    """
    from collection.output.site.tag_list import tag_list

    if printed and taken_off:
        raise WrongCommand("Say one at a time: --printed or --taken-off.")
    if not (printed or taken_off) and (where or kind or number or day or address):
        raise WrongCommand("Say of which object: --printed OBJECT, or --taken-off OBJECT.")
    if printed and not where:
        raise WrongCommand("Say where it hangs: --where TEXT.")
    if (printed or taken_off) and not by:
        raise WrongCommand("Say who did it: --by NAME.")
    if printed:
        assert where is not None
        assert by is not None
        _say_one(_hung(db, printed, where, kind or "tag", audience, address, _today(day), by), as_json)
        return 0
    if taken_off:
        assert by is not None
        _say_one(_off(db, taken_off, number, _today(day), by), as_json)
        return 0
    found = tag_list(db)
    if as_json:
        say(found.as_json())
    else:
        click.echo("\n".join(_lines(found)))
    return 0


def _hung(db: Path, code: str, where: str, kind: str, audience: str, address: str | None, day: str, by: str) -> Tag:
    from collection.output.site.tag_list import tag_now
    from collection.store.base import database
    from collection.store.changes.tags import Tag, hang

    with database.opened(db, write=True) as connection, database.writing(connection):
        now = tag_now(connection, db, code, audience, _about(connection, address))
        made = hang(
            connection, Tag(now.object, 0, kind, audience, now.says_sha256, now.address, now.told_on, where, by, day)
        )
    if not made.says(made.says_sha256, None):
        click.echo(
            f"The records of {made.object} were changed on {made.told_on}, after the tag was hung: it counts as out of "
            "date until it is printed again.",
            err=True,
        )
    return made


def _off(db: Path, code: str, number: int | None, day: str, by: str) -> Tag:
    from collection.store.base import database, read
    from collection.store.changes.tags import take_off

    with database.opened(db, write=True) as connection, database.writing(connection):
        shown = read.load_facts(connection, code).object.object
        return take_off(connection, shown, number, day, by)


def _about(connection: Any, address: str | None) -> dict[str, str | None]:
    from collection.output.site.hanging_tags import about_collection
    from collection.store.changes import collection_row

    about = about_collection(connection)
    if address is None:
        return about
    if not collection_row.ADDRESS.fullmatch(address):
        raise WrongCommand(f"{address} is not the address of a site. Write it as https://host/ or https://host/path/.")
    return {**about, "collection_address": address}


def _today(day: str | None) -> str:
    from datetime import date

    return day or date.today().isoformat()


def _say_one(made: Tag, as_json: bool) -> None:
    from dataclasses import asdict

    from collection.values.spoken_dates import in_words

    if as_json:
        say({"format": 1, **asdict(made)})
    elif made.hangs:
        click.echo(
            f"{made.object}: {made.kind} {made.number} has hung since {in_words(made.hung_on)}: {made.hangs_at} "
            f"(change {made.change})."
        )
    else:
        click.echo(
            f"{made.object}: {made.kind} {made.number} came off on {in_words(made.taken_off_on)}: {made.hangs_at}."
        )


def _lines(found: TagList) -> list[str]:
    from collection.language.sentences import counted
    from collection.values.spoken_dates import in_words

    lines = []
    for tag_, title, up_to_date in found.hanging:
        state = "up to date" if up_to_date else "OUT OF DATE: print it again"
        lines.append(f"{tag_.object}  {title}")
        lines.append(
            f"  {tag_.kind} {tag_.number}, since {in_words(tag_.hung_on)} by {tag_.hung_by}: {tag_.hangs_at}; {state}"
        )
    if not found.hanging:
        lines.append("No tag hangs, as far as is recorded.")
    old = sum(not up_to_date for _, _, up_to_date in found.hanging)
    lines.append(f"{counted(len(found.hanging), 'tag')}, {old} out of date.")
    if found.missing:
        lines.append(
            f"Original finish lies under later paint, and no tag hangs ({counted(len(found.missing), 'object')}):"
        )
        lines += [f"  {code}  {title}" for code, title in found.missing]
    return lines
