"""The closed lists of words for tests and for work: actions, applications, responses, outcomes.

Common practice, no published source, unless a term carries a thesaurus number in schema/reference.
"""

from __future__ import annotations

from collection.language.word_list import WordList

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
OUTCOME = WordList("outcome", ("done", "partly", "tried and failed"), {"failed": "tried and failed"})
