"""An object's samples side by side, to one scale: one band for each campaign of finishing, through all samples: one SVG.

The surface is the upper edge, because all samples share it; a sample that stops short ends in a wave. A band has the
colour of its campaign and is marked with its code, so that the drawing reads in grey; its coats are fine lines in it.
Bands are joined between neighbours alone. Samples of one place stand together.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from html import escape
from itertools import groupby, pairwise
from typing import Any

from collection.compute.stratigraphy.strata import SURE
from collection.language.sentences import counted
from collection.output.drawings.campaigns import Campaign, Coats, campaigns_of
from collection.output.drawings.colours import colour_of_coats
from collection.output.drawings.stack_panel import INK, QUIET, bar, patterns, spread
from collection.output.drawings.text import TYPE, address, fitted, width_of
from collection.records.codes import natural

Json = dict[str, Any]
FEW = 12
"""So many samples are drawn wide and tall; more stand close together, and go on in rows below."""
LEFT, HEAD, ROOM_ACROSS = 172.0, 46.0, 1060.0
UNMEASURED, THINNEST, SUPPORT, LINE = 8.0, 1.2, 10.0, 14.0
FOREIGN = "#6b6459"
"""Dirt, wax and the like between the finishes."""


@dataclass
class _Band:
    """A run of coats of one campaign in one sample, in pixels from the surface; campaign 0 is foreign or belongs to
    none."""

    campaign: int
    top: float
    bottom: float
    rows: list[Mapping[str, Any]]


@dataclass
class _Column:
    """One sample as drawn, from the surface inward, in pixels."""

    sample: Mapping[str, Any]
    x: float = 0.0
    bands: list[_Band] = field(default_factory=list)
    lines: list[float] = field(default_factory=list)
    unmeasured: list[tuple[float, float]] = field(default_factory=list)
    doubtful: set[int] = field(default_factory=set)
    foot: float = 0.0

    @property
    def reaches(self) -> bool:
        return self.sample.get("reaches_support") == "yes"


def side_by_side(
    strata: Json,
    samples: Sequence[Mapping[str, Any]],
    schemes: Sequence[Mapping[str, Any]],
    coats: Coats,
    place_name: Callable[[str], str | None],
    *,
    name: str = "bands",
) -> str:
    """The SVG text.

    :param strata: the sequence as plain data (`Strata.as_json`); only its samples are drawn.
    :param name: what ids in it begin with.
    """
    drawn = set(strata["samples"])
    order = sorted(
        (row for row in samples if row["sample"] in drawn),
        key=lambda row: (natural(row["place"]), natural(row["sample"])),
    )
    campaigns = campaigns_of(strata, schemes, coats)
    few = len(order) <= FEW
    thickest = max((sum(row.get("thickness_um") or 0 for row in coats(s["sample"])) for s in order), default=0)
    scale = (300.0 if few else 220.0 if len(order) <= 40 else 150.0) / thickest if thickest else 0.0
    broad = min(72.0, (ROOM_ACROSS - LEFT) / max(len(order), 1) / 1.6) if few else 26.0
    gap = broad * 0.5 if few else 14.0
    placed = {(coat["sample"], coat["position"]): coat for coat in strata["coats"]}
    columns = [_column(row, coats(row["sample"]), placed, scale) for row in order]
    across = max(1, int((ROOM_ACROSS - LEFT) / (broad + gap)))
    rows = [columns[at : at + across] for at in range(0, len(columns), across)]
    y, parts = _key_height(campaigns) + 8, _key(campaigns, name)
    width = LEFT + min(len(order), across) * (broad + gap)
    for row in rows:
        for at, column in enumerate(row):
            column.x = LEFT + at * (broad + gap)
        height = max(column.foot for column in row) + SUPPORT
        parts.append(
            f'<g transform="translate(0 {y + HEAD:.0f})">{_row(row, campaigns, broad, gap, place_name, name)}</g>'
        )
        y += HEAD + height + 14
    parts.append(bar(LEFT, y + 6, scale, 200.0) if scale else "")
    lines = _notes(columns)
    parts += [
        f'<text font-size="11" fill="{QUIET}" x="0" y="{y + 30 + 15 * at:.0f}">{escape(line)}</text>'
        for at, line in enumerate(lines)
    ]
    width, height = max(width, 620.0), y + 30 + 15 * len(lines)
    said = _described(strata, campaigns)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="-6 -6 {width + 12:.0f} {height + 12:.0f}" '
        f'width="{width + 12:.0f}" height="{height + 12:.0f}" {TYPE} role="group" aria-labelledby="{name}-t {name}-d">'
        f'<title id="{name}-t">{escape(strata["object"])}: samples side by side</title><desc id="{name}-d">'
        f'{escape(said)}</desc><defs>{patterns(name)}</defs><rect x="-6" y="-6" width="{width + 12:.0f}" '
        f'height="{height + 12:.0f}" fill="#fff"/>{"".join(parts)}</svg>\n'
    )


def _column(
    sample: Mapping[str, Any], rows: Sequence[Mapping[str, Any]], placed: Mapping[tuple[str, int], Json], scale: float
) -> _Column:
    column = _Column(sample)
    y = 0.0
    for row in rows:
        coat = placed.get((sample["sample"], row["position"]))
        if row["role"] == "support" or coat is None:
            continue
        thick = row.get("thickness_um")
        height = max(THINNEST, thick * scale) if thick and scale else UNMEASURED
        number = coat["campaign"] or 0
        if column.bands and column.bands[-1].campaign == number:
            column.bands[-1].bottom = y + height
            column.bands[-1].rows.append(row)
            column.lines.append(y)
        else:
            column.bands.append(_Band(number, y, y + height, [row]))
        if not thick:
            column.unmeasured.append((y, y + height))
        if number and coat["chance"] < SURE:
            column.doubtful.add(number)
        y += height
    column.foot = y
    return column


def _row(
    row: Sequence[_Column],
    campaigns: Sequence[Campaign],
    broad: float,
    gap: float,
    place_name: Callable[[str], str | None],
    name: str,
) -> str:
    """One row of samples: heads, bands, joins, marks, feet. What is drawn alike is one path."""
    by_number = {campaign.number: campaign for campaign in campaigns}
    fills: dict[str, str] = defaultdict(str)
    joins: dict[int, str] = defaultdict(str)
    lines = edges = broken = bars = ""
    marks: list[str] = []
    for column in row:
        x = f"{column.x:g}"
        for band in column.bands:
            top, high = band.top, band.bottom - band.top
            campaign = by_number.get(band.campaign)
            fill = FOREIGN if campaign is None else colour_of_coats(band.rows) or _fill_of(campaign, name)
            fills[fill] += f"M{x} {top:.1f}h{broad:g}v{high:.1f}h-{broad:g}z"
            if campaign is None:
                continue
            if high >= 11:
                mark = campaign.mark + ("?" if band.campaign in column.doubtful else "")
                marks.append(f'<text x="{column.x + broad / 2:g}" y="{top + high / 2 + 4:.1f}">{escape(mark)}</text>')
            if campaign.period == "original":
                bars += f"M{column.x - 3.5:g} {top:.1f}v{high:.1f}"
        lines += "".join(f"M{x} {y:.1f}h{broad:g}" for y in column.lines)
        edges += f"M{x} 0h{broad:g}v{column.foot:.1f}h-{broad:g}z"
        broken += "".join(
            f"M{x} {top:.1f}v{bottom - top:.1f}m{broad:g} 0V{top:.1f}" for top, bottom in column.unmeasured
        )
    for one, two in pairwise(row):
        for number, first, second in _shared(one, two):
            joins[number] += (
                f"M{one.x + broad:g} {first[0]:.0f}L{two.x:g} {second[0]:.0f}V{second[1]:.0f}"
                f"L{one.x + broad:g} {first[1]:.0f}z"
            )
    parts = [
        f'<path d="{path}" fill="{_fill_of(by_number[number], name)}" fill-opacity="0.45" stroke="#8a8a8a" '
        'stroke-width="0.4"/>'
        for number, path in joins.items()
    ]
    parts += [f'<path d="{path}" fill="{fill}"/>' for fill, path in fills.items()]
    # Mid grey shows on black and on white.
    parts.append(f'<path d="{lines}" stroke="#8f8f8f" stroke-width="0.8" fill="none"/>')
    parts.append(f'<path d="{edges}" stroke="{INK}" stroke-width="0.7" fill="none"/>')
    if broken:
        parts.append(f'<path d="{broken}" stroke="#fff" stroke-width="1.6" stroke-dasharray="3 3" fill="none"/>')
    parts.append(f'<path d="{bars}" stroke="{INK}" stroke-width="3" fill="none"/>')
    parts += _feet(row, broad, name)
    parts.append(
        f'<g font-size="11" text-anchor="middle" stroke="#fff" stroke-width="2.6" paint-order="stroke" fill="{INK}">'
        f"{''.join(marks)}</g>"
    )
    parts += _names(row[0], by_number)
    parts += _heads(row, broad, gap, place_name)
    return "".join(parts)


def _shared(one: _Column, two: _Column) -> Iterator[tuple[int, tuple[float, float], tuple[float, float]]]:
    """The campaigns that two neighbours both have, with where each has it: its first run from the surface."""
    firsts: list[dict[int, _Band]] = [{}, {}]
    for column, first in zip((one, two), firsts, strict=True):
        for band in column.bands:
            first.setdefault(band.campaign, band)
    for number, band in firsts[0].items():
        other = firsts[1].get(number)
        if number and other is not None:
            yield number, (band.top, band.bottom), (other.top, other.bottom)


def _feet(row: Sequence[_Column], broad: float, name: str) -> Iterator[str]:
    supports = "".join(
        f"M{column.x:g} {column.foot:.1f}h{broad:g}v{SUPPORT:g}h-{broad:g}z" for column in row if column.reaches
    )
    step = broad / 4
    waves = "".join(
        f"M{column.x:g} {column.foot + 4:.1f}q{step / 2:g} 5 {step:g} 0" + f"t{step:g} 0" * 3
        for column in row
        if not column.reaches
    )
    if supports:
        yield f'<path d="{supports}" fill="url(#{name}-support)" stroke="{INK}" stroke-width="0.7"/>'
    if waves:
        yield f'<path d="{waves}" fill="none" stroke="{INK}" stroke-width="1.1"/>'


def _names(column: _Column, by_number: Mapping[int, Campaign]) -> Iterator[str]:
    """The names of the bands, beside the first sample of a row."""
    bands: dict[int, _Band] = {}
    for band in column.bands:
        if band.campaign:
            bands.setdefault(band.campaign, band)
    middles = [(band.top + band.bottom) / 2 for band in bands.values()]
    for number, middle, y in zip(
        bands, middles, spread(middles, [LINE] * len(bands), -4, column.foot + 8), strict=True
    ):
        campaign = by_number[number]
        text = fitted(f"{campaign.mark} {campaign.name}", LEFT - 26, 11)
        yield (
            f'<text font-size="11" x="{LEFT - 18:g}" y="{y + 4:.1f}" text-anchor="end" fill="{INK}">{escape(text)}</text>'
            f'<path d="M{LEFT - 15:g} {y:.1f}L{LEFT - 6:g} {middle:.1f}" stroke="{QUIET}" stroke-width="0.7"/>'
        )


def _heads(row: Sequence[_Column], broad: float, gap: float, place_name: Callable[[str], str | None]) -> Iterator[str]:
    """The codes of the samples, and above them the place of each group."""
    for place, group in groupby(row, key=lambda column: column.sample["place"]):
        columns = list(group)
        left, wide = columns[0].x, columns[-1].x + broad - columns[0].x
        text = place_name(place) or place
        if width_of(text, 11) > wide + gap - 4:
            text = fitted(place, wide + gap - 4, 11)
        yield (
            f'<a href="@/place/{address(place)}"><text font-size="11" x="{left:g}" y="-26" fill="{QUIET}">{escape(text)}'
            f'<title>{escape(place_name(place) or place)}</title></text></a><path d="M{left:g} -21h{wide:g}" '
            f'stroke="{QUIET}" stroke-width="0.8"/>'
        )
    for column in row:
        code = column.sample["sample"]
        yield (
            f'<a href="@/sample/{address(code)}"><text font-size="11" font-weight="bold" x="{column.x:g}" y="-7" '
            f'fill="{INK}">{escape(fitted(code, broad + gap - 3, 11))}</text></a>'
        )


def _key_height(campaigns: Sequence[Campaign]) -> float:
    return 18.0 * (len(campaigns) + 1)


def _key(campaigns: Sequence[Campaign], name: str) -> list[str]:
    """The campaigns by name, outermost first, with colour and mark; the maker's with the bar that stands beside it."""
    lines = []
    for at, campaign in enumerate(campaigns):
        y = 18 * at
        own = f'<path d="M-1 {y}v13" stroke="{INK}" stroke-width="3"/>' if campaign.period == "original" else ""
        period = f" · {campaign.period}" if campaign.period else ""
        if campaign.period == "original":
            period = " · maker's finish, with the bar beside it"
        lines.append(
            f'{own}<rect x="4" y="{y}" width="26" height="13" fill="{_fill_of(campaign, name)}" stroke="{INK}" '
            f'stroke-width="0.7"/><text font-size="12" x="38" y="{y + 11}" fill="{INK}"><tspan font-weight="bold">'
            f'{escape(campaign.mark)}</tspan> {escape(campaign.name)}<tspan fill="{QUIET}">{escape(period)}</tspan></text>'
        )
    return lines


def _fill_of(campaign: Campaign, name: str) -> str:
    return campaign.fill or f"url(#{name}-unknown)"


def _notes(columns: Sequence[_Column]) -> list[str]:
    found = [
        "One scale; the surface is the upper edge. Lines in a band are its coats; dark between bands is dirt or wax."
    ]
    if any(not column.reaches for column in columns):
        found.append("Wave: the sample stops here; nobody looked deeper.")
    if any(column.unmeasured for column in columns):
        found.append("Broken edge: thickness not recorded, the height says nothing.")
    if any(column.doubtful for column in columns):
        found.append("?: not sure that the coat belongs to this band.")
    return found


def _described(strata: Json, campaigns: Sequence[Campaign]) -> str:
    met = Counter(
        number for number, _ in {(coat["campaign"], coat["sample"]) for coat in strata["coats"] if coat["campaign"]}
    )
    total = len(strata["samples"])
    told = "; ".join(f"{each.mark} {each.name} in {met[each.number]} of {total}" for each in campaigns)
    return (
        f"{counted(total, 'sample')}, {counted(len(strata['units']), 'coat')} in "
        f"{counted(len(campaigns), 'campaign')}, outermost first: {told}."
    )
