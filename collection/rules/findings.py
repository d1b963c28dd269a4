"""What the rules say, as data: findings, the losses they add up to, and requirements."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from collection.language.sentences import counted, ended
from collection.language.words import SEVERITY_RANK
from collection.records.policy import Interval
from collection.values.numbers import six
from collection.values.spoken_dates import in_words

Evidence = tuple[tuple[str, str], ...]
"""Pairs of sheet and key."""
SPOTS_ALONE = "spots alone do not clear a place"


@dataclass(frozen=True, slots=True)
class Looked:
    """What is known about something that was looked for in a place and not found: at how many of the spots read it was
    missing, and the largest share of the place that could still have it (None = points say nothing about that). No spot
    read: a record says that it was taken off. `of_found`: other coats of its finish were found here, and the spots are
    theirs; `prepared_only`: only its preparation was."""

    missing: int
    read: int
    most: float | None = None
    of_found: bool = False
    prepared_only: bool = False

    def sentence(self) -> str:
        """Counts first, then how much may be there."""
        if self.prepared_only:
            return "Only its preparation was found; what stood on it may be left elsewhere here: look first."
        if not self.read:
            return "Recorded as taken off, and not looked for since; some of it usually remains."
        if self.of_found:
            seen = f"{self.read - self.missing} of {counted(self.read, 'spot')}"
            return f"Its finish was found at {seen} here, but not this coat of it so far; {SPOTS_ALONE}: look first."
        counts = f"Not found at {self.missing} of {counted(self.read, 'spot')}"
        if self.most is None:
            return f"{counts}; {SPOTS_ALONE}: look first."
        return f"{counts}; up to {100 * self.most:.0f} % of the place could still have it: look first."

    def brief(self) -> str:
        """The same in a few words; empty where other coats of its finish were found."""
        if not self.read:
            return "recorded as taken off, not looked for since"
        if self.of_found:
            return ""
        most = "" if self.most is None else f", up to {100 * self.most:.0f} %"
        return f"missing at {self.missing} of {counted(self.read, 'spot')}{most}"


@dataclass(frozen=True, slots=True)
class Objection:
    """Advice in force, in its author's words, and the steps that it is against; empty where it does not say."""

    advice: str
    what: str
    given_by: str | None
    given_on: str
    why: str | None
    steps: tuple[int, ...]
    place: str | None

    def said(self) -> str:
        """The author's words, with name and date."""
        by = f"{self.given_by}, {in_words(self.given_on)}" if self.given_by else in_words(self.given_on)
        return f"{ended(self.what)}{f' {ended(self.why)}' if self.why else ''} ({by}, {self.advice})"

    def as_json(self) -> dict[str, Any]:
        return {
            "advice": self.advice,
            "what": self.what,
            "given_by": self.given_by,
            "given_on": self.given_on,
            "why": self.why,
            "steps": list(self.steps),
            "place": self.place,
        }


@dataclass(frozen=True, slots=True)
class Finding:
    """What one rule says about one step, place and kept thing.

    `message` is the whole sentence. `why` is the reason alone, without the step and without what is known about a thing
    that was not found (`looked`), so that equal reasons can be written once.
    """

    rule: str
    severity: str
    step: int | None
    place: str
    thing: str
    scheme: str | None
    role: str | None
    decoration: str | None
    share: Interval | None
    message: str
    reference: str | None = None
    remedy: str | None = None
    evidence: Evidence = ()
    why: str | None = None
    looked: Looked | None = None

    @property
    def id(self) -> str:
        return f"{self.rule}:{self.step or 0}:{self.place}/{self.thing}"

    def as_json(self) -> dict[str, Any]:
        return {
            "id": self.id,
            "rule": self.rule,
            "severity": self.severity,
            "step": self.step,
            "place": self.place,
            "scheme": self.scheme,
            "role": self.role,
            "decoration": self.decoration,
            "share": interval(self.share),
            "message": self.message,
            "reference": self.reference,
            "remedy": self.remedy,
            "evidence": evidence_json(self.evidence),
        }


