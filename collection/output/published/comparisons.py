"""What changed on a published object between two surveys, from its published records alone.

Computed at `publish` for every two surveys of the object that follow each other, and for the first and the last.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from collection.compute.compare.comparison import compare
from collection.compute.compare.sides import by_survey
from collection.output.published.published_object import PublishedObject, as_record
from collection.records.facts import ProposalFacts, proposal_of
from collection.records.sheets import Proposal, ProposalStep
from collection.rules.track_record import foreseen
from collection.store.comparison import Compared
from collection.values.dates import Span, bounds

Json = dict[str, Any]


def pairs(surveys: Sequence[Mapping[str, Any]]) -> list[tuple[str, str]]:
    """The surveys of an object that are compared, by code, the earlier first: each with the next, the first with the
    last."""
    codes = [row["code"] for row in sorted(surveys, key=lambda row: (_span(row), row["code"]))]
    found = list(pairwise(codes))
    return [*found, (codes[0], codes[-1])] if len(codes) > 2 else found


def comparisons(published: PublishedObject) -> list[Json]:
    """Each comparison of an object as its page and JSON show it: `{"format", "object", "title", "surveys", "overlap",
    "withheld", "numbers", …}` with what `compare --json` has for an object, and the files of its pictures."""
    surveys = {row["code"]: row for row in published["surveys"]}
    if len(surveys) < 2:
        return []
    brought: dict[str, set[tuple[str, str]]] = defaultdict(set)
    for record, row in published.rows.items():
        brought[row.get("survey") or ""].add(record)
    planned = {row["proposal"]: _planned(row) for row in published["proposals"]}
    carried_out = {row["proposal"] for row in published["treatments"] if row.get("proposal") in planned}
    pictures = {row["picture"]: row for row in published["pictures"]}
    found = []
    for earlier, later in pairs(published["surveys"]):
        spans = [(code, _span(surveys[code])) for code in (earlier, later)]
        sides = by_survey(published.case, spans[0], spans[1], lambda code: brought[code])
        compared = Compared(
            compare(published.case, sides),
            foreseen(published.case, sides, {code: planned[code] for code in sorted(carried_out)}),
        )
        shown = compared.as_json()
        for pair in shown["pictures"]:
            for side in ("then", "now"):
                row = pictures[pair[side]["picture"]]
                pair[side] |= {name: row.get(name) for name in ("file", "size", "caption", "rights")}
        found.append(
            {
                "format": 1,
                "surveys": [
                    {name: surveys[code].get(name) for name in ("code", "title", "started", "ended")}
                    for code in (earlier, later)
                ],
                "overlap": spans[0][1].latest >= spans[1][1].earliest,
                "withheld": bool(published["withheld"]),
                "numbers": compared.numbers,
                **shown,
            }
        )
    return found


def _span(survey: Mapping[str, Any]) -> Span:
    started, ended = survey["started"], survey.get("ended")
    return Span(bounds(started).earliest, bounds(ended or started).latest)


def _planned(proposal: Json) -> ProposalFacts:
    return proposal_of(
        as_record(Proposal, proposal), [as_record(ProposalStep, step) for step in proposal["proposal_steps"]]
    )
