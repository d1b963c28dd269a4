"""Says what a package would change of stored records: whose they are, who corrected them, and what can be done."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import NoReturn

from collection.ingest.package.faults import Faults
from collection.ingest.package.sheets import Source
from collection.ingest.staging import LISTED_WARNINGS
from collection.language.errors import ASKS_AMENDMENT, Correction, Difference, DifferenceRefused, Fault, WrongCommand
from collection.language.sentences import counted
from collection.records.kinds import sheet_of
from collection.records.sheets import BY_SHEET, Record
from collection.store.base import keys, withdrawals
from collection.store.base.database import Database
from collection.store.changes import comparison, owners, packages
from collection.store.changes.comparison import Compared, Differing
from collection.store.stage.stage import Stage

LISTED_DIFFERENCES = 10_000
Meant = Mapping[str, frozenset[str]]
"""By sheet the keys of the records of which an amendment may replace what was corrected."""


@dataclass(frozen=True, slots=True)
class Counted:
    """Differences: how many there are, and the first of them."""

    count: int
    listed: tuple[Difference, ...]
    rows: tuple[tuple[str, int, str], ...] = ()
    """Sheet, staged row and column of each."""


NOTHING = Counted(0, ())
Found = Callable[[Stage, type[Record], int], tuple[int, list[Differing]]]


class Differences:
    """The sentences about one staged package of a survey, which has been compared with what is stored."""

    def __init__(self, stage: Stage, source: Source, survey: str, compared: Mapping[str, Compared]) -> None:
        self._stage, self._source, self._survey, self._compared = stage, source, survey, compared
        self._sheets = {sheet.record.sheet: sheet for sheet in source.sheets}
        self._whose = cache(lambda sheet, object_code, code: owners.whose(stage, sheet, object_code, code))

    def differences(self) -> Counted:
        """Fields in which the package differs from what is stored."""
        changed = [record for record in self._records() if self._compared[record.sheet].changed]
        return self._listed(changed, comparison.differences, self._difference)

    def corrections_kept(self) -> Counted:
        """Fields in which it differs from what a named person corrected, and which stay."""
        return self._listed(self._records(), comparison.corrections_kept, self._kept)

    def _records(self) -> list[type[Record]]:
        return list(comparison.staged_records(self._stage))

    def _listed(
        self, records: Iterable[type[Record]], find: Found, said: Callable[[str, Differing], Difference]
    ) -> Counted:
        count = 0
        listed: list[Difference] = []
        rows: list[tuple[str, int, str]] = []
        for record in records:
            fields, found = find(self._stage, record, LISTED_DIFFERENCES)
            count += fields
            for each in found[: LISTED_DIFFERENCES - len(listed)]:
                listed.append(said(record.sheet, each))
                rows.append((record.sheet, each.row, each.column))
        return Counted(count, tuple(listed), tuple(rows))

    def refuse(self) -> NoReturn:
        """:raises DifferenceRefused: always, with every difference and where it is."""
        found = self.differences()
        refusal = DifferenceRefused(found.listed, found.count, self._source.name)
        refusal.faults = [
            self._fault(sheet, row, None if column == "survey" else column, fault.value, fault.message)
            for fault, (sheet, row, column) in zip(refusal.faults, found.rows, strict=True)
        ]
        raise refusal

    def withdrawn(self) -> Iterator[Fault]:
        """Warnings for rows whose record was withdrawn by itself, of which nothing is stored."""
        for record in self._records():
            if self._compared[record.sheet].withdrawn:
                for row, key in comparison.withdrawn_keys(self._stage, record, LISTED_WARNINGS):
                    gone = withdrawals.withdrawal(self._stage.db, record.sheet, key)
                    assert gone is not None
                    said = f"{gone.sentence()} What the package says of it was not stored."
                    yield self._fault(record.sheet, row, None, keys.shown(record.sheet, key), said)

    def refuse_further(self, faults: Faults) -> None:
        """:raises InputRefused: where the survey would add to the sample, test or treatment of another."""
        for fault in self._further_faults():
            faults.add(fault)
        faults.refuse()

    def _further_faults(self) -> Iterator[Fault]:
        for sheet, owner, each in self._further():
            column = BY_SHEET[sheet].key[1]
            yield self._fault(
                sheet,
                each.row,
                column,
                each.code,
                f"{self._whose(owner, each.object, each.code)} If this was seen at that {column} again, "
                "--amend REASON --by NAME says so.",
            )

    def added(self) -> Iterator[Fault]:
        """What an amendment adds to the samples, tests and treatments of others, one warning for each of these."""
        number: Counter[tuple[str, str, str]] = Counter()
        first: dict[tuple[str, str, str], int] = {}
        for sheet, _, each in self._further():
            thing = (sheet, each.object, each.code)
            number[thing] += 1
            first.setdefault(thing, each.row)
        for (sheet, object_code, code), count in number.items():
            yield self._fault(
                sheet,
                first[sheet, object_code, code],
                BY_SHEET[sheet].key[1],
                code,
                f"{self._whose(owners.PARTS_OF[sheet], object_code, code)} This amendment adds "
                f"{counted(count, 'row')} to it.",
            )

    def _further(self) -> Iterator[tuple[str, str, owners.Further]]:
        for sheet, owner in owners.PARTS_OF.items():
            for each in owners.further_rows(self._stage, sheet, self._survey):
                yield sheet, owner, each

    def _fault(self, sheet: str, row: int, column: str | None, value: str | None, message: str) -> Fault:
        held = self._sheets[sheet]
        return Fault(held.file, sheet, held.row_of(row, column), column, value, message)

    def _difference(self, sheet: str, each: Differing) -> Difference:
        corrected = self._correction(each)
        if each.column == "survey":
            gone = withdrawals.withdrawal(self._stage.db, "survey", (str(each.survey),))
            said = "--amend REASON --by NAME takes the record over into this survey."
            said = f"It does not count. {gone.sentence()} {said}" if gone is not None else said
        elif corrected is not None:
            said = (
                f"{corrected.sentence()}, and an amendment leaves that as it is. Where it is to be replaced: --amend "
                f"REASON --by NAME --amend-corrected {sheet}/{each.key}."
            )
        else:
            said = ASKS_AMENDMENT
        owner = owners.PARTS_OF.get(sheet, sheet)
        if owner in owners.PARTS_OF.values() and each.survey != self._survey and each.column != "survey":
            said = f"{self._whose(owner, each.object, each.code)} {said}"
        return Difference(sheet, each.key, each.column, each.stored, each.given, said, corrected)

    def _kept(self, sheet: str, each: Differing) -> Difference:
        """A cell that stays as somebody corrected it."""
        corrected = self._correction(each)
        assert corrected is not None
        said = f"It stays: {corrected.sentence()}. --amend-corrected {sheet}/{each.key} replaces it."
        return Difference(sheet, each.key, each.column, each.stored, each.given, said, corrected)

    def _correction(self, each: Differing) -> Correction | None:
        return None if each.corrected is None else Correction(*withdrawals.made_by(self._stage.db, each.corrected))


def survey_refusal(db: Database, code: str) -> tuple[str, str | None] | None:
    """Why nothing of a survey is taken in, with the nearest code; None where it may be."""
    if packages.stored_survey(db, code) is None:
        near = packages.near_survey(db, code)
        if near is None:
            return None
        said = f"This differs from the survey {near!r} only in case, blanks, width or leading zeros. "
        return said + "Use one writing for one survey, or a code that differs more.", near
    gone = withdrawals.withdrawal(db, "survey", (code,))
    if gone is None:
        return None
    return f"{gone.sentence()} A package does not: reinstate it first, or give the new work a survey of its own.", None


def meant_records(db: Database, named: Iterable[str]) -> Meant:
    """The stored records that `--amend-corrected KIND/KEY` names.

    :raises WrongCommand: where there is no such kind.
    :raises InputRefused: where there is no such record.
    """
    found: dict[str, frozenset[str]] = {}
    for text in named:
        kind, _, key = text.partition("/")
        if not key:
            raise WrongCommand(f"--amend-corrected takes KIND/KEY, such as sample/T1/S60; {text!r} names no record.")
        sheet = sheet_of(kind)
        shown = keys.shown(sheet, keys.find(db, sheet, key))
        found[sheet] = found.get(sheet, frozenset()) | {shown}
    return found


def all_met(stage: Stage, meant: Meant) -> None:
    """Check that the package differs from a correction of each record that was named for it.

    :raises WrongCommand: where it does not.
    """
    for sheet, named in meant.items():
        for key in sorted(named - comparison.corrections_replaced(stage, BY_SHEET[sheet])):
            raise WrongCommand(
                f"--amend-corrected {sheet}/{key}: the package says nothing else of it than was corrected, so there "
                "is nothing to replace. Leave it out."
            )
