"""The report on a mapped list: every row and every cell of it is counted somewhere here."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

LISTED_ROWS = 100
LISTED_TERMS = 200
EXAMPLES = 3
SAID = ("blank", "none", "unknown")


@dataclass
class MappingReport:
    """Counts of one list. Columns are written `sheet.column`; cells are counted by their heading."""

    rows_read: int = 0
    rows_blank: int = 0
    rows_kept: int = 0
    objects: int = 0
    left_out: dict[str, int] = field(default_factory=dict)
    """Rows that a rule of the mapping leaves out, by the rule's name; rules that leave out none are there with 0."""
    set_aside: dict[str, list[int]] = field(default_factory=dict)
    """Rows that could not become a record, by reason."""
    rows_made: Counter[str] = field(default_factory=Counter)
    rows_not_made: Counter[str] = field(default_factory=Counter)
    """Rows of further sheets without a cell that such a row needs, by that column."""
    rows_merged: int = 0
    """Rows of further sheets that an earlier row of the list had made already."""
    repeated_objects: int = 0
    """Objects that several rows of the list are about."""
    named_by_part: list[str] = field(default_factory=list)
    """Objects of which the list has parts only, so that their first part names them."""
    differing: dict[str, list[int]] = field(default_factory=dict)
    """Rows of the list in which rows for one thing say different things, by column."""
    said_by_mapping: Counter[str] = field(default_factory=Counter)
    """Cells that the mapping filled with words of its own, by column."""
    untranslated: dict[str, Counter[str]] = field(default_factory=dict)
    nearest: dict[tuple[str, str], str] = field(default_factory=dict)
    """The known term that an untranslated one is most like, by column and term."""
    not_read: dict[str, Counter[str]] = field(default_factory=dict)
    """Texts that do not fit their column, by column."""
    why_not_read: dict[tuple[str, str], str] = field(default_factory=dict)
    dates_not_understood: dict[str, dict[str, list[int]]] = field(default_factory=dict)
    """Rows of every text that is not read as a date, by column and text; each cell stays with its object."""
    why_not_understood: dict[tuple[str, str], str] = field(default_factory=dict)
    date_notes: dict[str, dict[str, list[tuple[str, str, int]]]] = field(default_factory=dict)
    """Dates that could have been read in another way, by column and by what was decided: the text, its EDTF, the row."""
    said_to_be: dict[str, Counter[str]] = field(default_factory=lambda: {k: Counter() for k in SAID})
    """Cells that hold the list's words for blank, none and unknown, by heading or column."""
    unmapped_cells: Counter[str] = field(default_factory=Counter)
    """Cells of which nothing, or not all, went into a record; kept with the object."""
    kept_as_written: Counter[str] = field(default_factory=Counter)
    """Cells that went into a record in another form, and are kept with the object as they were written."""

    def date_not_understood(self, spot: str, text: str, row: int, why: str) -> None:
        self.dates_not_understood.setdefault(spot, {}).setdefault(text, []).append(row)
        self.why_not_understood[spot, text] = why

    def as_json(self) -> dict[str, object]:
        def terms(found: dict[str, Counter[str]], key: str, more: dict[tuple[str, str], str], name: str) -> object:
            return {
                column: [
                    {key: term, "count": n, name: more.get((column, term))}
                    for term, n in counts.most_common(None if more is self.nearest else LISTED_TERMS)
                ]
                for column, counts in found.items()
            }

        return {
            "rows_read": self.rows_read,
            "rows_blank": self.rows_blank,
            "rows_kept": self.rows_kept,
            "objects": self.objects,
            "left_out": self.left_out,
            "set_aside": [
                {"reason": reason, "count": len(rows), "rows": rows[:LISTED_ROWS]}
                for reason, rows in self.set_aside.items()
            ],
            "rows_made": dict(self.rows_made),
            "rows_not_made": dict(self.rows_not_made),
            "rows_merged": self.rows_merged,
            "repeated_objects": self.repeated_objects,
            "named_by_part": self.named_by_part,
            "differing": {
                column: {"count": len(rows), "rows": rows[:LISTED_ROWS]} for column, rows in self.differing.items()
            },
            "said_by_mapping": dict(self.said_by_mapping),
            "untranslated": terms(self.untranslated, "term", self.nearest, "nearest"),
            "not_read": terms(self.not_read, "text", self.why_not_read, "message"),
            "dates_not_understood": {
                column: [
                    {"text": text, "count": len(rows), "rows": rows, "message": self.why_not_understood[column, text]}
                    for text, rows in _most(texts)
                ]
                for column, texts in self.dates_not_understood.items()
            },
            "date_notes": {
                column: [
                    {
                        "note": note,
                        "count": len(found),
                        "rows": [row for _, _, row in found],
                        "examples": [{"text": text, "edtf": edtf, "row": row} for text, edtf, row in _examples(found)],
                    }
                    for note, found in notes.items()
                ]
                for column, notes in self.date_notes.items()
            },
            "said_to_be": {name: dict(counts) for name, counts in self.said_to_be.items()},
            "unmapped_cells": dict(self.unmapped_cells),
            "kept_as_written": dict(self.kept_as_written),
        }

    def sentences(self) -> list[str]:
        """The report as a registrar reads it, one thing a line, without what did not happen."""
        lines = [f"The list: {self.rows_read} rows read, {self.rows_kept} kept for {_many(self.objects, 'object')}."]
        lines += [f"Left out by the rule {name!r}: {_many(n, 'row')}." for name, n in self.left_out.items()]
        for reason, rows in self.set_aside.items():
            lines.append(
                f"Set aside, {reason}: {_many(len(rows), 'row')} ({_numbers(rows)}). They stay in the list, "
                "which is kept."
            )
        lines += _counted("Rows made", self.rows_made)
        lines += _counted("Rows not made for want of", self.rows_not_made)
        if self.rows_merged:
            lines.append(f"Rows that an earlier row of the list had made already: {self.rows_merged}.")
        if self.repeated_objects:
            lines.append(f"Objects that several rows are about: {self.repeated_objects}.")
        if self.named_by_part:
            shown = ", ".join(self.named_by_part[:10]) + (" …" if len(self.named_by_part) > 10 else "")
            lines.append(
                f"Objects without a row of their own, named by their first part: {len(self.named_by_part)} ({shown})."
            )
        lines += [
            f"Rows for one thing differ in {column}; what was not taken stays unmapped: rows {_numbers(rows)}."
            for column, rows in self.differing.items()
        ]
        lines += _counted("Said by the mapping, not by the list", self.said_by_mapping)
        for column, terms in self.untranslated.items():
            lines.append(
                f"Not translated, {column}: "
                + "; ".join(
                    f"{term!r} {n}"
                    + (f" (near {self.nearest[column, term]!r})" if (column, term) in self.nearest else "")
                    for term, n in terms.most_common(20)
                )
                + _more(len(terms), 20)
            )
        for column, texts in self.not_read.items():
            lines.append(
                f"Not read, {column}: "
                + "; ".join(f"{t!r} {n}" for t, n in texts.most_common(10))
                + _more(len(texts), 10)
            )
        lines += self._dates()
        for name, counts in self.said_to_be.items():
            lines += _counted(f"Said to be {name}", counts)
        lines += _counted("Cells kept privately with their object, unmapped", self.unmapped_cells)
        lines += _counted(
            "Cells kept privately as they were written, beside what was read of them", self.kept_as_written
        )
        return lines

    def _dates(self) -> list[str]:
        """Every text that is no date here, in full, and what was decided of the dates that were read."""
        lines = []
        for column, texts in self.dates_not_understood.items():
            whys = dict.fromkeys(self.why_not_understood[column, text] for text in texts)
            for why in whys:
                said = [(text, rows) for text, rows in _most(texts) if self.why_not_understood[column, text] == why]
                cells = sum(len(rows) for _, rows in said)
                lines.append(f"Dates not understood, {column}, {_many(cells, 'row')}, kept as written. {why}")
                lines += [f"  {text!r}: {_row_numbers(rows)}" for text, rows in said]
        for column, notes in self.date_notes.items():
            for note, found in notes.items():
                shown = "; ".join(f"{text!r} is {edtf} (row {row})" for text, edtf, row in _examples(found))
                lines.append(f"Dates of {column}, {_many(len(found), 'row')}: {note}, such as {shown}.")
        return lines


