"""Plain text for a terminal: what a curator reads in twenty seconds first, then the detail."""

from __future__ import annotations

import textwrap

from collection.rules.effect import AT_REST
from collection.rules.findings import Assessment, Loss
from collection.sentences import counted, taken
from collection.words import SEVERITY_SPOKEN as SPOKEN
from collection.words import SHEET_NAMES

WIDTH, WORST = 100, 3


def assessment(found: Assessment) -> str:
    """The summary, each loss with its evidence and what would change it, the requirements, the cautions."""
    lines = [f"{found.proposal}: {SPOKEN[found.outcome].upper()}", _headline(found), *_in_short(found)]
    shown = [loss for loss in found.losses if loss.severity != "stood"]
    for loss in shown:
        lines += ["", *_loss(loss)]
    stood = [loss for loss in found.losses if loss.severity == "stood"]
    if stood:
        lines += ["", wrap("Stood the test: " + "; ".join(f"{loss.id} ({_tests(loss)})" for loss in stood) + ".")]
    for when, title in (("approval", "Before approval"), ("work", "Before work")):
        open_ones = [r for r in found.requirements if r.when == when and not r.met]
        if open_ones:
            lines += ["", f"{title}:", *(wrap(f"[ ] {r.message} {r.remedy or ''}".rstrip(), "  ") for r in open_ones)]
    if shown and all(loss.if_nothing_is_done in (None, AT_REST) for loss in shown):
        lines += ["", f"If nothing is done: {AT_REST[0].lower()}{AT_REST[1:]}"]
    if found.cautions:
        lines += ["", *(wrap(f"Caution: {text}") for text in found.cautions)]
    return "\n".join(lines)


def _headline(found: Assessment) -> str:
    count = sum(loss.severity in ("destroys", "endangers", "untested") for loss in found.losses)
    if found.outcome == "clear":
        return "Nothing that is kept lies in reach of this work, by record."
    text = f"{counted(count, 'kept thing')} at stake." if count else "What is kept in its reach stood the test."
    said = taken(found.outcome, found.loss_m2, found.loss_share, found.unmeasured_places)
    return wrap(f"{text} {said}." if said else text)


def _in_short(found: Assessment) -> list[str]:
    """What is worst, what to do instead, what is open: in four lines at most."""
    worst = [loss for loss in found.losses if loss.severity == found.outcome not in ("clear", "stood")]
    lines = []
    if worst:
        more = f" and {len(worst) - WORST} more" if len(worst) > WORST else ""
        lines.append(wrap(f"{SPOKEN[found.outcome].capitalize()}: "
                          f"{', '.join(loss.id for loss in worst[:WORST])}{more}.", "  "))
        instead = next((loss.would_change_it for loss in worst if loss.would_change_it), None)
        if instead:
            lines.append(wrap(f"Instead: {instead}", "  "))
    waiting = found.open_before_approval
    if waiting:
        lines.append(wrap(f"Open before approval: {', '.join(dict.fromkeys(r.rule for r in waiting))}.", "  "))
    return lines


def one_line(found: Assessment, title: str, told: str) -> str:
    """One proposal of many: its key, outcome, title, losses and open requirements."""
    count = sum(loss.severity == found.outcome for loss in found.losses)
    waiting = found.open_before_approval
    parts = [f"{SPOKEN[found.outcome].upper():15} {found.proposal}  {title}"]
    if count and found.outcome not in ("clear", "stood"):
        parts.append(counted(count, "loss", "losses"))
    if waiting:
        parts.append(f"{len(waiting)} open before approval")
    return wrap("; ".join([*parts, *([told] if told else [])]))


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


def _tests(loss: Loss) -> str:
    return ", ".join(key for kind, key in loss.evidence if kind == "tests") or "shielded by a coat that stood"


def wrap(text: str, indent: str = "") -> str:
    """A text in lines of the page's width, those after the first set in."""
    return textwrap.fill(text, WIDTH, initial_indent=indent, subsequent_indent=indent + "  ", break_long_words=False,
                         break_on_hyphens=False)


def one_loss(found: Assessment, loss: Loss) -> str:
    """One loss of a proposal with its evidence, as the demonstration shows it."""
    return "\n".join(["  " + line for text in _loss(loss) for line in text.splitlines()])
