"""`window`: what would take one coat off and leave another, by recorded tests and class data."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.gate import POLICY
from collection.cli.options import AS_JSON, DATABASE, TEXT, say, write_new
from collection.cli.render import wrap
from collection.errors import BadValue, WrongCommand
from collection.policy import load_policy
from collection.sentences import percent

if TYPE_CHECKING:
    from collection.compute.windows import Candidate
    from collection.compute.working_window import Window


@click.command()
@DATABASE
@click.argument("object_code", type=TEXT, metavar="OBJECT")
@click.option("--place", required=True, type=TEXT, help="The zone or part.")
@click.option("--remove", required=True, type=TEXT, metavar="COAT", help="A scheme, or a scheme and role: 2/varnish.")
@click.option("--keep", required=True, type=TEXT, metavar="COAT", help="The coat beneath that is to stay.")
@click.option("--have", type=click.Path(exists=True, dir_okay=False, path_type=Path), metavar="BOTTLES.toml",
              help="The liquids at hand.")
@click.option("--on", "day", metavar="DATE", help="When the work is meant to be; older tests clear nothing.")
@click.option("-n", "count", type=click.IntRange(1, 50), default=5, show_default=True, metavar="N",
              help="How many candidates.")
@click.option("--svg", type=click.Path(path_type=Path), metavar="FILE", help="Draw every test in a triangle.")
@POLICY
@AS_JSON
def window(db: Path, object_code: str, place: str, remove: str, keep: str, have: Path | None, day: str | None,
           count: int, svg: Path | None, policy: Path | None, as_json: bool) -> int:
    """Mixtures and pH that part a coat to remove from one to keep, what stops them, and the test that tells most.

    Candidates for spot tests in an inconspicuous place, and no more.
    """
    from datetime import date

    from collection import dates
    from collection.compute.working_window import working_window
    from collection.ingest.bottles import read_bottles
    from collection.reference import packaged
    from collection.store import open as opening
    from collection.store import read

    rules, reference = load_policy(policy), packaged()
    liquids = read_bottles(have, reference).liquids if have is not None else rules.window.palette
    with opening.opened(db, write=False) as connection:
        facts = read.load_facts(connection, object_code)
    try:
        day = day or date.today().isoformat()
        dates.bounds(day)
        found = working_window(facts, place, remove, keep, liquids, day, rules, reference)
    except BadValue as error:
        raise WrongCommand(str(error)) from error
    if svg is not None:
        from collection.output.teas_picture import teas_picture

        shown = best_of_each(found.ranked)
        write_new(svg, teas_picture(f"{object_code}, {place}", found.pair, shown, rules, reference))
    if as_json:
        say(found.as_json(object_code, count))
    else:
        click.echo("\n".join(_told(object_code, found, count)))
    return 0


def best_of_each(ranked: list[Candidate]) -> list[Candidate]:
    """The best mixture of each set of liquids, in order: its like in other parts are no news."""
    seen: set[frozenset[str]] = set()
    found = []
    for each in ranked:
        names = frozenset(name for name, _ in each.agent.liquids)
        if names not in seen:
            seen.add(names)
            found.append(each)
    return found


def _told(object_code: str, found: Window, count: int) -> list[str]:
    pair = found.pair
    lines = [wrap(f"{object_code}, {pair.place}: take off {pair.remove.thing}, leave {pair.keep.thing}."),
             wrap(found.standing), ""]
    shown = best_of_each(found.ranked)[:count]
    if shown:
        lines.append("MIXTURES, best first (parts by volume)" if found.parts_well else
                     f"NO MIXTURE OF THESE PARTS THE TWO WELL (margin {shown[0].margin:+.2f}); the best are")
    for number, each in enumerate(shown, 1):
        tests = f"; tests {', '.join(each.tests)}" if each.tests else "; no test of it on record"
        lines.append(wrap(f"{number}  {each.agent.text}: acts on {pair.remove.thing} {percent(each.removes)}, on "
                          f"{pair.keep.thing} {percent(each.keeps)}; margin {each.margin:+.2f}, hazard "
                          f"{each.against:.2f}{tests}", "  "))
    if not shown:
        lines.append("No mixture of these liquids can be ranked: see what is missing.")
    if found.arrests:
        lines += ["", wrap(f"STOP {shown[0].agent.text} with " + "; ".join(
            f"{each.liquid.text} (from {each.share:.0%} of it in the mixture"
            f"{', tested on both coats' if each.tested else ', not tested on both coats'})"
            for each in found.arrests[:3]) + ".")]
    elif shown:
        lines += ["", wrap(f"STOP: none of these liquids is shown to stop {shown[0].agent.text} without reaching "
                           f"{pair.keep.thing}.")]
    lines += ["", "WATER BY ITS PH"]
    for span in found.ph:
        end = "" if span.harmed_at is None else f"; it did something to it at pH {span.harmed_at:g}"
        lines.append(wrap(f"{span.agent}: from pH {span.low:g} to {span.high:g} it moved {pair.remove.thing} and not "
                          f"{pair.keep.thing}{end} (tests {', '.join(span.tests)}).", "  "))
    if not found.ph:
        lines.append(wrap("No recorded tests part the two coats by pH.", "  "))
    if found.telling:
        lines += ["", wrap(f"TEST NEXT: {found.telling[0].agent.text}, as a {found.application} for up to "
                           f"{found.dwell_s:g} s, on both coats, {found.where}. It is expected to tell most about this "
                           f"window ({found.telling[0].bits:.2f} bit of 1).")]
    lines += ["", "MISSING", *(wrap(f"- {text}", "  ") for text in found.missing)]
    if not found.missing:
        lines.append("  Nothing that is asked for.")
    lines += ["", *(wrap(f"Caution: {text}") for text in found.cautions), wrap(found.note)]
    return lines
