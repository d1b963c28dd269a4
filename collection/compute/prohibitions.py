"""What must not be done to an object, in words that a painter or a joiner understands, each with the records behind it.

The worst comes first:

1. advice in force against work that takes, wets or covers a surface: the action that reaches deepest first, then the more
   urgent, then the newer advice;
2. liquids that a test recorded to do something to a kept coat: the worst response first, then the liquid of more tests;
3. tools, as one thing: what took a kept coat off this object before, and stripping and sanding where original finish was
   read;
4. advice in force against handling, wearing or exposing it.

Nothing is said without a record. A liquid that a test met a coat with is named as it was tested; others of its kind are
named with it but where a test of theirs cleared the same coat. A test that cleared a liquid does not take back what
another test of that liquid did: it vouches for its own conditions, and nobody reads conditions off a tag.

Which liquids a workshop knows by which name, and the order, are common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from collection.compute.advice import in_force
from collection.compute.build_up.readings import (
    is_absent,
    kept_layers,
    layers_by_sample,
    original_reading,
    original_schemes,
    shown_later,
)
from collection.compute.case import Case
from collection.compute.effects.trials import Met, Trial, trials
from collection.compute.workshop_names import KINDS, SPOKEN
from collection.language.sentences import counted, figure
from collection.language.words import FOREIGN_ROLES, parts_of
from collection.language.work_words import REACH_OF_ACTION, RESPONSE
from collection.records.facts import current
from collection.records.sheets import Advice, Sample
from collection.values import dates
from collection.values.agents import WATER, Agent
from collection.values.spoken_dates import in_words

ADVICE, LIQUID, TOOL = "advice", "liquid", "tool"
ALL = "all"
_REACHES = (
    "all",
    "through",
    "into coats",
    "surface",
    "adds",
    "opens",
    "other",
    "loose dirt",
    "exposure",
    "wear",
    "none",
)
_WEARS = frozenset({"exposure", "wear", "none"})
_PRIORITIES = ("now", "soon", "when convenient", None)
SAMPLES_NAMED = 3
"""So many samples are named behind a prohibition: those where least lies over the original finish."""
_VERBS = {
    "abrade": "sand",
    "heat": "burn off",
    "steam": "steam",
    "laser": "use a laser",
    "dry ice": "blast with dry ice",
    "reduce corrosion": "treat rust",
    "fix to": "fix anything to it",
    "electrolytic": "strip in a bath",
    "replace": "replace parts",
    "dismantle": "take apart",
    "solvent": "use solvents",
    "aqueous": "clean with water",
    "retouch": "touch in",
    "facing": "paste tissue on",
    "consolidate": "soak with binder",
    "lay flakes": "lay flakes",
    "coat": "paint or varnish",
    "dry sponge": "rub with a sponge",
    "display outdoors": "stand it outdoors",
    "operate": "run it",
    "oil mechanism": "oil it",
    "drain": "drain it",
    "move": "move it",
    "wrap": "wrap it",
    "other": "work on it",
}
_DID = {
    "colour on swab": "took colour from",
    "gloss change": "changed the gloss of",
    "blanched": "turned white",
    "swelled": "swelled",
    "softened": "softened",
    "lifted": "lifted",
    "partly removed": "took off part of",
    "removed": "took off",
}


@dataclass(frozen=True, slots=True)
class Prohibition:
    """One thing not to do.

    :ivar kind: `advice`, `liquid` or `tool`: what it rests on.
    :ivar words: what not to do, without a full stop.
    :ivar place: where it holds; None for the whole object.
    :ivar why: what the first of its records says, without a full stop.
    :ivar records: sheet and key of each record behind it, the strongest first; never empty.
    :ivar liquids: the names of the solvent table that the words stand for, of a liquid.
    """

    kind: str
    words: str
    place: str | None
    why: str
    records: tuple[tuple[str, str], ...]
    liquids: frozenset[str] = frozenset()


def prohibitions(case: Case, on: str) -> tuple[Prohibition, ...]:
    """Everything that must not be done to an object, the worst first; equal words once, with the records of all.

    :param on: the day, YYYY-MM-DD, on which advice is in force or not.
    """
    advised = list(_advised(case, on))
    found: dict[tuple[str, str | None], Prohibition] = {}
    for each in (
        *(each for wears, each in advised if not wears),
        *_liquids(case),
        *_tools(case),
        *(each for wears, each in advised if wears),
    ):
        same = found.get((each.words, each.place)) or _wetting(found.values(), each)
        if same is None:
            found[each.words, each.place] = each
        else:
            records = tuple(dict.fromkeys((*same.records, *each.records)))
            found[same.words, same.place] = replace(same, records=records)
    return tuple(found.values())


def _wetting(said: Iterable[Prohibition], each: Prohibition) -> Prohibition | None:
    """The advice for the whole object that says already what a test with water says."""
    if each.kind != LIQUID or not (each.liquids == {WATER} or each.words.startswith(f"No {WATER} ")):
        return None
    return next(
        (one for one in said if one.kind == ADVICE and one.place is None and _VERBS["aqueous"] in one.words), None
    )


def _advised(case: Case, on: str) -> Iterator[tuple[bool, Prohibition]]:
    """Advice that forbids, and whether it is only about handling and exposing."""

    def order(row: Advice) -> tuple[int, int, int]:
        given = dates.bounds(row.given_on).latest.replace("-", "")
        newest = -int(given) if given.isdigit() else 0
        return _deepest(row), _PRIORITIES.index(row.priority), newest

    for row in sorted((row for row in in_force(case.facts, on) if parts_of(row.against)), key=order):
        yield (
            _REACHES[_deepest(row)] in _WEARS,
            Prohibition(
                ADVICE,
                _forbidden(parts_of(row.against)),
                None if row.place in (None, ALL) else row.place,
                f"Advised {in_words(row.given_on)}: “{row.what.rstrip('. ')}”",
                (("advice", row.key_text()),),
            ),
        )


def _deepest(row: Advice) -> int:
    return min(_REACHES.index(ALL if action == ALL else REACH_OF_ACTION[action]) for action in parts_of(row.against))


def _forbidden(actions: Iterable[str]) -> str:
    named = list(actions)
    if ALL in named:
        return "Do nothing before you have asked"
    named.sort(key=lambda action: _REACHES.index(REACH_OF_ACTION[action]))
    verbs = list(dict.fromkeys(_VERBS.get(action, action) for action in named))
    return "Do not " + (verbs[0] if len(verbs) == 1 else f"{', '.join(verbs[:-1])} or {verbs[-1]}")


@dataclass(frozen=True, slots=True)
class _Harm:
    """What a test did to a kept coat, and the words for the liquid that did it."""

    trial: Trial
    named: tuple[str, ...]
    """What was tested, as a workshop calls it."""
    beside: tuple[str, ...]
    """What else is of its kind, and cleared by no test of the same coat."""
    liquids: frozenset[str]


def _liquids(case: Case) -> Iterator[Prohibition]:
    met = [trial for trial in trials(case) if _is_kept(case, trial.met)]
    cleared = [trial for trial in met if trial.high == 0]
    groups: dict[object, list[_Harm]] = {}
    for trial in met:
        if trial.high > 0:
            groups.setdefault(_kind_of(trial.agent), []).append(_harm(trial, cleared))
    found = [sorted(harms, key=lambda each: (-_rank(each), each.trial.test.test)) for harms in groups.values()]
    for harms in sorted(found, key=lambda each: (-_rank(each[0]), -len(each), each[0].trial.agent.text)):
        named = list(dict.fromkeys(name for harm in harms for name in (*harm.named, *harm.beside)))
        # What was tested stands before what is of its kind.
        named.sort(key=lambda name: not any(name in harm.named for harm in harms))
        yield Prohibition(
            LIQUID,
            _no(named),
            None,
            _did(case, harms[0].trial),
            tuple(dict.fromkeys(("tests", harm.trial.test.key_text()) for harm in harms)),
            frozenset().union(*(harm.liquids for harm in harms)),
        )


def _no(named: list[str]) -> str:
    if WATER in named:
        return "Do not wet it"
    return ", ".join(f"{'no' if at else 'No'} {name}" for at, name in enumerate(named))


def _rank(harm: _Harm) -> int:
    return RESPONSE.words.index(harm.trial.response)


def _is_kept(case: Case, met: Met) -> bool:
    """Whether the coat that a test met has to be kept: whatever is not shown to be later, but for dirt and the like."""
    if met.layer is not None:
        return bool(kept_layers(case).get(met.layer, False))
    if met.role in FOREIGN_ROLES:
        return False
    scheme = next((row for row in case.facts.schemes if row.scheme == met.scheme), None)
    return scheme is None or not shown_later(scheme)


def _harm(trial: Trial, cleared: Iterable[Trial]) -> _Harm:
    same = [other for other in cleared if _same_coat(trial.met, other.met)]
    agent = trial.agent
    if agent.unknown:
        return _Harm(trial, (agent.text,), (), frozenset())
    if agent.additives:
        return _Harm(trial, (f"water with {_joined(name for name, _ in agent.additives)} in it",), (), frozenset())
    acting = [name for name, _ in agent.acting] or [name for name, _ in agent.liquids]
    alone = len(agent.liquids) == 1
    # Of a mixture nobody knows which liquid did it; one that stood the test alone is not named alone.
    blamed = [name for name in acting if alone or not _cleared(same, frozenset({name}))]
    if not blamed:
        return _Harm(trial, (f"mixture of {_joined(name for name, _ in agent.liquids)}",), (), frozenset())
    kinds = [beside for members, beside in KINDS if members & set(blamed)]
    # What the test did is not taken back by a milder one of the same liquid.
    others = [
        (said, liquids)
        for beside in kinds
        for said, liquids in beside
        if not _cleared(same, liquids.difference(blamed))
    ]
    named = tuple(dict.fromkeys(SPOKEN.get(name, name) for name in blamed))
    extra = tuple(dict.fromkeys(said for said, _ in others if said not in named))
    return _Harm(trial, named, extra, frozenset(blamed).union(*(liquids for _, liquids in others)))


def _cleared(same: Iterable[Trial], liquids: frozenset[str]) -> bool:
    """Whether one of some liquids, alone, did nothing to the coat."""
    return any({name for name, _ in trial.agent.liquids} <= liquids for trial in same if trial.agent.liquids)


def _same_coat(one: Met, other: Met) -> bool:
    if one.decoration or other.decoration:
        return one.decoration == other.decoration
    if one.scheme is None or other.scheme is None:
        return one.layer is not None and one.layer == other.layer
    return (one.scheme, one.role, one.colour) == (other.scheme, other.role, other.colour)


def _kind_of(agent: Agent) -> object:
    """What liquids of one kind have in common; an agent of none has its own text."""
    if agent.unknown:
        return agent.text
    if agent.additives or [name for name, _ in agent.liquids] == [WATER]:
        return WATER
    acting = {name for name, _ in agent.acting or agent.liquids}
    return next((members for members, _ in KINDS if members & acting), agent.text)


def _did(case: Case, trial: Trial) -> str:
    name, place = trial.agent.text, trial.test.place
    if trial.response == "blanched":
        return f"{name.capitalize()} made {_coat(case, trial.met)} go white at {_place(case, place)}"
    return f"{name[:1].upper()}{name[1:]} {_DID[trial.response]} {_coat(case, trial.met)} at {_place(case, place)}"


def _coat(case: Case, met: Met) -> str:
    if met.decoration is not None:
        row = current(case.facts.decorations, "decoration").get(met.decoration)
        return f"the {row.kind if row else 'decoration'}"
    role = {None: "finish", "body colour": "colour", "other": "coat"}.get(met.role, met.role)
    scheme = next((row for row in case.facts.schemes if row.scheme == met.scheme), None)
    if scheme is not None and scheme.period == "original":
        return f"the original {role}"
    return f"the {role} of “{scheme.name}”" if scheme is not None else f"a {role} that has to be kept"


def _place(case: Case, code: str) -> str:
    if code == ALL:
        return "the whole object"
    zone = next((row.name for row in case.facts.zones if row.zone == code), None)
    part = current(case.facts.components, "component").get(code)
    return zone or (part.name if part else None) or code


def _tools(case: Case) -> Iterator[Prohibition]:
    """One thing at most: what took a kept coat off before, then stripping and sanding."""
    schemes = {row.scheme: row for row in case.facts.schemes}
    treatments = {row.treatment: row for row in case.facts.treatments}
    actions: list[str] = []
    said: list[tuple[str, tuple[str, str]]] = []
    for step in case.facts.treatment_steps:
        scheme = schemes.get((step.removed or "").partition("/")[0])
        if scheme is None or shown_later(scheme) or REACH_OF_ACTION[step.action] not in ("into coats", "through"):
            continue
        treatment = treatments.get(step.treatment)
        when = in_words(treatment.started or treatment.ended) if treatment else ""
        actions.append(step.action)
        told = f"“{scheme.name}” was lost that way at {_place(case, step.place)}{f' ({when})' if when else ''}"
        said.append((told, ("treatment_steps", step.key_text())))
    read = sorted(found for row in case.facts.samples if (found := _over(case, row)) is not None)
    if read:
        actions += ["strip", "abrade"]
        said += [(told, ("samples", key)) for _, key, told in read[:SAMPLES_NAMED]]
    if said:
        records = tuple(dict.fromkeys(record for _, record in said))
        yield Prohibition(TOOL, _forbidden(dict.fromkeys(actions)), None, said[0][0], records)


def _over(case: Case, sample: Sample) -> tuple[float, str, str] | None:
    """How little lies over the original finish at a sample, in µm (an unknown coat counts as 100), its key, and that in
    words; None where it does not show any."""
    reading = original_reading(case, sample)
    if reading is None or reading.history or reading.level == "absent":
        return None
    originals = set(original_schemes(case))
    over = []
    for layer in layers_by_sample(case).get(sample.sample, ()):
        if layer.scheme in originals or layer.period == "original":
            break
        if not is_absent(layer) and layer.role not in FOREIGN_ROLES:
            over.append(layer)
    else:
        return None
    key, place = sample.key_text(), _place(case, sample.place)
    if not over:
        return 0.0, key, f"At {place} the original finish is the surface"
    known = [layer.thickness_um for layer in over if layer.thickness_um is not None]
    depth = sum(known) + 100.0 * (len(over) - len(known))
    measured = f" ({figure(depth / 1000)} mm)" if len(known) == len(over) else ""
    lie = "lies" if len(over) == 1 else "lie"
    return depth, key, f"At {place} only {counted(len(over), 'later coat')}{measured} {lie} over the original finish"


def _joined(names: Iterable[str]) -> str:
    return " and ".join(names)
