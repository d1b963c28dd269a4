"""The object in its finishes: a drawing for each finish, every place in the colour that the samples record for it there.

A reconstruction, and it says so: hatched where nobody knows, a blank outline where it was looked for and is not there.
A finish's colour in a sample is that of its paint, leaf or metal; of its varnish or its lining only where no sample of
it holds anything else, because a varnish alone does not tell what was under it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from html import escape
from statistics import median
from typing import Any

from collection.language.sentences import counted
from collection.output.drawings import elevation, states
from collection.output.drawings.colours import colour_of_row, srgb
from collection.output.drawings.elevation import Look
from collection.output.drawings.text import TYPE, address, fitted, wrapped
from collection.output.published.published_object import PublishedObject
from collection.values.dates import bounds

Json = dict[str, Any]
Coat = Mapping[str, Any]

FIELD = ("body colour", "metal leaf", "bronze paint", "plating", "bright metal", "stain", "retouching", "other")
CLEAR = ("varnish", "glaze", "wax")
DRAWN_ON = ("lining", "lettering", "ornament", "transfer")
GONE = ("absent",)
WARNING = "hatched: nobody knows. Not a painting scheme to copy."
BLANK = "#ffffff"


@dataclass(frozen=True)
class Finish:
    """Schemes that were put on together: those of one rank, or one whose order nobody knows.

    :ivar number: counts from 1, the first finish; the name of its figures.
    """

    number: int
    schemes: tuple[Json, ...]

    @property
    def title(self) -> str:
        return "; ".join(row["name"] for row in self.schemes)

    @property
    def codes(self) -> tuple[str, ...]:
        return tuple(row["scheme"] for row in self.schemes)


def finishes(schemes: Iterable[Json]) -> list[Finish]:
    """The finishes in the order in which they were put on; those of unknown order last."""
    groups: dict[tuple[Any, ...], list[Json]] = {}
    for row in schemes:
        rank = row.get("rank")
        # Of one rank and one date, they were put on together.
        groups.setdefault(("ranked", rank, row.get("made")) if rank is not None else ("", row["scheme"]), []).append(
            row
        )
    ordered = sorted(groups.values(), key=_order)
    return [Finish(number, tuple(rows)) for number, rows in enumerate(ordered, 1)]


def _order(rows: Sequence[Json]) -> tuple[bool, float, str]:
    row = rows[0]
    made = bounds(row["made"]).earliest if row.get("made") else "~"
    return row.get("rank") is None, row.get("rank") or 0.0, made


def looks_of(published: PublishedObject, finish: Finish) -> dict[str, Look]:
    """How each place in account is drawn in one finish."""
    kinds = _roles(published, finish)
    read: dict[str, list[tuple[str, Coat | None]]] = {}
    for sample in published["samples"]:
        coats = [coat for coat in published.coats(sample["sample"]) if coat.get("scheme") in finish.codes and _is(coat)]
        if coats:
            shown = next(
                (coat for role in kinds for coat in coats if coat["role"] == role and colour_of_row(coat)), None
            )
            read.setdefault(sample["place"], []).append((sample["sample"], shown))
    never = _not_there(published, finish)
    limits = {row.get("component") for row in finish.schemes}
    found = {}
    for row in published["survival"]["places"]:
        code = row["place"]
        if code in read:
            found[code] = _coloured(read[code])
        elif code in never:
            found[code] = Look(fill=BLANK, said="looked for and not found")
        elif None not in limits and row["component"] not in limits:
            parts = " and ".join(str(published.name_of(part) or part) for part in sorted(map(str, limits)))
            found[code] = Look(fill=BLANK, said=f"this finish is recorded on {parts} only")
        else:
            found[code] = Look(pattern="unknown", fill=BLANK, said="nobody knows")
    return found


def _is(coat: Coat) -> bool:
    return coat.get("coverage") not in GONE and coat.get("coverage_pct") != 0


def _roles(published: PublishedObject, finish: Finish) -> tuple[str, ...]:
    """The roles of coats that can show the finish's colour, the first that there is."""
    met = {
        coat["role"]
        for sample in published["samples"]
        for coat in published.coats(sample["sample"])
        if coat.get("scheme") in finish.codes and _is(coat)
    }
    return next((roles for roles in (FIELD, CLEAR, DRAWN_ON) if met & set(roles)), ())


def _not_there(published: PublishedObject, finish: Finish) -> set[str]:
    """The places where each of its schemes was looked for, at a spot or over the whole, and none was found."""
    looked = [row["places"] for row in published["survival"]["schemes"] if row["scheme"] in finish.codes]
    seen = {row["place"] for rows in looked for row in rows if row["present"]}
    gone = {row["place"] for rows in looked for row in rows if row["state"] == "original removed"}
    return {row["place"] for rows in looked for row in rows if row["read"]} - seen - gone


