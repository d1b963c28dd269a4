"""`window`: what would take one coat off and leave another, by recorded tests and published data."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.options import AS_JSON, DATABASE, TEXT, say, write_new
from collection.cli.proposals import POLICY
from collection.cli.text.assessment import wrap
from collection.compute.case import Case
from collection.language.errors import BadValue, WrongCommand
from collection.language.sentences import percent
from collection.records.policy import Interval, load_policy

if TYPE_CHECKING:
    from collection.compute.windows.windows import Candidate
    from collection.compute.windows.working_window import Window


@click.command()
@DATABASE
@click.argument("object_code", type=TEXT, metavar="OBJECT")
@click.option("--place", required=True, type=TEXT, help="The zone or part.")
@click.option("--remove", required=True, type=TEXT, metavar="COAT", help="A scheme, or a scheme and role: 2/varnish.")
@click.option("--keep", required=True, type=TEXT, metavar="COAT", help="The coat beneath that is to stay.")
@click.option(
    "--have",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    metavar="BOTTLES.toml",
    help="The liquids at hand.",
)
@click.option("--on", "day", metavar="DATE", help="The day of the work; older tests clear nothing.")
@click.option(
    "-n", "count", type=click.IntRange(1, 50), default=5, show_default=True, metavar="N", help="How many candidates."
)
@click.option("--svg", type=click.Path(path_type=Path), metavar="FILE", help="Draw the mixtures as bars.")
@POLICY
@AS_JSON
def window(
    db: Path,
    object_code: str,
    place: str,
    remove: str,
    keep: str,
    have: Path | None,
    day: str | None,
    count: int,
    svg: Path | None,
    policy: Path | None,
    as_json: bool,
) -> int:
    """What would take one coat off and leave another: what tests prove, then mixtures, what stops them, the next test.

    Candidates for spot tests in an inconspicuous place, and no more.
    """
    from datetime import date

    from collection.compute.windows.windows import pair_of
    from collection.compute.windows.working_window import working_window
    from collection.ingest.companion.bottles import read_bottles
    from collection.store.base import database, read
    from collection.values import dates
    from collection.values.reference import packaged

    rules, reference = load_policy(policy), packaged()
    liquids = read_bottles(have, reference).liquids if have is not None else rules.window.palette
    with database.opened(db, write=False) as connection:
        facts = read.load_facts(connection, object_code)
    try:
        day = day or date.today().isoformat()
        dates.bounds(day)
        found = working_window(pair_of(Case(facts, rules, reference), place, remove, keep, day), liquids)
    except BadValue as error:
        raise WrongCommand(str(error)) from error
    if svg is not None:
        from collection.output.drawings import mixture_bars

        shown = best_of_each(found.ranked)[:count]
        write_new(svg, mixture_bars.draw(f"{object_code}, {place}", found, shown, name="mixtures"))
    if as_json:
        say(found.as_json(object_code, count))
    else:
        click.echo("\n".join(_lines(object_code, found, count)))
    return 0


def best_of_each(ranked: list[Candidate]) -> list[Candidate]:
    """The best mixture of each set of liquids, in order; the same liquids in other parts add nothing new."""
    seen: set[frozenset[str]] = set()
    found = []
    for each in ranked:
        names = frozenset(name for name, _ in each.agent.liquids)
        if names not in seen:
            seen.add(names)
            found.append(each)
    return found


_BAR = 40


def bar(span: Interval) -> str:
    """An interval of shares on a line of 0 to 100 %: `[...====|==........]`, the middle as a stroke."""
    low, middle, high = (min(_BAR - 1, int(end * _BAR)) for end in span)
    return "[" + "".join("|" if at == middle else "=" if low <= at <= high else "." for at in range(_BAR)) + "]"


def _lines(object_code: str, found: Window, count: int) -> list[str]:
    pair = found.pair
    lines = [
        wrap(f"{object_code}, {pair.place}: take off {pair.remove.thing}, leave {pair.keep.thing}."),
        wrap(found.standing),
        "",
        *_proven(found),
    ]
    shown = best_of_each(found.ranked)[:count]
    if shown:
        lines += [
            "",
            "MIXTURES, best first (parts by volume), and the share they act on"
            if found.parts_well
            else f"NO MIXTURE OF THESE PARTS THE TWO WELL (margin {shown[0].margin:+.2f}); the best are",
        ]
    width = max(len(pair.remove.thing), len(pair.keep.thing))
    for number, each in enumerate(shown, 1):
        lines.append(
            wrap(
                f"{number}  {each.jar.text}: margin {each.margin:+.2f}, hazard {each.against:.2f}; {each.tests_in_words()}",
                "  ",
            )
        )
        lines += [
            f"   {word} {coat.thing:<{width}} {bar(span)} {percent(span)}{said}"
            for word, coat, span, said in (
                ("to go  ", pair.remove, each.removes, ""),
                ("to keep", pair.keep, each.keeps, ", stood the test" if each.stood else ""),
            )
        ]
    if not shown:
        lines += ["", "No mixture of these liquids can be ranked: see what is missing."]
    lines += ["", wrap(_stop(found))]
    if found.lay:
        lines += ["", wrap(f"LAY FIRST: {pair.keep.thing} is failing here, and no swab may touch it before.")]
    if found.telling:
        lines += [
            "",
            wrap(
                f"TEST NEXT: {found.telling[0].agent.text}, as a {found.application} for up to "
                f"{found.dwell_s:g} s, on both coats, {found.where}. It is expected to tell most about this "
                f"window ({found.telling[0].bits:.2f} bit of 1)."
            ),
        ]
    lines += ["", "MISSING", *(wrap(f"- {text}", "  ") for text in found.missing)]
    if not found.missing:
        lines.append("  Nothing that is asked for.")
    lines += ["", *(wrap(f"Caution: {text}") for text in found.cautions), wrap(found.note)]
    return lines


def _proven(found: Window) -> list[str]:
    """What recorded tests prove, and how far the kept coat is known to stand anything."""
    go, stay = found.pair.remove.thing, found.pair.keep.thing
    lines = ["PROVEN BY TESTS"]
    for number, each in enumerate(found.proven, 1):
        lines.append(wrap(f"{number}  {each.head()}. {' '.join(each.sentences(go, stay))}", "  "))
    if not found.proven:
        lines.append(wrap(f"No test took {go} off under conditions that {stay} is known to stand.", "  "))
    if found.held:
        lines += ["", f"WHAT TESTS DID TO {stay}", *(wrap(each.sentence(), "  ") for each in found.held)]
    return lines


def _stop(found: Window) -> str:
    if found.to_stop is None:
        return "STOP: there is nothing to stop."
    if found.to_stop.aqueous:
        return (
            f"STOP {found.to_stop.text} with a dry swab. What was dissolved in it stays until it is cleared, "
            "and what clears it is tested like any other agent."
        )
    if not found.arrests:
        return (
            f"STOP: none of these liquids is shown to stop {found.to_stop.text} without reaching "
            f"{found.pair.keep.thing}."
        )
    return (
        f"STOP {found.to_stop.text} with "
        + "; ".join(
            f"{each.liquid.text} (from {each.share:.0%} of it in the mixture"
            f"{', tested on both coats' if each.tested else ', not tested on both coats'})"
            for each in found.arrests[:3]
        )
        + "."
    )
