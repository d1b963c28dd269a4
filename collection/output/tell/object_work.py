"""What was done to an object, is claimed of it, and is proposed, as blocks; the hazards; and who says all this."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from collection.language.cautions import DUST, cautions
from collection.language.sentences import counted, ended
from collection.language.words import SEVERITY_RANK, SEVERITY_SPOKEN
from collection.output.published.published_object import PublishedObject, newest
from collection.output.tell import verdict
from collection.output.tell.blocks import (
    Block,
    Caution,
    Facts,
    Figure,
    Grid,
    Heading,
    Point,
    Points,
    Sentence,
    Signature,
)
from collection.output.tell.object_survival import at
from collection.output.tell.wording import DECIDED, conditions_of
from collection.values.dates import bounds
from collection.values.spoken_dates import in_words

Json = dict[str, Any]

MOST_LINES, MOST_NEEDS, MOST_PROPOSALS, MOST_TREATMENTS = 6, 8, 12, 60
UNKNOWN_HAZARDS = (
    "Others may be there that nobody has recorded. Follow the safety data sheets, local codes and licensed practice."
)


def _span(row: Json, start: str = "started", end: str = "ended") -> str:
    first, last = row.get(start), row.get(end)
    if not first or not last or first == last:
        return in_words(first or last)
    return f"{in_words(first)} to {in_words(last)}"


def life(published: PublishedObject) -> list[Block]:
    """Its whole life as one picture; nothing where fewer than two things are dated."""
    drawn = published.figure("life")
    if not drawn:
        return []
    caption = (
        "Finishes, works, advice and surveys on one scale of years. What fades or is dashed is not dated more closely."
    )
    return [Heading("Its life", name="life"), Figure(f"The life of {published.title}. {caption}", caption, svg=drawn)]


def treatments(published: PublishedObject) -> list[Block]:
    """The work as it really ran, from the first to the last: by whom, with what, what came off, where it stopped."""
    rows = sorted(
        published["treatments"], key=lambda row: bounds(row.get("started") or row.get("ended") or "").earliest
    )
    if not rows:
        return []
    found: list[Block] = [Heading("What was done to it", name="treatments")]
    for row in rows[-MOST_TREATMENTS:]:
        found += _treatment(published, row)
    if len(rows) > MOST_TREATMENTS:
        found.append(Sentence(f"{len(rows) - MOST_TREATMENTS} earlier ones are in the collection’s records."))
    found += [
        Caution(text)
        for text in cautions(
            (step["action"] for row in rows for step in row["treatment_steps"]),
            (step.get("agent") for row in rows for step in row["treatment_steps"]),
        )
    ]
    return found


def _treatment(published: PublishedObject, row: Json) -> Iterator[Block]:
    when = _span(row)
    yield Heading(f"{row['purpose']} ({row['treatment']})", 2)
    hours = sum(step.get("hours") or 0 for step in row["treatment_steps"])
    proposal = row.get("proposal")
    plan = published.row("proposals", f"{published.code}/{proposal}") if proposal else None
    said = (
        when or "Day not recorded",
        row.get("treated_by") and f"by {row['treated_by']}",
        row.get("authorised_by") and f"allowed by {row['authorised_by']}",
        f"outcome: {row['outcome']}" if row.get("outcome") else "done, as far as anyone knows",
        f"{hours:g} h logged" if hours else None,
        row.get("temporary_until") and f"temporary: must come off by {in_words(row['temporary_until'])}",
        plan and f"carried out the proposal “{plan['title']}”",
        row.get("report") and f"report: {row['report']}",
    )
    yield Sentence(
        ended("; ".join(part for part in said if part)) + (f" {ended(row['notes'])}" if row.get("notes") else "")
    )
    if row["treatment_steps"]:
        yield Points(tuple(_step(published, step) for step in row["treatment_steps"]))


def _step(published: PublishedObject, step: Json) -> Point:
    def coat(name: str) -> str | None:
        return verdict.scheme_in_words(published, step[name]) if step.get(name) else None

    gone = f" ({step['removed_m2']:g} m²)" if step.get("removed_m2") is not None else ""
    binder = f" ({step['adds_binder']})" if step.get("adds_binder") else ""
    how = ", ".join(part for part in (step.get("agent"), conditions_of(step)) if part)
    said = (
        f"with {how}" if step.get("agent") else how,
        step.get("removed") and f"took off {coat('removed')}{gone}",
        step.get("stopped_at") and f"stopped at {coat('stopped_at')}",
        step.get("arrested_with") and f"stopped with {step['arrested_with']}",
        step.get("adds") and f"put on {step['adds']}{binder}",
        step.get("removable_with") and f"comes off with {step['removable_with']}",
        f"{step['area_m2']:g} m² worked on" if step.get("area_m2") is not None else None,
        f"gloss {step['gloss_after_gu']:g} GU afterwards" if step.get("gloss_after_gu") is not None else None,
        step.get("outcome") and f"outcome: {step['outcome']}",
        f"{step['hours']:g} h" if step.get("hours") is not None else None,
        step.get("notes"),
    )
    told = "; ".join(part for part in said if part)
    return Point(ended(told or "nothing more recorded"), strong=f"{step['action']} at {at(published, step['place'])}")


def claims(published: PublishedObject) -> list[Block]:
    """What documents and people say of it, and what evidence made of that."""
    rows = newest(published["claims"], "claim")
    if not rows:
        return []
    items = []
    for row in rows:
        said = (in_words(row.get("observed_on")), _source(published, row))
        items.append(
            Point(
                f"{row['status']}" + (f". {ended(row['resolved_by'])}" if row.get("resolved_by") else "."),
                strong=f"“{row['statement']}”",
                aside=", ".join(part for part in said if part),
                record=("claims", row["key"]),
            )
        )
    return [Heading("Claims", name="claims"), Points(tuple(items))]


def _source(published: PublishedObject, row: Json) -> str:
    code = row.get("source")
    found = next((each for each in published["sources"] if each["source"] == code), None) if code else None
    return f"by {found['title']} ({code})" if found else ""


def hazards(published: PublishedObject) -> list[Block]:
    """What on it can hurt people, with the caution that belongs to it."""
    rows = newest(published["hazards"], "hazard")
    if not rows:
        return []
    items = [
        Point(
            row["status"] + (f" ({row['basis']})" if row.get("basis") else ""),
            strong=row["kind"],
            aside=in_words(row.get("observed_on")),
            record=("hazards", row["key"]),
            place=row.get("component") or "",
            place_name=published.name_of(row["component"]) or row["component"] if row.get("component") else "",
        )
        for row in rows
    ]
    found: list[Block] = [Heading("Hazards", name="hazards"), Points(tuple(items))]
    lead = [row["status"] for row in rows if "lead" in row["kind"].lower()]
    if not lead or any(status != "not found" for status in lead):
        found.append(Caution(DUST))
    return [*found, Caution(UNKNOWN_HAZARDS)]


def reserves(published: PublishedObject) -> list[Block]:
    """The places that must stay untouched."""
    rows = published["reserves"]
    if not rows:
        return []
    items = []
    for row in rows:
        said = (
            row.get("made_on") and f"since {in_words(row['made_on'])}",
            row.get("made_by"),
            f"{row['area_m2']:g} m²" if row.get("area_m2") is not None else None,
            f"until {in_words(row['until'])}" if row.get("until") else "for good",
        )
        items.append(
            Point(
                row.get("shows") or "",
                strong=row["kind"],
                aside=", ".join(part for part in said if part),
                record=("reserves", row["key"]),
                place=row["place"],
                place_name=published.name_of(row["place"]) or row["place"],
            )
        )
    return [Heading("Must stay untouched", name="reserves"), Points(tuple(items))]


def proposals(published: PublishedObject) -> list[Block]:
    """The work proposed, the worst first: what it would take, what was decided, what has to be settled first."""
    rows = sorted(published["proposals"], key=lambda row: -SEVERITY_RANK[row["assessment"]["outcome"]])
    if not rows:
        return []
    found: list[Block] = [Heading("Proposals and decisions", name="proposals")]
    for row in rows[:MOST_PROPOSALS]:
        found += _proposal(published, row)
    if len(rows) > MOST_PROPOSALS:
        found.append(
            Sentence(f"{len(rows) - MOST_PROPOSALS} more are in the collection’s records; the worst stand here.")
        )
    return found


def _proposal(published: PublishedObject, row: Json) -> Iterator[Block]:
    assessment = row["assessment"]
    yield Heading(f"{row['title']} ({row['proposal']})", 2)
    said = (
        f"Proposed {in_words(row['proposed_on'])}",
        row.get("proposed_by") and f"by {row['proposed_by']}",
        row.get("purpose") and f"for: {row['purpose']}",
        row.get("planned_for") and f"planned for {in_words(row['planned_for'])}",
        None if row["decisions"] else "not decided",
    )
    steps = "; ".join(_planned(published, step) for step in row["proposal_steps"])
    yield Sentence(ended(", ".join(part for part in said if part)) + (f" Steps: {ended(steps)}" if steps else ""))
    yield Sentence(verdict.sentence(published, assessment))
    merged = verdict.lines(published, assessment["losses"])
    reached = [line for line in merged if line.severity not in verdict.CLEARED]
    if reached:
        rows = tuple(_line(published, line) for line in reached[:MOST_LINES])
        more = f"; {counted(len(reached) - MOST_LINES, 'more line')} not shown" if len(reached) > MOST_LINES else ""
        yield Grid(
            f"What {row['proposal']} would take{more}",
            ("Verdict", "What", "Where", "How much of it"),
            rows,
            wide=(1, 2),
        )
    for made in row["decisions"]:
        yield _decision(made)
    if not row["decisions"]:
        needs = verdict.needs(need for need in assessment["requirements"] if need["state"] == "open")
        if needs:
            items = [
                Point(
                    " ".join(need.messages[:2])
                    + (f" ({len(need.messages) - 2} more)" if len(need.messages) > 2 else ""),
                    strong=f"Open before {need.when}",
                    aside=need.remedy or "",
                )
                for need in needs[:MOST_NEEDS]
            ]
            yield Points(tuple(items))


def _planned(published: PublishedObject, step: Json) -> str:
    how = (step.get("agent"), conditions_of(step), step.get("adds") and f"puts on {step['adds']}")
    said = ", ".join(part for part in how if part)
    return f"{step['step']}. {step['action']} at {at(published, step['place'])}" + (f" ({said})" if said else "")


def _line(published: PublishedObject, line: verdict.Line) -> tuple[str, ...]:
    places = ", ".join(at(published, place) if place != verdict.UNSAID else place for place in line.places[:4])
    more = f" and {len(line.places) - 4} more" if len(line.places) > 4 else ""
    return (
        SEVERITY_SPOKEN[line.severity] + (", meant to go" if line.meant else ""),
        ", ".join(line.things) + (f" of {line.finish}" if line.finish else ""),
        places + more,
        line.share or "not known",
    )


def _decision(made: Json) -> Block:
    steps = f", of steps {', '.join(map(str, made['steps']))}" if made.get("steps") else ""
    said = [
        f"{DECIDED[made['decision']].capitalize()} {in_words(made['decided_at'][:10])}{steps}"
        + (f" by {made['decided_by']}" if made.get("decided_by") else "")
        + (f": {ended(made['reason'])}" if made.get("reason") else "."),
        *(f"On condition: {ended(each)}" for each in made["conditions"]),
        *(
            f"{each['loss']} ({SEVERITY_SPOKEN[each['severity']]}) accepted: {ended(each['reason'])}"
            for each in made["overrides"]
        ),
        *(f"Advice {each['advice']} answered: {ended(each['reason'])}" for each in made["answers"]),
        "Overtaken by later records: to be looked at again." if made["stale"] else "",
    ]
    return Sentence(" ".join(part for part in said if part))


def sources(published: PublishedObject) -> list[Block]:
    """The reports, letters and pictures that the records name, and the surveys: who, when, what, how, with what limits."""
    found: list[Block] = [Heading("Sources and surveys", name="sources")]
    for row in published["surveys"]:
        rows = (
            ("When", _span(row)),
            ("Led by", row.get("lead")),
            ("Carried out by", row.get("institution")),
            ("Scope", row.get("scope")),
            ("Methods and their limits", row.get("method") or "not recorded"),
        )
        found += [
            Heading(f"{row['title']} ({row['code']})", 2),
            Facts(tuple((name, text) for name, text in rows if text)),
        ]
    if published["sources"]:
        found.append(
            Grid(
                "What the records rest on",
                ("Source", "Kind", "What it is", "Dated", "Where it is kept"),
                tuple(
                    (
                        row["source"],
                        row["kind"],
                        row["title"],
                        in_words(row.get("dated")) or "not dated",
                        row.get("kept_at") or "not recorded",
                    )
                    for row in published["sources"]
                ),
            )
        )
    return found if len(found) > 1 else []


MISSING = (
    ("advice", "No advice is recorded."),
    ("samples", "No sample is recorded: nobody has read how the coats lie on each other."),
    ("conditions", "No condition is recorded."),
    ("treatments", "No treatment is recorded."),
    ("claims", "No claim is recorded."),
    (
        "hazards",
        "No hazard is recorded, which does not mean that there is none: treat paint as leaded until it is analysed.",
    ),
    ("reserves", "No place is set aside to stay untouched."),
    ("proposals", "No proposal is recorded."),
    ("sources", "No source is recorded."),
    ("pictures", "No picture is recorded."),
)
"""Sections of which nothing is on record have no heading of their own; they are told together, a line each. The
cleaning tests have one always, because a coat that nobody tested is the first thing that whoever cleans must know."""


def missing(published: PublishedObject) -> list[Block]:
    """What is not on record, a line each."""
    items = tuple(Point(text) for sheet, text in MISSING if not published[sheet])
    return [Heading("What is not recorded", name="missing"), Points(items)] if items else []


def signature(published: PublishedObject, about: Mapping[str, str]) -> list[Block]:
    """Where a conservator signs."""
    day = in_words(published["changed_on"])
    kept = about.get("collection_name") or "the owner of the object"
    return [
        Heading("Signature", name="signature"),
        Signature(
            f"I have read this report on {published.code}, {published.title}, with the records as of {day or 'no day recorded'}. "
            f"One copy stays with {kept}, one with who signs. Departures from it that I know of:",
            ("", "Name", "For whom", "Place and date", "Signature"),
        ),
    ]
