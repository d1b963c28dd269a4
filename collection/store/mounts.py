"""Where the mounted samples of a collection are kept, in the order of a walk past the drawers.

A cross-section is always mounted, a scraping is listed where its mount or the place where it is kept is recorded; of the
other methods nothing leaves the object. One that was withdrawn still lies in its drawer, and is listed.
"""

from __future__ import annotations

import re
import sqlite3
from dataclasses import asdict, dataclass, fields
from typing import Any

from collection.records.sheets import Sample
from collection.store.base import names

_FIGURES = re.compile(r"(\d+)")


@dataclass(frozen=True)
class Mount:
    """One mounted sample; blanks are None. `in_account` is False where it, its survey or what it hangs on was
    withdrawn."""

    object: str
    sample: str
    place: str
    method: str
    mount: str | None
    kept_at: str | None
    taken_on: str | None
    survey: str
    in_account: bool

    @property
    def lacks_mount(self) -> bool:
        """Whether nobody wrote down how it is mounted, though it has to be."""
        return self.mount is None and self.method == "cross-section"

    def as_json(self) -> dict[str, Any]:
        return asdict(self)


def mounts(db: sqlite3.Connection, object_code: str | None = None) -> list[Mount]:
    """The mounted samples of the collection or of one object under their present codes: sorted by where they are kept,
    `drawer 2` before `drawer 10`, then by object and code; those without a place last."""
    known = names.load(db)
    found: dict[tuple[str, str], dict[str, Any]] = {}
    for row in db.execute(_EVERY):
        cells = dict(zip(_COLUMNS, row, strict=True))
        cells = cells if known is None else known.translate(Sample, cells)
        if object_code in (None, cells["object"]):
            # Of two codes for one sample, what the first leaves blank is taken from the other.
            first = found.setdefault((cells["object"], cells["sample"]), cells)
            first.update({name: value for name, value in cells.items() if first[name] is None})
            first["in_account"] = first["in_account"] or cells["in_account"]
    listed = [Mount(**{**cells, "in_account": bool(cells["in_account"])}) for cells in found.values()]
    return sorted(
        listed, key=lambda m: (m.kept_at is None, _walked(m.kept_at or ""), _walked(m.object), _walked(m.sample))
    )


def _walked(text: str) -> list[tuple[int, str]]:
    """A text with its whole numbers as numbers."""
    return [(int(part), "") if part.isdecimal() else (-1, part.casefold()) for part in _FIGURES.split(text)]


_COLUMNS = tuple(field.name for field in fields(Mount))
_EVERY = (
    "SELECT s.object, s.sample, s.place, s.method, s.mount, s.kept_at, s.taken_on, s.survey, EXISTS (SELECT 1 FROM "
    "live_samples AS l WHERE l.object = s.object AND l.sample = s.sample) FROM samples AS s "
    "WHERE s.method = 'cross-section' OR (s.method = 'scraping' AND coalesce(s.mount, s.kept_at) IS NOT NULL) "
    "ORDER BY s.object, s.sample"
)
