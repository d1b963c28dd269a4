"""All samples of an object correlated into one sequence of finishes.

The surveyor's schemes are fixed points; the rest is aligned with them (`sequence`, `alignment`) and divided into
campaigns (`campaigns`). Nothing computed here counts as a record: what the coats suggest beyond what the surveyor said
becomes a question. Samples that stop short say nothing about what lies deeper; an `absent` row keeps its scheme out of
that sample.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from collection.compute.case import Case, kept
from collection.compute.stratigraphy import harris
from collection.compute.stratigraphy.likeness import kind_of
from collection.compute.stratigraphy.sequence import Laid, lay, schemes_of_campaigns
from collection.records.sheets import Layer

SURE = 0.9
"""From this chance on, a placing is sure enough to ask about its scheme by name."""

CoatKey = tuple[str, int]
"""(sample, position)."""


@dataclass(frozen=True)
class Placing:
    """Where one coat stands: its unit, its campaign (0 = none), the scheme that the campaign carries, and how sure that
    campaign is, from 0 to 1. `given` says that the surveyor assigned the scheme."""

    sample: str
    position: int
    unit: str
    campaign: int
    scheme: str | None
    chance: float
    given: bool


@dataclass(frozen=True)
class Unit:
    """One coat of the object as far as can be told, found in one or more samples: a unit of the Harris matrix."""

    code: str
    campaign: int
    scheme: str | None
    role: str
    coats: tuple[CoatKey, ...]


@dataclass(frozen=True)
class Question:
    """What the coats suggest or contradict, for the surveyor to answer; `kind` is contradiction, doubt, assign,
    scheme or place."""

    kind: str
    message: str
    coats: tuple[CoatKey, ...]
    remedy: str


@dataclass(frozen=True)
class Strata:
    """The sequence of one object, from the support outward, with its open questions."""

    object: str
    samples: tuple[str, ...]
    units: tuple[Unit, ...]
    placings: tuple[Placing, ...]
    matrix: harris.Matrix
    one_sided: tuple[harris.Relation, ...]
    questions: tuple[Question, ...]

    def as_json(self) -> dict[str, Any]:
        return {
            "format": 1,
            "object": self.object,
            "samples": list(self.samples),
            "units": [
                {
                    "unit": u.code,
                    "campaign": u.campaign or None,
                    "scheme": u.scheme,
                    "role": u.role,
                    "coats": [f"{sample}/{position}" for sample, position in u.coats],
                }
                for u in self.units
            ],
            "coats": [
                {
                    "sample": p.sample,
                    "position": p.position,
                    "unit": p.unit,
                    "campaign": p.campaign or None,
                    "scheme": p.scheme,
                    "chance": round(p.chance, 4),
                    "given": p.given,
                }
                for p in self.placings
            ],
            "matrix": {
                "rows": [list(row) for row in self.matrix.rows],
                "relations": [list(pair) for pair in self.matrix.relations],
                "redundant": [list(pair) for pair in self.matrix.redundant],
                "loop": list(self.matrix.loop),
            },
            "one_sided": [list(pair) for pair in self.one_sided],
            "questions": [
                {"kind": q.kind, "message": q.message, "coats": [f"{s}/{n}" for s, n in q.coats], "remedy": q.remedy}
                for q in self.questions
            ],
        }


def strata(case: Case) -> Strata:
    """The sequence of an object's finishes, from all its samples."""
    return _strata(case)


@kept
def _strata(case: Case) -> Strata:
    laid = lay(case, by_scheme=True)
    if not laid.coats:
        return Strata(case.facts.object.object, (), (), (), harris.Matrix((), (), ()), (), ())
    schemes = schemes_of_campaigns(laid)
    units = _units(laid, schemes)
    placings = _placings(laid, units, schemes)
    shown = harris.matrix((u.code for u in units), _relations(laid, units))
    questions = [*_contradictions(case, laid), *_doubts(case, laid), *_suggestions(case, placings)]
    return Strata(
        case.facts.object.object, tuple(laid.names), units, placings, shown, _one_sided(case, laid), tuple(questions)
    )


