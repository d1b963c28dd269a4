"""The kinds of record of a notebook: how a line starts, and which columns its first cells are."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Kind:
    """How a record's line starts (after its word) and which columns its first cells are."""

    sheet: str
    head: str
    cells: tuple[str, ...] = ()


AT = r"(?: at (?P<place>\S+))?"
KINDS = {
    "object": Kind("objects", r"(?P<object>\S+) (?P<_short>\S+)", ("title", "kind")),
    "part": Kind("components", r"(?P<component>\S+)", ("name",)),
    "drawing": Kind("drawings", r"(?P<drawing>\S+) (?P<_stem>\S+)", ("title",)),
    "zone": Kind("zones", r"(?P<zone>\S+) on (?P<component>\S+)", ("name",)),
    "source": Kind("sources", r"(?P<source>\S+)", ("kind", "dated", "title", "kept_at")),
    "scheme": Kind("schemes", r"(?P<scheme>\S+)", ("name", "period")),
    "sample": Kind(
        "samples", r"(?P<sample>\S+) at (?P<place>\S+)(?: (?P<x>[\d.]+),(?P<y>[\d.]+))?", ("method", "chosen")
    ),
    "analysis": Kind("analyses", r"(?P<analysis>\S+)(?: of (?P<_coat>\S+))?" + AT, ("technique", "result")),
    "decoration": Kind("decorations", r"(?P<decoration>\S+) at (?P<place>\S+)", ("kind", "description")),
    "reserve": Kind("reserves", r"(?P<reserve>\S+) at (?P<place>\S+)", ("kind", "shows")),
    "test": Kind("tests", r"(?P<test>\S+) at (?P<place>[^\s,]+)(?:, (?P<sample>\S+))?", ("agent",)),
    "condition": Kind("conditions", r"(?P<place>\S+)", ("_phenomenon",)),
    "treatment": Kind("treatments", r"(?P<treatment>\S+)", ("purpose", "started")),
    "advice": Kind("advice", r"(?P<advice>\S+)" + AT, ("what",)),
    "claim": Kind("claims", r"(?P<claim>\S+)" + AT, ("statement", "status")),
    "hazard": Kind("hazards", r"(?P<hazard>\S+)(?: on (?P<component>\S+))?", ("kind", "status")),
    "picture": Kind("pictures", r"(?P<picture>\S+) at (?P<place>\S+)", ("_lights", "caption")),
    "micrograph": Kind("pictures", r"(?P<picture>\S+) of (?P<sample>\S+)", ("_lights",)),
    "proposal": Kind("proposals", r"(?P<proposal>\S+)", ("title",)),
}
