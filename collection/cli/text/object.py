"""One object on one screen: what survives, what is dangerous, what must stay, what was done, what is open."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TypeVar

from collection.cli.text.assessment import wrap
from collection.cli.text.sections import Section, entry, fitted
from collection.compute.advice import in_force
from collection.compute.build_up.places import places_of
from collection.compute.build_up.readings import shown_later, treatment_span
from collection.compute.case import Case
from collection.compute.survival.survival import ObjectSurvival, PlaceSurvival
from collection.language.sentences import counted, not_counting, square_metres, worked
from collection.language.words import SEVERITY_RANK, SEVERITY_SPOKEN, parts_of
from collection.records.codes import natural
from collection.records.facts import Facts, current, open_claims, surely_in_state
from collection.records.sheets import Advice, Claim, Condition, Proposal, Scheme, Treatment
from collection.rules.track_record import Outturn
from collection.values import dates

R = TypeVar("R")

LINES = 48
"""Lines that a terminal shows without scrolling."""
LEAD = "Lead is suspected in every paint here that was not analysed."
EARLIEST = "0001"
"""A day on which nothing has run out yet."""
CAUTION = "Before any work: safety data sheets, local codes, licensed practice."
_STATES = (
    "original exposed",
    "original covered",
    "original fragmentary",
    "original removed",
    "original not found",
    "not examined",
)


@dataclass(frozen=True)
class Standing:
    """A proposal with its severity, its decision (None = none yet), what became of its losses where it was carried out,
    and the reason for going against each piece of advice, by code."""

    proposal: Proposal
    outcome: str
    decided: str | None
    outturn: Outturn | None = None
    answers: tuple[tuple[str, str], ...] = ()


def screen(
    facts: Facts,
    survival: ObjectSurvival,
    proposals: Sequence[Standing] = (),
    *,
    noted: Sequence[str] = (),
    listed: int = 0,
    listed_conditions: Sequence[str] = (),
    lines: int | None = LINES,
    today: str | None = None,
) -> list[str]:
    """An object's screen; sections that do not fit are cut, with counts.

    :param noted: the warnings that its records have from when they came in.
    :param listed: how many cells of lists are kept with it that no column took whole.
    :param listed_conditions: what lists say of its condition as a whole.
    :param lines: how many fit; None = everything is shown.
    :param today: the day by which temporary work is overdue; None = do not say.
    """
    head = _head(facts, survival, listed_conditions)
    sections = [
        s
        for s in (
            _hazards(facts),
            _advice(facts, today),
            _overdue(facts, today),
            _reserves(facts),
            _places(facts, survival.places),
            _schemes(facts),
            _decorations(facts),
            _claims(facts),
            _conditions(facts),
            _treatments(facts),
            _proposals(proposals),
            _questions(facts, survival, len(noted), listed),
            *((_settled(facts), _past_advice(facts, today), _noted(noted)) if lines is None else ()),
        )
        if s.entries
    ]
    foot = wrap(
        f"more: show {facts.object.object}/CODE for one place, sample or scheme; --all, --history; "
        "survival, assess, search"
    ).splitlines()
    return fitted(head, sections, foot, lines)


def _head(facts: Facts, survival: ObjectSurvival, listed_conditions: Sequence[str]) -> list[str]:
    about = facts.object
    said = ", ".join(
        part
        for part in (about.kind, about.maker, about.made, about.status, about.part_of and f"part of {about.part_of}")
        if part
    )
    area = (
        ""
        if survival.surviving_m2 is None
        else f"; {square_metres(survival.surviving_m2)} of it{not_counting(survival.unmeasured_places)}"
    )
    unseen = f"; {counted(survival.unexamined_places, 'place')} never examined" if survival.unexamined_places else ""
    as_of = f" (as of {survival.as_of})" if survival.as_of else ""
    chosen = f" {survival.how_chosen}." if survival.how_chosen else ""
    return [
        *wrap(f"{about.object}  {about.title}").splitlines(),
        *wrap(said, "  ").splitlines(),
        *(line for each in listed_conditions for line in wrap(f"condition as listed: {each}", "  ").splitlines()),
        *wrap(f"{survival.sentence}{area}{unseen}{as_of}.{chosen}").splitlines(),
    ]


def _by_code(newest: Mapping[str, R]) -> list[tuple[str, R]]:
    return sorted(newest.items(), key=lambda item: natural(item[0]))


def _hazards(facts: Facts) -> Section:
    gone = surely_in_state(facts.hazards, "hazard", "status", ("not found",))
    entries = [
        entry(
            f"{row.hazard}  {row.kind}: {row.status}",
            row.component and f"on {row.component}",
            row.observed_on,
            row.basis,
        )
        for code, row in _by_code(current(facts.hazards, "hazard"))
        if code not in gone
    ]
    if facts.layers:
        entries.append(entry(LEAD))
    if entries:
        entries.append(entry(CAUTION))
    return Section("HAZARDS", entries, least=len(entries))


def _reserves(facts: Facts) -> Section:
    return Section(
        "MUST STAY UNTOUCHED",
        [
            entry(f"{row.reserve}  {row.kind} at {row.place}", row.shows, row.until and f"until {row.until}")
            for row in facts.reserves
        ],
        least=3,
    )


def _places(facts: Facts, found: Sequence[PlaceSurvival]) -> Section:
    known = places_of(Case(facts))
    kept = {row.place for row in facts.reserves}
    entries = []
    for state, some in groupby(
        sorted(found, key=lambda p: (_STATES.index(p.state), natural(p.place))), key=lambda p: p.state
    ):
        row = []
        for place in some:
            record = known.zones.get(place.place) or known.components.get(place.place)
            name = f" {record.name}" if record is not None and record.name else ""
            counts = f" {place.present}/{place.read}" if place.read else ""
            traces = f" ({counted(place.traces, 'trace')})" if place.traces else ""
            row.append(
                f"{place.place}{name if state != 'not examined' else ''}{counts}{traces}"
                f"{' [reserve]' if place.place in kept else ''}"
            )
        entries.append(f"{state} ({len(row)}): {'; '.join(row)}")
    return Section(
        "PLACES, with readings that show original finish of all readings", entries, least=len(entries), whole=True
    )


def _schemes(facts: Facts) -> Section:
    def fate(scheme: Scheme) -> str:
        if scheme.keep:
            return {"keep": "to keep", "sample": "keep a sample", "may go": "may go"}[scheme.keep]
        return "" if scheme.period == "original" or not shown_later(scheme) else "shown to be later"

    ranked = sorted(facts.schemes, key=lambda s: (s.rank is None, -(s.rank or 0), s.scheme))
    return Section(
        "SCHEMES, last first",
        [
            entry(
                f"{row.scheme}  {row.name}",
                " ".join(part for part in (row.certainty, row.period) if part),
                row.made,
                fate(row),
                row.basis and f"basis: {row.basis}",
            )
            for row in ranked
        ],
        least=2,
    )


def _decorations(facts: Facts) -> Section:
    return Section(
        "DECORATIONS",
        [
            entry(
                f"{row.decoration}  {row.kind} at {row.place}",
                row.state or "state not recorded",
                row.scheme and f"scheme {row.scheme}",
                row.description,
            )
            for _, row in _by_code(current(facts.decorations, "decoration"))
        ],
    )


def _claims(facts: Facts) -> Section:
    return Section("CLAIMS not settled", [_claim(row) for row in open_claims(facts)])


def _settled(facts: Facts) -> Section:
    left = {row.claim for row in open_claims(facts)}
    return Section(
        "CLAIMS settled", [_claim(row) for code, row in _by_code(current(facts.claims, "claim")) if code not in left]
    )


def _claim(row: Claim) -> str:
    return entry(
        f"{row.claim}  {row.status}{f' {row.observed_on}' if row.observed_on else ''}",
        row.place and f"at {row.place}",
        row.statement,
        row.resolved_by and f"by {row.resolved_by}",
    )


def _advice(facts: Facts, today: str | None) -> Section:
    """Advice that holds today, first what speaks against work; without a day, nothing has run out."""
    held = sorted(in_force(facts, today or EARLIEST), key=lambda row: row.against is None)
    return Section("ADVICE in force", [_advised(row) for row in held])


def _past_advice(facts: Facts, today: str | None) -> Section:
    held = in_force(facts, today or EARLIEST)
    return Section("ADVICE no longer in force", [_advised(row) for row in facts.advice if row not in held])


def _advised(row: Advice) -> str:
    against = f"against {', '.join(parts_of(row.against))}" if row.against else None
    return entry(
        f"{row.advice}  {row.given_on}",
        against,
        row.priority,
        row.place and f"at {row.place}",
        row.what,
        row.until and f"until {row.until}",
        row.done_by and f"followed by {row.done_by}",
        row.replaced_by and f"replaced by {row.replaced_by}",
    )


_SEVERE = ("", "slight", "moderate", "severe")


def _conditions(facts: Facts) -> Section:
    same: dict[tuple[str, str, str | None], list[Condition]] = defaultdict(list)
    for row in facts.conditions:
        same[row.place, row.phenomenon, row.scheme].append(row)
    # Dates that may overlap leave both rows standing: that clears less.
    active = [
        row
        for rows in same.values()
        for row in rows
        if row.active != "no"
        and row.severity != 0
        and not any(dates.bounds(other.observed_on).earliest > dates.bounds(row.observed_on).latest for other in rows)
    ]
    return Section(
        "CONDITIONS that may be getting worse",
        [
            entry(
                f"{row.phenomenon} at {row.place}",
                "active" if row.active == "yes" else "activity not known",
                _SEVERE[row.severity or 0],
                row.extent_pct is not None and f"{row.extent_pct:g} % of the place",
                row.observed_on,
            )
            for row in sorted(active, key=lambda r: (r.active != "yes", -(r.severity or 0), r.place))
        ],
    )


def _treatments(facts: Facts) -> Section:
    def begun(row: Treatment) -> str:
        return treatment_span(row).latest

    steps = {code: list(some) for code, some in groupby(facts.treatment_steps, key=lambda s: s.treatment)}
    entries = []
    for row in sorted(facts.treatments, key=begun, reverse=True):
        done = [worked(vars(step)) for step in steps.get(row.treatment, ())]
        entries.append(
            entry(
                f"{row.treatment}  {row.ended or row.started or 'undated'}", row.purpose, row.outcome, " | ".join(done)
            )
        )
    return Section("TREATMENTS, latest first", entries, least=2)


def _proposals(proposals: Sequence[Standing]) -> Section:
    return Section(
        "PROPOSALS, worst first",
        [
            entry(
                f"{each.proposal.proposal}  {SEVERITY_SPOKEN[each.outcome].upper()}",
                each.decided or "not decided",
                each.proposal.title,
                *(() if each.outturn is None else (_became(each.outturn),)),
                *(f"against advice {code}: {reason}" for code, reason in each.answers),
            )
            for each in sorted(
                proposals, key=lambda each: (-SEVERITY_RANK[each.outcome], natural(each.proposal.proposal))
            )
        ],
        least=4,
    )


def _became(outturn: Outturn) -> str:
    """Of the things that a finished proposal could take, how many are lost, survive, or were not looked at since."""
    found = Counter(each.found for each in outturn.seen)
    counts = ", ".join(f"{found[word]} {word}" for word in ("lost", "survives", "not looked since") if found[word])
    return f"carried out ({', '.join(outturn.treatments)}): {counts or 'nothing kept was named'}"


def _overdue(facts: Facts, today: str | None) -> Section:
    """Temporary work that should have been undone by now, and reserves that have run out."""
    entries = (
        []
        if today is None
        else [
            *(
                entry(f"{row.treatment}  until {row.temporary_until}", row.purpose)
                for row in facts.treatments
                if row.temporary_until and dates.bounds(row.temporary_until).latest < today
            ),
            *(
                entry(f"reserve {row.reserve}  until {row.until}", f"at {row.place}")
                for row in facts.reserves
                if row.until and dates.bounds(row.until).latest < today
            ),
        ]
    )
    return Section("PAST ITS DATE: undo, or say again how long", entries, least=len(entries))


def _questions(facts: Facts, survival: ObjectSurvival, doubts: int, listed: int) -> Section:
    unknown = [s.scheme for s in facts.schemes if s.period == "unknown"]
    unranked = [s.scheme for s in facts.schemes if s.rank is None]
    short = [s.sample for s in facts.samples if s.reaches_support != "yes" and s.method != "gauge"]
    found = [
        survival.unmeasured_places and f"{counted(survival.unmeasured_places, 'place')} of unknown area",
        unknown and f"period unknown of scheme {', '.join(unknown)}",
        unranked and f"order unknown of scheme {', '.join(unranked)}",
        short and f"{counted(len(short), 'sample')} not known to reach the support",
        doubts and f"{counted(doubts, 'warning')} from when the records came in: --all",
        listed and f"{counted(listed, 'cell')} of lists that no column took whole: --listed",
    ]
    text = "; ".join(part for part in found if part)
    return Section("OPEN QUESTIONS", [entry(text)] if text else [])


def _noted(sentences: Sequence[str]) -> Section:
    return Section("WARNINGS from when the records came in", list(sentences))


def decided_text(decision: str | None, *, stale: bool = False, at: str | None = None) -> str | None:
    """How a decision stands, in a few words."""
    if decision is None:
        return None
    said = {"approve": "approved", "refuse": "refused", "defer": "deferred"}[decision]
    return f"{said}{f' {at[:10]}' if at else ''}{', overtaken by later records: look again' if stale else ''}"
