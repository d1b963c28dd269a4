"""Names of files and folders that every system takes: Windows, FAT, and archives in which case does not count.

What Windows forbids is told in Microsoft's "Naming Files, Paths, and Namespaces": the signs `<>:"/\\|?*`, names of devices
such as `NUL`, with or without an ending, a point or space at the end. Codes stand in addresses in tilde coding, which
leaves of all signs only letters, figures, `_`, `-`, `~` and `+`.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable

LONGEST = 60
"""A longer name is cut, so that paths stay far below the 260 signs that Windows takes."""
_DEVICES = re.compile(r"(?:con|prn|aux|nul|com[0-9]|lpt[0-9])", re.IGNORECASE)
_FITTING = re.compile(r"[A-Za-z0-9_~+-]+")


class FileNames:
    """A name for each coded code, told from all others without regard to case. A code that already is such a name keeps it.

    Some 200 bytes a code are kept: all that grows with the number of objects.
    """

    def __init__(self) -> None:
        self._names: dict[str, str] = {}
        self._taken: set[str] = set()

    def add(self, coded: Iterable[str]) -> None:
        """Names for some more codes; those that come first keep their own.

        :raises ValueError: for what is no tilde-coded code.
        """
        for code in coded:
            if not _FITTING.fullmatch(code):
                raise ValueError(f"{code!r} is not tilde-coded")
            name = code
            if len(code) > LONGEST or _DEVICES.fullmatch(code) or code.casefold() in self._taken:
                name = f"{code[:LONGEST]}--{hashlib.sha256(code.encode()).hexdigest()[:10]}"
            self._names[code] = name
            self._taken.add(name.casefold())

    def get(self, coded: str) -> str | None:
        """The name of a code; None where it was not added."""
        return self._names.get(coded)

    def __iter__(self) -> Iterable[str]:
        return iter(self._names)

    def __len__(self) -> int:
        return len(self._names)
