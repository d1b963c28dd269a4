"""What a workshop calls the liquids of the solvent table, and which it has for the same work.

Common practice, no published source.
"""

from __future__ import annotations

_THINNERS = ("thinners", frozenset({"toluene", "xylene", "butanone", "ethyl acetate", "n-butyl acetate"}))
_STRIPPER = ("paint stripper", frozenset({"dichloromethane", "benzyl alcohol", "n-methyl-2-pyrrolidone"}))
_SPIRIT = ("methylated spirit", frozenset({"ethanol", "industrial methylated spirit", "denatured alcohol"}))
_WHITE = ("white spirit", frozenset({"white spirit", "dearomatised white spirit", "odourless mineral spirits"}))
KINDS: tuple[tuple[frozenset[str], tuple[tuple[str, frozenset[str]], ...]], ...] = (
    (
        frozenset(
            {
                "acetone", "butanone", "methyl isobutyl ketone", "cyclohexanone", "diacetone alcohol", "ethyl acetate",
                "n-butyl acetate", "n-amyl acetate", "ethyl lactate",
            }
        ),
        (_THINNERS, _STRIPPER),
    ),
    (
        frozenset(
            {
                "ethanol", "methanol", "industrial methylated spirit", "denatured alcohol", "1-propanol", "2-propanol",
                "1-butanol",
            }
        ),
        (_SPIRIT,),
    ),
    (frozenset({"toluene", "xylene", "o-xylene", "m-xylene", "p-xylene", "benzene"}), (_THINNERS, _STRIPPER)),
    (_STRIPPER[1] | {"chloroform", "dimethylformamide", "dimethyl sulfoxide", "tetrahydrofuran"}, (_STRIPPER,)),
    (
        _WHITE[1]
        | {
            "turpentine", "alpha-pinene", "d-limonene", "isooctane", "cyclohexane", "n-hexane", "n-heptane", "kerosene",
            "n-dodecane", "petroleum spirit", "petroleum spirit 40-60", "petroleum spirit 60-80",
            "petroleum spirit 80-100", "petroleum spirit 100-120",
        },
        (_WHITE, ("turpentine", frozenset({"turpentine"}))),
    ),
)  # fmt: skip
"""Liquids of a kind, and by what else a workshop has them: a name with the liquids that it may be."""
SPOKEN = {
    "ethanol": "alcohol",
    "2-propanol": "isopropyl alcohol",
    "denatured alcohol": "methylated spirit",
    "industrial methylated spirit": "methylated spirit",
    "dichloromethane": "paint stripper",
}
