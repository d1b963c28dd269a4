"""A blank survey as a form for paper: one HTML page for A4, without script, that needs nothing beside it.

It is read at the object and typed in later, so it has the workbook's sheets, columns, words and codes under the same
names, with lines to write on.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable, Mapping, Sequence
from html import escape
from itertools import groupby

from collection.ingest.blank.codes import span
from collection.ingest.blank.contents import ORDER, Blank, KnownObject
from collection.ingest.blank.example import INSTRUCTIONS
from collection.ingest.blank.known_facts import CAUTIONS, KnownLine
from collection.records.codes import CODE_COLUMN
from collection.records.columns import Column
from collection.records.row import Evidence
from collection.records.sheets import BY_SHEET, Drawing, Record, Survey

CIRCLED = 10
"""Words of a list up to which they stand in every field to be circled; longer lists stand above the fields once."""
BLOCKS = {
    "samples": 4,
    "layers": 11,
    "tests": 4,
    "responses": 10,
    "conditions": 5,
    "zones": 3,
    "components": 2,
    "schemes": 2,
    "decorations": 2,
    "pictures": 5,
    "treatment_steps": 8,
    "proposal_steps": 8,
}
"""Times that a sheet's fields are printed; others once. More are copies of the page."""
AT_THE_DESK = frozenset({"objects", "proposals", "proposal_steps"})
"""Sheets that nobody fills in standing beside a known object."""
NARROW = 8
"""Columns of a table that a page holds upright."""
_SHARED = tuple(Evidence.model_fields)
_MIME = {
    "svg": "image/svg+xml",
    "png": "image/png",
    "jpg": "image/jpeg",
    "jpeg": "image/jpeg",
    "webp": "image/webp",
    "gif": "image/gif",
}
_WIDE = {
    "number": 19,
    "integer": 16,
    "code": 30,
    "date": 28,
    "person": 42,
    "text": 58,
    "agent": 60,
    "points": 60,
    "file": 46,
    "coat": 30,
    "word": 34,
    "list": 46,
}
"""Width of a field in mm; fields grow to fill their line."""
_CELL = {
    "number": 20,
    "integer": 20,
    "code": 20,
    "date": 24,
    "agent": 40,
    "coat": 24,
    "text": 36,
    "word": 29,
    "list": 30,
}
"""The same in a table, as a share of its width."""

STYLE = """
@page { size: A4; margin: 15mm 14mm 16mm; @bottom-right { content: counter(page); font: 8pt serif; } }
* { box-sizing: border-box; }
body { font: 9.5pt/1.35 "Iowan Old Style", "Palatino Linotype", Palatino, "Book Antiqua", Georgia, serif; color: #111;
  margin: 0; }
h1 { font-size: 22pt; font-weight: 600; margin: 0 0 3mm; letter-spacing: -.01em; }
h2 { font-size: 15pt; font-weight: 600; margin: 0 0 3mm; border-bottom: .6mm solid #111; padding-bottom: 1mm; }
h3 { font-size: 11.5pt; margin: 7mm 0 1mm; break-after: avoid; border-top: .3mm solid #111; padding-top: 1.5mm;
  display: flex; justify-content: space-between; }
h3 span { font-weight: 400; font-size: 9pt; }
h4 { font-size: 9.5pt; margin: 2.5mm 0 .5mm; break-after: avoid; }
p { margin: 0 0 1.5mm; }
section { break-before: page; }
.caution { border-left: 1.2mm solid #111; padding: 1mm 0 1mm 3mm; margin: 2mm 0; font-weight: 600; }
p.small:not(:last-child) { break-after: avoid; }
.small { font-size: 8pt; line-height: 1.3; color: #222; }
dl.known { margin: 0; display: grid; grid-template-columns: 25mm 1fr 21mm; gap: .6mm 3mm; font-size: 8.8pt; }
dl.known dt { font-weight: 600; overflow-wrap: anywhere; }
dl.known dd { margin: 0; overflow-wrap: anywhere; }
dl.known dd + dd { text-align: right; }
.legend { columns: 2; column-gap: 8mm; font-size: 7.6pt; line-height: 1.3; margin: 0 0 2mm; }
.legend div { break-inside: avoid; padding-left: 3mm; text-indent: -3mm; }
.block { display: flex; flex-wrap: wrap; gap: 0 5mm; break-inside: avoid; padding: 1.2mm 0 2.4mm;
  border-top: .2mm solid #888; }
.field { flex: 1 1 var(--w); min-height: 9.5mm; border-bottom: .25mm solid #555; display: flex;
  flex-direction: column; justify-content: space-between; }
.field.circle { flex: 0 1 auto; border-bottom: none; }
.label { font-size: 7.2pt; color: #333; white-space: nowrap; }
.needed > .label { font-weight: 700; color: #000; }
.needed > .label::before { content: "\\25A0\\00a0"; font-size: 5pt; vertical-align: middle; }
.given { font-size: 10.5pt; }
.words { display: flex; flex-wrap: wrap; gap: 0 4mm; font-size: 8.8pt; padding-bottom: 1mm; }
.question { break-inside: avoid; padding: 1.2mm 0 0 7mm; position: relative; }
.question::before { content: ""; position: absolute; left: 0; top: 2mm; width: 3.6mm; height: 3.6mm;
  border: .3mm solid #111; }
.question .write { border-bottom: .25mm solid #555; height: 7mm; }
figure { margin: 4mm 0; break-inside: avoid; }
figure img { width: 100%; max-height: 98mm; object-fit: contain; border: .2mm solid #888; }
.lying { page: lying; }
@page lying { size: A4 landscape; margin: 13mm 12mm 14mm; @bottom-right { content: counter(page); font: 8pt serif; } }
table { border-collapse: collapse; table-layout: fixed; width: 100%; }
th { font-size: 7pt; font-weight: 400; text-align: left; vertical-align: bottom; padding: .5mm; overflow-wrap: anywhere;
  border-bottom: .4mm solid #111; }
th.needed { font-weight: 700; }
th.needed::before { content: "\\25A0\\00a0"; font-size: 5pt; vertical-align: middle; }
td { height: 8.6mm; border: .2mm solid #777; }
tr { break-inside: avoid; }
@media screen { body { padding: 10mm; max-width: 202mm; margin: 0 auto; } section { margin-top: 14mm; } }
"""


