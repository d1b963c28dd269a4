"""Exposure limits of the liquids, by body and year as far as known; read beside the reference tables, not by `assess`.

A limit is no permission, and a liquid without one is not harmless.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from collection.values.reference_rows import STATUSES, rows

KINDS = ("8-hour mean", "15-minute mean", "ceiling", "dangerous to life at once")
UNITS = frozenset({"ppm", "mg/m3"})


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit as its body states it; `year` is blank where the source does not tell its edition."""

    liquid: str
    body: str
    year: str | None
    kind: str
    value: float
    unit: str
    source: str
    status: str
    note: str | None


@lru_cache(maxsize=1)
def limits() -> tuple[Limit, ...]:
    """Every line of limits.csv, in the table's order.

    :raises OurFault: when the table is damaged.
    """
    found = []
    for row in rows("limits.csv"):
        value = row.number("value")
        if value is None or value <= 0:
            raise row.fault("a limit is above 0")
        found.append(
            Limit(
                row.text("liquid"),
                row.text("body"),
                row.maybe("year"),
                row.one_of("kind", frozenset(KINDS)),
                value,
                row.one_of("unit", UNITS),
                row.text("source"),
                row.one_of("status", STATUSES),
                row.maybe("note"),
            )
        )
    return tuple(found)


def limits_of(liquid: str) -> tuple[Limit, ...]:
    """The limits of one liquid by its name in the solvent table, shortest time last."""
    return tuple(
        sorted(
            (limit for limit in limits() if limit.liquid == liquid),
            key=lambda limit: (KINDS.index(limit.kind), limit.value, limit.body),
        )
    )
