"""The stratigraphy page: an object's campaigns of finishing as bands through its samples, and what each consists of."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import Any

from collection.compute.stratigraphy.strata import SURE
from collection.language.sentences import counted, some
from collection.output.drawings.campaigns import Campaign, campaigns_of
from collection.output.drawings.matrix_picture import branches
from collection.output.drawings.stack import draw, stack_of
from collection.output.published.addresses import Addresses
from collection.output.published.published_object import PublishedObject
from collection.records.codes import natural

Json = dict[str, Any]

BESIDE = 3
"""How many samples are drawn beside their micrographs; the others are links."""
ASKED = 10
"""The samples that are asked for the words of a coat's colour."""
TOLD = 12
"""How many questions of one kind are told in full."""


def sequence_data(published: PublishedObject) -> Json:
    """The correlation of the published samples, as `firstcoat strata --json` gives it."""
    return published.strata


def sequence_page(published: PublishedObject, found: Json, to: Addresses) -> Json:
    """What the template shows: the campaigns, outermost first, each with its coats and the samples that have it."""
    campaigns = campaigns_of(found, published["schemes"], published.coats)
    pictured = sorted((code for code in found["samples"] if published.micrograph(code)), key=natural)
    return {
        "lead": _lead(published, found, campaigns),
        "campaigns": list(_campaigns(published, found, campaigns, to)),
        "bands": published.figure("samples"),
        "beside": draw([stack_of(published, code) for code in pictured[:BESIDE]], name="beside") if pictured else None,
        "pictured": [(code, to.sample(code)) for code in pictured[BESIDE:]],
        "matrix": published.figure("matrix") if branches(found["matrix"]["rows"]) else None,
        "questions": list(_questions(found)),
        "held_back": any(published["withheld"].get(sheet) for sheet in ("samples", "layers", "schemes")),
    }


def _lead(published: PublishedObject, found: Json, campaigns: list[Campaign]) -> str:
    originals = {campaign.number for campaign in campaigns if campaign.period == "original"}
    having = {coat["sample"] for coat in found["coats"] if coat["campaign"] in originals}
    short = [
        row["sample"]
        for row in published["samples"]
        if row["sample"] in set(found["samples"]) - having and row.get("reaches_support") != "yes"
    ]
    total = len(found["samples"])
    told = f"{counted(len(campaigns), 'campaign')} of finishing in {counted(total, 'sample')}. "
    if not originals:
        return told + "None is recorded as the maker's."
    told += f"Coats of the maker's finish are in {len(having)} of {total}"
    if short:
        told += f"; {counted(len(short), 'other stops', 'others stop')} short of where it would lie"
    return told + "."


def _campaigns(published: PublishedObject, found: Json, campaigns: list[Campaign], to: Addresses) -> Iterator[Json]:
    units: dict[int, list[tuple[int, Json]]] = defaultdict(list)
    deepest: dict[str, int] = {}
    for at, unit in enumerate(found["units"]):
        units[unit["campaign"] or 0].append((at, unit))
        for coat in unit["coats"]:
            deepest.setdefault(coat.rpartition("/")[0], at)
    reaches = {row["sample"]: row.get("reaches_support") == "yes" for row in published["samples"]}
    doubtful: dict[int, dict[str, float]] = defaultdict(dict)
    having: dict[int, set[str]] = defaultdict(set)
    for coat in found["coats"]:
        if number := coat["campaign"]:
            having[number].add(coat["sample"])
            if coat["chance"] < SURE:
                least = doubtful[number].get(coat["sample"], 1.0)
                doubtful[number][coat["sample"]] = min(least, coat["chance"])
    order = sorted(found["samples"], key=natural)
    for campaign in campaigns:
        own = units[campaign.number]
        rest = [code for code in order if code not in having[campaign.number]]
        deeper = [code for code in rest if not reaches.get(code) and own[-1][0] < deepest[code]]
        yield {
            "mark": campaign.mark,
            "name": campaign.name,
            "fill": campaign.fill,
            "period": campaign.period,
            "url": None
            if campaign.scheme is None
            else next(
                (to.record("schemes", row) for row in published["schemes"] if row["scheme"] == campaign.scheme), None
            ),
            "coats": _runs([_coat(published, unit) for _, unit in reversed(own)]),
            "samples": [
                (code, to.sample(code), doubtful[campaign.number].get(code))
                for code in order
                if code in having[campaign.number]
            ],
            "deeper": len(deeper),
            "without": [(code, to.sample(code)) for code in rest if code not in set(deeper)],
        }


def _coat(published: PublishedObject, unit: Json) -> Json:
    """One coat of the object: what it is, its colour in words, and how many samples have it."""
    colour = None
    for coat in unit["coats"][:ASKED]:
        sample, _, position = coat.rpartition("/")
        row = next((row for row in published.coats(sample) if row["position"] == int(position)), {})
        colour = colour or row.get("colour")
    return {
        "said": f"{colour}, {unit['role']}" if colour else unit["role"],
        "samples": len({coat.rpartition("/")[0] for coat in unit["coats"]}),
    }


def _runs(coats: list[Json]) -> list[Json]:
    """Coats that are alike and lie on each other, as one line with their number."""
    found = []
    for said, run in groupby(coats, key=lambda coat: coat["said"]):
        alike = list(run)
        most = max(coat["samples"] for coat in alike)
        found.append({"said": said if len(alike) == 1 else f"{said} ({len(alike)} coats)", "samples": most})
    return found


_KINDS = {
    "contradiction": "The samples contradict each other",
    "doubt": "Coats that look like another scheme than theirs",
    "assign": "Coats without a scheme that lie where a scheme lies in other samples",
    "scheme": "Coats that look like a campaign of their own",
    "place": "Coats that could not be placed surely",
}


def _questions(found: Json) -> Iterator[Json]:
    """The open questions by kind; what is asked of many coats alike is said once."""
    kinds: dict[str, list[Json]] = defaultdict(list)
    for question in found["questions"]:
        kinds[question["kind"]].append(question)
    schemes = {f"{coat['sample']}/{coat['position']}": coat["scheme"] for coat in found["coats"]}
    for kind, title in _KINDS.items():
        asked = kinds.get(kind, [])
        coats = [coat for question in asked for coat in question["coats"]]
        if kind == "assign":
            by_scheme: dict[str, list[str]] = defaultdict(list)
            for coat in coats:
                by_scheme[schemes[coat]].append(coat)
            lines = [
                f"Scheme {scheme}: {counted(len(of_it), 'coat')} in {_samples(of_it)}, worked out and at least "
                f"{SURE:.0%} sure."
                for scheme, of_it in sorted(by_scheme.items())
            ]
        elif kind == "place" and coats:
            lines = [
                f"{counted(len(coats), 'coat')} in {_samples(coats)}. They count as kept until somebody says what they "
                "are: look at the samples again, or read others beside them."
            ]
        else:
            lines = [question["message"] for question in asked[:TOLD]]
        if asked:
            more = len(asked) - TOLD if kind not in ("assign", "place") else 0
            yield {"title": title, "lines": lines, "more": max(more, 0)}


def _samples(coats: Iterable[str]) -> str:
    """The samples of some coats, in the order in which people count."""
    return some(sorted({coat.rpartition("/")[0] for coat in coats}, key=natural), 8)