def paper(blank: Blank) -> str:
    """The form as one HTML page; equal surveys give equal pages."""
    body = [*_cover(blank)]
    for known in blank.objects:
        body += _object(known, blank)
    if not blank.objects:
        body.append("<section><h2>What was found</h2>")
        body += [part for sheet in ORDER for part in _form(BY_SHEET[sheet], blank, None)]
        body.append("</section>")
    body += _meanings()
    title = escape(blank.survey.get("title") or blank.survey.get("code") or "Survey")
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; "
        f'img-src data:"><title>{title}: form for paper</title><style>{STYLE}</style></head>\n<body>\n'
        + "\n".join(body)
        + "\n</body></html>\n"
    )


def _cover(blank: Blank) -> Iterable[str]:
    yield f"<h1>Survey {escape(blank.survey.get('code', ''))}</h1>"
    yield from (f'<p class="caution">{escape(text)}</p>' for text in CAUTIONS)
    yield _block(Survey.columns(), blank.survey)
    if blank.objects:
        yield "<h4>Objects</h4>"
        yield from (
            f"<p><b>{escape(known.object)}</b> {escape(known.title)}: {len(known.questions)} open questions</p>"
            for known in blank.objects
        )
    yield (
        '<h4>This form</h4><p class="small">■ and a bold name: needed in every row. Words in a row: circle '
        "one. Sheets, columns and words have the names of the workbook into which this is typed later; the last "
        "pages say what each column means.</p>"
    )
    for heading, paragraphs in INSTRUCTIONS[1:-1]:
        yield f"<h4>{escape(heading)}</h4>"
        yield from (f'<p class="small">{escape(paragraph)}</p>' for paragraph in paragraphs)


def _object(known: KnownObject, blank: Blank) -> Iterable[str]:
    yield f"<section><h2>{escape(known.object)} &ensp; {escape(known.title)}</h2>"
    for about, lines in groupby(known.lines, key=lambda line: line.about):
        yield from _known_lines(about, list(lines))
    yield "</section>"
    drawings = [row for row in known.rows.get("drawings", ()) if isinstance(row, Drawing)]
    pictures = [part for row in drawings for part in _drawing(row, blank.files.get(row.file))]
    if pictures:
        yield f"<section><h2>{escape(known.object)} &ensp; Drawings: mark every sample and test with its code</h2>"
        yield from pictures
        yield "</section>"
    yield f"<section><h2>{escape(known.object)} &ensp; What is open</h2>"
    for (about, answer), asked in groupby(known.questions, key=lambda each: (each.about, each.answer)):
        yield f'<h4>{escape(about[:1].upper() + about[1:])}</h4><p class="small">Write: {escape(answer)}</p>'
        for each in asked:
            where = f"<b>{escape(each.place)}</b>: " if each.place else ""
            yield f'<div class="question">{where}{escape(each.question)}<div class="write"></div></div>'
    yield f"</section><section><h2>{escape(known.object)} &ensp; What was found</h2>"
    for sheet in ORDER:
        if sheet not in AT_THE_DESK:
            yield from _form(BY_SHEET[sheet], blank, known)
    yield "</section>"


def _known_lines(about: str, lines: Sequence[KnownLine]) -> Iterable[str]:
    if about == "caution":
        yield from (f'<p class="caution">{escape(line.what)}</p>' for line in lines)
        return
    rows = "".join(
        f"<dt>{escape(line.where)}</dt><dd>{escape(line.what)}</dd><dd>{escape(line.as_of)}</dd>" for line in lines
    )
    yield f'<h4>{escape(about[:1].upper() + about[1:])}</h4><dl class="known">{rows}</dl>'


