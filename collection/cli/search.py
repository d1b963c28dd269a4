"""`search`: what survives where."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from collection.cli.options import AS_JSON, DATABASE, TEXT, F, say
from collection.cli.text.assessment import wrap
from collection.language.sentences import counted

if TYPE_CHECKING:
    from collection.store.search.hits import Hit
    from collection.store.search.search import Answer
    from collection.store.search.searched_object import Spot

SHOWN_PLACES = 6


def _narrowed_by(name: str, metavar: str, text: str) -> Callable[[F], F]:
    return click.option(f"--{name}", multiple=True, type=TEXT, metavar=metavar, help=text)


@click.command()
@DATABASE
@click.argument("words", nargs=-1, type=TEXT, metavar="WORDS...")
@_narrowed_by("period", "WORD", "Of a coat or decoration: original, early, later, restoration, recent, unknown.")
@_narrowed_by(
    "state",
    "WORD",
    "Of that coat's place, or of the decoration: exposed, covered, fragmentary, not found, removed, not examined.",
)
@_narrowed_by("role", "WORD", "What that coat is: varnish, lining, lettering, metal leaf …")
@_narrowed_by("colour", "WORDS", "That coat's recorded colour, words side by side.")
@_narrowed_by("kind", "WORDS", "What kind of thing the object is.")
@_narrowed_by("agent", "LIQUID", "A liquid tested or used anywhere on the object.")
@_narrowed_by("hazard", "KIND", "A hazard that was not ruled out, by its kind; any = of any kind.")
@click.option("--unexamined", is_flag=True, help="Objects with a place that nobody has examined.")
@click.option("-n", "limit", type=click.IntRange(1, 1000), default=20, show_default=True, help="How many to show.")
@AS_JSON
def search(db: Path, words: tuple[str, ...], limit: int, as_json: bool, **narrowed: Any) -> int:
    """Find what survives where: an exact code first, then words.

    Every word has to stand somewhere in the object's records. Words in quotes have to stand side by side; * at the end
    finds longer words too. An accession number, its beginning, or a key OBJECT/CODE comes first. --state, --period,
    --role and --colour together ask for one coat, or one decoration, in one place; the other filters ask about the
    object. A filter given twice means either. What was looked for and not found never matches.
    """
    from collection.store.base.database import opened
    from collection.store.search import search as searching
    from collection.store.search.filters import filters

    asked = filters(**narrowed)
    with opened(db, write=False) as connection:
        answer = searching.search(connection, words, asked, limit)
    if as_json:
        say(answer.as_json())
        return 0
    question = " ".join(
        [
            *words,
            *(
                f"--{name} {' or '.join(value)}" if isinstance(value, tuple) else f"--{name}"
                for name, value in narrowed.items()
                if value
            ),
        ]
    )
    click.echo("\n".join(answer_lines(answer, question)))
    return 0


def answer_lines(answer: Answer, question: str) -> list[str]:
    """The answer as text."""
    if not answer.total:
        lines = _nothing(answer, question)
    else:
        noun = "object matches" if answer.total == 1 else "objects match"
        rest = f"; the first {len(answer.hits)}:" if answer.total > len(answer.hits) else ":"
        lines = [f"{answer.total} {noun} {question}{rest}"]
        for hit in answer.hits:
            lines += ["", *_hit(hit)]
        if answer.total > len(answer.hits):
            lines += ["", f"… {answer.total - len(answer.hits):,} more; -n says how many are shown."]
    if answer.behind:
        noun = "object is" if answer.behind == 1 else "objects are"
        lines += [
            "",
            wrap(
                f"{answer.behind} {noun} not up to date, so matches may be missing or out of date: run "
                "`firstcoat refresh`."
            ),
        ]
    return lines


def _hit(hit: Hit) -> list[str]:
    unexamined = f"; {hit.unexamined} never examined" if hit.unexamined else ""
    lines = [wrap(f"{hit.object}  {hit.title} ({hit.about})"), wrap(f"{hit.sentence}{unexamined}.", "  ")]
    lines += [wrap(text, "  ") for text in _places(hit.places)]
    if hit.reasons:
        lines.append(wrap(f"because {hit.why}", "  "))
        evidence = list(dict.fromkeys(reason.evidence.text for reason in hit.reasons if reason.evidence.text))
        if evidence:
            lines.append(wrap(f"evidence: {'; '.join(evidence)}", "  "))
    if hit.behind:
        lines.append("  not up to date")
    return lines


def _places(spots: Sequence[Spot]) -> list[str]:
    """The places by state, one line each; what can be seen comes first."""
    lines = []
    for state, some in groupby(spots[:SHOWN_PLACES], lambda spot: spot.state):
        lines.append(f"{state or 'recorded'} at {', '.join(map(_place, some))}")
    if len(spots) > SHOWN_PLACES:
        lines.append(f"and at {counted(len(spots) - SHOWN_PLACES, 'more place')}; --json lists all")
    return lines


def _place(spot: Spot) -> str:
    traces = f", {counted(spot.traces, 'trace')}" if spot.traces else ""
    counts = f"seen in {spot.present} of {spot.read}{traces}" if spot.read else ""
    said = "; ".join(part for part in (spot.name, counts) if part)
    return f"{spot.place} ({said})" if said else spot.place


def _nothing(answer: Answer, question: str) -> list[str]:
    lines = [wrap(f"Nothing matches {question}.")]
    if answer.near is not None:
        for name in answer.near.gone:
            lines.append(wrap(f"The {name} was withdrawn; `firstcoat show … --history` says why.", "  "))
        for what, total in answer.near.without:
            lines.append(wrap(f"{total} object{'s match' if total > 1 else ' matches'} without {what}.", "  "))
        for what, known in answer.near.alike:
            lines.append(wrap(f"No record has {what}; there is {', '.join(known)}.", "  "))
    return lines
