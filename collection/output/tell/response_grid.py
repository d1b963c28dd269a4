"""Cleaning tests as a grid: agents and their conditions down the side, coats across, in each cell what the coat did.

Agents that did least stand first, and within an agent the milder use before the harsher, by the same coordinates in which
assessments compare tests. What each coat stood at most is told by its recorded responses alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from collection.compute.build_up.actions import KIND_OF_ACTION
from collection.compute.effects.ladders import at_most, ladder_of
from collection.compute.effects.trials import CONDITIONS, Met, Trial, conditions_of
from collection.language.sentences import conditions
from collection.language.words import ROLE
from collection.output.published.published_object import PublishedObject, as_record
from collection.records.codes import natural
from collection.records.policy import Policy, default_policy
from collection.records.sheets import Test
from collection.values import agents
from collection.values.agents import Agent
from collection.values.reference import packaged

Json = dict[str, Any]
Address = Callable[[str, Json], str]
"""The address of a record, by its sheet and the record; on paper there is none."""
Coat = tuple[str, str, str]
"""Scheme, role and decoration, each empty where it is not known."""

STEPS = (0.0, 0.3, 0.6, 0.9)
"""A mark is filled by a quarter for each of these shares that a response may exceed: most that it stands for, policy."""
ONLY_IN = {
    "dwell_s": "time",
    "passes": "number of passes",
    "temperature_c": "temperature",
    "ph": "pH",
    "conductivity_mscm": "conductivity",
    "application": "way of putting it on",
    "agent": "strength",
}


@dataclass(frozen=True)
class Column:
    """A coat that was tested; `group` is its scheme."""

    coat: Coat
    name: str
    code: str
    group: str


@dataclass(frozen=True)
class Group:
    """Coats of one scheme that stand beside each other."""

    scheme: str
    name: str
    url: str | None
    width: int


@dataclass(frozen=True)
class Cell:
    """The strongest response of a coat in the tests of a row; `alike` where all of them say the same."""

    word: str
    level: int
    number: int
    alike: bool
    wet: bool
    url: str


@dataclass(frozen=True)
class Row:
    """Tests with one agent under the same conditions; `first` where the agent has not been named above."""

    agent: str
    first: bool
    used: str
    tests: tuple[tuple[str, str], ...]
    cells: tuple[Cell | None, ...]


@dataclass(frozen=True)
class Limit:
    """What a coat stood at most, and what first did something, for each kind of agent, with the tests; and where a
    test that stood and one that did something differ in one condition alone."""

    column: Column
    stood: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    harmed: tuple[tuple[str, str, tuple[tuple[str, str], ...]], ...]
    between: tuple[str, ...]


@dataclass(frozen=True)
class ResponseGrid:
    """Groups of columns, columns and rows; what each coat stood; the words for each level of mark that is shown."""

    groups: tuple[Group, ...]
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    limits: tuple[Limit, ...]
    levels: tuple[tuple[int, str], ...]


def response_grid(published: PublishedObject, tests: Sequence[Json], to: Address) -> ResponseGrid | None:
    """The grid of some of an object's tests; None where none of them tells what a coat did."""
    met = [(row, _coats_met(published, row)) for row in tests]
    columns = _columns(published, {coat for _, coats in met for coat, _ in coats})
    if not columns:
        return None
    policy = default_policy()
    trials = {row["test"]: _trials(row, coats, policy) for row, coats in met}
    addresses = {row["test"]: to("tests", row) for row in tests}
    kinds: dict[Any, list[Json]] = {}
    for row in tests:
        agent = _agent(row)
        kinds.setdefault((frozenset(dict(agent.families)), frozenset(dict(agent.additives))), []).append(row)

    def worst(rows: Iterable[Json]) -> float:
        return max((each.high for row in rows for _, each in trials[row["test"]]), default=0.0)

    shown: list[Row] = []
    for kind in sorted(kinds.values(), key=lambda rows: (worst(rows), _agent(rows[0]).text)):
        shown += _rows(kind, columns, trials, addresses)
    return ResponseGrid(
        _groups(published, columns, to),
        columns,
        tuple(shown),
        tuple(_limits(columns, trials, list(kinds.values()), addresses, policy)),
        _levels({each.response for found in trials.values() for _, each in found}, policy),
    )


