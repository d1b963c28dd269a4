"""Samples as stacks of coats, drawn side by side to one scale, each beside its micrograph: one SVG.

The micrograph is shown whole, as high as the stacks, with a bar for its own scale. What is left of the maker's finish is
bracketed by the same records that the computations read; whoever draws adds brackets of its own, of coats that a
proposal would take. A coat without a thickness has a broken edge and a height that says nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from html import escape
from itertools import groupby
from typing import Any

from collection.compute.build_up.readings import is_original
from collection.language.sentences import counted, ended
from collection.language.words import FINISH_ROLES, FOREIGN_ROLES
from collection.output.drawings.colours import colour_of_row
from collection.output.drawings.stack_panel import (
    BELOW,
    GAP,
    LINE,
    LOWEST,
    QUIET,
    STOPS,
    THINNEST,
    TOP,
    Bracket,
    Coat,
    Micrograph,
    Panel,
    Stack,
    heights,
    needed,
    patterns,
)
from collection.output.drawings.text import TYPE, wrapped
from collection.output.published.published_object import PublishedObject

Json = dict[str, Any]


def stack_of(published: PublishedObject, sample: str, brackets: Iterable[Bracket] = ()) -> Stack:
    """A sample of an object, the maker's finish bracketed first, then what the caller brackets.

    :raises KeyError: where the object has no such sample.
    """
    row = next((row for row in published["samples"] if row["sample"] == sample), None)
    if row is None:
        raise KeyError(sample)
    rows = published.coats(sample)
    standing = [coat for coat in rows if coat.get("coverage") != "absent" and coat.get("coverage_pct") != 0]
    names = {scheme["scheme"]: scheme.get("name") or f"scheme {scheme['scheme']}" for scheme in published["schemes"]}
    return Stack(
        sample,
        published.name_of(row["place"]) or row["place"],
        tuple(_coat(coat, names) for coat in standing),
        row.get("reaches_support") == "yes" or any(coat["role"] == "support" for coat in standing),
        (*original_brackets(published, row, standing), *brackets),
        micrograph_of(published, sample),
        len(rows) - len(standing),
    )


def original_brackets(published: PublishedObject, sample: Json, coats: Sequence[Json]) -> Iterator[Bracket]:
    """The maker's finish in a sample: one bracket for each run of coats that belong to an original scheme, or to none
    and are dated original."""
    originals = {row["scheme"] for row in published["schemes"] if row.get("period") == "original"}
    runs = [
        list(run)
        for of_maker, run in groupby(
            (coat for coat in coats if coat["role"] != "support"),
            key=lambda coat: (
                coat["role"] not in FOREIGN_ROLES and is_original(coat.get("scheme"), coat.get("period"), originals)
            ),
        )
        if of_maker
    ]
    has_finish = any(coat["role"] in FINISH_ROLES for run in runs for coat in run)
    label = "maker's finish" if has_finish else "maker's preparation only"
    if (sample.get("original") or {}).get("history"):
        label += ", taken off since"
    for run in runs:
        yield Bracket(tuple(coat["position"] for coat in run), label)


def micrograph_of(published: PublishedObject, sample: str) -> Micrograph | None:
    """A sample's published micrograph in normal light, else any picture of it; None where there is none."""
    row = published.micrograph(sample)
    if row is None:
        return None
    size = row.get("size")
    return Micrograph(
        row["file"],
        row.get("caption") or f"Micrograph of sample {sample}",
        row.get("rights"),
        (size[0], size[1]) if size else None,
        row.get("um_per_px"),
        row.get("surface_px"),
    )


def _coat(row: Json, names: dict[str, str]) -> Coat:
    colour = colour_of_row(row) or (None, None)
    is_support = row["role"] == "support"
    said = ", ".join(part for part in (row.get("colour"), row["role"]) if part)
    if row.get("coverage") not in (None, "intact"):
        said += f" ({row['coverage']})"
    scheme = row.get("scheme")
    return Coat(
        row["position"],
        said,
        names.get(scheme, f"scheme {scheme}") if scheme else "",
        None if is_support else row.get("thickness_um") or None,
        colour[0],
        colour[1],
        is_support,
    )


def draw(stacks: Sequence[Stack], *, name: str, room: float = 1080.0) -> str:
    """One SVG of some samples, to one scale, with what has to be said about it below.

    :param name: what ids in it begin with, so that several drawings can stand in one page.
    :param room: the width in pixels that the samples fill before a new row begins.
    """
    per_um = scale_of(stacks)
    rows: list[list[Stack]] = []
    x, y, width = 0.0, 0.0, 340.0
    for stack in stacks:
        # A stack keeps its width whatever its row: only its micrograph grows with the height of the row.
        wide = Panel(stack, per_um, _height([stack], per_um), name).width
        if not rows or x + wide > room:
            rows.append([])
            x = 0.0
        rows[-1].append(stack)
        x += wide + 1.5 * GAP
    placed = []
    for row in rows:
        x, height = 0.0, _height(row, per_um)
        for stack in row:
            panel = Panel(stack, per_um, height, name)
            placed.append(f'<g transform="translate({x:g} {y:g})">{panel.svg()}</g>')
            width = max(width, x + panel.width)
            x += panel.width + 1.5 * GAP
        y += TOP + height + BELOW
    lines = [line for note in notes(stacks) for line in wrapped(note, width, 11)]
    texts = [
        f'<text font-size="11" fill="{QUIET}" x="0" y="{y + 14 * at:g}">{escape(line)}</text>'
        for at, line in enumerate(lines, 1)
    ]
    return _svg("".join([*placed, *texts]), width, y + 14 * len(lines) + 4, stacks, name)


