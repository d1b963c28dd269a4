"""The stratigraphy page: an object's samples side by side, correlated, and the sequence as a Harris matrix."""

from __future__ import annotations

from typing import Any

from collection.compute.stratigraphy.strata import SURE, Strata, strata
from collection.output.drawings.strata_picture import letter
from collection.output.published_object import PublishedObject
from firstcoat_site.addresses import Addresses

Json = dict[str, Any]


def sequence_data(published: PublishedObject) -> Json:
    """The correlation of the published samples, as `firstcoat strata --json` gives it."""
    return strata(published.case).as_json()


def sequence_page(published: PublishedObject, to: Addresses) -> Json:
    """What the template shows: every coat of the sequence, outermost first, with where each sample has it."""
    found = strata(published.case)
    return {
        "strata": found,
        "units": _units(published, found, to),
        "samples": [(code, to.sample(code)) for code in found.samples],
        "held_back": any(published["withheld"].get(sheet) for sheet in ("samples", "layers", "schemes")),
    }


def _units(published: PublishedObject, found: Strata, to: Addresses) -> list[Json]:
    layers = {(row["sample"], row["position"]): row for sample in published["samples"] for row in sample["layers"]}
    reaches = {row["sample"]: row.get("reaches_support") == "yes" for row in published["samples"]}
    placed = {(p.sample, p.position): p for p in found.placings}
    deepest = {
        sample: min((at for at, unit in enumerate(found.units) for code, _ in unit.coats if code == sample), default=0)
        for sample in found.samples
    }
    units = []
    for at in range(len(found.units) - 1, -1, -1):
        unit = found.units[at]
        where = dict(unit.coats)
        cells: list[Json] = []
        for sample in found.samples:
            if sample not in where:
                cells.append({"silent": at < deepest[sample] and not reaches[sample]})
                continue
            coat = layers[sample, where[sample]]
            placing = placed[sample, where[sample]]
            cells.append(
                {
                    "position": where[sample],
                    "url": to.record("layers", coat),
                    "doubtful": bool(unit.campaign) and placing.chance < SURE,
                    "chance": placing.chance,
                }
            )
        shown = [layers[coat] for coat in unit.coats]
        units.append(
            {
                "code": unit.code,
                "role": unit.role,
                "campaign": letter(unit.campaign),
                "scheme": unit.scheme,
                "colour": next((row["colour"] for row in shown if row.get("colour")), None),
                "cells": cells,
            }
        )
    return units
