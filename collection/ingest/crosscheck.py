"""Checks between rows: repeated keys, codes that point to nothing or nearly to something, circles."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterable, Mapping
from functools import cache
from itertools import groupby

from collection.ingest.package.faults import Faults, missing, withdrawn
from collection.ingest.package.sheets import Sheet, Source
from collection.language.errors import Fault
from collection.records.codes import CODE_COLUMN, KIN, PARENTS, fold, sheets_of
from collection.records.columns import Column
from collection.records.sheets import BY_SHEET, Record
from collection.store.base import withdrawals
from collection.store.stage import checks
from collection.store.stage.checks import Against, Lost
from collection.store.stage.nested_zones import zones_across_parts
from collection.store.stage.stage import Stage

MOST_NEAREST = 2_000
"""Faults of a kind for which a nearest code is looked up; more are never read one by one."""
MOST_COMPARED = 500
_ALIKE, _SURELY_ALIKE = 0.5, 0.75
"""Shares of alike letters at which a code is worth naming: one that is lost, and one that may be stored as it is."""
ASKS_DATABASE = "This code is not in the package, so the database has to hold it."
"""What is said about a reference that only the database could check."""
_SAID_ONCE = "Codes are compared as written. Use one writing for one thing, or a code that differs more."


class CrossCheck:
    """All checks of a staged package that compare rows."""

    def __init__(self, stage: Stage, source: Source, faults: Faults, against: Against, unread: Collection[str]) -> None:
        """`unread` are the sheets that could not be read to their end, so nothing is missing in them."""
        self._stage, self._source, self._faults, self._against = stage, source, faults, against
        self._sheets: Mapping[str, Sheet] = {sheet.record.sheet: sheet for sheet in source.sheets}
        self._unread = frozenset(unread)
        self._looked_up = 0
        self._copies: set[tuple[str, int]] = set()
        """Rows that repeat an earlier one completely, so that their faults are reported for that one only."""
        self._knows = cache(
            lambda object_code: "objects" in self._unread or checks.knows_object(stage, object_code, against)
        )
        self._gone = cache(lambda target, of, code: withdrawals.of_code(stage.db, target, of, code))
        self._beside = cache(lambda target, object_code: checks.codes_beside(stage, target, object_code, against))

    def run(self) -> list[tuple[Fault, int]]:
        """Adds every fault. References that only a database could check are returned as warnings, with their row."""
        doubts: list[tuple[Fault, int]] = []
        for sheet in self._sheets.values():
            self._repeated(sheet.record)
            doubts += self._references(sheet.record)
        self._names()
        self._circles()
        self._parts()
        self._files()
        return doubts

    def _say(
        self, sheet: str, row: int | None, column: str | None, value: str | None, message: str, near: str | None = None
    ) -> None:
        self._faults.add(self._fault(sheet, row, column, value, message, near))

    def _fault(
        self, sheet: str, row: int | None, column: str | None, value: str | None, message: str, near: str | None = None
    ) -> Fault:
        held = self._sheets[sheet]
        return Fault(held.file, sheet, None if row is None else held.row_of(row, column), column, value, message, near)

    def _repeated(self, record: type[Record]) -> None:
        key = ", ".join(record.key)
        dated = " A later state of a thing has its own date." if record.key[-1] == "observed_on" else ""
        for row, first in checks.repeated_keys(self._stage, record):
            said = f"Row {self._sheets[record.sheet].row_of(first, None)} has the same key ({key})"
            if checks.same_rows(self._stage, record.sheet, row, first):
                self._copies.add((record.sheet, row))
                said += " and says the same: delete one of the two."
            else:
                said += f": correct the key of one, or delete it.{dated}"
            self._say(record.sheet, row, record.key[min(1, len(record.key) - 1)], None, said)

    def _references(self, record: type[Record]) -> list[tuple[Fault, int]]:
        doubts = []
        for column in record.columns():
            target = "schemes" if column.kind == "coat" else column.reference
            if target is None or self._unread & _targets(target) or _is_implied(record, column):
                continue
            for lost in checks.lost_references(self._stage, record, column, self._against):
                doubt = self._lost(record, column.name, target, lost)
                if doubt is not None:
                    doubts.append((doubt, lost.row))
            if column.kind == "list":
                for row, object_code, code in checks.unclear_parts(self._stage, record.sheet, column, self._against):
                    self._say(
                        record.sheet,
                        row,
                        column.name,
                        code,
                        f"On {object_code} both a reserve and a place have "
                        "this code, so nobody can tell which is left out. Give one of them another code.",
                    )
        return doubts

    def _lost(self, record: type[Record], column: str, target: str, lost: Lost) -> Fault | None:
        if (record.sheet, lost.row) in self._copies:
            return None
        if self._against is Against.NOTHING and not self._package_speaks_of(target, lost):
            return self._fault(
                record.sheet, lost.row, column, lost.code, ASKS_DATABASE, self._nearest(target, lost, _SURELY_ALIKE)
            )
        if target != "objects" and not self._knows(lost.object):
            # The object is what is missing; it is said once, and here only where nothing else says it.
            if column == _implying(record):
                self._lost(record, "object", "objects", Lost(lost.row, lost.object, lost.object, False))
            return None
        of = None if target == "objects" else lost.object
        gone = self._gone(target, of, lost.code) if lost.withdrawn else None
        message = withdrawn(target, gone) if lost.withdrawn else missing(target, of)
        self._say(
            record.sheet, lost.row, column, lost.code, message, None if lost.withdrawn else self._nearest(target, lost)
        )
        return None

    def _package_speaks_of(self, target: str, lost: Lost) -> bool:
        """Without a database: whether the code is one of the package in another writing, which no database may hold
        beside it. Of other codes, however near, the database may well have both: DOOR-L and DOOR-R."""
        near = self._nearest(target, lost)
        return near is not None and fold(near) == fold(lost.code)

    def _nearest(self, target: str, lost: Lost, alike: float = _ALIKE) -> str | None:
        self._looked_up += 1
        if self._looked_up > MOST_NEAREST or target == "layers":
            return None
        codes = self._beside(target, lost.code if target == "objects" else lost.object)
        folded = fold(lost.code)
        for code in codes:
            if fold(code) == folded:
                return str(code)
        # Capitals are no sign of another thing: carcase is nearer to CARC than to Cupboard.
        by_fold = {code.casefold(): code for code in codes[:MOST_COMPARED]}
        close = difflib.get_close_matches(lost.code.casefold(), list(by_fold), n=1, cutoff=alike)
        return by_fold[close[0]] if close else None

    def _names(self) -> None:
        stage, against = self._stage, self._against
        for kin in KIN:
            for sheet, row, object_code, code, other in checks.near_codes(stage, kin, against):
                of = "" if sheet == "objects" else f" of {object_code}"
                self._say(
                    sheet,
                    row,
                    CODE_COLUMN[sheet],
                    code,
                    f"This differs from {other!r}{of} only in case, blanks, width or leading zeros. {_SAID_ONCE}",
                    other,
                )
        for sheet, row, object_code, code in checks.shared_codes(stage, against):
            self._say(
                sheet,
                row,
                CODE_COLUMN[sheet],
                code,
                f"On {object_code} both a part and a zone would have this code. Parts and zones share one set "
                "of codes, because either can be named as a place: choose another for one of them.",
            )
        for row, several in checks.responses_without_one_coat(stage):
            said = "names a coat in more than one way" if several else "does not name the coat that was met"
            self._say(
                "responses",
                row,
                None,
                None,
                f"This row {said}. Give one of: scheme; scheme and role; sample and position; decoration.",
            )
        for row in checks.positions_without_sample(stage):
            self._say("analyses", row, "position", None, "A position counts within a sample: name the sample too.")

    def _circles(self) -> None:
        for sheet, parent in PARENTS.items():
            links = checks.parent_links(self._stage, sheet, self._against)
            for object_code, group in groupby(links, key=lambda link: link[0]):
                for row, thing, chain in circles((link[1], link[2], link[3]) for link in group):
                    of = "" if sheet == "objects" else f" of {object_code}"
                    self._say(
                        sheet,
                        row,
                        parent,
                        thing,
                        f"This leads back to itself{of}: {' → '.join(chain)}. "
                        "Nothing is a part of itself, or comes in its own place; correct one of these rows.",
                    )

    def _parts(self) -> None:
        crossing = zones_across_parts(self._stage, self._against)
        for row, object_code, inner, its_part, outer, their_part in crossing:
            self._say(
                "zones",
                row,
                "within",
                outer,
                f"{object_code}/{inner} lies on {its_part} and would lie within "
                f"{outer}, which is on {their_part}. A zone is a part of a zone on the same part: correct within "
                "or component.",
            )

    def _files(self) -> None:
        for sheet in self._sheets.values():
            for row, column, name in checks.named_files(self._stage, sheet.record):
                if name in self._source.refused:
                    self._say(sheet.record.sheet, row, column, name, self._source.refused[name])
                elif name not in self._source.files:
                    self._say(
                        sheet.record.sheet,
                        row,
                        column,
                        name,
                        "The package holds no such file. Put it there, or correct the name; capitals count.",
                        _nearest_file(name, self._source.files),
                    )


def circles(links: Iterable[tuple[str, str, int | None]]) -> list[tuple[int | None, str, list[str]]]:
    """Every circle in links from a thing to its parent, once: a staged row on it, that row's parent, the chain.

    Of several links of one thing the last holds.
    """
    up = {thing: (parent, row) for thing, parent, row in links}
    found, done = [], set()
    for start in up:
        path: list[str] = []
        here = start
        while here in up and here not in done and here not in path:
            path.append(here)
            here = up[here][0]
        if here in path:
            ring = path[path.index(here) :]
            row, at = next(((up[thing][1], thing) for thing in ring if up[thing][1] is not None), (None, ring[0]))
            ring = ring[ring.index(at) :] + ring[: ring.index(at)]
            found.append((row, up[at][0], [*ring, ring[0]]))
        done.update(path)
    return found


def _targets(target: str) -> frozenset[str]:
    return frozenset(sheets_of(target))


def _is_implied(record: type[Record], column: Column) -> bool:
    """Whether another reference that every row has already needs the same object."""
    return column.name == "object" and _implying(record) is not None


def _implying(record: type[Record]) -> str | None:
    return next(
        (
            other.name
            for other in record.columns()
            if other.required and other.reference in BY_SHEET and other.reference != "objects"
        ),
        None,
    )


def _nearest_file(name: str, files: Mapping[str, object]) -> str | None:
    folded = {file.casefold(): file for file in files}
    if name.casefold() in folded:
        return folded[name.casefold()]
    tail = [file for file in files if file.rsplit("/", 1)[-1].casefold() == name.rsplit("/", 1)[-1].casefold()]
    if tail:
        return sorted(tail)[0]
    close = difflib.get_close_matches(name, sorted(files)[:MOST_COMPARED], n=1, cutoff=0.6)
    return close[0] if close else None
