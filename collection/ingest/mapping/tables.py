"""Typed values from the tables of a TOML file; a value of the wrong type is a fault with its line."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from collection.ingest.mapping.cells import folded, nearest_term
from collection.ingest.mapping.mapping import MapText
from collection.language.errors import Fault

Given = dict[str, Any]


class Tables:
    """The tables of one file, and the faults that were found in them so far."""

    def __init__(self, text: MapText, held: Given) -> None:
        self._text, self.held = text, held
        self.faults: list[Fault] = []

    def terms(self, where: str, key: str | None, given: object) -> dict[str, str]:
        if not isinstance(given, dict) or not all(isinstance(word, str) and word.strip() for word in given.values()):
            self.say(
                where,
                key,
                'Words are a table of the list\'s terms, each with the term it stands for: { "Eiche" = "oak" }.',
            )
            return {}
        seen: dict[str, str] = {}
        for term in given:
            if folded(term) in seen and given[seen[folded(term)]] != given[term]:
                self.say(
                    where,
                    key,
                    f"This term is the same as {seen[folded(term)]!r}, but for capitals and "
                    "blanks, and is translated otherwise.",
                    term,
                )
            seen[folded(term)] = term
        return dict(given)

    def plain(self, where: str, key: str, value: Given, name: str, default: Any) -> Any:
        given = value.get(name, default)
        if given is not default and (not isinstance(given, str) or (name == "parted_by" and not given)):
            self.say(where, key, f"`{name}` is a text in quotation marks.", given)
            return default
        return given

    def texts(self, where: str, key: str, value: object) -> list[str]:
        several = [value] if isinstance(value, str) else value
        if not isinstance(several, list) or not all(isinstance(each, str) for each in several):
            self.say(where, key, "This is a text in quotation marks, or several in square brackets.", value)
            return []
        return several

    def text_of(self, where: str, key: str, given: Given) -> str:
        value = given.get(key)
        if not isinstance(value, str) or not value.strip():
            self.say(where, key, f"`{key}` is missing here: a text in quotation marks.", value)
            return ""
        return value

    def one_of(self, where: str, key: str, given: Given, allowed: Sequence[str], default: str | None) -> str | None:
        if key not in given and default is not None:
            return default
        value = given.get(key)
        if value in allowed:
            return str(value)
        if where in self.held or where.split(" ")[0] in self.held:
            shown = ", ".join(repr(word).replace("'", '"') for word in allowed)
            self.say(
                where,
                key,
                f"`{key}` is one of {shown}.",
                value,
                nearest_term(str(value), tuple(allowed)) if isinstance(value, str) else None,
            )
        return None

    def table(self, name: str) -> Given:
        value = self.held.get(name, {})
        if isinstance(value, dict):
            return value
        self.say("", None, f"{name} is a table, written [{name}].", name)
        return {}

    def several(self, name: str) -> list[Given]:
        value = self.held.get(name, [])
        if isinstance(value, list) and all(isinstance(each, dict) for each in value):
            return value
        self.say(name, None, f"There may be several of these, so each is written [[{name}]].", name)
        return []

    def known(self, given: Given, allowed: Sequence[str], where: str, lead: str, key: str | None = None) -> None:
        for name in given:
            if name not in allowed:
                self.say(
                    where,
                    key or name,
                    f"{lead} {', '.join(allowed)}; there is nothing else.",
                    name,
                    nearest_term(name, allowed),
                )

    def say(self, where: str, key: str | None, message: str, value: object = None, nearest: str | None = None) -> None:
        self.faults.append(self._text.fault(where, key, message, value, nearest))
