"""The closed lists of the trade's words, but for those of tests and work, which stand in `work_words`.

Each list is declared once; the records, the SQL checks, the dictionary and the pages read it. Common practice, no
published source, unless a term carries a thesaurus number in schema/reference.
"""

from __future__ import annotations

from collection.language.word_list import WordList

ROLE = WordList(
    "layer role",
    (
        "support",
        "sealer",
        "primer",
        "filler",
        "stain",
        "ground",
        "bole",
        "mordant",
        "body colour",
        "lining",
        "lettering",
        "ornament",
        "metal leaf",
        "bronze paint",
        "transfer",
        "plating",
        "bright metal",
        "glaze",
        "varnish",
        "retouching",
        "consolidant",
        "adhesive",
        "facing",
        "wax",
        "dirt",
        "corrosion",
        "patina",
        "other",
    ),
    {
        "pinstripe": "lining",
        "pinstriping": "lining",
        "striping": "lining",
        "stripe": "lining",
        "overpaint": "body colour",
        "body color": "body colour",
        "colour coat": "body colour",
        "priming": "primer",
        "undercoat": "primer",
        "stopping": "filler",
        "putty": "filler",
        "rough stuff": "filler",
        "gesso": "ground",
        "gold leaf": "metal leaf",
        "silver leaf": "metal leaf",
        "leaf": "metal leaf",
        "gold size": "mordant",
        "oil size": "mordant",
        "glue size": "sealer",
        "decal": "transfer",
        "soiling": "dirt",
        "grime": "dirt",
        "rust": "corrosion",
        "inpainting": "retouching",
        "clear coat": "varnish",
        "substrate": "support",
        "wood": "support",
        "bare wood": "support",
        "scumble": "glaze",
    },
    {
        "size": "Glue size is written sealer, gold size is written mordant: which is it?",
        "topcoat": "Is it a colour (body colour) or a clear coat (varnish)?",
        "top coat": "Is it a colour (body colour) or a clear coat (varnish)?",
        "gilding": "Is it leaf (metal leaf) or bronze powder in a medium (bronze paint)?",
        "gold": "Is it leaf (metal leaf) or bronze powder in a medium (bronze paint)?",
        "enamel": "Enamel names a binder, not a place in the build-up: is the coat body colour or primer?",
    },
)
PREPARATION_ROLES = frozenset({"sealer", "primer", "filler", "ground", "bole", "mordant"})
"""Coats that carry a finish and are none themselves."""
FOREIGN_ROLES = frozenset({"dirt", "wax", "corrosion", "facing", "adhesive"})
"""What lies on or between finishes without being one."""
CLEAR_ROLES = frozenset({"varnish", "sealer", "glaze", "wax", "consolidant", "adhesive", "facing"})
"""Coats whose identity does not rest on a recorded colour."""
FINISH_ROLES = frozenset(ROLE.words) - PREPARATION_ROLES - FOREIGN_ROLES - {"support"}
ROLE_DEPTH = {role: depth for depth, role in enumerate(ROLE.words)}
"""Usual order within one scheme, from the support outward; used only where no sample decides."""

