"""The rows of a workbook's sheet as they stand in its XML, in a stream.

A row of plain cells, which is nearly every row, is taken apart by one expression; a row of which that does not
account for every tag is read by the XML parser. So the first may take less than the second and never more, which
a test holds.
"""

from __future__ import annotations

import re
from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache

from collection.ingest.package import zip_file
from collection.ingest.package.sheets import LONGEST_CELL
from collection.ingest.package.workbook.parts import (
    DAMAGED,
    LONGEST_PIECE,
    Attributes,
    Book,
    Broken,
    Reader,
    Text,
    unescape,
)

MOST_MERGED = 10_000
"""Merged ranges of a sheet that are told; a sheet with more has faults enough."""
MOST_FRAMES = 5_000
"""Ways in which a sheet's rows may be made, beyond which no more are remembered."""
LONGEST_FRAME = 10_000
"""Bytes of a row without its figures, beyond which it is not remembered; some four hundred cells."""
_ROW_END = b"</row>"
LAST_ROW, LAST_COLUMN = 1_048_576, 16_384
"""The largest sheet that a spreadsheet program opens."""

_DISORDER = "The cells of this sheet do not stand in order. Open the workbook, save it anew and hand that in."


@dataclass(slots=True)
class Cell:
    """One cell: its column from 0, its type and style, its value and its formula, as written."""

    column: int
    kind: str
    style: int
    value: str = ""
    formula: str | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """What a plain row is without its figures; the same object for every row of a sheet that is made alike."""

    columns: tuple[int, ...]
    texts: tuple[bool, ...]
    """Whether each value is the number of a text, or else a number itself."""


@dataclass(slots=True)
class Row:
    """One row; its cells stand in one of two forms, as plain tokens in a frame or one by one."""

    number: int
    frame: Frame | None = None
    tokens: Sequence[bytes] = ()
    """Of each value the end of its cell: style, type and the value as written, taken apart by `token`."""
    exact: list[Cell] = field(default_factory=list)

    def cells(self) -> list[Cell]:
        """The cells, from left to right.

        :raises Broken: where they do not stand so.
        """
        found = self.exact
        if self.frame is not None:
            found = [
                Cell(column, *token(written)) for column, written in zip(self.frame.columns, self.tokens, strict=True)
            ]
        last = -1
        for cell in found:
            if not last < cell.column < LAST_COLUMN:
                raise Broken(_DISORDER)
            last = cell.column
        return found


@dataclass
class Seen:
    """What a sheet shows beside its cells; complete when its rows have been read to the end."""

    merged: list[str] = field(default_factory=list)
    hidden_rows: list[int] = field(default_factory=list)
    hidden_columns: list[tuple[int, int]] = field(default_factory=list)
    """The first and the last of each group, counted from 1."""


# In a plain row no r stands but in its own tags and before a cell's place, which has to be in the row.
_NUMBERS = re.compile(rb"<row r=\"([0-9]{1,7}+)\"[^>]*+>[^r]*+(?:r=\"[A-Z]{1,3}+\1\"[^r]*+)*+row>").findall
_TOKENS = re.compile(
    rb"<c r=\"[A-Z]{1,3}+[0-9]{1,7}+\"((?: s=\"[0-9]{1,6}+\")?+(?: t=\"[sn]\")?+>"
    rb"<v>-?+[0-9]{1,15}+(?:\.[0-9]{1,17}+)?+)</v></c>"
).findall
_TOKEN = re.compile(rb"(?: s=\"([0-9]+)\")?(?: t=\"([sn])\")?><v>(.*)")
_FIGURES = b"0123456789.-"
_WITHOUT_FIGURES = re.compile(
    rb"\s*<row r=\"\"(?: (?!r=|hidden=(?!\"false\"))[A-Za-z:]+=\"[^\"<>&]*\")*>"
    rb"(?:<c r=\"[A-Z]{1,3}\"(?: s=\"\")?(?: t=\"[sn]\")?(?:/>|><v></v></c>))*"
)
_BLANK_ROWS = re.compile(rb"(?:\s*+<row(?: [A-Za-z0-9:]+=\"[^\"<>&]*\")*+/>)+")
_KINDS = re.compile(rb"<c r=\"([A-Z]{1,3})\"(?: s=\"\")?(?: t=\"(s|n)\")?><v>").findall
_PROLOGUE = re.compile(
    rb"(?:\xef\xbb\xbf)?\s*(?:<\?xml version=[\"']1\.[01][\"'](?: encoding=[\"'](?i:utf-8)[\"'])?"
    rb"(?: standalone=[\"'](?:yes|no)[\"'])?\s*\?>)?\s*<worksheet[\s>]"
)
_DATA = re.compile(rb"<sheetData\s*(/?)>")
_HIDES = re.compile(rb"<[!?]|</sheetData").search
"""What may make something else than a row of what follows: a comment, a text as it stands, the end of the rows."""


