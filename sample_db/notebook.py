"""Reads one object's notebook: a text file with one record a line, in two sections by survey.

The format is described in README.md under "The notebooks". Reading gives rows by survey and sheet, drawings
as SVG, and what the author means each proposal to meet; nothing is computed from the program under test.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from notebook_cells import DAY_AND_PERSON, NotebookFault, Row, person, read_cell, split_end
from notebook_drawing import View, area_m2
from notebook_kinds import KINDS, Kind
from notebook_pictures import picture_rows
from notebook_stacks import Stacks

from collection.language.words import PHENOMENON, ROLE, SEVERITY
from collection.language.work_words import ACTION, RESPONSE
from collection.records.sheets import BY_SHEET


@dataclass
class Notebook:
    """What one notebook says: rows by (survey's folder, sheet), drawings by (folder, file), planned outcomes."""

    path: Path
    rows: dict[tuple[str, str], list[Row]] = field(default_factory=dict)
    drawings: dict[tuple[str, str], str] = field(default_factory=dict)
    expected: dict[str, dict[str, Any]] = field(default_factory=dict)

    def one(self, sheet: str) -> Row:
        """The first row of a sheet."""
        return next(row for (_, other), rows in self.rows.items() if other == sheet for row in rows)

    def count(self, sheet: str) -> int:
        """How many records a sheet has; one that is put right later counts once."""
        return len(
            {
                tuple(row.get(name, "") for name in BY_SHEET[sheet].key)
                for (_, other), rows in self.rows.items()
                if other == sheet
                for row in rows
            }
        )


def read_notebook(path: Path, surveys: dict[str, dict[str, Any]]) -> Notebook:
    """One object's notebook. `surveys` is what surveys.toml says, by folder name.

    :raises NotebookFault: for the first line that cannot be read, with file and line.
    """
    reader = _Reader(Notebook(path), surveys)
    for number, line in _lines(path):
        try:
            reader.line(line)
        except NotebookFault as fault:
            raise NotebookFault(f"{path.name}, line {number}: {fault}.") from None
    try:
        reader.close()
    except NotebookFault as fault:
        raise NotebookFault(f"{path.name}: {fault}.") from None
    return reader.book


def _lines(path: Path) -> list[tuple[int, str]]:
    """Lines with what continues them (lines that start with a bar), without blank ones and remarks."""
    found: list[tuple[int, str]] = []
    for number, line in enumerate(path.read_text("utf-8").splitlines(), 1):
        stripped = line.strip()
        if stripped.startswith("|") and found:
            found[-1] = (found[-1][0], f"{found[-1][1]} {stripped}")
        elif stripped and not stripped.startswith("#"):
            found.append((number, line.rstrip()))
    return found


class _Reader:
    def __init__(self, book: Notebook, surveys: dict[str, dict[str, Any]]) -> None:
        self.book, self.surveys = book, surveys
        self.object = self.short = self.year = self.day = self.person = self.word = ""
        self.stacks = Stacks()
        self.layer_corrections: list[tuple[str, str, int, Row]] = []
        self.view: View | None = None
        self.parent: Row = {}

    @property
    def survey(self) -> dict[str, Any]:
        return self.surveys[self.year]

    @property
    def people(self) -> dict[str, str]:
        return self.survey["people"] if self.year else {}

    def line(self, line: str) -> None:
        if line.startswith("== "):
            self.year = line[3:].strip()
            if self.year not in self.surveys:
                raise NotebookFault(f"there is no survey {self.year!r} in surveys.toml")
            self.day = self.person = ""
        elif line[0].isspace():
            self._child([cell.strip() for cell in line.split("|")])
        else:
            word, _, rest = line.partition(" ")
            self._record(word, [cell.strip() for cell in rest.split("|")])

    def close(self) -> None:
        """Number the coats, now that every stack is whole, and name the coats that tests and analyses met."""
        for (year, sheet), rows in list(self.book.rows.items()):
            if sheet == "samples":
                layers = self.book.rows.setdefault((year, "layers"), [])
                layers += [{"object": self.object, **one} for row in rows for one in self.stacks.rows(row["sample"])]
        for year, sample, number, changes in self.layer_corrections:
            position = self.stacks.position(sample, number)
            old = next(one for one in self.stacks.rows(sample) if one["position"] == position)
            notes = " ".join(filter(None, (old.get("notes", ""), changes["notes"])))
            self.book.rows.setdefault((year, "layers"), []).append(
                {"object": self.object, **old, **changes, "notes": notes}
            )
        for rows in self.book.rows.values():
            for row in rows:
                if "_coat" in row:
                    row["sample"], row["position"] = self.stacks.coat_at(row["_coat"], row.get("_sample", ""))
                for name in [name for name, value in row.items() if name.startswith("_") or value == ""]:
                    del row[name]

    # --- records -----------------------------------------------------------------------------------------------

    def _record(self, word: str, cells: list[str]) -> None:
        self.word, self.view = word, None
        if word == "day":
            self.day, _, who = cells[0].partition(" ")
            self.person = person(who, self.people)
        elif word == "coat":
            self.stacks.name_coat(cells)
        elif word == "stack":
            self.stacks.name_stack(cells)
        elif word == "correct":
            self._correct(cells)
        elif word in KINDS:
            if not self.year and word != "object":
                raise NotebookFault("a record needs a survey: write `== 2014` above it")
            self._add(word, cells)
        else:
            raise NotebookFault(f"{word!r} begins no record; known are {', '.join(KINDS)}, day, coat, stack, correct")

    def _add(self, word: str, cells: list[str]) -> None:
        kind = KINDS[word]
        row = self._read(kind, cells)
        day, who = DAY_AND_PERSON.get(kind.sheet, ("", ""))
        if day:
            row.setdefault(day, self.day)
        if who and kind.sheet not in ("treatments", "proposals"):
            row.setdefault(who, self.person)
        if word == "object":
            self.object, self.short = row["object"], row["_short"]
            self.year = self.year or min(self.surveys)
        row = {"object": self.object, **row}
        if word in ("picture", "micrograph"):
            stack = self.stacks.rows(row["sample"]) if "sample" in row else []
            known = [r["file"] for (_, sheet), rows in self.book.rows.items() if sheet == "pictures" for r in rows]
            place = row.get("place") or self._sample(row["sample"])["place"]
            for one in picture_rows({**row, "place": place}, self.short, self.year, stack, known, self.survey):
                self._store("pictures", one)
            return
        getattr(self, f"_finish_{kind.sheet}", lambda _: None)(row)
        self._store(kind.sheet, row)

    def _read(self, kind: Kind, cells: list[str]) -> Row:
        match = re.fullmatch(kind.head, cells[0])
        if match is None:
            raise NotebookFault(f"{cells[0]!r} is no beginning of this record")
        row = {name: text for name, text in match.groupdict().items() if text is not None}
        row.update(zip(kind.cells, cells[1:], strict=False))
        names = {column.name: column for column in BY_SHEET[kind.sheet].columns()}
        for name in kind.cells:
            words = names[name].words if name in names else None
            if words is not None and row.get(name) and row[name] not in words.words:
                raise NotebookFault(f"{row[name]!r} is no word for {name}: {', '.join(words.words)}")
        for cell in cells[1 + len(kind.cells) :]:
            row.update(read_cell(kind.sheet, cell, self.people))
        return row

    def _store(self, sheet: str, row: Row) -> None:
        self.parent = row
        key = BY_SHEET[sheet].key
        for (_, other), rows in self.book.rows.items():
            if other == sheet and any(all(r.get(name, "") == row.get(name, "") for name in key) for r in rows):
                raise NotebookFault(
                    f"{sheet} {' '.join(row.get(name, '') for name in key)} is written twice; a change "
                    "is a `correct` line"
                )
        self.book.rows.setdefault((self.year, sheet), []).append(row)

    # --- what single sheets add ---------------------------------------------------------------------------------

    def _finish_components(self, row: Row) -> None:
        row.setdefault("presence", "present")

    def _finish_drawings(self, row: Row) -> None:
        row["file"] = f"drawings/{row['_stem']}.svg"
        if "_width" not in row:
            raise NotebookFault("a drawing says how large it is: `460 × 300`, in its own units")
        self.view = View(
            row["_width"], row["_height"], row.get("mm_per_unit", ""), says=("8", str(int(row["_height"]) - 8))
        )

    def _finish_zones(self, row: Row) -> None:
        if row.get("outline") and "area_m2" not in row:
            drawing = self._find("drawings", drawing=row["drawing"])
            row["area_m2"] = f"{round(area_m2(row['outline'], float(drawing['mm_per_unit'])), 4):g}"
            row["area_basis"] = "measured"

    def _finish_schemes(self, row: Row) -> None:
        self.stacks.certainty[row["scheme"]] = row.get("certainty", "")

    def _finish_samples(self, row: Row) -> None:
        if row["method"] != "gauge":
            row.setdefault("counted_from", "support")
            row.setdefault("reaches_support", "no" if row["method"] == "surface" else "")
        for name, text in self.survey.get("samples", {}).get(row["method"], {}).items():
            row.setdefault(name, text)
        self.stacks.begin(row["sample"], from_surface=row.get("counted_from") == "surface")

    def _finish_conditions(self, row: Row) -> None:
        text = row.pop("_phenomenon")
        match = re.fullmatch(r"(.+?)(?: ([0-3]))?", text)
        assert match
        row["phenomenon"], row["severity"] = match[1], match[2] or ""
        if row["phenomenon"] not in PHENOMENON.words:
            raise NotebookFault(f"{row['phenomenon']!r} is no condition: {', '.join(PHENOMENON.words)}")

    def _finish_treatments(self, row: Row) -> None:
        if " to " in row.get("started", ""):
            row["started"], row["ended"] = row["started"].split(" to ")

    def _finish_proposals(self, row: Row) -> None:
        if row.get("permission") == "given":
            row["permission"] = self.survey["permission"]
        self.book.expected[f"{self.object}/{row['proposal']}"] = {
            "outcome": "",
            "why": "",
            "losses": {},
            "open_before_approval": [],
        }

    def _finish_analyses(self, row: Row) -> None:
        if "_coat" in row and "/" not in row["_coat"]:
            raise NotebookFault("an analysis is `of SAMPLE/COAT`, or `at PLACE`")

    # --- what stands beneath a record -----------------------------------------------------------------------------

    def _child(self, cells: list[str]) -> None:
        if self.word == "drawing" and self.view is not None:
            self.view.add(cells[0])
            self.book.drawings[self.year, self.parent["file"]] = self.view.svg()
        elif self.word == "sample":
            self.stacks.line(self.parent["sample"], cells)
        elif self.word == "test":
            self._response(cells)
        elif self.word == "treatment":
            self._step("treatment_steps", "treatment", cells)
        elif self.word == "proposal":
            self._proposal_line(cells)
        else:
            raise NotebookFault(f"nothing stands beneath {self.word!r}; a longer line goes on with a bar")

    def _response(self, cells: list[str]) -> None:
        met, _, response = cells[0].rpartition(": ")
        if response not in RESPONSE.words:
            raise NotebookFault(f"{response!r} is no response: {', '.join(RESPONSE.words)}")
        test, sample = self.parent["test"], self.parent.get("sample", "")
        row = {"object": self.object, "test": test, "response": response}
        decorations = {
            r["decoration"] for (_, sheet), rows in self.book.rows.items() if sheet == "decorations" for r in rows
        }
        first, _, role = met.partition("/")
        if first in self.stacks and role:
            row["_coat"] = met
        elif self.stacks.holds(sample, met):
            row |= {"_coat": met, "_sample": sample}
        elif met in decorations:
            row["decoration"] = met
        elif first in self.stacks.certainty and role in (*ROLE.words, ""):
            row |= {"scheme": first, "role": role}
        else:
            raise NotebookFault(
                f"{met!r} is no coat of the test's sample, no SAMPLE/COAT, no decoration and no SCHEME/ROLE"
            )
        if len(cells) > 1:
            row["notes"] = cells[1]
        self.book.rows.setdefault((self.year, "responses"), []).append(row)

    def _step(self, sheet: str, of: str, cells: list[str]) -> None:
        place, action = split_end(cells[0], ACTION)
        if not action or not place:
            raise NotebookFault(f"{cells[0]!r} is no PLACE ACTION; actions are {', '.join(ACTION.words)}")
        rows = self.book.rows.setdefault((self.year, sheet), [])
        step = 1 + sum(row["object"] == self.object and row[of] == self.parent[of] for row in rows)
        row = {"object": self.object, of: self.parent[of], "step": str(step), "place": place, "action": action}
        for cell in cells[1:]:
            row |= read_cell(sheet, cell, self.people)
        rows.append(row)

    def _proposal_line(self, cells: list[str]) -> None:
        planned = self.book.expected[f"{self.object}/{self.parent['proposal']}"]
        word, _, rest = cells[0].partition(" ")
        if word == "meant":
            planned["outcome"], planned["why"] = rest, " ".join(cells[1:])
            self._severity(rest)
        elif word == "loss":
            loss, _, severity = rest.rpartition(": ")
            planned["losses"][loss] = self._severity(severity)
        elif word == "open":
            planned["open_before_approval"] = sorted([*planned["open_before_approval"], rest])
        else:
            self._step("proposal_steps", "proposal", cells)

    @staticmethod
    def _severity(word: str) -> str:
        if word not in SEVERITY.words:
            raise NotebookFault(f"{word!r} is no severity: {', '.join(SEVERITY.words)}")
        return word

    # --- the second survey puts the first right -------------------------------------------------------------------

    def _correct(self, cells: list[str]) -> None:
        """A record of an earlier survey as it should have been, with the reason among its notes."""
        word, _, key = cells[0].partition(" ")
        if word == "layer":
            sample, _, coat = key.partition("/")
            number, old = self.stacks.coat(sample, coat)
            changes = self._changes("layers", old, cells[1:])
            self.layer_corrections.append((self.year, sample, number, changes))
            return
        if word not in KINDS:
            raise NotebookFault(f"{word!r} is nothing that can be corrected; known are layer, {', '.join(KINDS)}")
        kind = KINDS[word]
        old = self._find(kind.sheet, **{kind.head.partition(">")[0].removeprefix("(?P<"): key})
        changes = self._changes(kind.sheet, old, cells[1:])
        notes = " ".join(filter(None, (old.get("notes", ""), changes["notes"])))
        self.book.rows.setdefault((self.year, kind.sheet), []).append({**old, **changes, "notes": notes})

    def _changes(self, sheet: str, old: Row, cells: list[str]) -> Row:
        """What a correction changes, with its reason as a note.

        :raises NotebookFault: when it changes nothing, or says no reason.
        """
        changes: Row = {}
        why = ""
        for cell in cells:
            if cell.startswith("corrected because "):
                why = cell.removeprefix("corrected because ")
            else:
                changes |= read_cell(sheet, cell, self.people)
        if not why or all(old.get(name) == value for name, value in changes.items()):
            raise NotebookFault("a correction changes a cell and ends with `corrected because …`")
        # Blank says nothing in a package: a cell that is to be empty says so.
        return {name: value or "not recorded" for name, value in changes.items()} | {
            "notes": f"Corrected {self.year}: {why}"
        }

    def _find(self, sheet: str, **equal: str) -> Row:
        for (_, other), rows in self.book.rows.items():
            for row in rows if other == sheet else ():
                if all(row.get(name) == value for name, value in equal.items()):
                    return row
        raise NotebookFault(f"{sheet} holds no {' '.join(equal.values())}")

    def _sample(self, code: str) -> Row:
        return self._find("samples", sample=code)
