"""What the companion beside the swab answers for one place, before it is put into words."""

from __future__ import annotations

from dataclasses import dataclass

from collection.compute.case import Case
from collection.compute.safety import Safety
from collection.compute.windows.arrest import Arrest
from collection.compute.windows.companion.coats import Coats
from collection.compute.windows.companion.next_step import Step
from collection.compute.windows.companion.signs import Wait
from collection.compute.windows.windows import Pair
from collection.ingest.companion.bottles import Bottles
from collection.ingest.companion.open_facts import OpenFacts
from collection.records.facts import Facts
from collection.values.agents import Agent


@dataclass(frozen=True)
class Answer:
    """What one screen says. `pair` is None where there is nothing to remove or nothing to keep."""

    object_code: str
    place: str
    survey: str
    in_use: bool
    open: OpenFacts
    coats: Coats
    pair: Pair | None
    step: Step
    arrest: Arrest | None
    calmest: Agent | None
    bottles: Bottles
    wait: Wait | None
    safety: Safety
    case: Case
    not_here: tuple[str, ...]

    @property
    def facts(self) -> Facts:
        return self.case.facts
