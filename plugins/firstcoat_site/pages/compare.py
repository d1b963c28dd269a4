"""Two surveys: what changed on one object between them, or which objects changed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from collection.compute.compare.comparison import AGAINST, FOLLOWED, LAPSED
from collection.compute.compare.conditions import ACTIVE, BAD, BETTER, FIRST, KNOWN, NEW, RESTS, SAME, UNCLEAR, WORSE
from collection.compute.compare.conditions import GONE as ENDED
from collection.compute.compare.finish import COVERED, EVENTS, EXPOSED, FOUND, FRAGMENT, LOST, MAY_BE_LOST, PART
from collection.compute.compare.finish import FIRST as FIRST_READ
from collection.language.sentences import counted, figure
from collection.language.words import LIGHTING, SEVERITY_SPOKEN
from collection.output.published.addresses import Addresses
from collection.output.published.published_object import PublishedObject
from collection.output.tell.changes import summary, was_missed
from collection.values.spoken_dates import in_words

Json = dict[str, Any]

HOW_BAD = ("none", "slight", "moderate", "severe")
_FINISH = {
    LOST: "Lost",
    PART: "Part missing",
    MAY_BE_LOST: "May be lost",
    EXPOSED: "Laid open",
    COVERED: "Covered again",
}
_CONDITION = {ACTIVE: "Became active", WORSE: "Worse", NEW: "New", FIRST: "First recorded, and active"}
_CALM = {
    KNOWN: "now known to be active",
    FIRST: "recorded for the first time",
    BETTER: "better",
    RESTS: "came to rest",
    ENDED: "gone",
    UNCLEAR: "not to be compared",
    SAME: "as it was",
}
_READ = {
    FRAGMENT: "now read as fragmentary",
    FOUND: "with original finish found that had not been found",
    FIRST_READ: "read for the first time",
}
_ADVICE = {AGAINST: "Gone against", LAPSED: "Ran out, and nobody followed it", FOLLOWED: "Followed"}
_A_YEAR = {"extent_pct": "% of the place", "coverage_pct": "% of the place", "area_m2": "m²"}


def years(surveys: Sequence[Json]) -> tuple[str, str]:
    """How the two sides are headed: by year, and where both are of one year by the survey's code."""
    first, last = (in_words(row["started"])[-4:] for row in surveys)
    return (first, last) if first != last else (surveys[0]["code"], surveys[1]["code"])


def compare_page(published: PublishedObject, data: Json, to: Addresses) -> Json:
    """What the page of one object shows beside its data."""
    told, calm = _conditions(published, data)
    shown = {row["evidence"]["key"] for row in told}
    return {
        "sides": years(data["surveys"]),
        "summary": summary(data),
        "pairs": list(_pairs(data)),
        "finish": [
            {
                **change,
                "label": _FINISH[change["kind"]],
                "thing": _thing(published, change),
                "by": [(code, to.page("timeline") + f"#{to.anchor('treatments', code)}") for code in change["by"]],
            }
            for change in data["finish"]
            if change["kind"] in EVENTS
        ],
        "conditions": told,
        "samples": [_sample(published, each) for each in data["disagreements"]],
        "predictions": list(_predictions(published, data["predictions"], to)),
        "undecided": sum(seen["came_true"] is None for work in data["predictions"] for seen in work["losses"]),
        "advice": [
            {
                **row,
                "label": _ADVICE[row["kind"]],
                "url": to.page("timeline") + f"#{to.anchor('advice', row['advice'])}",
            }
            for row in data["advice"]
            if row["kind"] in _ADVICE
        ],
        "rates": [_rate(published, rate) for rate in data["rates"] if rate["interval"] or _key(rate) not in shown],
        "two_readings": any(rate["interval"] is None for rate in data["rates"]),
        "otherwise": list(_otherwise(data, calm)),
    }


def _conditions(published: PublishedObject, data: Json) -> tuple[list[Json], Counter[str]]:
    """The conditions that are told one by one, and how many there are of each other kind."""
    pace = {_key(rate): rate for rate in data["rates"]}
    told, calm = [], Counter[str]()
    for row in data["conditions"]:
        first_seen = row["kind"] == FIRST and row["may_be_original"] and row["now"]["active"] == "yes"
        if row["kind"] not in BAD and not first_seen:
            calm[row["kind"]] += 1
            continue
        rate = pace.get(row["now"]["evidence"]["key"])
        told.append(
            {
                **row,
                "evidence": row["now"]["evidence"],
                "label": "Lost" if row["original_lost"] else _CONDITION[row["kind"]],
                "then": None if row["then"] is None else (measured(row["then"]), in_words(row["then"]["observed_on"])),
                "now": (measured(row["now"]), in_words(row["now"]["observed_on"])),
                "finish": row["scheme"] and scheme_name(published, row["scheme"]),
                "better": BETTER in row["also"],
                "pace": rate and _pace(rate),
            }
        )
    return told, calm


def measured(row: Json) -> str:
    """A condition as it was seen: `moderate, 30 %, active`."""
    if row["severity"] == 0:
        return "looked for, none"
    parts = (
        None if row["severity"] is None else HOW_BAD[row["severity"]],
        None if row["extent_pct"] is None else f"{figure(row['extent_pct'])} %",
        {"yes": "active", "no": "at rest"}.get(row["active"] or ""),
    )
    return ", ".join(part for part in parts if part) or "seen"


def _pace(rate: Json) -> str:
    said = f"{'+' if rate['per_year'] > 0 else '−'}{figure(abs(rate['per_year']))} {_A_YEAR[rate['column']]}"
    if rate["interval"] is None:
        return said
    low, _, high = rate["interval"]
    return f"{said} ({_signed(low)} to {_signed(high)})"