@dataclass(frozen=True, slots=True)
class Loss:
    """One kept thing in one place that the proposal would or might take: the unit people read; `causes` are the
    findings of the same severity, in the order of the steps."""

    place: str
    thing: str
    scheme: str | None
    role: str | None
    decoration: str | None
    severity: str
    steps: tuple[int, ...]
    share: Interval | None
    area_m2: Interval | None
    message: str
    would_change_it: str | None
    if_nothing_is_done: str | None
    intended: bool
    evidence: Evidence
    causes: tuple[Finding, ...] = ()

    @property
    def id(self) -> str:
        return f"{self.place}/{self.thing}"

    def as_json(self) -> dict[str, Any]:
        return {
            "id": self.id,
            "place": self.place,
            "scheme": self.scheme,
            "role": self.role,
            "decoration": self.decoration,
            "severity": self.severity,
            "steps": list(self.steps),
            "share": interval(self.share),
            "area_m2": interval(self.area_m2),
            "message": self.message,
            "would_change_it": self.would_change_it,
            "if_nothing_is_done": self.if_nothing_is_done,
            "intended": self.intended,
            "evidence": evidence_json(self.evidence),
        }


@dataclass(frozen=True, slots=True)
class Requirement:
    """Something that has to be true before approval, or before work."""

    rule: str
    when: Literal["approval", "work"]
    met: bool
    place: str | None
    message: str
    reference: str | None = None
    remedy: str | None = None
    subject: str | None = None

    @property
    def id(self) -> str:
        return ":".join(part for part in (self.rule, self.place, self.subject) if part)

    def as_json(self) -> dict[str, Any]:
        return {
            "id": self.id,
            "rule": self.rule,
            "when": self.when,
            "state": "met" if self.met else "open",
            "place": self.place,
            "message": self.message,
            "reference": self.reference,
            "remedy": self.remedy,
        }


@dataclass(frozen=True, slots=True)
class Assessment:
    """Everything the rules say about one proposal; areas in m², shares in 0–1, intervals [low, middle, high]. `advice`
    is against it; `advice_beside` is in force there but does not say what work it is against."""

    proposal: str
    policy: str
    inputs_sha256: str
    outcome: str
    surviving_m2: Interval | None
    loss_m2: Interval | None
    loss_share: Interval | None
    intended_m2: Interval | None
    unmeasured_places: int
    losses: tuple[Loss, ...]
    requirements: tuple[Requirement, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...]
    advice: tuple[Objection, ...] = ()
    advice_beside: tuple[Objection, ...] = ()

    @property
    def open_before_approval(self) -> tuple[Requirement, ...]:
        return tuple(r for r in self.requirements if r.when == "approval" and not r.met)

    @property
    def warns(self) -> bool:
        """Whether somebody has to look at it before the work goes on."""
        return SEVERITY_RANK[self.outcome] >= SEVERITY_RANK["untested"] or bool(self.open_before_approval)

    def as_json(self) -> dict[str, Any]:
        return {
            "format": 1,
            "advice": [row.as_json() for row in self.advice],
            "advice_beside": [row.as_json() for row in self.advice_beside],
            "proposal": self.proposal,
            "policy": self.policy,
            "inputs_sha256": self.inputs_sha256,
            "outcome": self.outcome,
            "surviving_m2": interval(self.surviving_m2),
            "loss_m2": interval(self.loss_m2),
            "loss_share": interval(self.loss_share),
            "intended_m2": interval(self.intended_m2),
            "unmeasured_places": self.unmeasured_places,
            "losses": [loss.as_json() for loss in self.losses],
            "requirements": [r.as_json() for r in self.requirements],
            "findings": [f.as_json() for f in self.findings],
            "cautions": list(self.cautions),
        }


def interval(span: Interval | None) -> list[float] | None:
    return None if span is None else [six(value) for value in span]


def evidence_json(evidence: Evidence) -> list[dict[str, str]]:
    return [{"kind": kind, "key": key} for kind, key in evidence]
