"""What was known about an object, and true of it, at the end of one day.

No rule is different: the same rules read the facts, less what surely came later. A row that may date from that day or
earlier stays, and so does one without a date.
"""

from __future__ import annotations

from collection.records.facts import FACT_SHEETS, Facts
from collection.records.sheets import Record
from collection.values import dates

DATED = {
    "components": "observed_on",
    "samples": "taken_on",
    "analyses": "analysed_on",
    "decorations": "observed_on",
    "reserves": "made_on",
    "tests": "tested_on",
    "conditions": "observed_on",
    "treatments": "started",
    "advice": "given_on",
    "claims": "observed_on",
    "hazards": "observed_on",
    "pictures": "taken_on",
}
"""The column that says from when a row of each sheet is true."""


def as_of(facts: Facts, day: str) -> Facts:
    """The facts at the end of a date, written in EDTF; if it is not exact, its last day counts.

    Rows that belong to a later row (the layers of a sample, the steps of a treatment) go with it.
    """
    last = dates.bounds(day).latest
    kept: dict[str, tuple[Record, ...]] = {
        sheet: tuple(row for row in getattr(facts, sheet) if not _later(sheet, row, last)) for sheet in FACT_SHEETS
    }
    samples = {row.sample for row in facts.samples} - {getattr(row, "sample", "") for row in kept["samples"]}
    tests = {row.test for row in facts.tests} - {getattr(row, "test", "") for row in kept["tests"]}
    treatments = {row.treatment for row in facts.treatments} - {
        getattr(row, "treatment", "") for row in kept["treatments"]
    }
    for sheet, name, gone in (
        ("layers", "sample", samples),
        ("responses", "test", tests),
        ("responses", "sample", samples),
        ("analyses", "sample", samples),
        ("treatment_steps", "treatment", treatments),
    ):
        kept[sheet] = tuple(row for row in kept[sheet] if getattr(row, name) not in gone)
    return Facts(facts.object, **kept)  # type: ignore[arg-type]


def _later(sheet: str, row: Record, last: str) -> bool:
    name = DATED.get(sheet)
    written = getattr(row, name) if name else None
    if sheet == "treatments":
        written = written or getattr(row, "ended", None)
    return bool(written) and dates.bounds(written).earliest > last