def _drawing(row: Drawing, content: bytes | None) -> Iterable[str]:
    mime = _MIME.get(row.file.rpartition(".")[2].lower())
    if content is not None and mime is not None:
        scale = f", 1 unit = {row.mm_per_unit:g} mm" if row.mm_per_unit else ""
        yield (
            f'<figure><img alt="{escape(row.title)}" src="data:{mime};base64,{base64.b64encode(content).decode()}">'
            f"<figcaption>{escape(row.drawing)}: {escape(row.title)}{scale}</figcaption></figure>"
        )


def _form(record: type[Record], blank: Blank, known: KnownObject | None) -> Iterable[str]:
    """One sheet: its longer lists, then its fields as often as they are likely needed.

    Coats, responses and steps are lines of a table under the sample, test or work that they belong to.
    """
    own = known.object if known else ""
    columns = [column for column in record.columns() if known is None or column.name != "object"]
    codes = blank.codes.get(record.sheet, {}).get(own, ())
    head = _head_columns(record, columns)
    free = f"free codes: {escape(span(codes))} &ensp; " if codes else ""
    lies = len(columns) - len(head) > NARROW if head else False
    if lies:
        yield '<section class="lying">'
    yield f"<h3>{escape(record.sheet.replace('_', ' '))} <span>{free}{escape(own)}</span></h3>"
    yield f'<p class="small">{escape(record.meaning)}</p>'
    lists = [
        column
        for column in columns
        if column.words is not None and column not in head and (head or len(column.words.words) > CIRCLED)
    ]
    yield from (
        f'<p class="small"><b>{escape(column.name)}</b>, write one of: {_listed(column)}.</p>' for column in lists
    )
    times = BLOCKS.get(record.sheet, 1)
    if head:
        yield _block(head, {})
        yield _table([column for column in columns if column not in head], times)
        if lies:
            yield "</section>"
        return
    for number in range(times):
        yield _block(columns, {CODE_COLUMN[record.sheet]: codes[number]} if number < len(codes) else {})


def _head_columns(record: type[Record], columns: Sequence[Column]) -> list[Column]:
    """What a coat, a response or a step shares with its neighbours, asked once above them all."""
    parent = record.key[1] if len(record.key) > 2 else ""
    if not parent or record.column(parent).reference in (None, "place"):
        return []
    return [column for column in columns if column.name in ("object", parent, *_SHARED)]


def _table(columns: Sequence[Column], rows: int) -> str:
    whole = sum(_CELL[column.kind] for column in columns)
    widths = "".join(f'<col style="width: {100 * _CELL[column.kind] / whole:.2f}%">' for column in columns)
    heads = "".join(f"<th{' class=needed' if column.required else ''}>{_broken(column)}</th>" for column in columns)
    lines = f"<tr>{'<td></td>' * len(columns)}</tr>" * rows
    return f"<table><colgroup>{widths}</colgroup><thead><tr>{heads}</tr></thead><tbody>{lines}</tbody></table>"


def _meanings() -> Iterable[str]:
    """What every column means, once for all objects."""
    yield "<section><h2>What the columns mean</h2>"
    described: list[type[Record]] = [Survey, *(BY_SHEET[sheet] for sheet in ORDER)]
    for record in described:
        own = [column for column in record.columns() if column.name not in _SHARED]
        yield f"<h4>{escape(record.sheet.replace('_', ' '))}</h4>"
        yield (
            '<div class="legend">'
            + "".join(
                f"<div><b>{_named(column)}</b>: {escape(column.meaning)}"
                + (f" ({_listed(column)})" if column.words is not None else "")
                + "</div>"
                for column in own
            )
            + "</div>"
        )
    yield (
        '<h4>every sheet</h4><div class="legend">'
        + "".join(f"<div><b>{escape(column.name)}</b>: {escape(column.meaning)}</div>" for column in Evidence.columns())
        + "</div></section>"
    )


def _listed(column: Column) -> str:
    return escape(", ".join(column.words.words)) if column.words is not None else ""


def _named(column: Column) -> str:
    return escape(column.name) + (f" / {escape(column.unit)}" if column.unit else "")


def _broken(column: Column) -> str:
    """A heading that a narrow column may break behind each `_`."""
    return _named(column).replace("_", "_<wbr>")


def _block(columns: Sequence[Column], given: Mapping[str, str]) -> str:
    return '<div class="block">' + "".join(_field(column, given.get(column.name, "")) for column in columns) + "</div>"


def _field(column: Column, given: str) -> str:
    needed = " needed" if column.required else ""
    label = f'<span class="label">{_named(column)}</span>'
    if column.words is not None and len(column.words.words) <= CIRCLED and not given:
        words = "".join(f"<span>{escape(word)}</span>" for word in column.words.words)
        return f'<div class="field circle{needed}">{label}<span class="words">{words}</span></div>'
    return (
        f'<div class="field{needed}" style="--w: {_WIDE[column.kind]}mm">{label}'
        f'<span class="given">{escape(given)}</span></div>'
    )
