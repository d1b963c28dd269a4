"""Cleaning agents: parsed from what people write on a jar, and compared by what a test of one says about another.

`acetone`, `1 acetone + 3 white spirit`, `water + 1% ammonium citrate`. Parts are by volume; percentages are
additives in water (w/v) and part of the agent's identity. Hansen parameters of a mixture are the mean
weighted by volume fraction, and Ra² = 4(ΔδD)² + (ΔδP)² + (ΔδH)² (Hansen 2007).

Which liquid of a mixture acts is common practice, no published source: all but the hydrocarbons that thin it (`diluent`
in the solvent table); if all are diluents, all act; water and unknown liquids always act.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache

from collection.language.errors import BadValue
from collection.values.reference import SolventNames, Sphere, Triple, fold

LONGEST_AGENT = 300
LARGEST_PART = 10**12
WATER = "water"

HOW = (
    "Write one liquid (acetone), parts by volume (1 acetone + 3 white spirit) or additives in water "
    "(water + 1% ammonium citrate)."
)

SEVERAL_LIQUIDS: Mapping[str, str] = {
    "alcohol": "Is it ethanol, denatured alcohol, 2-propanol or methanol?",
    "benzine": "Is it petroleum spirit (state its boiling range) or benzene?",
    "butanol": "Is it 1-butanol or another isomer?",
    "ligroin": "State its boiling range, such as petroleum spirit 80-100.",
    "mineral turpentine": "Is it white spirit (state its aromatic share) or turpentine?",
    "naphtha": "Is it petroleum spirit, white spirit or an aromatic naphtha?",
    "paint stripper": "Name its liquids, from the label or the safety data sheet.",
    "paint thinner": "Name its liquids, from the label or the safety data sheet.",
    "propanol": "Is it 1-propanol or 2-propanol?",
    "solvent": "Name the liquid.",
    "spirit": "Is it white spirit, petroleum spirit or a methylated spirit?",
    "spirits": "Is it white spirit, petroleum spirit or a methylated spirit?",
    "stripper": "Name its liquids, from the label or the safety data sheet.",
    "thinner": "Name its liquids, from the label or the safety data sheet.",
    "thinners": "Name its liquids, from the label or the safety data sheet.",
    "turps": "Is it turpentine or white spirit?",
}
"""Names that different jars use for different liquids, with the question that tells them apart. For an old record the
answer may never come, so they are kept as unknown liquids and clear nothing, not even themselves."""

Shares = tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Agent:
    """One agent. Liquids by name with volume fractions that sum to 1, additives with % w/v, each sorted.

    `unknown` names the liquids that the table lacks. `families` and the two `acting` are shares by family and by name,
    `hansen` is in MPa^½ and None where any liquid lacks values; `several` says that a name among them stands for
    several liquids. All of these follow from the rest.
    """

    liquids: Shares
    additives: Shares
    unknown: tuple[str, ...]
    text: str
    families: Shares = field(compare=False)
    acting: Shares = field(compare=False)
    acting_families: Shares = field(compare=False)
    hansen: Triple | None = field(compare=False)
    several: bool = field(compare=False)

    @property
    def aqueous(self) -> bool:
        """Whether water is among the liquids."""
        return any(name == WATER for name, _ in self.liquids)


@lru_cache(maxsize=4096)
def parse(text: str, solvents: SolventNames) -> Agent:
    """The agent that a cell names; liquids that the table lacks are kept as written, in `unknown`.

    :raises BadValue: for text outside the grammar: parts missing or not above 0, a liquid twice, a
        percentage without water, a liquid as a percentage. `nearest` is the same agent written right,
        where that is clear.
    """
    written = fold(text)
    if not written or len(written) > LONGEST_AGENT:
        raise BadValue(f"An agent has 1 to {LONGEST_AGENT} characters. {HOW}")
    if any(unicodedata.category(sign).startswith("C") for sign in written):
        raise BadValue(f"An agent's name has a character that cannot be printed. {HOW}")
    parts: dict[str, Fraction] = {}
    additives: dict[str, Fraction] = {}
    terms = [term.strip() for term in written.split("+")]
    for term in terms:
        _read_term(term, terms, solvents, parts, additives)
    if not parts or (additives and WATER not in parts):
        raise BadValue(
            f"A percentage is an additive in water (w/v), so the agent needs water; liquids are given in parts. {HOW}",
            _meant(written, solvents),
        )
    return _built(parts, additives, solvents)


def warnings(agent: Agent, solvents: SolventNames) -> tuple[str, ...]:
    """What to tell the person who wrote this agent: unknown liquids, and names of several liquids."""
    found = []
    for name in agent.unknown:
        nearest = solvents.nearest(name)
        hint = SEVERAL_LIQUIDS.get(name) or (f"Did you mean {nearest!r}?" if nearest else "Check its name.")
        kept = "clears nothing" if name in SEVERAL_LIQUIDS else "is compared only with itself"
        found.append(f"The liquid {name!r} is not in the solvent table and {kept}. {hint}")
    for name, _ in agent.liquids:
        known = solvents.find(name)
        if known is not None and known.asks is not None:
            found.append(f"{name!r} names several liquids. {known.asks}")
    return tuple(found)


def same_agent(t: Agent, p: Agent) -> bool:
    """Whether both have the same families of liquids and the same additives, in any proportion."""
    return _names(t.families) == _names(p.families) and _names(t.additives) == _names(p.additives)


def agent_clears(t: Agent, p: Agent, spheres: Sequence[Sphere]) -> bool:
    """Whether a harmless test of `t` may clear `p`: exactly the same liquids, and nothing stronger in `p`.

    Other proportions count only where no acting liquid has a larger share in `p` and, by the published
    `spheres` of the coat's binders, `p` lies no nearer to any centre than `t` does; without spheres, or
    with a liquid whose Hansen values are unknown, only equal proportions count. A name that stands for
    several liquids clears nothing: the test may have used the weakest of them, the work the strongest.
    """
    if t.several or p.several:
        return False
    if t.unknown or p.unknown:
        return t.text == p.text and not any(name in SEVERAL_LIQUIDS for name in t.unknown)
    if _names(t.liquids) != _names(p.liquids) or _names(t.additives) != _names(p.additives):
        return False
    if not _at_least(t.additives, p.additives):
        return False
    if t.liquids == p.liquids:
        return True
    if not _at_least(t.liquids, p.acting):
        return False
    ours, theirs = t.hansen, p.hansen
    if not spheres or ours is None or theirs is None:
        return False
    return all(ra(theirs, sphere.centre) >= ra(ours, sphere.centre) for sphere in spheres)


def holds_no_more(t: Agent, p: Agent) -> bool:
    """Whether `p` has exactly the liquids and additives of `t`, with no more of what acts."""
    if t.several or p.several or t.unknown or p.unknown:
        return t.text == p.text
    return (
        _names(t.liquids) == _names(p.liquids)
        and _names(t.additives) == _names(p.additives)
        and _at_least(t.additives, p.additives)
        and _at_least(t.liquids, p.acting)
    )


def agent_alarms(t: Agent, p: Agent) -> bool:
    """Whether harm done by `t` is to be feared from `p`: `p` has every acting family and additive of `t`, at least as
    strong, whatever else is in it."""
    return _at_least(p.families, t.acting_families) and _at_least(p.additives, t.additives)


def may_be_weaker(s: Agent, t: Agent, slack: float) -> bool:
    """Whether `s` may do no more than `t`: `t` has everything that acts in `s`, as strong to within a factor
    `slack`."""
    return _at_least(t.families, s.acting_families, slack) and _at_least(t.additives, s.additives, slack)


def shares_acting(t: Agent, p: Agent) -> bool:
    """Whether the two have an acting family of liquids, or an additive, in common.

    If `t` had something dissolved in its water that `p` does not have, the water alone does not count as shared.
    """
    shared = _names(t.acting_families) & _names(p.acting_families)
    if _names(t.additives) - _names(p.additives):
        shared -= {WATER}
    return bool(shared or _names(t.additives) & _names(p.additives))


def hansen(agent: Agent, solvents: SolventNames, *, stand_ins: bool = False) -> Triple | None:
    """The agent's Hansen parameters in MPa^½, or None where a liquid has none; additives are left out.

    `stand_ins` uses the values of the pure liquid that the table names in place of a mixture: enough to look for an
    alarm, never to clear.
    """
    return _mixed(agent.liquids, solvents, stand_ins)


def ra(a: Triple, b: Triple) -> float:
    """The Hansen distance of two points in MPa^½: √(4(ΔδD)² + (ΔδP)² + (ΔδH)²)."""
    return math.sqrt(4 * (a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2 + (a[2] - b[2]) ** 2)


_AMOUNT = r"[0-9]{1,12}|[0-9]{1,6}[.,][0-9]{1,6}|[.,][0-9]{1,6}"
_PART = re.compile(rf"(?:(?P<part>{_AMOUNT}) )?(?P<name>\S.*)")
_PERCENT = re.compile(rf"(?P<percent>{_AMOUNT}) ?% ?(?P<name>[^0-9\s].*)")
_NO_NAME = re.compile(r"[:;=|%]|[0-9] ?/ ?[0-9]|^[0-9.,]+[a-z]|^[0-9.,/ ]*$|^-")
_BETWEEN_NAMES = re.compile(r" ?[/&] ?|, | and | or | in ")


def _read_term(
    term: str, terms: list[str], solvents: SolventNames, parts: dict[str, Fraction], additives: dict[str, Fraction]
) -> None:
    if not term:
        raise BadValue(f"A liquid is missing before or after a plus sign. {HOW}")
    percent = _PERCENT.fullmatch(term)
    if percent is not None and not _NO_NAME.search(percent["name"]):
        name, amount = percent["name"], _amount(percent["percent"])
        if solvents.find(name) is not None:
            raise BadValue(
                f"{name} is a liquid, and liquids are given in parts, not in percent. {HOW}",
                _meant(" + ".join(terms), solvents),
            )
        if not 0 < amount <= 100:
            raise BadValue(f"An additive has more than 0 and at most 100 %. {HOW}")
        if name in additives:
            raise BadValue(f"The additive {name} is named twice: add up its percentages.")
        additives[name] = amount
        return
    part = _PART.fullmatch(term)
    known = solvents.find(part["name"]) if part else None
    if part is None or (known is None and _is_no_name(part["name"], solvents)):
        raise BadValue(HOW, _meant(" + ".join(terms), solvents))
    if part["part"] is None and sum(1 for each in terms if _PERCENT.fullmatch(each) is None) > 1:
        raise BadValue(
            f"In a mixture each liquid has its parts by volume; {part['name']} has none. {HOW}",
            _meant(" + ".join(terms), solvents),
        )
    amount = _amount(part["part"]) if part["part"] else Fraction(1)
    if amount <= 0:
        raise BadValue(f"Parts must be above 0; leave out a liquid that is not in the mixture. {HOW}")
    name = known.name if known else part["name"]
    if name in parts:
        raise BadValue(f"{name} is named twice: add up its parts.")
    parts[name] = amount


def _is_no_name(name: str, solvents: SolventNames) -> bool:
    """Whether this is a mixture in another notation, not a single liquid that the table lacks."""
    pieces = _BETWEEN_NAMES.split(name)
    again = _PART.fullmatch(name)
    if again is not None and again["part"] is not None:
        return True
    return bool(_NO_NAME.search(name)) or (len(pieces) > 1 and any(map(solvents.find, pieces)))


def _amount(text: str) -> Fraction:
    if re.fullmatch(r"[0-9]+,[0-9]{3}", text):
        pointed, joined = text.replace(",", "."), text.replace(",", "")
        raise BadValue(f"A comma before three digits may mark decimals or thousands: write {pointed} or {joined}.")
    return Fraction(text.replace(",", "."))


def _built(parts: Mapping[str, Fraction], additives: Mapping[str, Fraction], solvents: SolventNames) -> Agent:
    total = sum(parts.values(), Fraction(0))
    rows = {name: solvents.find(name) for name in sorted(parts)}
    families: dict[str, Fraction] = {}
    for name, row in rows.items():
        family = row.family if row else name
        families[family] = families.get(family, Fraction(0)) + parts[name]
    acts = {name for name, row in rows.items() if row is None or not row.diluent} or set(rows)
    acting_families = {row.family if row else name for name, row in rows.items() if name in acts}
    liquids = _shares(parts, total)
    return Agent(
        liquids=liquids,
        additives=_shares(additives, Fraction(1)),
        unknown=tuple(name for name, row in rows.items() if row is None),
        text=_canonical(parts, additives),
        families=_shares(families, total),
        acting=tuple((name, share) for name, share in liquids if name in acts),
        acting_families=tuple(each for each in _shares(families, total) if each[0] in acting_families),
        hansen=_mixed(liquids, solvents, stand_ins=False),
        several=any(row is not None and row.asks is not None for row in rows.values()),
    )


def _shares(amounts: Mapping[str, Fraction], total: Fraction) -> Shares:
    return tuple((name, float(amounts[name] / total)) for name in sorted(amounts))


def _canonical(parts: Mapping[str, Fraction], additives: Mapping[str, Fraction]) -> str:
    """The shortest text that parses back to the same agent: whole parts, liquids and additives sorted by name."""
    scale = math.lcm(*(amount.denominator for amount in parts.values()))
    whole = {name: int(amount * scale) for name, amount in parts.items()}
    shared = math.gcd(*whole.values())
    whole = {name: amount // shared for name, amount in whole.items()}
    if max(whole.values()) >= LARGEST_PART:
        raise BadValue(f"The parts differ too much to be measured out: write what was mixed. {HOW}")
    names = sorted(whole)
    liquids = names if len(names) == 1 else [f"{whole[name]} {name}" for name in names]
    return " + ".join([*liquids, *(f"{_decimal(additives[name])}% {name}" for name in sorted(additives))])


def _decimal(amount: Fraction) -> str:
    digits = f"{int(amount * 10**6):07d}"
    return f"{digits[:-6]}.{digits[-6:]}".rstrip("0").rstrip(".")


def _mixed(liquids: Shares, solvents: SolventNames, stand_ins: bool) -> Triple | None:
    sums = [0.0, 0.0, 0.0]
    for name, share in liquids:
        row = solvents.find(name)
        point = row.hansen if row else None
        if point is None and stand_ins and row is not None and row.stand_in is not None:
            instead = solvents.find(row.stand_in)
            point = instead.hansen if instead else None
        if point is None:
            return None
        for axis in range(3):
            sums[axis] += share * point[axis]
    return sums[0], sums[1], sums[2]


@lru_cache(maxsize=8192)
def _names(shares: Shares) -> frozenset[str]:
    return frozenset(name for name, _ in shares)


def _at_least(has: Shares, wanted: Shares, slack: float = 1.0) -> bool:
    amounts = dict(has)
    return all(amounts.get(name, 0.0) * slack >= amount for name, amount in wanted)


_RATIO = r"(?P<ratio>[0-9.]+(?: ?: ?[0-9.]+)+)"
_RATIOS = (re.compile(rf"(?P<names>[^0-9].*?),? \(?{_RATIO}\)?"), re.compile(rf"{_RATIO},? (?P<names>.+)"))
_IN_WATER = (
    re.compile(rf"(?P<percent>{_AMOUNT}) ?% ?(?P<name>[^+]+?)(?:,? (?:in|with) (?P<rest>[^+]+))?"),
    re.compile(rf"(?P<name>[^+%]+?),? \(?(?P<percent>{_AMOUNT}) ?%\)?(?: (?:in|with) (?P<rest>[^+]+))?"),
    re.compile(rf"(?P<rest>[^+%]+?) ?(?:\+|with) ?(?P<percent>{_AMOUNT}) ?% ?(?P<name>[^+]+)"),
)


def _meant(written: str, solvents: SolventNames) -> str | None:
    """The agent that a common wrong form stands for, if it can mean only one and its liquids are known."""
    for pattern in _RATIOS:
        if (match := pattern.fullmatch(written)) is not None:
            names = [name.strip() for name in re.split(r":|/|\+|&| and |, | - ", match["names"])]
            amounts = match["ratio"].split(":")
            if len(names) == len(amounts):
                return _tried((f"{a.strip()} {n}" for a, n in zip(amounts, names, strict=True)), solvents)
    for pattern in _IN_WATER:
        if (match := pattern.fullmatch(written)) is not None:
            name, percent, rest = match["name"], match["percent"].replace(",", "."), match["rest"]
            if rest is None and (kind := solvents.find(f"{name} {percent}%")) is not None:
                return kind.name
            if solvents.find(name) is None:
                return _tried((rest or WATER, f"{percent}% {name}"), solvents)
            other = 100 - Fraction(percent)
            if rest is None or not 0 < other < 100:
                return None
            return _tried((f"{percent} {name}", f"{_decimal(other)} {rest}"), solvents)
    names = [name.strip() for name in re.split(r"[+&/]| and |, ", written)]
    if len(names) > 1 and all(solvents.find(name) for name in names):
        return _tried((f"1 {name}" for name in names), solvents)
    return None


def _tried(terms: Iterable[str], solvents: SolventNames) -> str | None:
    parts: dict[str, Fraction] = {}
    additives: dict[str, Fraction] = {}
    listed = list(terms)
    for term in listed:
        percent, part = _PERCENT.fullmatch(term), _PART.fullmatch(term)
        known = solvents.find(part["name"]) if part else None
        if known is not None and part is not None and known.name not in parts:
            parts[known.name] = Fraction((part["part"] or "1").replace(",", "."))
        elif percent is None or _NO_NAME.search(percent["name"]) or percent["name"] in additives:
            return None
        else:
            additives[percent["name"]] = Fraction(percent["percent"].replace(",", "."))
    amounts = [*parts.values(), *additives.values()]
    if not parts or min(amounts) <= 0 or (additives and WATER not in parts):
        return None
    return _canonical(parts, additives)
