"""What a cut (scrape, abrade, polish) does to the coats of a place.

A cut takes what lies above the kept coat: measured depth against measured thicknesses. Without depth and without a coat
to stop at, it goes to the support. With a coat to stop at and no depth, the hand is assumed to miss by a share of the
film above that coat (policy); a scheme means its outermost coat. Dirt, wax and corrosion that nobody measured count as
0 µm: they shield nothing, and a film measured without them still counts. Edges, mouldings and rivets always go first;
grit is no depth (check: FEPA and CAMI grades name particle sizes, not depths). Common practice, no published source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from collection.compute.build_up.coats import Coat
from collection.compute.build_up.places import places_of
from collection.compute.build_up.readings import is_absent, layers_by_sample
from collection.compute.build_up.sections import own_samples
from collection.compute.case import Case, kept
from collection.compute.effects.thickness import chance_through, surely_through
from collection.compute.effects.work import Work
from collection.records.sheets import Layer

UNMEASURED = frozenset({"dirt", "wax", "corrosion"})
"""Coats that nobody measures."""
EDGES = "Edges, mouldings and rivets always go first."


@dataclass(frozen=True, slots=True)
class CutRate:
    """The share of all there is of a coat that a cut takes, [low, middle, high]; `readings` is how many measured the
    film above it; `stops` is True where the cut is to stop at this coat or above it."""

    low: float
    middle: float
    high: float
    why: str
    readings: int = 0
    wanting: str | None = None
    stops: bool = False


def cut_rate(work: Work, coat: Coat) -> CutRate:
    """What a cut takes from one coat."""
    step, policy = work.step, work.case.policy
    if step.depth_um is None:
        return _to_a_stop(work, coat)
    if step.depth_um == 0:
        return CutRate(0.0, 0.0, 0.0, "The cut has no depth.", policy.cut_readings)
    above, through, unknown = _films(work, coat)
    sd = step.depth_sd_um
    low = 0.0
    if sd is not None and len(through) >= policy.cut_readings:
        low = surely_through(step.depth_um, sd, through, policy.least_log_sd)
    if unknown or not above:
        # A film left out says nothing; those that were measured still say that the cut may reach the coat.
        reach = chance_through(step.depth_um, sd or 0.0, above, policy.least_log_sd)
        may = reach is None or reach >= policy.cut_loss
        return CutRate(
            low,
            max(low, policy.hand_misses if reach is None else reach),
            1.0,
            f"The film above it is not measured everywhere. {EDGES}",
            len(above) if may else 0,
            "measure the thickness of every coat above it",
        )
    if work.thinned:
        return CutRate(
            low,
            (low + 1) / 2,
            1.0,
            f"An earlier step may have thinned the film above it. {EDGES}",
            len(above),
            "measure again after the earlier step",
        )
    if sd is None:
        return CutRate(
            low,
            (low + 1) / 2,
            1.0,
            f"The spread of the depth is not stated. {EDGES}",
            len(above),
            "state how far the depth varies",
        )
    reach = chance_through(step.depth_um, sd, above, policy.least_log_sd)
    if reach is None:
        return CutRate(
            low,
            (low + 1) / 2,
            1.0,
            f"One thickness alone says nothing about the film. {EDGES}",
            len(above),
            f"measure at least {policy.cut_readings} thicknesses",
        )
    high = max(reach, low)
    return CutRate(
        low,
        (low + high) / 2,
        high,
        f"A cut of {step.depth_um:g} ± {sd:g} µm against {len(above)} measured films of "
        f"{min(above):g}–{max(above):g} µm above it. {EDGES}",
        len(above),
    )


def _to_a_stop(work: Work, coat: Coat) -> CutRate:
    """A cut without a depth: to the coat it is to stop at, else to the support."""
    step, policy = work.step, work.case.policy
    if not step.stop_at:
        return CutRate(
            1.0,
            1.0,
            1.0,
            f"Neither depth nor a coat to stop at is stated, so it goes to the support. {EDGES}",
            wanting="state how deep the cut goes and how far that varies, or the coat to stop at",
        )
    scheme, _, role = step.stop_at.partition("/")
    # The coats are listed outermost first: a cut to a scheme stops at the first of its coats.
    stop = next((c for c in work.stack.coats if c.scheme == scheme and (not role or c.role == role)), None)
    if stop is None:
        return CutRate(
            0.0,
            0.5,
            1.0,
            f"The coat to stop at, {step.stop_at}, has not been seen in this place: nobody "
            f"knows where the cut stops. {EDGES}",
            wanting="state how deep the cut goes and how far that varies",
            stops=True,
        )
    if coat.key in stop.above:
        return CutRate(1.0, 1.0, 1.0, f"It lies above {step.stop_at}, where the cut is to stop.")
    where = f"The cut is to stop at {step.stop_at}"
    to_stop, _, unknown = _films(work, stop)
    above, through, unknown_here = _films(work, coat)
    if unknown or unknown_here or len(to_stop) < 2 or len(above) < 2 or not any(to_stop):
        return CutRate(
            0.0,
            policy.hand_misses,
            1.0,
            f"{where}, and no depth is measured. {EDGES}",
            wanting="measure the thickness of every coat above it",
            stops=True,
        )
    depth = sum(to_stop) / len(to_stop)
    sd = policy.hand_misses * depth
    low = surely_through(depth, sd, through, policy.least_log_sd)
    reach = chance_through(depth, sd, above, policy.least_log_sd)
    high = 1.0 if reach is None else max(low, reach)
    return CutRate(
        low,
        (low + high) / 2,
        high,
        f"{where}, beneath {len(to_stop)} measured films of {min(to_stop):g}–"
        f"{max(to_stop):g} µm; a hand misses by about a fifth. {EDGES}",
        len(above),
        "a trial in an inconspicuous place, under magnification",
        stops=True,
    )


def _films(work: Work, coat: Coat) -> tuple[list[float], list[float], bool]:
    return _measured(work.case, work.stack.place, work.stack.component, coat)


@kept
def _measured(case: Case, place: str, component: str | None, coat: Coat) -> tuple[list[float], list[float], bool]:
    """Thicknesses in µm above the coat, and down through it, at each sample that shows it: the place's own samples, or
    those of the whole part if its own are fewer than a cut needs. The flag says whether any of these samples leaves a
    thickness out."""
    own, depths = _own(case, place), _depths(case)
    mine = [spot for spot in coat.layers if spot[0] in own]
    if len({sample for sample, _ in mine}) < case.policy.cut_readings:
        samples = _of_part(case, component)
        mine = [
            *coat.layers,
            *(spot for spot in _same_coat(case, coat) if spot[0] in samples and spot not in coat.layers),
        ]
    above, through, unknown = [], [], False
    for spot in sorted(mine):
        total, own_film = depths[spot]
        if total is None:
            unknown = True
            continue
        above.append(total)
        if own_film is not None:
            through.append(total + own_film)
    return above, through, unknown


@kept
def _depths(case: Case) -> Mapping[tuple[str, int], tuple[float | None, float | None]]:
    """For each coat that is there: the thickness in µm of everything above it, None where any of it is not known, and
    its own."""
    found: dict[tuple[str, int], tuple[float | None, float | None]] = {}
    for sample, rows in layers_by_sample(case).items():
        total: float | None = 0.0
        for row in rows:
            own = thickness(row)
            if not is_absent(row):
                if own is None and row.role in UNMEASURED:
                    own = 0.0
                found[sample, row.position] = total, own
                total = None if total is None or own is None else total + own
    return found


@kept
def _own(case: Case, place: str) -> frozenset[str]:
    return frozenset(s.sample for s in own_samples(case, place))


@kept
def _of_part(case: Case, component: str | None) -> frozenset[str]:
    places = places_of(case)
    return frozenset(s.sample for s in case.facts.samples if places.component_of(s.place) == component)


def _same_coat(case: Case, coat: Coat) -> Sequence[tuple[str, int]]:
    return () if coat.scheme is None else _spots(case).get((coat.scheme, coat.role), ())


@kept
def _spots(case: Case) -> Mapping[tuple[str, str], Sequence[tuple[str, int]]]:
    """The samples and positions at which each scheme's coats of each role were found."""
    found: dict[tuple[str, str], list[tuple[str, int]]] = defaultdict(list)
    for layer in case.facts.layers:
        if layer.scheme is not None and not is_absent(layer):
            found[layer.scheme, layer.role].append((layer.sample, layer.position))
    return found


def thickness(layer: Layer) -> float | None:
    """A coat's thickness in µm: as measured, else halfway between its extremes."""
    if layer.thickness_um is not None:
        return layer.thickness_um
    if layer.thickness_min_um is not None and layer.thickness_max_um is not None:
        return (layer.thickness_min_um + layer.thickness_max_um) / 2
    return None
