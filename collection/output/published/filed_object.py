"""What the published file holds of one object, read part by part: no page pays for records that it does not show.

Records stand in the tables of their sheets. The parts of an object's document that its pages ask for stand in `parts`,
as JSON or SVG: as text where they are short, compressed by zlib (RFC 1950) where they are long. The coats, of which
there are most, are read from their own table, one sample at a time.
"""

from __future__ import annotations

import json
import sqlite3
import zlib
from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Any

from collection.output.published.documents import SHOWN, outermost_first
from collection.output.published.published_object import Filed, PublishedObject

Json = dict[str, Any]

SHORT = 600
"""Up to so many characters a part is kept as text, which compressing would hardly make smaller."""
STRATA, FIGURE = "strata", "figure "


def packed(text: str) -> bytes:
    """A long text as it is kept in the file."""
    return zlib.compress(text.encode(), 6)


def unpacked(content: bytes) -> str:
    return zlib.decompress(content).decode()


def as_text(value: Any) -> str:
    """Plain data as JSON without spaces."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def parts_of(document: Json, strata: Json, figures: Mapping[str, str]) -> Iterator[Json]:
    """The rows of `parts` for an object; sheets without records and the coats, which are read elsewhere, have none."""
    texts = {}
    for name, value in document.items():
        if name == "samples":
            bare = [{key: item for key, item in row.items() if key != "layers"} for row in value]
            value = bare
        if value or name not in SHOWN:
            texts[name] = as_text(value)
    texts[STRATA] = as_text(strata)
    texts |= {f"{FIGURE}{name}": svg for name, svg in figures.items()}
    for name, text in texts.items():
        short = len(text) <= SHORT
        yield {"name": name, "content": text if short else None, "packed": None if short else packed(text)}


def published_object(connection: sqlite3.Connection, code: str) -> PublishedObject | None:
    """An object of the published file, its parts read when they are asked for; None where there is none.

    The connection must stay open for as long as the object is used.
    """
    found = connection.execute("select id from objects where object = ?", (code,)).fetchone()
    return None if found is None else PublishedObject(FiledObject(connection, found[0]))


def whole_json(connection: sqlite3.Connection, code: str) -> str | None:
    """An object's whole document as JSON text, every published column in it; None where there is none."""
    found = connection.execute("select document from documents where object = ?", (code,)).fetchone()
    return None if found is None else unpacked(found[0])


class FiledObject(Filed):
    """The parts of one object's document, by its row number."""

    def __init__(self, connection: sqlite3.Connection, number: int) -> None:
        self._connection, self._number = connection, number
        self._read: Json = {}
        self._coats: dict[str, list[Json]] = {}
        self._names = [
            name for (name,) in self._asked("select name from parts where object_id = ? order by id", number)
        ]

    def __getitem__(self, name: str) -> Any:
        if name not in self._read:
            text = self._text(name)
            if text is None and name not in SHOWN:
                raise KeyError(name)
            self._read[name] = [] if text is None else json.loads(text)
        return self._read[name]

    def __iter__(self) -> Iterator[str]:
        """The names of the document's parts, in its order: sheets without records too."""
        own = [name for name in self._names if name != STRATA and not name.startswith(FIGURE)]
        at = next(at for at, name in enumerate([*own, ""]) if name in SHOWN or name in ("listed", "withheld"))
        return iter([*own[:at], *SHOWN, *(name for name in own[at:] if name not in SHOWN)])

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def coats(self, sample: str) -> list[Json]:
        if sample not in self._coats:
            own = self._samples.get(sample)
            rows = [] if own is None else self._layers("sample_id = (select id from samples where key = ?)", own["key"])
            self._coats[sample] = [] if own is None else outermost_first(own, rows)
        return self._coats[sample]

    def read_all_coats(self) -> None:
        found: dict[str, list[Json]] = {sample: [] for sample in self._samples}
        for row in self._layers("object_id = ?", self._number):
            found[row["sample"]].append(row)
        self._coats = {sample: outermost_first(self._samples[sample], rows) for sample, rows in found.items()}

    @cached_property
    def _samples(self) -> dict[str, Json]:
        return {row["sample"]: row for row in self["samples"]}

    def figure(self, name: str) -> str | None:
        return self._text(f"{FIGURE}{name}")

    def strata(self) -> Json:
        found: Json = self[STRATA]
        return found

    def _text(self, name: str) -> str | None:
        if name not in self._names:
            return None
        ((content, compressed),) = self._asked(
            "select content, packed from parts where object_id = ? and name = ?", self._number, name
        )
        return unpacked(compressed) if content is None else content

    def _asked(self, sql: str, *values: Any) -> sqlite3.Cursor:
        cursor = self._connection.cursor()
        cursor.row_factory = None
        return cursor.execute(sql, values)

    @cached_property
    def _columns(self) -> list[str]:
        names = [column[0] for column in self._asked("select * from layers limit 0").description]
        return [name for name in names if name != "id" and not name.endswith("_id")]

    def _layers(self, where: str, value: Any) -> list[Json]:
        """Coats as they stand in the document: without blanks, but for where they come from."""
        names = self._columns
        listed = ", ".join(f'"{name}"' for name in names)
        return [
            {"survey": None, "from_row": None}
            | {name: value for name, value in zip(names, values, strict=True) if value is not None}
            for values in self._asked(f"select {listed} from layers where {where} order by id", value)
        ]
