"""Every error firstcoat raises on purpose, split by who must act.

    FirstcoatError
    ├── InputRefused        the surveyor mends the package             exit 1
    │   └── DifferenceRefused   … or says that it is an amendment      exit 1
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
    """The root: the message is a sentence, `exit_code` what the command line ends with."""

    exit_code = OURS

    def as_json(self) -> dict[str, object]:
        return {"format": 1, "error": str(self)}


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in a package: where, what was written, what is wrong and the nearest right word."""

    file: str
    sheet: str
    row: int | None
    column: str | None
    value: str | None
    message: str
    nearest: str | None = None

    def sentence(self) -> str:
        """The fault on one line, as a surveyor reads it."""
        spot = self.file
        if self.row is not None:
            spot += f", row {self.row}"
        if self.column:
            spot += f", {self.column}"
        written = "" if self.value is None else f" {self.value!r}:"
        hint = f" Did you mean {self.nearest!r}?" if self.nearest else ""
        return f"{spot}:{written} {self.message}{hint}"


class InputRefused(FirstcoatError):
    """The package has faults; nothing of it was stored. `count` may exceed the faults listed."""

    exit_code = REFUSED

    def __init__(self, faults: Iterable[Fault], count: int | None = None) -> None:
        self.faults = list(faults)
        self.count = len(self.faults) if count is None else count
        noun = "fault" if self.count == 1 else "faults"
        super().__init__(f"Refused, nothing was stored: {self.count} {noun}.")

    def as_json(self) -> dict[str, object]:
        return {"format": 1, "errors": [asdict(f) for f in self.faults], "error_count": self.count}


@dataclass(frozen=True, slots=True)
class Difference:
    """One field in which the package and the stored record differ."""

    sheet: str
    key: str
    column: str
    stored: object
    given: object


class DifferenceRefused(InputRefused):
    """Records exist with other content and no `--amend` was given; nothing was stored."""

    def __init__(self, differences: Iterable[Difference], count: int, file: str) -> None:
        self.differences = list(differences)
        super().__init__(
            (
                Fault(file, d.sheet, None, d.column, None if d.given is None else str(d.given),
                      f"{d.key} is stored with {d.stored!r}. A correction needs --amend REASON --by NAME; "
                      "a change over time is a new record with its own date.")
                for d in self.differences
            ),
            count,
        )

    def as_json(self) -> dict[str, object]:
        return {**super().as_json(), "differences": [asdict(d) for d in self.differences]}


class WrongCommand(FirstcoatError):
    """The command's words do not fit together; nothing was done."""

    exit_code = USAGE


class GateRefused(FirstcoatError):
    """The decision was not recorded, because losses or requirements stand against it."""

    exit_code = GATE


class DamageFound(FirstcoatError):
    """The database or a file no longer is what was stored."""

    exit_code = DAMAGE


class CouldNot(FirstcoatError):
    """The machine stood in the way; the database is as it was."""

    exit_code = COULD_NOT


class OurFault(FirstcoatError):
    """Something that firstcoat itself got wrong."""

    exit_code = OURS


class BadValue(ValueError):
    """One value that cannot be read; the message says what is allowed, `nearest` the likely meaning."""

    def __init__(self, message: str, nearest: str | None = None) -> None:
        super().__init__(message)
        self.nearest = nearest
