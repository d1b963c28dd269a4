"""What a search is narrowed by: words checked, turned into the index's syntax, and held against one coat.

`state`, `period`, `role` and `colour` speak of one coat in one place: the state is the place's, of a decoration
its own. `kind`, `agent`, `hazard` and `unexamined` speak of the object. Several values of one filter are
alternatives; different filters must all hold. What was looked for and not found is never a match.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from itertools import product
from typing import Any

from collection.language import words
from collection.language.errors import BadValue, WrongCommand
from collection.language.phrases import Phrase, phrase
from collection.store.base.search_document import COAT, Found, coat_facet, facet
from collection.values import reference

ANY = "any"
ALTERNATIVES = 20
"""Most values of one filter: the index joins them by OR."""
_LISTS = {"period": words.PERIOD, "state": words.ZONE_STATE, "role": words.ROLE}
_STATES = (*words.ZONE_STATE.words, None)
_PERIODS = (*words.PERIOD.words, None)
_ROLES = (*words.ROLE.words, None)


@dataclass(frozen=True)
class Filters:
    """What is asked for beside words; nothing = no filter. `hazard` "any" is one of whatever kind."""

    period: tuple[str, ...] = ()
    state: tuple[str, ...] = ()
    role: tuple[str, ...] = ()
    colour: tuple[str, ...] = ()
    kind: tuple[str, ...] = ()
    agent: tuple[str, ...] = ()
    hazard: tuple[str, ...] = ()
    unexamined: bool = False

    @cached_property
    def given(self) -> tuple[str, ...]:
        """The names of the filters in use."""
        return tuple(f.name for f in fields(self) if getattr(self, f.name))

    def without(self, name: str) -> Filters:
        """The same less one filter."""
        nothing: dict[str, Any] = {name: False if name == "unexamined" else ()}
        return replace(self, **nothing)

    def meets(self, coat: Found) -> bool:
        """Whether one coat, or decoration, is what state, period, role and colour ask for."""
        return (
            (not self.state or coat.state in self.state)
            and (not self.period or coat.period in self.period)
            and (not self.role or coat.role in self.role)
            and (not self.colour or any(wanted.in_text(coat.colour or "") for wanted in self.phrases("colour")))
        )

    @property
    def of_coats(self) -> bool:
        """Whether any filter speaks of coats: a place's state alone does not."""
        return bool(self.period or self.role or self.colour)

    def phrases(self, name: str) -> tuple[Phrase, ...]:
        """The values of a filter as phrases; an agent also under the other names of its liquid."""
        return self._phrases[name]

    @cached_property
    def _phrases(self) -> dict[str, tuple[Phrase, ...]]:
        liquids = tuple(dict.fromkeys(name for text in self.agent for name in _names_of(text)))
        return {
            "colour": tuple(phrase(text) for text in self.colour),
            "kind": tuple(phrase(t) for t in self.kind),
            "agent": tuple(phrase(text) for text in liquids),
            "hazard": tuple(phrase(text) for text in self.hazard),
        }

    def match(self) -> str | None:
        """The filters as an expression over the index's facets; None where there are none."""
        parts = [
            _any_of(wanted.match_tokens(name) for wanted in self.phrases(name))
            for name in ("kind", "agent", "hazard")
            if getattr(self, name)
        ]
        if self.unexamined:
            parts.append(f'"{facet("unexamined", "yes")}"')
        closed = [name for name in _LISTS if getattr(self, name)]
        if self.colour:
            parts.append(_any_of(wanted.match_tokens("colour") for wanted in self.phrases("colour")))
        if len(closed) > 1:
            parts.append(_any_of(f'"{token}"' for token in sorted(self._wanted)))
        else:
            parts += [_any_of(f'"{facet(name, word)}"' for word in getattr(self, name)) for name in closed]
        return "facets : (" + " AND ".join(parts) + ")" if parts else None

    @property
    def check(self) -> Callable[[str], bool] | None:
        """What has to be looked up in an object's facets, because the index alone does not say that the colour is
        that of the coat asked for; None where it does."""
        if not self.colour or not (self.state or self.period or self.role):
            return None
        wanted = self._wanted
        colours = [
            " " + " ".join(f"colour{token}" for token in p.tokens) + ("" if p.longer else " ")
            for p in self.phrases("colour")
        ]

        def holds(facets: str) -> bool:
            # Each coat's token stands before its colours.
            facets += " "
            for colour in colours:
                at = facets.find(colour)
                while at >= 0:
                    token = facets.rindex(COAT, 0, at)
                    if facets[token : facets.index(" ", token)] in wanted:
                        return True
                    at = facets.find(colour, at + 1)
            return False

        return holds

    @cached_property
    def _wanted(self) -> frozenset[str]:
        return frozenset(
            coat_facet(*sort) for sort in product(self.state or _STATES, self.period or _PERIODS, self.role or _ROLES)
        )


def filters(
    *,
    period: Sequence[str] = (),
    state: Sequence[str] = (),
    role: Sequence[str] = (),
    colour: Sequence[str] = (),
    kind: Sequence[str] = (),
    agent: Sequence[str] = (),
    hazard: Sequence[str] = (),
    unexamined: bool = False,
) -> Filters:
    """Filters from what somebody wrote; the lists' other names are understood, and states without `original`.

    :raises WrongCommand: for a word outside its list, or one without letters or figures.
    """
    given = {
        "period": period,
        "state": state,
        "role": role,
        "colour": colour,
        "kind": kind,
        "agent": agent,
        "hazard": hazard,
    }
    read = {}
    for name, texts in given.items():
        if len(texts) > ALTERNATIVES:
            raise WrongCommand(f"--{name} was given {len(texts)} times; {ALTERNATIVES} are the most.")
        read[name] = tuple(dict.fromkeys(_read(name, text) for text in texts))
    return Filters(**read, unexamined=unexamined)


def _read(name: str, text: str) -> str:
    if name in _LISTS:
        return _word(name, text)
    if not phrase(text).tokens:
        raise WrongCommand(f"--{name} needs a word; {text!r} has no letter or figure in it.")
    return text


def _word(name: str, text: str) -> str:
    listed = _LISTS[name]
    try:
        return listed.read(text)
    except BadValue as error:
        if name == "state" and (state := f"original {' '.join(text.casefold().split())}") in listed.words:
            return state
        near = f" Did you mean {error.nearest!r}?" if error.nearest else ""
        raise WrongCommand(f"--{name} {text!r}: {error}{near}") from error


def _names_of(text: str) -> tuple[str, ...]:
    known = reference.packaged().solvents.find(text.rstrip("*"))
    return (text,) if known is None else (text, known.name, *known.aliases)


def _any_of(parts: Iterable[str]) -> str:
    listed = list(parts)
    return listed[0] if len(listed) == 1 else "(" + " OR ".join(listed) + ")"
