"""Losses as text: each step, place, reason and test is said once, with the things under it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from collection.compute.build_up.coats import NOT_FOUND
from collection.compute.build_up.places import ALL
from collection.compute.effects.contact import test_told
from collection.compute.loss.outcome import BELOW, NOT_EXAMINED
from collection.language.sentences import counted, some, steps_of, worked
from collection.language.words import SEVERITY_RANK
from collection.language.words import SEVERITY_SPOKEN as SPOKEN
from collection.records.facts import Facts, ProposalFacts
from collection.records.sheets import Test
from collection.rules.findings import Assessment, Finding, Loss, Requirement

PREPARED = "prepared only"
UNSEEN = {
    NOT_EXAMINED: "Never examined",
    BELOW: "Below the deepest coat seen",
    NOT_FOUND: "Not found so far",
    PREPARED: "Only the preparation was found, and what stood on it may be left elsewhere",
}
OF_EACH = {
    NOT_EXAMINED: "One sample in each.",
    BELOW: "One sample in each.",
    NOT_FOUND: "A section more in each.",
    PREPARED: "A sample of the surface of each, extent whole place.",
}
"""What would change it, said once instead of in a sentence for each place."""
MOST_PLACES, MOST_SAMPLES, MOST_SCHEMES = 4, 6, 3
_PERIODS = ("original", "early", "unknown")


@dataclass(frozen=True, slots=True)
class Line:
    """One line of text: its indent, and whether somebody signs beside it."""

    indent: int
    text: str
    sign: bool = False


@dataclass(slots=True)
class _Group:
    """Losses that share severity, reason and remedy, and differ only in thing and place."""

    severity: str
    unseen: str | None
    why: str
    losses: list[Loss] = field(default_factory=list)

    @property
    def places(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(loss.place for loss in self.losses))

    def remedy(self) -> str | None:
        """What would change it; one sentence for several unseen places."""
        said = dict.fromkeys(loss.would_change_it for loss in self.losses if loss.would_change_it)
        if not said or self.severity == "stood":
            return None
        return next(iter(said)) if len(said) == 1 else OF_EACH.get(self.unseen or "")

    def reason(self, common: str | None) -> str:
        """Why, which other steps do the same, and what would change it, unless that is said for the whole step."""
        others = sorted({step for loss in self.losses for step in loss.steps[1:]})
        also = (
            ""
            if not others or self.unseen
            else (
                f" {steps_of(others).capitalize()} {'is' if len(others) == 1 else 'are'} as bad"
                + (" to some of it." if len({loss.steps for loss in self.losses}) > 1 else ".")
            )
        )
        remedy = self.remedy()
        return f"{self.why}{also}{f' Would change it: {remedy}' if remedy not in (None, common) else ''}".strip()


def by_step(facts: Facts, proposal: ProposalFacts, found: Assessment, *, whole: bool = True) -> list[Line]:
    """Every loss under the first step that causes it: what several places share, then place by place; then the steps
    that do nothing worse, the finishes that were named, and the tests, each described once.

    :param whole: whether steps are given in full; else only what and where.
    """
    tests = {row.test: row for row in facts.tests}
    cited: dict[str, None] = {}
    lines: list[Line] = []
    quiet = []
    for step in proposal.steps:
        own = [loss for loss in found.losses if _step_of(loss) == step.step]
        if not own:
            quiet.append(step.step)
            continue
        said = worked(vars(step)) if whole else f"{step.action} at {step.place}"
        lines += [Line(0, ""), Line(0, f"Step {step.step}: {said}")]
        lines += _of_a_step(_groups(own, tests, cited))
    if quiet and lines:
        lines += [Line(0, ""), Line(0, f"{steps_of(quiet).capitalize()}: nothing worse than this.")]
    return [*lines, *_legend(facts, found.losses, tests, cited)]


def _step_of(loss: Loss) -> int | None:
    return loss.steps[0] if loss.steps else None


def _groups(losses: Iterable[Loss], tests: Mapping[str, Test], cited: dict[str, None]) -> list[_Group]:
    groups: dict[tuple[object, ...], _Group] = {}
    for loss in losses:
        cause = loss.causes[0]
        unseen, why = _unseen(cause), _by_code(cause.message if cause.why is None else cause.why, tests, cited)
        # Tests of a covering coat are named by code here and described with the others.
        cited.update(
            dict.fromkeys(
                code
                for kind, key in cause.evidence
                if kind == "tests" and (code := key.rsplit("/", 1)[-1]) in tests and f"({code}" in why
            )
        )
        # Unseen things are sampled place by place; for all others the remedy is part of what they share.
        alike = (loss.severity, unseen, why, None if unseen else loss.would_change_it)
        groups.setdefault(alike, _Group(loss.severity, unseen, why)).losses.append(loss)
    return sorted(groups.values(), key=lambda group: -SEVERITY_RANK[group.severity])


def _unseen(finding: Finding) -> str | None:
    """The kind of unseen thing; None where it was seen."""
    if finding.looked is not None:
        return PREPARED if finding.looked.prepared_only else NOT_FOUND
    return finding.thing if finding.thing in UNSEEN else None


def _by_code(why: str, tests: Mapping[str, Test], cited: dict[str, None]) -> str:
    """A reason with each test named only by its code; the codes go into `cited`."""
    for code, test in tests.items():
        whole = f"{code} ({test_told(test)})"
        if whole in why:
            cited[code] = None
            why = why.replace(whole, code)
    return why


def _of_a_step(groups: Sequence[_Group]) -> list[Line]:
    """The blocks of a step, worst first: what several places share, then single places, then what nobody has seen."""
    number = Counter(remedy for group in groups if (remedy := group.remedy()))
    common = next((remedy for remedy, times in number.most_common(1) if times > 1), None)
    blocks: list[tuple[int, int, list[Line]]] = []
    alone: dict[str, list[_Group]] = {}
    for group in groups:
        said, rank, sign = _spoken(group), -SEVERITY_RANK[group.severity], group.severity != "stood"
        if group.unseen:
            where = (
                "; ".join(map(_missing, group.losses))
                if group.unseen in (NOT_FOUND, PREPARED)
                else ", ".join(group.places)
            )
            where_unseen = "" if where == ALL else f"{UNSEEN[group.unseen]}: {where}. "
            text = f"{said}  {where_unseen}{group.reason(common)}"
            blocks.append((rank, 2, [Line(1, text.rstrip(), sign)]))
        elif len(group.places) > 1:
            blocks.append(
                (
                    rank,
                    0,
                    [
                        Line(1, f"{said}  {group.reason(common)}"),
                        *(
                            Line(2, f"{', '.join(places)}: {_things(losses)}", sign)
                            for places, losses in _merged(group)
                        ),
                    ],
                )
            )
        else:
            alone.setdefault(group.places[0], []).append(group)
    for place, own in alone.items():
        blocks.append(
            (
                -SEVERITY_RANK[own[0].severity],
                1,
                [
                    Line(1, place),
                    *(
                        Line(
                            2,
                            f"{_spoken(group)}  {_things(group.losses)}: {group.reason(common)}",
                            group.severity != "stood",
                        )
                        for group in own
                    ),
                ],
            )
        )
    last = [Line(1, f"What would change {'it' if len(number) == 1 else 'the rest'}: {common}")] if common else []
    return [*(line for _, _, lines in sorted(blocks, key=lambda block: block[:2]) for line in lines), *last]


def _spoken(group: _Group) -> str:
    return SPOKEN[group.severity].upper()


def _missing(loss: Loss) -> str:
    looked = loss.causes[0].looked
    if looked is not None and looked.prepared_only:
        return f"scheme {loss.thing.partition('/')[0]} at {loss.place}"
    what = loss.thing.removesuffix(NOT_FOUND).rstrip("/ ")
    where = f"{what if '/' in what else f'scheme {what}'} at {loss.place}"
    brief = looked.brief() if looked is not None else ""
    return f"{where} ({brief})" if brief else where


def _merged(group: _Group) -> list[tuple[list[str], list[Loss]]]:
    """The places of a group; those with the same things are put together."""
    at: dict[str, list[Loss]] = {}
    for loss in group.losses:
        at.setdefault(loss.place, []).append(loss)
    merged: dict[tuple[tuple[str, bool], ...], tuple[list[str], list[Loss]]] = {}
    for place, losses in at.items():
        places, every = merged.setdefault(tuple((loss.thing, loss.intended) for loss in losses), ([], []))
        places.append(place)
        every += losses
    return list(merged.values())


def _things(losses: Sequence[Loss]) -> str:
    """Things by their labels, and the samples they were seen in."""
    labels = dict.fromkeys(_label(loss) for loss in losses)
    samples = dict.fromkeys(
        key.rsplit("/", 2)[-2] for loss in losses for kind, key in loss.evidence if kind == "layers"
    )
    return ", ".join(labels) + (f" ({some(list(samples), MOST_SAMPLES)})" if samples else "")


def _label(loss: Loss) -> str:
    name = f"{loss.role} {loss.thing}" if loss.decoration == loss.thing and loss.role else loss.thing
    return f"{name} (meant to go)" if loss.intended else name


def _legend(facts: Facts, losses: Sequence[Loss], tests: Mapping[str, Test], cited: Iterable[str]) -> list[Line]:
    named = {loss.scheme for loss in losses if loss.scheme and loss.decoration is None}
    schemes = [f"{row.scheme} {row.name} ({row.period})" for row in facts.schemes if row.scheme in named]
    lines = [Line(0, ""), Line(0, f"Finishes: {'; '.join(schemes)}.")] if schemes else []
    listed = sorted(cited)
    return [
        *lines,
        *([Line(0, ""), Line(0, "Tests")] if listed else []),
        *(Line(1, f"{code}  {test_told(tests[code])}") for code in listed),
    ]


ALIKE = {
    "one reserve per part": "No place on {} is reserved. Choose and record a reserve on each.",
    "one reserve per decoration": "Nothing of {} is reserved. Choose and record a reserve on each.",
    "picture before work": "No picture of {}. Photograph each in normal and raking light before work.",
}
"""Requirements that are said once for several places or decorations."""


def asked_once(requirements: Sequence[Requirement]) -> list[str]:
    """Requirements as sentences; the same one for several things is said once."""
    of: dict[str, list[Requirement]] = {}
    for each in requirements:
        of.setdefault(each.rule, []).append(each)
    said = []
    for rule, rows in of.items():
        if rule in ALIKE and len(rows) > 1:
            said.append(ALIKE[rule].format(", ".join(row.subject or row.place or "" for row in rows)))
        else:
            said += [f"{row.message} {row.remedy or ''}".rstrip() for row in rows]
    return said


def worst_of(facts: Facts, found: Assessment) -> str | None:
    """What would be lost, worst first: finishes with their places, then decorations, then what must stay; None where
    nothing is at stake. Where only something that must stay is worst, the next severity is named as well."""
    said = [
        f"{SPOKEN[severity].capitalize()}: {'; '.join(_named(facts, losses))}." for severity, losses in _worst(found)
    ]
    return " ".join(said) or None


def _worst(found: Assessment) -> list[tuple[str, list[Loss]]]:
    """The losses of the worst severity, and of the next ones until one is of a finish or of something unseen."""
    kept = []
    for severity in ("destroys", "endangers", "untested"):
        losses = [loss for loss in found.losses if loss.severity == severity]
        if losses:
            kept.append((severity, losses))
            if any(loss.scheme or _unseen(loss.causes[0]) for loss in losses):
                break
    return kept


def _named(facts: Facts, losses: Sequence[Loss]) -> list[str]:
    seen = [loss for loss in losses if _unseen(loss.causes[0]) is None]
    nowhere_told = [loss for loss in losses if loss.thing == NOT_EXAMINED and loss.place == ALL]
    unseen = [loss for loss in losses if loss not in seen and loss not in nowhere_told]
    return [
        *_finishes(facts, [loss for loss in seen if loss.scheme and loss.decoration is None]),
        *_decorations(seen),
        *_others(seen),
        *(
            f"{word.lower()} at {_places(some_of)}"
            for kind, word in UNSEEN.items()
            if (some_of := [loss for loss in unseen if _unseen(loss.causes[0]) == kind])
        ),
        *(f"n{(loss.causes[0].why or '').removeprefix('N').rstrip('.')}" for loss in nowhere_told),
    ]


def _finishes(facts: Facts, losses: Sequence[Loss]) -> list[str]:
    rows = {row.scheme: row for row in facts.schemes}
    of: dict[str, list[Loss]] = {}
    for loss in losses:
        of.setdefault(loss.scheme or "", []).append(loss)
    ordered = sorted(
        of,
        key=lambda code: (
            _PERIODS.index(rows[code].period) if rows[code].period in _PERIODS else len(_PERIODS),
            -len(of[code]),
            code,
        ),
    )
    said = []
    for code in ordered[:MOST_SCHEMES]:
        own = of[code]
        roles = dict.fromkeys(loss.thing.partition("/")[2] or loss.thing for loss in own)
        coats = f": {', '.join(roles)}" if len({loss.place for loss in own}) == 1 else ""
        said.append(f"{rows[code].name} ({code}{coats}) at {_places(own)}")
    left = len(ordered) - len(said)
    return [*said, *([counted(left, "other finish", "other finishes")] if left else [])]


def _decorations(losses: Sequence[Loss]) -> list[str]:
    kinds: dict[str, list[Loss]] = {}
    for loss in losses:
        if loss.decoration:
            kinds.setdefault(loss.role or "decoration", []).append(loss)
    return [
        f"{kind} {some(list(dict.fromkeys(loss.decoration or '' for loss in own)), MOST_PLACES)} at {_places(own)}"
        for kind, own in kinds.items()
    ]


def _others(losses: Sequence[Loss]) -> list[str]:
    """What belongs to no finish: reserves, the support, a part, coats without a scheme."""
    rest = [loss for loss in losses if not loss.scheme and not loss.decoration]
    things: dict[str, list[Loss]] = {}
    for loss in rest:
        things.setdefault(loss.thing, []).append(loss)
    reserves = [thing.removeprefix("reserve ") for thing in things if thing.startswith("reserve ")]
    said = [f"{thing} at {_places(own)}" for thing, own in things.items() if not thing.startswith("reserve ")]
    return said + [f"reserve{'s' if len(reserves) > 1 else ''} {some(reserves, MOST_PLACES)}"] * bool(reserves)


def _places(losses: Sequence[Loss]) -> str:
    """The places, the one with the largest area at stake first."""
    area: dict[str, float] = {}
    for loss in losses:
        area[loss.place] = max(area.get(loss.place, 0.0), loss.area_m2[1] if loss.area_m2 else 0.0)
    return some(sorted(area, key=lambda place: -area[place]), MOST_PLACES)


def instead_of(found: Assessment) -> str | None:
    """What would change most of the worst losses; masks and reserves come last, since they save only themselves."""
    worst = [loss for _, losses in _worst(found) for loss in losses]
    of_finish = [loss for loss in worst if loss.scheme is not None and loss.would_change_it] or worst
    said = Counter(loss.would_change_it for loss in of_finish if loss.would_change_it)
    return max(said, key=lambda text: said[text], default=None)
