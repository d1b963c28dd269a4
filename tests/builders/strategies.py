"""Hypothesis strategies for records: any content the sheets allow, odd characters and extreme numbers among it.

`record(cls, **fixed)` gives rows of one sheet, `collection_rows()` the rows of a few objects whose references
all lead somewhere, each row after those it points to.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn, SearchStrategy

from collection.language import words
from collection.language.errors import BadValue
from collection.records import cells
from collection.records.codes import fold
from collection.records.columns import Column
from collection.records.row import Record
from collection.records.sheets import (
    Analysis,
    Claim,
    Component,
    Condition,
    Decoration,
    Hazard,
    Layer,
    Object,
    Proposal,
    ProposalStep,
    Reserve,
    Response,
    Sample,
    Scheme,
    Source,
    Survey,
    Test,
    Treatment,
    TreatmentStep,
    Zone,
)

ODD_TEXTS = (
    "Ångström",
    "ﬁre",
    "漆",
    "ไม่ทราบ",
    "👩🏽‍🎨",
    "naïve",
    "a\u0301\u0323",
    "½ coat",
    "Ⅳ",
    "\U00010348",
    "O'Leary",
    'the "red" one',
    "100 %",
    "%s %d",
    "a\nb",
    "tab\there",
    "{}",
    "NULL",
    "0",
    "-",
    "=1+1",
    "<b>",
    "אדום",
    "\ufb1d",
    "ß",
    "İ",
    "K",
    "\u00a0x\u00a0",
    "a|b",
)
EDGE_NUMBERS = (
    0.0,
    -0.0,
    5e-324,
    -5e-324,
    2.2250738585072014e-308,
    1e-300,
    0.1,
    1 / 3,
    2 / 3,
    0.30000000000000004,
    1e9,
    -1e9,
    999999999.9999999,
    123456789.12345679,
    1e-9,
    14.0,
    99.99999999999999,
)
DATES = (
    "1908",
    "1908~",
    "1908?",
    "190X",
    "19XX",
    "1924/1931",
    "[1939..1991]",
    "[..1939]",
    "[1991..]",
    "2019-05",
    "2019-05-12",
    "2019-05-12~",
    "1987/..",
    "../1939",
    "2004-21",
    "0000",
    "9999-12-31",
    "2020-02-29",
)
AGENTS = (
    "acetone",
    "1 acetone + 3 white spirit",
    "water",
    "water + 1% ammonium citrate",
    "white spirit 17%",
    "2 ethanol + 1 isooctane + 1 acetone",
    "harbour polish no. 4",
)
OUTLINES = ("0,0 10,0 10,5", "0 0 1e3 0 1e3 2.5 0 2.5", "-5,-5 5,-5 0,7.25")


def _fits(column: Column, text: str) -> bool:
    """Whether a cell keeps this text as it is, so that what is stored is what was written."""
    try:
        return cells.read_cell(column, text) == text
    except BadValue:
        return False


def texts(column: Column) -> SearchStrategy[str]:
    """Free text as a cell keeps it: any script, quotes, line ends, signs of other languages."""
    some = st.text(st.characters(exclude_categories=("Cs", "Cc", "Cn")), min_size=1, max_size=12)
    return (st.sampled_from(ODD_TEXTS) | some).filter(lambda text: _fits(column, text))


def codes(*, slash: bool = False) -> SearchStrategy[str]:
    """Codes; with `slash` also such as only objects have."""
    usual = st.sampled_from(("1", "2", "S1", "S02", "body", "door", "Größe", "3a", "0", "T-1", "漆"))
    any_code = st.text(st.characters(categories=("L", "N", "P", "S"), exclude_characters="/"), min_size=1, max_size=6)
    plain = (
        (usual | any_code)
        .map(cells.clean)
        .filter(
            lambda code: (
                code.casefold() not in ("all", "not recorded")
                and not code.startswith("=")
                and cells.unseen_in(code) is None
            )
        )
    )
    if not slash:
        return plain
    return plain | st.tuples(plain, plain).map("/".join)


def numbers(column: Column) -> SearchStrategy[float]:
    """Numbers within the column's bounds, denormal ones and both ends among them."""
    low = -1e9 if column.low is None else column.low
    high = 1e9 if column.high is None else column.high
    edges = [number for number in (*EDGE_NUMBERS, low, high) if low <= number <= high]
    return st.sampled_from(edges) | st.floats(low, high)


def integers(column: Column) -> SearchStrategy[int]:
    return st.integers(int(column.low or 0), int(column.high or 10**6))


