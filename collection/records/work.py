"""The sheets of work: what was done, what somebody recommended, what somebody wants to do."""

from __future__ import annotations

from collection.language import words, work_words
from collection.records import columns as c
from collection.records.row import Evidence


class Treatment(Evidence, sheet="treatments", key=("object", "treatment")):
    """What was done or tried."""

    object: str = c.code("the object", required=True, to="objects")
    treatment: str = c.code("the treatment's code", required=True)
    purpose: str = c.text("what for", required=True)
    started: str | None = c.date("first day")
    ended: str | None = c.date("last day")
    treated_by: str | None = c.person("by whom")
    authorised_by: str | None = c.person("who allowed it")
    proposal: str | None = c.code("the proposal it carried out", to="proposals")
    outcome: str | None = c.word(work_words.OUTCOME, "how it came out; blank = done as far as anyone knows")
    temporary_until: str | None = c.date("when a temporary measure must come off")
    report: str | None = c.text("where its report is")


class TreatmentStep(Evidence, sheet="treatment_steps", key=("object", "treatment", "step")):
    """One step of a treatment: where, with what, what was removed, where it stopped, what was added."""

    object: str = c.code("the object", required=True, to="objects")
    treatment: str = c.code("the treatment", required=True, to="treatments")
    step: int = c.integer("its place in the order", required=True, low=1, high=9999)
    place: str = c.code("where", required=True, to="place")
    action: str = c.word(work_words.ACTION, "what was done", required=True)
    agent: str | None = c.agent("with what")
    ph: float | None = c.number("pH", "acidity of an aqueous agent", low=0, high=14)
    conductivity_mscm: float | None = c.number("mS/cm", "conductivity of an aqueous agent", low=0, high=1000)
    application: str | None = c.word(work_words.APPLICATION, "how it was applied")
    dwell_s: float | None = c.number("s", "how long it stayed", low=0, high=1e7)
    passes: int | None = c.integer("how often", low=1, high=10_000)
    temperature_c: float | None = c.number("°C", "temperature", low=-50, high=1000)
    arrested_with: str | None = c.agent("what stopped it")
    depth_um: float | None = c.number("µm", "how deep it cut", low=0, high=1e6)
    removed: str | None = c.coat("the scheme, or scheme/role, that was taken off")
    removed_m2: float | None = c.number("m2", "how much surface it was taken off from", low=0, high=1e6)
    stopped_at: str | None = c.coat("the scheme, or scheme/role, at which it stopped")
    adds: str | None = c.text("what was put on")
    adds_binder: str | None = c.word(words.BINDER, "its binder")
    gloss_after_gu: float | None = c.number("GU at 60°", "its gloss afterwards (ISO 2813)", low=0, high=2000)
    removable_with: str | None = c.agent("what takes it off again")
    area_m2: float | None = c.number("m2", "how much surface was worked on", low=0, high=1e6)
    outcome: str | None = c.word(work_words.OUTCOME, "how this step came out; blank = as the treatment did")
    hours: float | None = c.number("h", "how long it took", low=0, high=1e6)


class Advice(Evidence, sheet="advice", key=("object", "advice")):
    """What somebody recommended, whether or not it was ever done."""

    object: str = c.code("the object", required=True, to="objects")
    advice: str = c.code("the advice's code", required=True)
    what: str = c.text("what was recommended", required=True)
    given_on: str = c.date("when", required=True)
    place: str | None = c.code("where", to="place")
    given_by: str | None = c.person("by whom")
    why: str | None = c.text("the reason given for it")
    priority: str | None = c.word(words.PRIORITY, "how soon")
    done_by: str | None = c.code("the treatment that followed it", to="treatments")
    against: str | None = c.listed(
        "the actions that it speaks against, or `all`; blank = none", words=work_words.AGAINST
    )
    until: str | None = c.date("the last day it holds; blank = until it is replaced")
    replaced_by: str | None = c.code("the advice that took its place", to="advice")


class Proposal(Evidence, sheet="proposals", key=("object", "proposal")):
    """Work somebody wants to do."""

    object: str = c.code("the object", required=True, to="objects")
    proposal: str = c.code("the proposal's code", required=True)
    title: str = c.text("what it is", required=True)
    proposed_by: str = c.person("by whom", required=True)
    proposed_on: str = c.date("when", required=True)
    purpose: str | None = c.text("what for")
    planned_for: str | None = c.date("when the work is planned")
    instead_of: str | None = c.code("the proposal it replaces", to="proposals")
    permission: str | None = c.text("the owner's permission, or where it is kept")


class ProposalStep(Evidence, sheet="proposal_steps", key=("object", "proposal", "step")):
    """One ordered step of a proposal."""

    object: str = c.code("the object", required=True, to="objects")
    proposal: str = c.code("the proposal", required=True, to="proposals")
    step: int = c.integer("its place in the order", required=True, low=1, high=9999)
    place: str = c.code("where", required=True, to="place")
    action: str = c.word(work_words.ACTION, "what would be done", required=True)
    agent: str | None = c.agent("with what")
    ph: float | None = c.number("pH", "acidity of an aqueous agent", low=0, high=14)
    conductivity_mscm: float | None = c.number("mS/cm", "conductivity of an aqueous agent", low=0, high=1000)
    application: str | None = c.word(work_words.APPLICATION, "how it is applied")
    dwell_s: float | None = c.number("s", "how long it stays", low=0, high=1e7)
    passes: int | None = c.integer("how often", low=1, high=10_000)
    temperature_c: float | None = c.number("°C", "temperature", low=-50, high=1000)
    depth_um: float | None = c.number("µm", "how deep it cuts", low=0, high=1e6)
    depth_sd_um: float | None = c.number("µm", "how much the depth varies", low=0, high=1e6)
    removes: str | None = c.coat("the scheme, or scheme/role, it is meant to take off")
    stop_at: str | None = c.coat("the scheme, or scheme/role, it is meant to stop at")
    arrest_with: str | None = c.agent("what stops it")
    adds: str | None = c.text("what is put on")
    adds_binder: str | None = c.word(words.BINDER, "its binder")
    adds_gloss_gu: float | None = c.number("GU at 60°", "its gloss", low=0, high=2000)
    removable_with: str | None = c.agent("what takes it off again")
    spares: str | None = c.listed("reserves and smaller places that are masked or left out", to="spared")
    area_m2: float | None = c.number("m2", "how much surface, where it is only part of the place", low=0, high=1e6)
