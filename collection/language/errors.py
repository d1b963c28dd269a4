"""Every error that firstcoat raises on purpose, by who has to act.

    FirstcoatError
    ├── InputRefused        the surveyor mends the package             exit 1
    │   ├── DifferenceRefused   … or says that it is an amendment      exit 1
    │   └── NotFound            whoever asked names it as it is stored exit 1
    ├── NotConfirmed        whoever typed the command says --yes       exit 1
    ├── WrongCommand        whoever typed the command                  exit 2
    ├── GateRefused         the approver answers each loss             exit 4
    ├── DamageFound         the registrar restores from a copy         exit 5
    ├── CouldNot            the machine: locked, full, read-only,
    │                       missing, foreign or newer database         exit 6
    └── OurFault            the developers                             exit 70

    BadValue(ValueError)    one cell; becomes a Fault of an InputRefused

Each message is one or two sentences: what, where, what is allowed, what to do.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass

DONE, REFUSED, USAGE, WARNED, GATE, DAMAGE, COULD_NOT, OURS, INTERRUPTED = 0, 1, 2, 3, 4, 5, 6, 70, 130
"""Exit codes of the command line; `assess` ends with WARNED when something is at stake."""


class FirstcoatError(Exception):
    """The root: the message is a sentence, `exit_code` is the command line's exit code."""

    exit_code = OURS

    def as_json(self) -> dict[str, object]:
        return {"format": 1, "error": str(self)}


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault in a package: where, what was written, what is wrong, and the nearest right word."""

    file: str
    sheet: str
    row: int | None
    column: str | None
    value: str | None
    message: str
    nearest: str | None = None

    def sentence(self) -> str:
        """The fault on one line, as a surveyor reads it."""
        return together([self])[0]

    def spot(self, rows: str | None = None) -> str:
        """Where it is; `rows` says several instead of its own."""
        spot = self.file
        if (
            self.sheet
            and self.file != "the database"
            and not self.file.lower().endswith((".csv", ".tsv", ".txt", ".toml"))
        ):
            spot += f", sheet {self.sheet}"
        if rows is not None:
            spot += f", {rows}"
        elif self.row is not None:
            spot += f", row {self.row}"
        return f"{spot}, {self.column}" if self.column else spot


_SPANS_SHOWN = 12


def together(faults: Iterable[Fault]) -> list[str]:
    """Faults as lines, in order; the same fault in several rows of a column is one line."""
    alike: dict[tuple[str | None, ...], list[Fault]] = {}
    for fault in faults:
        # Without rows only the values tell them apart.
        apart = ("", fault.value) if fault.row is None else ()
        key = (fault.file, fault.sheet, fault.column, fault.message, fault.nearest, *apart)
        alike.setdefault(key, []).append(fault)
    lines = []
    for same in alike.values():
        first, rows = same[0], [(fault.row, fault.value) for fault in same if fault.row is not None]
        values = {fault.value for fault in same}
        spot = first.spot(None if len(same) == 1 or not rows else _rows(rows, named=len(values) > 1))
        written = "" if first.value is None or len(values) > 1 else f" {first.value!r}:"
        hint = f" Did you mean {first.nearest!r}?" if first.nearest else ""
        lines.append(f"{spot}:{written} {first.message}{hint}")
    return lines


def _rows(rows: list[tuple[int, str | None]], *, named: bool) -> str:
    """`rows 3, 5–7`, or with the values `row 3 ('a'), rows 5–7 ('b')`."""
    parts, cut = [], False
    for value in dict.fromkeys(value for _, value in rows):
        spans: list[list[int]] = []
        for row in sorted({row for row, other in rows if other == value}):
            if spans and row == spans[-1][-1] + 1:
                spans[-1].append(row)
            else:
                spans.append([row])
        shown = [f"{span[0]}–{span[-1]}" if len(span) > 1 else str(span[0]) for span in spans]
        several = "rows" if sum(map(len, spans)) > 1 else "row"
        parts.append(
            f"{several} {', '.join(shown[:_SPANS_SHOWN])}{' …' if len(shown) > _SPANS_SHOWN else ''}"
            f"{f' ({value!r})' if named and value is not None else ''}"
        )
        cut = cut or len(shown) > _SPANS_SHOWN
    shown_rows = ", ".join(parts[:_SPANS_SHOWN]) + (" …" if len(parts) > _SPANS_SHOWN else "")
    cut = cut or len(parts) > _SPANS_SHOWN
    return f"{shown_rows} ({len(rows)} in all; --json lists them)" if cut else shown_rows


class InputRefused(FirstcoatError):
    """The package has faults and nothing of it was stored. `count` may be more than the faults listed."""

    exit_code = REFUSED

    def __init__(self, faults: Iterable[Fault], count: int | None = None) -> None:
        self.faults = list(faults)
        self.count = len(self.faults) if count is None else count
        noun = "fault" if self.count == 1 else "faults"
        super().__init__(f"Refused, nothing was stored: {self.count} {noun}.")

    def as_json(self) -> dict[str, object]:
        return {"format": 1, "errors": [asdict(f) for f in self.faults], "error_count": self.count}


class NotFound(InputRefused):
    """What was asked for by its key is not in the database; `faults` say what is near it."""

    def __str__(self) -> str:
        return "Not found."


ASKS_AMENDMENT = "A correction needs --amend REASON --by NAME; a change over time is a new record with its own date."


@dataclass(frozen=True, slots=True)
class Correction:
    """Who corrected a cell, when (UTC) and why."""

    by: str
    at: str
    why: str

    def sentence(self) -> str:
        return f"{self.by} corrected it on {self.at[:10]} ({self.why})"


@dataclass(frozen=True, slots=True)
class Difference:
    """One field in which the package and the stored record differ; column `survey` where the record's survey was
    withdrawn. `told` is what can be done, `corrected` who gave the stored value, if it was a correction."""

    sheet: str
    key: str
    column: str
    stored: object
    given: object
    told: str = ASKS_AMENDMENT
    corrected: Correction | None = None

    def sentence(self) -> str:
        if self.column == "survey":
            return f"{self.key}: {self.told}"
        if self.stored is None:
            filling = self.told.replace(ASKS_AMENDMENT, "Filling it in needs --amend REASON --by NAME.")
            return f"{self.key} is stored with nothing here. {filling}"
        return f"{self.key} is stored with {self.stored!r}. {self.told}"


class DifferenceRefused(InputRefused):
    """Records exist with other content and no `--amend` was given; nothing was stored."""

    def __init__(self, differences: Iterable[Difference], count: int, file: str) -> None:
        self.differences = list(differences)
        super().__init__(
            (
                Fault(file, d.sheet, None, d.column, None if d.given is None else str(d.given), d.sentence())
                for d in self.differences
            ),
            count,
        )

    def as_json(self) -> dict[str, object]:
        return {**super().as_json(), "differences": [asdict(d) for d in self.differences]}


class NotConfirmed(FirstcoatError):
    """A change that takes much along was not confirmed; nothing was changed. `told` is what it would do."""

    exit_code = REFUSED

    def __init__(self, what: str, sentences: Iterable[str], told: dict[str, object]) -> None:
        self.told = told
        super().__init__(f"Nothing was changed. To withdraw {what} add --yes. {' '.join(sentences)}")

    def as_json(self) -> dict[str, object]:
        return {**super().as_json(), **self.told}


class WrongCommand(FirstcoatError):
    """The command was not understood, or its options do not go together; nothing was done."""

    exit_code = USAGE


class GateRefused(FirstcoatError):
    """The decision was not recorded, because losses or requirements are unanswered."""

    exit_code = GATE


class DamageFound(FirstcoatError):
    """The database or a file is no longer what was stored."""

    exit_code = DAMAGE


class CouldNot(FirstcoatError):
    """The machine prevented it; the database is unchanged."""

    exit_code = COULD_NOT


class OurFault(FirstcoatError):
    """A mistake of firstcoat itself."""

    exit_code = OURS


class BadValue(ValueError):
    """One value that cannot be read; the message says what is allowed, `nearest` what was probably meant."""

    def __init__(self, message: str, nearest: str | None = None) -> None:
        super().__init__(message)
        self.nearest = nearest
