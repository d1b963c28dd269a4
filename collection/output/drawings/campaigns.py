"""The campaigns of finishing of an object, each by its name, its mark and the colour of its finish."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from string import ascii_uppercase
from typing import Any

from collection.output.drawings.colours import colour_of_coats
from collection.values.spoken_dates import in_words

Json = dict[str, Any]
Coats = Callable[[str], Sequence[Mapping[str, Any]]]
"""The rows of a sample's coats, outermost first."""

ASKED = 30
"""The samples that are asked for the colour of a campaign."""


@dataclass(frozen=True)
class Campaign:
    """One campaign of finishing as it is shown. `mark` is the code of its scheme, a letter where it has none."""

    number: int
    mark: str
    name: str
    fill: str | None
    period: str | None
    scheme: str | None


def letter(campaign: int) -> str:
    """The letter of a campaign, from the support outward: A, B …, AA and on after Z."""
    number, text = campaign, ""
    while number:
        number, rest = divmod(number - 1, 26)
        text = ascii_uppercase[rest] + text
    return text or "–"


def campaigns_of(strata: Json, schemes: Iterable[Mapping[str, Any]], coats: Coats) -> list[Campaign]:
    """The campaigns of a sequence, outermost first, each with its name and the colour of its finish.

    :param strata: the sequence as plain data (`Strata.as_json`).
    """
    named = {row["scheme"]: row for row in schemes}
    met: dict[int, dict[str, set[int]]] = defaultdict(lambda: defaultdict(set))
    codes: dict[int, str] = {}
    for coat in strata["coats"]:
        if coat["campaign"]:
            met[coat["campaign"]][coat["sample"]].add(coat["position"])
    for unit in strata["units"]:
        if unit["campaign"] and unit["scheme"]:
            codes.setdefault(unit["campaign"], unit["scheme"])
    found = []
    for number in _outermost_first(met, codes, named):
        code = codes.get(number)
        scheme = named.get(code or "", {})
        years = in_words(scheme.get("made"))
        name = scheme.get("name") or (f"scheme {code}" if code else "no scheme named")
        shown = Counter(
            fill
            for sample, positions in islice(met[number].items(), ASKED)
            if (fill := colour_of_coats(row for row in coats(sample) if row["position"] in positions))
        )
        found.append(
            Campaign(
                number,
                code if code and len(code) <= 3 else letter(number),
                f"{name}, {years}" if years else name,
                shown.most_common(1)[0][0] if shown else None,
                scheme.get("period"),
                code,
            )
        )
    return found


def _outermost_first(
    met: Mapping[int, Mapping[str, set[int]]], codes: Mapping[int, str], named: Mapping[str, Mapping[str, Any]]
) -> list[int]:
    """The campaigns in the order of the sequence; one that lies on no other in any sample, by the rank of its scheme."""
    ranks = {number: named.get(codes.get(number, ""), {}).get("rank") for number in met}
    rank: dict[int, float] = {number: at for number, at in ranks.items() if at is not None}
    shared = Counter(sample for samples in met.values() for sample in samples)
    apart = [number for number, samples in met.items() if all(shared[sample] == 1 for sample in samples)]
    apart = [number for number in apart if number in rank]
    order = [number for number in sorted(met, reverse=True) if number not in apart]
    for number in sorted(apart, key=lambda each: (rank[each], each)):
        later = [at for at, other in enumerate(order) if other in rank and rank[other] > rank[number]]
        order.insert(later[-1] + 1 if later else 0, number)
    return order
