"""The rows of the sample's survey packages, as `draw_pictures` asks for them."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Sequence
from pathlib import Path

from picture_marks import Row

from collection.records.sheets import BY_SHEET


class SurveyRows:
    """The rows of all packages, each with the year of the survey that first brought it as `_year`.

    A later survey that puts a record right replaces its cells: things looked then as they were, not as they
    were written down.
    """

    def __init__(self, folders: Sequence[Path]) -> None:
        self.sheets: dict[str, list[Row]] = {}
        by_key: dict[tuple[str, ...], Row] = {}
        for folder in folders:
            year = str(tomllib.loads((folder / "survey.toml").read_text("utf-8"))["started"])[:4]
            for path in sorted(folder.glob("*.csv")):
                with path.open(encoding="utf-8", newline="") as handle:
                    for row in csv.DictReader(handle):
                        key = (path.stem, *(row.get(name, "") for name in BY_SHEET[path.stem].key))
                        if key in by_key:
                            by_key[key].update(
                                {name: "" if cell == "not recorded" else cell for name, cell in row.items() if cell}
                            )
                            continue
                        by_key[key] = {**row, "_year": year, "_folder": str(folder)}
                        self.sheets.setdefault(path.stem, []).append(by_key[key])

    def rows(self, sheet: str, thing: str, year: str, **equal: str) -> list[Row]:
        """Rows of one object that a survey had brought by `year`, in which every named cell is as given."""
        return [
            r
            for r in self.sheets.get(sheet, [])
            if r["object"] == thing
            and r["_year"] <= year
            and all(r.get(name, "") == value for name, value in equal.items())
        ]

    def stack(self, thing: str, sample: Row) -> list[Row]:
        """A sample's rows from the support outward."""
        rows = self.rows("layers", thing, "9999", sample=sample["sample"])
        return sorted(rows, key=lambda r: int(r["position"]), reverse=sample.get("counted_from") == "surface")
