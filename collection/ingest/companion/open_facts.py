"""The facts of an object from an unfinished survey: what cannot be read is reported, and clears nothing.

A row is kept where what it is about can be read; what it leaves open is then filled in the way that warns: a scheme of
unknown period (kept), a coat of unknown role (kept), a reserve in an unknown place (everywhere). A test that cannot be
read whole keeps its harm and loses its "none seen". Common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from collection.ingest.companion.open_survey import WHOLE_ROW, OpenRow, OpenSurvey
from collection.language.errors import Fault
from collection.records.facts import Facts, facts_of
from collection.records.sheets import BY_SHEET, DATED_STATES, Object, Record

ANYWHERE = "?"
"""The place of what cannot be placed: it may lie anywhere (`places.overlap`)."""
WHEN_UNREAD: Mapping[str, Mapping[str, Any]] = {
    "objects": {"title": "?", "kind": "?"},
    "components": {"name": "?"},
    "zones": {},
    "schemes": {"name": "?"},
    "samples": {"method": "exposure"},
    "layers": {"role": "other"},
    "decorations": {"place": ANYWHERE, "kind": "ornament"},
    "reserves": {"place": ANYWHERE, "kind": "reserve"},
    "tests": {},
    "responses": {},
    "treatments": {"purpose": "?", "outcome": "tried and failed"},
    "treatment_steps": {"place": ANYWHERE, "action": "other"},
    "hazards": {"kind": "?", "status": "suspected"},
}
"""What stands in for a required cell that is blank or cannot be read, by sheet; where there is nothing, and in all
other sheets, the row is left out."""
_SAYS_KEPT = frozenset({"period", "basis", "certainty", "keep", WHOLE_ROW})
_ORDERS = frozenset({"counted_from", WHOLE_ROW})
_COAT = frozenset({"scheme", "role", "sample", "position", "decoration", WHOLE_ROW})


@dataclass(frozen=True, slots=True)
class Unread:
    """One row, or a reference out of the survey, that does not speak for itself; `effect` says what that does,
    `test` which test it is about, where that can be read."""

    spot: str
    effect: str
    faults: tuple[Fault, ...] = ()
    test: str | None = None


@dataclass(frozen=True)
class OpenFacts:
    """An object's facts as far as they can be read, and what cannot; `harm` are unread rows that say that some coat
    was harmed, and `doubtful` the tests of which a row cannot be read."""

    facts: Facts
    unread: tuple[Unread, ...]
    harm: tuple[Unread, ...]
    doubtful: frozenset[str]


def open_facts(object_code: str, surveys: Sequence[OpenSurvey]) -> OpenFacts | None:
    """The facts of one object from several surveys, the earliest first; None where none of them names it.

    Where a later survey repeats a key, what it says replaces what was said, and its blanks say nothing.
    """
    if not any(object_code in survey.objects for survey in surveys):
        return None
    made = _Maker(object_code, surveys)
    for survey in surveys:
        made.unread += [
            Unread(fault.spot(), "no row of the sheet is read whole", (fault,)) for fault in survey.sheet_faults
        ]
    return made.facts()


class _Maker:
    """One object's rows by sheet, on their way to records."""

    def __init__(self, object_code: str, surveys: Sequence[OpenSurvey]) -> None:
        self._object = object_code
        self._rows: dict[str, list[tuple[int, OpenRow]]] = {}
        for at, survey in enumerate(surveys):
            for row in survey.rows:
                self._rows.setdefault(row.sheet, []).append((at, row))
        self.unread: list[Unread] = []
        self.harm: list[Unread] = []
        self.doubtful: set[str] = set()

    def facts(self) -> OpenFacts:
        kept = {sheet: self._kept(sheet) for sheet in BY_SHEET if sheet in self._rows}
        self._stacks(kept)
        tests, responses = self._tests(kept.pop("tests", []), kept.pop("responses", []))
        self._undated_treatments(kept)
        records = [_record(sheet, values) for sheet, rows in kept.items() for values in rows if sheet != "objects"]
        about = kept.get("objects") or [{"object": self._object, "title": self._object, "kind": "?"}]
        facts = facts_of(_object(about[0]), [*records, *tests, *responses])
        return OpenFacts(facts, tuple(self.unread), tuple(self.harm), frozenset(self.doubtful))

    def _kept(self, sheet: str) -> list[dict[str, Any]]:
        """The rows of a sheet that can be used, each key once; what is wrong is told. Of responses an earlier and a
        later word both count, and a test's code that stands for two tests is both."""
        found: dict[Any, dict[str, Any]] = {}
        for number, (survey, row) in enumerate(self._rows[sheet]):
            values = dict(row.values)
            if row.unread or (sheet == "responses" and not _names_one_coat(values)):
                usable = self._usable(row, values)
                self._tell(row, values, usable)
                if not usable:
                    continue
            key: Any = row.key if sheet != "responses" else number
            before = found.get(key)
            if before is None:
                pass
            elif survey == before["_survey"] and sheet not in DATED_STATES and sheet != "tests":
                if before["_values"] != row.values:
                    self.unread.append(Unread(row.spot(), "its key stands twice", row.faults))
                    values = _warier(sheet, {**before, **values})
            elif sheet == "tests" and not _is_one_test(before, values, survey):
                key = number
            else:
                cleared = dict.fromkeys(row.cleared)
                values = {**{name: value for name, value in before.items() if name[0] != "_"}, **values, **cleared}
            found[key] = values
            values["_survey"], values["_values"] = survey, row.values
        return [{name: value for name, value in values.items() if name[0] != "_"} for values in found.values()]

    def _usable(self, row: OpenRow, values: dict[str, Any]) -> bool:
        """Whether what a row is about can be read; then `values` are filled up."""
        filled = WHEN_UNREAD.get(row.sheet)
        if filled is None or values.get("object") != self._object:
            return False
        if row.unread & _SAYS_KEPT and row.sheet == "schemes":
            values["period"] = "unknown"
        if row.sheet == "layers" and row.unread & {"scheme", "period", WHOLE_ROW}:
            values.pop("period", None)
        if row.sheet == "samples" and row.unread & _ORDERS:
            return False
        if row.sheet == "responses" and (row.unread & _COAT or not _names_one_coat(values)):
            return False
        for name, value in filled.items():
            if name in row.unread or name not in values:
                values[name] = value
        if row.sheet == "samples":
            values.pop("reaches_support", None)
        required = [column.name for column in BY_SHEET[row.sheet].columns() if column.required]
        return all(name in values for name in required)

    def _tell(self, row: OpenRow, values: Mapping[str, Any], usable: bool) -> None:
        effect = "left out" if not usable else "read as far as it goes"
        if row.sheet in ("tests", "responses"):
            effect = "clears nothing"
            if values.get("test") is not None:
                self.doubtful.add(values["test"])
        elif usable and row.sheet in ("schemes", "layers"):
            effect = "counts as kept"
        if row.faults or row.sheet == "responses":
            self.unread.append(Unread(row.spot(), effect, row.faults))
        if row.sheet == "responses" and not usable and values.get("response") != "none seen":
            self.harm.append(Unread(row.spot(), "may tell of harm", row.faults, values.get("test")))

    def _stacks(self, kept: dict[str, list[dict[str, Any]]]) -> None:
        """Coats without their sample leave; a sample of which a coat cannot be placed does not show what is absent."""
        samples = {values["sample"]: values for values in kept.get("samples", [])}
        lost: dict[str, int] = {}
        for values in kept.get("layers", []):
            if values["sample"] not in samples:
                lost[values["sample"]] = lost.get(values["sample"], 0) + 1
        kept["layers"] = [values for values in kept.get("layers", []) if values["sample"] in samples]
        for code, count in lost.items():
            self.unread.append(
                Unread(f"sample {code}", f"{count} of its coats left out: it has no row that can be read")
            )
        for _, row in self._rows.get("layers", []):
            if row.unread and (row.values.get("position") is None or row.values.get("role") is None):
                unsure = [row.values["sample"]] if "sample" in row.values else list(samples)
                for code in set(unsure) & set(samples):
                    samples[code].pop("reaches_support", None)

    def _tests(self, tests: list[dict[str, Any]], responses: list[dict[str, Any]]) -> tuple[list[Record], list[Record]]:
        """Tests and responses as records. A code that stands for two tests is both of them: what did harm did it by
        either, and what did none clears neither."""
        variants: dict[str, list[dict[str, Any]]] = {}
        for values in tests:
            own = variants.setdefault(values["test"], [])
            if values not in own:
                own.append(values)
        made: list[Record] = []
        names: dict[str, list[str]] = {}
        for code, own in variants.items():
            if len(own) > 1:
                self.doubtful.add(code)
                self.unread.append(Unread(f"test {code}", "stands for several tests; clears nothing"))
            names[code] = [code, *(f"{code} ({number})" for number in range(2, len(own) + 1))]
            made += [_record("tests", {**values, "test": name}) for name, values in zip(names[code], own, strict=True)]
        said: list[Record] = []
        missing: dict[str, bool] = {}
        for values in responses:
            code, harmless = values["test"], values["response"] == "none seen"
            if code not in names:
                missing[code] = missing.get(code, False) or not harmless
            elif not (harmless and code in self.doubtful):
                said += [_record("responses", {**values, "test": name}) for name in names[code]]
        for code, harmed in missing.items():
            told = Unread(f"test {code}", "its responses left out: it has no row that can be read", (), code)
            self.unread.append(told)
            if harmed:
                self.harm.append(told)
        return made, [each for at, each in enumerate(said) if each not in said[:at]]

    def _undated_treatments(self, kept: dict[str, list[dict[str, Any]]]) -> None:
        """A step whose treatment is not in the survey was at work at some time: it ends clearing, and removed nothing
        that is known of."""
        known = {values["treatment"] for values in kept.get("treatments", [])}
        for code in dict.fromkeys(values["treatment"] for values in kept.get("treatment_steps", [])):
            if code not in known:
                kept.setdefault("treatments", []).append(
                    {"object": self._object, "treatment": code, "purpose": "?", "outcome": "tried and failed"}
                )


