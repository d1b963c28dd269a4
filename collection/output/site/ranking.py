"""The ranked threats of what a site shows, with their pictures: made once, at the end of publishing.

What an object is worth depends on all others, so that no row of an object can say its magnitudes. Value points are
for staff; for the public all objects count alike, and a set once.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from collection.compute.risk.acts import loss_of
from collection.compute.risk.magnitude import of
from collection.compute.risk.ranking import FROM_MEMORY, AtRisk, Item, order, values
from collection.compute.risk.threat import Threat
from collection.compute.risk.watch import Moved
from collection.output.drawings.risk_sheet import MOST_OBJECTS, pictures
from collection.output.drawings.surviving_bars import Surviving
from collection.output.published.audience import Audience
from collection.output.site.hours_of_work import HoursOfWork
from collection.output.site.object_rows import ObjectRows
from collection.records.policy import default_policy

Json = dict[str, Any]
Row = Mapping[str, Any]

LISTED = "listed"
MOST_LISTED = 20
"""So many threats stand in the table beside the pictures."""


class Ranking:
    """Takes the rows of each object as they are written, and keeps what ranking them needs."""

    def __init__(self, audience: Audience) -> None:
        self._audience = audience
        self._items: list[Item] = []
        self._threats: dict[str, tuple[Threat, ...]] = {}
        self._survival: dict[str, Surviving] = {}
        self._partly: set[str] = set()

    def add(self, found: ObjectRows) -> None:
        """One object; one that has left the collection counts for nothing."""
        (own,), (survival,) = found.rows["objects"], found.rows["survival"]
        self._items.append(Item(found.code, own["part_of"], own.get("value_points"), own["status"] == "left"))
        self._threats[found.code] = tuple(map(_threat, found.rows.get("risks", ())))
        if found.withheld and not self._audience.is_staff:
            self._partly.add(found.code)
        ends = tuple(survival[f"surviving_{end}_m2"] for end in ("low", "middle", "high"))
        self._survival[found.code] = Surviving(
            found.code,
            own["title"],
            survival["area_m2"],
            None if None in ends else ends,
            survival["present"],
            survival["read"],
        )

    def written(
        self, moved: Iterable[Moved], changed_on: Callable[[str], str], work: HoursOfWork | None
    ) -> dict[str, str]:
        """The rows of the table `ranking`.

        :param moved: what is new or worse by all records; told is what the published ones show as well.
        :param changed_on: the day of the newest change of an object, by its number.
        :param work: the hours by kind of work, where readers may know them.
        """
        policy = default_policy().risk
        worth = values(self._items)
        objects = [
            AtRisk(code, self._survival[code].title, value, self._threats[code]) for code, value in worth.items()
        ]
        worst = sorted(objects, key=lambda each: -each.value * loss_of(each.threats, policy)[1])[:MOST_OBJECTS]
        bars = [self._survival[each.object] for each in worst]
        listed = {
            "threats": sum(len(each.threats) for each in objects),
            "objects": len(objects),
            "counted_alike": not self._audience.is_staff or all(item.points is None for item in self._items),
            "from_memory": FROM_MEMORY,
            "ranked": list(_listed(objects)),
            "moved": list(self._told(moved, changed_on)),
            "surviving": [
                {"object": row.object, "title": row.title, "said": row.said, "share": row.share} for row in bars
            ],
            "hours": [] if work is None else list(work.rows),
        }
        drawn = {} if work is None else {"hours": work.picture}
        return {LISTED: json.dumps(listed, ensure_ascii=False), **pictures(objects, bars, policy), **drawn}

    def _told(self, moved: Iterable[Moved], changed_on: Callable[[str], str]) -> Iterator[Json]:
        """New and worse threats, in the words of the published records. Of an object of which anything is held back the
        public is told none: that it is new could tell what is held back."""
        told: set[tuple[str, Threat, str]] = set()
        for row in moved:
            threat, _ = row.shown
            if not row.alarms or row.object not in self._threats or row.object in self._partly:
                continue
            own = next((each for each in self._threats[row.object] if _same(each, threat)), None)
            if own is not None and (row.object, own, row.what) not in told:
                told.add((row.object, own, row.what))
                yield {
                    "what": row.what,
                    "object": row.object,
                    "title": row.title,
                    "changed_on": changed_on(row.object),
                    **{name: said for name, said in own.as_json().items() if name != "evidence"},
                    "event": own.event,
                }


def _same(one: Threat, other: Threat) -> bool:
    return (one.kind, one.event, one.place) == (other.kind, other.event, other.place)


def _listed(objects: list[AtRisk]) -> Iterator[Json]:
    policy = default_policy().risk
    for rank, (each, threat) in enumerate(order(objects, policy, MOST_LISTED), 1):
        yield {
            "rank": rank,
            "object": each.object,
            "title": each.title,
            **{name: said for name, said in threat.as_json().items() if name != "evidence"},
            "event": threat.event,
            "soon": threat.soon,
            **of(policy, threat, each.value).as_json(policy),
        }


def _threat(row: Row) -> Threat:
    return Threat(
        row["kind"],
        row["place"],
        row["message"],
        row["remedy"],
        (),
        soon=row["soon"],
        share=(row["share_low"], row["share_middle"], row["share_high"]),
        event=row["event"],
        pace_years=row["pace_years"],
    )
