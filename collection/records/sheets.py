"""The sheets of a survey package, declared once, each as a class: its columns in the order of the sheet, and its key.

SQL checks, dictionary, intake, differences, published columns and facts are all read from here.
"""

from __future__ import annotations

from collection.language import words, work_words
from collection.records import columns as c
from collection.records.row import Evidence
from collection.records.row import Record as Record
from collection.records.work import Advice as Advice
from collection.records.work import Proposal as Proposal
from collection.records.work import ProposalStep as ProposalStep
from collection.records.work import Treatment as Treatment
from collection.records.work import TreatmentStep as TreatmentStep


class Survey(Record, sheet="survey", table="surveys", key=("code",)):
    """One campaign: who, when, scope, method; every record belongs to the survey that brought it."""

    code: str = c.code("the survey's code", required=True)
    title: str = c.text("what the survey is called", required=True)
    lead: str = c.person("who led it", required=True)
    started: str = c.date("first day", required=True)
    institution: str | None = c.text("who carried it out")
    ended: str | None = c.date("last day")
    scope: str | None = c.text("which objects, which parts, why")
    method: str | None = c.text("how it was done, and its limits")
    invented: str | None = c.word(words.YES_NO, "yes = made up for a demonstration; blank = real objects")


class Object(Evidence, sheet="objects", key=("object",)):
    """An accessioned thing."""

    object: str = c.code("the accession number", required=True)
    title: str = c.text("what the object is called", required=True)
    kind: str = c.text("what kind of thing it is", required=True)
    maker: str | None = c.text("who made it")
    made: str | None = c.date("when it was made")
    materials: str | None = c.text("what it is made of")
    dimensions: str | None = c.text("its size, as written")
    part_of: str | None = c.code("the object it belongs to", to="objects")
    other_numbers: str | None = c.text("numbers it had or has elsewhere")
    owner: str | None = c.text("who owns it", private=True)
    status: str | None = c.word(words.STATUS, "whether the collection holds it")
    value_points: float | None = c.number("points", "its share of the collection's value", low=0, private=True)
    surroundings: str | None = c.word(words.SURROUNDINGS, "the climate it stands in")
    listed_condition: str | None = c.text(
        "what a list says of its condition as a whole; what somebody saw goes into conditions"
    )
    public_place: str | None = c.text("where the public can see it")
    store_place: str | None = c.text("where it is stored", private=True)


class Component(Evidence, sheet="components", key=("object", "component", "observed_on")):
    """A part of an object, nested; one row per dated state."""

    object: str = c.code("the object", required=True, to="objects")
    component: str = c.code("the part's code", required=True)
    name: str = c.text("what the part is", required=True)
    parent: str | None = c.code("the part it belongs to", to="components")
    support: str | None = c.text("the material the coats lie on")
    area_m2: float | None = c.number("m2", "painted surface of the part", low=0, high=1e6)
    origin: str | None = c.word(words.ORIGIN, "whether the part is the maker's")
    fitted: str | None = c.date("when it was fitted")
    presence: str | None = c.word(words.PRESENCE, "whether it is there")
    observed_on: str | None = c.date("the day this state was seen")


class Drawing(Evidence, sheet="drawings", key=("object", "drawing")):
    """A scaled view of an object on which zones and sample points are placed."""

    object: str = c.code("the object", required=True, to="objects")
    drawing: str = c.code("the drawing's code", required=True)
    file: str = c.file("the drawing's file", required=True)
    title: str = c.text("which view it is", required=True)
    mm_per_unit: float | None = c.number("mm", "length of one drawing unit", low=1e-6)


class Zone(Evidence, sheet="zones", key=("object", "zone")):
    """A bounded area of one component's surface."""

    object: str = c.code("the object", required=True, to="objects")
    zone: str = c.code("the zone's code", required=True)
    component: str = c.code("the part it lies on", required=True, to="components")
    name: str | None = c.text("what the zone is called")
    within: str | None = c.code("the zone it is a part of", to="zones")
    drawing: str | None = c.code("the drawing its outline lies on", to="drawings")
    outline: str | None = c.points("its outline")
    area_m2: float | None = c.number("m2", "its area", low=0, high=1e6)
    area_basis: str | None = c.word(words.AREA_BASIS, "how the area was found")
    visibility: str | None = c.word(words.VISIBILITY, "whether visitors see it")


