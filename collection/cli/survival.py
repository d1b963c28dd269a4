"""`survival`: what original finish survives, where, and how surely; counts first, figures second."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from collection.cli.options import AS_JSON, DATABASE, say
from collection.compute.case import Case
from collection.language.errors import WrongCommand
from collection.language.sentences import counted, figure, not_counting, percent, square_metres

if TYPE_CHECKING:
    from collection.compute.survival.sums import CollectionSurvival, PlaceCounts
    from collection.compute.survival.survival import ObjectSurvival
    from collection.records.facts import Facts


@click.command()
@DATABASE
@click.argument("object_code", metavar="[OBJECT]", required=False)
@click.option("--as-of", "day", metavar="DATE", help="As it was known at the end of that day (EDTF).")
@AS_JSON
def survival(db: Path, object_code: str | None, day: str | None, as_json: bool) -> int:
    """What original finish survives, where, and how surely: of one object, or of all and their sum."""
    from collection.compute.survival.sums import by_part, of_collection
    from collection.compute.survival.survival import object_survival, survival_json
    from collection.store.base import database, read

    if day is not None:
        _check_day(day)
    with database.opened(db, write=False) as connection:
        codes = [object_code] if object_code else read.object_codes(connection)
        cases = [Case(_on(read.load_facts(connection, code), day)) for code in codes]
    found = [object_survival(case) for case in cases]
    whole = of_collection(found)
    if as_json:
        answer: dict[str, Any] = {
            "format": 1,
            "as_of": day,
            "objects": [survival_json(case) for case in cases],
            "collection": None if object_code else whole.as_json(),
        }
        if object_code:
            answer["parts"] = [part.as_json() for part in by_part(cases[0])]
        say(answer)
        return 0
    lines = _of_object(cases[0]) if object_code else [*map(_in_a_line, found), "", _summed(whole)]
    click.echo("\n".join([f"As known at the end of {day}:"] * bool(day) + lines))
    return 0


def _check_day(day: str) -> None:
    from collection.language.errors import BadValue
    from collection.values import dates

    try:
        dates.bounds(day)
    except BadValue as fault:
        raise WrongCommand(f"--as-of {day}: {fault}") from fault


def _on(facts: Facts, day: str | None) -> Facts:
    from collection.compute.survival.as_of import as_of

    return facts if day is None else as_of(facts, day)


def _in_a_line(one: ObjectSurvival) -> str:
    """An object's counts, its area and what that leaves out, and the day of the newest record behind them."""
    area = (
        ""
        if one.surviving_m2 is None
        else (f"; {square_metres(one.surviving_m2)} of it{not_counting(one.unmeasured_places, one.without_share)}")
    )
    return f"{one.object}  {one.title}: {one.sentence}{area}{f' (as of {one.as_of})' if one.as_of else ''}"


def _of_object(case: Case) -> list[str]:
    from collection.compute.survival.sums import by_part
    from collection.compute.survival.survival import decoration_survival, object_survival, scheme_survival

    one, parts = object_survival(case), by_part(case)
    lines = [_in_a_line(one)]
    if one.how_chosen:
        lines.append(f"  {one.how_chosen}. Figures hold for spots chosen at random.")
    lines += ["", "  place          state                    seen / read      area        surviving share"]
    for place in one.places:
        # Nobody looked here: what its part makes likely goes into the part's sum, and is no finding of this place.
        looked = place.state != "not examined"
        share = "" if place.share is None else percent(place.share) if looked else "reckoned with its part"
        area = "not measured" if place.area_m2 is None else f"{figure(place.area_m2)} m²"
        traces = f" ({place.traces} trace{'s' if place.traces > 1 else ''})" if place.traces else ""
        counts = f"{place.present} / {place.read}{traces}"
        lines.append(f"  {place.place:<14} {place.state:<24} {counts:<16} {area:<12} {share}".rstrip())
    if any(part.component for part in parts):
        lines += ["", "  part"]
        for part in parts:
            lines.append(
                f"  {part.component or 'all':<14} {_places(part.places)}"
                + (f"; {square_metres(part.surviving_m2)}" if part.surviving_m2 else "")
            )
            if part.warning:
                lines.append(f"  {'':<14} {part.warning}")
    for title, rows in (
        ("scheme", [(s.scheme, s) for s in scheme_survival(case) if s.places]),
        ("decoration (not in the total)", [(d.decoration, d) for d in decoration_survival(case)]),
    ):
        if rows:
            lines += ["", f"  {title}"]
            lines += [f"  {code:<14} {_counts(row)}" for code, row in rows]
    return lines


def _counts(row: Any) -> str:
    """A scheme's or a decoration's counts, and its area where there is one."""
    seen, read = (row.places_seen, row.places_read) if hasattr(row, "places_seen") else (row.present, row.read)
    text = f"seen at {seen} of {read} spots" if read else "nobody has looked"
    surviving = getattr(row, "surviving_m2", None)
    state = getattr(row, "state", None)
    return text + (f", {state}" if state else "") + (f"; {square_metres(surviving)}" if surviving else "")


def _places(counts: PlaceCounts) -> str:
    if counts.range is None:
        return f"none of its {counts.whole} places examined" if counts.whole != 1 else "not examined"
    least, most = counts.range
    text = f"original finish at {counts.found} of {counts.read} places read"
    if counts.read < counts.whole:
        text += f"; of all {counts.whole}, {least}" + (f" to {most}" if most > least else "")
    return text


def _summed(whole: CollectionSurvival) -> str:
    figure = (
        ""
        if whole.surviving_m2 is None
        else (
            f" {square_metres(whole.surviving_m2)} survive in all, by the objects that have a figure"
            f"{', places of unknown area left out' if whole.at_least else ''}."
        )
    )
    return (
        f"{whole.objects} objects: original finish seen at {whole.spots_seen} of {whole.spots_read} spots read, at "
        f"{whole.places.found} of {whole.places.read} places read of {whole.places.whole}; "
        f"{counted(whole.without, 'object')} {'has' if whole.without == 1 else 'have'} no figure.{figure}"
    )
