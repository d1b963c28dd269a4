"""What is known about the dangers of a proposal's liquids and of the object. Facts and cautions only.

No figure here is a permission, and none says that something is harmless to people; what is not recorded is listed as
missing. Safety data sheets, local rules and licensed practice decide.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from collection.compute.build_up.places import places_of
from collection.compute.case import Case
from collection.language.cautions import cautions
from collection.language.sentences import ended
from collection.records.facts import ProposalFacts, current, surely_in_state
from collection.values import agents
from collection.values.limits import Limit, limits_of
from collection.values.reference import Reference, Solvent

LEAD = (
    "Paint of at least 1.0 mg/cm² or 0.5 % lead by weight counts as lead-based in the United States (40 CFR 745); "
    "in the air of a workplace there the limit is 50 µg/m³ over 8 hours, with action from 30 µg/m³ (29 CFR "
    "1926.62)."
)
HEAT_GUN = (
    "Heat guns above 593 °C (1,100 °F) are forbidden on such paint there (40 CFR 745): a legal limit, "
    "below which lead can still come off as fume."
)
H_WORDS = {
    "H224": "extremely flammable liquid and vapour",
    "H225": "highly flammable liquid and vapour",
    "H226": "flammable liquid and vapour",
    "H302": "harmful if swallowed",
    "H304": "may be fatal if swallowed and enters airways",
    "H312": "harmful in contact with skin",
    "H315": "irritates skin",
    "H317": "may cause an allergic skin reaction",
    "H318": "serious eye damage",
    "H319": "serious eye irritation",
    "H332": "harmful if inhaled",
    "H335": "may irritate the airways",
    "H336": "may cause drowsiness or dizziness",
    "H351": "suspected of causing cancer",
    "H360D": "may damage the unborn child",
    "H361d": "suspected of damaging the unborn child",
    "H372": "damages organs by long exposure",
    "H373": "may damage organs by long exposure",
    "H410": "very toxic to life in water, lasting",
    "H411": "toxic to life in water, lasting",
    "EUH066": "repeated contact dries and cracks skin",
}
"""The hazard statements (GHS, Annex 3) in short, from memory: the data sheet has the exact wording."""
KNOWN_DANGERS = {
    "asbestos": "Asbestos: leave it alone and closed; only licensed people may remove it.",
    "fuel": "Old fuel: vapour may burn or burst; have tank and lines emptied and checked by someone licensed first.",
    "radium": "Luminous paint may hold radium, whatever its glow: measure first, no dust, no wet work on it.",
    "luminous": "Luminous paint may hold radium, whatever its glow: measure first, no dust, no wet work on it.",
    "mercury": "Mercury or vermilion: no heat, no dust; have spills taken up by someone trained.",
    "cellulose nitrate": "Cellulose nitrate carries its own oxygen and burns without air: no heat, sparks or flames.",
    "arsenic": "Arsenic: no dust, gloves, and have it analysed before it is worked on.",
}
"""What is usual where a hazard's text names one of these. Common practice, no published source."""
HAZARD_WORDS = (*KNOWN_DANGERS, "lead", "mould", "mold")
"""Words that are worth a second look where a list has them and no record does. Common practice, no published source."""


@dataclass(frozen=True, slots=True)
class LiquidSafety:
    """One liquid of the proposal: `used_as` says what for, `missing` what the tables do not have."""

    name: str
    used_as: tuple[str, ...]
    row: Solvent | None
    limits: tuple[Limit, ...]
    missing: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        row = self.row
        return {
            "liquid": self.name,
            "used_as": list(self.used_as),
            "flash_c": row and row.flash,
            "lower_limit_pct": row and row.lower_limit,
            "upper_limit_pct": row and row.upper_limit,
            "fire_source": row and row.fire_source,
            "h_statements": list(row.h_statements) if row else [],
            "h_source": row and row.h_source,
            "limits": [
                {
                    "body": each.body,
                    "year": each.year,
                    "kind": each.kind,
                    "value": each.value,
                    "unit": each.unit,
                    "source": each.source,
                    "status": each.status,
                }
                for each in self.limits
            ],
            "missing": list(self.missing),
        }


