"""Counts, their intervals and tables of what `world` judged."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

Z = 1.959964
NEAR = 0.005
ALARM = ("endangers", "destroys")
CLEARED = ("clear", "stood")


@dataclass(frozen=True)
class Count:
    """So many of so many."""

    hits: int
    of: int

    @property
    def share(self) -> float:
        return self.hits / self.of if self.of else 0.0

    @property
    def interval(self) -> tuple[float, float]:
        """Wilson's 95 % interval (Wilson 1927)."""
        if not self.of:
            return 0.0, 1.0
        p, n = self.share, self.of
        middle, half = p + Z * Z / (2 * n), Z * float(np.sqrt(p * (1 - p) / n + Z * Z / (4 * n * n)))
        return max(0.0, (middle - half) / (1 + Z * Z / n)), min(1.0, (middle + half) / (1 + Z * Z / n))

    def __str__(self) -> str:
        low, high = self.interval
        return f"{self.hits:6} of {self.of:6} = {100 * self.share:5.2f} % ({100 * low:.2f}–{100 * high:.2f})"


def difference(one: Count, other: Count) -> tuple[float, float]:
    """The 95 % interval of `other` less `one` (Newcombe 1998, method 10)."""
    (a, b), (c, d) = one.interval, other.interval
    apart = other.share - one.share
    return (
        apart - float(np.hypot(other.share - c, b - one.share)),
        apart + float(np.hypot(d - other.share, one.share - a)),
    )


def count(rows: Iterable[Any], hit: Callable[[Any], bool]) -> Count:
    """How many rows are hit."""
    hits = [bool(hit(row)) for row in rows]
    return Count(sum(hits), len(hits))


@dataclass(frozen=True)
class Result:
    """The figures that section 6 of the design bounds, each as a count."""

    proposals: int
    cleared_harm: Count
    cleared_touching_harm: Count
    things_cleared_harm: Count
    careful_alarmed: Count
    careful_met_alarmed: Count
    everyday_alarmed: Count
    wax_alarmed: Count
    one_section: Count
    five_sections: Count
    harm_missed: Count
    harm_cleared: Count
    loss_held: Count
    loss_held_where_lost: Count
    loss_held_where_patchy: Count
    survival_held: Count
    survival_held_where_patchy: Count


def held(interval: Sequence[float], truth: float) -> bool:
    """Whether an interval holds the truth, or comes within half a per cent of it."""
    return interval[0] - NEAR <= truth <= interval[-1] + NEAR


def alarmed(row: Any) -> bool:
    return row.outcome in ALARM


def cleared(row: Any) -> bool:
    return row.outcome in CLEARED


def harmless(row: Any) -> bool:
    return row.lost <= 0.01


def reaching(row: Any) -> bool:
    """Whether more than 2 % of some kept coat is truly touched."""
    return any(one.touched > 0.02 for one in row.things)


def figures(judged: Sequence[Any], survival: Sequence[Any]) -> Result:
    """All figures."""
    clear = [row for row in judged if cleared(row)]
    things = [one for row in judged for one in row.things]
    careful = [row for row in judged if row.kind == "careful" and harmless(row)]
    everyday = [row for row in judged if row.kind == "everyday" and harmless(row) and not row.failing]
    harmful = [row for row in judged if row.kind == "harmful" and row.lost > 0.1]
    told = [(row, one) for row in judged for one in row.things if one.interval is not None]
    patchy = ("patchy", "all or nothing")
    return Result(
        proposals=len(judged),
        cleared_harm=count(clear, lambda row: row.lost > 0.02),
        cleared_touching_harm=count((row for row in clear if row.touches), lambda row: row.lost > 0.02),
        things_cleared_harm=count((one for one in things if one.told in CLEARED), lambda one: one.lost > 0.02),
        careful_alarmed=count(careful, alarmed),
        careful_met_alarmed=count((row for row in careful if row.met and reaching(row)), alarmed),
        everyday_alarmed=count(everyday, alarmed),
        wax_alarmed=count((row for row in judged if row.kind == "wax" and harmless(row)), alarmed),
        one_section=count((row for row in careful if row.sections == 1), alarmed),
        five_sections=count((row for row in careful if row.sections == 5), alarmed),
        harm_missed=count(harmful, lambda row: not alarmed(row)),
        harm_cleared=count(harmful, cleared),
        loss_held=count(told, lambda pair: held(pair[1].interval, pair[1].lost)),
        loss_held_where_lost=count(
            (pair for pair in told if pair[1].lost > 0.01), lambda pair: held(pair[1].interval, pair[1].lost)
        ),
        loss_held_where_patchy=count(
            (pair for pair in told if pair[0].patchiness in patchy), lambda pair: held(pair[1].interval, pair[1].lost)
        ),
        survival_held=count(survival, lambda row: held(row.interval, row.truth)),
        survival_held_where_patchy=count(
            (row for row in survival if row.patchiness in patchy), lambda row: held(row.interval, row.truth)
        ),
    )


