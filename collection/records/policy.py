"""The policy: thresholds and values of judgement, in one file that an institution can replace."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path
from typing import Any

from collection.language.errors import Fault, InputRefused
from collection.language.words import BINDER
from collection.language.work_words import APPLICATION, RESPONSE
from collection.values.resources import schema_file

Interval = tuple[float, float, float]

UNREAD_MARK = b"# ---- No assessment reads what follows"
UNREAD = ("effort", "risk")
"""The sections that stand below the mark, and they alone: a change of them reopens no approval, as no hash holds them."""


@dataclass(frozen=True, slots=True)
class Margin:
    """How much more of a condition is surely harsher: pH units, a factor for seconds, passes,
    conductivity and shares, °C, ranks of an application."""

    ph: float
    factor: float
    temperature_c: float
    rank: float

    def reach(self, condition: str, value: float) -> float:
        """The harshest value of a condition that may still be no harsher than `value`."""
        if condition in ("dwell_s", "passes", "conductivity_mscm"):
            return value * self.factor
        return value + (
            self.ph
            if condition in ("acid", "alkaline")
            else self.temperature_c
            if condition == "temperature_c"
            else self.rank
        )


@dataclass(frozen=True, slots=True)
class ModelPolicy:
    """How uncertain published regions of solubility are: standard deviations of a sphere's centre and of a band's
    ends in MPa^½ and of the log of a radius; `wider` multiplies them where the binder is not sure; `edge` is the
    softness of an edge as a share of the radius; `misjudged` the chance that a test was; of binders
    that age by oxidation a share `aged_share` of the prior lies up to `aged_shift` MPa^½ to the polar side and is up to
    `aged_growth` of its radius larger; `any_water` the chance that water of any pH acts; `least_share` the share of
    a mixture from which a liquid does what its class effect says; `most_aromatic` the share assumed of a white
    spirit that does not state it; `taken_where_it_acts` the share of a coat that an agent takes, on average, where it
    acts at all."""

    centre_sd: float
    radius_log_sd: float
    band_sd: float
    wider: float
    edge: float
    misjudged: float
    aged_share: float
    aged_shift: float
    aged_growth: float
    any_water: float
    least_share: float
    most_aromatic: float
    taken_where_it_acts: float


@dataclass(frozen=True, eq=False)
class WindowPolicy:
    """What a working window is made for: a spot test of this application and length; `palette`, the liquids that are
    mixed unless others are named; `hazards`, how much a liquid's worst hazard statement counts against it (of a margin
    of 1), by its first four signs, `unknown_hazard` where the table holds none, `further_liquid` for each liquid of a
    mixture after the first."""

    application: str
    dwell_s: float
    palette: tuple[str, ...]
    hazards: Mapping[str, float]
    unknown_hazard: float
    further_liquid: float


@dataclass(frozen=True, slots=True)
class BenchPolicy:
    """What is advised beside the swab: `most_risk`, the share of the posterior in which a mixture acts on the kept coat
    above which it is not proposed even for a spot; `least_chance` of parting the coats below which none is; candidates
    within `about_equal` of the best chance count as equal; `step`, how much further a mixture may reach among published
    binders than the last one where nothing is known of the coats; `least_apart`, how far in MPa^½ it has to lie from
    one that did nothing to be worth a spot; `longer`, the factor by which a swab stays in the next step of a ladder, up
    to `most_dwell_s`, and `most_passes` of it; `wait_hours` and `apart_cm` between two spots."""

    most_risk: float
    least_chance: float
    about_equal: float
    step: float
    least_apart: float
    longer: float
    most_dwell_s: float
    most_passes: float
    wait_hours: float
    apart_cm: float


@dataclass(frozen=True, slots=True)
class EffortPolicy:
    """What hours of work are reckoned with: `hours_per_week` unless others are said; and how much hours per m² differ
    (the standard deviation of their natural logarithm) between actions, between binders within an action, between
    parts, workers, and steps alike in all that: [middle, log-normal width] of what that may be before any log."""

    hours_per_week: float
    action: tuple[float, float]
    binder: tuple[float, float]
    part: tuple[float, float]
    worker: tuple[float, float]
    step: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Soon:
    """How a threat comes about: the years until it has happened, [soonest, middle, latest], and the share that it takes
    of what it reaches, [low, middle, high]."""

    years: Interval
    takes: Interval


@dataclass(frozen=True, eq=False)
class RiskPolicy:
    """What magnitudes of risk are reckoned with: the method's half-step scores, each with the years or the share that it
    stands for, and its bands, each with the magnitude from which it counts, all three from memory; `high_from` and
    `wide_from`, from which magnitude a risk is high, and from which width uncertain; `handled`, how much of what may go at
    most by dusting, wrapping or moving is expected to; `told_from`, by how many steps a magnitude has to move to be told;
    by name, how threats come about, and the hours of small acts, [least, middle, most]."""

    score_of_years: tuple[tuple[float, float], ...]
    score_of_share: tuple[tuple[float, float], ...]
    bands: tuple[tuple[str, float], ...]
    high_from: float
    wide_from: float
    hours_per_week: float
    handled: float
    told_from: float
    soon: Mapping[str, Soon]
    acts: Mapping[str, Interval]


@dataclass(frozen=True, eq=False)
class Policy:
    """Shares lie in 0–1; `response` holds (least, most), `cover` (low, middle, high), `blank` (mildest,
    harshest) in the unit of the column."""

    version: str
    sha256: str
    response: Mapping[str, tuple[float, float]]
    cover: Mapping[str, Interval]
    blank: Mapping[str, tuple[float, float]]
    destroys_low_loss: float
    contact: float
    model_rate: float
    cut_loss: float
    cut_readings: int
    clearing_years: float
    least_log_sd: float
    gloss_difference: float
    stripping_leaves: float
    clearing_sections: int
    whole_sections: int
    failing_extent_pct: float
    hand_misses: float
    margin: Margin
    model: ModelPolicy
    softens: Mapping[str, float]
    window: WindowPolicy
    bench: BenchPolicy
    effort: EffortPolicy
    risk: RiskPolicy


@cache
def default_policy() -> Policy:
    """The policy that comes with firstcoat."""
    return read_policy(schema_file("policy.toml").read_bytes(), "policy.toml")


def load_policy(path: Path | None) -> Policy:
    """An institution's own policy, or the shipped one.

    :raises InputRefused: when the file lacks a value, or one lies outside what it may be.
    """
    return default_policy() if path is None else read_policy(path.read_bytes(), path.name)


def read_policy(content: bytes, name: str) -> Policy:
    """A policy from its TOML text. :raises InputRefused: with the line of what is missing or wrong."""
    try:
        data = tomllib.loads(content.decode())
        read, _, unread = content.partition(UNREAD_MARK)
        misplaced = sorted(set(tomllib.loads("#" + unread.decode())) - set(UNREAD))
        severity = data["severity"]
        policy = Policy(
            version=str(data["version"]),
            sha256=hashlib.sha256(read).hexdigest(),
            response={k: (float(v[0]), float(v[1])) for k, v in data["response"].items()},
            cover={k: (float(v[0]), float(v[1]), float(v[2])) for k, v in data["cover"].items()},
            blank={k: (float(v[0]), float(v[1])) for k, v in data["blank"].items()},
            destroys_low_loss=float(severity["destroys_low_loss"]),
            contact=float(severity["contact"]),
            model_rate=float(severity["model_rate"]),
            cut_loss=float(severity["cut_loss"]),
            cut_readings=int(severity["cut_readings"]),
            clearing_years=float(data["clearing"]["years"]),
            clearing_sections=int(data["clearing"]["sections"]),
            whole_sections=int(data["clearing"].get("whole_sections", data["clearing"]["sections"])),
            failing_extent_pct=float(data["failing"]["extent_pct"]),
            hand_misses=float(data["cut"]["hand_misses"]),
            margin=Margin(**{each.name: float(data["margin"][each.name]) for each in fields(Margin)}),
            stripping_leaves=float(data["removal"]["stripping_leaves"]),
            least_log_sd=float(data["cut"]["least_log_sd"]),
            model=ModelPolicy(**{each.name: float(data["model"][each.name]) for each in fields(ModelPolicy)}),
            gloss_difference=float(data["coating"]["gloss_difference"]),
            softens={BINDER.read(binder): float(at) for binder, at in data["softens"].items()},
            window=WindowPolicy(
                APPLICATION.read(data["window"]["application"]),
                float(data["window"]["dwell_s"]),
                tuple(str(name) for name in data["window"]["palette"]),
                {str(code): float(weight) for code, weight in data["window"]["hazards"].items()},
                float(data["window"]["unknown_hazard"]),
                float(data["window"]["further_liquid"]),
            ),
            bench=BenchPolicy(**{each.name: float(data["bench"][each.name]) for each in fields(BenchPolicy)}),
            effort=_effort(data["effort"]) if "effort" in data else default_policy().effort,
            risk=_risk(data["risk"]) if "risk" in data else default_policy().risk,
        )
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise _refused(name, f"The policy cannot be read: {error}.") from error
    except (KeyError, IndexError, TypeError, ValueError) as error:
        raise _refused(
            name, f"The policy lacks or misstates a value: {error}. Compare it with the shipped policy.toml."
        ) from error
    if set(policy.response) != set(RESPONSE.words):
        raise _refused(name, f"[response] must name exactly: {', '.join(RESPONSE.words)}.")
    if policy.response["none seen"] != (0.0, 0.0):
        raise _refused(name, "'none seen' must stay [0, 0]: it is what clearing rests on.")
    spans = [*policy.response.values(), *policy.cover.values()]
    if any(not all(0 <= v <= 1 for v in span) or list(span) != sorted(span) for span in spans):
        raise _refused(name, "Shares must lie between 0 and 1, from low to high.")
    model = policy.model
    if (
        min(model.centre_sd, model.radius_log_sd, model.band_sd, model.edge) <= 0
        or model.wider < 1
        or not 0 < model.misjudged < 0.5
    ):
        raise _refused(
            name, "In [model] what is a spread or an edge is above 0, wider at least 1, misjudged between 0 and 0.5."
        )
    if misplaced:
        raise _refused(name, f"Move [{misplaced[0]}] above the line {UNREAD_MARK.decode()!r}: assessments read it.")
    effort = policy.effort
    spreads = [getattr(effort, each.name) for each in fields(EffortPolicy) if each.name != "hours_per_week"]
    if not 0 < effort.hours_per_week <= 168 or any(not 0 < value < 10 for pair in spreads for value in pair):
        raise _refused(name, "[effort] takes hours a week up to 168, and spreads [middle, width] over 0 and under 10.")
    _check_risk(policy.risk, name)
    if any(low > high for low, high in policy.blank.values()):
        raise _refused(name, "[blank] intervals run from mildest to harshest.")
    return policy


def _effort(data: Mapping[str, Any]) -> EffortPolicy:
    action, binder, part, worker, step = (
        (float(data[name][0]), float(data[name][1])) for name in ("action", "binder", "part", "worker", "step")
    )
    return EffortPolicy(float(data["hours_per_week"]), action, binder, part, worker, step)


def _risk(data: Mapping[str, Any]) -> RiskPolicy:
    return RiskPolicy(
        score_of_years=tuple((float(score), float(years)) for score, years in data["score_of_years"]),
        score_of_share=tuple((float(score), float(share)) for score, share in data["score_of_share"]),
        bands=tuple((str(band), float(least)) for band, least in data["bands"]),
        high_from=float(data["high_from"]),
        wide_from=float(data["wide_from"]),
        hours_per_week=float(data["hours_per_week"]),
        handled=float(data["handled"]),
        told_from=float(data["told_from"]),
        soon={name: Soon(_three(years), _three(takes)) for name, (years, takes) in data["soon"].items()},
        acts={name: _three(hours) for name, hours in data["acts"].items()},
    )


def _three(ends: Any) -> Interval:
    low, middle, high = (float(end) for end in ends)
    return low, middle, high


def _check_risk(risk: RiskPolicy, name: str) -> None:
    shipped = None if name == "policy.toml" else default_policy().risk
    if shipped is not None and (set(risk.soon) != set(shipped.soon) or set(risk.acts) != set(shipped.acts)):
        raise _refused(name, "[risk.soon] and [risk.acts] must name exactly what the shipped policy names.")
    spans = [*(row.years for row in risk.soon.values()), *risk.acts.values()]
    if any(list(span) != sorted(span) or span[0] <= 0 for span in spans):
        raise _refused(name, "[risk] years and hours are above 0, from low to high.")
    if any(
        list(row.takes) != sorted(row.takes) or not 0 <= row.takes[0] <= row.takes[2] <= 1 for row in risk.soon.values()
    ):
        raise _refused(name, "[risk.soon] shares lie between 0 and 1, from low to high.")
    if not 0 < risk.hours_per_week <= 168 or not 0 <= risk.handled <= 1 or risk.told_from <= 0:
        raise _refused(
            name, "[risk] takes hours a week up to 168, a share for what is handled, and steps above 0 to be told."
        )


def _refused(name: str, message: str) -> InputRefused:
    return InputRefused([Fault(name, "policy", None, None, None, message)])
