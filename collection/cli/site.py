"""`publish` and `serve`: the read-only view."""

from __future__ import annotations

from pathlib import Path

import click

from collection.cli.options import AS_JSON, DATABASE, say

HOST = click.option("--host", default="127.0.0.1", show_default=True, help="Where to listen.")
PORT = click.option("--port", default=8001, show_default=True, type=click.IntRange(0, 65535), help="Port to listen on.")


def say_where(address: str) -> None:
    """Tell where the site listens, beside the answer proper."""
    click.echo(f"Open {address} in a browser; Ctrl+C ends it.", err=True)


@click.command()
@DATABASE
@click.argument("out", type=click.Path(path_type=Path))
@click.option("--names", is_flag=True, help="Publish people's names too.")
@click.option("--allow-sql", is_flag=True, help="Let readers ask the published file in SQL.")
@AS_JSON
def publish(db: Path, out: Path, names: bool, allow_sql: bool, as_json: bool) -> int:
    """Write the read-only site into a new folder OUT."""
    from collection.output.publish import publish as published

    report = published(db, out, names=names, allow_sql=allow_sql)
    if as_json:
        say(report.as_json())
    else:
        held = f", {sum(report.withheld.values())} records held back" if report.withheld else ""
        click.echo(f"Published {report.objects} objects and {report.pictures} pictures into {report.folder}"
                   f" ({report.bytes / 1e6:.1f} MB{held}).")
        for name, why in report.pictures_left_out.items():
            click.echo(f"  Left out: {name}: {why}")
    return 0


@click.command()
@click.argument("out", type=click.Path(path_type=Path))
@HOST
@PORT
def serve(out: Path, host: str, port: int) -> None:
    """Open a published site, read-only, until interrupted."""
    from collection.output.serve import serve as served

    served(out, host=host, port=port, ready=say_where)
