"""Options and arguments that several commands share."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeVar

import click

from collection.language.errors import CouldNot, WrongCommand
from collection.language.words import AUDIENCE

F = TypeVar("F", bound=Callable[..., Any])


class _Text(click.ParamType[str]):
    """Text to search for; bytes that the shell could not read as text are refused."""

    name = "text"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        text = str(value)
        if any("\ud800" <= sign <= "\udfff" for sign in text):
            self.fail(f"{text!r} holds bytes that are not UTF-8 text; type it again.", param, ctx)
        return text


TEXT = _Text()

DATABASE = click.argument("db", type=click.Path(path_type=Path))
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
BY = click.option(
    "--by",
    required=True,
    envvar="FIRSTCOAT_BY",
    metavar="NAME",
    help="Who does it (or FIRSTCOAT_BY in the environment).",
)
DRY_RUN = click.option("--dry-run", is_flag=True, help="Show what it would do to proposed work, and change nothing.")
REASON = click.option("--reason", required=True, metavar="TEXT", help="Why.")


HOURS_PER_WEEK = click.option(
    "--hours-per-week",
    type=click.FloatRange(0, 168, min_open=True),
    metavar="H",
    help="Hours a week that there are for it; otherwise those of the policy, which are judgement.",
)


def for_whom(usual: str, told: str) -> Callable[[F], F]:
    """The option `--audience`, with who is meant where nobody says, and what it changes."""
    return click.option("--audience", type=click.Choice(AUDIENCE.words), default=usual, show_default=True, help=told)


LINES_LISTED = 200
"""Lines of a list of faults, warnings or differences that a terminal shows."""


def listing(lines: Sequence[str], count: int, listed: int) -> list[str]:
    """A list as a terminal shows it: cut where it is too long, which is said, with where the rest can be read.

    :param lines: what can be shown; one may stand for several things.
    :param count: how many things there are.
    :param listed: how many of them the JSON answer lists.
    """
    if len(lines) <= LINES_LISTED and count <= listed:
        return list(lines)
    rest = "all" if count <= listed else f"the first {listed:,}"
    return [*lines[:LINES_LISTED], f"… {count:,} in all; --json lists {rest}."]


def say(document: dict[str, Any]) -> None:
    """Print a JSON answer."""
    click.echo(json.dumps(document, ensure_ascii=False, indent=1))


def write_new(path: Path, text: str) -> None:
    """Writes a text to a new file.

    :raises WrongCommand: where the file exists.
    :raises CouldNot: where it cannot be written.
    """
    if path.exists():
        raise WrongCommand(f"{path} is there already; name another file, or take that one away.")
    try:
        path.write_text(text, encoding="utf-8", newline="\n")
    except OSError as error:
        raise CouldNot(f"{path} cannot be written: {error.strerror}.") from error
    click.echo(f"{path} was written.", err=True)


class Progress:
    """Shows progress on a terminal's stderr once something has taken over a second."""

    def __init__(self, what: str) -> None:
        self._what, self._next = what, time.monotonic() + 1
        self._shown = sys.stderr.isatty()

    def __call__(self, done: int, whole: int) -> None:
        if self._shown and (time.monotonic() >= self._next or done == whole):
            self._next = time.monotonic() + 0.2
            click.echo(f"\r{done:,} of {whole:,} {self._what}", nl=done == whole, err=True)
