"""The liquids within reach at the bench and how they may be applied, from a small TOML file.

    bottles = ["acetone", "isooctane", "1 ethanol + 9 isooctane", "water pH 7", "water pH 8.5 + 1% ammonium citrate"]
    applications = ["rolled swab", "rubbed swab"]

A jar that is mixed already is written as agents are everywhere, in parts by volume; water has its pH beside it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from collection.compute.windows.mixtures import Jar, read_jar
from collection.ingest.package.faults import shortened
from collection.ingest.package.headings import nearest
from collection.ingest.package.survey_file import read_toml
from collection.language.errors import BadValue, CouldNot, Fault, InputRefused, WrongCommand
from collection.language.work_words import APPLICATION, WETTING_RUBBING
from collection.values import agents
from collection.values.agents import Agent
from collection.values.reference import Reference, SolventNames

KEYS = ("bottles", "applications")
MOST_BOTTLES = 40
"""More than a table holds, and more than can be mixed with each other while somebody waits."""
HOW = 'Write bottles = ["acetone", "1 ethanol + 9 isooctane"], one liquid or mixture in each pair of quotation marks.'


@dataclass(frozen=True, slots=True)
class Bottles:
    """What is at hand. `jars` in the order of the file, each once; `applications` gentlest first, none where the file
    does not say; `told` are sentences about liquids that no table knows, names of several, and water without a pH."""

    jars: tuple[Jar, ...]
    applications: tuple[str, ...] = ()
    told: tuple[str, ...] = ()

    @property
    def agents(self) -> tuple[Agent, ...]:
        """The agents of the jars, each once, whatever their pH."""
        return tuple(dict.fromkeys(jar.agent for jar in self.jars))

    @property
    def liquids(self) -> tuple[str, ...]:
        """Every bottle as it may be written."""
        return tuple(jar.text for jar in self.jars)


def read_bottles(path: Path, reference: Reference) -> Bottles:
    """The bottles of a file.

    :raises WrongCommand: when there is no such file.
    :raises CouldNot: when it cannot be read from the disk.
    :raises InputRefused: with every fault of it, each as a sentence with the line where that is known.
    """
    if not path.is_file():
        raise WrongCommand(f"There is no file {str(path)!r}. It lists what stands at the bench. {HOW}")
    try:
        text, held, (line, refusal) = read_toml(path, HOW, "This file is over 1 MB, which no list of bottles needs.")
    except OSError as error:
        raise CouldNot(f"{path.name} cannot be read: {error.strerror or error}.") from error
    if held is None:
        raise InputRefused([Fault(path.name, "", line, None, None, refusal)])
    faults: list[Fault] = []
    found = _bottles(path.name, text, held, reference.solvents, faults)
    applications = _applications(path.name, text, held, faults)
    for key in held:
        if key not in KEYS:
            said = f"No such line is known. It may hold {' and '.join(KEYS)}."
            faults.append(_fault(path.name, text, key, None, said, nearest(key, KEYS)))
    if faults:
        raise InputRefused(faults)
    told = tuple(
        dict.fromkeys(
            said for jar in found for said in (*agents.warnings(jar.agent, reference.solvents), *_without_ph(jar))
        )
    )
    return Bottles(tuple(found), applications, told)


def _without_ph(jar: Jar) -> tuple[str, ...]:
    if not jar.agent.aqueous or jar.ph is not None:
        return ()
    return (f"The pH of {jar.agent.text!r} is not written, and a test without it clears nothing: write water pH 7.",)


def _bottles(name: str, text: str, held: Mapping[str, Any], solvents: SolventNames, faults: list[Fault]) -> list[Jar]:
    written = _texts(name, text, held, "bottles", faults)
    if written is None:
        return []
    if not written:
        faults.append(_fault(name, text, "bottles", None, f"No bottle is named, so nothing can be mixed. {HOW}"))
    if len(written) > MOST_BOTTLES:
        faults.append(
            _fault(
                name,
                text,
                "bottles",
                None,
                f"These are {len(written)} bottles, and at most "
                f"{MOST_BOTTLES} can be thought through at once. Name those that are on the table.",
            )
        )
        return []
    found: dict[str, Jar] = {}
    for each in written:
        try:
            jar = read_jar(each, solvents)
        except BadValue as wrong:
            faults.append(_fault(name, text, "bottles", each, str(wrong), wrong.nearest))
            continue
        found.setdefault(jar.text, jar)
    return list(found.values())


def _applications(name: str, text: str, held: Mapping[str, Any], faults: list[Fault]) -> tuple[str, ...]:
    found = []
    for each in (_texts(name, text, held, "applications", faults) or ()) if "applications" in held else ():
        try:
            found.append(APPLICATION.read(each))
        except BadValue as wrong:
            faults.append(_fault(name, text, "applications", each, str(wrong), wrong.nearest))
    return tuple(sorted(dict.fromkeys(found), key=lambda word: (sum(WETTING_RUBBING[word]), word)))


def _texts(name: str, text: str, held: Mapping[str, Any], key: str, faults: list[Fault]) -> list[str] | None:
    if key not in held:
        faults.append(Fault(name, "", None, key, None, f"This line is missing. {HOW}"))
        return None
    value = held[key]
    if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
        faults.append(
            _fault(
                name,
                text,
                key,
                None,
                "This has to be texts in square brackets, each in quotation marks, "
                f'with commas between: {key} = ["…", "…"].',
            )
        )
        return None
    return value


def _fault(name: str, text: str, key: str, value: str | None, message: str, near: str | None = None) -> Fault:
    """A fault on the line where the value stands, else on the one where its key does."""
    lines = text.splitlines()
    head = rf"\s*[\"']?{re.escape(key)}[\"']?\s*[.=]|\s*\[+\s*{re.escape(key)}\s*\]"
    first = next((at for at, line in enumerate(lines, 1) if re.match(head, line)), None)
    if value is not None and first is not None:
        quoted = rf"[\"']{re.escape(value)}[\"']"
        first = next((at for at, line in enumerate(lines, 1) if at >= first and re.search(quoted, line)), first)
    return Fault(name, "", first, shortened(key), None if value is None else shortened(value), message, near)