def value(column: Column) -> SearchStrategy[Any]:
    """A value that the column can hold, references aside."""
    kinds: dict[str, SearchStrategy[Any]] = {
        "number": numbers(column),
        "integer": integers(column),
        "date": st.sampled_from(DATES),
        "agent": st.sampled_from(AGENTS),
        "points": st.sampled_from(OUTLINES),
        "file": st.sampled_from(("pictures/front.jpg", "naïve.png", "a b/c.svg")),
        "coat": st.sampled_from(("1", "2/varnish", "1/body colour")),
        "code": codes(),
    }
    if column.words is not None:
        return st.sampled_from(column.words.words)
    if column.kind in ("text", "person"):
        return texts(column)
    return kinds[column.kind]


@st.composite
def record(draw: DrawFn, cls: type[Record], /, **fixed: Any) -> Record:
    """A row of one sheet with some columns given; references that are not given stay blank."""
    values: dict[str, Any] = dict(fixed)
    for column in cls.columns():
        if column.name in values:
            continue
        if column.reference is not None or column.kind == "coat":
            assert not column.required, f"{cls.sheet}.{column.name} has to be given"
            continue
        values[column.name] = draw(value(column) if column.required else st.none() | value(column))
    return cls.model_validate(values)


def _unique(
    draw: DrawFn, strategy: SearchStrategy[str], most: int, but: Sequence[str] = (), least: int = 0
) -> list[str]:
    """Codes of one kind, no two of them alike but for case, blanks, width or leading zeros, which would be refused."""
    taken = {fold(code) for code in but}
    free = strategy.filter(lambda code: fold(code) not in taken)
    return draw(st.lists(free, min_size=least, max_size=most, unique_by=fold))


@st.composite
def surveys(draw: DrawFn, code: str | None = None) -> Record:
    """A survey's own row."""
    return draw(record(Survey, **({} if code is None else {"code": code})))


@st.composite
def object_rows(draw: DrawFn, code: str | None = None) -> list[Record]:
    """The rows of one object with parts, zones, schemes, samples, layers, tests, responses and the rest."""
    name = draw(codes(slash=True)) if code is None else code
    rows: list[Record] = [draw(record(Object, object=name))]

    def add(cls: type[Record], **fixed: Any) -> Record:
        row: Record = draw(record(cls, object=name, **fixed))
        rows.append(row)
        return row

    def maybe(known: Sequence[str]) -> str | None:
        return draw(st.none() | st.sampled_from(known)) if known else None

    sources = _unique(draw, codes(), 1)
    for source in sources:
        add(Source, source=source)
    parts = _unique(draw, codes(), 2)
    for part in parts:
        for when in draw(st.lists(st.none() | st.sampled_from(DATES), min_size=1, max_size=2, unique=True)):
            add(Component, component=part, observed_on=when, source=maybe(sources))
    zones = _unique(draw, codes(), 2, but=parts) if parts else []
    for zone in zones:
        add(Zone, zone=zone, component=draw(st.sampled_from(parts)))
    places = ("all", *parts, *zones)
    place = st.sampled_from(places)
    schemes = _unique(draw, codes(), 3)
    for scheme in schemes:
        add(Scheme, scheme=scheme, component=maybe(parts))
    samples = _unique(draw, codes(), 2)
    layers: list[tuple[str, int]] = []
    for sample in samples:
        add(Sample, sample=sample, place=draw(place))
        for position in draw(st.lists(st.integers(1, 9999), max_size=3, unique=True)):
            layers.append((sample, position))
            add(Layer, sample=sample, position=position, scheme=maybe(schemes))
    decorations = _unique(draw, codes(), 1)
    for decoration in decorations:
        add(Decoration, decoration=decoration, place=draw(place), scheme=maybe(schemes))
    for test in _unique(draw, codes(), 2):
        add(Test, test=test, place=draw(place), sample=maybe(samples))
        if layers:
            sample, position = draw(st.sampled_from(layers))
            add(Response, test=test, sample=sample, position=position, role=None)
        if schemes:
            add(Response, test=test, scheme=draw(st.sampled_from(schemes)), position=None)
        if decorations:
            add(Response, test=test, decoration=decorations[0], role=None, position=None)
    for phenomenon in draw(st.lists(st.sampled_from(words.PHENOMENON.words), max_size=2, unique=True)):
        add(Condition, place=draw(place), phenomenon=phenomenon, scheme=maybe(schemes))
    if draw(st.booleans()):
        add(Reserve, reserve="R1", place=draw(place))
        add(Claim, claim="C1", place=draw(st.none() | place))
        add(Hazard, hazard="H1")
        add(Analysis, analysis="A1", position=None)
    if draw(st.booleans()):
        add(Proposal, proposal="P1")
        add(ProposalStep, proposal="P1", step=1, place=draw(place))
        add(Treatment, treatment="T1", proposal="P1")
        add(TreatmentStep, treatment="T1", step=1, place=draw(place))
    return rows


@st.composite
def collection_rows(draw: DrawFn, most: int = 2) -> list[Record]:
    """The rows of a few objects, each after those it points to."""
    found: list[Record] = []
    for name in _unique(draw, codes(slash=True), most, least=1):
        found.extend(draw(object_rows(name)))
    return found
