"""The ids of things: lasting addresses where the site's is known, names otherwise, never relative to a file.

Without an address an object's id is `urn:uuid:` with a UUID made from the collection's code and the object's number
(version 5 of RFC 9562), and its records stand behind `#` in it: the same records get the same ids, here and in every
later export.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Mapping
from typing import Any

from datasette.utils import tilde_decode, tilde_encode

from collection.output.export.linked_art.context import OWN, Json
from collection.output.published.addresses import PARTS, Addresses
from collection.records.sheets import BY_SHEET, DATED_STATES

ALL = "all"
_NAMES = uuid.UUID(OWN.removeprefix("urn:uuid:").removesuffix("#"))
_ON_PAGES = frozenset({"place", *PARTS, "samples", "proposals"})
"""What has a page of its own, so that its id ends with its code alone."""


class Ids:
    """The ids of one object's things.

    :param address: where the site stands, as `https://host/`; None where nobody said.
    :param whose: the collection's code or name, which tells its numbers from another collection's.
    """

    def __init__(self, code: str, address: str | None, whose: str = "") -> None:
        self.code, self.address, self._whose = code, address, whose
        self._to = Addresses(self._path, code)
        self.object = self._to.object
        self._things: dict[tuple[str, str], str] = {}

    def other(self, code: str) -> str:
        """Another object."""
        return Addresses(self._path, code).object

    def survey(self, code: str) -> str:
        return self._path(f"/survey/{tilde_encode(code)}")

    def collection(self, address: str | None) -> str:
        """The collection, by the lasting address that it says is its own."""
        return address or self._path("/")

    def file(self, name: str) -> str | None:
        """The address of a published image; None where there is none."""
        return None if self.address is None else self._path(f"/picture/{name}")

    def place(self, code: str) -> str:
        return self.object if code == ALL else self._name(self._to.place(code))

    def thing(self, sheet: str, code: str) -> str:
        """The thing that a code names: a part, a decoration, a sample …; of what is dated not one state of it."""
        found = self._things.get((sheet, code))
        if found is None:
            if sheet == "place":
                found = self.place(code)
            else:
                row = {"key": f"{self.code}/{code}", BY_SHEET[sheet].key[1]: code}
                found = self.record(sheet, row, dated=False)
            self._things[sheet, code] = found
        return found

    def coat(self, sample: str, position: int) -> str:
        return self.record("layers", {"key": f"{self.code}/{sample}/{position}", "sample": sample})

    def record(self, sheet: str, row: Mapping[str, Any], *, dated: bool = True) -> str:
        """One row of a sheet: of what is dated one state, which is not the thing itself."""
        if dated and sheet in DATED_STATES:
            code = row[BY_SHEET[sheet].key[1]]
            thing, state = self.thing(sheet, code), tilde_encode(f"{code}/{row.get('observed_on') or ''}")
            return f"{thing.partition('#')[0]}#{sheet}-{state}" if self.address else f"{thing}/{sheet}-{state}"
        return self._name(self._to.record(sheet, dict(row)))

    def under(self, found: str, name: str) -> str:
        """Something that belongs to a thing and is no record."""
        return f"{found}{'/' if '#' in found else '#'}{name}"

    def name_within(self, node: Json, *names: str) -> None:
        """Give ids to what hangs from a node that several documents tell of, so that read together they say it once."""
        for name in names or tuple(node):
            for each in node[name] if isinstance(node[name], list) else (node[name],):
                if isinstance(each, dict) and "id" not in each:
                    each["id"] = self.under(node["id"], f"{name}-{each['type']}")

    def code_of(self, sheet: str, found: str) -> str:
        """The code that an id was made from."""
        if sheet == "place" and found == self.object:
            return ALL
        tail = re.split(r"[#/]", found)[-1]
        return str(tilde_decode(tail if sheet in _ON_PAGES else tail.removeprefix(f"{sheet}-")))

    def _path(self, path: str) -> str:
        """A page of the site; without an address the name of what stands there."""
        if self.address is not None:
            return self.address + path.removeprefix("/")
        return f"urn:uuid:{uuid.uuid5(_NAMES, f'{self._whose}{path}')}"

    def _name(self, address: str) -> str:
        if self.address is not None:
            return address
        return f"{self.object}#{address.removeprefix(self.object).strip('/#').replace('#', '/')}"