BINDER = WordList(
    "binder",
    (
        "oil",
        "oleoresin",
        "stoved enamel",
        "vitreous enamel",
        "alkyd",
        "cellulose nitrate",
        "cellulose ester dope",
        "shellac",
        "natural resin",
        "Asian lacquer",
        "bitumen",
        "phenolic",
        "acrylic",
        "acrylic dispersion",
        "polyvinyl acetate",
        "polyurethane",
        "epoxy",
        "chlorinated rubber",
        "silicone",
        "vinyl film",
        "wax",
        "glue",
        "casein",
        "egg",
        "gum",
        "mixed",
        "unknown",
    ),
    {
        "oil-resin": "oleoresin",
        "oil resin": "oleoresin",
        "linseed oil": "oil",
        "nitrocellulose": "cellulose nitrate",
        "spirit varnish": "shellac",
        "french polish": "shellac",
        "dammar": "natural resin",
        "mastic": "natural resin",
        "urushi": "Asian lacquer",
        "asphaltum": "bitumen",
        "pva": "polyvinyl acetate",
        "pvac": "polyvinyl acetate",
        "two-pack": "polyurethane",
        "linseed": "oil",
        "oil paint": "oil",
        "oil varnish": "oleoresin",
        "animal glue": "glue",
        "hide glue": "glue",
        "beeswax": "wax",
    },
    {
        "japan": "Japan names three things: is it bitumen, shellac or stoved enamel?",
        "lacquer": "Is it cellulose nitrate, shellac, Asian lacquer or acrylic?",
        "enamel": "Is it stoved enamel, vitreous enamel, alkyd or oleoresin?",
    },
)
BINDER_BASIS = WordList(
    "binder basis", ("analysed", "tested", "looked", "guessed"), {"analyzed": "analysed", "assumed": "guessed"}
)
PERIOD = WordList(
    "period",
    ("original", "early", "later", "restoration", "recent", "unknown"),
    {"first": "original", "maker's": "original", "modern": "recent"},
    {"overpaint": "When was it put on: later, restoration or recent?"},
)
LATER_PERIODS = frozenset({"later", "restoration", "recent"})
CERTAINTY = WordList(
    "certainty",
    ("confirmed", "probable", "possible"),
    {"certain": "confirmed", "sure": "confirmed", "likely": "probable", "maybe": "possible"},
)
COVERAGE = WordList(
    "coverage",
    ("intact", "partial", "trace", "absent"),
    {"complete": "intact", "traces": "trace", "none": "absent", "patchy": "partial", "fragmentary": "partial"},
)
SEVERITY = WordList("severity", ("clear", "stood", "untested", "endangers", "destroys"))
"""From least to worst; people read `out of reach`, `stood the test`, `untested`, `endangers`, `destroys`."""
SEVERITY_RANK = {word: rank for rank, word in enumerate(SEVERITY.words)}
SEVERITY_SPOKEN = {
    "clear": "out of reach",
    "stood": "stood the test",
    "untested": "untested",
    "endangers": "endangers",
    "destroys": "destroys",
}
ZONE_STATE = WordList(
    "zone state",
    (
        "original exposed",
        "original covered",
        "original fragmentary",
        "original not found",
        "original removed",
        "not examined",
    ),
)

