"""The liquids at hand: a short TOML file, as `bottles = ["acetone", "white spirit 18%"]`."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

from collection import agents
from collection.errors import BadValue, Fault, InputRefused
from collection.reference import Reference
from collection.words import APPLICATION

HOW = 'Write bottles = ["acetone", "ethanol"], one liquid or mixture each.'


@dataclass(frozen=True, slots=True)
class Bottles:
    """`liquids` as they are called in the solvent table, `applications` at hand (empty: any); `told` is what to say of
    names that the table lacks or that stand for several liquids."""

    liquids: tuple[str, ...]
    applications: tuple[str, ...]
    told: tuple[str, ...]


def read_bottles(path: Path, reference: Reference) -> Bottles:
    """What a file of bottles holds.

    :raises InputRefused: naming every entry that cannot be read.
    """
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InputRefused([Fault(path.name, "bottles", None, None, None, f"The file cannot be read: {error}. {HOW}")
                            ]) from error
    faults = [Fault(path.name, "bottles", None, key, None, f"No such key. {HOW}")
              for key in data if key not in ("bottles", "applications")]
    liquids: list[str] = []
    told: list[str] = []
    ways: list[str] = []
    for number, entry in enumerate(_list(data, "bottles", path, faults), 1):
        try:
            agent = agents.parse(entry, reference.solvents)
        except BadValue as error:
            faults.append(Fault(path.name, "bottles", number, "bottles", entry, str(error), error.nearest))
            continue
        liquids.append(agent.text)
        told += agents.warnings(agent, reference.solvents)
    for number, entry in enumerate(_list(data, "applications", path, faults), 1):
        try:
            ways.append(APPLICATION.read(entry))
        except BadValue as error:
            faults.append(Fault(path.name, "bottles", number, "applications", entry, str(error), error.nearest))
    if not liquids and not faults:
        faults.append(Fault(path.name, "bottles", None, "bottles", None, f"No bottle is named. {HOW}"))
    if faults:
        raise InputRefused(faults)
    return Bottles(tuple(dict.fromkeys(liquids)), tuple(ways), tuple(dict.fromkeys(told)))


def _list(data: dict[str, object], key: str, path: Path, faults: list[Fault]) -> list[str]:
    found = data.get(key, [])
    if not isinstance(found, list) or not all(isinstance(each, str) for each in found):
        faults.append(Fault(path.name, "bottles", None, key, None, f"A list of texts belongs here. {HOW}"))
        return []
    return found
