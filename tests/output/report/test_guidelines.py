"""What guidelines for documentation ask of a report, and where it stands in ours.

The guidelines are given by their number and what they ask for in our words; where only the scope or the names of units were
seen, the item says so by its source. AIC: the Guidelines for Practice of the American Institute for Conservation, with
their commentaries (conservation-us.org; aic.stanford.edu/pubs/coe/history/comment). EN 16095:2012, condition recording for
movable heritage: its scope alone was seen (standards.iteh.ai), not its list of clauses. EN 16085:2012, sampling: its scope.
Spectrum: the units of its groups "object condition and technical assessment" and "conservation and treatment"
(collectionstrust.org.uk; names of units from an older copy of the 4.0 era). Condition words: four steps with the action that
each asks for, a university museum's guide.

Two units of Spectrum have no column: the day of the next check, for which advice and the last day of a temporary measure
stand, and measurements of the environment; the climate in a word is an object's surroundings.
"""

from __future__ import annotations

from typing import Any

import pytest
from told_texts import TITLE, sections_of

ASKED = (
    # AIC 16: examination or testing that could alter the object is justified and recorded.
    ("AIC 16: each test with its place, agent and dwell", "Cleaning tests", "dearomatised white spirit, 30 s, 4 passes"),
    ("AIC 16: why samples were taken where they were", "Samples and sections", "chosen random"),
    # AIC 18: observation apart from interpretation, limits of the method.
    ("AIC 18: observation and interpretation kept apart", "How sure each figure is", "Observed are the coats"),
    ("AIC 18: limits of the methods", "Sources and surveys", "Undersides, roof and plain sides were not or hardly reached"),
    # AIC 21: from no treatment to heavy intervention; preservation first.
    ("AIC 21: advice weighs doing nothing", "Advice in force", "Do not oil the leather again"),
    ("AIC 21: what proposed work would take", "Proposals and decisions", "Destroys body colour, varnish and preparation"),
    # AIC 24 to 28: the documentation block.
    ("AIC 24: identification of the object", TITLE, "OHM-1962-7"),
    ("AIC 24: date of the record", TITLE, "Records as of"),
    ("AIC 25: materials and structure", TITLE, "Ash and deal frame, mahogany panels"),
    ("AIC 25: structure, accessory parts, part by part", "Its parts", "Handrails, brackets and step hangers"),
    ("AIC 25: history", "What was done to it", "Renumbered and enamelled"),
    ("AIC 25: condition", "Condition", "flaking"),
    ("AIC 25: environment", "Advice in force", "Keep the shed door shut"),
    ("AIC 25: purpose of the examination", "Sources and surveys", "The objects of the 2014 survey again"),
    ("AIC 25: methods of the examination", "Sources and surveys", "Raking light and ultraviolet lamp over the whole"),
    ("AIC 25: evidence of earlier treatment, with its reference", "What was done to it", "report: FILE-62"),
    ("AIC 25: materials identified, by technique and whom", "Samples and sections", "SEM-EDX"),
    ("AIC 26: treatment plan with its steps", "Proposals and decisions", "strip at Outer face of the front dash"),
    ("AIC 27: each action dated, with names", "What was done to it", "5 September 2016 to 14 October 2016; by Hanna Varrow"),
    ("AIC 27: what was removed", "What was done to it", "took off Enamel: maroon (0.544 m²)"),
    ("AIC 27: what was added, and what takes it off", "What was done to it", "comes off with water"),
    ("AIC 27: where work departed from the plan or stopped", "What was done to it", "stopped at varnish of Maker's coach finish"),
    ("AIC 27: pictures before, of what was revealed, and after", "Pictures by light", "during work"),
    ("AIC 28: two copies, one with the owner, one with the conservator", "Signature", "One copy stays with"),
    # EN 16095:2012 (scope): a condition report of a single item, with its frame and its status.
    ("EN 16095: who recorded, and when", "Condition", "16 April 2024, Idwal Marrable"),
    ("EN 16095: each phenomenon with place, extent and activity", "Condition", "corrosion under paint"),
    ("EN 16095: picture of the item", TITLE, "left side"),
    ("EN 16085: method, criteria and handling of samples", "Samples and sections", "polyester resin, polished, drawer 7"),
    # Spectrum.
    ("Spectrum: completeness, with its date", "Its parts", "present, 4 March 2014"),
    ("Spectrum: condition, date and note", "Condition", "Blunt blisters low down; not opened"),
    ("Spectrum: conservation treatment priority", "Advice in force", "to be done now"),
    ("Spectrum: technical assessment and its date", "Samples and sections", "cross-section"),
    ("Spectrum: hazard, date and note", "Hazards", "lead in paint"),
    ("Spectrum: reference number of the check", "Sources and surveys", "(H24)"),
    ("Spectrum: recommendations", "Advice in force", "Lay the valance flakes on the right run too"),
    ("Spectrum: audit trail of change, one condition on two days", "Condition", "7 May 2014"),
    ("Spectrum: recall date of a treatment", "What was done to it", "temporary: must come off by June 2015"),
    ("Spectrum: treatment report", "What was done to it", "report: TR-16"),
    ("Spectrum: who treated and who allowed it", "What was done to it", "allowed by Runa Ketteridge"),
    # Condition words: four steps, and what each asks for.
    ("Condition words: how bad, in four steps", "Condition", "severe"),
    ("Condition words: the step at which nothing was found", "Condition", "looked for, none"),
)  # fmt: skip


@pytest.mark.parametrize(("asked", "section", "text"), ASKED, ids=[asked for asked, _, _ in ASKED])
def test_what_a_guideline_asks_for_stands_in_the_report(
    tram: dict[str, Any], asked: str, section: str, text: str
) -> None:
    assert text in sections_of(tram)[section]
