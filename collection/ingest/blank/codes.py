"""Free codes for what a survey will record: the survey's own code, a letter for the kind, a number.

They are offered and never written into rows beforehand: a code that nobody uses leaves nothing behind, and a row with
a code and nothing else is a row that somebody forgot to fill in.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import count, islice

from collection.language.errors import BadValue
from collection.records.codes import KIN, OWN_CODES, fold
from collection.records.columns import LONGEST_CODE

LETTERS: Mapping[str, str] = {
    "sources": "L",
    "components": "K",
    "drawings": "V",
    "zones": "Z",
    "schemes": "F",
    "samples": "S",
    "analyses": "A",
    "decorations": "D",
    "reserves": "R",
    "tests": "T",
    "proposals": "J",
    "treatments": "W",
    "advice": "G",
    "claims": "B",
    "hazards": "H",
    "pictures": "P",
}
"""One letter a kind; none that is read as a digit. Zones and components share their codes, so theirs differ."""
MANY, FEW = 20, 8
_MANY_OF = frozenset({"samples", "tests", "pictures"})
ROOM = 6
"""Characters that the longest code adds to the survey's own."""

Codes = Mapping[str, Mapping[str, tuple[str, ...]]]
"""Sheet, then object ('' where none is known yet), to the codes handed out."""


def kin_of(sheet: str) -> tuple[str, ...]:
    """The sheets that share one set of codes with this one, itself among them."""
    return next(kin for kin in KIN if sheet in kin)


def free_codes(survey: str, sheet: str, taken: Collection[str]) -> Iterator[str]:
    """The survey's codes of one kind that are not in use nor nearly so, from the lowest number on.

    :param taken: folded codes (`package_checks.fold`), among them those of withdrawn records.
    """
    for number in count(1):
        code = f"{survey}-{LETTERS[sheet]}{number:02d}"
        if fold(code) not in taken:
            yield code


def hand_out(survey: str, objects: Sequence[str], taken: Mapping[str, Collection[str]]) -> Codes:
    """Free codes of every kind for each object.

    No code is handed out twice, not even on two objects, because what is sampled travels to the laboratory
    in one box. Codes of two surveys differ by what stands before their last hyphen.

    :param taken: per sheet the folded codes in use, of all sheets that share its codes.
    :raises BadValue: when the survey's own code leaves no room.
    """
    if len(survey) > LONGEST_CODE - ROOM:
        raise BadValue(
            f"The survey's code stands before every code it hands out, so it has at most "
            f"{LONGEST_CODE - ROOM} characters; this one has {len(survey)}."
        )
    found: dict[str, dict[str, tuple[str, ...]]] = {}
    for sheet in OWN_CODES:
        if sheet in LETTERS:
            codes = free_codes(survey, sheet, taken.get(sheet, ()))
            number = MANY if sheet in _MANY_OF else FEW
            found[sheet] = {code: tuple(islice(codes, number)) for code in objects or ("",)}
    return found


def span(codes: Sequence[str]) -> str:
    """`H34-S01 … H34-S20`."""
    return codes[0] if len(codes) == 1 else f"{codes[0]} … {codes[-1]}" if codes else ""
