"""The closed lists of the trade's words, with the other names people write and the words that ask back.

Each list is declared once here; the records, the SQL checks, the dictionary and the pages read it.
Common practice, no published source, unless a term carries a thesaurus number in schema/reference.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

from collection.language.errors import BadValue


@dataclass(frozen=True)
class WordList:
    """One closed list: its words in the order people meet them, aliases, and ambiguous words.

    `open_list` marks a list that will grow: SQL leaves it unchecked and the intake warns only.
    """

    name: str
    words: tuple[str, ...]
    aliases: Mapping[str, str] = field(default_factory=dict)
    asks: Mapping[str, str] = field(default_factory=dict)
    open_list: bool = False

    def read(self, text: str) -> str:
        """The stored word for what somebody wrote.

        :raises BadValue: for a word that is not in the list, or that means two things; the message
            gives the question or the allowed words, `nearest` the likely one.
        """
        word = _fold(text)
        if word in self._lookup:
            return self._lookup[word]
        if word in self.asks:
            raise BadValue(f"This word means two things in the trade. {self.asks[word]}")
        nearest = self.nearest(word)
        raise BadValue(f"Not a word for {self.name}. Allowed: {', '.join(self.words)}.", nearest)

    def nearest(self, text: str) -> str | None:
        """The word most likely meant: the last one that the text holds whole, else one that is spelled like it."""
        word = _fold(text)
        held = _held(word, self._lookup)
        if held is not None:
            return self._lookup[held]
        for close in difflib.get_close_matches(word, list(self._lookup), n=3, cutoff=_ALIKE):
            if _spelled_like(word, close):
                return self._lookup[close]
        return None

    @property
    def _lookup(self) -> dict[str, str]:
        return _lookup(self)

    def __hash__(self) -> int:
        return hash((self.name, self.words))


@cache
def _lookup(words: WordList) -> dict[str, str]:
    table = {_fold(word): word for word in words.words}
    table.update({_fold(alias): word for alias, word in words.aliases.items()})
    return table


_ALIKE, _SURELY_ALIKE, _SAME_START = 0.6, 0.75, 4
"""Shares of alike letters at which a word may be, and surely is, a misspelling; letters that make up for the rest."""
_TURNS = frozenset({"not", "no", "non", "none", "never", "without", "un"})


def _spelled_like(word: str, other: str) -> bool:
    """Whether one is a slip for the other, and not merely of as many letters: `wiped` is no slip for `weld`, and
    `not original` none for `original`."""
    if _turned(word) != _turned(other):
        return False
    return (
        word[:_SAME_START] == other[:_SAME_START] or difflib.SequenceMatcher(None, word, other).ratio() >= _SURELY_ALIKE
    )


def _turned(word: str) -> bool:
    return not _TURNS.isdisjoint(re.findall(r"[^\W_]+", word))


def _held(word: str, among: Mapping[str, str]) -> str | None:
    """The key that stands last in a text of several words, the longest of those that end there: the noun that the
    rest describes. None where the text turns its sense round, or names several things."""
    tokens = re.findall(r"[^\W_]+", word)
    if _turned(word) or re.search(r"[,;+&]|\b(?:and|or|over|on)\b", word):
        return None
    for start in range(len(tokens)):
        tail = " ".join(tokens[start:])
        if tail in among:
            return tail
    ends = [" ".join(tokens[start:end]) for end in range(len(tokens) - 1, 0, -1) for start in range(end)]
    return next((part for part in ends if part in among), None)


def _fold(text: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", text).casefold().replace("_", " ").split())


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
RESPONSE = WordList(
    "response",
    (
        "none seen",
        "colour on swab",
        "gloss change",
        "blanched",
        "swelled",
        "softened",
        "lifted",
        "partly removed",
        "removed",
    ),
    {
        "none": "none seen",
        "no change": "none seen",
        "no effect": "none seen",
        "color on swab": "colour on swab",
        "bloom": "blanched",
        "swollen": "swelled",
        "soft": "softened",
        "dissolved": "removed",
    },
    {
        "ok": "Say what was seen: none seen, or what the coat did.",
        "cleaned": "Say what the coat itself did: none seen, colour on swab, softened …; dirt has a row of its own.",
    },
)
APPLICATION = WordList(
    "application",
    ("spray", "rolled swab", "cloth", "sponge", "rubbed swab", "brush", "tissue", "gel", "poultice", "immersion"),
    {"swab rolled": "rolled swab", "swab rubbed": "rubbed swab"},
    {"swab": "Was the swab rolled (rolled swab) or rubbed (rubbed swab)?"},
)
WETTING_RUBBING = {
    "spray": (1, 0),
    "rolled swab": (1, 1),
    "cloth": (1, 2),
    "sponge": (2, 2),
    "rubbed swab": (2, 3),
    "brush": (3, 3),
    "tissue": (3, 0),
    "gel": (4, 0),
    "poultice": (4, 0),
    "immersion": (5, 0),
}
"""Two ranks of an application: how long it keeps the coat wet, how hard it rubs."""

REACH_OF_ACTION = {
    **dict.fromkeys(("drain", "oil mechanism"), "none"),
    **dict.fromkeys(("operate", "wrap", "move"), "wear"),
    "display outdoors": "exposure",
    **dict.fromkeys(("dust", "dry sponge"), "loose dirt"),
    **dict.fromkeys(
        ("wash", "aqueous", "solvent", "wax", "retouch", "facing", "consolidate", "lay flakes", "gild"), "surface"
    ),
    **dict.fromkeys(
        ("scrape", "abrade", "polish", "heat", "laser", "steam", "reduce corrosion", "fix to", "fill"), "into coats"
    ),
    **dict.fromkeys(("strip", "blast", "dry ice", "electrolytic", "replace", "plate", "weld"), "through"),
    "coat": "adds",
    "dismantle": "opens",
    "other": "other",
}
"""Every action with how far it can reach into the build-up."""
ACTION = WordList(
    "action",
    tuple(REACH_OF_ACTION),
    {
        "dusting": "dust",
        "washing": "wash",
        "solvent cleaning": "solvent",
        "aqueous cleaning": "aqueous",
        "sand": "abrade",
        "sanding": "abrade",
        "flat down": "abrade",
        "grit blast": "blast",
        "shot blast": "blast",
        "sandblast": "blast",
        "hot air": "heat",
        "scalpel": "scrape",
        "varnish": "coat",
        "repaint": "coat",
        "paint": "coat",
        "chrome": "plate",
        "relay flakes": "lay flakes",
        "stripping": "strip",
        "painted": "coat",
        "moved": "move",
        "transport": "move",
        "run": "operate",
        "repainted": "coat",
        "varnished": "coat",
        "dusted": "dust",
        "washed": "wash",
        "waxed": "wax",
        "polished": "polish",
        "retouched": "retouch",
        "touched in": "retouch",
        "consolidated": "consolidate",
        "gilded": "gild",
        "scraped": "scrape",
        "sanded": "abrade",
        "sandblasted": "blast",
        "stripped": "strip",
        "filled": "fill",
        "dismantled": "dismantle",
        "replaced": "replace",
    },
    {
        "clean": "With what: dust, wash, aqueous, solvent or polish?",
        "cleaned": "With what: dust, wash, aqueous, solvent or polish?",
        "wiped": "With what: dust, wash, aqueous or solvent?",
        "restore": "Name each step: what is taken off, with what, and what is put on.",
        "remove": "How: solvent, scrape, abrade, heat, strip …?",
    },
)
AGAINST = WordList("action that advice speaks against, or all", ("all", *ACTION.words), ACTION.aliases, ACTION.asks)
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

YES_NO = WordList("yes or no", ("yes", "no"), {"y": "yes", "n": "no", "true": "yes", "false": "no"})
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
LOOKED_WITH = WordList(
    "what the test was looked at with",
    ("eye", "loupe", "microscope"),
    {"naked eye": "eye", "hand lens": "loupe", "magnifying glass": "loupe", "stereo microscope": "microscope"},
)
FINISH = WordList(
    "how the finish under a test held",
    ("sound", "failing", "laid"),
    {"intact": "sound", "flaking": "failing", "lifting": "failing", "laid down": "laid", "consolidated": "laid"},
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
)
OUTCOME = WordList("outcome", ("done", "partly", "tried and failed"), {"failed": "tried and failed"})
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
