"""An assessment as text: first what a curator reads in twenty seconds, then the detail."""

from __future__ import annotations

import textwrap

from collection.cli.text.losses import asked_once, by_step, instead_of, worst_of
from collection.language.sentences import counted, steps_of, taken
from collection.language.words import SEVERITY_SPOKEN as SPOKEN
from collection.language.words import SHEET_NAMES
from collection.records.facts import Facts, ProposalFacts
from collection.rules.advice import ANSWERED
from collection.rules.effect import AT_REST
from collection.rules.findings import Assessment, Loss

WIDTH = 100


def assessment(facts: Facts, proposal: ProposalFacts, found: Assessment) -> str:
    """Advice against it and what is needed to decide, in some ten lines; then what is lost, step by step, and what has
    to be true first."""
    lines = [wrap(f"Advice against {steps_of(row.steps)}: {row.said()}") for row in found.advice]
    lines += [
        wrap(f"{found.proposal}: {SPOKEN[found.outcome].upper()}  {proposal.proposal.title}"),
        *_in_short(facts, found),
    ]
    lines += [wrap(line.text, "  " * line.indent) if line.text else "" for line in by_step(facts, proposal, found)]
    lines += _if_nothing_is_done(found)
    if found.advice_beside:
        lines += ["", "Other advice for these places:", *(wrap(row.said(), "  ") for row in found.advice_beside)]
    for when, title in (("approval", "Before approval"), ("work", "Before work")):
        open_ones = [r for r in found.requirements if r.when == when and not r.met]
        if open_ones:
            lines += ["", f"{title}:", *(wrap(f"[ ] {said}", "  ") for said in asked_once(open_ones))]
        if when == "approval":
            lines += [wrap(f"[x] {r.message}", "  ") for r in found.requirements if r.rule == ANSWERED and r.met]
    if found.cautions:
        lines += ["", *(wrap(f"Caution: {text}") for text in found.cautions)]
    return "\n".join(lines)


def _in_short(facts: Facts, found: Assessment) -> list[str]:
    """How much is lost, what is worst, what to do instead, what is open."""
    if found.outcome == "clear":
        lines = ["By the records, this work can reach nothing that is kept."]
    else:
        said = taken(found.outcome, found.loss_m2, found.loss_share, found.unmeasured_places)
        count = sum(loss.severity in ("destroys", "endangers", "untested") for loss in found.losses)
        at_stake = f"{counted(count, 'kept thing')} at stake." if count else "What is kept in its reach stood the test."
        lines = [wrap(f"{said}. {at_stake}" if said else at_stake)]
    worst, instead = worst_of(facts, found), instead_of(found)
    waiting = dict.fromkeys(r.rule for r in found.open_before_approval)
    lines += [
        wrap(text, "  ")
        for text in (
            worst,
            instead and f"Instead: {instead}",
            waiting and f"Open before approval: {', '.join(waiting)}.",
        )
        if text
    ]
    return lines


def _if_nothing_is_done(found: Assessment) -> list[str]:
    shown = [loss for loss in found.losses if loss.severity != "stood" and loss.if_nothing_is_done]
    said: dict[str, dict[str, None]] = {}
    for loss in shown:
        said.setdefault(loss.if_nothing_is_done or "", {})[loss.place] = None
    rest = said.pop(AT_REST, {})
    lines = [wrap(f"{', '.join(places)}: {text}", "  ") for text, places in said.items()]
    if lines:
        return ["", "If nothing is done", *lines, *(["  Elsewhere nothing recorded is getting worse."] if rest else [])]
    return ["", f"If nothing is done: {AT_REST[0].lower()}{AT_REST[1:]}"] if rest else []


def one_line(found: Assessment, title: str, decided: str) -> str:
    """One proposal in a list: its key, outcome, title, losses and open requirements."""
    count = sum(loss.severity == found.outcome for loss in found.losses)
    waiting = found.open_before_approval
    parts = [f"{SPOKEN[found.outcome].upper():15} {found.proposal}  {title}"]
    if count and found.outcome not in ("clear", "stood"):
        parts.append(counted(count, "loss", "losses"))
    if waiting:
        parts.append(f"{len(waiting)} open before approval")
    return wrap("; ".join([*parts, *([decided] if decided else [])]))


def _loss(loss: Loss) -> list[str]:
    meant = " (intended)" if loss.intended else ""
    lines = [wrap(f"{SPOKEN[loss.severity].upper()}  {loss.id}{meant}: {loss.message}")]
    if loss.evidence:
        shown = ", ".join(f"{SHEET_NAMES[kind]} {key}" for kind, key in loss.evidence[:8])
        lines.append(wrap(f"Evidence: {shown}.", "    "))
    if loss.would_change_it:
        lines.append(wrap(f"Would change it: {loss.would_change_it}", "    "))
    if loss.if_nothing_is_done and loss.if_nothing_is_done != AT_REST:
        lines.append(wrap(f"If nothing is done: {loss.if_nothing_is_done}", "    "))
    return lines


def wrap(text: str, indent: str = "") -> str:
    """A text wrapped to the page's width, with a hanging indent."""
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=indent,
        subsequent_indent=indent + "  ",
        break_long_words=False,
        break_on_hyphens=False,
    )


def one_loss(found: Assessment, loss: Loss) -> str:
    """One loss of a proposal with its evidence, as the demonstration shows it."""
    return "\n".join(["  " + line for text in _loss(loss) for line in text.splitlines()])
