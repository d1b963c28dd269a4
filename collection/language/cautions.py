"""The usual cautions, in one place; every text that names an agent or a dusty or hot job gives them.

They defer to safety data sheets, local codes and licensed practice, and permit nothing.
"""

from __future__ import annotations

from collections.abc import Iterable

SOLVENT = (
    "Solvents and other agents can poison and burn: read their safety data sheets, ventilate, wear the "
    "gloves they name, keep flames away, and follow local codes and licensed practice."
)
DUST = (
    "Scraping, abrading, blasting or heating old paint can free lead: treat paint as leaded until it is "
    "analysed, and follow local codes and licensed practice."
)
HEAT = (
    "Heat can free lead fume, set fire to what lies behind, and make cellulose nitrate burn by itself: follow "
    "local codes and licensed practice."
)

_WET = frozenset(
    {"wash", "aqueous", "solvent", "wax", "retouch", "facing", "consolidate", "lay flakes", "gild", "coat", "fill"}
)
_DUSTY = frozenset(
    {
        "scrape",
        "abrade",
        "polish",
        "strip",
        "blast",
        "dry ice",
        "laser",
        "reduce corrosion",
        "replace",
        "plate",
        "weld",
        "electrolytic",
        "heat",
        "steam",
        "fix to",
        "other",
    }
)
_HOT = frozenset({"heat", "steam", "weld", "laser"})


def cautions(actions: Iterable[str], agents: Iterable[str | None] = ()) -> tuple[str, ...]:
    """The cautions that belong to some actions and agents, each once."""
    done = set(actions)
    wet = bool(done & _WET) or any(agents)
    return (SOLVENT,) * wet + (DUST,) * bool(done & _DUSTY) + (HEAT,) * bool(done & _HOT)
