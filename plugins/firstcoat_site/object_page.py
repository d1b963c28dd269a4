"""The object page's content, made from the object's document: plain values for the templates."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from collection.dates import bounds
from collection.sentences import percent, square_metres, taken
from collection.words import SEVERITY_RANK
from firstcoat_site import stack
from firstcoat_site.wording import (
    SHEET_NAMES,
    conditions_of,
    met,
    one_line,
    read_counts,
)

Json = dict[str, Any]

_NESTED = ("layers", "responses", "treatment_steps", "proposal_steps")


def object_page(document: Json) -> Json:
    """What the template of an object shows, beside the document itself."""
    rows = records(document)
    survival = document["survival"]
    return {
        "document": document, "record": document["record"], "lead": f"{survival['sentence']}.",
        "figures": figures(survival), "places": places(document),
        "place_codes": {row["place"] for row in survival["places"]}, "samples": samples(document),
        "hazards": newest(document["hazards"], "hazard"),
        "decorations": decorations(document), "history": history(document),
        "proposals": [proposal(row, rows) for row in sorted(
            document["proposals"], key=lambda row: -SEVERITY_RANK[row["assessment"]["outcome"]])],
        "pictures": [row for row in document["pictures"] if row["file"] and not row.get("sample")],
        "tests": [{**row, "conditions": conditions_of(row), "met": [(met(r), r) for r in row["responses"]]}
                  for row in document["tests"]],
        "withheld": [f"{number} × {SHEET_NAMES[sheet]}" for sheet, number in document["withheld"].items()],
        "names_agent": bool(document["tests"] or document["proposals"] or any(
            step.get("agent") for row in document["treatments"] for step in row["treatment_steps"])),
    }


def figures(survival: Mapping[str, Any]) -> list[str]:
    """What is inferred, in sentences that say how far it can be trusted."""
    found = []
    if survival["surviving_m2"] is not None and survival["read"]:
        area = f"{'at least ' if survival['at_least'] else ''}{square_metres(survival['surviving_m2'])}"
        found.append(f"By inference from these places, {area} of it survives (95 % interval).")
    unmeasured, unexamined = survival["unmeasured_places"], survival["unexamined_places"]
    if unmeasured:
        found.append("One place has no recorded area." if unmeasured == 1 else
                     f"{unmeasured} places have no recorded area.")
    if unexamined:
        found.append("Nobody has examined one of the places listed below." if unexamined == 1 else
                     f"Nobody has examined {unexamined} of the places listed below.")
    if survival["how_chosen"]:
        found.append(f"{survival['how_chosen']}.")
    if survival["withheld_readings"]:
        number = survival["withheld_readings"]
        found.append(f"{number} of these readings {'is' if number == 1 else 'are'} not published.")
    return found


def places(document: Json) -> list[Json]:
    """Every place in account with its state, in the order of part and zone; the whole object's own row last."""
    parts = newest(document["components"], "component")
    names = {row["component"]: row for row in parts} | {row["zone"]: row for row in document["zones"]}
    readings: dict[str, list[Json]] = {}
    for sample in document["samples"]:
        if sample["original"] is not None:
            readings.setdefault(sample["place"], []).append(sample)
    found = []
    for row in sorted(document["survival"]["places"], key=lambda r: (r["place"] == "all", r["component"] or "",
                                                                     r["place"] != r["component"], r["place"])):
        own = names.get(row["place"], {})
        found.append({
            **row, "name": own.get("name") or ("the whole object" if row["place"] == "all" else None),
            "part": row["place"] == row["component"],
            "said": _said_of(row, own), "counts": read_counts(row),
            # A place that nobody has read gets no figure that looks like knowledge.
            "percent": percent(row["share"]) if row["read"] and row["share"] else None,
            "area": None if row["area_m2"] is None else f"{row['area_m2']:g} m²",
            "readings": readings.get(row["place"], [])})
    return found


def _said_of(row: Json, own: Json) -> list[str]:
    """What else is worth knowing of a place at a glance."""
    part = row["place"] == row["component"]
    said = [f"on {row['component']}" if row["component"] and not part else None,
            own.get("presence") if own.get("presence") != "present" else None,
            f"part is {own['origin']}" if part and own.get("origin") not in (None, "original") else None,
            own.get("visibility") if own.get("visibility") != "visible" else None]
    return [part for part in said if part]