_YES = "ja j oui si sí sì sim tak ano da да kyllä evet wahr vrai vero verdadero x ✓ ✔ ☑ ✅ 1"
_NO = "nein nee nej nei non não nao nie ne нет ei hayır falsch faux falso ✗ ✘ ☐ ❌ 0"
# A cross says yes in most lists and no in some: one more reason to ask.
YES_OR_NO_ELSEWHERE = {**dict.fromkeys(_YES.split(), "yes"), **dict.fromkeys(_NO.split(), "no")}
"""What stands in columns of yes and no in lists of other languages, with the word to offer. Common practice, no
published source."""
YES_NO = WordList(
    "yes or no", ("yes", "no"), {"y": "yes", "n": "no", "true": "yes", "false": "no"}, offers=YES_OR_NO_ELSEWHERE
)
AUDIENCE = WordList("audience", ("public", "staff"))
SURROUNDINGS = WordList(
    "surroundings",
    ("indoors steady", "indoors", "sheltered", "outdoors", "unknown"),
    {"inside": "indoors", "outside": "outdoors", "under cover": "sheltered"},
)
STATUS = WordList("status of the object", ("held", "on loan", "left"), {"in collection": "held"})
ORIGIN = WordList(
    "origin of a component",
    ("original", "replaced", "added", "reused", "unknown"),
    {},
    {"later": "Did it take the place of another part (replaced), or was there none before (added)?"},
)
PRESENCE = WordList(
    "presence of a component",
    ("present", "missing", "stored apart"),
    {},
    {"lost": "Is it gone for good (missing), or kept and only not to be found now (stored apart)?"},
)
AREA_BASIS = WordList("basis of an area", ("measured", "estimated"), {"est": "estimated", "est.": "estimated"})
VISIBILITY = WordList(
    "visibility",
    ("visible", "inconspicuous", "hidden"),
    {"yes": "visible"},
    {"no": "Is it in sight and easily missed (inconspicuous), or out of sight (hidden)?"},
)
SOURCE_KIND = WordList(
    "kind of source", ("report", "letter", "photograph", "analysis", "spoken", "other"), {"photo": "photograph"}
)
KEEP = WordList(
    "keep",
    ("keep", "sample", "may go"),
    {},
    {"remove": "Has somebody decided that it may go? Then write may go, why and by whom."},
)
METHOD = WordList(
    "sampling method",
    ("cross-section", "exposure", "scraping", "surface", "gauge"),
    {
        "cross section": "cross-section",
        "x-section": "cross-section",
        "paint section": "cross-section",
        "window": "exposure",
    },
)
CHOSEN = WordList(
    "how the spot was chosen",
    ("random", "expected", "at a loss"),
    {"damage": "at a loss", "at a damage": "at a loss", "loss": "at a loss"},
)
COUNTED_FROM = WordList(
    "end that positions are counted from",
    ("support", "surface"),
    {"outside": "surface", "top": "surface", "substrate": "support"},
)
EXTENT = WordList("extent of a sample", ("spot", "whole place"), {"point": "spot", "whole": "whole place"})
LIES = WordList("where a decoration lies", ("under varnish", "over varnish", "unknown"))
DECORATION_STATE = WordList("state of a decoration", ("exposed", "covered", "fragment", "lost", "not found"))
DECORATION_KIND = WordList(
    "kind of decoration",
    ("lining", "lettering", "ornament", "metal leaf", "bronze paint", "transfer"),
    {"leaf": "metal leaf", "gold leaf": "metal leaf", "striping": "lining", "pinstripe": "lining", "decal": "transfer"},
    {"gilding": "Is it leaf (metal leaf) or bronze powder in a medium (bronze paint)?"},
)
RESERVE_KIND = WordList(
    "kind of reserve", ("reserve", "window", "sample site"), {"opening": "window", "exposure": "window"}
)
PHENOMENON = WordList(
    "condition",
    (
        "flaking",
        "blistering",
        "loss",
        "cracking",
        "chalking",
        "corrosion under paint",
        "abrasion",
        "wear of use",
        "bloom",
        "fading",
        "tape residue",
        "not accessible",
        "soiling",
        "delamination",
        "powdering",
        "lifting",
    ),
    {
        "blisters": "blistering",
        "cracks": "cracking",
        "losses": "loss",
        "rust under paint": "corrosion under paint",
        "dirt": "soiling",
        "dirty": "soiling",
        "grime": "soiling",
        "powdery": "powdering",
        "delaminating": "delamination",
        "cupping": "lifting",
        "flakes": "flaking",
        "scratches": "abrasion",
        "wear": "wear of use",
        "faded": "fading",
        "tape": "tape residue",
        "adhesive tape": "tape residue",
        "sticky tape": "tape residue",
    },
    open_list=True,
)
ACTIVE = WordList(
    "active or not",
    ("yes", "no", "unknown"),
    {"active": "yes", "ongoing": "yes", "at rest": "no", "inactive": "no"},
    {"stable": "Was it watched and did not go on (no), or was it not watched (unknown)?"},
    offers=YES_OR_NO_ELSEWHERE,
)
PRIORITY = WordList("priority", ("now", "soon", "when convenient"), {"urgent": "now"})
CLAIM_STATUS = WordList(
    "status of a claim",
    ("untested", "supported", "confirmed", "refuted"),
    {},
    {"probable": "Does evidence speak for it (supported), or has nobody looked (untested)?"},
)
HAZARD_STATUS = WordList(
    "status of a hazard", ("suspected", "confirmed", "controlled", "not found"), {"possible": "suspected"}
)
LIGHTING = WordList(
    "lighting",
    (
        "normal",
        "raking",
        "specular",
        "transmitted",
        "ultraviolet fluorescence",
        "ultraviolet reflected",
        "infrared",
        "dark field",
        "polarised",
        "X-ray",
    ),
    {
        "raking light": "raking",
        "daylight": "normal",
        "uv fluorescence": "ultraviolet fluorescence",
        "uv reflected": "ultraviolet reflected",
        "ir": "infrared",
    },
    {"uv": "Does it show fluorescence (ultraviolet fluorescence) or reflection (ultraviolet reflected)?"},
)
VIEW = WordList("view", ("whole", "detail", "micrograph"), {"microscope": "micrograph", "overall": "whole"})
STAGE = WordList("stage", ("before", "during", "after", "other"))
DECISION = WordList("decision", ("approve", "refuse", "defer"))
TAG = WordList("kind of tag", ("tag", "label"))

SHEET_NAMES = {
    "drawings": "drawing",
    "components": "part",
    "zones": "zone",
    "schemes": "scheme",
    "samples": "sample",
    "layers": "coat",
    "analyses": "analysis",
    "decorations": "decoration",
    "reserves": "reserve",
    "tests": "test",
    "responses": "response",
    "conditions": "condition",
    "treatments": "treatment",
    "treatment_steps": "treatment step",
    "advice": "advice",
    "claims": "claim",
    "hazards": "hazard",
    "pictures": "picture",
    "sources": "source",
    "proposals": "proposal",
    "proposal_steps": "proposed step",
    "objects": "object",
}
"""What one record of each sheet is called where people read it."""


def parts_of(text: str | None) -> tuple[str, ...]:
    """The parts of a cell that holds several."""
    return tuple(part.strip() for part in (text or "").split(";") if part.strip())
