"""`try`: checks a survey package without a database."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.options import AS_JSON, listing, say
from collection.language.errors import together

if TYPE_CHECKING:
    from collection.ingest.trial import Trial


@click.command()
@click.argument("survey", type=click.Path(path_type=Path))
@click.option(
    "--map",
    "mapping",
    type=click.Path(path_type=Path),
    metavar="MAP.toml",
    help="SURVEY is a list from elsewhere, a CSV; this says what its columns mean.",
)
@AS_JSON
def try_(survey: Path, mapping: Path | None, as_json: bool) -> int:
    """Check a survey without a database: every fault at once, and what is doubtful."""
    from collection.ingest.trial import try_package

    found = try_package(survey, mapping)
    if as_json:
        say(found.as_json())
    else:
        click.echo("\n".join(_lines(found)))
    return 0


def _lines(found: Trial) -> list[str]:
    lines = [
        f"{found.survey}: no fault in {sum(found.rows.values())} rows. Nothing was stored.",
        "  rows: " + ", ".join(f"{sheet.replace('_', ' ')} {n}" for sheet, n in found.rows.items()),
    ]
    for code, counts in found.objects.items():
        held = ", ".join(f"{sheet.replace('_', ' ')} {n}" for sheet, n in counts.items() if sheet != "objects")
        lines.append(f"  {code}: {held or 'only its own row'}")
    doubtful = [f"Warning: {line}" for line in together(found.warnings)]
    count = found.count - len(found.asked)
    lines += [f"  {line}" for line in listing(doubtful, count, len(found.warnings))]
    if found.asked:
        lines.append("  Only the database can tell whether it holds these; ask it with `ingest --dry-run`:")
        places: dict[tuple[str, str], list[str]] = {}
        for fault in found.asked:
            hint = f" Did you mean {fault.nearest!r}?" if fault.nearest else ""
            shown = f"position {fault.value}" if fault.column == "position" else fault.value or ""
            places.setdefault((shown, hint), []).append(fault.spot())
        asked = [
            f"{code} ({where[0]}{f'; {len(where)} cells in all' if len(where) > 1 else ''}){hint}"
            for (code, hint), where in places.items()
        ]
        lines += [f"    {line}" for line in listing(asked, len(found.asked), len(found.asked))]
    lines += [f"  {line}" for line in found.mapping.sentences()] if found.mapping is not None else []
    return lines
