"""Options and arguments that several commands share."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

F = TypeVar("F", bound=Callable[..., Any])


class _Text(click.ParamType[str]):
    """Text that can be looked for: bytes that the shell could not read as text are refused."""

    name = "text"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        text = str(value)
        if any("\ud800" <= sign <= "\udfff" for sign in text):
            self.fail(f"{text!r} holds bytes that are no text in UTF-8; type it anew.", param, ctx)
        return text


TEXT = _Text()

DATABASE = click.argument("db", type=click.Path(path_type=Path))
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
BY = click.option("--by", required=True, envvar="FIRSTCOAT_BY", metavar="NAME",
                  help="Who does it (or the environment's FIRSTCOAT_BY).")
DRY_RUN = click.option("--dry-run", is_flag=True, help="Show what it would do to proposed work; change nothing.")
REASON = click.option("--reason", required=True, metavar="TEXT", help="Why.")


def say(document: dict[str, Any]) -> None:
    """Print a JSON answer."""
    click.echo(json.dumps(document, ensure_ascii=False, indent=1))
