"""A small filled example of one object, and the page that says how to fill in a survey. All of it is invented.

The example is a survey package like any other, and is taken in by the tests; the examples in the notes of the
headings are its cells.
"""

from __future__ import annotations

from collections.abc import Mapping

from collection.language.cautions import DUST, SOLVENT

INVENTED = (
    "This example is invented: the harbour town of Ostrinmouth, its sign, people and finds do not exist. "
    "It is here to be read; nothing on this page is taken in."
)

_EX = "EX/1"
EXAMPLE: Mapping[str, tuple[Mapping[str, str], ...]] = {
    "survey": (
        {
            "code": "EX30",
            "title": "Signs of the old quay (invented)",
            "lead": "Tamsin Hollowell",
            "started": "2030-03-04",
            "institution": "Ostrinmouth Harbour Museum (invented)",
            "ended": "2030-03-08",
            "scope": "One fascia, before it is hung again (invented)",
            "method": "Sections under the microscope, tests with rolled swabs",
        },
    ),
    "objects": (
        {
            "object": _EX,
            "title": "Fascia of a chandler's shop (invented)",
            "kind": "sign",
            "maker": "a sign-writer of the quay",
            "made": "189X",
            "materials": "pine, iron brackets",
            "dimensions": "3.20 x 0.45 m",
            "other_numbers": "loan 12",
            "status": "held",
            "public_place": "gallery 2",
        },
    ),
    "sources": (
        {
            "object": _EX,
            "source": "EX30-L01",
            "kind": "photograph",
            "title": "The quay from the lighthouse",
            "dated": "1911~",
            "kept_at": "town archive (invented)",
        },
    ),
    "components": (
        {
            "object": _EX,
            "component": "BOARD",
            "name": "Board",
            "support": "pine",
            "area_m2": "1.44",
            "origin": "original",
            "fitted": "189X",
            "presence": "present",
            "observed_on": "2030-03-04",
        },
        {
            "object": _EX,
            "component": "BRACKET",
            "name": "Left bracket",
            "parent": "BOARD",
            "support": "wrought iron",
            "origin": "unknown",
            "presence": "present",
            "observed_on": "2030-03-04",
        },
    ),
    "zones": (
        {
            "object": _EX,
            "zone": "FIELD",
            "component": "BOARD",
            "name": "Field of the lettering",
            "area_m2": "1.1",
            "area_basis": "measured",
            "visibility": "visible",
        },
        {
            "object": _EX,
            "zone": "EDGE",
            "component": "BOARD",
            "name": "Upper edge",
            "area_m2": "0.1",
            "area_basis": "estimated",
            "visibility": "inconspicuous",
        },
    ),
    "schemes": (
        {
            "object": _EX,
            "scheme": "1",
            "name": "Sign-writer's black and leaf",
            "period": "original",
            "rank": "1",
            "made": "189X",
            "certainty": "probable",
            "basis": "lowest finish on the pine",
            "source": "EX30-L01",
        },
        {
            "object": _EX,
            "scheme": "2",
            "name": "Green repaint",
            "period": "later",
            "rank": "2",
            "made": "[1920..1939]",
            "certainty": "confirmed",
            "basis": "over dirt and worn varnish of scheme 1",
            "keep": "may go",
            "keep_why": "no sign under it is legible",
            "decided_by": "Tamsin Hollowell",
        },
    ),
    "samples": (
        {
            "object": _EX,
            "sample": "EX30-S01",
            "place": "FIELD",
            "method": "cross-section",
            "taken_on": "2030-03-05",
            "taken_by": "Tamsin Hollowell",
            "mount": "polyester",
            "instrument": "microscope, 200x",
            "kept_at": "box 4",
            "chosen": "expected",
            "counted_from": "support",
            "reaches_support": "yes",
            "total_um": "158",
        },
    ),
    "layers": (
        {
            "object": _EX,
            "sample": "EX30-S01",
            "position": "1",
            "role": "primer",
            "binder": "oil",
            "binder_basis": "guessed",
            "colour": "grey",
            "thickness_um": "40",
            "scheme": "1",
            "coverage": "intact",
        },
        {
            "object": _EX,
            "sample": "EX30-S01",
            "position": "2",
            "role": "body colour",
            "binder": "oil",
            "binder_basis": "tested",
            "colour": "black",
            "munsell": "N 1.5/",
            "lab_l": "14",
            "lab_a": "0.3",
            "lab_b": "-0.8",
            "gloss_gu": "21",
            "thickness_um": "55",
            "thickness_min_um": "48",
            "thickness_max_um": "60",
            "boundary": "sharp",
            "scheme": "1",
            "certainty": "probable",
            "coverage": "intact",
        },
        {
            "object": _EX,
            "sample": "EX30-S01",
            "position": "3",
            "role": "varnish",
            "binder": "oleoresin",
            "binder_basis": "looked",
            "colour": "clear, browned",
            "thickness_um": "20",
            "fluorescence": "milky blue-white",
            "scheme": "1",
            "coverage": "partial",
            "coverage_pct": "60",
        },
        {"object": _EX, "sample": "EX30-S01", "position": "4", "role": "dirt", "colour": "black, sooty"},
        {
            "object": _EX,
            "sample": "EX30-S01",
            "position": "5",
            "role": "body colour",
            "colour": "green",
            "thickness_um": "43",
            "scheme": "2",
            "period": "later",
            "coverage": "intact",
        },
    ),
    "analyses": (
        {
            "object": _EX,
            "analysis": "EX30-A01",
            "technique": "hand-held XRF",
            "result": "lead and zinc",
            "sample": "EX30-S01",
            "position": "1",
            "place": "FIELD",
            "material": "lead white",
            "analysed_on": "2030-03-07",
            "analysed_by": "A. Laboratory (invented)",
        },
    ),
    "decorations": (
        {
            "object": _EX,
            "decoration": "EX30-D01",
            "place": "FIELD",
            "kind": "metal leaf",
            "scheme": "1",
            "lies": "under varnish",
            "description": "the end of a word, RY",
            "state": "covered",
            "observed_on": "2030-03-06",
            "area_m2": "0.04",
            "certainty": "probable",
            "basis": "raking light and a window at its edge",
        },
    ),
    "reserves": (
        {
            "object": _EX,
            "reserve": "EX30-R01",
            "place": "EDGE",
            "kind": "reserve",
            "area_m2": "0.02",
            "shows": "every coat and its dirt",
            "made_on": "2030-03-06",
            "made_by": "Tamsin Hollowell",
        },
    ),
    "tests": (
        {
            "object": _EX,
            "test": "EX30-T01",
            "place": "EDGE",
            "agent": "1 ethanol + 3 isooctane",
            "action": "solvent",
            "application": "rolled swab",
            "dwell_s": "20",
            "passes": "1",
            "temperature_c": "19",
            "arrested_with": "dearomatised white spirit",
            "looked_with": "microscope",
            "after_drying": "yes",
            "tested_on": "2030-03-06",
            "tested_by": "Tamsin Hollowell",
        },
        {
            "object": _EX,
            "test": "EX30-T02",
            "place": "EDGE",
            "agent": "water + 0.5% triammonium citrate",
            "ph": "7",
            "conductivity_mscm": "6",
            "application": "rolled swab",
            "dwell_s": "15",
            "tested_on": "2030-03-06",
        },
    ),
    "responses": (
        {"object": _EX, "test": "EX30-T01", "response": "softened", "scheme": "2", "role": "body colour"},
        {"object": _EX, "test": "EX30-T01", "response": "none seen", "scheme": "1", "role": "varnish"},
        {"object": _EX, "test": "EX30-T02", "response": "none seen", "sample": "EX30-S01", "position": "5"},
    ),
    "conditions": (
        {
            "object": _EX,
            "place": "FIELD",
            "phenomenon": "flaking",
            "observed_on": "2030-03-04",
            "severity": "2",
            "extent_pct": "5",
            "active": "yes",
            "scheme": "2",
            "observed_by": "Tamsin Hollowell",
        },
        {"object": _EX, "place": "EDGE", "phenomenon": "flaking", "observed_on": "2030-03-04", "severity": "0"},
    ),
    "treatments": (
        {
            "object": _EX,
            "treatment": "EX30-W01",
            "purpose": "Repaint for a new tenant",
            "started": "[1920..1939]",
            "treated_by": "unknown painter",
            "outcome": "done",
        },
    ),
    "treatment_steps": (
        {
            "object": _EX,
            "treatment": "EX30-W01",
            "step": "1",
            "place": "FIELD",
            "action": "coat",
            "adds": "green oil paint",
            "adds_binder": "oil",
            "outcome": "done",
        },
    ),
    "advice": (
        {
            "object": _EX,
            "advice": "EX30-G01",
            "what": "Hang it out of the sun",
            "given_on": "2030-03-08",
            "place": "all",
            "given_by": "Tamsin Hollowell",
            "why": "the green chalks",
            "priority": "when convenient",
            "against": "display outdoors; wash",
        },
    ),
    "claims": (
        {
            "object": _EX,
            "claim": "EX30-B01",
            "statement": "The shop's name lies under the green",
            "status": "supported",
            "place": "FIELD",
            "decoration": "EX30-D01",
            "resolved_by": "window EX30-D01, two letters",
            "observed_on": "2030-03-06",
        },
    ),
    "hazards": (
        {
            "object": _EX,
            "hazard": "EX30-H01",
            "kind": "lead in paint",
            "status": "confirmed",
            "component": "BOARD",
            "observed_on": "2030-03-07",
            "basis": "analysis EX30-A01",
        },
    ),
}
"""Sheet to rows, each a column's name to what a surveyor would write."""

