"""The published document of one object: everything its page shows, as plain data with stable keys.

A record's blank columns are left out of the stored text; the site puts them back as `null`.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, TypeVar

from collection.compute.build_up.readings import original_reading
from collection.compute.case import Case
from collection.compute.loss.outcome import BELOW, NOT_EXAMINED
from collection.compute.risk.threat import KINDS, Hanging, Planned
from collection.compute.survival.survival import survival_json
from collection.ingest.pictures.drawings import Box
from collection.language.phrases import indexed
from collection.output.published.assessments import public_assessment
from collection.output.published.audience import Audience, PublicRows, Row, only, row_key
from collection.output.published.published_threats import published_threats, risk_json
from collection.output.published.stored_objects import StoredObject
from collection.records.codes import natural
from collection.records.facts import Facts, ProposalFacts, facts_of
from collection.records.sheets import BY_SHEET, Object, Proposal, ProposalStep, Record
from collection.rules.advice import with_answers
from collection.rules.assess import assess
from collection.rules.findings import Assessment
from collection.rules.planned import planned
from collection.rules.support import JOINT, PART, SUPPORT
from collection.store.base.listed_cells import LISTED, ListedCell
from collection.store.decide.answers import Answer, answers_that_hold
from collection.store.decide.staleness import Basis, is_stale

Json = dict[str, Any]
R = TypeVar("R", bound=Record)

NESTED = {
    "layers": ("samples", "sample"),
    "responses": ("tests", "test"),
    "treatment_steps": ("treatments", "treatment"),
    "proposal_steps": ("proposals", "proposal"),
}
"""Sheets whose rows stand inside the row they belong to, under the name of their sheet."""
SHOWN = tuple(sheet for sheet in BY_SHEET if sheet not in ("survey", "objects", *NESTED))


def object_document(
    stored: StoredObject,
    public: PublicRows,
    surveys: Mapping[str, Row],
    pictures: Mapping[str, tuple[str, list[int] | None]],
    drawings: Mapping[str, tuple[str, Box | None]],
    *,
    audience: Audience,
    on: str,
    hanging: Sequence[Hanging] = (),
    tags: Sequence[Json] = (),
    tags_used: bool = False,
    on_site: bool = False,
) -> Json:
    """One object's document.

    :param public: the object's rows that may be published.
    :param surveys: the surveys in account by code.
    :param pictures: the names of the published image files by the pictures' keys, each with its size in pixels.
    :param drawings: the same by the drawings' keys, each with the box it fills in drawing units.
    :param on: the day of the newest change, YYYY-MM-DD: what is past its date is so by then.
    :param hanging: the tags on the object as the threats read them, `tags` as the pages do; `tags_used` says whether this
        audience is told of missing ones.
    :param on_site: whether a published page with an address tells everybody of the object.
    """
    sheets = {
        sheet: [record_json(BY_SHEET[sheet], row, audience=audience) for row in rows]
        for sheet, rows in public.rows.items()
    }
    (own,) = sheets["objects"]
    used = sorted({row["survey"] for rows in public.rows.values() for row in rows})
    nested = _nested(sheets)
    for sample in nested.get("samples", ()):
        _read_sample(stored.case, sample)
    for picture in nested.get("pictures", ()):
        picture["file"], picture["size"] = pictures.get(picture["key"], (None, None))
    for drawing in nested.get("drawings", ()):
        drawing["file"], drawing["box"] = drawings.get(drawing["key"], (None, None))
    works = []
    for proposal in nested.get("proposals", ()):
        said, work = _judged(stored, public, proposal, names=audience.names)
        proposal |= said
        works.append(work)
    told = [survey_json(surveys[code], audience=audience) for code in used if code in surveys]
    # By the public records alone, so that no reason reveals what is held back.
    case = Case(public_facts(public)) if public.withheld else stored.case
    found = published_threats(case, public, works, on, hanging, tags_used=tags_used, on_site=on_site)
    return {
        "format": 1,
        "object": stored.object,
        "title": own["title"],
        "record": own,
        "changed_on": stored.changed_on,
        "invented": any(is_invented(survey) for survey in told),
        "surveys": told,
        "survival": _survival(stored, public),
        "threats": [threat.as_json() for threat in found if threat.kind in KINDS],
        "risks": [risk_json(threat) for threat in found],
        "tags": list(tags),
        **{sheet: nested.get(sheet, []) for sheet in SHOWN},
        **({"listed": [_listed(stored.object, cell) for cell in stored.listed]} if audience.is_staff else {}),
        "withheld": public.withheld,
    }


def _listed(code: str, cell: ListedCell) -> Json:
    """A cell of a list, with a key as records have one."""
    return {"key": f"{code}/{cell.survey}/{cell.heading}", **cell.as_json()}


def record_json(record: type[Record], row: Mapping[str, Any], *, audience: Audience) -> Json:
    """One record as published: its key, its public columns that are not blank, its survey and source row."""
    values = only(row, audience.columns(record))
    return {
        "key": row_key(record, row),
        **{name: v for name, v in values.items() if v is not None},
        "survey": row.get("survey"),
        "from_row": row["from_row"],
    }


def survey_json(row: Mapping[str, Any], *, audience: Audience) -> Json:
    """A survey as published."""
    return only(row, audience.columns(BY_SHEET["survey"]))


def is_invented(survey: Mapping[str, Any]) -> bool:
    """Whether a survey is marked as invented for a demonstration; what its texts say about inventing does not count."""
    return survey.get("invented") == "yes"


def words_of(document: Json) -> str:
    """Every distinct searchable text of a document, in order."""
    found: dict[str, None] = {}
    _collect(document["record"], found)
    for sheet in SHOWN:
        _collect(document[sheet], found)
    _collect([cell["text"] for cell in document.get("listed", ())], found)
    return " . ".join(map(indexed, found))


def searched(document: Json) -> Iterator[tuple[str, Json, str | None]]:
    """Every record of a document that can be a reason for finding it: its sheet, the row, its place."""
    yield "objects", document["record"], None
    for sheet in SHOWN:
        for row in document.get(sheet, ()):
            place = row.get("zone") or row.get("component") if sheet in ("zones", "components") else row.get("place")
            yield sheet, row, place
            for nested in NESTED:
                for inner in row.get(nested, ()):
                    yield nested, inner, inner.get("place") or place
    for cell in document.get("listed", ()):
        yield LISTED, {"key": cell["key"], "text": cell["text"]}, None


def cells_of(sheet: str, row: Json) -> list[str]:
    """The searchable texts of one record; the object's number only in the object's own record."""
    return [
        value
        for name, value in row.items()
        if isinstance(value, str) and name not in _NO_WORDS and (name != "object" or sheet == "objects")
    ]


_NO_WORDS = frozenset({"key", "survey", "file", "outline", "assessment", "original"})


def _collect(value: Any, found: dict[str, None]) -> None:
    if isinstance(value, str):
        found.setdefault(value)
    elif isinstance(value, list):
        for item in value:
            _collect(item, found)
    elif isinstance(value, dict):
        for name, item in value.items():
            if name not in _NO_WORDS:
                _collect(item, found)


def _nested(sheets: Mapping[str, list[Json]]) -> dict[str, list[Json]]:
    nested = {
        sheet: sorted(rows, key=lambda row: natural(row["key"])) for sheet, rows in sheets.items() if sheet in SHOWN
    }
    for sheet, (outer, code) in NESTED.items():
        inside: dict[str, list[Json]] = {}
        for row in sheets.get(sheet, ()):
            inside.setdefault(row[code], []).append(row)
        for row in nested.get(outer, ()):
            row[sheet] = inside.get(row[code], [])
    return nested


def outermost_first(sample: Json, layers: list[Json]) -> list[Json]:
    """A sample's coats, outermost first, however the sample counts them."""
    down = sample.get("counted_from") == "surface"
    return sorted(layers, key=lambda layer: layer["position"] if down else -layer["position"])


