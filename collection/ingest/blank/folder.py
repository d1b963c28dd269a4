"""A blank survey as a folder: survey.toml with a line for each column, a CSV file for each sheet, and pages to read."""

from __future__ import annotations

import csv
import io
import textwrap
from itertools import groupby

from collection.ingest.blank.codes import span
from collection.ingest.blank.contents import KINDS_LEFT_AS_TYPED, ORDER, Blank, cell_text, note
from collection.ingest.blank.example import EXAMPLE, INSTRUCTIONS, INVENTED, SHOWN
from collection.ingest.package.survey_file import SURVEY_FILE, toml_text
from collection.records.columns import Column
from collection.records.sheets import BY_SHEET, Record, Survey

WIDTH = 100
_FORMULA = ("=", "+", "-", "@", "\t")


def folder(blank: Blank) -> dict[str, bytes]:
    """Every file of the folder but the drawings: name to content, UTF-8."""
    files = {SURVEY_FILE: survey_toml(blank)}
    files |= {f"{sheet}.csv": _sheet(BY_SHEET[sheet], blank) for sheet in ORDER}
    files |= {"instructions.txt": _instructions(), "example.txt": _example()}
    if blank.objects:
        files |= {"known.txt": _known(blank), "questions.txt": _questions(blank)}
    return {name: text.encode("utf-8") for name, text in files.items()}


def survey_toml(blank: Blank) -> str:
    """The survey's own lines: those that are needed to be filled in, the others behind a #."""
    lines = ["# The survey: fill in what stands between the quotation marks. Take away the # of a line that you use."]
    for column in Survey.columns():
        written = blank.survey.get(column.name, "")
        lines += ["", *(f"# {line}" for line in note(Survey, column).splitlines())]
        lines.append(f"{'' if column.required or written else '# '}{column.name} = {toml_text(written)}")
    if blank.codes:
        lines += ["", "# Codes that are free for what this survey finds; each stands once in the whole survey."]
        lines += [
            f"#   {sheet.replace('_', ' ')}{f' on {own}' if own else ''}: {span(codes)}"
            for own in next(iter(blank.codes.values()))
            for sheet, by_object in blank.codes.items()
            for codes in (by_object[own],)
        ]
    return "\n".join([*lines, ""])


def _sheet(record: type[Record], blank: Blank) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    columns = record.columns()
    writer.writerow([column.name for column in columns])
    for row in blank.rows(record.sheet):
        cells = [_harmless(column, cell_text(column, getattr(row, column.name))) for column in columns]
        if None not in cells:
            writer.writerow(cells)
    return out.getvalue()


def _harmless(column: Column, text: str) -> str | None:
    """A cell that no spreadsheet takes for a formula: blank where it might, which changes nothing stored.

    None where the row needs the cell, so that the row is better left to the database.
    """
    if column.kind in KINDS_LEFT_AS_TYPED and text.startswith(_FORMULA):
        return None if column.required else ""
    return text


def _instructions() -> str:
    blocks = [_page("How to fill in a survey")]
    blocks += [
        "\n".join([heading, *(_wrapped(paragraph, "  ") for paragraph in paragraphs)])
        for heading, paragraphs in INSTRUCTIONS
    ]
    return "\n\n".join(blocks) + "\n"


def _example() -> str:
    blocks = [_wrapped(INVENTED)]
    for sheet in SHOWN:
        rows = EXAMPLE[sheet]
        names = [column.name for column in BY_SHEET[sheet].columns() if any(column.name in row for row in rows)]
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(names)
        writer.writerows([row.get(name, "") for name in names] for row in rows)
        blocks.append(f"{sheet}\n{out.getvalue().rstrip()}")
    return "\n\n".join(blocks) + "\n"


def _known(blank: Blank) -> str:
    blocks = []
    for known in blank.objects:
        lines = [_page(f"{known.object}  {known.title}: what is known")]
        for line in known.lines:
            where = f" [{line.where}]" if line.where else ""
            lines.append(_wrapped(f"{line.about}{where}: {line.what}{f' ({line.as_of})' if line.as_of else ''}"))
        blocks.append("\n".join(lines))
    return "\n\n".join(blocks) + "\n"


def _questions(blank: Blank) -> str:
    blocks = []
    for known in blank.objects:
        lines = [_page(f"{known.object}  {known.title}: what is open")]
        for (about, answer), asked in groupby(known.questions, key=lambda each: (each.about, each.answer)):
            lines += ["", _wrapped(f"{about}. Write: {answer}")]
            lines += [_wrapped(f"[ ] {f'{each.place}: ' if each.place else ''}{each.question}", "  ") for each in asked]
        blocks.append("\n".join(lines))
    return "\n\n".join(blocks) + "\n"


def _page(title: str) -> str:
    return f"{title}\n{'=' * len(title)}"


def _wrapped(text: str, indent: str = "") -> str:
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=indent,
        subsequent_indent=indent + "  ",
        break_long_words=False,
        break_on_hyphens=False,
    )
