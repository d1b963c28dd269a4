"""Three questions that a stranger asks of the exported documents alone, answered by rdflib as the records answer them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from linked_graphs import Exported
from rdflib import Graph

from collection.output.export.linked_art.facts import facts_from
from collection.output.export.linked_art.questions import QUESTIONS

Json = dict[str, Any]


@pytest.fixture(scope="module")
def told(exported: Exported) -> dict[str, Json]:
    """The facts of each object by its id."""
    documents = [json.loads(text) for text in exported.texts.values()]
    return {each["id"]: facts_from(each) for each in documents}


def answers(found: Graph, folder: Path, name: str, *columns: str) -> list[tuple[str | None, ...]]:
    query = (folder / "questions" / f"{name}.rq").read_text("utf-8")
    rows: Any = found.query(query)
    return [tuple(None if row[column] is None else str(row[column]) for column in columns) for row in rows]


def test_each_question_goes_along_and_says_what_it_asks(exported: Exported) -> None:
    for name, question in QUESTIONS.items():
        text = (exported.folder / "questions" / f"{name}.rq").read_text("utf-8")
        assert text.startswith(f"# {question.asks}")
    assert len(QUESTIONS) == 3


def test_which_objects_keep_original_finish_under_later_paint(
    whole: Graph, exported: Exported, told: dict[str, Json]
) -> None:
    found = answers(whole, exported.folder, "original-under-later", "object", "place", "middle")
    wanted = [
        (own, f"{own}/place/{row['place']}" if row["place"] != "all" else own, row["share"] and str(row["share"][1]))
        for own, facts in told.items()
        for row in facts["survival"]["places"]
        if row["state"] == "original covered"
    ]
    assert {(own, place) for own, place, _ in found} == {(own, place) for own, place, _ in wanted}
    assert {own.rpartition("/")[2] for own, _, _ in found} >= {"OHM-1962-7", "OHM-1974-21"}
    middles = {(own, place): float(middle) for own, place, middle in found if middle}
    assert middles == {(own, place): float(middle) for own, place, middle in wanted if middle}


def test_which_tests_harmed_an_original_coat(whole: Graph, exported: Exported, told: dict[str, Json]) -> None:
    """By the records: of each response the coat, scheme or decoration that it names, and the period of that."""
    wanted = set()
    for own, facts in told.items():
        periods = {row["scheme"]: row["period"] for row in facts["schemes"]}
        coats = {(row["sample"], coat["position"]): coat for row in facts["samples"] for coat in row["layers"]}
        painted = {row["decoration"]: row.get("scheme") for row in facts["decorations"]}
        for test in facts["tests"]:
            for row in test["responses"]:
                coat = coats.get((row.get("sample"), row.get("position")), {})
                scheme = row.get("scheme") or coat.get("scheme") or painted.get(row.get("decoration"))
                period = periods.get(scheme) or coat.get("period")
                if row["response"] != "none seen" and period == "original":
                    wanted.add((own, test["test"], test["agent"], row["response"]))
    found = answers(whole, exported.folder, "tests-that-harmed", "object", "test", "agent", "did")
    assert set(found) == wanted
    assert len(found) == len(wanted) > 3


def test_who_said_a_claim_and_what_became_of_it(whole: Graph, exported: Exported, told: dict[str, Json]) -> None:
    found = answers(whole, exported.folder, "claims", "object", "claim", "source", "became", "when", "survey")
    wanted = []
    for own, facts in told.items():
        titles = {row["source"]: row["title"] for row in facts["sources"]}
        surveys = {row["code"]: row["title"] for row in facts["surveys"]}
        newest = {
            row["claim"]: row["statement"] for row in sorted(facts["claims"], key=lambda r: r.get("observed_on", ""))
        }
        for row in facts["claims"]:
            source = titles.get(row.get("source"))
            when = row.get("observed_on")
            wanted.append((own, newest[row["claim"]], source, row["status"], when, surveys[row["survey"]]))
    assert sorted(found, key=str) == sorted(wanted, key=str)
    assert {became for _, _, _, became, _, _ in found} >= {"confirmed", "refuted"}
