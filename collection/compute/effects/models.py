"""What models say about an agent that no recorded test of a coat clears: they may alarm, and never clear.

There are three: a posterior over regions of solubility, from the coat's own tests and its binder's published spheres
(`solubility`); what is known about a binder's class (class_effects.csv); and for water the coat's own tests by their
pH. Where none has anything to go by, the reason is given instead.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

from collection.compute.effects.solubility import Observed, chances, ph_region
from collection.language.errors import OurFault
from collection.language.sentences import percent
from collection.records.policy import Interval, Policy
from collection.values import agents
from collection.values.agents import Agent
from collection.values.reference import Band, ClassEffect, Reference, Sphere
from collection.values.reference_rows import Triple

AROMATIC, ALIPHATIC = "o-xylene", "n-dodecane"
"""What a white spirit is assumed to be a mixture of when looking for an alarm: no Hansen values are published for it
here."""
SEVERAL: Mapping[str, tuple[str, ...]] = {"petroleum spirit": ("n-hexane", "n-heptane")}
"""Liquids of the table that may be in a jar of that family, when looking for an alarm."""
JUST_OUTSIDE = 1.25
"""Up to this RED a liquid is said to lie just outside."""


@dataclass(frozen=True, slots=True)
class Tested:
    """One recorded test of a coat, as input to a model; harmless ones only where they count in the agent's favour."""

    agent: Agent
    ph: float | None
    acted: bool
    name: str


@dataclass(frozen=True, slots=True)
class Question:
    """What models are asked: what an agent, with the pH of its water, does to a coat of one of these binders,
    identified on this `basis`; `tested` are the coat's own tests: every effect, and what was harmless under conditions
    surely as harsh."""

    binders: tuple[str, ...]
    basis: str | None
    agent: Agent
    ph: float | None
    tested: tuple[Tested, ...] = ()


@dataclass(frozen=True, slots=True)
class Opinion:
    """What models say: the share of the coat that the agent would take, [low, middle, high], why, and the sources.

    `span` is None where no model has an answer; `why` then says what is missing. With `expects`, the middle is the
    expected share; otherwise it only says that something is known to act.
    """

    span: Interval | None
    why: str
    reference: str | None = None
    expects: bool = False

    @property
    def high(self) -> float:
        return 0.0 if self.span is None else self.span[2]


def opinion(question: Question, policy: Policy, reference: Reference) -> Opinion:
    """The most alarming answer of all the models, for every binder that any reading of the coat names."""
    expected = _by_region(question, policy, reference)
    found = [
        each
        for each in (expected, *_by_classes(question, policy, reference), _by_ph(question, policy))
        if each is not None and each.span is not None
    ]
    if not found:
        return Opinion(None, _why_no_answer(question, policy, reference))
    highest = max(found, key=lambda each: each.high)
    low, middle, high = (max(each.span[end] for each in found if each.span) for end in range(3))
    return Opinion((low, middle, high), highest.why, highest.reference, expected is not None)


def by_class(question: Question, policy: Policy, reference: Reference) -> Interval | None:
    """What an agent is known to do to the coat's binders, whatever sphere or band say; None where nothing is known."""
    found = [each.span for each in _by_classes(question, policy, reference) if each.span is not None]
    if not found:
        return None
    low, middle, high = (max(span[end] for span in found) for end in range(3))
    return low, middle, high


def _order(test: Tested) -> tuple[str, str, bool, float]:
    return test.name, test.agent.text, test.acted, -1.0 if test.ph is None else test.ph


def candidate_points(agent: Agent, reference: Reference, policy: Policy) -> tuple[Triple, ...]:
    """The points in Hansen space, in MPa^½, at which an agent may lie: from every published table, for each of the
    liquids that share one name, with stand-ins for those whose content is not fixed. Empty with water or an unknown
    liquid.
    """
    if agent.aqueous or agent.unknown:
        return ()
    shares = tuple(share for _, share in agent.liquids)
    return _mixed_points(shares, tuple(_options(name, reference, policy) for name, _ in agent.liquids))


@lru_cache(maxsize=4096)
def _mixed_points(shares: tuple[float, ...], options: tuple[tuple[Triple, ...], ...]) -> tuple[Triple, ...]:
    """The points of a mixture of these shares, each liquid at any of its own points."""
    found = {
        tuple(sum(share * point[axis] for share, point in zip(shares, chosen, strict=True)) for axis in range(3))
        for chosen in product(*options)
    }
    return tuple(sorted((d, p, h) for d, p, h in found))