class Source(Evidence, sheet="sources", key=("object", "source")):
    """A report, letter, photograph, analysis, or spoken account."""

    object: str = c.code("the object", required=True, to="objects")
    source: str = c.code("the source's code", required=True)
    kind: str = c.word(words.SOURCE_KIND, "what kind of source", required=True)
    title: str = c.text("what it is", required=True)
    dated: str | None = c.date("its date")
    kept_at: str | None = c.text("where it is kept")
    file: str | None = c.file("a copy in the package")


class Scheme(Evidence, sheet="schemes", key=("object", "scheme")):
    """One campaign of finishing: a set of coats applied together."""

    object: str = c.code("the object", required=True, to="objects")
    scheme: str = c.code("the scheme's code", required=True)
    name: str = c.text("what it is called", required=True)
    period: str = c.word(words.PERIOD, "whether it counts as original", required=True)
    rank: float | None = c.number("order", "its place in time, 1 = first", low=0, high=1e4)
    made: str | None = c.date("when it was applied")
    certainty: str | None = c.word(words.CERTAINTY, "how sure the period is")
    basis: str | None = c.text("what the period rests on")
    component: str | None = c.code("the only part that carries it", to="components")
    keep: str | None = c.word(words.KEEP, "what was decided about a later scheme")
    keep_why: str | None = c.text("why it was decided so")
    decided_by: str | None = c.person("who decided it")


class Sample(Evidence, sheet="samples", key=("object", "sample")):
    """A place where the build-up was read."""

    object: str = c.code("the object", required=True, to="objects")
    sample: str = c.code("the sample's code", required=True)
    place: str = c.code("zone, part or all", required=True, to="place")
    method: str = c.word(words.METHOD, "how it was read", required=True)
    x: float | None = c.number("drawing units", "across the drawing", low=-1e9)
    y: float | None = c.number("drawing units", "down the drawing", low=-1e9)
    taken_on: str | None = c.date("when it was read")
    taken_by: str | None = c.person("who read it")
    mount: str | None = c.text("how it is mounted")
    instrument: str | None = c.text("what it was read with")
    kept_at: str | None = c.text("where the sample is kept")
    chosen: str | None = c.word(words.CHOSEN, "how the spot was chosen")
    counted_from: str | None = c.word(words.COUNTED_FROM, "the end at which position 1 lies; blank = support")
    extent: str | None = c.word(words.EXTENT, "whether it stands for one spot or the whole place; blank = one spot")
    reaches_support: str | None = c.word(words.YES_NO, "whether it goes down to the bare support")
    total_um: float | None = c.number("µm", "whole thickness", low=0, high=1e6)


class Layer(Evidence, sheet="layers", key=("object", "sample", "position")):
    """One coat in a sample."""

    object: str = c.code("the object", required=True, to="objects")
    sample: str = c.code("the sample", required=True, to="samples")
    position: int = c.integer("its place in the sample's order", required=True, low=1, high=9999)
    role: str = c.word(words.ROLE, "what the coat is", required=True)
    binder: str | None = c.word(words.BINDER, "what binds it")
    binder_basis: str | None = c.word(words.BINDER_BASIS, "how the binder is known")
    colour: str | None = c.text("its colour in words")
    munsell: str | None = c.text("its Munsell notation")
    lab_l: float | None = c.number("CIE L*", "lightness", low=0, high=100)
    lab_a: float | None = c.number("CIE a*", "green to red", low=-200, high=200)
    lab_b: float | None = c.number("CIE b*", "blue to yellow", low=-200, high=200)
    gloss_gu: float | None = c.number("GU at 60°", "specular gloss (ISO 2813)", low=0, high=2000)
    thickness_um: float | None = c.number("µm", "thickness", low=0, high=1e5)
    thickness_min_um: float | None = c.number("µm", "least thickness", low=0, high=1e5)
    thickness_max_um: float | None = c.number("µm", "greatest thickness", low=0, high=1e5)
    fluorescence: str | None = c.text("its fluorescence in ultraviolet")
    boundary: str | None = c.text("how it meets the coat beneath")
    scheme: str | None = c.code("the scheme it belongs to", to="schemes")
    period: str | None = c.word(words.PERIOD, "its period, where no scheme is assigned")
    certainty: str | None = c.word(words.CERTAINTY, "how sure that is")
    coverage: str | None = c.word(words.COVERAGE, "how much of it is left here; blank = present, extent unknown")
    coverage_pct: float | None = c.number("%", "how much of it is left here, measured", low=0, high=100)


