"""A warning that cries wolf is ignored: everyday work raises no alarm, harmful work always does."""

from __future__ import annotations

from pathlib import Path

import pytest
from everyday_jobs import EVERYDAY, HARMFUL, Job, facts_of_all, outcome

from collection.language.words import SEVERITY_RANK
from collection.records.facts import Facts


@pytest.fixture(scope="module")
def everything(harbour: Path) -> dict[str, Facts]:
    return facts_of_all(harbour)


def test_there_are_thirty_of_each() -> None:
    assert (len(EVERYDAY), len(HARMFUL)) == (30, 30)


@pytest.mark.parametrize("job", EVERYDAY, ids=lambda job: f"{job.object} {job.why}")
def test_an_everyday_job_raises_no_alarm(everything: dict[str, Facts], job: Job) -> None:
    assert SEVERITY_RANK[outcome(everything[job.object], job)] <= SEVERITY_RANK[job.bound]


@pytest.mark.parametrize("job", HARMFUL, ids=lambda job: f"{job.object} {job.why}")
def test_a_harmful_job_raises_one(everything: dict[str, Facts], job: Job) -> None:
    assert SEVERITY_RANK[outcome(everything[job.object], job)] >= SEVERITY_RANK[job.bound]


@pytest.mark.parametrize("action", ["drain", "oil mechanism"])
def test_work_that_reaches_no_coat_raises_nothing_on_any_object(everything: dict[str, Facts], action: str) -> None:
    assert len(everything) == 14
    for code, facts in everything.items():
        assert outcome(facts, Job(code, "clear", action, {"place": "all", "action": action})) == "clear"


@pytest.mark.parametrize("action", ["dust", "dry sponge", "wrap"])
def test_a_brush_or_a_sheet_takes_nothing_where_flakes_were_looked_for_and_not_found(
    everything: dict[str, Facts], action: str
) -> None:
    looked = {
        (code, row.place)
        for code, facts in everything.items()
        for row in facts.conditions
        if (row.phenomenon, row.severity) == ("flaking", 0)
    }
    assert len(looked) >= 12
    for code, place in sorted(looked):
        asked = Job(code, "clear", action, {"place": place, "action": action})
        assert outcome(everything[code], asked) == "clear", (code, place)
