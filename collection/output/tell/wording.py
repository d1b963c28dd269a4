"""Figures and records in words: one line per record, one phrase per figure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from collection.language.sentences import conditions, counted, worked
from collection.language.words import SEVERITY_SPOKEN, parts_of
from collection.language.words import SHEET_NAMES as SHEET_NAMES
from collection.records.sheets import SHEETS
from collection.values.spoken_dates import in_words

Json = dict[str, Any]

DECIDED = {"approve": "approved", "refuse": "refused", "defer": "deferred"}
DRY = {"yes": "looked at again when dry", "no": "looked at wet only"}
SEVERITY_MEANS = {
    "destroys": "recorded evidence says that it would be taken",
    "endangers": "evidence or a model says that it may be taken",
    "untested": "nobody has tested it, so nothing clears it",
    "stood": "a test as harsh as this took nothing, where it was made",
    "clear": "nothing that is kept can be touched",
}


BROUGHT = {
    "objects": ("object described", "objects described"),
    "samples": ("sample read", "samples read"),
    "layers": ("coat told apart in them", "coats told apart in them"),
    "analyses": ("analysis", "analyses"),
    "tests": ("cleaning test", "cleaning tests"),
    "responses": ("coat that a test met", "coats that tests met"),
    "conditions": ("condition noted", "conditions noted"),
    "schemes": ("finish named", "finishes named"),
    "decorations": ("piece of decoration", "pieces of decoration"),
    "components": ("part", "parts"),
    "zones": ("place marked out on them", "places marked out on them"),
    "reserves": ("place that must stay untouched", "places that must stay untouched"),
    "treatments": ("earlier work found out", "earlier works found out"),
    "treatment_steps": ("step of such work", "steps of such work"),
    "advice": ("piece of advice", "pieces of advice"),
    "claims": ("claim", "claims"),
    "hazards": ("hazard", "hazards"),
    "proposals": ("proposal", "proposals"),
    "proposal_steps": ("step proposed", "steps proposed"),
    "pictures": ("picture", "pictures"),
    "drawings": ("drawing", "drawings"),
    "sources": ("report, letter or other source", "reports, letters and other sources"),
}
"""Each kind of record as people say it, one and many, in the order in which a survey's page counts them."""


def brought(counts: Mapping[str, int]) -> list[str]:
    """What a survey brought, in plain words: `26 samples read`."""
    return [counted(counts[table], *words) for table, words in BROUGHT.items() if counts.get(table)]


def read_counts(row: Mapping[str, Any]) -> str:
    """`2 of 3 (1 trace)`, or `not looked at`."""
    if not row["read"]:
        return "not looked at"
    return f"{row['present']} of {row['read']}" + (f" ({counted(row['traces'], 'trace')})" if row["traces"] else "")


def area(own_m2: float | None, whole_m2: float | None) -> str | None:
    """The area of a place, in m², that survival is counted in: its own, beside the places marked out on it; where that is
    less than the whole that is on record, both are said."""
    if own_m2 is None:
        return None
    if whole_m2 is None or own_m2 >= whole_m2 * (1 - 1e-6):
        return f"{own_m2:g} m²"
    return f"{own_m2:g} m² beside the places marked out on it, {whole_m2:g} m² in all"


def severity(word: str) -> str:
    """A severity in plain words."""
    return SEVERITY_SPOKEN[word]


def met(row: Mapping[str, Any]) -> str:
    """The coat that a response is about."""
    if row.get("decoration"):
        return f"decoration {row['decoration']}"
    if row.get("sample"):
        return f"coat {row.get('position')} of sample {row['sample']}"
    if row.get("scheme"):
        return f"scheme {row['scheme']}" + (f", {row['role']}" if row.get("role") else "")
    return "an unnamed coat"


def conditions_of(row: Mapping[str, Any]) -> str:
    """How an agent was or would be used: application, time, strength; empty where nothing is stated."""
    depth = f"{row['depth_um']:g} µm deep" if row.get("depth_um") is not None else None
    return ", ".join(part for part in (conditions(row), depth) if part)


def one_line(sheet: str, row: Mapping[str, Any]) -> str:
    """A record in one line, as an evidence card shows it."""
    said = [part for part in _LINES[sheet](row) if part] if sheet in _LINES else []
    return "; ".join(said) or row["key"]


def _test(row: Mapping[str, Any]) -> Iterator[str | None]:
    yield f"{row['agent']}" + (f" ({conditions_of(row)})" if conditions_of(row) else "")
    yield f"at {row['place']}"
    yield in_words(row.get("tested_on"))
    yield f"on {row['finish']} finish" if row.get("finish") else None
    yield DRY.get(row.get("after_drying") or "")
    for response in row.get("responses", ()):
        yield f"{met(response)}: {response['response']}"


def _layer(row: Mapping[str, Any]) -> Iterator[str | None]:
    yield ", ".join(part for part in (row.get("colour"), row["role"], row.get("binder")) if part)
    yield f"scheme {row['scheme']}" if row.get("scheme") else None
    yield row.get("coverage")
    yield f"{row['thickness_um']:g} µm" if row.get("thickness_um") else None


def _step(row: Mapping[str, Any]) -> Iterator[str | None]:
    yield worked(row)


def advised(row: Mapping[str, Any]) -> str:
    """What advice speaks against, until when, and what replaced it, as far as that is recorded."""
    parts = (
        row.get("against") and f"against {', '.join(parts_of(row['against']))}",
        row.get("until") and f"until {in_words(row['until'])}",
        row.get("replaced_by") and f"replaced by {row['replaced_by']}",
    )
    return "; ".join(part for part in parts if part)


def _listed(*names: str) -> Any:
    return lambda row: (_said(name, row[name]) if row.get(name) is not None else None for name in names)


def _said(name: str, value: Any) -> str:
    return in_words(value) if name in _DATES else str(value)


_DATES = frozenset(column.name for record in SHEETS for column in record.columns() if column.kind == "date")
_LINES: dict[str, Any] = {
    "tests": _test,
    "layers": _layer,
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
    "zones": _listed("name", "component"),
    "components": _listed("name", "origin", "presence"),
    "pictures": _listed("caption", "lighting", "taken_on"),
    "sources": _listed("title", "kind", "dated"),
    "advice": lambda row: iter((row["what"], in_words(row["given_on"]), advised(row))),
    "proposals": _listed("title", "proposed_on"),
    "proposal_steps": _listed("action", "place", "agent"),
}
