"""Whether a harmless test clears a step on a coat; if it does not, what it lacks, as advice."""

from __future__ import annotations

from dataclasses import dataclass, field

from collection.compute.build_up.coats import Coat
from collection.compute.effects.relations import Related
from collection.compute.effects.trials import Trial, surely_as_harsh
from collection.compute.effects.work import Work
from collection.records.policy import Policy
from collection.values import agents, dates
from collection.values.spoken_dates import in_words


@dataclass(frozen=True, slots=True)
class Contact:
    """A step that wets one coat: `related` are the trials that say anything about the coat, `own` those of the coat
    itself or of one that the records do not tell apart from it; `on_failing` where only tests on failing finish may
    clear."""

    work: Work
    coat: Coat
    related: Related
    on_failing: bool = False
    own: tuple[Trial, ...] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "own", tuple(trial for how, trial in self.related if how != "alarm"))

    def is_wet(self, trial: Trial) -> bool:
        """Whether the step or a trial brings water, so that pH and conductivity count between them."""
        agent = self.work.agent
        return trial.agent.aqueous or (agent is not None and agent.aqueous)


def lacking(contact: Contact, trial: Trial, *, to_clear: bool = True) -> tuple[int, str] | None:
    """How near a test comes to clearing, and what it lacks, as advice; None where it lacks nothing.

    With `to_clear` False, what keeps it from turning a harsher effect into a limit; for that, a mixture with no more of
    the liquids that act is good enough.
    """
    work, agent = contact.work, contact.work.agent
    assert agent is not None
    if trial.agent.several or agent.several:
        return 1, "name the exact liquid: names such as white spirit stand for several"
    if not (
        agents.agent_clears(trial.agent, agent, work.case.reference.spheres_of(contact.coat.binders))
        or (not to_clear and agents.holds_no_more(trial.agent, agent))
    ):
        return 0, f"one test of {agent.text} on this coat"
    if not surely_as_harsh(trial.conditions, work.conditions, aqueous=contact.is_wet(trial), policy=work.case.policy):
        missing = [
            name
            for name in ("dwell_s", "application", *(("ph",) if agent.aqueous else ()))
            if getattr(trial.test, name) is None
        ]
        if missing:
            return 2, f"state {' and '.join(missing)} of test {trial.test.test}"
        return 2, (
            f"one test at least as harsh as planned ({trial.test.test} was milder, or the step leaves its "
            "conditions blank)"
        )
    if contact.on_failing and trial.test.finish != "failing":
        return 3, (
            f"one test of {agent.text} on the failing finish ({trial.test.test} was made on sound finish, or does not say)"
        )
    overtaken = why_it_no_longer_clears(trial, work.day, work.case.policy)
    return None if overtaken is None else (4, overtaken)


def why_it_no_longer_clears(trial: Trial, on_day: str | None, policy: Policy) -> str | None:
    """Why a harmless test no longer clears on a day, as advice: judged only wet, changed by later work, too old."""
    test = trial.test
    if test.after_drying == "no":
        return f"look at the spot of {test.test} again dry: it was judged only wet"
    if trial.ended_by is not None:
        return f"test again: {trial.ended_by} changed the surface after {test.test}, or their dates may overlap"
    oldest, day = dates.bounds(test.tested_on).earliest, dates.bounds(on_day).latest
    years = int(day[:4]) - int(oldest[:4])
    if years > policy.clearing_years:
        if not test.tested_on:
            return f"date {test.test}: it may be over {policy.clearing_years:g} years old"
        return (
            f"test again: {test.test} of {in_words(test.tested_on)} is {years} years old, and a test clears for "
            f"{policy.clearing_years:g}"
        )
    return None
