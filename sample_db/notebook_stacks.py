"""Build-ups in a notebook: coats named once, and stacks written from the support up, one coat a line.

    coat lake 1 body colour | lake, deep red | oil, analysed | Lab 28 36 14
    stack maker | wood lead fill lake
    sample S01 at L-WAIST 332,170 | cross-section | random | to the support
      as maker: 28 44 22
      but lake partial
      maroon 38 (33–47) | gloss 52

A coat of a scheme is intact and as certain as its scheme, unless the line says otherwise. What is copied
brings its coats and never its thicknesses or notes: those were another sample's.
"""

from __future__ import annotations

import re

from notebook_cells import NotebookFault, Row, coat_head, read_cell, split_end

from collection.language.words import ROLE

MEASURED = ("thickness_um", "thickness_min_um", "thickness_max_um", "notes")


class Stacks:
    """The coats, usual build-ups and samples of one notebook, as far as they have been read."""

    def __init__(self) -> None:
        self.coats: dict[str, Row] = {}
        self.stacks: dict[str, list[tuple[str, Row]]] = {}
        self.certainty: dict[str, str] = {}
        self._upside_down: set[str] = set()

    def __contains__(self, name: str) -> bool:
        return name in self.stacks

    def begin(self, sample: str, *, from_surface: bool) -> None:
        """A sample whose coats follow."""
        self.stacks[sample] = []
        if from_surface:
            self._upside_down.add(sample)

    def name_coat(self, cells: list[str]) -> None:
        """A `coat` line: a name, the scheme where there is one, the role; then its colour and looks."""
        name, _, rest = cells[0].partition(" ")
        scheme, role = split_end(rest, ROLE)
        if not role:
            raise NotebookFault(f"{rest!r} does not end with a role: {', '.join(ROLE.words)}")
        if name in self.coats:
            raise NotebookFault(f"the coat {name!r} is named twice")
        row = {"role": role, "colour": cells[1] if len(cells) > 1 else ""}
        if scheme:
            if scheme not in self.certainty:
                raise NotebookFault(f"there is no scheme {scheme!r} above")
            row |= {"scheme": scheme, "certainty": self.certainty[scheme], "coverage": "intact"}
        for cell in cells[2:]:
            row |= read_cell("layers", cell, {})
        self.coats[name] = row

    def name_stack(self, cells: list[str]) -> None:
        """A `stack` line: a usual build-up."""
        name, coats = cells
        self.stacks[name] = [(coat, dict(self._known(coat))) for coat in coats.split()]

    def line(self, sample: str, cells: list[str]) -> None:
        """One line beneath a sample.

        :raises NotebookFault: for a coat that is not named, or does not lie where it is said to.
        """
        stack = self.stacks[sample]
        head, *words = cells[0].split()
        if head == "as":
            self._as(stack, cells[0])
            return
        if head == "without":
            del stack[self._index(stack, words[0])]
            return
        if head == "but":
            coat, words = stack[self._index(stack, words[0])][1], words[1:]
        else:
            coat = dict(self._known(head))
            stack.append((head, coat))
        coat |= coat_head(words)
        for cell in cells[1:]:
            coat |= read_cell("layers", cell, {})

    def holds(self, sample: str, coat: str) -> bool:
        return any(name == coat.partition(".")[0] for name, _ in self.stacks.get(sample, []))

    def coat(self, sample: str, name: str) -> tuple[int, Row]:
        """A coat's number from the lowest (0) and its cells."""
        if sample not in self.stacks:
            raise NotebookFault(f"there is no sample {sample!r}")
        number = self._index(self.stacks[sample], name)
        return number, self.stacks[sample][number][1]

    def position(self, sample: str, number: int) -> str:
        """The position of the coat that lies `number` coats above the lowest."""
        return str(len(self.stacks[sample]) - number if sample in self._upside_down else number + 1)

    def coat_at(self, coat: str, sample: str) -> tuple[str, str]:
        """A coat's sample and position: `S01/lake`, or `lake` in the sample that is given."""
        if "/" in coat:
            sample, _, coat = coat.partition("/")
        number, _ = self.coat(sample, coat)
        return sample, self.position(sample, number)

    def rows(self, sample: str) -> list[Row]:
        """A sample's coats as rows, in the order in which they are counted."""
        rows = [
            {"sample": sample, "position": self.position(sample, number), **coat}
            for number, (_, coat) in enumerate(self.stacks[sample])
        ]
        return rows[::-1] if sample in self._upside_down else rows

    def _known(self, name: str) -> Row:
        if name not in self.coats:
            raise NotebookFault(f"there is no coat {name!r} among the `coat` lines above")
        return self.coats[name]

    def _as(self, stack: list[tuple[str, Row]], text: str) -> None:
        match = re.fullmatch(r"as (\S+?)(?: from (\S+?))?(?: to (\S+?))?(?:: (.+))?", text)
        if match is None or match[1] not in self.stacks:
            raise NotebookFault(f"{text!r} names no stack or sample above")
        named = self.stacks[match[1]]
        start = self._index(named, match[2]) if match[2] else 0
        end = self._index(named, match[3]) + 1 if match[3] else len(named)
        coats = [(name, {**coat, **dict.fromkeys(MEASURED, "")}) for name, coat in named[start:end]]
        measured = (match[4] or "").split()
        bearing = [coat for _, coat in coats if coat["role"] != "support"]
        if measured and len(measured) != len(bearing):
            raise NotebookFault(
                f"{len(bearing)} coats lie there (the support apart) and {len(measured)} thicknesses stand here"
            )
        for coat, thickness in zip(bearing, measured, strict=False):
            coat["thickness_um"] = "" if thickness == "-" else thickness
        stack.extend(coats)

    @staticmethod
    def _index(stack: list[tuple[str, Row]], name: str) -> int:
        """Where a coat lies: `lake`, or `fill.2` for the second of that name from the support."""
        base, _, which = name.partition(".")
        found = [number for number, (coat, _) in enumerate(stack) if coat == base]
        if not found or (which and int(which) > len(found)):
            raise NotebookFault(f"there is no coat {name!r} in that stack")
        if len(found) > 1 and not which:
            raise NotebookFault(f"{base!r} lies there {len(found)} times; say which: {base}.1 is the lowest")
        return found[int(which) - 1 if which else 0]