def tables(judged: Sequence[Any], survival: Sequence[Any]) -> str:
    """Everything as text; intervals are Wilson's at 95 %, as if proposals were independent, which those on one object
    are not quite: beside harms and alarms the number of objects is told."""
    return "\n".join(
        [
            *_cleared(judged),
            *_careful(judged),
            *_everyday(judged),
            *_harmful(judged),
            *_sections(judged),
            *_loss(judged),
            *_survival(survival),
        ]
    )


def _line(name: str, counted: object) -> str:
    return f"  {name:66} {counted}"


def _loses(over: float, row: Any) -> bool:
    return bool(row.lost > over)


def _cleared(judged: Sequence[Any]) -> list[str]:
    clear = [row for row in judged if cleared(row)]
    out = [f"\n{len(judged)} proposals: {dict(Counter(row.outcome for row in judged))}", "\nCleared, and truly harmful"]
    for name, rows in (
        ("all cleared proposals", clear),
        ("that touch a surface", [r for r in clear if r.touches]),
        *((f"that touch, told {told}", [r for r in clear if r.touches and r.outcome == told]) for told in CLEARED),
    ):
        for over in (0.02, 0.01, 0.5):
            harmed = count(rows, partial(_loses, over))
            out.append(_line(f"{name}: lose over {100 * over:.0f} %", harmed))
    out += [
        _line(f"  touching, {kind}: lose over 2 %", count(rows, lambda row: row.lost > 0.02))
        for kind, rows in sorted(by(lambda row: row.kind, (r for r in clear if r.touches)).items())
    ]
    harm = [row for row in clear if row.lost > 0.02]
    for name, rows in (("touching", [r for r in harm if r.touches]), ("other", [r for r in harm if not r.touches])):
        out.append(f"  causes of the {len(rows)} cleared {name} that lose over 2 %: what was read of the thing lost")
        worst = [(row, max(row.things, key=lambda one: one.lost)) for row in rows]
        out += [
            f"    {n:5}  {cause}"
            for cause, n in Counter(
                f"{row.kind} {row.sort}, {one.told}, {one.by}; {one.why}" for row, one in worst
            ).most_common(25)
        ]
        covers = Counter(
            "under 5 %" if one.covers < 0.05 else "5 to 20 %" if one.covers < 0.2 else "over 20 %" for _, one in worst
        )
        objects = len({row.object for row in rows})
        out.append(f"    the thing lost covers of its place: {dict(covers)}; on {objects} objects")
    things = [(row, one) for row in judged for one in row.things if row.touches and one.told in CLEARED]
    for (told, how), rows in sorted(by(lambda pair: (pair[1].told, pair[1].by), things).items()):
        out.append(
            _line(
                f"kept things under touching work, {told}, {how}: lose over 2 %",
                count(rows, lambda pair: pair[1].lost > 0.02),
            )
        )
    return out


def by(key: Callable[[Any], Any], rows: Iterable[Any]) -> dict[Any, list[Any]]:
    """Rows by a key."""
    found: dict[Any, list[Any]] = {}
    for row in rows:
        found.setdefault(key(row), []).append(row)
    return found


def _careful(judged: Sequence[Any]) -> list[str]:
    careful = [row for row in judged if row.kind == "careful"]
    base = [row for row in careful if harmless(row)]
    out = ["\nCareful work, alarmed (endangers, destroys)", _line("truly harmless", count(base, alarmed))]
    for name, rows in (
        ("  some kept coat reached, and each met by such a test", [r for r in base if r.met and reaching(r)]),
        ("  every kept coat of the place met by such a test", [r for r in base if all(o.known for o in r.things)]),
        ("  no kept coat reached", [r for r in base if not reaching(r)]),
        ("  some kept coat reached and never met", [r for r in base if not r.met]),
        ("  nothing fails there", [r for r in base if not r.failing]),
        ("  on the place of the test", [r for r in base if r.sort == "same place"]),
        ("  on another place of the part", [r for r in base if r.sort == "same part"]),
        ("truly taking over 1 %", [r for r in careful if not harmless(r)]),
        ("all", careful),
    ):
        out.append(_line(name, count(rows, alarmed)))
    out.append(f"  outcomes where harmless: {dict(Counter(row.outcome for row in base))}")
    known = [row for row in base if row.met and reaching(row)]
    for name, rows in (("harmless", base), ("harmless, some kept coat reached, each met", known)):
        found = [row for row in rows if alarmed(row)]
        out.append(
            f"  causes of the {len(found)} alarms on {len({row.object for row in found})} objects, {name}"
            " (a proposal counts once for each of its causes):"
        )
        causes = Counter(cause for row in found for cause in {each[2] for each in row.alarms})
        alone = Counter(next(iter(cs)) for row in found if len(cs := {each[2] for each in row.alarms}) == 1)
        out += [f"    {number:5}  alone {alone[cause]:5}  {cause}" for cause, number in causes.most_common(25)]
    return out