def _options(name: str, reference: Reference, policy: Policy) -> tuple[Triple, ...]:
    row = reference.solvents.find(name)
    if row is None:
        return ()
    if row.family == "white spirit" and row.stand_in is None:
        stated = name.removeprefix("white spirit ").removesuffix("%")
        shares = (0.0, policy.model.most_aromatic) if row.asks is not None else (float(stated) / 100,)
        return tuple(_mixed(share, reference) for share in shares)
    own = row if row.hansen is not None or row.stand_in is None else reference.solvents.find(row.stand_in)
    if own is not None and own.hansen is not None:
        return (own.hansen, *reference.alternatives.get(own.name, ()))
    named = (reference.solvents.find(each) for each in SEVERAL.get(row.family, ()))
    return tuple(each.hansen for each in named if each is not None and each.hansen is not None)


def _mixed(aromatic: float, reference: Reference) -> Triple:
    one, other = reference.solvents.find(AROMATIC), reference.solvents.find(ALIPHATIC)
    if one is None or other is None or one.hansen is None or other.hansen is None:
        raise OurFault(f"The reference table solvents.csv lacks the Hansen parameters of {AROMATIC} or {ALIPHATIC}.")
    d, p, h = (aromatic * a + (1 - aromatic) * b for a, b in zip(one.hansen, other.hansen, strict=True))
    return d, p, h


def observed(tested: Iterable[Tested], reference: Reference, policy: Policy) -> list[Observed]:
    """Tests as points: a harmless one only if the table has values of its liquid itself, a harmful one at every point
    where it may lie."""
    found = []
    for test in tested:
        if test.agent.aqueous or test.agent.unknown:
            continue
        if test.acted:
            found += [Observed(point, True, test.name) for point in candidate_points(test.agent, reference, policy)]
        elif test.agent.hansen is not None and not test.agent.several:
            found.append(Observed(test.agent.hansen, False, test.name))
    return found


def published(binders: Iterable[str], reference: Reference) -> tuple[tuple[Sphere, ...], tuple[Band, ...]]:
    """The published spheres and bands of all the given binders, each once."""
    spheres = {(s.centre, s.radius, s.fit): s for binder in binders for s in reference.spheres.get(binder, ())}
    bands = {(b.low, b.high, b.fit): b for binder in binders for b in reference.bands.get(binder, ())}
    return tuple(spheres.values()), tuple(bands.values())


def _by_region(question: Question, policy: Policy, reference: Reference) -> Opinion | None:
    agent = question.agent
    points = candidate_points(agent, reference, policy)
    spheres, bands = published(question.binders, reference)
    if not points or not (spheres or bands):
        return None
    seen = observed(question.tested, reference, policy)
    shares = chances(spheres, bands, question.basis, seen, points, policy)
    low, middle, high = (max(share[end] for share in shares) for end in range(3))
    # The sentence gives the point with the highest share, the first of them if several are equal.
    point = points[max(range(len(points)), key=lambda at: shares[at][2])]
    where, source = _relied_on(spheres, bands, point)
    names = sorted({o.text for o in seen})
    by = f" With what {_listed(names)} did to this coat," if names else " By that,"
    span: Interval = (low, middle, high)
    return Opinion(
        span,
        f"{where}.{by} a model gives it a chance of {percent(span)} to act.",
        f"{source}; {_liquids_of(agent, reference)}",
        True,
    )


def _relied_on(spheres: Sequence[Sphere], bands: Sequence[Band], point: Triple) -> tuple[str, str]:
    """Where a published row puts a liquid, in words, and the row's full source: a band only where no sphere holds
    it."""
    red, nearest = min(
        ((agents.ra(point, s.centre) / s.radius, s) for s in spheres), key=lambda pair: pair[0], default=(2.0, None)
    )
    total = sum(axis * axis for axis in point) ** 0.5
    band = next((b for b in bands if b.low <= total <= b.high), None)
    if nearest is None or (red >= 1 and band is not None):
        band = band or bands[0]
        side = "inside" if band.low <= total <= band.high else "outside"
        return (
            f"the published band in which {band.binder} swells ({_cited(band.source, band.source_row)}) puts it "
            f"{side} ({total:.1f} MPa^½, band {band.low:g} to {band.high:g})"
        ), f"{band.source}, {band.source_row}"
    side = "inside" if red < 1 else "just outside" if red < JUST_OUTSIDE else "outside, which clears nothing"
    stands_in = f", standing in for {nearest.binder}" if nearest.fit == "stand-in" else ""
    row = f", row {nearest.source_row}" if nearest.source_row else ""
    return (
        f"the published sphere of {nearest.row}{stands_in} ({_cited(nearest.source, nearest.source_row)}) puts it "
        f"{side} (RED {red:.2f})"
    ), f"{nearest.source}{row}"


def _cited(source: str, row: str | None = None) -> str:
    """A source as a sentence names it: its author and year, table and row; the reference has it in full."""
    if source.startswith("common practice"):
        return source
    head, year = source.split(",")[0].split(":")[0], re.search(r"\b(19|20)\d\d\b", source)
    table = re.search(r"Table [A-Z]?\.?\d+", source)
    parts = [
        head if year is None or year[0] in head else f"{head} {year[0]}",
        table[0] if table else None,
        row if row is None or row.startswith("fig") else f"row {row}",
    ]
    return ", ".join(part for part in parts if part)


