"""What each action does to a coat, in one table.

Common practice, no published source; there is no model of laser and dry ice, so they are untested wherever they reach.
"""

from __future__ import annotations

from typing import Literal

from collection.language.work_words import ACTION, REACH_OF_ACTION

ActionKind = Literal[
    "none", "wear", "exposure", "loose", "contact", "adds", "cut", "heat", "whole", "opens", "no model"
]

_KINDS: dict[str, ActionKind] = {
    "wash": "contact",
    "aqueous": "contact",
    "solvent": "contact",
    "wax": "adds",
    "retouch": "adds",
    "facing": "adds",
    "consolidate": "adds",
    "lay flakes": "adds",
    "gild": "adds",
    "coat": "adds",
    "fill": "adds",
    "scrape": "cut",
    "abrade": "cut",
    "polish": "cut",
    "heat": "heat",
    "steam": "heat",
    "laser": "no model",
    "reduce corrosion": "no model",
    "dry ice": "no model",
    "other": "no model",
    "strip": "whole",
    "blast": "whole",
    "electrolytic": "whole",
    "replace": "whole",
    "plate": "whole",
    "weld": "whole",
    "dismantle": "opens",
    "fix to": "opens",
}
_BY_REACH: dict[str, ActionKind] = {"none": "none", "loose dirt": "loose", "wear": "wear", "exposure": "exposure"}

KIND_OF_ACTION: dict[str, ActionKind] = {
    action: _BY_REACH.get(REACH_OF_ACTION[action]) or _KINDS[action] for action in ACTION.words
}
"""What an action does to a coat; `none` never touches one."""

ON_THE_SURFACE = frozenset({"loose", "wear", "exposure"})
"""Kinds that reach only what lies open: they end no test and touch no reserve."""
CLEANING_OR_COATING = frozenset(
    a for a, kind in KIND_OF_ACTION.items() if kind not in {"none", "opens", *ON_THE_SURFACE}
)
"""Work that changes a coat, so that tests made before it no longer clear."""
OPENS = frozenset({"dismantle", "fix to", "fill"})
"""Work that breaks unbroken paint over joints and screws."""
LAYS = frozenset({"consolidate", "lay flakes"})
"""Work after which failing finish may hold."""
SECURES = LAYS | {"facing"}
"""Work meant for failing finish: judged by tests on failing finish."""
GENTLE = frozenset({"wrap", "move"})
"""Wear that sound finish is assumed to stand."""
NEVER_MASKED = frozenset({"replace", "electrolytic", "heat", "steam"})
"""Work that no mask can keep off a place; the same is true of immersion, wear and exposure."""
