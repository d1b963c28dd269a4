"""The `firstcoat` command: a lazy group; each command's module is imported when it is called."""

from __future__ import annotations

import importlib
import os
import sys

import click

from collection import __version__
from collection.language.errors import DONE, INTERRUPTED, OURS, USAGE, FirstcoatError, InputRefused, together

COMMANDS: dict[str, tuple[str, str]] = {
    "init": ("database", "Make a new, empty database."),
    "migrate": ("database", "Bring an older database up to date; a copy of the old one stays beside it."),
    "refresh": ("database", "Compute everything again that is worked out from the records."),
    "check": (
        "database",
        "Verify a database or an archive: checksums, the chain of changes, pictures, what was computed.",
    ),
    "backup": ("database", "Copy the database with its files, while others work on it."),
    "archive": ("archive", "Keep the whole collection in one folder that outlives this program."),
    "restore": ("archive", "Make the database of an archive again."),
    "blank": ("blank", "An empty survey to fill in, as a workbook, a folder or a form for paper."),
    "try": ("trial", "Check a survey without a database."),
    "ingest": ("records", "Take in a survey."),
    "correct": ("records", "Put cells of one record right; what they said before stays in the history."),
    "withdraw": ("records", "Withdraw a record, or a survey: it stays readable, and no longer counts."),
    "reinstate": ("records", "Take a withdrawal back."),
    "same": ("codes", "Say that two codes stand for one thing, or take that back."),
    "rename": ("codes", "Give a thing another code; the old one still finds it."),
    "search": ("search", "Find what survives where: an exact code first, then words."),
    "show": ("show", "Everything known of one object, on one screen."),
    "survival": ("survival", "What original finish survives, where, and how surely."),
    "compare": ("compare", "What changed between two surveys, or two dates."),
    "mounts": ("mounts", "Where every mounted sample is kept, drawer by drawer."),
    "strata": ("strata", "The sequence of finishes, from all samples of an object."),
    "sampling": ("strata", "Where further samples would tell most."),
    "window": ("window", "What would take one coat off and leave another."),
    "bench": ("bench", "Beside the swab: what to try next, what stops it, what means stop."),
    "assess": ("proposals", "What proposed work would take of what must be kept."),
    "screen": ("screen", "What one action would do to every object."),
    "safety": ("safety", "The liquids of a proposal: fire, exposure, hazards, and what is not known."),
    "effort": ("effort", "How many hours work takes, by the steps that were logged."),
    "risks": ("risks", "What threatens the collection, ranked by what it would cost, and the work in hours."),
    "decide": ("proposals", "Approve, refuse or defer a proposal, with reasons."),
    "publish": ("site", "Write the read-only site."),
    "serve": ("site", "Open a published site."),
    "report": ("report", "The report of an object, or of a survey, on paper."),
    "tag": ("tags", "The tag to hang on an object: what survives under here, and what not to do."),
    "tags": ("tags", "Which tags hang where, which are out of date, and where one is missing."),
    "collection": ("collection", "Whose collection this is: show it, or say it."),
    "export": ("export", "Write the whole database out: as CSV, or as survey packages that make it again."),
    "demo": ("demo", "The invented sample survey, from package to published site."),
    "manual": ("manual", "The manual, a topic at a time."),
}
"""Every command with its module below collection.cli and its help, listed without importing any."""


class LazyGroup(click.Group):
    """A group that knows its commands' names and help without importing them."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"collection.cli.{COMMANDS[cmd_name][0]}")
        # `try` is a word of the language, so its function is `try_`.
        command = getattr(module, cmd_name, None) or getattr(module, f"{cmd_name}_")
        assert isinstance(command, click.Command)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] not in COMMANDS:
            import difflib

            near = difflib.get_close_matches(args[0], COMMANDS, n=1)
            hint = f" Did you mean {near[0]}?" if near else f" Commands: {', '.join(COMMANDS)}."
            raise click.UsageError(f"There is no command {args[0]!r}.{hint}", ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, help_text) for name, (_, help_text) in COMMANDS.items()])


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="firstcoat")
def root() -> None:
    """The collection's memory of original finishes, and the brake on losing them.

    Exit codes: 0 done, 1 input refused, 2 command not understood, 3 something is at stake, 4 decision refused,
    5 damage found, 6 could not be done, 70 our own fault, 130 interrupted. `firstcoat manual` is the manual.
    """


def main(args: list[str] | None = None) -> None:
    """Run the command line: the only place where errors become text and exit codes."""
    sys.exit(run(args))


def run(args: list[str] | None = None) -> int:
    """Run one command and give its exit code."""
    as_json = "--json" in (sys.argv[1:] if args is None else args)
    try:
        result = root.main(args=args, prog_name="firstcoat", standalone_mode=False)
        sys.stdout.flush()
        return result if isinstance(result, int) else DONE
    except click.exceptions.Exit as ended:
        return ended.exit_code
    except click.UsageError as error:
        error.show()
        return USAGE
    except (click.Abort, KeyboardInterrupt):
        click.echo("Interrupted; the step that was running changed nothing.", err=True)
        return INTERRUPTED
    except BrokenPipeError:
        # The reader has left; what is still buffered must not complain at shutdown.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except FirstcoatError as error:
        _tell(error, as_json)
        return error.exit_code
    except Exception as error:
        # Imported here, because `--help` should not wait for them.
        import tempfile
        import traceback

        with tempfile.NamedTemporaryFile("w", prefix="firstcoat-", suffix=".txt", delete=False) as log:
            traceback.print_exc(file=log)
        click.echo(
            f"Our own fault: {type(error).__name__}. Details are in {log.name}; please send them to whoever "
            "maintains firstcoat.",
            err=True,
        )
        return OURS


def _tell(error: FirstcoatError, as_json: bool) -> None:
    if as_json:
        import json

        click.echo(json.dumps(error.as_json(), ensure_ascii=False, indent=1))
        return
    click.echo(f"Error: {error}", err=True)
    if isinstance(error, InputRefused):
        from collection.cli.options import listing  # with a command's own module, so that --help does not wait for it

        for line in listing(together(error.faults), error.count, len(error.faults)):
            click.echo(f"  {line}", err=True)