def _liquids_of(agent: Agent, reference: Reference) -> str:
    """Where the Hansen parameters of an agent's liquids come from."""
    sources = []
    for name, _ in agent.liquids:
        row = reference.solvents.find(name)
        if row is None:
            continue
        own = row if row.hansen is not None or row.stand_in is None else reference.solvents.find(row.stand_in)
        if own is not None and own.hansen_source is not None:
            others = " and alternatives.csv" if own.name in reference.alternatives else ""
            sources.append(
                f"{name}: {own.hansen_source}{others}"
                if own is row
                else f"{name}, {own.name} standing in: {own.hansen_source}{others}"
            )
        elif row.family == "white spirit":
            sources.append(f"{name}: taken as {AROMATIC} in {ALIPHATIC} (derived)")
        else:
            sources.append(f"{name}: taken as {_listed(SEVERAL.get(row.family, ()))} (derived)")
    return "; ".join(sources)


def _listed(names: Sequence[str]) -> str:
    return " and ".join(names) if len(names) < 3 else f"{', '.join(names[:-1])} and {names[-1]}"


def _by_classes(question: Question, policy: Policy, reference: Reference) -> list[Opinion]:
    """What the agent is known to do to each binder."""
    found = []
    for binder in question.binders:
        for effect in reference.class_effects.get(binder, ()):
            if _is_of(effect, question.agent, policy) and _reaches(effect, question.ph):
                low, high = policy.response[effect.response]
                why = f"{_known(effect)} ({effect.response}; {_cited(effect.source)})"
                found.append(Opinion((low, (low + high) / 2, high), why, effect.source))
    return found


def _is_of(effect: ClassEffect, agent: Agent, policy: Policy) -> bool:
    share = dict(agent.families).get(effect.liquid, 0.0)
    return share >= policy.model.least_share and (effect.additive != "any" or bool(agent.additives))


def _reaches(effect: ClassEffect, ph: float | None) -> bool:
    """Whether a pH lies as far from 7 as the effect needs; not known, and so False, where none is stated."""
    if effect.ph_low is None and effect.ph_high is None:
        return True
    return ph is not None and (
        (effect.ph_low is not None and ph >= effect.ph_low) or (effect.ph_high is not None and ph <= effect.ph_high)
    )


def _known(effect: ClassEffect) -> str:
    sides = [
        f"from pH {effect.ph_low:g} up" if effect.ph_low is not None else "",
        f"down from pH {effect.ph_high:g}" if effect.ph_high is not None else "",
    ]
    where = " or ".join(side for side in sides if side)
    dissolved = " with something dissolved in it" if effect.additive else ""
    return f"{effect.liquid}{dissolved} is known to act on {effect.binder}{f' {where}' if where else ''}"


def _by_ph(question: Question, policy: Policy) -> Opinion | None:
    """What the coat's tests with water say about a pH; nothing until one of them has done something on that side of 7.

    Harmless tests count where they used the same liquids and additives, harmful ones always.
    """
    agent, ph = question.agent, question.ph
    if not agent.aqueous or ph is None:
        return None
    tested = sorted(set(question.tested), key=_order)
    wet = [t for t in tested if t.agent.aqueous and t.ph is not None and (t.acted or agents.same_agent(t.agent, agent))]
    acted = [t for t in wet if t.acted and t.ph is not None and (t.ph - 7) * (ph - 7) >= 0]
    if not acted:
        return None
    import numpy as np

    shares = ph_region([(t.ph, t.acted) for t in wet if t.ph is not None], policy).acts(np.asarray([ph]))[0]
    low, middle, high = (float(end) for end in shares)
    tests = _listed([f"{t.name} at pH {t.ph:g}" for t in acted])
    return Opinion(
        (low, middle, high),
        f"{tests} did something to this coat. A model without any published figures gives "
        f"pH {ph:g} a chance of {percent((low, middle, high))} to act.",
    )


def _why_no_answer(question: Question, policy: Policy, reference: Reference) -> str:
    """Why no model has an answer."""
    binders, agent = question.binders, question.agent
    if agent.unknown:
        return f"No model can say anything: {_listed(agent.unknown)} is not in the solvent table."
    if not binders:
        return "No model can say anything: the coat's binder is not recorded, or mixed."
    if agent.aqueous:
        known = [
            _known(effect)
            for binder in binders
            for effect in reference.class_effects.get(binder, ())
            if _is_of(effect, agent, policy)
        ]
        if known and question.ph is None:
            return f"No model can say anything, because the pH is not stated: {known[0]}."
        return (
            f"No model can say anything: no published sensitivity of {_listed(binders)} to such water is recorded here."
        )
    if not any(published(binders, reference)):
        return f"No model can say anything: no published sphere of {_listed(binders)} was found."
    return f"No model can say anything: no Hansen parameters of {agent.text} are recorded."
