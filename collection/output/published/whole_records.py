"""Published records as JSON has them: with every published column, blank ones as null."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

Json = dict[str, Any]

_ONE_ROW = {"record": "objects", "sample": "samples", "proposal": "proposals"}
"""Names under which one row of a table stands."""


def whole_records(found: Mapping[str, Any], columns: Mapping[str, Sequence[str]]) -> Json:
    """Plain data with every published column of every record in it, blank ones as None.

    :param columns: the published columns by table.
    """
    blank = {table: dict.fromkeys(names) for table, names in columns.items()}

    def value(name: str, inner: Any) -> Any:
        if isinstance(inner, dict):
            table = _ONE_ROW.get(name) if "key" in inner else None
            return row(blank[table] if table else {}, inner)
        if isinstance(inner, list) and name in blank:
            own = blank[name]
            return [row(own if "key" in each else {}, each) if isinstance(each, dict) else each for each in inner]
        return inner

    def row(blanks: Json, own: Json) -> Json:
        made = {**blanks, **own}
        for name, item in own.items():
            if item.__class__ is dict or item.__class__ is list:
                made[name] = value(name, item)
        return made

    return {name: value(name, inner) for name, inner in found.items()}
