"""One zone, part, sample, scheme or other record of an object, with its build-up and evidence."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from itertools import groupby
from typing import Any

from collection.cli.text.assessment import wrap
from collection.compute.build_up.coats import Coat
from collection.compute.build_up.places import places_of
from collection.compute.build_up.readings import Reading, layers_by_sample, original_reading, reading
from collection.compute.build_up.sections import own_samples
from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case
from collection.compute.survival.survival import object_survival
from collection.language.sentences import described, ended, worked
from collection.language.words import SEVERITY_SPOKEN, SHEET_NAMES
from collection.records.codes import natural
from collection.records.facts import Facts
from collection.records.row import Record, key_text
from collection.records.sheets import BY_SHEET, Layer, ProposalStep, Response, Sample, Test, TreatmentStep
from collection.store.base.named_records import OutOfAccount
from collection.store.decide.decisions import Decision
from collection.store.decide.standing_proposals import DECIDED
from collection.values import dates

Json = Mapping[str, Any]
_UNITS = re.compile("_(m2|s|um|c|pct|mscm|gu)$")
_SKIPPED = frozenset({"object", "outline", "audience"})


def record_lines(facts: Facts, sheet: str, row: Json, evidence: str, steps: Sequence[ProposalStep] = ()) -> list[str]:
    """A record as text: what it says, what belongs to it, and on whose evidence.

    :param steps: those of a proposal.
    """
    record = BY_SHEET[sheet]
    lines = [f"{key_text(sheet, [row.get(name) for name in record.key])}  {SHEET_NAMES[sheet]} of {facts.object.title}"]
    said = _cells(record, row)
    if said:
        lines += wrap(ended(said), "  ").splitlines()
    if evidence:
        lines += wrap(f"evidence: {evidence}", "  ").splitlines()
    if sheet in ("zones", "components"):
        lines += _place(facts, str(row[sheet[:-1]]))
    elif sheet == "samples":
        lines += _sample(facts, next(s for s in facts.samples if s.sample == row["sample"]))
    elif sheet == "schemes":
        lines += _scheme(facts, str(row["scheme"]))
    elif sheet == "tests":
        lines += _listed("RESPONSES", [f"{_met(r)}: {r.response}" for r in facts.responses if r.test == row["test"]])
    elif sheet == "treatments":
        lines += _listed("STEPS", [_step(s) for s in facts.treatment_steps if s.treatment == row["treatment"]])
    elif sheet == "claims":
        lines += _listed(
            "STATES, oldest first",
            [
                f"{c.observed_on or 'undated'}  {c.status}{f', by {c.resolved_by}' if c.resolved_by else ''}"
                for c in sorted(
                    (c for c in facts.claims if c.claim == row["claim"]),
                    key=lambda c: dates.bounds(c.observed_on).latest if c.observed_on else "",
                )
            ],
        )
    elif sheet == "proposals":
        lines += _listed("STEPS", [_step(s) for s in steps])
        lines += ["", f"What it would take: firstcoat assess DB {row['object']}/{row['proposal']}"]
    return lines


def withdrawn_lines(found: Sequence[OutOfAccount]) -> list[str]:
    """Records out of account as text, each under what took it out."""
    lines: list[str] = []
    for by, some in groupby(found, lambda each: each.by):
        lines += ["OUT OF ACCOUNT", *wrap(by.sentence(), "  ").splitlines(), ""]
        for each in some:
            said = _cells(BY_SHEET[each.sheet], each.row)
            lines += wrap(
                ended(f"{each.key}  {SHEET_NAMES[each.sheet]}" + (f": {said}" if said else "")), "  "
            ).splitlines()
    return lines


def _cells(record: type[Record], row: Json) -> str:
    """What a record says beside its key."""
    return "; ".join(
        f"{_UNITS.sub('', name).replace('_', ' ')} {_value(record, name, row[name])}"
        for name in (c.name for c in record.columns())
        if name not in _SKIPPED and name not in record.key and row.get(name) not in (None, "")
    )


def _met(row: Response) -> str:
    """The coat that a response is about."""
    coat = f"{row.sample}/{row.position}" if row.sample else f"scheme {row.scheme}{f' {row.role}' if row.role else ''}"
    return f"decoration {row.decoration}" if row.decoration else coat


def _step(row: ProposalStep | TreatmentStep) -> str:
    return f"{row.step}  {worked(vars(row))}"


def decided_lines(made: Sequence[Decision]) -> list[str]:
    """What was decided of a proposal, oldest first, each with what it accepted and which advice it answered."""
    return _listed(
        "DECISIONS",
        [
            "; ".join(
                (
                    f"{each.number}  {each.at[:10]}  {DECIDED[each.decision]} by {each.by}"
                    + (f", step {', '.join(map(str, each.steps))}" if each.steps else "")
                    + f": {each.reason}",
                    *(f"condition: {text}" for text in each.conditions),
                    *(
                        f"accepted {loss} ({SEVERITY_SPOKEN[severity]}): {reason}"
                        for loss, severity, reason in each.overrides
                    ),
                    *(f"against advice {answer.advice}: {answer.reason}" for answer in each.answers),
                )
            )
            for each in made
        ],
    )


def _value(record: type[Record], name: str, value: Any) -> str:
    unit = record.column(name).unit
    text = f"{value:g}" if isinstance(value, float) else str(value)
    return f"{text} {unit.replace('m2', 'm²')}" if unit and unit != "order" and unit != name else text


def _place(facts: Facts, place: str) -> list[str]:
    case = Case(facts)
    found = next((p for p in object_survival(case).places if p.place == place), None)
    lines = []
    if found is not None:
        counts = f"original finish in {found.present} of {found.read} readings" if found.read else "no reading"
        lines += ["", f"{found.state.capitalize()}: {counts}."]
    stack = stack_of(case, place)
    lines += [
        "",
        "BUILD-UP, outermost first" + ("" if stack.examined else " (not read here; taken from the rest of the part)"),
    ]
    own = {s.sample for s in own_samples(case, place)}
    lines += [line for coat in stack.coats for line in _coat(coat, own)] or ["  nothing recorded"]
    if not stack.bottom_seen:
        lines.append("  … nobody has seen down to the support")
    within = places_of(case)
    for title, rows in (
        (
            "SAMPLES",
            [
                f"{s.sample}  {s.method} at {s.place}{_dated(s.taken_on)}: {_said(original_reading(case, s))}"
                for s in sorted(facts.samples, key=lambda s: natural(s.sample))
                if s.sample in own
            ],
        ),
        (
            "RESERVES",
            [
                f"{r.reserve}  {r.kind}{f': {r.shows}' if r.shows else ''}"
                for r in facts.reserves
                if within.overlap(r.place, place)
            ],
        ),
        (
            "DECORATIONS",
            [
                f"{d.decoration}  {d.kind}, {d.state or 'state not recorded'}{_dated(d.observed_on)}"
                for d in facts.decorations
                if d.place == place
            ],
        ),
        ("TESTS", [_test(facts, t) for t in sorted(facts.tests, key=lambda t: natural(t.test)) if t.place == place]),
        ("CONDITIONS", [f"{c.phenomenon}{_dated(c.observed_on)}" for c in facts.conditions if c.place == place]),
        (
            "TREATED",
            [
                f"{s.treatment} step {s.step}: {worked(vars(s))}"
                for s in facts.treatment_steps
                if within.overlap(s.place, place)
            ],
        ),
    ):
        lines += _listed(title, rows)
    return lines


def _test(facts: Facts, row: Test) -> str:
    """A test with the coats it met and how it was looked at."""
    dry = {"yes": "looked at again when dry", "no": "looked at wet only"}.get(row.after_drying or "")
    how = "".join(f"; {part}" for part in (row.finish and f"on {row.finish} finish", dry) if part)
    responses = "; ".join(f"{_met(r)} {r.response}" for r in facts.responses if r.test == row.test)
    return f"{row.test}  {described(vars(row))}{how}: {responses or 'no response recorded'}"


def _coat(coat: Coat, own: Collection[str]) -> list[str]:
    """A coat, and whether it was read only in other places."""
    low, _, high = (100 * share for share in coat.cover)
    cover = f"{low:.0f}–{high:.0f} %" if low != high else f"{low:.0f} %"
    name = " ".join(part for part in (coat.key.colour, coat.role) if part)
    scheme = f"scheme {coat.scheme}, " if coat.scheme else ""
    elsewhere = "" if any(s in own for s, _ in coat.layers) else "not read here, but at "
    read = f" ({elsewhere}{', '.join(f'{s}/{p}' for s, p in coat.layers[:6])}{' …' if len(coat.layers) > 6 else ''})"
    kept = "KEPT  " if coat.kept else "      "
    return wrap(f"{kept}{scheme}{name}, covers {cover}{read if coat.layers else ''}", "  ").splitlines()


def _sample(facts: Facts, sample: Sample) -> list[str]:
    case = Case(facts)
    lines = ["", f"Original finish: {_said(original_reading(case, sample))}.", "", "COATS, outermost first"]
    lines += [line for layer in layers_by_sample(case)[sample.sample] for line in _layer(layer)] or ["  none recorded"]
    if sample.reaches_support != "yes":
        lines.append("  … not known to reach the support")
    return lines + _listed(
        "ANALYSES",
        [
            f"{a.analysis}{f' of coat {a.position}' if a.position else ''}  {a.technique}: {a.result}"
            f"{_dated(a.analysed_on)}"
            for a in facts.analyses
            if a.sample == sample.sample
        ],
    )


def _layer(layer: Layer) -> list[str]:
    parts = (
        " ".join(part for part in (layer.colour, layer.role) if part),
        layer.munsell,
        layer.binder and f"{layer.binder}{f' ({layer.binder_basis})' if layer.binder_basis else ''}",
        (layer.scheme and f"scheme {layer.scheme}") or layer.period,
        layer.coverage or "extent not recorded",
        layer.coverage_pct is not None and f"{layer.coverage_pct:g} %",
        layer.thickness_um is not None and f"{layer.thickness_um:g} µm",
        layer.fluorescence and f"fluoresces {layer.fluorescence}",
        layer.boundary,
    )
    return wrap(f"{layer.position:>2}  " + ", ".join(str(part) for part in parts if part), "  ").splitlines()


def _scheme(facts: Facts, scheme: str) -> list[str]:
    case = Case(facts)
    rows = [(s, found) for s in facts.samples if (found := reading(case, s, [scheme])) is not None]
    seen = sum(found.level != "absent" for _, found in rows)
    lines = ["", f"Seen at {seen} of {len(rows)} places looked at." if rows else "Nobody has looked for it."]
    return lines + _listed(
        "READINGS", [f"{s.sample}  {s.place}{_dated(s.taken_on)}: {_said(found)}" for s, found in rows]
    )


def _said(found: Reading | None) -> str:
    if found is None:
        return "silent"
    level = {"present": "present, extent not recorded"}.get(found.level, found.level)
    return (
        level
        + (" (as nothing of it was met down to the support)" if found.implied else "")
        + (", removed since" if found.history else "")
    )


def _dated(when: str | None) -> str:
    return f", {when}" if when else ""


def _listed(title: str, rows: Sequence[str]) -> list[str]:
    return ["", title, *(line for row in rows for line in wrap(row, "  ").splitlines())] if rows else []
