"""An object's whole life as one picture: its finishes as bands, and what was done, seen and decided, on one line of time.

An end that is not known closely fades over the years in which it lies. Years of which nothing is recorded are marked.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from collection.language.sentences import counted
from collection.output.drawings import finishes
from collection.output.drawings.finishes import Finish
from collection.output.drawings.text import TYPE, address, fitted, width_of
from collection.output.published.published_object import PublishedObject
from collection.values.dates import bounds, from_to
from collection.values.spoken_dates import in_words

Json = dict[str, Any]

WIDTH, LEFT, RIGHT, TOP = 900.0, 96.0, 24.0, 10.0
BAND, ROW, LANE, SIZE = 34.0, 26.0, 16.0, 12.0
MOST_LANES, MOST_TICKS = 4, 9
LEAST_GAP = 15
"""Years without any record before they are marked: common practice, no published source."""
A_YEAR = 1.01
"""A year is as close as anybody expects a date; with room for months added up."""
OPEN_START, OPEN_END = "0001", "9000"
_STEPS = (1, 2, 5, 10, 20, 25, 50, 100, 200, 500)
INK, QUIET, RULE = "#1a1d20", "#51575d", "#d5dadd"


@dataclass(frozen=True)
class Moment:
    """Something dated: between the years `start` and `end`, as fractions; `said` in words, `link` below the object.

    :ivar loose: it happened once between the two, and nobody knows when; else it went on from the one to the other.
    """

    start: float
    end: float
    said: str
    link: str
    label: str = ""
    loose: bool = False


@dataclass(frozen=True)
class Scale:
    """Years to drawing units."""

    first: int
    last: int

    def x(self, year: float) -> float:
        return round(LEFT + (min(max(year, self.first), self.last) - self.first) * self.per_year, 1)

    @property
    def per_year(self) -> float:
        return (WIDTH - LEFT - RIGHT) / (self.last - self.first)


def life_figures(published: PublishedObject) -> Iterator[tuple[str, str]]:
    """The figure `life`; none where fewer than two things are dated."""
    drawn = draw(published, name="life")
    if drawn:
        yield "life", drawn


def draw(published: PublishedObject, *, name: str) -> str | None:
    """The picture; None where fewer than two things are dated."""
    rows = [(title, list(moments)) for title, moments in _rows(published)]
    made = [(finish, _span(finish.schemes[0].get("made"))) for finish in finishes.finishes(published["schemes"])]
    dated = [moment for _, moments in rows for moment in moments] + [
        Moment(span[0], span[1], "", "") for _, span in made if span
    ]
    if len(dated) < 2:
        return None
    scale = _scale(dated)
    bands, y = _bands(published, made, scale, name)
    # The years of an event that is not dated closely are not empty.
    parts = [bands]
    for title, moments in rows:
        if moments:
            drawn, high = _row(title, moments, scale, y)
            parts.append(drawn)
            y += high
    gaps = _gaps(dated, scale)
    if gaps:
        parts.append(_gap_row(gaps, scale, y, name))
        y += ROW
    height = y + 24
    counts = "; ".join(f"{title}: {len(moments)}" for title, moments in rows if moments)
    told = "; ".join(f"{f.title}, {in_words(f.schemes[0].get('made')) or 'date not known'}" for f, _ in made)
    said = f"Between {scale.first} and {scale.last}. Finishes: {told or 'none named'}. {counts}." + "".join(
        f" No record from {first} to {last}." for first, last in gaps
    )
    return "".join(
        [
            f'<svg class="life" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {height:g}" role="group" '
            f'aria-labelledby="{name}-t {name}-d" {TYPE} font-size="{SIZE:g}" fill="{INK}">'
            f'<title id="{name}-t">The life of {escape(published.title)}</title><desc id="{name}-d">{escape(said)}</desc>'
            f'<path fill="#fff" d="M0 0H{WIDTH:g}V{height:g}H0Z"/>',
            _ticks(scale, y),
            *parts,
            "</svg>",
        ]
    )


def _rows(published: PublishedObject) -> Iterator[tuple[str, Iterator[Moment]]]:
    """What is drawn below the finishes, a row each."""
    yield (
        "Work",
        _moments(
            published,
            "treatments",
            lambda row: from_to(row.get("started"), row.get("ended")),
            lambda row: f"{row['purpose']}{', ' + row['outcome'] if row.get('outcome') else ''}",
            label="purpose",
        ),
    )
    yield "Advice", _moments(published, "advice", lambda row: row["given_on"], lambda row: f"advice: {row['what']}")
    yield (
        "Claims",
        _moments(
            published,
            "claims",
            lambda row: row.get("observed_on"),
            lambda row: f"“{row['statement']}”: {row['status']}",
        ),
    )
    yield (
        "Surveys",
        (
            Moment(*span, f"{row['title']}, {_years(span)}", "@/timeline")
            for row in published["surveys"]
            if (span := _span(from_to(row["started"], row.get("ended"))))
        ),
    )
    yield "Samples", _samples(published)
    yield (
        "Proposals",
        _moments(published, "proposals", lambda row: row["proposed_on"], lambda row: f"proposed: {row['title']}"),
    )
    yield (
        "Decisions",
        (
            Moment(*span, f"{row['title']}: {made['decision']}", f"@/proposal/{address(row['proposal'])}")
            for row in published["proposals"]
            for made in row["decisions"]
            if (span := _span(made["decided_at"][:10]))
        ),
    )


def _moments(
    published: PublishedObject, sheet: str, when: Any, said: Any, label: str | None = None
) -> Iterator[Moment]:
    for row in published[sheet]:
        date = when(row)
        span = _span(date)
        if span is None:
            continue
        code = row["key"].removeprefix(f"{published.code}/")
        if sheet == "proposals":
            link = f"@/proposal/{address(code)}"
        else:
            link = f"@/{'records' if sheet == 'claims' else 'timeline'}#{sheet}-{address(code)}"
        loose = "/" not in date and span[1] - span[0] > A_YEAR
        yield Moment(*span, f"{in_words(date)}: {said(row)}", link, row[label] if label else "", loose)


def _samples(published: PublishedObject) -> Iterator[Moment]:
    """The samples by the year in which they were taken."""
    by_date: dict[tuple[float, float], int] = {}
    for row in published["samples"]:
        date = row.get("taken_on") or ""
        span = _span(date[:4] if date[:4].isalnum() else date)  # ../1939 and [1939..1991] begin with no year
        if span:
            by_date[span] = by_date.get(span, 0) + 1
    for span, number in sorted(by_date.items()):
        yield Moment(*span, f"{counted(number, 'sample')} read, {_years(span)}", "@/stratigraphy")


def _span(date: str | None) -> tuple[float, float] | None:
    """The years of a date; an end that is open is where the other end is."""
    if not date:
        return None
    span = bounds(date)
    start, end = _year(span.earliest, 1), _year(span.latest, 12)
    if span.earliest < OPEN_START:
        start = end
    if span.latest > OPEN_END:
        end = start
    return start, end


def _year(day: str, blank: int) -> float:
    return int(day[:4]) + (int(day[5:7] or blank) - (1 if blank == 1 else 0)) / 12


def _years(span: tuple[float, float]) -> str:
    first, last = int(span[0]), int(span[1] - 0.01)
    return str(first) if first >= last else f"{first} to {last}"


def _scale(dated: Sequence[Moment]) -> Scale:
    first, last = min(each.start for each in dated), max(each.end for each in dated)
    step = _step(first, last)
    low = int(first // step * step)
    return Scale(low, max(low + 1, int(-(-last // 1))))


def _step(first: float, last: float) -> int:
    return next((step for step in _STEPS if (last - first) / step <= MOST_TICKS), 1000)


def _ticks(scale: Scale, bottom: float) -> str:
    step = _step(scale.first, scale.last)
    years = range(scale.first, scale.last + 1, step)
    lines = "".join(f"M{scale.x(year):g} {TOP:g}V{bottom:g}" for year in years)
    names = "".join(f'<text x="{scale.x(year):g}" y="{bottom + 17:g}">{year}</text>' for year in years)
    return f'<path stroke="{RULE}" d="{lines}"/><g text-anchor="middle" fill="{QUIET}">{names}</g>'


def _bands(
    published: PublishedObject, made: Sequence[tuple[Finish, tuple[float, float] | None]], scale: Scale, name: str
) -> tuple[str, float]:
    """The finishes, the first at the bottom as in a section, each from its date to that of the next over it."""
    if not made:
        return "", TOP
    parts = [_side("Finishes", TOP + 12)]
    y = TOP
    for at in range(len(made) - 1, -1, -1):
        finish, span = made[at]
        later = [after for other, after in made[at + 1 :] if after and _covers(other, finish)]
        end = min((after[0] for after in later), default=float(scale.last))
        fill = finishes.commonest(finishes.looks_of(published, finish))
        parts.append(_band(finish, span, end, fill, scale, y, f"{name}-{finish.number}"))
        y += BAND
    return "".join(parts), y + 6


def _covers(later: Finish, earlier: Finish) -> bool:
    """Whether a later finish was put over an earlier one: both on the whole object, or on one part."""
    over, under = ({row.get("component") for row in finish.schemes} for finish in (later, earlier))
    return None in over or bool(over & under)


def _band(
    finish: Finish, span: tuple[float, float] | None, end: float, fill: str | None, scale: Scale, y: float, name: str
) -> str:
    when = in_words(finish.schemes[0].get("made")) or "date not known"
    paint = fill or "#ffffff"
    top = y + 16
    link = f"@/records#schemes-{address(finish.codes[0])}"
    if span is None:
        # It is drawn over all the years, because nobody knows which.
        first, last = scale.x(scale.first), scale.x(scale.last)
        shape = (
            f'<path fill="none" stroke="{QUIET}" stroke-dasharray="3 4" d="M{first:g} {top:g}H{last:g}v12H{first:g}Z"/>'
        )
        x = scale.x(scale.first)
    else:
        sure, x, stop = scale.x(span[1]), scale.x(span[0]), max(scale.x(end), scale.x(span[1]))
        fades = span[1] - span[0] > A_YEAR
        shape = ""
        if fades:
            shape = (
                f'<defs><linearGradient id="{name}-fade"><stop offset="0" stop-color="{paint}" stop-opacity="0"/>'
                f'<stop offset="1" stop-color="{paint}"/></linearGradient></defs><path fill="url(#{name}-fade)" '
                f'd="M{x:g} {top:g}H{sure:g}v12H{x:g}Z"/><path fill="none" stroke="{INK}" stroke-dasharray="2 3" '
                f'd="M{sure:g} {top:g}H{x:g}v12H{sure:g}"/>'
            )
        start = sure if fades else x
        shape += f'<path fill="{paint}" stroke="{INK}" d="M{start:g} {top:g}H{max(stop, start + 3):g}v12H{start:g}Z"/>'
    text = f"{finish.title}, {when}"
    said = f"{text}; {finish.schemes[0]['period']}"
    room = WIDTH - 8 - x
    if width_of(text, SIZE) > room:
        x = max(LEFT, WIDTH - 8 - width_of(text, SIZE))
        room = WIDTH - 8 - x
    return (
        f'<a href="{link}"><title>{escape(said)}</title>{shape}'
        f'<text x="{x:g}" y="{y + 12:g}">{escape(fitted(text, room, SIZE))}</text></a>'
    )


def _row(title: str, moments: Sequence[Moment], scale: Scale, y: float) -> tuple[str, float]:
    """One row of marks, with names below them where they have names and there is room."""
    parts = [f'<path stroke="{RULE}" d="M0 {y:g}H{WIDTH - 8:g}"/>', _side(title, y + 17)]
    lanes: list[float] = []
    for moment in sorted(moments, key=lambda each: each.start):
        x, end = scale.x(moment.start), scale.x(moment.end)
        width = max(4.0, end - x)
        look = f'fill="#fff" stroke="{INK}" stroke-dasharray="2 3"' if moment.loose else f'fill="{INK}"'
        mark = f'<path {look} d="M{x:g} {y + 8:g}h{width:.1f}v10h-{width:.1f}Z"/>'
        named = ""
        if moment.label:
            text = fitted(moment.label, 210, SIZE)
            broad = width_of(text, SIZE)
            at = min(x, WIDTH - 8 - broad)
            lane = next((number for number, free in enumerate(lanes) if free + 8 < at), len(lanes))
            if lane < MOST_LANES:
                lanes[lane : lane + 1] = [at + broad]
                named = f'<text x="{at:g}" y="{y + 32 + lane * LANE:g}">{escape(text)}</text>'
        parts.append(f'<a href="{moment.link}"><title>{escape(moment.said)}</title>{mark}{named}</a>')
    return "".join(parts), ROW + len(lanes) * LANE + (6 if lanes else 0)


def _gaps(dated: Sequence[Moment], scale: Scale) -> list[tuple[int, int]]:
    """The years between two records that hold none, where they are many."""
    found, reached = [], float(scale.first)
    for moment in sorted(dated, key=lambda each: each.start):
        if moment.start - reached >= LEAST_GAP and reached > scale.first:
            found.append((int(reached - 0.01), int(moment.start)))
        reached = max(reached, moment.end)
    return found


def _gap_row(gaps: Sequence[tuple[int, int]], scale: Scale, y: float, name: str) -> str:
    shown = []
    for first, last in gaps:
        x, end = scale.x(first + 1), scale.x(last)
        text = next(
            (each for each in (f"nothing known {first}–{last}", f"{first}–{last}") if width_of(each, SIZE) < end - x),
            "",
        )
        shown.append(
            f'<path fill="url(#{name}-gap)" stroke="{QUIET}" stroke-dasharray="3 3" d="M{x:g} {y + 5:g}H{end:g}v16H{x:g}Z"/>'
            + (
                f'<text x="{(x + end) / 2:g}" y="{y + 17:g}" text-anchor="middle" stroke="#fff" stroke-width="4" '
                f'paint-order="stroke">{text}</text>'
                if text
                else ""
            )
        )
    pattern = (
        f'<defs><pattern id="{name}-gap" width="6" height="6" patternUnits="userSpaceOnUse"><path stroke="{RULE}" '
        'd="M-1 1 1-1M-1 7 7-1M5 7 7 5"/></pattern></defs>'
    )
    return pattern + _side("No record", y + 17) + "".join(shown)


def _side(text: str, y: float) -> str:
    return f'<text x="0" y="{y:g}" fill="{QUIET}">{escape(text)}</text>'
