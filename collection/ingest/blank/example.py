"""A small filled example of one object, and the page that says how to fill in a survey. All of it is invented.

The example is a survey package like any other, and is taken in by the tests; the examples in the notes of the
headings are its cells.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path

from collection.language.cautions import DUST, SOLVENT

INVENTED = (
    "This example is invented: the harbour town of Ostrinmouth, its sign, people and finds do not exist. "
    "It is here to be read; nothing on this page is taken in."
)

EXAMPLE: Mapping[str, Sequence[Mapping[str, str]]] = tomllib.loads(
    Path(__file__).with_name("example.toml").read_text(encoding="utf-8")
)
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
