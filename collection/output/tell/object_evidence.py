"""What an object's records rest on, as blocks: samples, analyses, cleaning tests, conditions, pictures by light."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Any

from collection.language.cautions import cautions
from collection.language.sentences import counted, ended
from collection.output.drawings.stack import notes, panels, stack_of
from collection.output.published.glances import portrait
from collection.output.published.published_object import PublishedObject
from collection.output.tell.blocks import Block, Cards, Caution, Figure, Grid, Heading, Point, Points, Sentence
from collection.output.tell.lighting import View, views
from collection.output.tell.object_survival import at
from collection.output.tell.readings import chosen, sentence, verdict_of
from collection.output.tell.response_grid import Column, Limit, ResponseGrid, Row, response_grid
from collection.output.tell.wording import DRY, conditions_of
from collection.records.codes import natural
from collection.values.dates import bounds
from collection.values.spoken_dates import in_words

Json = dict[str, Any]

NO_TESTS = "No cleaning test is recorded: nobody knows what a liquid does to these coats."
MOST_STACKS, MOST_COATS = 16, 180
ACROSS_PX = 870.0
"""The pixels of a stack over the width of a page: letters 2.3 mm high."""
ACROSS = 6
"""So many coats stand beside each other in the grid of the tests on a sheet of paper."""
UNTRIED = "–"
MOST_PICTURES = 24
SEVERITY = ("looked for, none", "slight", "moderate", "severe")


def sections(published: PublishedObject) -> list[Block]:
    """The samples side by side, their stacks with the maker's finish bracketed beside the micrographs, and all of them
    in a list."""
    samples = published["samples"]
    if not samples:
        return []
    found: list[Block] = [Heading("Samples and sections", name="sections")]
    correlated = published.figure("samples")
    if correlated and sum(bool(published.coats(row["sample"])) for row in samples) > 1:
        caption = (
            "The samples side by side, to one scale, the surface above: one band for each campaign of finishing, joined "
            "where the records say that it is the same."
        )
        found.append(
            Figure(f"Correlated sections of {counted(len(samples), 'sample')}. {caption}", caption, svg=correlated)
        )
    drawn = chosen(published, samples, stacks=MOST_STACKS, coats=MOST_COATS)
    if drawn:
        stacks = [stack_of(published, row["sample"]) for row in drawn]
        found.append(Heading("Each sample from the surface inward", 2))
        pictured: list[Figure] = []
        bare: list[Figure] = []
        for row, stack, svg in zip(drawn, stacks, panels(stacks, name="stack"), strict=True):
            room = ACROSS_PX if stack.picture else ACROSS_PX / 2
            share = min(1.0, round(_width(svg) / room, 3))
            own = Figure(_said(published, row), f"{row['sample']}. {ended(sentence(row))}", svg=svg, share=share)
            (pictured if stack.picture else bare).append(own)
        found += [*pictured, *([Cards(tuple(bare), 2)] if bare else []), Sentence(" ".join(notes(stacks)), "aside")]
        if len(drawn) < len(samples):
            found.append(
                Sentence(
                    f"{len(drawn)} of {len(samples)} samples are drawn here, of each place one before a second.",
                    "aside",
                )
            )
    found += _list(published, samples)
    return found


def _said(published: PublishedObject, row: Json) -> str:
    coats = "; ".join(
        ", ".join(part for part in (coat.get("colour"), coat["role"]) if part)
        for coat in published.coats(row["sample"])
    )
    return f"Sample {row['sample']}, {at(published, row['place'])}, from the surface inward: {coats}."


def _width(svg: str) -> float:
    """The width that a drawing says it has."""
    found = re.search(r'viewBox="\S+ \S+ (\S+) ', svg)
    assert found is not None
    return float(found[1])


def _list(published: PublishedObject, samples: Sequence[Json]) -> Iterator[Block]:
    heads = ("Sample", "Where", "How read", "Maker’s finish", "Coats", "Read on, by", "Kept")
    yield Grid("Every sample", heads, tuple(_sample(published, row) for row in samples))
    if published["analyses"]:
        named = ("Analysis", "Of what", "Technique", "Result", "When, by whom")
        yield Grid("Materials identified", named, tuple(_analysis(published, row) for row in published["analyses"]))


def _sample(published: PublishedObject, row: Json) -> tuple[str, ...]:
    how = (row["method"], row.get("chosen") and f"chosen {row['chosen']}", row.get("instrument"))
    kept = (row.get("mount"), row.get("kept_at"))
    return (
        row["sample"],
        at(published, row["place"]),
        ", ".join(part for part in how if part),
        verdict_of(published, row)["says"],
        str(len(published.coats(row["sample"])) or "none told"),
        _when_by(row.get("taken_on"), row.get("taken_by")),
        ", ".join(part for part in kept if part) or "not recorded",
    )


def _when_by(when: str | None, whom: str | None) -> str:
    return ", ".join(part for part in (in_words(when), whom) if part) or "not recorded"


def _analysis(published: PublishedObject, row: Json) -> tuple[str, ...]:
    of = f"sample {row['sample']}" if row.get("sample") else at(published, row.get("place"))
    if row.get("position"):
        of += f", coat {row['position']}"
    result = row["result"] + (f" ({row['material']})" if row.get("material") else "")
    return row["analysis"], of, row["technique"], result, _when_by(row.get("analysed_on"), row.get("analysed_by"))


def tests(published: PublishedObject) -> list[Block]:
    """The cleaning tests as a grid of what each coat did, what each coat stood, and how each test was made."""
    heading = Heading("Cleaning tests", name="tests")
    rows = published["tests"]
    if not rows:
        return [heading, Sentence(NO_TESTS)]
    found: list[Block] = [heading]
    found += [
        Caution(text) for text in cautions((row.get("action") or "" for row in rows), (row["agent"] for row in rows))
    ]
    grid = response_grid(published, rows, lambda sheet, row: "")
    if grid is not None:
        found += _grids(grid)
        found += _limits(grid)
    told = tuple(_test(published, row) for row in rows)
    found.append(
        Grid("How each test was made", ("Test", "Where", "With what, how", "How looked at", "When, by whom"), told)
    )
    return found


def _grids(grid: ResponseGrid) -> Iterator[Block]:
    """A few coats at a time, so that the words fit; rows that say nothing of them are left out."""
    groups = {column: group.name for group in grid.groups for column in grid.columns if column.group == group.scheme}
    parts = -(-len(grid.columns) // ACROSS)
    across = -(-len(grid.columns) // parts)
    for start in range(0, len(grid.columns), across):
        columns = grid.columns[start : start + across]
        rows = [row for row in grid.rows if any(row.cells[start : start + across])]
        part = f", coats {start + 1} to {start + len(columns)} of {len(grid.columns)}" if parts > 1 else ""
        yield Grid(
            f"What each coat did at most, the milder use above; {UNTRIED} not tried{part}",
            ("With what, how (tests)", *(_head(column, groups[column]) for column in columns)),
            tuple((_use(row), *(_cell(cell) for cell in row.cells[start : start + across])) for row in rows),
        )


def _head(column: Column, group: str) -> str:
    own = f"{column.name} {column.code}".strip()
    return f"{own}, {group}"


def _use(row: Row) -> str:
    return f"{row.agent}, {row.used} ({', '.join(code for code, _ in row.tests)})"


def _cell(cell: Any) -> str:
    if cell is None:
        return UNTRIED
    more = (
        f"the worst of {cell.number}" if not cell.alike else f"{cell.number} times" if cell.number > 1 else "",
        "wet only" if cell.wet else "",
    )
    said = ", ".join(part for part in more if part)
    return f"{cell.word} ({said})" if said else cell.word


def _limits(grid: ResponseGrid) -> Iterator[Block]:
    if grid.limits:
        yield Heading("What each coat stood, and what first did something", 2)
        groups = {group.scheme: group.name for group in grid.groups}
        yield Points(tuple(_limit(limit, groups) for limit in grid.limits))


def _limit(limit: Limit, groups: dict[str, str]) -> Point:
    stood = "; ".join(f"{used} ({', '.join(code for code, _ in tests)})" for used, tests in limit.stood)
    harmed = "; ".join(f"{used}: {did} ({', '.join(code for code, _ in tests)})" for used, did, tests in limit.harmed)
    said = (
        f"Nothing seen up to {stood}." if stood else "No test left it unchanged.",
        f"First changed by {harmed}." if harmed else "No test changed it.",
        *limit.between,
    )
    return Point(" ".join(said), strong=_head(limit.column, groups[limit.column.group]))


def _test(published: PublishedObject, row: Json) -> tuple[str, ...]:
    how = (
        row["agent"],
        conditions_of(row),
        row.get("action"),
        f"on {row['finish']} finish" if row.get("finish") else None,
    )
    looked = (row.get("looked_with"), DRY.get(row.get("after_drying") or ""))
    stopped = f"; stopped with {row['arrested_with']}" if row.get("arrested_with") else ""
    return (
        row["test"],
        at(published, row["place"]) + (f", sample {row['sample']}" if row.get("sample") else ""),
        ", ".join(part for part in how if part) + stopped,
        ", ".join(part for part in looked if part) or "not recorded",
        _when_by(row.get("tested_on"), row.get("tested_by")),
    )


def conditions(published: PublishedObject) -> list[Block]:
    """What was seen, the newest first."""
    rows = sorted(published["conditions"], key=lambda row: bounds(row["observed_on"]).latest, reverse=True)
    if not rows:
        return []
    heads = ("What was seen", "Where", "How bad", "Share of the place", "Does it go on", "When, by whom", "Remarks")
    return [
        Heading("Condition", name="condition"),
        Grid(
            "As each was seen on its day",
            heads,
            tuple(
                (
                    row["phenomenon"] + (f", on scheme {row['scheme']}" if row.get("scheme") else ""),
                    at(published, row["place"]),
                    SEVERITY[row["severity"]] if row.get("severity") is not None else "not said",
                    f"{row['extent_pct']:g} %" if row.get("extent_pct") is not None else "not said",
                    {"unknown": "not known"}.get(row.get("active") or "unknown", row.get("active") or ""),
                    _when_by(row["observed_on"], row.get("observed_by")),
                    row.get("notes") or "",
                )
                for row in rows
            ),
        ),
    ]


def pictures(published: PublishedObject) -> list[Block]:
    """The pictures that show no sample, those of one view in several lights side by side; older ones only counted where
    there are many."""
    rows = [row for row in published["pictures"] if row["file"] and not row.get("sample")]
    first = portrait(row for row in rows if (row.get("place") or "all") == "all")
    found: list[Block] = []
    alone: list[Figure] = []
    shown = 0
    for view in sorted(views(rows), key=lambda view: (not view.is_switched, _where(view))):
        if shown + len(view.pictures) > MOST_PICTURES:
            break
        if not view.is_switched and view.pictures[0][1] is first:
            continue
        figures = [_lit(published, light, row) for light, row in view.pictures]
        shown += len(figures)
        if view.is_switched:
            found.append(Cards(tuple(figures), max(3, min(len(figures), 4))))
        else:
            alone += figures
    if alone:
        found.append(Cards(tuple(alone), 3))
    if not found:
        return []
    left = sum(row is not first for row in rows) - shown
    if left > 0:
        found.append(Sentence(f"{counted(left, 'more picture')} are kept with the collection’s records.", "aside"))
    return [Heading("Pictures by light", name="pictures"), *found]


def _where(view: View) -> tuple[Any, ...]:
    row = view.pictures[0][1]
    return natural(row.get("place") or ""), natural(row["picture"])


def _lit(published: PublishedObject, light: str, row: Json) -> Figure:
    own = row.get("caption") or f"Picture {row['picture']}"
    place = at(published, row["place"]) if row.get("place") and not row.get("caption") else ""
    stage = f"{row['stage']} work" if row.get("stage") in ("before", "during", "after") else None
    named = light not in own
    said = (own, place, light if named else None, stage, in_words(row.get("taken_on")))
    caption = ", ".join(part for part in said if part)
    rights = row.get("rights") or "Rights not recorded: do not show it outside"
    return Figure(caption, f"{ended(caption)} {ended(rights)}", picture=row["file"])
