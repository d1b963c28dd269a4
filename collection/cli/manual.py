"""`manual`: the manual in the terminal, a topic at a time."""

from __future__ import annotations

import click

from collection.output.manual import BOLD, PLAIN, TOPICS, manual_page, manual_pages


@click.command()
@click.argument("topic", required=False, type=click.Choice(TOPICS), metavar="[TOPIC]")
def manual(topic: str | None) -> int:
    """The manual, a topic at a time; without TOPIC, the list of topics."""
    page = manual_page(topic) if topic else None
    if page:
        # Read by page on a screen; passed on as it is where nobody looks.
        click.echo_via_pager(page.in_terminal().replace(BOLD, "\x1b[1m").replace(PLAIN, "\x1b[0m"))
        return 0
    widest = max(map(len, TOPICS))
    for one in manual_pages():
        click.echo(f"  {one.topic:<{widest}}  {one.title}")
    click.echo("\nfirstcoat manual TOPIC shows one of them.")
    return 0