def _units(laid: Laid, schemes: dict[int, str | None]) -> tuple[Unit, ...]:
    counts: Counter[str] = Counter()
    found = []
    for column, number in zip(laid.aligned.columns, laid.campaign, strict=True):
        role = Counter(laid.coats[coat].role for coat in column).most_common(1)[0][0]
        scheme = schemes.get(number)
        stem = scheme or (f"campaign {number}" if number else role)
        counts[stem] += 1
        found.append(
            Unit(
                f"{stem}·{counts[stem]}",
                number,
                scheme,
                role,
                tuple(sorted((laid.coats[c].sample, laid.coats[c].position) for c in column)),
            )
        )
    return tuple(found)


def _placings(laid: Laid, units: Sequence[Unit], schemes: dict[int, str | None]) -> tuple[Placing, ...]:
    home = {coat: at for at, column in enumerate(laid.aligned.columns) for coat in column}
    found = []
    for number, coat in enumerate(laid.coats):
        campaign = laid.campaign[home[number]]
        chance = 1.0 if coat.scheme else _chance(laid, number, home[number])
        found.append(
            Placing(
                coat.sample,
                coat.position,
                units[home[number]].code,
                campaign,
                coat.scheme or schemes.get(campaign),
                chance,
                bool(coat.scheme),
            )
        )
    return tuple(found)


def _chance(laid: Laid, coat: int, at: int) -> float:
    """How sure a coat's campaign is: from the chance of that campaign's columns, how clearly it begins, ends and holds
    together, and in how many of the samples the coat was found. Fitted by logistic regression to synthetic objects
    (`tests/bench/models/strata_truth.py`)."""
    campaign = laid.campaign[at]
    if not campaign:
        return 0.0
    here = sum(chance for place, chance in laid.aligned.chances[coat].items() if laid.campaign[place] == campaign)
    here = min(max(here, 0.01), 0.995)
    clear, inner = laid.edges[campaign]
    odds = (
        _SURE_BASE
        + _SURE_PLACE * math.log(here / (1 - here))
        + _SURE_CLEAR * clear
        + _SURE_INNER * inner
        + _SURE_MET * math.log(len(laid.aligned.columns[at]))
        + _SURE_SAMPLES * math.log(len(laid.stacks))
    )
    return 1 / (1 + math.exp(-odds))


_SURE_BASE, _SURE_PLACE, _SURE_CLEAR, _SURE_INNER, _SURE_MET, _SURE_SAMPLES = 1.68, 0.387, 0.998, -0.541, 1.479, -1.343


def _relations(laid: Laid, units: Sequence[Unit]) -> list[harris.Relation]:
    home = {coat: at for at, column in enumerate(laid.aligned.columns) for coat in column}
    return [
        (units[home[upper]].code, units[home[lower]].code) for stack in laid.stacks for lower, upper in pairwise(stack)
    ]


def _contradictions(case: Case, laid: Laid) -> Iterable[Question]:
    """Schemes that lie over each other in two samples, and sections that contradict the ranks."""
    pairs: dict[tuple[str, str], tuple[CoatKey, CoatKey]] = {}
    for stack in laid.stacks:
        assigned = [laid.coats[c] for c in stack if laid.coats[c].scheme and kind_of(laid.coats[c].role) != "foreign"]
        for lower, upper in ((a, b) for i, a in enumerate(assigned) for b in assigned[i + 1 :]):
            if lower.scheme != upper.scheme:
                assert upper.scheme
                assert lower.scheme
                pairs.setdefault((upper.scheme, lower.scheme), (_key(upper), _key(lower)))
    under: dict[str, set[str]] = defaultdict(set)
    for upper_scheme, lower_scheme in pairs:
        under[upper_scheme].add(lower_scheme)
    loop = harris.find_loop({code for pair in pairs for code in pair}, under)
    if loop:
        around = list(zip(loop, [*loop[1:], loop[0]], strict=True))
        in_words = ", ".join(f"{a} over {b} in {pairs[a, b][0][0]}" for a, b in around)
        yield Question(
            "contradiction",
            f"The samples contradict each other: {in_words}.",
            tuple(key for pair in around for key in pairs[pair]),
            "Look at these samples again and correct the scheme of the coat that was misread.",
        )
    rank = {s.scheme: s.rank for s in case.facts.schemes if s.rank is not None}
    for (upper_scheme, lower_scheme), keys in sorted(pairs.items()):
        above, below = rank.get(upper_scheme), rank.get(lower_scheme)
        if above is not None and below is not None and above < below:
            yield Question(
                "contradiction",
                f"By rank scheme {upper_scheme} is the earlier, but in sample {keys[0][0]} "
                f"it lies over scheme {lower_scheme} (coats {_named(keys)}).",
                keys,
                "Correct the rank of the scheme, or the scheme of the coat.",
            )