class Analysis(Evidence, sheet="analyses", key=("object", "analysis")):
    """A material identified."""

    object: str = c.code("the object", required=True, to="objects")
    analysis: str = c.code("the analysis's code", required=True)
    technique: str = c.text("how it was done", required=True)
    result: str = c.text("what was found", required=True)
    sample: str | None = c.code("the sample", to="samples")
    position: int | None = c.integer("the layer in it", low=1, high=9999, to="layers")
    place: str | None = c.code("where", to="place")
    material: str | None = c.text("the material identified")
    analysed_on: str | None = c.date("when")
    analysed_by: str | None = c.person("by whom")


class Decoration(Evidence, sheet="decorations", key=("object", "decoration", "observed_on")):
    """Lining, lettering, ornament, leaf or transfer; one row per dated state."""

    object: str = c.code("the object", required=True, to="objects")
    decoration: str = c.code("the decoration's code", required=True)
    place: str = c.code("where", required=True, to="place")
    kind: str = c.word(words.DECORATION_KIND, "what kind", required=True)
    scheme: str | None = c.code("the scheme it belongs to", to="schemes")
    lies: str | None = c.word(words.LIES, "under or over its varnish")
    description: str | None = c.text("what it shows")
    state: str | None = c.word(words.DECORATION_STATE, "how it is now")
    observed_on: str | None = c.date("the day this state was seen")
    area_m2: float | None = c.number("m2", "its area", low=0, high=1e6)
    certainty: str | None = c.word(words.CERTAINTY, "how sure it is")
    basis: str | None = c.text("what that rests on")


class Reserve(Evidence, sheet="reserves", key=("object", "reserve")):
    """A place left untouched, an opened window or a sample site, that must stay."""

    object: str = c.code("the object", required=True, to="objects")
    reserve: str = c.code("the reserve's code", required=True)
    place: str = c.code("where", required=True, to="place")
    kind: str = c.word(words.RESERVE_KIND, "what kind", required=True)
    outline: str | None = c.points("its outline")
    area_m2: float | None = c.number("m2", "its area", low=0, high=1e6)
    shows: str | None = c.text("what is seen there")
    made_on: str | None = c.date("when it was left or opened")
    made_by: str | None = c.person("by whom")
    until: str | None = c.date("how long it must stay; blank = for good")


class Test(Evidence, sheet="tests", key=("object", "test")):
    """A small cleaning test: agent, conditions, how it was looked at."""

    object: str = c.code("the object", required=True, to="objects")
    test: str = c.code("the test's code", required=True)
    place: str = c.code("where", required=True, to="place")
    agent: str = c.agent("what was used, as parts by volume", required=True)
    action: str | None = c.word(work_words.ACTION, "how it was done, unless with a plain swab")
    sample: str | None = c.code("the sample at the same spot", to="samples")
    ph: float | None = c.number("pH", "acidity of an aqueous agent", low=0, high=14)
    conductivity_mscm: float | None = c.number("mS/cm", "conductivity of an aqueous agent", low=0, high=1000)
    application: str | None = c.word(work_words.APPLICATION, "how it was applied")
    dwell_s: float | None = c.number("s", "how long it stayed", low=0, high=1e7)
    passes: int | None = c.integer("how often", low=1, high=10_000)
    temperature_c: float | None = c.number("°C", "temperature", low=-50, high=1000)
    arrested_with: str | None = c.agent("what stopped it")
    looked_with: str | None = c.word(work_words.LOOKED_WITH, "how it was looked at")
    after_drying: str | None = c.word(words.YES_NO, "whether it was looked at again when dry")
    finish: str | None = c.word(work_words.FINISH, "how the finish under the swab held; blank = not said")
    tested_on: str | None = c.date("when")
    tested_by: str | None = c.person("by whom")