def level(response: str, policy: Policy) -> int:
    """How much of a mark a response fills, in quarters."""
    return sum(policy.response[response][1] > step for step in STEPS)


def _levels(words: set[str], policy: Policy) -> tuple[tuple[int, str], ...]:
    found: dict[int, list[str]] = {}
    for word in policy.response:
        if word in words:
            found.setdefault(level(word, policy), []).append(word)
    return tuple((number, ", ".join(found[number])) for number in sorted(found))


def _agent(row: Json) -> Agent:
    return agents.parse(row["agent"], packaged().solvents)


def _coats_met(published: PublishedObject, row: Json) -> list[tuple[Coat, Json]]:
    """The responses of a test, each with the coat that it is about."""
    found = []
    for response in row["responses"]:
        scheme, role = response.get("scheme") or "", response.get("role") or ""
        if response.get("decoration"):
            own: Json = next(
                (each for each in published["decorations"] if each["decoration"] == response["decoration"]), {}
            )
            coat = (own.get("scheme") or "", own.get("kind") or "", response["decoration"])
        elif response.get("sample"):
            layers = published.coats(response["sample"])
            layer = next((each for each in layers if each["position"] == response.get("position")), {})
            coat = (layer.get("scheme") or "", layer.get("role") or "", "")
        else:
            coat = (scheme, role, "")
        found.append((coat, response))
    return found


def _columns(published: PublishedObject, coats: set[Coat]) -> tuple[Column, ...]:
    """Outermost first: what belongs to no scheme, then the schemes from the last to the first."""
    ranks = {row["scheme"]: row.get("rank") for row in published["schemes"]}
    order = {word: number for number, word in enumerate(ROLE.words)}

    def place(coat: Coat) -> tuple[Any, ...]:
        scheme, role, decoration = coat
        rank = ranks.get(scheme)
        return (
            scheme != "",
            rank is not None,
            -(rank or 0),
            natural(scheme),
            -order.get(role, len(order)),
            natural(decoration),
        )

    return tuple(Column(coat, _name(coat), coat[2], coat[0]) for coat in sorted(coats, key=place))


def _name(coat: Coat) -> str:
    scheme, role, _ = coat
    return role or ("outermost coat" if scheme else "coat not named")


def _groups(published: PublishedObject, columns: Sequence[Column], to: Address) -> tuple[Group, ...]:
    schemes = {row["scheme"]: row for row in published["schemes"]}
    found: list[Group] = []
    for column in columns:
        if found and found[-1].scheme == column.group:
            found[-1] = replace(found[-1], width=found[-1].width + 1)
            continue
        row = schemes.get(column.group)
        name = "No scheme named" if not column.group else row["name"] if row else f"Scheme {column.group}"
        found.append(Group(column.group, name, None if row is None else to("schemes", row), 1))
    return tuple(found)


def _trials(row: Json, coats: Iterable[tuple[Coat, Json]], policy: Policy) -> list[tuple[Coat, Trial]]:
    """The responses of a test as the computations read them, each with its coat."""
    test, agent = as_record(Test, row), _agent(row)
    used = conditions_of(test, agent)
    return [
        (
            coat,
            Trial(
                test,
                agent,
                None,
                Met(coat[0] or None, coat[1] or None, "", None, coat[2] or None),
                *policy.response[response["response"]],
                response["response"],
                used,
                None,
            ),
        )
        for coat, response in coats
    ]


def _used(row: Json) -> str:
    """How an agent was used: conditions, and what else sets its test apart."""
    action = row.get("action")
    parts = (
        conditions(row),
        action if action not in (None, "solvent", "aqueous") else None,
        f"on {row['finish']} finish" if row.get("finish") not in (None, "sound") else None,
    )
    return ", ".join(part for part in parts if part) or "conditions not recorded"