def _is_one_test(before: Mapping[str, Any], values: Mapping[str, Any], survey: int) -> bool:
    """Whether a later row of a test corrects it, and does not speak of another: same agent, same place."""
    if before["_survey"] == survey:
        return bool(before["_values"] == values)
    return all(values.get(name, before.get(name)) == before.get(name) for name in ("agent", "place"))


def _names_one_coat(values: Mapping[str, Any]) -> bool:
    """Whether a response says which coat it speaks of, in one way."""
    by_sample = values.get("sample") is not None
    ways = (values.get("scheme") is not None, by_sample, values.get("decoration") is not None)
    return sum(ways) == 1 and by_sample == (values.get("position") is not None)


def _warier(sheet: str, values: dict[str, Any]) -> dict[str, Any]:
    """Of two rows with one key: what both together may not say less than."""
    if sheet == "schemes":
        values["period"] = "unknown"
    elif sheet == "layers":
        values.update(scheme=None, period=None)
    elif sheet == "samples":
        values["reaches_support"] = None
    return values


def _record(sheet: str, values: Mapping[str, Any]) -> Record:
    record = BY_SHEET[sheet]
    return record.model_construct(**{name: values.get(name) for name in record.model_fields})


def _object(values: Mapping[str, Any]) -> Object:
    found = _record("objects", values)
    assert isinstance(found, Object)
    return found
