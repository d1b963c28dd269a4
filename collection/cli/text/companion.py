"""The bench companion's one screen: 24 lines of 80 signs, large plain words first, nothing that needs colour."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING

from collection.compute.effects.ladders import all_named, named, nearest_limit
from collection.compute.safety import LEAD
from collection.compute.windows.companion.signs import coat_in_words, reserves_near, stop_signs, vapour
from collection.language.cautions import SOLVENT
from collection.language.sentences import counted, ended

if TYPE_CHECKING:
    from collection.compute.effects.trials import Trial
    from collection.ingest.companion.answer import Answer
    from collection.records.sheets import ProposalStep
    from collection.values.agents import Agent

WIDTH, LINES = 80, 24
_INDENT = 9
MOST_CODES = 4


@dataclass(frozen=True)
class Block:
    """A word in capitals with what it says, longest first. Where the screen is full, blocks with the highest `spare`
    are shortened first. The last text is the shortest that is still true."""

    label: str
    texts: tuple[str, ...]
    spare: int = 0


def screen(found: Answer) -> list[str]:
    """The lines of the screen; what does not fit is shortened, and what can hurt last of all."""
    blocks = [block for block in _blocks(found) if block.texts]
    at = [0] * len(blocks)
    while True:
        lines = [line for block, level in zip(blocks, at, strict=True) for line in _lines(block, level)]
        longer = [number for number, block in enumerate(blocks) if at[number] < len(block.texts) - 1]
        if len(lines) <= LINES or not longer:
            return lines
        at[max(longer, key=lambda number: (blocks[number].spare, number))] += 1


def _lines(block: Block, level: int) -> list[str]:
    text = block.texts[level]
    if not text:
        return []
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=f"{block.label:<{_INDENT}}" if block.label else "",
        subsequent_indent=" " * (_INDENT if block.label else 0),
        break_long_words=True,
        break_on_hyphens=False,
    )


def _blocks(found: Answer) -> list[Block]:
    coats = found.coats
    head = f"{found.object_code}, {found.place}"
    if coats.remove is not None:
        head += f": take off {coat_in_words(found.case, coats.remove)}"
    if coats.keep is not None:
        head += f"{';' if coats.remove is not None else ':'} leave {coat_in_words(found.case, coats.keep)}"
    liquid = found.step.agent is not None
    reserves = reserves_near(found.case, found.place)
    return [
        Block("", (head,)),
        Block("NEXT", (_next(found),)),
        Block("WHY", (why(found), f"{why(found).split('. ')[0].rstrip('.')}."), 3),
        Block("ARREST", (_arrest(found),) if liquid else ()),
        Block("STOP IF", (ended("; ".join(stop_signs(found.pair))),) if liquid and found.pair else ()),
        Block("NO MORE", _no_more(found), 1),
        Block("RESERVE", (f"{_codes(reserves)} must stay untouched: keep well away.",) if reserves else ()),
        Block("WAIT", _wait(found), 1),
        Block("GLOVES", ("as each liquid's safety data sheet names; off and changed when wet.",) if liquid else (), 0),
        Block("VAPOUR", _vapour(found) if liquid else (), 4),
        Block("HAZARD", _hazard(found), 5),
        Block("UNREAD", _unread(found), 2),
        Block("BOTTLES", _bottles(found), 6),
        Block("CAUTION", (f"{SOLVENT} Spot tests only: no permission.", SOLVENT)),
    ]


def jar(agent: Agent) -> str:
    """An agent as it is measured out: `1 part acetone + 3 parts isooctane`."""
    if len(agent.liquids) == 1:
        return agent.text
    parts = [term.split(" ", 1) for term in agent.text.split(" + ")]
    return " + ".join(
        f"{number} {'part' if number == '1' else 'parts'} {name}" if number.isdigit() else f"{number} {name}"
        for number, name in parts
    )


def _how(plan: ProposalStep) -> str:
    """How a swab is made: `rolled swab, up to 30 s, 2 passes`."""
    parts = [
        plan.application or "as gently as can be",
        "" if plan.dwell_s is None else f"up to {plan.dwell_s:g} s",
        f"{plan.passes:g} passes" if plan.passes and plan.passes > 1 else "",
    ]
    return ", ".join(part for part in parts if part)


def _next(found: Answer) -> str:
    step, coats = found.step, found.coats
    agent, how = "", ""
    if step.plan is not None and step.agent is not None:
        agent = jar(step.agent).upper() + ("" if step.plan.ph is None else f", pH {step.plan.ph:g}")
        how = f"{_how(step.plan)}, in an inconspicuous spot; look again when it is dry"
    keep = coats.keep.thing if coats.keep is not None else "what is kept"
    if step.kind == "test":
        return f"{agent}: {how}."
    if step.kind == "rung" and step.rung is not None:
        return f"{agent}, {step.rung.sentence().upper().replace('PH', 'pH')}: {how}."
    if step.kind == "again":
        return f"{agent}, {'as elsewhere' if step.wanting is None else 'once more'}: {how}."
    if step.kind == "bare":
        return f"{agent} ON {keep.upper()} where it lies bare: {how}."
    if step.kind == "found" and step.window is not None:
        more = len({t.test.test for t in step.window.moved}) > 1
        return (
            f"NO NEW MIXTURE: THE WINDOW IS PROVEN. {agent}"
            + (" parted them more than once." if more else f", once more in a second spot: {how}.")
            + " Then propose the work, and assess it."
        )
    if step.kind == "settle":
        return f"NO NEW MIXTURE YET: {step.wanting}."
    if step.kind == "lay":
        return f"STOP. {keep.upper()} IS FAILING: no swab, until it is laid."
    if step.kind == "write":
        return f"WRITE DOWN FIRST what {_codes(step.tests)} did."
    if step.kind == "mend":
        return f"MEND FIRST {_codes(step.tests)}."
    if step.kind == "leave":
        return "LEAVE IT. No mixture of these bottles is worth another spot here."
    if step.kind == "kept":
        return "STOP. Everything met here is kept."
    if step.kind == "no coats":
        return (
            "READ A SAMPLE FIRST, or bring an earlier survey with --also: no coat is written for this place or its "
            "part."
        )
    return "READ A SAMPLE FIRST, down to the support. Nothing kept is written beneath, and something may be there."


def why(found: Answer) -> str:
    """One sentence with what it rests on."""
    step, pair = found.step, found.pair
    if step.kind == "kept":
        return (
            "Whatever is not shown to be later, with a basis, is kept: name a coat with --remove only where a "
            "person has decided that it may go."
        )
    if pair is None:
        return "Without a coat to remove and one to keep there is nothing to part."
    go, stay = pair.remove.thing, pair.keep.thing
    if step.kind == "write":
        return "Without a response a test counts as unknown, and what comes next hangs on it."
    if step.kind == "mend":
        return (
            "What stands there may be harm, and neither the coat nor the agent can be read. A test of an earlier survey "
            "is read along with --also EARLIER."
        )
    if step.kind == "found" and step.window is not None:
        return " ".join(step.window.sentences(go, stay))
    if step.kind == "settle":
        return f"{_test_codes(found)} took {go} off and left {stay} as it was, but proves nothing yet."
    if step.kind == "lay":
        return "What fails comes off at a touch, whatever is on the swab; no test on sound finish speaks for it."
    if step.kind == "bare":
        risk = "" if step.risk is None else f"; at most {_in_100(step.risk)} that it touches it, by a model"
        return f"{_test_codes(found)} took {go} off, and nothing is written of what it did to {stay}{risk}."
    if step.kind == "again" and step.wanting is not None:
        return f"{_test_codes(found)} took {go} off and left {stay}, and no longer counts: {step.wanting}."
    if step.kind == "again":
        return f"Tests show it to move {go} and to leave {stay} ({_test_codes(found)}), but not yet here."
    if step.kind == "rung" and step.rung is not None:
        did = f"only began to harm {stay}" if step.rung.less else f"did too little to {go}"
        limit = nearest_limit(step.rung.base, pair.on_kept)
        told = f" {stay} was harmed at {named(limit)}." if limit is not None and not step.rung.less else ""
        return f"{named(step.rung.base)} {did}: {step.rung.sentence()}, all else as it was.{told}"
    seen = _seen(found)
    if step.kind == "leave":
        best = "" if step.chance is None else f"The best of the rest has {_in_100(step.chance)}, by a model. "
        return f"{best}{seen}. Ask `window` about other liquids, think of dry means, or leave it."
    if step.chance is None or step.risk is None:
        unknown = [
            coat
            for coat, region in ((pair.remove, pair.remove_region), (pair.keep, pair.keep_region))
            if region is None
        ]
        of = " and ".join(f"{coat.thing} ({', '.join(coat.may_be) or 'binder not written'})" for coat in unknown)
        order = "one step further than what did nothing" if pair.on_removed else "the mildest first"
        return f"No published region tells how {of} bears liquids, so {order}. {seen}."
    binders = " over ".join(", ".join(coat.may_be) for coat in (pair.remove, pair.keep))
    return (
        f"The mildest of the likely: {_in_100(step.chance)} that it takes {go} and leaves {stay}, at most "
        f"{_in_100(step.risk)} that it touches {stay}, by a model of {binders}. {seen}."
    )


def _seen(found: Answer) -> str:
    """What the tests of both coats say so far, with their codes."""
    pair = found.pair
    assert pair is not None
    parts = []
    for met, coat in ((pair.on_removed, pair.remove), (pair.on_kept, pair.keep)):
        for word, told in (("moved", [t for t in met if t.high > 0]), ("idle on", [t for t in met if t.high == 0])):
            if told:
                parts.append(f"{word} {coat.thing}: {_codes(_named(told))}")
    return f"Tests {'; '.join(parts)}" if parts else "No test of either coat is written yet"


def _test_codes(found: Answer) -> str:
    """The tests that a step relies on, with their conditions."""
    pair, codes = found.pair, found.step.tests
    assert pair is not None
    return all_named(t for code in codes for t in (*pair.on_removed, *pair.on_kept) if t.test.test == code)


def _in_100(share: float) -> str:
    return f"{max(1, round(100 * share))} in 100"


def _named(met: list[Trial]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(named(t) for t in met))


def _codes(codes: tuple[str, ...] | list[str]) -> str:
    return ", ".join(codes[:MOST_CODES]) + (f" and {len(codes) - MOST_CODES} more" if len(codes) > MOST_CODES else "")


def _arrest(found: Answer) -> str:
    if found.arrest is None and found.calmest is not None:
        return (
            f"{found.calmest.text.upper()}, the least active of these bottles, but not known to stop it: try it "
            "first, on a dry spot."
        )
    if found.step.agent is not None and found.step.agent.aqueous:
        return (
            "lift it with a dry swab at once, and keep the spot small; what was dissolved in it stays until it is "
            "cleared."
        )
    if found.arrest is None:
        return "none of these bottles is known to stop it: lift it with a dry swab, and keep the spot small."
    known = "both coats stood it" if found.arrest.tested else "by a model; not tested on both coats, so try it first"
    return f"{found.arrest.liquid.text.upper()}, on a second swab that lies ready ({known})."


def _no_more(found: Answer) -> tuple[str, ...]:
    stopped = found.step.stopped
    if not stopped or found.coats.keep is None:
        return ()
    met = found.pair.on_kept if found.pair is not None else ()
    each = "; ".join(
        f"{name} as in " + _codes(_named([t for t in met if t.high > 0 and t.test.test in tests]))
        for name, tests in stopped
    )
    return (
        f"{each}, or more: harmed {found.coats.keep.thing} here.",
        f"as in {', '.join(dict.fromkeys(code for _, tests in stopped for code in tests))}: harmed "
        f"{found.coats.keep.thing} here.",
    )


def _wait(found: Answer) -> tuple[str, ...]:
    wait = found.wait
    if wait is None:
        return ()
    apart, hours = found.case.policy.bench.apart_cm, found.case.policy.bench.wait_hours
    when = wait.day or "not dated"
    rule = f"another spot, {apart:g} cm off, or {hours:g} h later (judgement, no published source)"
    if not wait.same_day:
        return (f"last test here: {_codes(wait.tests)}, {when}. On one day each test has its own spot.", "")
    if wait.softened:
        return (
            f"this spot may still be swollen from {_codes(wait.softened)} ({when}): {rule}.",
            f"this spot may still be swollen from {_codes(wait.softened)} ({when}): another spot.",
        )
    return (
        f"{_codes(wait.tests)} wetted this place ({when}), and what looks dry may hold liquid: {rule}.",
        f"{_codes(wait.tests)} wetted this place ({when}): another spot.",
    )


def _vapour(found: Answer) -> tuple[str, ...]:
    lines = vapour(found.safety)
    if not lines:
        return ()
    short = ", ".join(line.split(":")[0] for line in lines)
    return (
        f"{'; '.join(lines)}. Draw it off where it comes; no flame, no spark.",
        f"{short}: draw it off where it comes; no flame, no spark; figures with --json.",
    )


def _hazard(found: Answer) -> tuple[str, ...]:
    dangers = [text for text in found.safety.dangers if text != LEAD]
    return (" ".join(ended(text) for text in dangers[:3]), ended(dangers[0])) if dangers else ()


def _unread(found: Answer) -> tuple[str, ...]:
    """What cannot be read and what is missing; what may tell of harm comes first and is never cut."""
    harm, unread = found.open.harm, found.open.unread
    first = f"Harm may stand in {_codes([each.spot for each in harm])}. " if harm else ""
    rest = [each.spot for each in unread if each not in harm]
    told = [f"{counted(len(unread), 'row')} cannot be read yet: {_codes(rest)}; it clears nothing."] if rest else []
    told += (
        [f"Schemes {_codes(found.not_here)} are not described here, so they count as kept: --also EARLIER."]
        if found.not_here
        else []
    )
    told += ["The workbook is open elsewhere: what is not saved is not read."] if found.in_use else []
    full = (first + " ".join(told)).strip()
    short = f"{first}{counted(len(unread), 'row')} cannot be read yet, and clear nothing. " if rest else first
    if found.in_use:
        short += "Save the workbook: it is open elsewhere."
    return (full, short.strip()) if full else ()


def _bottles(found: Answer) -> tuple[str, ...]:
    told = found.bottles.told
    names = ", ".join(found.step.unknown)
    return (" ".join(told), f"Not judged: {names}." if names else "") if told else ()
