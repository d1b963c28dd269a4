"""How each sheet stands in a document: the node that a record becomes, where it hangs, and the form of each column.

This one table drives both directions, `document.py` and `facts.py`. A column that is not named here stands under our own
word for it, or under our own link where it names something; a date is a time-span either way. So every column that an
audience may read is carried, but for those of `NOT_CARRIED`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

from collection.output.export.linked_art.context import AAT, Json
from collection.output.export.linked_art.forms import (
    Around,
    Dated,
    Day,
    End,
    Form,
    Licence,
    Link,
    Named,
    Said,
    Seen,
    Text,
    Thick,
    Who,
    Whole,
    Word,
)
from collection.records.columns import Column
from collection.records.sheets import BY_SHEET, DATED_STATES

NOT_CARRIED = {
    ("drawings", "file"): "The file's own name is never published; the name of the published copy is carried.",
    ("pictures", "file"): "The file's own name is never published; the name of the published copy is carried.",
    ("sources", "file"): "Copies of sources are not published.",
}
"""Columns that no document has, each with the reason."""
COMPUTED_NOT_CARRIED = {
    "risks": "What endangers an object with its figures is computed from its records, and is in its JSON.",
    "threats": "What endangers an object is computed from its records, and is in its JSON.",
    "assessment": "What a proposal would destroy is computed from the records, and is in its JSON; decisions are carried.",
    "survival": "By scheme and by decoration it is in the JSON; by place, and of the object, it is carried.",
    "original": "What a sample says of the maker's finish is computed from its coats, which are carried.",
    "size": "The size of a picture in pixels is in its file.",
    "box": "What a drawing fills in its own units is in its file.",
    "tags": "Which tag hangs on it is no record of the object; it goes along with an archive and with a package.",
    "withheld": "How many records are held back is in the JSON.",
}
"""What else an object's published document holds and linked data does not, each with the reason."""

PROJECT: Json = {"id": f"{AAT}300404519", "type": "Type", "_label": "conservation"}
"""The type of a project in Linked Art's model of conservation."""


def kind(name: str, label: str) -> Json:
    """What kind of record a node is, as a type of ours."""
    return {"id": f"fc:kind_{name}", "type": "Type", "_label": label}


@dataclass(frozen=True)
class Shape:
    """:ivar at: the property under which a record hangs from that of its object, or from the record around it.
    :ivar types: the classes of its node.
    :ivar is_a: what kind of record it is, where others hang from the same property.
    :ivar forms: how its columns stand, where not as `form_of` has it.
    :ivar thing: of a dated sheet, where the thing hangs whose states its rows are, and its class.
    """

    at: str
    types: tuple[str, ...]
    is_a: Json | None = None
    forms: Mapping[str, Form] = field(default_factory=dict)
    thing: tuple[str, str] | None = None


_DONE = {"place": Link("place", "modified"), "action": Word("technique"), "agent": Word("employed", "Material")}
_PLANNED = {"action": Word(), "agent": Word("foresees_use_of", "Material")}
_CREATION = ("created_by", "Creation")
_ASSIGNMENT = ("attributed_by", "AttributeAssignment")
_STATES = ("AttributeAssignment",)

