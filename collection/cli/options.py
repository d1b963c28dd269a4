"""Options and arguments that several commands share."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

F = TypeVar("F", bound=Callable[..., Any])

DATABASE = click.argument("db", type=click.Path(path_type=Path))
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
BY = click.option("--by", required=True, envvar="FIRSTCOAT_BY", metavar="NAME",
                  help="Who does it (or the environment's FIRSTCOAT_BY).")
DRY_RUN = click.option("--dry-run", is_flag=True, help="Show what it would do to proposed work; change nothing.")
REASON = click.option("--reason", required=True, metavar="TEXT", help="Why.")


def say(document: dict[str, Any]) -> None:
    """Print a JSON answer."""
    click.echo(json.dumps(document, ensure_ascii=False, indent=1))
