"""Figures and records as people read them: sentences, intervals, anchors, one line per record."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from collection.sentences import counted
from collection.words import SEVERITY_SPOKEN
from collection.words import SHEET_NAMES as SHEET_NAMES

Json = dict[str, Any]

DECIDED = {"approve": "approved", "refuse": "refused", "defer": "deferred"}
SEVERITY_MEANS = {
    "destroys": "recorded evidence says that it would be taken",
    "endangers": "evidence or a model says that it may be taken",
    "untested": "nobody has tested it, so nothing clears it",
    "stood": "a test as harsh as this took nothing, where it was made",
    "clear": "nothing that is kept lies within reach",
}


def read_counts(row: Mapping[str, Any]) -> str:
    """`2 of 3 (1 trace)`, or that nobody looked."""
    if not row["read"]:
        return "not looked at"
    return f"{row['present']} of {row['read']}" + (f" ({counted(row['traces'], 'trace')})" if row["traces"] else "")


def severity(word: str) -> str:
    """A severity as people read it."""
    return SEVERITY_SPOKEN[word]


def met(row: Mapping[str, Any]) -> str:
    """The coat that a response speaks of."""
    if row.get("decoration"):
        return f"decoration {row['decoration']}"
    if row.get("sample"):
        return f"coat {row.get('position')} of sample {row['sample']}"
    if row.get("scheme"):
        return f"scheme {row['scheme']}" + (f", {row['role']}" if row.get("role") else "")
    return "a coat that is not named"


def conditions_of(row: Mapping[str, Any]) -> str:
    """How an agent was or would be used: application, time, strength; empty where nothing is stated."""
    units = (("application", "{}"), ("dwell_s", "{:g} s"), ("passes", "{}×"), ("temperature_c", "{:g} °C"),
             ("ph", "pH {:g}"), ("conductivity_mscm", "{:g} mS/cm"), ("depth_um", "{:g} µm deep"))
    return ", ".join(form.format(row[name]) for name, form in units if row.get(name) is not None)


def one_line(sheet: str, row: Mapping[str, Any]) -> str:
    """A record in one line, as it stands on an evidence card."""
    said = [part for part in _LINES[sheet](row) if part] if sheet in _LINES else []
    return "; ".join(said) or row["key"]


def _test(row: Mapping[str, Any]) -> Iterator[str | None]:
    yield f"{row['agent']}" + (f" ({conditions_of(row)})" if conditions_of(row) else "")
    yield f"at {row['place']}"
    yield row.get("tested_on")
    for response in row.get("responses", ()):
        yield f"{met(response)}: {response['response']}"


def _layer(row: Mapping[str, Any]) -> Iterator[str | None]:
    yield ", ".join(part for part in (row.get("colour"), row["role"], row.get("binder")) if part)
    yield f"scheme {row['scheme']}" if row.get("scheme") else None
    yield row.get("coverage")
    yield f"{row['thickness_um']:g} µm" if row.get("thickness_um") else None


def _step(row: Mapping[str, Any]) -> Iterator[str | None]:
    yield row["action"] + (f" with {row['agent']}" if row.get("agent") else "")
    yield f"took off {row['removed']}" if row.get("removed") else None
    yield f"stopped at {row['stopped_at']}" if row.get("stopped_at") else None


def _listed(*names: str) -> Any:
    return lambda row: (str(row[name]) if row.get(name) is not None else None for name in names)


_LINES: dict[str, Any] = {
    "tests": _test, "layers": _layer,
    "responses": lambda row: iter((f"{met(row)}: {row['response']}",)),
    "samples": _listed("method", "chosen"),
    "decorations": _listed("kind", "description", "state", "observed_on"),
    "reserves": _listed("kind", "place", "shows", "made_on"),
    "conditions": _listed("phenomenon", "place", "observed_on"),
    "treatments": _listed("purpose", "started", "ended", "outcome"),
    "treatment_steps": _step,
    "schemes": _listed("name", "period", "basis"),
    "claims": _listed("statement", "status", "observed_on"),
    "hazards": _listed("kind", "status", "observed_on"),
    "analyses": _listed("technique", "result", "analysed_on"),
    "zones": _listed("name", "component"), "components": _listed("name", "origin", "presence"),
    "pictures": _listed("caption", "lighting", "taken_on"), "sources": _listed("title", "kind", "dated"),
    "advice": _listed("what", "given_on"), "proposals": _listed("title", "proposed_on"),
    "proposal_steps": _listed("action", "place", "agent"),
}
