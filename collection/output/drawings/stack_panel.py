"""One stack of coats as drawn: its column, its brackets and labels, and its micrograph beside it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape

from collection.language.words import SEVERITY_RANK
from collection.output.drawings.colours import Basis
from collection.output.drawings.states import pattern
from collection.output.drawings.text import address, fitted, width_of, wrapped

LOWEST, THINNEST, UNMEASURED, SUPPORT, LINE = 200.0, 3.0, 15.0, 20.0, 14.0
"""Heights in pixels: of all measured coats of the thickest stack at least, of the thinnest coat, of one without a
thickness, of the support, of a line of text."""
COLUMN, LANE, TOP, BELOW, GAP, LONGEST = 64.0, 12.0, 26.0, 30.0, 16.0, 260.0
_STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000)
STOPS = "stops here; not looked at deeper"
ORIGINAL = "original"
INK, QUIET = "#1d1d1d", "#555"


@dataclass(frozen=True)
class Bracket:
    """Some coats of a stack held together and named. `kind` is `original`, or the severity with which they are lost."""

    positions: tuple[int, ...]
    label: str
    kind: str = ORIGINAL


@dataclass(frozen=True)
class Coat:
    """One coat as drawn; `um` is None where its thickness is not recorded, `fill` where its colour is not."""

    position: int
    name: str
    scheme: str
    um: float | None
    fill: str | None
    basis: Basis | None
    is_support: bool = False


@dataclass(frozen=True)
class Micrograph:
    """A picture of a section by its published file. `size` is in its own pixels; `surface_px` are those above the
    surface, where somebody measured them."""

    file: str
    said: str
    rights: str | None
    size: tuple[int, int] | None
    um_per_px: float | None
    surface_px: float | None


@dataclass(frozen=True)
class Stack:
    """A sample to draw: its coats from the surface inward, and whether it goes down to the support. `left_out` are the
    coats that were looked for and not found, which take no room."""

    sample: str
    place: str
    coats: tuple[Coat, ...]
    reaches: bool
    brackets: tuple[Bracket, ...] = ()
    picture: Micrograph | None = None
    left_out: int = 0


class Panel:
    """One stack with its brackets on the left, its labels on the right, and its micrograph beside them."""

    def __init__(self, stack: Stack, per_um: float, height: float, name: str) -> None:
        self.stack, self.per_um, self.height, self.name = stack, per_um, height, name
        self.heights = heights(stack, per_um)
        self.spans: dict[int, tuple[float, float]] = {}
        y = TOP
        for coat, high in zip(stack.coats, self.heights, strict=False):
            self.spans[coat.position] = y, y + high
            y += high
        self.foot = y
        self.margins = [wrapped(bracket.label, 66, 12) for bracket in stack.brackets]
        self.lanes = _lanes(stack.brackets)
        text = max((width_of(line, 12) for lines in self.margins for line in lines), default=0.0)
        self.x = round((text + 6 if text else 0.0) + LANE * len(set(self.lanes)) + 2, 1)
        self.labels = self._labels()
        longest = max((width_of(f"{head} {said}{more}", 12) for head, said, more, _ in self.labels), default=0.0)
        self.text_x = self.x + COLUMN + 20
        self.picture_x = round(self.text_x + longest + GAP, 1)
        self.picture_width = self._picture_width()
        beside = LANE * len(set(self.lanes)) if self._depths() else 0.0
        head = width_of(f"{stack.sample} {stack.place}", 13) + 8
        self.picture_x += beside
        right = self.picture_x + self.picture_width if stack.picture else self.picture_x - GAP
        self.width = round(max(right, head) + 2, 1)

    def svg(self) -> str:
        return "".join(
            [
                self._head(),
                *self._column(),
                self._foot(),
                *self._lines(),
                *self._brackets(),
                *self._micrograph(),
                bar(self.x, TOP + self.height + 14, self.per_um, COLUMN) if self.per_um else "",
            ]
        )

    def _head(self) -> str:
        stack = self.stack
        link = f'<a href="@/sample/{address(stack.sample)}">'
        return (
            f'{link}<text font-size="13" font-weight="bold" x="{self.x:g}" y="14" fill="{INK}" '
            f'text-decoration="underline">{escape(stack.sample)}</text></a>'
            f'<text font-size="12" x="{self.x + width_of(stack.sample, 13) * 1.08 + 8:g}" y="14" fill="{QUIET}">'
            f"{escape(stack.place)}</text>"
        )

    def _column(self) -> Iterator[str]:
        for coat in self.stack.coats:
            top, bottom = self.spans[coat.position]
            fill = f"url(#{self.name}-support)" if coat.is_support else coat.fill or f"url(#{self.name}-unknown)"
            broken = "" if coat.um or coat.is_support else ' stroke-dasharray="4 3"'
            yield (
                f'<rect x="{self.x:g}" y="{top:.1f}" width="{COLUMN:g}" height="{bottom - top:.1f}" fill="{fill}" '
                f'stroke="{INK}" stroke-width="0.8"{broken}><title>{escape(said_of(coat))}</title></rect>'
            )

    def _foot(self) -> str:
        """The support where no row records it, or the wave where the sample stops."""
        if any(coat.is_support for coat in self.stack.coats):
            return ""
        if self.stack.reaches:
            return (
                f'<rect x="{self.x:g}" y="{self.foot:.1f}" width="{COLUMN:g}" height="{SUPPORT:g}" '
                f'fill="url(#{self.name}-support)" stroke="{INK}" stroke-width="0.8"/>'
            )
        wave = f"q{COLUMN / 16:g} 7 {COLUMN / 8:g} 0t{COLUMN / 8:g} 0" + f"t{COLUMN / 8:g} 0" * 6
        return f'<path d="M{self.x:g} {self.foot + 7:.1f}{wave}" fill="none" stroke="{INK}" stroke-width="1.4"/>'

    def _labels(self) -> list[tuple[str, str, str, float]]:
        """Number, words, scheme and the height of the baseline of each label, none over another."""
        found: list[tuple[str, str, str]] = []
        middles, above = [], ""
        for coat in self.stack.coats:
            top, bottom = self.spans[coat.position]
            middles.append((top + bottom) / 2)
            # A scheme is named at its outermost coat; the coats below it are of the same.
            scheme = coat.scheme if coat.scheme != above else ""
            said = fitted(coat.name, LONGEST, 12)
            more = f" · {scheme}" if scheme else ""
            if width_of(said + more, 12) > LONGEST:
                more = fitted(more, max(LONGEST - width_of(said, 12), 0), 12)
            found.append((str(coat.position), said, more))
            above = coat.scheme or above
        if not any(coat.is_support for coat in self.stack.coats):
            middles.append(self.foot + SUPPORT / 2 - (0 if self.stack.reaches else 4))
            found.append(("", "support" if self.stack.reaches else STOPS, ""))
        lines = spread(middles, [LINE] * len(middles), TOP, TOP + self.height)
        return [(*label, line + 4) for label, line in zip(found, lines, strict=True)]

    def _lines(self) -> Iterator[str]:
        """The labels, each with a line to its coat."""
        edge = self.x + COLUMN
        middles = [sum(self.spans[coat.position]) / 2 for coat in self.stack.coats]
        leaders = ""
        for at, (head, said, more, y) in enumerate(self.labels):
            middle = middles[at] if at < len(middles) else self.foot + (SUPPORT / 2 if self.stack.reaches else 7)
            leaders += f"M{edge:g} {middle:.1f}h5L{self.text_x - 4:g} {y - 4:.1f}"
            number = f'<tspan font-weight="bold">{head}</tspan> ' if head else ""
            after = f'<tspan fill="{QUIET}">{escape(more)}</tspan>' if more else ""
            slanted = ' font-style="italic"' if not head else ""
            yield (
                f'<text font-size="12" x="{self.text_x:g}" y="{y:.1f}" fill="{INK}"{slanted}>'
                f"{number}{escape(said)}{after}</text>"
            )
        yield f'<path d="{leaders}" fill="none" stroke="{QUIET}" stroke-width="0.7"/>'

    def _brackets(self) -> Iterator[str]:
        deepest = max(self.lanes, default=0)
        middles = []
        for bracket, lane in zip(self.stack.brackets, self.lanes, strict=True):
            spans = [self.spans[at] for at in bracket.positions if at in self.spans]
            if not spans:
                middles.append(TOP)
                continue
            top, bottom = min(top for top, _ in spans), max(bottom for _, bottom in spans)
            middles.append((top + bottom) / 2)
            yield self._bracket(bracket.kind, self.x - LANE * (lane + 1), top, bottom, bracket.label)
        high = [14.0 * len(lines) + 6 for lines in self.margins]
        right = self.x - LANE * (deepest + 1) - 5
        for lines, middle, height in zip(
            self.margins, spread(middles, high, TOP, TOP + self.height), high, strict=True
        ):
            for at, line in enumerate(lines):
                yield (
                    f'<text font-size="12" x="{right:g}" y="{middle - height / 2 + 14 + 14 * at:.1f}" '
                    f'text-anchor="end" fill="{INK}">{escape(line)}</text>'
                )

    def _bracket(self, kind: str, x: float, top: float, bottom: float, label: str) -> str:
        title = f"<title>{escape(label)}</title>"
        if kind == ORIGINAL:
            return (
                f'<path data-kind="{kind}" d="M{x + 9:g} {top + 0.5:.1f}H{x + 2:g}V{bottom - 0.5:.1f}H{x + 9:g}" '
                f'fill="none" stroke="{INK}" stroke-width="2.4">{title}</path>'
            )
        broken = ' stroke-dasharray="3 2"' if kind == "untested" else ""
        return (
            f'<rect data-kind="{kind}" x="{x + 1:g}" y="{top:.1f}" width="9" height="{bottom - top:.1f}" '
            f'fill="{self._filling(kind)}" stroke="{INK}" stroke-width="1.2"{broken}>{title}</rect>'
        )

    def _filling(self, kind: str) -> str:
        return f"url(#{self.name}-{kind})" if kind in SEVERITY_RANK else "#fff"

    def _picture_width(self) -> float:
        picture = self.stack.picture
        if picture is None:
            return 0.0
        wide, high = picture.size or (3, 2)
        return round(self.height * wide / high, 1)

    def _depths(self) -> dict[int, tuple[float, float]]:
        """Where each coat lies on the micrograph, as far as its surface and the thicknesses above are recorded."""
        picture, found = self.stack.picture, {}
        if picture is None or not picture.size or not picture.um_per_px or picture.surface_px is None:
            return {}
        shown = self.height / picture.size[1]
        y = TOP + picture.surface_px * shown
        for coat in self.stack.coats:
            if not coat.um or y >= TOP + self.height:
                break
            bottom = y + coat.um / picture.um_per_px * shown
            found[coat.position] = y, min(bottom, TOP + self.height)
            y = bottom
        return found

    def _micrograph(self) -> Iterator[str]:
        picture = self.stack.picture
        if picture is None:
            return
        x, depths = self.picture_x, self._depths()
        yield (
            f'<a href="@picture/{escape(picture.file)}"><image href="@picture/{escape(picture.file)}" x="{x:g}" '
            f'y="{TOP:g}" width="{self.picture_width:g}" height="{self.height:g}"/>'
            f"<title>{escape(picture.said)}</title></a>"
        )
        for bracket, lane in zip(self.stack.brackets, self.lanes, strict=True):
            spans = [depths[at] for at in bracket.positions if at in depths]
            if spans:
                top, bottom = min(top for top, _ in spans), max(bottom for _, bottom in spans)
                yield self._bracket(bracket.kind, x - LANE * (lane + 1), top, bottom, bracket.label)
        if picture.um_per_px and picture.size:
            per_um = self.height / picture.size[1] / picture.um_per_px
            yield bar(x, TOP + self.height + 14, per_um, self.picture_width)


def heights(stack: Stack, per_um: float) -> list[float]:
    """The heights of a stack's coats; the last is that of the support or of the wave where the sample stops."""
    found = [
        SUPPORT if coat.is_support else max(THINNEST, coat.um * per_um) if coat.um else UNMEASURED
        for coat in stack.coats
    ]
    return found if any(coat.is_support for coat in stack.coats) else [*found, SUPPORT]