def newest(rows: list[Json], code: str) -> list[Json]:
    """The newest dated state of each code, the earlier ones inside it as `earlier`."""
    groups: dict[str, list[Json]] = {}
    for row in rows:
        groups.setdefault(row[code], []).append(row)
    found = []
    for group in groups.values():
        ordered = sorted(group, key=lambda row: bounds(row.get("observed_on")).latest
                         if row.get("observed_on") else "")
        found.append({**ordered[-1], "earlier": ordered[:-1]})
    return found


def decorations(document: Json) -> list[Json]:
    """Decorations in their newest state, with what survives of each."""
    survives = {row["decoration"]: row for row in document["survival"]["decorations"]}
    return [{**row, "survives": survives.get(row["decoration"])}
            for row in newest(document["decorations"], "decoration")]


def samples(document: Json) -> list[Json]:
    """Samples with their drawings and pictures."""
    pictures: dict[str, list[Json]] = {}
    for row in document["pictures"]:
        if row["file"] and row.get("sample"):
            pictures.setdefault(row["sample"], []).append(row)
    return [{**sample, "drawing": stack.drawing(sample["layers"]), "pictures": pictures.get(sample["sample"], [])}
            for sample in document["samples"]]


def history(document: Json) -> list[Json]:
    """Treatments and advice in the order of time, undated ones last."""
    found = [("treatments", row.get("started") or row.get("ended"), row) for row in document["treatments"]]
    found += [("advice", row.get("given_on"), row) for row in document["advice"]]
    return [{"sheet": sheet, "when": when, "row": row}
            for sheet, when, row in sorted(found, key=lambda f: bounds(f[1]).earliest if f[1] else "9999-99")]


def records(document: Json) -> dict[tuple[str, str], Json]:
    """Every record of a document by sheet and key."""
    return {(sheet, row["key"]): row for sheet, row in _walk(document)}


def _walk(document: Json) -> Iterator[tuple[str, Json]]:
    for sheet in SHEET_NAMES:
        for row in document.get(sheet, ()):
            yield sheet, row
            for nested in _NESTED:
                for inner in row.get(nested, ()):
                    yield nested, inner


def proposal(row: Json, rows: Mapping[tuple[str, str], Json]) -> Json:
    """A proposal with its figures in words, and each loss with its evidence as lines to read."""
    assessment = row["assessment"]
    losses = [{**loss, "share_text": loss["share"] and percent(loss["share"]),
               "area_text": loss["area_m2"] and square_metres(loss["area_m2"]), "cards": _cards(loss["evidence"], rows)}
              for loss in assessment["losses"]]
    return {**row, "losses": losses, "taken": _taken(assessment),
            "open": [r for r in assessment["requirements"] if r["state"] == "open"],
            "met": [r for r in assessment["requirements"] if r["state"] != "open"],
            "steps": [{**step, "conditions": conditions_of(step)} for step in row["proposal_steps"]]}


def _taken(assessment: Mapping[str, Any]) -> str | None:
    said = taken(assessment["outcome"], assessment["loss_m2"], assessment["loss_share"],
                 assessment["unmeasured_places"])
    intended = assessment["intended_m2"]
    if said is not None and intended is not None and any(intended):
        said += f"; {square_metres(intended)} of that is what it means to remove"
    return None if said is None else f"{said}."


def _cards(evidence: list[Mapping[str, str]], rows: Mapping[tuple[str, str], Json]) -> list[Json]:
    """One line per piece of evidence; coats of one sample share a line."""
    cards: list[Json] = []
    coats: dict[str, list[Json]] = {}
    for item in evidence:
        row = rows.get((item["kind"], item["key"]))
        if row is None:
            continue
        link = {"sheet": item["kind"], "key": item["key"]}
        if item["kind"] == "layers":
            coats.setdefault(row["sample"], []).append({**link, "text": f"{row['position']}", "row": row})
            continue
        code = row["key"].removeprefix(f"{row['object']}/")
        cards.append({"links": [{**link, "text": f"{SHEET_NAMES[item['kind']]} {code}"}],
                      "line": one_line(item["kind"], row), "survey": row.get("survey")})
    for sample, found in coats.items():
        found.sort(key=lambda coat: coat["row"]["position"])
        said = list(dict.fromkeys(one_line("layers", coat["row"]) for coat in found))
        more = f"; {len(said) - 3} more" if len(said) > 3 else ""
        cards.append({"name": f"sample {sample}, {'coat' if len(found) == 1 else 'coats'} ", "links": found,
                      "line": " / ".join(said[:3]) + more, "survey": found[0]["row"].get("survey")})
    return cards
