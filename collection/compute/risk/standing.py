"""Threats that rest on an object's records alone: no proposal, no tag, and no day but the one they begin or end on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from collection.compute.advice import standing as standing_advice
from collection.compute.build_up.condition import FAILS, standing
from collection.compute.build_up.places import ALL, places_of
from collection.compute.case import Case
from collection.compute.risk.surface import NONE, NOT_EXAMINED, reached, surfaces, total
from collection.compute.risk.threat import (
    ADVISED,
    COVERED,
    EVIDENCE,
    EXPOSED,
    FAILING,
    NOT_KNOWN,
    PAST,
    UNEXAMINED,
    UNSEEN,
    WHOLE,
    Paper,
    Threat,
)
from collection.compute.survival.survival import surviving_at
from collection.language.sentences import counted, ended
from collection.language.words import FOREIGN_ROLES
from collection.records.policy import Interval
from collection.records.sheets import Condition
from collection.values import dates
from collection.values.spoken_dates import in_words

STRIPPED = "somebody strips it, not knowing"
UNSEEN_STRIPPED = "somebody strips what nobody has looked at"
UNDER = ("original covered", "original fragmentary")
OPEN = "original exposed"
SLOW = frozenset({"soiling", "bloom", "fading", "tape residue", "biological growth"})
"""Changes that take little of the finish by themselves (judgement)."""
UNDATED = FOREIGN_ROLES | {"support"}
"""What belongs to no scheme: dirt and the like, and what lies under the coats."""
HOW_BAD = {1: "slight", 2: "moderate", 3: "severe"}
LONGEST = 200
"""Years between two looks beyond which a date was left open, and tells no pace."""
NAMED = 3
"""So many records are named behind a threat that many show."""
REPAINTED, NOT_REPAINTED = "not examined, repainted", "not examined"
UNTOLD, ON_PAPER = "untold", "told on paper"


def standing_threats(case: Case, papers: Sequence[Paper] = ()) -> tuple[Threat, ...]:
    """Every threat that the records of an object show; of those with a day, whether they hold is asked of each.

    :param papers: its sources, which facts do not hold.
    """
    failing = list(_failing(case))
    return (
        *failing,
        *_past_its_date(case),
        *_advised(case, failing),
        *_unexamined(case),
        *_exposed(case),
        *_covered(case, papers),
        *_evidence(case, papers),
    )


def _failing(case: Case) -> Iterator[Threat]:
    """Conditions still at work where original finish survives."""
    for row in standing(case):
        at = surviving_at(case, row.place) if row.active == "yes" else set()
        if not at:
            continue
        where = "where original finish lies open" if OPEN in at else "where original finish survives"
        extent: Interval = NOT_KNOWN if row.extent_pct is None else (row.extent_pct / 100,) * 3
        grown = _grown(case, row)
        fails = row.phenomenon in FAILS
        yield Threat(
            FAILING,
            row.place,
            f"{row.phenomenon.capitalize()} continues {where} (seen {in_words(row.observed_on)}).",
            "Have it looked at and secured; until then keep it still, dry and shaded.",
            (("conditions", row.key_text()), *(("conditions", each.key_text()) for each, _ in grown)),
            soon=_soon(row),
            share=reached(case, {row.place}, extent),
            event=f"{row.phenomenon} at {row.place}",
            act="secure" if fails else "arrest",
            pace_years=_pace(row, grown),
            action="lay flakes" if fails else None,
            area_m2=_area(case, row.place, extent[1]) if fails else None,
        )


def _soon(row: Condition) -> str:
    if row.phenomenon in SLOW:
        return "slow change"
    if row.phenomenon not in FAILS:
        return "other change"
    return f"failing, {HOW_BAD.get(row.severity or 0, 'not said how badly')}"


def _grown(case: Case, row: Condition) -> list[tuple[Condition, float]]:
    """The earliest look at the same thing that was surely before this one and saw less of it, with the years between."""
    if row.extent_pct is None:
        return []
    seen = [
        (other, years)
        for other in case.facts.conditions
        if (other.place, other.phenomenon, other.scheme) == (row.place, row.phenomenon, row.scheme)
        and other.extent_pct is not None
        and other.extent_pct < row.extent_pct
        and dates.surely_before(other.observed_on, row.observed_on)
        and (years := _year(row.observed_on) - _year(other.observed_on)) < LONGEST
    ]
    return sorted(seen, key=lambda each: -each[1])[:1]


def _year(on: str) -> float:
    """The middle of a date, in years to about a day."""
    return sum(int(day[:4]) + (int(day[5:7]) - 1) / 12 + int(day[8:]) / 365 for day in dates.bounds(on)) / 2


def _pace(row: Condition, grown: Sequence[tuple[Condition, float]]) -> float | None:
    """The years in which as much again begins to fail as fails now, at the pace of two looks."""
    if not grown or row.extent_pct is None:
        return None
    ((before, years),) = grown
    return row.extent_pct / ((row.extent_pct - (before.extent_pct or 0.0)) / years)


def _area(case: Case, place: str, extent: float) -> float | None:
    """The m² in a place that fail; None where it is not measured."""
    places, found = places_of(case), surfaces(case)
    areas = [surface.area_m2 for code, surface in found.items() if places.contains(place, code)]
    measured = [area for area in areas if area is not None]
    return sum(measured) * extent if measured and len(measured) == len(areas) else None


def _past_its_date(case: Case) -> Iterator[Threat]:
    for row in case.facts.treatments:
        if not row.temporary_until:
            continue
        places = {step.place for step in case.facts.treatment_steps if step.treatment == row.treatment} or {ALL}
        yield Threat(
            PAST,
            None,
            f"“{row.purpose}” was to stay no longer than {in_words(row.temporary_until)}, and "
            "no record says that it came off.",
            "Check whether it is still on, and take it off or renew it.",
            (("treatments", row.key_text()),),
            soon="past its date",
            share=reached(case, places),
            event=f"{row.treatment} does harm",
            act="take off",
            after=dates.bounds(row.temporary_until).latest,
        )


def _advised(case: Case, failing: Sequence[Threat]) -> Iterator[Threat]:
    """Advice to do something, in force and not done. Advice against work is followed by doing nothing, which no
    treatment can show; anybody who proposes such work sees it then."""
    places = places_of(case)
    for row in standing_advice(case.facts.advice, case.facts.treatments, None):
        place = row.place or ALL
        if row.against is None and surviving_at(case, place):
            # Advice on a place where something fails is nearly always about that.
            same = next((each for each in failing if places.overlap(each.place or ALL, place) and place != ALL), None)
            yield Threat(
                ADVISED,
                row.place,
                f"Advised {in_words(row.given_on)}, and no recorded treatment has followed it: {ended(row.what)}",
                "Do it, or write down why not.",
                (("advice", row.key_text()),),
                soon=f"advice, {row.priority or 'when convenient'}",
                share=reached(case, {place}),
                event=same.event if same else f"{row.advice} is not followed",
                # To do what was advised there is to do that treatment, and takes its hours.
                act=same.act if same else "follow",
                action=same.action if same else None,
                area_m2=same.area_m2 if same else None,
                until=dates.bounds(row.until).latest if row.until else None,
            )


def _unexamined(case: Case) -> Iterator[Threat]:
    """Surface on which nobody has read any coat: all of an object, or places of its parts, a part at a time: one sample
    there would tell of the part."""
    again = [step for step in case.facts.treatment_steps if step.action == "coat"]
    evidence = tuple(("treatment_steps", step.key_text()) for step in again)
    unseen: dict[str | None, list[str]] = {}
    for code, surface in surfaces(case).items():
        if surface.state == NOT_EXAMINED:
            part = places_of(case).component_of(code) if case.facts.samples else None
            unseen.setdefault(part, []).append(code)
    for part, codes in unseen.items():
        place = None if part is None else max(codes, key=lambda code: (surfaces(case)[code].part, code))
        some = frozenset(codes)
        share = total(case, lambda code, _, some=some: WHOLE if code in some else NONE)  # type: ignore[misc]
        whole = not case.facts.samples
        if whole and again:
            message = (
                f"Records show that it was repainted ({counted(len(again), 'time')}), and nobody "
                "has looked at what lies under it."
            )
        elif whole:
            message = "Nobody has looked at any coat of it: all of its original finish may be there, or none."
        else:
            painted = _percent(sum(surfaces(case)[code].part for code in codes))
            message = f"Nobody has looked at {_named(codes)}, {painted} of its painted surface."
        yield Threat(
            UNEXAMINED if whole and again else UNSEEN,
            place,
            message,
            "Have one small place read first; leave it alone until then.",
            evidence if whole else evidence[:NAMED],
            soon=REPAINTED if again else NOT_REPAINTED,
            share=share,
            event=UNSEEN_STRIPPED if part is None else f"{UNSEEN_STRIPPED} on {part}",
            act="sample",
        )


def _named(codes: Sequence[str]) -> str:
    some = ", ".join(codes[:NAMED])
    return some if len(codes) <= NAMED else f"{some} and {counted(len(codes) - NAMED, 'more place')}"


def _exposed(case: Case) -> Iterator[Threat]:
    """Original finish that lies open, by the surroundings on record; out of doors, what nobody has looked at may."""
    around = case.facts.object.surroundings or "unknown"
    outside = around in ("outdoors", "sheltered")
    found = surfaces(case)
    openly = [code for code, surface in found.items() if surface.state == OPEN]
    unseen = any(surface.state == NOT_EXAMINED for surface in found.values())
    if not openly and not (outside and unseen):
        return
    share = total(
        case,
        lambda _, surface: (
            WHOLE if surface.state == OPEN else NOT_KNOWN if surface.state == NOT_EXAMINED and outside else NONE
        ),
    )
    where = {
        "outdoors": "Outdoors rain, light and hands reach",
        "sheltered": "Under a roof without walls damp, light and hands reach",
        "indoors": "Light, hands and changing air reach",
        "indoors steady": "Light and hands reach",
        "unknown": "Nobody has recorded where it stands; light and hands, and perhaps weather, reach",
    }[around]
    what = (
        f"original finish that lies open at {counted(len(openly), 'place')}" if openly else "what nobody has looked at"
    )
    yield Threat(
        EXPOSED,
        openly[0] if len(openly) == 1 else None,
        f"{where} {what}.",
        "Bring it under a roof, shade it, and keep hands off it."
        if outside
        else "Shade it, and keep hands off it."
        if around != "unknown"
        else "Write down where it stands, shade it, and keep hands off it.",
        tuple(("samples", sample.key_text()) for sample in case.facts.samples if sample.place in openly)[:NAMED],
        soon={"outdoors": "open to weather", "unknown": "open, surroundings unknown"}.get(around, f"open, {around}"),
        share=share,
        event="wear, light and weather",
        act="shelter",
    )


def _covered(case: Case, papers: Sequence[Paper]) -> Iterator[Threat]:
    """Original finish under later paint, and what tells of it beside these records; a tag is not asked for here."""
    found = surfaces(case)
    under = [code for code, surface in found.items() if surface.state in UNDER]
    if not under:
        return
    reports = [("sources", paper.key) for paper in papers if paper.kind == "report"]
    reports += [("treatments", row.key_text()) for row in case.facts.treatments if row.report]
    yield Threat(
        COVERED,
        under[0] if len(under) == 1 else None,
        f"Original finish lies under later paint at {counted(len(under), 'place')}; "
        + (
            f"{'a report' if len(reports) == 1 else 'reports'} in the file tell of it, and no tag."
            if reports
            else "no tag and no report tells of it."
        ),
        "Print a tag and hang it on the object.",
        tuple(reports[:NAMED]),
        soon=ON_PAPER if reports else UNTOLD,
        share=total(case, lambda _, surface: WHOLE if surface.state in UNDER else NONE),
        event=STRIPPED,
        act="tag",
    )


def _evidence(case: Case, papers: Sequence[Paper]) -> Iterator[Threat]:
    """Records of which there is one piece, or that say less than was seen: papers without a copy, samples without a
    picture, coats that nobody gave a scheme or a period. Each reaches the share of its kind that it is."""
    pictured = {row.sample for row in case.facts.pictures if row.sample}
    bare = [row for row in case.facts.samples if row.sample not in pictured and row.method != "gauge"]
    alone = [paper for paper in papers if not paper.copied]
    loose = [row for row in case.facts.layers if row.scheme is None and row.period is None and row.role not in UNDATED]
    for records, of, noun, said, remedy, act, sheet in (
        (alone, len(papers), "paper", "kept as one piece, without a copy here", "Copy them.", "copy", "sources"),
        (bare, len(case.facts.samples), "sample", "without a picture", "Photograph them.", "photograph", "samples"),
        (
            loose,
            len(case.facts.layers),
            "coat",
            "without a scheme and a period: what they are is in somebody's head",
            "Give each its scheme while whoever read them can be asked.",
            "assign",
            "layers",
        ),
    ):
        if records:
            share = len(records) / max(of, 1)
            yield Threat(
                EVIDENCE,
                None,
                f"{counted(len(records), noun)} of {of} {'is' if len(records) == 1 else 'are'} {said}.",
                remedy,
                tuple((sheet, row.key if isinstance(row, Paper) else row.key_text()) for row in records[:NAMED]),
                soon="evidence in one copy",
                share=(share,) * 3,
                event=f"{noun}s are lost",
                act=act,
                amount=len(records),
            )


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %" if share >= 0.01 else "under 1 %"
