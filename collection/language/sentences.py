"""Figures, counts and sentences in words, the same in the terminal and on the site."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from collection.language.words import parts_of

SMALLEST_M2 = 1e-4
"""A square centimetre: a smaller area means nothing."""


def figure(value: float) -> str:
    """Two significant digits, without an exponent."""
    return f"{float(f'{value:.2g}'):f}".rstrip("0").rstrip(".") or "0"


def around(span: Sequence[float]) -> str:
    """A middle with its ends, [low, middle, high]: `28 (2–440)`; the middle alone where they are one. From 1000 on two
    figures are enough."""
    low, middle, high = (figure(end) if end < 1000 else f"{float(f'{end:.2g}'):,.0f}" for end in span)
    return middle if low == high else f"{middle} ({low}–{high})"


def square_metres(span: Sequence[float]) -> str:
    """`3.2 m² (2.1–4)` of an interval [low, middle, high] in m²."""
    if 0 < span[2] < SMALLEST_M2:
        return f"under {figure(SMALLEST_M2)} m²"
    low, middle, high = (figure(end) if end >= SMALLEST_M2 else "0" for end in span)
    return f"{middle} m²" if low == high else f"{middle} m² ({low}–{high})"


def percent(span: Sequence[float]) -> str:
    """`64 % (41–80)` of an interval of shares; a small one is `under 1 %`, never 0."""
    if 0 < span[2] < 0.005:
        return "under 1 %"
    low, middle, high = (round(100 * end) for end in span)
    return f"{middle} %" if low == high else f"{middle} % ({low}–{high})"


def counted(number: int, noun: str, plural: str | None = None) -> str:
    """`1 trace`, `2 traces`."""
    return f"{number:,} {noun if number == 1 else plural or noun + 's'}"


def ended(text: str) -> str:
    """A text that ends in a full stop, or in the stop it has."""
    text = text.rstrip()
    return text if not text or text.rstrip("”’'\")")[-1:] in (".", "!", "?", "…") else f"{text}."


_CONDITIONS = (
    ("ph", "pH {:g}"),
    ("conductivity_mscm", "{:g} mS/cm"),
    ("dwell_s", "{:g} s"),
    ("passes", "{}"),
    ("temperature_c", "{:g} °C"),
    ("application", "{}"),
)
"""How an agent was used: columns and their wording, in order."""


def conditions(row: Mapping[str, Any]) -> str:
    """How an agent was or would be used: `pH 8.5, 30 s, 2 passes, rolled swab`; empty where nothing is stated."""
    return ", ".join(
        form.format(counted(row[name], "pass", "passes") if name == "passes" else row[name])
        for name, form in _CONDITIONS
        if row.get(name) is not None
    )


def worked(row: Mapping[str, Any]) -> str:
    """A step of work in words: what, where, how, what came off, where it stopped, the outcome."""

    def said(name: str, form: str, beside: str | None = None) -> str | None:
        value = row.get(name)
        return None if value is None else form.format(value) + (f" ({beside})" if beside else "")

    how = ", ".join(part for part in (row.get("agent"), conditions(row)) if part)
    spread, gone = said("depth_sd_um", " ± {:g}"), said("removed_m2", "{:g} m²")
    parts = (
        f"{row['action']} at {row['place']}" + (f" with {how}" if row.get("agent") else f", {how}" if how else ""),
        said("depth_um", f"{{:g}}{spread or ''} µm deep"),
        said("removes", "to take off {}"),
        said("removed", "took off {}", gone),
        said("stop_at", "to stop at {}"),
        said("stopped_at", "stopped at {}"),
        said("arrest_with", "arrested with {}"),
        said("arrested_with", "arrested with {}"),
        said("adds", "puts on {}", row.get("adds_binder")),
        said("removable_with", "comes off with {}"),
        f"leaves out {', '.join(parts_of(row['spares']))}" if row.get("spares") else None,
        said("area_m2", "{:g} m² worked on"),
        said("gloss_after_gu", "gloss {:g} GU afterwards"),
        said("hours", "{:g} h"),
        said("outcome", "{}"),
    )
    return "; ".join(part for part in parts if part)


def described(row: Mapping[str, Any]) -> str:
    """A cleaning test in words: agent, conditions, place, date."""
    return ", ".join(part for part in (row["agent"], conditions(row), row["place"], row.get("tested_on")) if part)


def steps_of(numbers: Collection[int]) -> str:
    """`step 1`, `steps 1, 3`."""
    return f"step{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"


def some(names: Sequence[str], most: int) -> str:
    """`A, B, C and 4 more`."""
    left = len(names) - most
    return ", ".join(names) if left <= 0 else f"{', '.join(names[:most])} and {left} more"


def not_counting(unmeasured: int, unseen: int = 0) -> str:
    """What a figure in m² leaves out: places without an area, and places of which nothing is known; empty where it
    leaves out none."""
    left_out = [f"{counted(unmeasured, 'place')} of unknown area"] * bool(unmeasured)
    left_out += [f"{counted(unseen, 'place')} of which nothing is known"] * bool(unseen)
    return f", not counting {' and '.join(left_out)}" if left_out else ""


def taken(outcome: str, loss_m2: Sequence[float] | None, share: Sequence[float] | None, unmeasured: int) -> str | None:
    """What a proposal takes of the maker's finish, without a full stop; None where the figure is nothing or, where all
    stood the test, too small to mean anything.

    :param outcome: the worst severity.
    :param loss_m2: the interval in m²; None = nothing it reaches was measured.
    :param share: the same as a share of what survives on the object.
    :param unmeasured: how many places have no area, so that the figure leaves them out.
    """
    stood = outcome == "stood"
    if loss_m2 is None or loss_m2[2] <= 0 or (stood and loss_m2[2] < SMALLEST_M2):
        return None
    area = f"up to {figure(loss_m2[2])} m²" if loss_m2[1] < SMALLEST_M2 <= loss_m2[2] else square_metres(loss_m2)
    return (
        f"It {'might' if stood else 'would'} take {area} of documented original finish"
        + ("" if share is None else f", {percent(share)} of what survives on this object")
        + not_counting(unmeasured)
    )


def standing(sheet: str, row: Mapping[str, Any]) -> str | None:
    """The state that a record gives to its subject, to be shown with a quotation, so that it does not claim more."""
    if sheet == "layers" and (row.get("coverage") == "absent" or row.get("coverage_pct") == 0):
        return "looked for, not found"
    if sheet == "conditions" and row.get("severity") == 0:
        return "looked for, none"
    column = {"decorations": "state", "hazards": "status", "claims": "status"}.get(sheet)
    return row.get(column) if column else None