def rows(book: Book, part: str, seen: Seen) -> Iterator[Row]:
    """Every row that holds a cell, in order.

    :raises Broken: where the sheet cannot be read further.
    """
    try:
        with zip_file.opened(book.path, part) as blocks:
            start = b""
            while (found := _DATA.search(start)) is None and len(start) <= LONGEST_PIECE:
                block = next(blocks, b"")
                if not block:
                    break
                start += block
            exact = _Exact(seen)
            prologue = _PROLOGUE.match(start)
            if found is None or found[1] or prologue is None or _HIDES(start, prologue.end(), found.start()):
                yield from exact.rest(start, blocks)
            else:
                exact.feed(start[: found.end()])
                behind = yield from _rows(start[found.end() :], blocks, exact)
                yield from exact.rest(behind, blocks)
    except zip_file.Damaged:
        raise Broken(DAMAGED) from None


def _rows(rest: bytes, blocks: Iterator[bytes], exact: _Exact) -> Generator[Row, None, bytes]:
    """The rows up to the last one's end, or to where more than rows may stand; what was read behind it is returned."""
    frames = _Frames()
    while True:
        end = rest.rfind(_ROW_END) + len(_ROW_END)
        if end >= len(_ROW_END):
            left = yield from _block(rest[:end], frames, exact)
            rest = left + rest[end:]
            if left:
                return rest
        if b"</sheetData" in rest:
            return rest
        blank = _BLANK_ROWS.match(rest)
        if blank is not None:
            rest = rest[blank.end() :]
        block = next(blocks, b"")
        if not block or len(rest) > LONGEST_PIECE:
            raise Broken(DAMAGED)
        rest += block


def _block(text: bytes, frames: _Frames, exact: _Exact) -> Generator[Row, None, bytes]:
    """The rows of a block that ends with one: all plain ones at once, or each as far as it is.

    What was not read, because it may hold more than rows, is returned.
    """
    plain = _plain(text, frames)
    if plain is not None:
        for row in plain:
            exact.numbered(row.number)
            yield row
        return b""
    start = 0
    while start < len(text):
        end = text.index(_ROW_END, start) + len(_ROW_END)
        piece = text[start:end]
        plain = _plain(piece, frames)
        if plain is not None:
            exact.numbered(plain[0].number)
            yield plain[0]
        elif _HIDES(piece):
            return text[start:]
        else:
            yield from exact.one(piece)
        start = end
    return b""


def _plain(text: bytes, frames: _Frames) -> list[Row] | None:
    """The rows of a text of whole rows; None where any of them is not plain.

    Every value that a frame names has to be found again with nothing out of its place, or the counts differ.
    """
    made = [frames[left] for left in text.translate(None, _FIGURES).split(_ROW_END)[:-1]]
    numbers, tokens = _NUMBERS(text), _TOKENS(text)
    rows_made: list[Row] = []
    start = 0
    for number, frame in zip(numbers, made, strict=False):
        if frame is None:
            return None
        end = start + len(frame.columns)
        rows_made.append(Row(int(number), frame, tokens[start:end]))
        start = end
    return rows_made if len(rows_made) == len(made) == len(numbers) and start == len(tokens) else None


class _Frames(dict[bytes, Frame | None]):
    """What rows are made like, by what is left of them without figures; None for those that are not plain."""

    def __missing__(self, left: bytes) -> Frame | None:
        frame = None
        if _WITHOUT_FIGURES.fullmatch(left) is not None:
            cells = _KINDS(left)
            frame = Frame(
                tuple(_column(letters.decode()) for letters, _ in cells), tuple(kind == b"s" for _, kind in cells)
            )
        if len(self) < MOST_FRAMES and len(left) <= LONGEST_FRAME:
            self[left] = frame
        return frame


def token(written: bytes) -> tuple[str, int, str]:
    """The type, the style and the value of a plain cell."""
    found = _TOKEN.fullmatch(written)
    assert found is not None
    return (found[2] or b"n").decode(), int(found[1] or b"0"), found[3].decode()