class Response(
    Evidence, sheet="responses", key=("object", "test", "scheme", "role", "sample", "position", "decoration")
):
    """What a test did to one coat that it met: the strongest effect seen."""

    object: str = c.code("the object", required=True, to="objects")
    test: str = c.code("the test", required=True, to="tests")
    response: str = c.word(work_words.RESPONSE, "what the coat did", required=True)
    scheme: str | None = c.code("the scheme met: its outermost coat there", to="schemes")
    role: str | None = c.word(words.ROLE, "with scheme: which of its coats")
    sample: str | None = c.code("with position: the coat met", to="samples")
    position: int | None = c.integer("with sample: the coat met", low=1, high=9999, to="layers")
    decoration: str | None = c.code("the decoration met", to="decorations")


class Condition(Evidence, sheet="conditions", key=("object", "place", "phenomenon", "observed_on", "scheme")):
    """An observed phenomenon, dated."""

    object: str = c.code("the object", required=True, to="objects")
    place: str = c.code("where", required=True, to="place")
    phenomenon: str = c.word(words.PHENOMENON, "what was seen", required=True)
    observed_on: str = c.date("when", required=True)
    severity: int | None = c.integer("0 looked for and none, 1 slight, 2 moderate, 3 severe", low=0, high=3)
    extent_pct: float | None = c.number("%", "share of the place", low=0, high=100)
    active: str | None = c.word(words.ACTIVE, "whether it goes on")
    scheme: str | None = c.code("the scheme it was seen on", to="schemes")
    observed_by: str | None = c.person("by whom")


class Claim(Evidence, sheet="claims", key=("object", "claim", "observed_on")):
    """Something asserted by a document or a person, and what evidence made of it; one row per dated state."""

    object: str = c.code("the object", required=True, to="objects")
    claim: str = c.code("the claim's code", required=True)
    statement: str = c.text("what is asserted", required=True)
    status: str = c.word(words.CLAIM_STATUS, "what evidence made of it", required=True)
    place: str | None = c.code("where", to="place")
    decoration: str | None = c.code("the decoration it speaks of", to="decorations")
    resolved_by: str | None = c.text("the evidence that settled it")
    observed_on: str | None = c.date("the day it stood so")


class Hazard(Evidence, sheet="hazards", key=("object", "hazard", "observed_on")):
    """Something in or on the object that can hurt people; one row per dated state."""

    object: str = c.code("the object", required=True, to="objects")
    hazard: str = c.code("the hazard's code", required=True)
    kind: str = c.text("what it is", required=True)
    status: str = c.word(words.HAZARD_STATUS, "how it stands", required=True)
    component: str | None = c.code("the part", to="components")
    observed_on: str | None = c.date("the day this state was seen")
    basis: str | None = c.text("what that rests on")


class Picture(Evidence, sheet="pictures", key=("object", "picture")):
    """An image file with its lighting, view, stage, scale and maker."""

    object: str = c.code("the object", required=True, to="objects")
    picture: str = c.code("the picture's code", required=True)
    file: str = c.file("the image file", required=True)
    place: str | None = c.code("where", to="place")
    sample: str | None = c.code("the sample it shows", to="samples")
    test: str | None = c.code("the test it shows", to="tests")
    treatment: str | None = c.code("the treatment it shows", to="treatments")
    lighting: str | None = c.word(words.LIGHTING, "how it was lit")
    view: str | None = c.word(words.VIEW, "how near")
    stage: str | None = c.word(words.STAGE, "before, during or after")
    caption: str | None = c.text("what it shows")
    taken_on: str | None = c.date("when")
    taken_by: str | None = c.person("by whom")
    um_per_px: float | None = c.number("µm", "length of one pixel", low=0)
    surface_px: float | None = c.number(
        "px", "of a section: upper edge to surface, where the outermost coat is whole", low=0
    )
    rights: str | None = c.text("who may show it; blank = not published")


SHEETS: tuple[type[Record], ...] = (
    Survey,
    Object,
    Source,
    Component,
    Drawing,
    Zone,
    Scheme,
    Sample,
    Layer,
    Analysis,
    Decoration,
    Reserve,
    Test,
    Response,
    Condition,
    Proposal,
    ProposalStep,
    Treatment,
    TreatmentStep,
    Advice,
    Claim,
    Hazard,
    Picture,
)
"""Every sheet, each after those it points to."""
BY_SHEET = {record.sheet: record for record in SHEETS}
DATED_STATES = frozenset({"components", "decorations", "claims", "hazards"})
"""Sheets with one row per date: the newest is current, the older stays true for its day."""