def _doubts(case: Case, laid: Laid) -> Iterable[Question]:
    """Assigned coats that look, without their assignment, like coats of another scheme."""
    if not any(coat.scheme for coat in laid.coats):
        return
    free = lay(case, by_scheme=False)
    schemes = schemes_of_campaigns(free)
    home = {coat: at for at, column in enumerate(free.aligned.columns) for coat in column}
    for number, coat in enumerate(free.coats):
        if not coat.scheme:
            continue
        at = home[number]
        looks = schemes.get(free.campaign[at])
        peers = [free.coats[c].scheme for c in free.aligned.columns[at] if c != number]
        if looks is None or looks == coat.scheme or peers.count(looks) < 2 or coat.scheme in peers:
            continue
        if _chance(free, number, at) >= SURE:
            yield Question(
                "doubt",
                f"{_named([_key(coat)])} was assigned to scheme {coat.scheme}, but looks like "
                f"scheme {looks} ({free.coats[number].role}, as in "
                f"{_named(sorted(_key(free.coats[c]) for c in free.aligned.columns[at] if c != number))}).",
                (_key(coat),),
                f"If it was misread: firstcoat correct DB layers {case.facts.object.object}/"
                f"{coat.sample}/{coat.position} scheme={looks}",
            )


def _suggestions(case: Case, placings: Sequence[Placing]) -> Iterable[Question]:
    """Coats without a scheme: those that may belong to one, those that make up a campaign of their own, those that stay
    open."""
    nameless: dict[int, list[CoatKey]] = defaultdict(list)
    unsure: dict[str, list[CoatKey]] = defaultdict(list)
    for placing in placings:
        key = (placing.sample, placing.position)
        if placing.given or not placing.campaign:
            continue
        if placing.chance < SURE:
            unsure[placing.sample].append(key)
        elif placing.scheme:
            yield Question(
                "assign",
                f"{_named([key])} is where scheme {placing.scheme} is in other samples ({placing.chance:.0%} sure).",
                (key,),
                f"If so: firstcoat correct DB layers "
                f"{case.facts.object.object}/{placing.sample}/{placing.position} scheme={placing.scheme}",
            )
        else:
            nameless[placing.campaign].append(key)
    for campaign in sorted(nameless):
        keys = tuple(nameless[campaign])
        yield Question(
            "scheme",
            f"{_named(keys)} look like one campaign that has no scheme.",
            keys,
            "Add the scheme, and assign these coats to it.",
        )
    for sample in sorted(unsure):
        keys = tuple(unsure[sample])
        yield Question(
            "place",
            f"{_named(keys)} could not be placed surely; they count as kept until somebody says what they are.",
            keys,
            "Look at the sample again, or read another beside it.",
        )


def _one_sided(case: Case, laid: Laid) -> tuple[harris.Relation, ...]:
    """Which scheme lies over which, where only the ranks or only the sections say so."""
    rank = {s.scheme: s.rank for s in case.facts.schemes if s.rank is not None}
    seen = _closed((u, w) for stack in laid.stacks for w, u in pairwise(_schemes_in(laid, stack)))
    met = {code for pair in seen for code in pair} & set(rank)
    by_rank = {lower: {upper for upper in met if rank[upper] > rank[lower]} for lower in met}
    by_section = {upper: {lower for lower in met if (upper, lower) in seen} for upper in met}
    return harris.one_sided(by_rank, by_section)


def _schemes_in(laid: Laid, stack: Sequence[int]) -> list[str]:
    found: list[str] = []
    for coat in stack:
        scheme = laid.coats[coat].scheme
        if scheme and (not found or found[-1] != scheme):
            found.append(scheme)
    return found


def _closed(relations: Iterable[harris.Relation]) -> set[harris.Relation]:
    found = set(relations)
    while True:
        more = {(a, d) for a, b in found for c, d in found if b == c and a != d} - found
        if not more:
            return found
        found |= more


def _key(coat: Layer) -> CoatKey:
    return coat.sample, coat.position


def _named(keys: Iterable[CoatKey]) -> str:
    return ", ".join(f"{sample}/{position}" for sample, position in keys)