def _harshness(row: Json) -> tuple[Any, ...]:
    """A plain order that agrees with every comparison of two tests of one kind of agent: in each coordinate alike."""
    agent, used = _agent(row), conditions_of(as_record(Test, row), _agent(row))
    blank = default_policy().blank
    return (
        sum(share for _, share in agent.acting),
        sum(share for _, share in agent.additives),
        *(used.get(name) or blank[name] for name in ("acid", "alkaline")),
        *((used.get(name) or blank.get(name, (0.0, 0.0))) for name in CONDITIONS if name not in ("acid", "alkaline")),
    )


def _rows(
    kind: Sequence[Json],
    columns: Sequence[Column],
    trials: dict[str, list[tuple[Coat, Trial]]],
    addresses: dict[str, str],
) -> Iterator[Row]:
    """The rows of one kind of agent, from the mildest use to the harshest."""
    alike: dict[tuple[str, str], list[Json]] = {}
    for row in sorted(kind, key=_harshness):
        alike.setdefault((_agent(row).text, _used(row)), []).append(row)
    above = None
    for (agent, used), rows in alike.items():
        by_coat: dict[Coat, list[tuple[str, Trial]]] = {}
        for row in rows:
            for coat, trial in trials[row["test"]]:
                by_coat.setdefault(coat, []).append((addresses[row["test"]], trial))
        yield Row(
            agent,
            agent != above,
            used,
            tuple((row["test"], addresses[row["test"]]) for row in rows),
            tuple(_cell(by_coat.get(column.coat)) for column in columns),
        )
        above = agent


def _cell(found: Sequence[tuple[str, Trial]] | None) -> Cell | None:
    if not found:
        return None
    url, worst = max(found, key=lambda item: (item[1].high, item[1].low))
    return Cell(
        worst.response,
        level(worst.response, default_policy()),
        len({trial.test.test for _, trial in found}),
        len({trial.response for _, trial in found}) == 1,
        all(trial.test.after_drying == "no" for _, trial in found),
        url,
    )


def _limits(
    columns: Sequence[Column],
    trials: dict[str, list[tuple[Coat, Trial]]],
    kinds: Sequence[Sequence[Json]],
    addresses: dict[str, str],
    policy: Policy,
) -> Iterator[Limit]:
    """For each coat and kind of agent, the harshest tests that did nothing and the mildest that did something."""
    for column in columns:
        own = [trial for found in trials.values() for coat, trial in found if coat == column.coat and _wets(trial)]
        overruled = [trial for trial in own if trial.high > 0]

        def stood(trial: Trial, did: Sequence[Trial] = overruled) -> bool:
            dry = trial.test.after_drying != "no"
            return dry and trial.high == 0 and at_most(trial, did, policy) == 0

        ladders = [
            (here[0].agent.text, ladder_of(here, here[0].agent, policy, stood))
            for kind in kinds
            if (here := [trial for trial in own if trial.test.test in {row["test"] for row in kind}])
        ]
        held = _together([trial for _, ladder in ladders for trial in ladder.stood], addresses)
        harmed = _together([trial for _, ladder in ladders for trial in ladder.harmed], addresses)
        if held or harmed:
            yield Limit(
                column,
                tuple((used, tests) for used, _, tests in held),
                tuple(harmed),
                tuple(
                    dict.fromkeys(
                        f"With {agent} the limit lies in the {ONLY_IN[each.condition]}."
                        for agent, ladder in ladders
                        for each in ladder.limits()
                    )
                ),
            )


def _wets(trial: Trial) -> bool:
    """Whether a test says anything of other liquids: a scalpel's does not."""
    return KIND_OF_ACTION[trial.test.action or "solvent"] in ("contact", "adds")


def _together(found: Iterable[Trial], addresses: dict[str, str]) -> list[tuple[str, str, tuple[tuple[str, str], ...]]]:
    """Trials under equal conditions and with one response: the conditions, the response, the tests."""
    alike: dict[tuple[str, str], dict[str, str]] = {}
    for trial in found:
        used = ", ".join(part for part in (trial.agent.text, conditions(vars(trial.test))) if part)
        alike.setdefault((used, trial.response), {})[trial.test.test] = addresses[trial.test.test]
    return [(used, response, tuple(tests.items())) for (used, response), tests in alike.items()]