SHOWN = (
    "survey",
    "objects",
    "components",
    "zones",
    "schemes",
    "samples",
    "layers",
    "tests",
    "responses",
    "decorations",
    "reserves",
    "conditions",
    "hazards",
)
"""The sheets of the example that people are shown; those left out are filled in alike."""

INSTRUCTIONS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Take care first",
        (
            SOLVENT,
            DUST,
            "What lies under old paint can hurt too: mercury and arsenic in pigments, nitrate films that burn, old fuels "
            "and glues. What a survey records about coats says nothing about what is safe for people.",
        ),
    ),
    (
        "How to fill in",
        (
            "One row is one thing. Begin with survey, then objects, components, zones, schemes; then samples with their "
            "layers, tests with their responses, and whatever else was seen. Leave sheets empty that you do not need.",
            "Headings in bold with a thick border must be filled in every row; the others may stay blank. Every heading "
            "has a note that says what belongs there, in which unit, and gives an example. Never rename a heading.",
            "Codes are kept as typed and compared exactly: S1, S01 and s01 are three writings of one code, and are "
            "refused together. Write each code in one way, as text: a cell that holds a number is refused, because a "
            "spreadsheet makes 7 of 007. Free codes, where they are handed out, stand in the drop-down and the note of "
            "their column; one that nobody uses is simply left over. A place is a zone, a part, or all "
            "for the whole object.",
        ),
    ),
    (
        "Layers",
        (
            "Number the coats of a sample from the support outward, 1 at the support, unless the sample says that it is "
            "counted from the surface. One row is one coat; a scheme is one campaign and may have many coats.",
            "A scheme that was looked for at this point and is not there is a row with coverage absent.",
            "Say whether the sample reaches the bare support: one that stops short says nothing of what lies deeper.",
        ),
    ),
    (
        "Tests",
        (
            "Write an agent as parts by volume, as on the jar: acetone; 1 acetone + 3 white spirit; water + 1% ammonium "
            "citrate. Name the kind of white spirit. Write one response for each coat met, by the strongest effect seen; "
            "none seen is a find.",
        ),
    ),
    (
        "Dates",
        (
            "2030-03-04 is a day, 2030-03 a month, 2030 a year; 1908~ is about 1908, 190X some year from 1900 to 1909, "
            "1924/1931 from 1924 to 1931, [1939..1991] one date somewhere between the two. Blank is unknown.",
            "Parts, decorations and hazards have one row a date: a change is a new row with its own observed_on, never "
            "an old row overwritten.",
        ),
    ),
    (
        "Blank and not recorded",
        (
            "A blank cell says nothing, so write no N/A and no dash; it takes nothing back that is stored. The words not "
            "recorded, written out, clear what is stored.",
            "Rows that are there already (in italics in a workbook) are what is stored: leave them as they are. A cell "
            "that is changed or filled in there is a correction of the record, and is taken in only with --amend and the "
            "reason.",
        ),
    ),
    (
        "Handing in",
        (
            "Put pictures and drawings beside this file and name them in their sheets. Then: firstcoat try FILE runs every "
            "check without a database and lists all faults at once; firstcoat ingest DATABASE FILE takes it in.",
        ),
    ),
)
"""One page: heading to paragraphs."""