def _coloured(read: Sequence[tuple[str, Coat | None]]) -> Look:
    """A place in the middle of what its samples measured, else in the colour that most of them have."""
    told = [(sample, coat) for sample, coat in read if coat is not None]
    names = ", ".join(sample for sample, _ in (told or read))
    if not told:
        return Look(pattern="unknown", fill=BLANK, said=f"it is there, its colour is not recorded (samples {names})")
    coats = [coat for _, coat in told]
    measured = [coat for coat in coats if _measured(coat)]
    words = Counter(str(coat["colour"]) for coat in coats if coat.get("colour")).most_common(1)
    said = words[0][0] if words else "colour in figures only"
    if measured:
        fill = srgb(tuple(median(coat[name] for coat in measured) for name in ("lab_l", "lab_a", "lab_b")))
        basis = "measured" if len(measured) == 1 else f"the middle of {len(measured)} measured"
    else:
        colours = Counter(found for coat in coats if (found := colour_of_row(coat)))
        (fill, how), number = colours.most_common(1)[0]
        basis = "by its Munsell colour" if how == "munsell" else "drawn from the word"
        if len(colours) > 1:
            basis += f", as in {number} of {len(coats)} samples, which differ"
    return Look(fill=fill, said=f"{said}, {basis} (sample{'s' if len(told) > 1 else ''} {names})")


def _measured(coat: Coat) -> bool:
    return None not in (coat.get("lab_l"), coat.get("lab_a"), coat.get("lab_b"))


def commonest(looks: Mapping[str, Look]) -> str | None:
    """The colour of most places of a finish; None where no colour is known."""
    found = Counter(look.fill for look in looks.values() if look.fill and look.fill != BLANK)
    return found.most_common(1)[0][0] if found else None


def sampled(published: PublishedObject, finish: Finish) -> int:
    """How many samples hold a coat of the finish."""
    return sum(
        any(coat.get("scheme") in finish.codes and _is(coat) for coat in published.coats(sample["sample"]))
        for sample in published["samples"]
    )


def finish_figures(published: PublishedObject) -> Iterator[tuple[str, str]]:
    """`finish-1-1`: the first finish on the first drawing; `finish-1-others`: it in the places on no drawing."""
    if not published["schemes"]:
        return
    # What must stay untouched is no part of a finish.
    views = [replace(view, reserves=()) for view in elevation.elevations(published)]
    strips = elevation.unplaced(published)
    for finish in finishes(published["schemes"]):
        looks = looks_of(published, finish)
        caption = f"Worked out from {counted(sampled(published, finish), 'sample')}; {WARNING}"
        for number, view in enumerate(views, 1):
            name = f"finish-{finish.number}-{number}"
            yield name, _signed(elevation.draw(view, name=name, looks=looks, spots=False), view, caption)
        if strips:
            name = f"finish-{finish.number}-others"
            yield name, strip(published, strips, looks, name=name, caption=caption)


def _signed(svg: str, view: elevation.Elevation, caption: str) -> str:
    """A drawing with its caption in it, so that it cannot be copied without."""
    left, top, width, height = view.box
    lines = wrapped(caption, width - view.unit, view.unit)
    foot = (len(lines) * 1.3 + 0.5) * view.unit
    old, new = (f'viewBox="{left:g} {top:g} {width:g} {high:g}"' for high in (height, height + foot))
    words = f'<path fill="#fff" d="M{left:g} {top + height:g}h{width:g}v{foot:g}h{-width:g}Z"/>' + "".join(
        f'<text x="{left + view.unit / 2:g}" y="{top + height + at * 1.3 * view.unit:g}" fill="#1a1d20">{escape(line)}</text>'
        for at, line in enumerate(lines, 1)
    )
    return svg.replace(old, new, 1).removesuffix("</svg>") + f"<desc>{escape(caption)}</desc>{words}</svg>"


def strip(
    published: PublishedObject,
    groups: Sequence[tuple[str | None, Sequence[str]]],
    looks: Mapping[str, Look],
    *,
    name: str,
    caption: str = "",
) -> str:
    """Places that are on no drawing as lines of a swatch and a name, grouped by part; 320 wide, a link each."""
    lines: list[str] = []
    y = 8
    for part, codes in groups:
        heading = f"{published.name_of(part) or part}" if part else "on no part"
        lines.append(f'<text x="4" y="{y + 12}" font-weight="600">{escape(fitted(heading, 310, 12))}</text>')
        y += 20
        for code in codes:
            look = looks.get(code, Look(pattern="unknown"))
            fill = f"url(#{name}-{look.pattern})" if look.pattern else look.fill or BLANK
            called = published.name_of(code)
            text = fitted("the part itself" if code == part else called or code, 270, 12)
            lines.append(
                f'<a href="@/place/{address(code)}"><title>{escape(elevation.named(code, called))}: {escape(look.said)}'
                f'</title><path fill="{fill}" stroke="#1a1d20" d="M4.5 {y + 0.5}h26v14h-26Z"/>'
                f'<text x="40" y="{y + 12}">{escape(text)}</text></a>'
            )
            y += 20
        y += 6
    patterns = {look.pattern for look in looks.values() if look.pattern} | {"unknown"}
    defs = "".join(states.pattern(word, f"{name}-{word}", 9) for word in sorted(patterns))
    title = f"{counted(sum(len(codes) for _, codes in groups), 'place')} on no drawing"
    return (
        f'<svg class="strip" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 320 {y}" width="320" height="{y}" role="group" '
        f'aria-labelledby="{name}-t" {TYPE} font-size="12" fill="#1a1d20"><title id="{name}-t">{title}</title>'
        f'<desc>{escape(caption)}</desc><defs>{defs}</defs><path fill="#fff" d="M0 0H320V{y}H0Z"/>{"".join(lines)}</svg>'
    )
