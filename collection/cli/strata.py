"""`strata` and `sampling`: the sequence of an object's finishes, and where to look next."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.options import AS_JSON, DATABASE, say, write_new
from collection.compute.case import Case
from collection.language.sentences import figure

if TYPE_CHECKING:
    from collection.compute.stratigraphy.strata import Strata, Unit
    from collection.compute.survival.sampling import NextSamples
    from collection.records.facts import Facts

WIDTH, CELL = 100, 5


@click.command()
@DATABASE
@click.argument("object_code", metavar="OBJECT")
@click.option("--svg", type=click.Path(path_type=Path), metavar="FILE", help="Draw the samples side by side, to scale.")
@click.option("--matrix", type=click.Path(path_type=Path), metavar="FILE", help="Draw the Harris matrix as SVG.")
@click.option("--dot", type=click.Path(path_type=Path), metavar="FILE", help="Write the matrix for Graphviz.")
@AS_JSON
def strata(db: Path, object_code: str, svg: Path | None, matrix: Path | None, dot: Path | None, as_json: bool) -> int:
    """The sequence of finishes from all samples of an object, and what is open about it."""
    from collection.compute.build_up.readings import layers_by_sample
    from collection.compute.stratigraphy.strata import strata as correlated
    from collection.output.drawings import matrix_picture, strata_picture
    from collection.output.drawings.text import unlinked

    facts = _facts(db, object_code)
    case = Case(facts)
    found = correlated(case)
    if svg is not None:
        names = {row.component: row.name for row in facts.components} | {row.zone: row.name for row in facts.zones}
        layers = layers_by_sample(case)
        drawn = strata_picture.side_by_side(
            found.as_json(),
            [vars(row) for row in facts.samples],
            [vars(row) for row in facts.schemes],
            lambda sample: [vars(row) for row in layers.get(sample, ())],
            names.get,
        )
        write_new(svg, unlinked(drawn))
    if matrix is not None:
        write_new(matrix, matrix_picture.draw(found))
    if dot is not None:
        write_new(dot, matrix_picture.dot(found))
    if as_json:
        say(found.as_json())
        return 0
    click.echo("\n".join(_lines(facts, found)))
    return 0


@click.command()
@DATABASE
@click.argument("object_code", metavar="OBJECT")
@click.option(
    "-n",
    "count",
    type=click.IntRange(1, 50),
    default=3,
    show_default=True,
    metavar="N",
    help="How many further samples.",
)
@AS_JSON
def sampling(db: Path, object_code: str, count: int, as_json: bool) -> int:
    """Where further samples would tell most about what survives, and why there."""
    from collection.compute.survival.sampling import where_next

    advice = where_next(Case(_facts(db, object_code)), count)
    if as_json:
        say(advice.as_json())
        return 0
    click.echo("\n".join(_advised(advice)))
    return 0


def _facts(db: Path, object_code: str) -> Facts:
    from collection.store.base import database, read

    with database.opened(db, write=False) as connection:
        return read.load_facts(connection, object_code)


def _lines(facts: Facts, found: Strata) -> list[str]:
    if not found.units:
        return [f"{found.object}: no sample with a build-up was read, so there is no sequence."]
    campaigns = {unit.campaign for unit in found.units if unit.campaign}
    lines = [
        f"{found.object}: {len(found.placings)} coats read in {_counted(len(found.samples), 'sample')} are "
        f"{_counted(len(found.units), 'coat')} in {_counted(len(campaigns), 'campaign')}.",
        "Outermost first; numbers are positions in the sample, ? = not sure, ~ = deeper than the sample went.",
    ]
    across = max(1, (WIDTH - 34) // CELL)
    for start in range(0, len(found.samples), across):
        lines += ["", *_table(facts, found, found.samples[start : start + across])]
    if found.one_sided:
        lines += [
            "",
            "Said from one side only (by rank, or by a section): "
            + ", ".join(f"{upper} over {lower}" for upper, lower in found.one_sided)
            + ".",
        ]
    if found.questions:
        lines += ["", f"{_counted(len(found.questions), 'question')} to whoever looks next:"]
        lines += [f"  {q.message} {q.remedy}" for q in found.questions]
    return lines


def _table(facts: Facts, found: Strata, samples: tuple[str, ...]) -> list[str]:
    from collection.compute.stratigraphy.strata import SURE
    from collection.output.drawings.campaigns import letter

    short = {s.sample for s in facts.samples if s.reaches_support != "yes"}
    deepest = {
        sample: min(at for at, unit in enumerate(found.units) for code, _ in unit.coats if code == sample)
        for sample in samples
    }
    chance = {(p.sample, p.position): p.chance for p in found.placings}
    lines = [" " * 34 + "".join(f"{sample:<{CELL}}" for sample in samples)]
    for at in range(len(found.units) - 1, -1, -1):
        unit = found.units[at]
        where = dict(unit.coats)
        cells = []
        for sample in samples:
            if sample in where:
                sure = not unit.campaign or chance[sample, where[sample]] >= SURE
                cells.append(f"{where[sample]}{'' if sure else '?'}")
            else:
                cells.append("~" if sample in short and at < deepest[sample] else "·")
        lines.append(
            f"{letter(unit.campaign):<3}{_name(facts, unit):<31}"
            + "".join(f"{cell:<{CELL}}" for cell in cells).rstrip()
        )
    return lines


def _name(facts: Facts, unit: Unit) -> str:
    colour = next(
        (layer.colour for layer in facts.layers if (layer.sample, layer.position) in unit.coats and layer.colour), ""
    )
    text = " ".join(part for part in (unit.code, colour, unit.role) if part)
    return text if len(text) <= 30 else text[:29] + "…"


def _advised(advice: NextSamples) -> list[str]:
    if not advice.samples:
        return [f"{advice.object}: no further sample would tell more about what survives, by record."]
    lines = [f"{advice.object}: where further samples would tell most, in this order."]
    if advice.width_m2 is not None:
        lines.append(
            f"What survives is known to within about {figure(advice.width_m2)} m² (width of the 95 % interval, "
            "places never examined counted as open)."
        )
    for number, sample in enumerate(advice.samples, 1):
        left = "" if sample.width_after_m2 is None else f" Then about {figure(sample.width_after_m2)} m²."
        lines.append(f"{number:>3}. {sample.place}, {sample.name}: {'; '.join(sample.reasons)}.{left}")
    if advice.unmeasured:
        lines.append(f"Not measured, and so not in these widths: {', '.join(advice.unmeasured)}.")
    lines.append("A sample takes something away: first look in raking light and under a loupe, at edges and losses.")
    return lines


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"
