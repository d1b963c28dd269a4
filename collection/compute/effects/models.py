"""What models say of an agent that no recorded test of a coat speaks for: an alarm, and never a clearance.

Three voices: the coat's own tests and its binder's published spheres through a posterior over regions of solubility
(`solubility`), what a binder's class is known for (class_effects.csv), and for water the coat's own tests by their pH.
Where none has anything to go by, the reason is told instead.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from typing import Protocol

from collection.compute.effects.solubility import Observed, ph_region, region
from collection.language.errors import OurFault
from collection.language.sentences import percent
from collection.records.policy import Interval, Policy
from collection.values import agents
from collection.values.agents import Agent
from collection.values.reference import Band, ClassEffect, Reference, Sphere
from collection.values.reference_rows import Triple

AROMATIC, ALIPHATIC = "o-xylene", "n-dodecane"
"""What a white spirit is taken to be mixed of where an alarm is sought: no Hansen values are published for it here."""
SEVERAL: Mapping[str, tuple[str, ...]] = {"petroleum spirit": ("n-hexane", "n-heptane")}
"""Liquids of the table that may be in a jar of that family, where an alarm is sought."""
JUST_OUTSIDE = 1.25
"""The RED up to which a liquid is said to lie just outside."""


class _Coat(Protocol):
    """What of a coat the models read."""

    @property
    def may_be(self) -> tuple[str, ...]: ...
    @property
    def basis(self) -> str | None: ...


@dataclass(frozen=True, slots=True)
class Tested:
    """One recorded test of a coat as a model reads it: harmless ones only where they count in its favour."""

    agent: Agent
    ph: float | None
    acted: bool
    name: str


@dataclass(frozen=True, slots=True)
class Word:
    """What models say: the share of the coat that the agent would take, [low, middle, high], why, and the sources.

    `span` is None where none of them speaks; `why` then says what keeps them silent. `expects` tells that the middle
    is what is to be expected; else it only says that something is known to act.
    """

    span: Interval | None
    why: str
    reference: str | None = None
    expects: bool = False

    @property
    def high(self) -> float:
        return 0.0 if self.span is None else self.span[2]


def word(
    coat: _Coat, agent: Agent, ph: float | None, tested: Iterable[Tested], policy: Policy, reference: Reference
) -> Word:
    """The most alarming word of all models on a coat, by every binder that any of its readings names.

    :param tested: the coat's own tests: every effect, and what was harmless under conditions surely as harsh.
    """
    return _word(coat.may_be, coat.basis, agent, ph, tuple(sorted(set(tested), key=_order)), policy, reference)


def _order(test: Tested) -> tuple[str, str, bool, float]:
    return test.name, test.agent.text, test.acted, -1.0 if test.ph is None else test.ph


@lru_cache(maxsize=8192)
def _word(
    binders: tuple[str, ...],
    basis: str | None,
    agent: Agent,
    ph: float | None,
    tested: tuple[Tested, ...],
    policy: Policy,
    reference: Reference,
) -> Word:
    expected = _by_region(binders, basis, agent, tested, policy, reference)
    found = [
        said
        for said in (
            expected,
            *(
                _by_class(effect, agent, ph, policy)
                for binder in binders
                for effect in reference.class_effects.get(binder, ())
            ),
            _by_ph(agent, ph, tested, policy),
        )
        if said is not None and said.span is not None
    ]
    if not found:
        return Word(None, _silence(binders, agent, ph, policy, reference))
    loudest = max(found, key=lambda said: said.high)
    low, middle, high = (max(said.span[end] for said in found if said.span) for end in range(3))
    return Word((low, middle, high), loudest.why, loudest.reference, expected is not None)


def by_class(coat: _Coat, agent: Agent, ph: float | None, policy: Policy, reference: Reference) -> Interval | None:
    """What the coat's binders are known for with an agent, whatever sphere or band say; None where for nothing."""
    found = [
        said.span
        for binder in coat.may_be
        for effect in reference.class_effects.get(binder, ())
        if (said := _by_class(effect, agent, ph, policy)) is not None and said.span is not None
    ]
    if not found:
        return None
    low, middle, high = (max(span[end] for span in found) for end in range(3))
    return low, middle, high