def _read_sample(case: Case, sample: Json) -> None:
    """Sorts a sample's coats, outermost first, and adds what it says about the maker's finish."""
    sample["layers"] = outermost_first(sample, sample["layers"])
    row = next((s for s in case.facts.samples if s.sample == sample["sample"]), None)
    reading = original_reading(case, row) if row else None
    sample["original"] = (
        None if reading is None else {"level": reading.level, "implied": reading.implied, "history": reading.history}
    )


def _survival(stored: StoredObject, public: PublicRows) -> Json:
    """What survives, by all evidence; places that are held back are counted and not named."""
    places = (
        {"all"}
        | {row["component"] for row in public.rows.get("components", ())}
        | {row["zone"] for row in public.rows.get("zones", ())}
    )
    codes = {
        sheet: {row[code] for row in public.rows.get(sheet, ())}
        for sheet, code in (("schemes", "scheme"), ("decorations", "decoration"), ("samples", "sample"))
    }
    whole = survival_json(stored.case)
    unnamed = sum(
        original_reading(stored.case, sample) is not None
        for sample in stored.facts.samples
        if sample.sample not in codes["samples"]
    )

    def named(rows: list[Json]) -> list[Json]:
        return [row for row in rows if row["place"] in places]

    return {
        **{name: value for name, value in whole.items() if name not in ("object", "title")},
        "places": sorted(named(whole["places"]), key=lambda row: natural(row["place"])),
        "schemes": [
            {**row, "places": named(row["places"])} for row in whole["schemes"] if row["scheme"] in codes["schemes"]
        ],
        "decorations": [row for row in named(whole["decorations"]) if row["decoration"] in codes["decorations"]],
        "withheld_readings": unnamed,
    }


