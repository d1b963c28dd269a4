"""`publish` and `serve`: the read-only view."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from collection.cli.options import AS_JSON, DATABASE, for_whom, say
from collection.language.sentences import counted

HOST = click.option("--host", default="127.0.0.1", show_default=True, help="Where to listen.")
PORT = click.option("--port", default=8001, show_default=True, type=click.IntRange(0, 65535), help="Port to listen on.")
PAPERS = click.option(
    "--papers/--no-papers",
    default=None,
    help="Each object's report and tag too, or not; by itself where the extra `report` is installed.",
)


def say_where(address: str) -> None:
    """Say where the site listens, on stderr."""
    click.echo(f"Open {address} in a browser; Ctrl+C ends it.", err=True)


NAMES_LISTED = 10


def names_told(told: dict[str, Any] | None) -> Iterator[str]:
    """Where names of people stand in published texts, and how to mend it."""
    if not told or not told["count"]:
        return
    many = told["count"]
    yield (
        f"  Warning: names are not published, but {counted(many, 'published text')} {'holds' if many == 1 else 'hold'} "
        "one. Correct the text (`correct`), mark the record for staff, or publish with --names."
    )
    for each in told["found"][:NAMES_LISTED]:
        yield f"    {each['name']}: {each['sheet']} {each['record']}, {each['column']}"
    if many > NAMES_LISTED:
        yield f"    and {many - NAMES_LISTED} more; --json lists up to {len(told['found'])}."


@click.command()
@DATABASE
@click.argument("out", type=click.Path(path_type=Path))
@for_whom("public", "Whom it is for; staff also get private columns, notes, names and rows for staff.")
@click.option("--names", is_flag=True, help="Publish people's names too.")
@click.option(
    "--address", metavar="URL", help="Where it will stand, for lasting links; otherwise the collection's own."
)
@click.option("--replace", is_flag=True, help="Publish anew over the site that stands at OUT, in one step.")
@PAPERS
@click.option("--allow-sql", is_flag=True, help="Let readers browse the tables and ask them in SQL.")
@AS_JSON
def publish(
    db: Path,
    out: Path,
    audience: str,
    names: bool,
    address: str | None,
    replace: bool,
    papers: bool | None,
    allow_sql: bool,
    as_json: bool,
) -> int:
    """Write the read-only site into a new folder OUT."""
    # The matrices of hours are small: threads on them would wait for each other where the machine is busy.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from collection.output.site.publish import publish as published
    from collection.output.tell.pdf import EXTRA, can_print

    report = published(
        db,
        out,
        names=names,
        allow_sql=allow_sql,
        staff=audience == "staff",
        address=address,
        replace=replace,
        papers=can_print() if papers is None else papers,
    )
    if as_json:
        say(report.as_json())
    else:
        held = f", {sum(report.withheld.values())} records held back" if report.withheld else ""
        whom = " for staff only: do not show it outside" if report.audience == "staff" else ""
        click.echo(
            f"Published {report.objects} objects and {report.pictures} pictures into {report.folder}"
            f" ({report.bytes / 1e6:.1f} MB{held}){whom}."
        )
        if report.taken_over:
            click.echo(f"  Nothing changed about {report.taken_over} of them: their pages were taken over.")
        if report.papers:
            click.echo(f"  Each object's page offers its report and its tag ({report.papers} files).")
        elif papers is None:
            click.echo(f"  No reports and tags to download were made: {EXTRA}")
        for name, why in report.pictures_left_out.items():
            click.echo(f"  Left out: {name}: {why}")
        for line in names_told(report.names_in_text):
            click.echo(line)
        for name in report.leftovers:
            click.echo(f"  Removed what a killed run had left: {name}")
    return 0


@click.command()
@click.argument("out", type=click.Path(path_type=Path))
@HOST
@PORT
def serve(out: Path, host: str, port: int) -> None:
    """Open a published site, read-only, until interrupted."""
    from collection.output.site.serve import heard_here_only, is_for_staff
    from collection.output.site.serve import serve as served

    if is_for_staff(out) and not heard_here_only(host):
        click.echo(
            f"{out} is the site for staff, with owners, stores, names and notes, and anybody who reaches {host} can "
            "read it: make sure that only staff can.",
            err=True,
        )
    served(out, host=host, port=port, ready=say_where)
