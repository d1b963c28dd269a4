"""Pairs of pictures of one place, view and lighting, one of each side, to be laid side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from collection.compute.build_up.readings import samples_of
from collection.compute.case import Case
from collection.compute.compare.sides import Sides, newest
from collection.records.sheets import Picture
from collection.values.numbers import six


@dataclass(frozen=True, slots=True)
class PicturePair:
    """Two pictures of one place; `enlarge` is by how much the later has to be shown larger than the earlier, pixel for
    pixel, to be at its scale; None where either has no scale."""

    place: str
    view: str
    lighting: str
    then: Picture
    now: Picture

    @property
    def enlarge(self) -> float | None:
        then, now = self.then.um_per_px, self.now.um_per_px
        return now / then if then and now else None

    def as_json(self) -> dict[str, Any]:
        return {
            "place": self.place,
            "view": self.view,
            "lighting": self.lighting,
            **{
                name: {
                    "picture": row.picture,
                    "sample": row.sample,
                    "stage": row.stage,
                    "taken_on": row.taken_on,
                    "um_per_px": None if row.um_per_px is None else six(row.um_per_px),
                }
                for name, row in (("then", self.then), ("now", self.now))
            },
            "enlarge": None if self.enlarge is None else six(self.enlarge),
        }


def picture_pairs(case: Case, sides: Sides) -> tuple[PicturePair, ...]:
    """The pairs, whole views first; of several pictures of a side the newest, by code where dates may overlap.

    Pictures of a test show that test and pair with none.
    """
    then, now = (_by_subject(case, side.brought.pictures) for side in (sides.earlier, sides.later))
    return tuple(
        PicturePair(*subject, then[subject], now[subject])
        for subject in sorted(then, key=lambda each: (_VIEWS.index(each[1]), each))
        if subject in now and then[subject] != now[subject]
    )


_VIEWS = ("whole", "detail", "micrograph")


def _by_subject(case: Case, pictures: tuple[Picture, ...]) -> dict[tuple[str, str, str], Picture]:
    samples = samples_of(case)
    found: dict[tuple[str, str, str], list[Picture]] = {}
    for row in pictures:
        sample = samples.get(row.sample or "")
        place = row.place or (sample.place if sample else None)
        if place and row.view in _VIEWS and row.lighting and not row.test:
            found.setdefault((place, row.view, row.lighting), []).append(row)
    return {subject: newest(rows, "taken_on")[-1] for subject, rows in found.items()}
