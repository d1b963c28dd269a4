"""One table that says of every action what it is to a coat.

Common practice, no published source; the effect of heat, laser and steam has no model yet, so they are
untested wherever they reach.
"""

from __future__ import annotations

from typing import Literal

from collection.words import ACTION, REACH_OF_ACTION

ActionKind = Literal["none", "contact", "adds", "cut", "heat", "whole", "opens", "no model"]

_KINDS: dict[str, ActionKind] = {
    "wash": "contact", "aqueous": "contact", "solvent": "contact",
    "wax": "adds", "retouch": "adds", "facing": "adds", "consolidate": "adds", "lay flakes": "adds",
    "gild": "adds", "coat": "adds", "fill": "adds",
    "scrape": "cut", "abrade": "cut", "polish": "cut",
    "heat": "heat", "steam": "heat",
    "laser": "no model", "reduce corrosion": "no model", "fix to": "no model", "dry ice": "no model",
    "other": "no model",
    "strip": "whole", "blast": "whole", "electrolytic": "whole", "replace": "whole", "plate": "whole",
    "weld": "whole",
    "dismantle": "opens",
}

KIND_OF_ACTION: dict[str, ActionKind] = {
    action: "none" if REACH_OF_ACTION[action] in ("none", "loose dirt", "wear", "exposure") else _KINDS[action]
    for action in ACTION.words
}
"""What an action does to a coat; `none` never touches one."""

CLEANING_OR_COATING = frozenset(a for a, kind in KIND_OF_ACTION.items() if kind not in ("none", "opens"))
"""Work that leaves a coat other than it was when it was tested, so that the test no longer clears."""
