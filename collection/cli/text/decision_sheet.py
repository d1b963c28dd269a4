"""A decision sheet to sign: two pages of plain text, and numbered pages behind for what does not fit."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from collection.cli.text.losses import by_step, instead_of, worst_of
from collection.language.sentences import steps_of, taken, worked
from collection.language.words import SEVERITY_SPOKEN
from collection.records.facts import Facts, ProposalFacts
from collection.rules.advice import ANSWERED
from collection.rules.findings import Assessment

WIDTH, LINES = 80, 60
ROOM = LINES - 3
"""Lines of a page beside its head and foot."""


def decision_sheet(facts: Facts, proposal: ProposalFacts, found: Assessment) -> str:
    """Page 1: what is proposed and what it would take. Page 2: what is open, conditions, signatures. Then the annex."""
    first, rest = _page([*_advice(found), *_proposed(facts, proposal, found)], _losses(facts, proposal, found), ROOM)
    second, more = _page(_requirements(found), _signing(found), ROOM)
    annex = [*rest, *more]
    pages = [first, second, *(annex[at : at + ROOM] for at in range(0, len(annex), ROOM))]
    return "\n\f".join(_framed(found, lines, number, len(pages)) for number, lines in enumerate(pages, 1))


def _framed(found: Assessment, lines: list[str], number: int, count: int) -> str:
    what = "decision sheet" if number <= 2 else "annex"
    head = f"{found.proposal}, {what}"
    return "\n".join(
        [
            f"{head}{f'page {number} of {count}':>{max(1, WIDTH - len(head))}}",
            "-" * WIDTH,
            *lines,
            *([""] * (ROOM - len(lines))),
            f"inputs {found.inputs_sha256[:32]}  policy {found.policy}",
        ]
    )


def _page(fixed: list[str], flowing: list[str], room: int) -> tuple[list[str], list[str]]:
    """A page with what has to be on it and as much of the rest as fits, and what is left over."""
    if len(fixed) + len(flowing) <= room:
        return [*fixed, *flowing], []
    free = max(0, room - len(fixed) - 2)
    return [*fixed[: room - 2], *flowing[:free], "", "(continued in the annex)"], [*fixed[room - 2 :], *flowing[free:]]


def _wrapped(text: str, indent: str = "", hang: str = "  ") -> list[str]:
    return _under(text, indent, indent + hang)


def _under(text: str, first: str, rest: str) -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=rest, break_long_words=False, break_on_hyphens=False
    ) or [""]


def _proposed(facts: Facts, proposal: ProposalFacts, found: Assessment) -> list[str]:
    head, about = proposal.proposal, facts.object
    lines = [
        *_wrapped(f"Object    {about.object}  {about.title}", hang=" " * 10),
        *_wrapped(
            f"Proposal  {head.title}; by {head.proposed_by}, {head.proposed_on}"
            + (f"; planned for {head.planned_for}" if head.planned_for else ""),
            hang=" " * 10,
        ),
    ]
    if head.purpose:
        lines += _wrapped(f"Purpose   {head.purpose}", hang=" " * 10)
    lines += ["", "Steps"]
    for step in proposal.steps:
        lines += _wrapped(f"{step.step}. {worked(vars(step))}", "  ", "   ")
    lines += ["", f"OUTCOME   {SEVERITY_SPOKEN[found.outcome].upper()}"]
    said = taken(found.outcome, found.loss_m2, found.loss_share, found.unmeasured_places)
    worst, instead = worst_of(facts, found), instead_of(found)
    for text in (f"{said}." if said else None, worst, f"Instead: {instead}" if instead else None):
        lines += _wrapped(text) if text else []
    return [*lines, ""]


def _advice(found: Assessment) -> list[str]:
    """Advice against the work, with room for the answer or with the answer given."""
    answers = {r.subject: r.message for r in found.requirements if r.rule == ANSWERED and r.met}
    lines = []
    for row in found.advice:
        lines += _wrapped(f"ADVICE AGAINST {steps_of(row.steps).upper()}: {row.said()}")
        lines += _wrapped(answers[row.advice], "  ") if row.advice in answers else [f"  Answer  {'.' * 62}"]
    return [*lines, ""] if lines else []


def _losses(facts: Facts, proposal: ProposalFacts, found: Assessment) -> list[str]:
    shown = sum(loss.severity != "stood" for loss in found.losses)
    lines = [
        f"Losses to answer for: {shown} (sign beside each line that is accepted)"
        if shown
        else "By the records, nothing that is kept is at stake."
    ]
    for line in by_step(facts, proposal, found, whole=False):
        box = "[    ] " if line.sign else " " * len("[    ] ") if line.indent else ""
        room = "  " * max(0, line.indent - 1)
        lines += _under(line.text, box + room, f"{' ' * len(box)}{room}  ")
    if found.advice_beside:
        lines += ["", "Other advice for these places:"]
    return [*lines, *(part for row in found.advice_beside for part in _wrapped(row.said(), "  "))]


def _requirements(found: Assessment) -> list[str]:
    lines = []
    for when, title in (("approval", "Before approval"), ("work", "Before work")):
        own = [r for r in found.requirements if r.when == when]
        lines.append(f"{title}: {'nothing is asked' if not own else ''}".rstrip())
        for r in own:
            lines += _wrapped(f"[{'x' if r.met else ' '}] {r.message}", "  ", "    ")
    lines += [""]
    for text in found.cautions:
        lines += _wrapped(f"Caution: {text}")
    return lines


def _signing(found: Assessment) -> list[str]:
    rule = "." * 46
    return [
        "",
        "Conditions",
        *(f"  {'.' * 70}" for _ in range(4)),
        "",
        "Decision  [ ] approved  [ ] approved for steps .......  [ ] refused  [ ] deferred",
        "",
        "Reasons",
        *(f"  {'.' * 70}" for _ in range(3)),
        "",
        *_lines("Approver", rule),
        *_lines("Owner or owner's agent", rule),
        *_lines("Conservator", rule),
        "",
        *_wrapped(
            "Enter the decision in the database as well (firstcoat decide), with each loss that is "
            "accepted, as PLACE/THING."
        ),
    ]


def _lines(who: str, rule: str) -> Iterable[str]:
    return [f"{who:24}{rule}", f"{'date':24}{rule}", ""]