SHAPES: dict[str, Shape] = {
    "objects": Shape(
        "",
        ("HumanMadeObject",),
        None,
        {
            "object": Named("Identifier"),
            "title": Named(),
            "kind": Word(),
            "maker": Who(inside=("produced_by", "Production")),
            "made": Dated(inside=("produced_by", "Production")),
            "part_of": Whole(),
            "source": Link("sources"),
        },
    ),
    "sources": Shape(
        "documented_in",
        ("Document",),
        kind("source", "source"),
        {"source": Named("Identifier"), "title": Named(), "kind": Word(after=1), "dated": Dated(inside=_CREATION)},
    ),
    "components": Shape(
        "attributed_by",
        _STATES,
        kind("state_of_a_part", "state of a part"),
        {"component": Around(), "name": Text(), "observed_on": Dated()},
        ("part", "HumanMadeObject"),
    ),
    "drawings": Shape(
        "representation",
        ("VisualItem",),
        kind("drawing", "drawing"),
        {"drawing": Named("Identifier"), "title": Named()},
    ),
    "zones": Shape(
        "bears",
        ("HumanMadeFeature",),
        kind("zone", "zone"),
        {"zone": Named("Identifier"), "name": Named(), "component": Link("components", "part_of")},
    ),
    "schemes": Shape(
        "modified_by",
        ("Modification",),
        kind("scheme", "campaign of finishing"),
        {"scheme": Named("Identifier"), "name": Named(), "period": Word(after=1), "made": Dated()},
    ),
    "samples": Shape(
        "fc:samples",
        ("PhysicalFeature",),
        kind("sample", "place where the build-up was read"),
        {
            "sample": Named("Identifier"),
            "method": Word(after=1),
            "taken_on": Dated(inside=_ASSIGNMENT),
            "taken_by": Who(inside=_ASSIGNMENT),
            "total_um": Thick(),
        },
    ),
    "layers": Shape(
        "part",
        ("PhysicalFeature",),
        None,
        {
            "sample": Around(),
            "role": Word(),
            "binder": Word("made_of", "Material"),
            "thickness_um": Thick(),
            "thickness_min_um": Thick("lower_value_limit"),
            "thickness_max_um": Thick("upper_value_limit"),
        },
    ),
    "analyses": Shape(
        "attributed_by",
        ("AttributeAssignment",),
        kind("analysis", "analysis"),
        {
            "analysis": Named("Identifier"),
            "technique": Word("technique"),
            "material": Word("assigned", "Material"),
            "analysed_on": Dated(),
            "analysed_by": Who(),
        },
    ),
    "decorations": Shape(
        "attributed_by",
        _STATES,
        kind("state_of_a_decoration", "state of a decoration"),
        {"decoration": Around(), "kind": Word(after=1), "observed_on": Dated()},
        ("bears", "HumanMadeFeature"),
    ),
    "reserves": Shape(
        "bears",
        ("HumanMadeFeature",),
        kind("reserve", "place that must stay"),
        {
            "reserve": Named("Identifier"),
            "kind": Word(after=1),
            "made_on": Dated(inside=_ASSIGNMENT),
            "made_by": Who(inside=_ASSIGNMENT),
        },
    ),
    "tests": Shape(
        "modified_by",
        ("Modification",),
        kind("test", "cleaning test"),
        {"test": Named("Identifier"), **_DONE, "tested_on": Dated(), "tested_by": Who()},
    ),
    "responses": Shape("part", ("AttributeAssignment",), None, {"test": Around(), "response": Word("assigned")}),
    "conditions": Shape(
        "attributed_by",
        ("AttributeAssignment", "ConditionAssessment"),
        kind("condition", "condition assessment"),
        {"place": Link("place", "concerned"), "phenomenon": Seen(), "observed_on": Dated(), "observed_by": Who()},
    ),
    "proposals": Shape(
        "fc:proposals",
        ("DesignOrProcedure", "InformationObject"),
        None,
        {
            "proposal": Named("Identifier"),
            "title": Named(),
            "proposed_by": Who(inside=_CREATION),
            "proposed_on": Dated(inside=_CREATION),
        },
    ),
    "proposal_steps": Shape(
        "part", ("DesignOrProcedure", "InformationObject"), None, {"proposal": Around(), **_PLANNED}
    ),
    "treatments": Shape(
        "modified_by",
        ("Modification",),
        kind("treatment", "treatment"),
        {
            "treatment": Named("Identifier"),
            "purpose": Text(),
            "started": End(),
            "ended": End("end_of_the_end"),
            "treated_by": Who(),
            "proposal": Link("proposals", "specific_technique"),
        },
    ),
    "treatment_steps": Shape("part", ("Modification",), None, {"treatment": Around(), **_DONE}),
    "advice": Shape(
        "referred_to_by",
        ("LinguisticObject",),
        kind("advice", "advice"),
        {
            "advice": Named("Identifier"),
            "what": Text("content"),
            "given_on": Dated(inside=_CREATION),
            "given_by": Who(inside=_CREATION),
        },
    ),
    "claims": Shape(
        "attributed_by",
        _STATES,
        kind("state_of_a_claim", "what evidence made of a claim"),
        {"claim": Around(), "status": Word("assigned"), "observed_on": Dated()},
        ("referred_to_by", "LinguisticObject"),
    ),
    "hazards": Shape(
        "attributed_by",
        _STATES,
        kind("hazard", "state of a hazard"),
        {"hazard": Named("Identifier"), "kind": Text(), "status": Word("assigned"), "observed_on": Dated()},
    ),
    "pictures": Shape(
        "representation",
        ("VisualItem",),
        kind("picture", "picture"),
        {
            "picture": Named("Identifier"),
            "taken_on": Dated(inside=_CREATION),
            "taken_by": Who(inside=_CREATION),
            "rights": Licence(),
        },
    ),
    "survey": Shape(
        "fc:surveys",
        ("Activity",),
        PROJECT,
        {
            "code": Named("Identifier"),
            "title": Named(),
            "lead": Who("Person"),
            "institution": Who("Group"),
            "started": End(),
            "ended": End("end_of_the_end"),
        },
    ),
}
"""Every sheet."""
REMOVED = frozenset({"cross-section", "scraping"})
"""Samples that were taken off the object; the others are read in place."""
TAKEN_OFF = ("HumanMadeObject",)
REMOVAL = ("removed_by", "PartRemoval")
SEEN_BY_THE_SURVEY = frozenset({"samples", "analyses", "tests", "conditions"})
"""What somebody did within the survey that reports it."""


@cache
def form_of(sheet: str, name: str) -> Form:
    """How a column stands in a document."""
    own = SHAPES[sheet].forms.get(name)
    column = BY_SHEET[sheet].column(name)
    if own is not None:
        return own
    if name == "object":
        return Around()
    if name == "source":
        return Link("sources", "documented_in")
    if column.kind == "date":
        return Day()
    if column.kind == "code" and column.reference not in (None, "objects"):
        return Link(column.reference or "")
    return Said()


@cache
def carried(sheet: str) -> tuple[Column, ...]:
    """The columns of a sheet that a document carries, in order."""
    return tuple(column for column in BY_SHEET[sheet].columns() if (sheet, column.name) not in NOT_CARRIED)


def is_dated(sheet: str) -> bool:
    """Whether the rows of a sheet are states of things that stand beside them."""
    return sheet in DATED_STATES and SHAPES[sheet].thing is not None
