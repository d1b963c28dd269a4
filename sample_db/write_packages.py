"""Writes the sample survey from its notebooks: sheets, survey files, drawings, planned outcomes, pictures.

    python sample_db/write_packages.py [--no-pictures] [--notebooks FOLDER] [OUT]

OUT is where the packages go (2014 and 2024 in it, and expected.json); without it, `harbour` beside this file.
The same notebooks give the same bytes. Everything that they say is invented.
"""

from __future__ import annotations

import argparse
import csv
import json
import sys
import tomllib
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import draw_pictures
from notebook import Notebook, read_notebook
from notebook_cells import NotebookFault, Row

from collection.language.words import SEVERITY_SPOKEN
from collection.records.sheets import SHEETS, Record, Survey

HERE = Path(__file__).resolve().parent
COUNTED = ("zones", "samples", "layers", "tests", "treatments")
FIRST_LINE = "# Invented demonstration survey. No such town, people or objects exist.\n"


def read_all(folder: Path) -> tuple[dict[str, dict[str, Any]], list[Notebook]]:
    """The surveys and the notebooks of a folder, in order of their file names."""
    surveys = tomllib.loads((folder / "surveys.toml").read_text("utf-8"))
    words = {year: survey["words"] for year, survey in surveys.items()}
    return surveys, [read_notebook(path, words) for path in sorted(folder.glob("*.txt"))]


def write_all(surveys: dict[str, dict[str, Any]], books: Sequence[Notebook], out: Path) -> None:
    """Everything but the pictures."""
    for year, survey in surveys.items():
        package = out / year
        package.mkdir(parents=True, exist_ok=True)
        _survey_file(package / "survey.toml", survey)
        for record in SHEETS:
            rows = [row for book in books for row in _said(book, surveys, year, record)]
            if rows:
                _sheet(package / f"{record.sheet}.csv", [column.name for column in record.columns()], rows)
        for book in books:
            for (drawn, file), svg in book.drawings.items():
                if drawn == year:
                    (package / file).parent.mkdir(exist_ok=True)
                    (package / file).write_text(svg, "utf-8", newline="\n")
    planned = {proposal: meant for book in books for proposal, meant in book.expected.items()}
    text = json.dumps({"format": 1, "proposals": planned}, ensure_ascii=False, indent=1)
    (out / "expected.json").write_text(text + "\n", "utf-8", newline="\n")
    (out / "contents.md").write_text(contents(books), "utf-8", newline="\n")


def _said(book: Notebook, surveys: Iterable[str], year: str, record: type[Record]) -> list[Row]:
    """A notebook's rows of one sheet and survey, without those that an earlier survey says in the same words."""
    before = [row for other in surveys if other < year for row in book.rows.get((other, record.sheet), [])]
    return [row for row in book.rows.get((year, record.sheet), []) if row not in before]


def contents(books: Sequence[Notebook]) -> str:
    """What is in the sample: each object with what was looked at, each proposal with what it is meant to meet."""

    def cell(text: str) -> str:
        return text.replace("|", "/")

    lines = [
        "# What the sample survey holds (invented)",
        "",
        "Written by write_packages.py from the notebooks.",
        "",
        f"| object | kind | {' | '.join(COUNTED)} | notebook |",
        "|---" * (len(COUNTED) + 3) + "|",
    ]
    for book in sorted(books, key=lambda book: book.one("objects")["object"]):
        thing = book.one("objects")
        numbers = (str(book.count(sheet)) for sheet in COUNTED)
        lines.append(
            f"| `{thing['object']}` {cell(thing['title'])} | {thing['kind']} | {' | '.join(numbers)} | "
            f"{book.path.name} |"
        )
    totals = (str(sum(book.count(sheet) for book in books)) for sheet in COUNTED)
    lines += [
        f"| {len(books)} objects | | {' | '.join(totals)} | |",
        "",
        "| proposal | meant to meet | because |",
        "|---|---|---|",
    ]
    for proposal, meant in sorted(item for book in books for item in book.expected.items()):
        lines.append(f"| `{proposal}` | {SEVERITY_SPOKEN[meant['outcome']]} | {cell(meant['why'])} |")
    return "\n".join(lines) + "\n"


def _survey_file(path: Path, survey: dict[str, Any]) -> None:
    lines = [
        f"{column.name} = {json.dumps(survey[column.name], ensure_ascii=False)}\n"
        for column in Survey.columns()
        if column.name in survey
    ]
    path.write_text(FIRST_LINE + "".join(lines), "utf-8", newline="\n")


def _sheet(path: Path, columns: list[str], rows: list[Row]) -> None:
    """Columns in the sheet's own order, those without a cell left out."""
    used = [column for column in columns if any(row.get(column) for row in rows)]
    unknown = {name for row in rows for name in row} - set(columns)
    assert not unknown, (path.name, unknown)
    with path.open("w", encoding="utf-8", newline="") as handle:
        writer = csv.DictWriter(handle, used, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def main(arguments: Sequence[str]) -> int:
    parser = argparse.ArgumentParser(description="Writes the invented sample survey from its notebooks.")
    parser.add_argument("out", nargs="?", type=Path, default=HERE / "harbour", help="where the packages go")
    parser.add_argument("--notebooks", type=Path, default=HERE / "notebooks", help="the notebooks and surveys.toml")
    parser.add_argument("--no-pictures", action="store_true", help="leave the pictures as they are")
    words = parser.parse_args(arguments)
    try:
        surveys, books = read_all(words.notebooks)
    except NotebookFault as fault:
        print(fault, file=sys.stderr)
        return 1
    write_all(surveys, books, words.out)
    return 0 if words.no_pictures else draw_pictures.main([str(words.out)])


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
