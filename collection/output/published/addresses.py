"""Addresses: one lasting address for each object, place, sample, proposal and record."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from datasette.utils import tilde_encode

from collection.store.base.listed_cells import LISTED

Json = dict[str, Any]

PARTS = ("components", "zones")
ON_TESTS = ("tests", "responses")
ON_HISTORY = ("treatments", "treatment_steps", "advice")


def anchor(sheet: str, code: str) -> str:
    """The anchor of a record on its page; `code` is its key without the object."""
    return f"{sheet}-{tilde_encode(code)}"


class Addresses:
    """The addresses of one object's pages and records.

    :param path: turns a path of the site into one that works where the site is served.
    """

    def __init__(self, path: Callable[[str], str], code: str) -> None:
        self.path, self.code = path, code
        self.object = path(f"/object/{tilde_encode(code)}")

    def beside(self) -> Addresses:
        """The same, shorter, for links on the object's own page."""
        found = Addresses(lambda path: path, self.code)
        found.object = tilde_encode(self.code)
        return found

    def place(self, code: str) -> str:
        return f"{self.object}/place/{tilde_encode(code)}"

    def sample(self, code: str) -> str:
        return f"{self.object}/sample/{tilde_encode(code)}"

    def proposal(self, code: str) -> str:
        return f"{self.object}/proposal/{tilde_encode(code)}"

    def loss(self, proposal: str, loss: str) -> str:
        """The evidence behind one line of a proposal."""
        return f"{self.proposal(proposal)}/loss/{tilde_encode(loss)}"

    def page(self, name: str) -> str:
        """One of the object's single pages: timeline, stratigraphy, tests, records."""
        return f"{self.object}/{name}"

    def compare(self, earlier: str, later: str) -> str:
        """What changed between two surveys."""
        return f"{self.object}/compare/{tilde_encode(earlier)}/{tilde_encode(later)}"

    def anchor(self, sheet: str, key: str) -> str:
        return anchor(sheet, key.removeprefix(f"{self.code}/"))

    def record(self, sheet: str, row: Json) -> str:
        """The address at which a record is shown in full."""
        if sheet in PARTS:
            return self.place(row["component" if sheet == "components" else "zone"])
        if sheet == "samples":
            return self.sample(row["sample"])
        if sheet == LISTED:
            return f"{self.object}#listed"
        at = f"#{self.anchor(sheet, row['key'])}"
        if sheet == "layers" or (sheet in ("analyses", "pictures") and row.get("sample")):
            return self.sample(row["sample"]) + at
        if sheet == "pictures":
            where = row.get("place") or "all"
            return (self.object if where == "all" else self.place(where)) + at
        if sheet == "proposals":
            return self.proposal(row["proposal"])
        if sheet == "proposal_steps":
            return self.proposal(row["proposal"]) + at
        page = "tests" if sheet in ON_TESTS else "timeline" if sheet in ON_HISTORY else "records"
        return self.page(page) + at
