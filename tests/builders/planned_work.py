"""A proposal as the threats read it."""

from __future__ import annotations

from typing import Any

from collection.compute.risk.threat import Planned


def planned(**said: Any) -> Planned:
    """A proposal to strip an object, open, which would destroy two things: with what is said of it in place of that."""
    usual = {"key": "T.1/P1", "title": "Strip it", "destroys": 2, "decision": None, "overtaken": False}
    return Planned(**{**usual, "carried_out": False, "takes": (0.1, 0.4, 0.7), **said})