class _Exact:
    """Rows read by the XML parser, which is handed the sheet's bytes in order; plain rows may be left out."""

    def __init__(self, seen: Seen) -> None:
        self._seen = seen
        self._last = 0
        self._done: list[Row] = []
        self._inside = False
        self._row: Row | None = None
        self._cell: Cell | None = None
        self._text = Text()
        self._value: list[str] | None = None
        self._formula: list[str] | None = None
        self._reader = Reader(self._start, self._end, self._characters)
        self._length = 0

    def numbered(self, number: int, hidden: bool = False) -> int:
        """The number of a row, which has to be greater than the last one's."""
        if not self._last < number <= LAST_ROW:
            raise Broken(
                "The rows of this sheet do not stand in order. Open the workbook, save it anew and hand that in."
            )
        self._last = number
        if hidden:
            self._seen.hidden_rows.append(number)
        return number

    def feed(self, data: bytes) -> None:
        self._reader.feed(data)

    def one(self, text: bytes) -> list[Row]:
        """The row that stands in a slice of the sheet's bytes, and any blank ones before it."""
        self._reader.feed(text)
        return self._taken()

    def rest(self, start: bytes, blocks: Iterator[bytes]) -> Iterator[Row]:
        """The rows in all that is left, to the end of the sheet's part."""
        self._reader.feed(start)
        yield from self._taken()
        for block in blocks:
            self._reader.feed(block)
            yield from self._taken()
        self._reader.feed(b"", last=True)
        yield from self._taken()

    def _taken(self) -> list[Row]:
        done, self._done = self._done, []
        return done

    def _start(self, name: str, attributes: Attributes) -> None:
        if name == "sheetData":
            self._inside = True
        elif not self._inside:
            self._beside(name, attributes)
        elif (name == "row" and self._row is not None) or (name == "c" and self._cell is not None):
            raise Broken(DAMAGED)
        elif name == "row":
            written = attributes.get("r")
            number = self.numbered(
                self._last + 1 if written is None else _whole(written), attributes.get("hidden") in ("1", "true")
            )
            self._row = Row(number)
        elif name == "c" and self._row is not None:
            cells = self._row.exact
            place = attributes.get("r")
            if place is None:
                column = cells[-1].column + 1 if cells else 0
            else:
                column, number = place_of(place)
                if number != self._row.number:
                    raise Broken(_DISORDER)
            if len(cells) > LAST_COLUMN:
                raise Broken(DAMAGED)
            self._cell = Cell(column, attributes.get("t", "n"), _whole(attributes.get("s", "0")))
            self._length = 0
            cells.append(self._cell)
        elif self._cell is not None:
            if name == "v":
                self._value = []
            elif name == "f":
                self._formula = []
            else:
                self._text.start(name)

    def _end(self, name: str) -> None:
        cell = self._cell
        if name == "sheetData":
            self._inside = False
        elif name == "row" and self._row is not None:
            self._done.append(self._row)
            self._row = None
        elif cell is None:
            return
        elif name == "v" and self._value is not None:
            written = "".join(self._value)
            cell.value = unescape(written) if cell.kind == "str" else written.strip()
            self._value = None
        elif name == "f" and self._formula is not None:
            cell.formula = "".join(self._formula)
            self._formula = None
        elif name == "c":
            if cell.kind == "inlineStr":
                cell.value = self._text.taken()
            self._text = Text()
            self._cell = None
        else:
            self._text.end(name)

    def _characters(self, data: str) -> None:
        if self._cell is None:
            return
        self._length += len(data)
        if self._length > LONGEST_CELL:
            raise Broken(
                "A cell here is longer than any text may be (20,000 characters), so the rest of the sheet was "
                "not read. Keep a long text as a file among the sources."
            )
        if self._value is not None:
            self._value.append(data)
        elif self._formula is not None:
            self._formula.append(data)
        else:
            self._text.characters(data)

    def _beside(self, name: str, attributes: Attributes) -> None:
        columns = self._seen.hidden_columns
        if name == "mergeCell" and len(self._seen.merged) < MOST_MERGED:
            self._seen.merged.append(attributes.get("ref", ""))
        elif name == "col" and attributes.get("hidden") in ("1", "true") and len(columns) < LAST_COLUMN:
            columns.append((_whole(attributes.get("min", "1")), _whole(attributes.get("max", "1"))))


def _whole(text: str) -> int:
    if re.fullmatch("[0-9]{1,9}", text) is None:
        raise Broken(DAMAGED)
    return int(text)


@cache
def _column(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number - 1


def place_of(place: str) -> tuple[int, int]:
    """The column from 0, and the row, of a cell such as B7.

    :raises Broken: where it is no cell.
    """
    found = re.fullmatch("([A-Z]{1,3})([0-9]{1,7})", place)
    if found is None:
        raise Broken(DAMAGED)
    return _column(found[1]), int(found[2])


def letters_of(column: int) -> str:
    """The letters of a column, counted from 0."""
    number, letters = column + 1, ""
    while number:
        number, letter = divmod(number - 1, 26)
        letters = chr(65 + letter) + letters
    return letters