def needed(stack: Stack) -> float:
    """The height that a stack's labels take, and a picture beside it to be worth looking at."""
    return max(LINE * (len(stack.coats) + 1), 120.0 if stack.picture else 0.0)


def spread(middles: Sequence[float], heights: Sequence[float], top: float, bottom: float) -> list[float]:
    """Where the middles of boxes go, each as near to where it should be as the others allow, none over another.

    They stay between `top` and `bottom` where they find room there. The order is kept as it is given, by the middles.
    """
    order = sorted(range(len(middles)), key=lambda at: middles[at])
    found = list(middles)
    edge = top
    for at in order:
        found[at] = max(found[at], edge + heights[at] / 2)
        edge = found[at] + heights[at] / 2
    edge = max(bottom, top + sum(heights))
    for at in reversed(order):
        found[at] = min(found[at], edge - heights[at] / 2)
        edge = found[at] - heights[at] / 2
    return found


def said_of(coat: Coat) -> str:
    """A coat in full, as its title says it."""
    thick = f"{coat.um:g} µm" if coat.um else "" if coat.is_support else "thickness not recorded"
    basis = {"measured": "colour measured", "munsell": "colour by Munsell", "word": "colour drawn for the word"}
    parts = (f"{coat.position}: {coat.name}", coat.scheme, thick, basis.get(coat.basis or "", ""))
    return ", ".join(part for part in parts if part)