def _everyday(judged: Sequence[Any]) -> list[str]:
    out = ["\nEveryday work, alarmed"]
    for kinds in (("everyday",), ("wax",)):
        rows = [row for row in judged if row.kind in kinds]
        base = [row for row in rows if harmless(row) and not row.failing]
        out.append(_line(f"{kinds[0]}, truly harmless, finish holds", count(base, alarmed)))
        sorts = sorted(by(lambda row: row.sort, base).items())
        out += [_line(f"  {sort}", count(some, alarmed)) for sort, some in sorts]
        out.append(_line("  finish fails, or is said to", count((r for r in rows if r.failing), alarmed)))
        out.append(_line("  truly taking over 1 %", count((r for r in rows if not harmless(r)), alarmed)))
        causes = Counter(cause for row in base if alarmed(row) for cause in {each[2] for each in row.alarms})
        out += [f"    {number:5}  {cause}" for cause, number in causes.most_common(8)]
    return out


def _harmful(judged: Sequence[Any]) -> list[str]:
    out = ["\nWork that truly takes over 10 % of a kept thing: not alarmed; cleared"]
    for kind, rows in sorted(by(lambda row: f"{row.kind}: {row.sort}", (r for r in judged if r.lost > 0.1)).items()):
        out.append(_line(kind, f"{count(rows, lambda row: not alarmed(row))}   cleared {sum(map(cleared, rows))}"))
    return out


def _sections(judged: Sequence[Any]) -> list[str]:
    base = by(lambda row: row.sections, (row for row in judged if row.kind == "careful" and harmless(row)))
    out = ["\nCareful harmless work alarmed, by sections in a zone"]
    out += [_line(f"{number} sections", count(rows, alarmed)) for number, rows in sorted(base.items())]
    for number in (3, 5):
        low, high = difference(count(base.get(1, []), alarmed), count(base.get(number, []), alarmed))
        out.append(f"  {number} sections less one: {100 * low:+.1f} to {100 * high:+.1f} points")
    clear = by(lambda row: row.sections, (row for row in judged if row.touches and cleared(row)))
    out.append("Cleared touching work that truly takes over 2 %, by sections in a zone")
    out += [
        _line(f"{number} sections", count(rows, lambda row: row.lost > 0.02)) for number, rows in sorted(clear.items())
    ]
    return out


def _loss(judged: Sequence[Any]) -> list[str]:
    told = [(row, one) for row in judged for one in row.things if one.interval is not None]
    out = ["\nLoss intervals that hold the truth; mean width"]
    groups = [
        ("all", told),
        ("where over 1 % is lost", [p for p in told if p[1].lost > 0.01]),
        ("where 1 to 99 % is lost", [p for p in told if 0.01 < p[1].lost < 0.99]),
    ]
    groups += [(f"  {kind}", rows) for kind, rows in sorted(by(lambda pair: pair[0].kind, told).items())]
    groups += [
        (f"  {kind}, lost", [p for p in rows if p[1].lost > 0.01])
        for kind, rows in sorted(
            by(lambda pair: f"{pair[0].kind}: {pair[0].sort}" if pair[0].kind == "cut" else pair[0].kind, told).items()
        )
    ]
    groups += [(f"  {name}", rows) for name, rows in sorted(by(lambda pair: pair[0].patchiness, told).items())]
    for name, rows in groups:
        if rows:
            width = float(np.mean([one.interval[-1] - one.interval[0] for _, one in rows]))
            out.append(_line(name, f"{count(rows, lambda p: held(p[1].interval, p[1].lost))}  width {width:.3f}"))
    low = count(told, lambda p: p[1].lost < p[1].interval[0] - NEAR)
    high = count(told, lambda p: p[1].lost > p[1].interval[-1] + NEAR)
    return [*out, _line("truth beneath the low end", low), _line("truth above the high end", high)]


def _survival(survival: Sequence[Any]) -> list[str]:
    out = ["\nSurvival intervals that hold the truth; mean width as a share of the area"]
    for whole, rows in sorted(by(lambda row: row.place == "", survival).items()):
        name = "objects" if whole else "places"
        groups = [(name, rows)]
        groups += [(f"  {kind}", some) for kind, some in sorted(by(lambda row: row.patchiness, rows).items())]
        groups += [(f"  {n} sections", some) for n, some in sorted(by(lambda row: row.sections, rows).items())]
        for label, some in groups:
            width = float(np.mean([row.interval[-1] - row.interval[0] for row in some]))
            out.append(_line(label, f"{count(some, lambda row: held(row.interval, row.truth))}  width {width:.3f}"))
    return out