def _judged(stored: StoredObject, public: PublicRows, proposal: Json, *, names: bool) -> tuple[Json, Planned]:
    """The assessment and decisions of one public proposal, to be added to its document; and the same as threats read it."""
    code = proposal["proposal"]
    steps = {step["step"] for step in proposal["proposal_steps"]}
    whole = ProposalFacts(
        *_proposal(
            {
                sheet: [row for row in stored.rows.get(sheet, ()) if row["live"]]
                for sheet in ("proposals", "proposal_steps")
            },
            code,
        )
    )
    said, case, seen = None, stored.case, whole
    if public.withheld:
        case, seen = Case(public_facts(public)), ProposalFacts(*_proposal(public.rows, code))
        said = assess(case, seen)
    found = assess(stored.case, whole)
    approved = {row["number"] for row in stored.decisions if row["proposal"] == code and row["decision"] == "approve"}
    answers = [
        Answer(row["advice"], row["content"], row["reason"])
        for row in stored.answers
        if row["proposal"] == code and row["number"] in approved
    ]
    held = answers_that_hold(answers, stored.facts, found)
    shown = public_assessment(
        with_answers(found, held).as_json(),
        None if said is None else with_answers(said, held).as_json(),
        {sheet: public.keys(sheet) for sheet in public.rows},
        steps,
        names=names,
    )
    made = _decisions(stored, public, whole, found, steps, names=names)
    newest = made[-1] if made else None
    work = planned(
        case,
        seen,
        with_answers(found if said is None else said, held),
        None if newest is None else newest["decision"],
        overtaken=bool(newest and newest["stale"]),
        carried_out=any(row.proposal == code for row in case.facts.treatments),
    )
    return {"assessment": shown, "decisions": made}, work


def _proposal(rows: Mapping[str, list[Row]], code: str) -> tuple[Proposal, tuple[ProposalStep, ...]]:
    (head,) = [row for row in rows["proposals"] if row["proposal"] == code]
    steps = [row for row in rows.get("proposal_steps", ()) if row["proposal"] == code]
    return (
        _as_record(Proposal, head),
        tuple(_as_record(ProposalStep, row) for row in sorted(steps, key=lambda row: row["step"])),
    )


def public_facts(public: PublicRows) -> Facts:
    """The facts document of the public rows alone."""
    (own,) = public.rows["objects"]
    return facts_of(
        _as_record(Object, own),
        [_as_record(BY_SHEET[sheet], row) for sheet, rows in public.rows.items() for row in rows],
    )


def _as_record(record: type[R], row: Row) -> R:
    columns = [column for column in record.columns() if not column.private and column.name != "audience"]
    made: R = record.model_construct(**only(row, columns))  # type: ignore[assignment]
    return made


def _decisions(
    stored: StoredObject,
    public: PublicRows,
    whole: ProposalFacts,
    assessed: Assessment,
    steps: set[int],
    *,
    names: bool,
) -> list[Json]:
    """Decisions with their overrides and answers; those about unpublished things are only counted."""
    code, found = whole.proposal.proposal, []
    advice = {row["advice"] for row in public.rows.get("advice", ())}
    for row in stored.decisions:
        if row["proposal"] != code:
            continue
        own = [o for o in stored.overrides if (o["proposal"], o["number"]) == (code, row["number"])]
        shown: Sequence[Json] = [
            {"loss": o["loss"], "severity": o["severity"], "reason": o["reason"]}
            for o in own
            if _is_public_loss(o["loss"], public)
        ]
        answers = [a for a in stored.answers if (a["proposal"], a["number"]) == (code, row["number"])]
        heard = [{"advice": a["advice"], "reason": a["reason"]} for a in answers if a["advice"] in advice]
        of_steps = None if row["steps"] is None else set(json.loads(row["steps"]))
        basis = Basis(
            None if of_steps is None else tuple(of_steps),
            row["inputs_sha256"],
            row["assessment"],
            tuple(Answer(a["advice"], a["content"], a["reason"]) for a in answers),
        )
        found.append(
            {
                "number": row["number"],
                "decision": row["decision"],
                "steps": None if of_steps is None else sorted(of_steps & steps),
                "conditions": json.loads(row["conditions"]),
                "decided_by": row["decided_by"] if names else None,
                "reason": row["reason"],
                "decided_at": row["decided_at"],
                "outcome": row["outcome"],
                "stale": is_stale(basis, stored.case, whole, assessed),
                "overrides": shown,
                "withheld": len(own) - len(shown),
                "answers": heard,
                "answers_withheld": len(answers) - len(heard),
            }
        )
    return found


def _is_public_loss(loss: str, public: PublicRows) -> bool:
    """Whether both the place and the thing of a loss, written PLACE/THING, are published."""
    place, _, thing = loss.partition("/")
    codes = {
        sheet: {row[code] for row in public.rows.get(sheet, ())}
        for sheet, code in (
            ("zones", "zone"),
            ("components", "component"),
            ("schemes", "scheme"),
            ("decorations", "decoration"),
            ("reserves", "reserve"),
            ("samples", "sample"),
        )
    }
    return (place == "all" or place in codes["zones"] | codes["components"]) and (
        thing in _UNSEEN
        or bool(
            {thing, thing.partition("/")[0]}
            & (codes["schemes"] | codes["decorations"] | codes["reserves"] | codes["samples"])
        )
    )


_UNSEEN = frozenset({NOT_EXAMINED, BELOW, SUPPORT, PART, JOINT})