def panels(stacks: Sequence[Stack], *, name: str) -> list[str]:
    """The same as one SVG each, still to one scale, for a page that lets them flow; `notes` are said once beside."""
    per_um = scale_of(stacks)
    found = []
    for at, stack in enumerate(stacks):
        height = _height([stack], per_um)
        panel = Panel(stack, per_um, height, f"{name}-{at}")
        found.append(_svg(panel.svg(), panel.width, TOP + height + BELOW, [stack], f"{name}-{at}"))
    return found


def notes(stacks: Sequence[Stack]) -> list[str]:
    """What a reader of the drawing has to know, a sentence each."""
    coats = [coat for stack in stacks for coat in stack.coats if not coat.is_support]
    per_um = scale_of(stacks)
    measured = [coat for coat in coats if coat.um]
    words = [coat for coat in coats if coat.basis == "word"]
    left_out = sum(stack.left_out for stack in stacks)
    found = []
    if measured:
        together = " and to one scale" if len(stacks) > 1 else ""
        apart = "; a micrograph has its own scale" if any(stack.picture for stack in stacks) else ""
        found.append(f"Coats are drawn as thick as recorded{together}{apart}.")
    if any((coat.um or 0) * per_um < THINNEST for coat in measured):
        found.append("The thinnest coats are drawn thicker, so as to be seen.")
    if len(measured) < len(coats):
        found.append("Broken edge: thickness not recorded, the height says nothing.")
    if words:
        which = (
            "The colours stand" if len(words) == len([coat for coat in coats if coat.fill]) else "Some colours stand"
        )
        found.append(f"{which} for the word recorded; nobody measured them.")
    if any(coat.fill is None for coat in coats):
        found.append("Hatched: no colour recorded.")
    shown = [stack for stack in stacks if stack.picture]
    if any(stack.brackets and stack.picture and stack.picture.surface_px is not None for stack in shown):
        found.append("Brackets on a micrograph are set from its surface inward by the thicknesses recorded.")
    rights = dict.fromkeys(stack.picture.rights for stack in shown if stack.picture and stack.picture.rights)
    found += [f"Micrographs: {ended(each)}" for each in rights]
    unsaid = [stack.sample for stack in shown if stack.picture and not stack.picture.rights]
    if unsaid:
        found.append(f"Rights in the micrograph of {', '.join(unsaid)} not recorded: do not show it outside.")
    if left_out:
        found.append(f"{counted(left_out, 'coat')} looked for and not found, not drawn.")
    return found


def scale_of(stacks: Sequence[Stack]) -> float:
    """Pixels per µm, so that the labels of the longest stack find room beside it; 0 where nothing was measured."""
    thickest = max((sum(coat.um or 0.0 for coat in stack.coats) for stack in stacks), default=0.0)
    longest = max((len(stack.coats) for stack in stacks), default=0)
    return max(LOWEST, LINE * (longest + 1)) / thickest if thickest else 0.0


def _height(stacks: Sequence[Stack], per_um: float) -> float:
    """The height in pixels of the highest of some stacks with their labels, which each micrograph beside them has."""
    return round(max((max(sum(heights(stack, per_um)), needed(stack)) for stack in stacks), default=0.0), 1)


def _svg(inside: str, width: float, height: float, stacks: Sequence[Stack], name: str) -> str:
    said = " ".join(_said(stack) for stack in stacks)
    kinds = {bracket.kind for stack in stacks for bracket in stack.brackets}
    title = "Build-up of " + (f"sample {stacks[0].sample}" if len(stacks) == 1 else counted(len(stacks), "sample"))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="-6 -4 {width + 12:g} {height + 8:g}" width="{width + 12:g}" '
        f'height="{height + 8:g}" {TYPE} role="group" aria-labelledby="{name}-t {name}-d"><title id="{name}-t">'
        f'{escape(title)}</title><desc id="{name}-d">{escape(said)}</desc><defs>{patterns(name, kinds)}</defs>'
        f'<rect x="-6" y="-4" width="{width + 12:g}" height="{height + 8:g}" fill="#fff"/>{inside}</svg>\n'
    )


def _said(stack: Stack) -> str:
    coats = "; ".join(f"{coat.position} {coat.name}" for coat in stack.coats) or "no coat recorded"
    brackets = "; ".join(
        f"{bracket.label}: coat {', '.join(map(str, bracket.positions))}" for bracket in stack.brackets
    )
    end = "down to the support" if stack.reaches else STOPS
    return f"{stack.sample} at {stack.place}, from the surface inward: {coats}; {end}." + (
        f" {brackets}." if brackets else ""
    )