@dataclass(frozen=True, slots=True)
class Safety:
    """A proposal's liquids and additives, the dangers on the object, and the cautions that belong to the work."""

    proposal: str
    liquids: tuple[LiquidSafety, ...]
    additives: tuple[str, ...]
    dangers: tuple[str, ...]
    cautions: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        return {
            "format": 1,
            "proposal": self.proposal,
            "liquids": [each.as_json() for each in self.liquids],
            "additives": list(self.additives),
            "dangers": list(self.dangers),
            "cautions": list(self.cautions),
        }


def liquid_safety(name: str, used_as: tuple[str, ...], reference: Reference) -> LiquidSafety:
    """What the tables say about one liquid, and what they lack; a white spirit with a stated share counts as white
    spirit."""
    row = reference.solvents.find(name)
    if row is None:
        return LiquidSafety(name, used_as, None, (), ("everything: the solvent table does not have this liquid",))
    found = limits_of(name) or limits_of(row.family)
    missing = [
        text
        for text, there in (
            ("flash point", row.flash is not None),
            ("limits of flammability", row.lower_limit is not None),
            ("exposure limits", bool(found)),
            ("hazard statements", bool(row.h_statements)),
        )
        if not there
    ]
    return LiquidSafety(name, used_as, row, found, tuple(missing) if name != agents.WATER else ())


def safety(case: Case, proposal: ProposalFacts) -> Safety:
    """The facts for a proposal: its liquids by name, in the order of the steps, including those that stop another
    liquid or take a coat off again."""
    used: dict[str, list[str]] = {}
    additives: list[str] = []
    for step in proposal.steps:
        for text, purpose in (
            (step.agent, f"step {step.step}, {step.action}"),
            (step.arrest_with, f"step {step.step}, to stop it"),
            (step.removable_with, f"step {step.step}, to take it off again"),
        ):
            if text is None:
                continue
            agent = agents.parse(text, case.reference.solvents)
            for name, _ in agent.liquids:
                used.setdefault(name, []).append(purpose)
            additives += [f"{name} ({purpose})" for name, _ in agent.additives]
    head = proposal.proposal
    return Safety(
        f"{head.object}/{head.proposal}",
        tuple(liquid_safety(name, tuple(dict.fromkeys(why)), case.reference) for name, why in used.items()),
        tuple(dict.fromkeys(additives)),
        tuple(_dangers(case, proposal)),
        cautions([s.action for s in proposal.steps], [s.agent for s in proposal.steps]),
    )


def _dangers(case: Case, proposal: ProposalFacts) -> list[str]:
    """The newest state of the dangers on the parts touched and on the object as a whole; then what analyses say about
    lead."""
    places = places_of(case)
    parts = {places.component_of(place) for step in proposal.steps for place in places.within(step.place)}
    gone = surely_in_state(case.facts.hazards, "hazard", "status", ("not found",))
    found, texts = [], []
    for code, hazard in sorted(current(case.facts.hazards, "hazard").items()):
        if code in gone or not (hazard.component is None or hazard.component in parts or None in parts):
            continue
        texts.append(hazard.kind.casefold())
        found.append(f"{hazard.kind} ({hazard.status}{f', {hazard.component}' if hazard.component else ''})")
        found += [caution for word, caution in KNOWN_DANGERS.items() if word in hazard.kind.casefold()]
    leaded = [a for a in case.facts.analyses if "lead" in f"{a.material or ''} {a.result}".casefold()]
    texts += ["lead" for _ in leaded]
    found += [f"{ended(a.result)} (analysis {a.analysis}{f', {a.place}' if a.place else ''})" for a in leaded]
    if any(layer.binder == "cellulose nitrate" for layer in case.facts.layers):
        found.append(KNOWN_DANGERS["cellulose nitrate"])
    if not any("lead" in text for text in texts):
        found.append("Lead is suspected in every coat that was not analysed for it.")
    found.append(LEAD)
    if any(step.action in ("heat", "steam", "weld") for step in proposal.steps):
        found.append(HEAT_GUN)
    return list(dict.fromkeys(found))