def _lanes(brackets: Sequence[Bracket]) -> list[int]:
    """The lane of each bracket, from the column outward: the maker's finish first, then a lane for each other kind."""
    kinds = sorted({bracket.kind for bracket in brackets}, key=lambda kind: (kind != ORIGINAL, kind))
    return [kinds.index(bracket.kind) for bracket in brackets]


def bar(x: float, y: float, per_um: float, room: float) -> str:
    length = max((step for step in _STEPS if step * per_um <= room * 0.9), default=0)
    if not length:
        return ""
    return (
        f'<path d="M{x:g} {y - 4:.1f}v8m0 -4h{length * per_um:.1f}m0 -4v8" stroke="{INK}" stroke-width="1.4" '
        f'fill="none"/><text font-size="11" x="{x + length * per_um + 6:.1f}" y="{y + 4:.1f}" fill="{INK}">'
        f"{length} µm</text>"
    )


def patterns(name: str, severities: Iterable[str] = ()) -> str:
    """The patterns of the support, of a colour that nobody recorded, and of severities, as every drawing has them."""
    support = (
        f'<pattern id="{name}-support" width="6" height="6" patternUnits="userSpaceOnUse"><rect width="6" height="6" '
        'fill="#fff"/><path d="M0 0L6 6M6 0L0 6" stroke="#777" stroke-width="0.9" fill="none"/></pattern>'
    )
    words = ("unknown", *(word for word in SEVERITY_RANK if word in set(severities)))
    return support + "".join(pattern(word, f"{name}-{word}", 9) for word in words)
