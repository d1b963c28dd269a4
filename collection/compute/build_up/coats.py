"""A coat in the stack of a place, and what makes two coats the same."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from collection.language.words import CLEAR_ROLES, PREPARATION_ROLES
from collection.records.policy import Interval
from collection.records.sheets import Layer

PREPARATION = "preparation"


class CoatKey(NamedTuple):
    """What makes two coats of one part the same coat. An unassigned coat is only itself."""

    scheme: str | None
    role: str
    colour: str
    occurrence: int = 0
    sample: str | None = None
    position: int | None = None


@dataclass(frozen=True, slots=True)
class Coat:
    """One coat in the stack of a place.

    `cover` is the share of the place it covers, [low, middle, high]; `seen_here` is False where only the rest of the
    part shows it; `found` is False for a kept coat of the part that was looked for here and not found, or that a record
    says was taken off here, so that nobody knows whether it is here; `thing` is the label of the loss it would be;
    `decoration` its code; `binders` is empty unless every reading of the coat names one, `may_be` holds all that any
    reading names, and `basis` says how they were identified; `alone` is False for a decoration that is not the only one
    of its kind and scheme in its place, or that the samples show as several coats.
    """

    key: CoatKey
    thing: str
    kept: bool
    cover: Interval
    seen_here: bool
    above: frozenset[CoatKey]
    evidence: tuple[tuple[str, str], ...]
    layers: tuple[tuple[str, int], ...] = ()
    decoration: str | None = None
    binders: tuple[str, ...] = ()
    alone: bool = True
    basis: str | None = None
    may_be: tuple[str, ...] = ()
    found: bool = True

    def __hash__(self) -> int:
        # Many stored answers have a coat in their key; the coat's own key tells nearly all of them apart.
        return hash(self.key)

    @property
    def told_apart(self) -> bool:
        """Whether the records tell it apart from every other coat: by its role, its colour, or being a single
        reading."""
        return self.alone and (self.role in CLEAR_ROLES or bool(self.key.colour) or len(self.layers) == 1)

    @property
    def scheme(self) -> str | None:
        return self.key.scheme

    @property
    def role(self) -> str:
        return self.key.role


@dataclass(frozen=True)
class Stack:
    """A place's coats, outermost first; `decorations` can be lost but shield nothing.

    `examined` is False where no sample was read in the place itself; `bottom_seen` says whether one of its own samples
    goes down to the support; `unfound` are kept schemes that no sample of the part shows but that may be here all the
    same, or that it shows by their preparation alone, each with its label and the sections that rule out harm by liquids.
    """

    place: str
    component: str | None
    coats: tuple[Coat, ...]
    decorations: tuple[Coat, ...]
    examined: bool
    bottom_seen: bool
    unfound: tuple[tuple[str, str, tuple[str, ...]], ...] = ()


NOT_FOUND, FINISH = "not found so far", "finish"


def not_found(scheme: str, role: str | None = None) -> str:
    """The label for something looked for in a place and not found: `1/not found so far`."""
    return f"{scheme}/{role + ' ' if role else ''}{NOT_FOUND}"


def thing_of(layer: Layer) -> str:
    """The label of the loss a coat belongs to: `1/varnish`, `1/preparation`, or its own `S3/4`."""
    if layer.scheme is None:
        return f"{layer.sample}/{layer.position}"
    return f"{layer.scheme}/{PREPARATION if layer.role in PREPARATION_ROLES else layer.role}"


def colour_of(layer: Layer) -> str:
    """The colour that tells coats of one role apart; clear coats have none."""
    return "" if layer.role in CLEAR_ROLES else " ".join((layer.colour or "").casefold().split())
