"""Which recorded trials say anything about a coat: its own, those of coats that the records do not tell apart from it,
and those of coats like it."""

from __future__ import annotations

from collections.abc import Mapping

from collection.compute.build_up.coats import Coat, Stack
from collection.compute.case import Case, kept
from collection.compute.effects.trials import Met, Trial, trials
from collection.language.words import CLEAR_ROLES, FOREIGN_ROLES

Related = tuple[tuple[str, Trial], ...]
"""Trials, each with how it is related to a coat: `itself`, `same` or `alarm`."""


@kept
def related(case: Case, component: str | None, coat: Coat) -> Related:
    """The trials that say anything about a coat on a part, each with how it is related to the coat."""
    return tuple((how, trial) for trial in trials(case) if (how := relation(case, coat, component, trial)) is not None)


def trials_of(case: Case, stack: Stack, coat: Coat) -> tuple[Trial, ...]:
    """The trials of a coat itself, or of one that the records do not tell apart from it."""
    return tuple(t for how, t in related(case, stack.component, coat) if how != "alarm")


def harmful_trials(case: Case, stack: Stack, coat: Coat) -> tuple[Trial, ...]:
    """The trials that did something to a coat or to one like it."""
    return tuple(t for _, t in related(case, stack.component, coat) if t.high > 0)


def relation(case: Case, coat: Coat, component: str | None, trial: Trial) -> str | None:
    """`itself` where the trial was surely made on this very coat, and may clear it; `same` where it may have been
    another coat that the records do not tell apart from it; `alarm` where it was a coat like it; else None.

    An effect counts in full against a coat that is `itself` or the `same`: a blank never clears, and never cancels an
    effect either. Coats without a scheme that the sequence of all samples surely joins are the same.
    """
    met = trial.met
    met_here = met.layer is not None and met.layer in coat.layers
    if coat.decoration is not None:
        if met.decoration == coat.decoration:
            return "itself"
        if met_here:
            return "itself" if coat.told_apart else "same"
        if met.scheme is None or met.scheme != coat.scheme:
            return None
        # The same paint tested elsewhere on the part: it counts in full against the letter, and never clears it.
        if (met.role, met.colour, trial.component) == (coat.role, coat.key.colour, component) and met.colour:
            return "same"
        return "alarm" if _alike(coat, met) else None
    if met_here:
        return "itself" if coat.told_apart else "same"
    if met.scheme is None or met.scheme != coat.scheme:
        # Whether two coats are joined depends on the sequence of all samples, so it is asked last, and not for dirt.
        if (
            met.layer is None
            or (met.scheme and coat.scheme)
            or met.role != coat.role
            or coat.role in FOREIGN_ROLES
            or not _joined(case, coat, met.layer)
        ):
            return None
        return "same" if trial.component == component else "alarm"
    if met.decoration is None and met.role is None and trial.component == component:
        # Nobody wrote down which coat of the scheme was tested.
        return "same"
    if met.decoration is not None or met.role != coat.role or trial.component != component:
        return "alarm" if _alike(coat, met) else None
    if coat.role in CLEAR_ROLES or (coat.key.colour and met.colour == coat.key.colour):
        return "itself"
    return "alarm" if met.colour and coat.key.colour else "same"


SURELY = 0.95
"""From this chance on, the sequence of all samples is taken to join two coats: enough to fear, or not to fear, the same
for both."""


def _joined(case: Case, coat: Coat, layer: tuple[str, int]) -> bool:
    units = _sure_units(case)
    unit = units.get(layer)
    return unit is not None and any(units.get(own) == unit for own in coat.layers)


@kept
def _sure_units(case: Case) -> Mapping[tuple[str, int], str]:
    from collection.compute.stratigraphy.strata import strata  # numpy only where it is needed

    return {(p.sample, p.position): p.unit for p in strata(case).placings if p.chance >= SURELY}


def _alike(coat: Coat, met: Met) -> bool:
    """Whether an effect on one coat of a scheme is to be feared for another: not where the binders of both are known
    and have none in common."""
    return not (coat.binders and met.binders) or bool(set(coat.binders) & set(met.binders))
