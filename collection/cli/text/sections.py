"""Sections of a screen, each a heading with entries, cut so that all of them fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from collection.cli.text.assessment import WIDTH, wrap


@dataclass
class Section:
    """A heading with one entry per thing. `least` entries stay when room is short; `whole` keeps every line of each."""

    title: str
    entries: list[str]
    least: int = 1
    whole: bool = False
    shown: int = 0
    brief: bool = False

    def lines(self) -> list[str]:
        """The heading, which counts what is left out, and the entries shown."""
        left = len(self.entries) - self.shown
        return [
            f"{self.title}; {left} more with --all" if left else self.title,
            *(line for entry in self.entries[: self.shown] for line in self._entry(entry)),
        ]

    def _entry(self, text: str) -> list[str]:
        lines = wrap(text, "  ").splitlines()
        if not self.brief or self.whole or len(lines) == 1:
            return lines
        return [f"{lines[0][: WIDTH - 2].rstrip(' ;,')} …"]


def fitted(head: Sequence[str], sections: Sequence[Section], foot: Sequence[str], lines: int | None) -> list[str]:
    """Head, sections and foot as lines; sections that do not fit are cut, with counts.

    :param lines: how many fit; None = everything is shown.
    """
    for section in sections:
        section.shown = len(section.entries)

    def too_long() -> bool:
        return lines is not None and len(head) + sum(len(s.lines()) for s in sections) + len(foot) > lines

    if too_long():
        for section in sections:
            section.brief = True
    while too_long() and (foldable := [s for s in sections if s.shown > s.least]):
        # The longest section is cut first, so that none is lost for the sake of another.
        max(foldable, key=lambda s: s.shown - s.least).shown -= 1
    return [*head, *(line for section in sections for line in section.lines()), *foot]


def entry(first: str, *parts: str | bool | int | None) -> str:
    return "; ".join((first, *(str(part) for part in parts if part)))
