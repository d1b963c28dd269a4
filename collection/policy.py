"""The policy: thresholds and values of judgement, in one file that an institution can replace."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from collection.errors import Fault, InputRefused
from collection.resources import schema_file
from collection.words import RESPONSE

Interval = tuple[float, float, float]


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


@cache
def default_policy() -> Policy:
    """The policy that firstcoat ships."""
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
        severity = data["severity"]
        policy = Policy(
            version=str(data["version"]),
            sha256=hashlib.sha256(content).hexdigest(),
            response={k: (float(v[0]), float(v[1])) for k, v in data["response"].items()},
            cover={k: (float(v[0]), float(v[1]), float(v[2])) for k, v in data["cover"].items()},
            blank={k: (float(v[0]), float(v[1])) for k, v in data["blank"].items()},
            destroys_low_loss=float(severity["destroys_low_loss"]),
            contact=float(severity["contact"]),
            model_rate=float(severity["model_rate"]),
            cut_loss=float(severity["cut_loss"]),
            cut_readings=int(severity["cut_readings"]),
            clearing_years=float(data["clearing"]["years"]),
            least_log_sd=float(data["cut"]["least_log_sd"]),
        )
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise _refused(name, f"The policy cannot be read: {error}.") from error
    except (KeyError, IndexError, TypeError, ValueError) as error:
        raise _refused(name, f"The policy lacks or misstates a value: {error}. Compare it with the shipped "
                             "policy.toml.") from error
    if set(policy.response) != set(RESPONSE.words):
        raise _refused(name, f"[response] must name exactly: {', '.join(RESPONSE.words)}.")
    if policy.response["none seen"] != (0.0, 0.0):
        raise _refused(name, "'none seen' must stay [0, 0]: it is what clearing rests on.")
    spans = [*policy.response.values(), *policy.cover.values()]
    if any(not all(0 <= v <= 1 for v in span) or list(span) != sorted(span) for span in spans):
        raise _refused(name, "Shares must lie between 0 and 1, from low to high.")
    if any(low > high for low, high in policy.blank.values()):
        raise _refused(name, "[blank] intervals run from mildest to harshest.")
    return policy


def _refused(name: str, message: str) -> InputRefused:
    return InputRefused([Fault(name, "policy", None, None, None, message)])