def _signed(value: float) -> str:
    return f"{'−' if value < 0 else '+'}{figure(abs(value))}"


def _key(rate: Json) -> str:
    """The record of the newest reading of a rate."""
    return str(rate["readings"][-1]["evidence"]["key"])


def _rate(published: PublishedObject, rate: Json) -> Json:
    unit = _A_YEAR[rate["column"]].split()[0]
    what, _, scheme = rate["what"].partition(" of scheme ")
    return {
        "what": f"{what}, {scheme_name(published, scheme)}" if scheme else what,
        "place": rate["place"],
        "pace": _pace(rate),
        "known": rate["interval"] is not None,
        "readings": [(in_words(each["on"]), f"{figure(each['value'])} {unit}") for each in rate["readings"]],
    }


def first_pair(data: Json) -> Json | None:
    """The first two pictures of one view that both have a file."""
    return next(_pairs(data), None)


def _pairs(data: Json) -> Iterator[Json]:
    """Pictures of one view then and now that both have a file; of one place and view the normal light first."""
    shown = [pair for pair in data["pictures"] if pair["then"]["file"] and pair["now"]["file"]]
    light = {word: number for number, word in enumerate(LIGHTING.words)}
    order = {(pair["place"], pair["view"]): number for number, pair in reversed(list(enumerate(shown)))}
    for pair in sorted(shown, key=lambda one: (order[one["place"], one["view"]], light.get(one["lighting"], 99))):
        sizes = [side.get("size") for side in (pair["then"], pair["now"])]
        # Both are shown equally wide, whatever their numbers of pixels.
        times = pair["enlarge"] * sizes[1][0] / sizes[0][0] if pair["enlarge"] and all(sizes) else 1.0
        yield {
            **pair,
            "sides": [(side, in_words(side["taken_on"])) for side in (pair["then"], pair["now"])],
            "scale": None if 0.97 < times < 1.03 else f"{1 / times:.2g}",
        }


def _thing(published: PublishedObject, change: Json) -> str:
    if change["decoration"]:
        row: Json = next((row for row in published["decorations"] if row["decoration"] == change["decoration"]), {})
        return ", ".join(part for part in (row.get("kind"), row.get("description")) if part) or "decoration"
    if change["kind"] == PART:
        return "the part itself"
    if not change["scheme"]:
        return "original finish"
    code, _, role = change["scheme"].partition("/")
    return ", ".join(part for part in (scheme_name(published, code), role) if part)


def scheme_name(published: PublishedObject, code: str) -> str:
    """What a scheme is called, its number where it has no name."""
    row: Json = next((row for row in published["schemes"] if row["scheme"] == code), {})
    return row.get("name") or f"finish {code}"


def _sample(published: PublishedObject, each: Json) -> Json:
    """A disagreement, with the coats that each of the two samples has alone."""
    only = {
        side: Counter(_coat(one[side]) for one in each["differences"] if one[side] and not one[other])
        for side, other in (("then", "now"), ("now", "then"))
    }
    pictures = [row for side in ("then", "now") if (row := published.micrograph(each[side]))]
    return {
        **each,
        "pair": {"sides": [(row, in_words(row.get("taken_on"))) for row in pictures]} if len(pictures) == 2 else None,
        "only": {
            side: [f"{coat} ({number} times)" if number > 1 else coat for coat, number in found.items()]
            for side, found in only.items()
        },
        "otherwise": [
            (_coat(one["then"]), _coat(one["now"])) for one in each["differences"] if one["then"] and one["now"]
        ],
        "looked": sum(one["looked_for"] for one in each["differences"]),
    }


def _coat(row: Json) -> str:
    return " ".join(part for part in (row["colour"], row["role"]) if part)


def _predictions(published: PublishedObject, works: Iterable[Json], to: Addresses) -> Iterator[Json]:
    """Predictions that came true or did not, the losses without a warning first."""
    found = []
    for work in works:
        for seen in work["losses"]:
            if seen["came_true"] is None:
                continue
            missed = was_missed(seen)
            place, _, thing = seen["id"].partition("/")
            scheme, _, role = thing.partition("/")
            label = "Lost without a warning" if missed else "Came true" if seen["came_true"] else "Did not come true"
            found.append(
                {
                    "label": label,
                    "missed": missed,
                    "place": place,
                    "thing": ", ".join(part for part in (scheme_name(published, scheme), role) if part),
                    "work": (work["treatment"], to.page("timeline") + f"#{to.anchor('treatments', work['treatment'])}"),
                    "predicted": SEVERITY_SPOKEN[seen["predicted"]],
                    "found": {"lost": "it is lost", "survives": "it survives"}[seen["found"]],
                }
            )
    yield from sorted(found, key=lambda row: not row["missed"])


def _otherwise(data: Json, calm: Counter[str]) -> Iterator[str]:
    """What is neither worse, lost nor in doubt, counted."""
    if calm:
        yield "Conditions: " + ", ".join(f"{calm[kind]} {said}" for kind, said in _CALM.items() if calm[kind]) + "."
    known = Counter(change["kind"] for change in data["finish"] if change["kind"] in _READ)
    if known:
        yield "Places: " + ", ".join(f"{known[kind]} {said}" for kind, said in _READ.items() if known[kind]) + "."
    again = data["not_looked_at_again"]
    gone = [counted(len(again["conditions"]), "condition")] * bool(again["conditions"])
    gone += [counted(len(again["places"]), "place")] * bool(again["places"])
    if gone:
        yield f"Not looked at again: {' and '.join(gone)}. That does not say that nothing changed there."
    still = sum(row["kind"] == "in force" for row in data["advice"])
    if still:
        yield f"Advice that is still in force: {still}."