def _most(texts: dict[str, list[int]]) -> list[tuple[str, list[int]]]:
    """Texts with their rows, the most frequent first."""
    return sorted(texts.items(), key=lambda each: -len(each[1]))


def _examples(found: list[tuple[str, str, int]]) -> list[tuple[str, str, int]]:
    """The first three that differ in their text."""
    return list({text: (text, edtf, row) for text, edtf, row in reversed(found)}.values())[::-1][:EXAMPLES]


def _counted(what: str, counts: Counter[str]) -> list[str]:
    shown = ", ".join(f"{name} {n}" for name, n in counts.most_common())
    return [f"{what}: {shown}."] if shown else []


def _numbers(rows: list[int]) -> str:
    return ", ".join(map(str, rows[:10])) + (" …" if len(rows) > 10 else "")


def _row_numbers(rows: list[int]) -> str:
    more = f" ({len(rows)} in all)" if len(rows) > 10 else ""
    return f"row {rows[0]}" if len(rows) == 1 else f"rows {_numbers(rows)}{more}"


def _many(n: int, noun: str) -> str:
    return f"{n} {noun}" if n == 1 else f"{n} {noun}s"


def _more(n: int, shown: int) -> str:
    return f"; … and {n - shown} more; --json lists all." if n > shown else "."