def candidate_points(agent: Agent, reference: Reference, policy: Policy) -> tuple[Triple, ...]:
    """The points in Hansen space, in MPa^½, at which an agent may lie: by every published table, each of the liquids
    that go by one name, stand-ins for those of no fixed content. None with water or an unknown liquid.
    """
    if agent.aqueous or agent.unknown:
        return ()
    options = [_options(name, reference, policy) for name, _ in agent.liquids]
    found = {
        tuple(
            sum(share * point[axis] for (_, share), point in zip(agent.liquids, chosen, strict=True))
            for axis in range(3)
        )
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
    """Tests as points; a harmless one only where its liquid's values are its own, a harmful one wherever it may lie."""
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
    """The published spheres and bands of some binders, all of them where there are several; each once."""
    spheres = {(s.centre, s.radius, s.fit): s for binder in binders for s in reference.spheres.get(binder, ())}
    bands = {(b.low, b.high, b.fit): b for binder in binders for b in reference.bands.get(binder, ())}
    return tuple(spheres.values()), tuple(bands.values())


def _by_region(
    binders: Sequence[str],
    basis: str | None,
    agent: Agent,
    tested: Sequence[Tested],
    policy: Policy,
    reference: Reference,
) -> Word | None:
    points = candidate_points(agent, reference, policy)
    spheres, bands = published(binders, reference)
    if not points or not (spheres or bands):
        return None
    import numpy as np

    seen = observed(tested, reference, policy)
    shares = region(spheres, basis, seen, policy, bands=bands).acts(np.asarray(points))
    low, middle, high = (float(end) for end in shares.max(axis=0))
    point = points[int(shares[:, 2].argmax())]
    where, source = _relied_on(spheres, bands, point)
    names = sorted({o.text for o in seen})
    by = f" With what {_listed(names)} did to this coat," if names else " By that,"
    span: Interval = (low, middle, high)
    return Word(
        span,
        f"{where}.{by} a model gives it a chance of {percent(span)} to act.",
        f"{source}; {_liquids_of(agent, reference)}",
        True,
    )


def _relied_on(spheres: Sequence[Sphere], bands: Sequence[Band], point: Triple) -> tuple[str, str]:
    """Which published row puts a liquid where, and that row's full source: a band only where no sphere holds it."""
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
    """A source as a sentence names it: its author and year, table and row; the whole stands in the reference."""
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
    """Where the Hansen parameters of an agent's liquids are from."""
    said = []
    for name, _ in agent.liquids:
        row = reference.solvents.find(name)
        if row is None:
            continue
        own = row if row.hansen is not None or row.stand_in is None else reference.solvents.find(row.stand_in)
        if own is not None and own.hansen_source is not None:
            others = " and alternatives.csv" if own.name in reference.alternatives else ""
            said.append(
                f"{name}: {own.hansen_source}{others}"
                if own is row
                else f"{name}, {own.name} standing in: {own.hansen_source}{others}"
            )
        elif row.family == "white spirit":
            said.append(f"{name}: taken as {AROMATIC} in {ALIPHATIC} (derived)")
        else:
            said.append(f"{name}: taken as {_listed(SEVERAL.get(row.family, ()))} (derived)")
    return "; ".join(said)


def _listed(names: Sequence[str]) -> str:
    return " and ".join(names) if len(names) < 3 else f"{', '.join(names[:-1])} and {names[-1]}"


def _by_class(effect: ClassEffect, agent: Agent, ph: float | None, policy: Policy) -> Word | None:
    if not (_is_of(effect, agent, policy) and _reaches(effect, ph)):
        return None
    low, high = policy.response[effect.response]
    return Word(
        (low, (low + high) / 2, high), f"{_known(effect)} ({effect.response}; {_cited(effect.source)})", effect.source
    )


def _is_of(effect: ClassEffect, agent: Agent, policy: Policy) -> bool:
    share = dict(agent.families).get(effect.liquid, 0.0)
    return share >= policy.model.least_share and (effect.additive != "any" or bool(agent.additives))


def _reaches(effect: ClassEffect, ph: float | None) -> bool:
    """Whether a pH lies as far from 7 as the effect asks; of one that is not stated it is not known."""
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


def _by_ph(agent: Agent, ph: float | None, tested: Sequence[Tested], policy: Policy) -> Word | None:
    """What the coat's tests with water say of a pH; nothing before one of them did something on that side of 7.

    Harmless ones count where they were of the same liquids and additives, harmful ones always.
    """
    if not agent.aqueous or ph is None:
        return None
    wet = [t for t in tested if t.agent.aqueous and t.ph is not None and (t.acted or agents.same_agent(t.agent, agent))]
    acted = [t for t in wet if t.acted and t.ph is not None and (t.ph - 7) * (ph - 7) >= 0]
    if not acted:
        return None
    import numpy as np

    shares = ph_region([(t.ph, t.acted) for t in wet if t.ph is not None], policy).acts(np.asarray([ph]))[0]
    low, middle, high = (float(end) for end in shares)
    told = _listed([f"{t.name} at pH {t.ph:g}" for t in acted])
    return Word(
        (low, middle, high),
        f"{told} did something to this coat. A model, without any published figure, gives "
        f"pH {ph:g} a chance of {percent((low, middle, high))} to act.",
    )


def _silence(binders: Sequence[str], agent: Agent, ph: float | None, policy: Policy, reference: Reference) -> str:
    """Why no model says anything."""
    if agent.unknown:
        return f"No model speaks: {_listed(agent.unknown)} is not in the solvent table."
    if not binders:
        return "No model speaks: the coat's binder is not recorded, or mixed."
    if agent.aqueous:
        known = [
            _known(effect)
            for binder in binders
            for effect in reference.class_effects.get(binder, ())
            if _is_of(effect, agent, policy)
        ]
        if known and ph is None:
            return f"No model speaks, because the pH is not stated: {known[0]}."
        return f"No model speaks: no published sensitivity of {_listed(binders)} to such water is recorded here."
    if not any(published(binders, reference)):
        return f"No model speaks: no published sphere of {_listed(binders)} was seen."
    return f"No model speaks: no Hansen parameters of {agent.text} are recorded."
