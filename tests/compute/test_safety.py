"""The danger of liquids: figures against a reference library and published limits; nothing that permits."""

from __future__ import annotations

import json
import re
from typing import Any

import objects as o
import pytest
from chemicals import safety as library

from collection.cli.safety import lines
from collection.compute.case import Case
from collection.compute.safety import H_WORDS, Safety, liquid_safety, safety
from collection.language import cautions
from collection.language.work_words import ACTION, REACH_OF_ACTION
from collection.records.sheets import Analysis, Component, Hazard
from collection.values import reference
from collection.values.limits import limits, limits_of

TABLES = reference.packaged()


def told(rows: list[Any], *steps: dict[str, Any]) -> Safety:
    return safety(Case(o.facts(rows)), o.proposal(*steps))


@pytest.mark.parametrize("liquid", [s.name for s in reference.solvents() if s.cas])
def test_ontario_limits_are_those_of_the_library(liquid: str) -> None:
    """chemicals 1.5: all its TWA and STEL are Ontario limits of an old edition."""
    row = TABLES.solvents.find(liquid)
    mean, short = library.TWA(row.cas), library.STEL(row.cas)
    found = {limit.kind: limit for limit in limits() if (limit.liquid, limit.body) == (liquid, "Ontario")}
    for kind, value in (("8-hour mean", mean), ("15-minute mean", short)):
        if kind in found:
            assert value is not None
            assert found[kind].value == pytest.approx(value[0], abs=0.05)


@pytest.mark.parametrize(
    ("liquid", "body", "kind", "value", "unit"),
    [
        # NIOSH Pocket Guide p. 341; cdc.gov/niosh/idlh/108883.html
        ("toluene", "NIOSH", "8-hour mean", 100, "ppm"),
        ("toluene", "OSHA", "8-hour mean", 200, "ppm"),
        ("toluene", "OSHA", "ceiling", 300, "ppm"),
        ("toluene", "NIOSH", "dangerous to life at once", 500, "ppm"),
        ("toluene", "Ontario", "8-hour mean", 20, "ppm"),
        # archived OSHA sampling page CH_216600; haz-map.com/Agents/138
        ("acetone", "NIOSH", "8-hour mean", 250, "ppm"),
        ("acetone", "OSHA", "8-hour mean", 1000, "ppm"),
        # 40 CFR 751 (89 FR 39254, 8 May 2024); 29 CFR 1910.1052 (1997)
        ("dichloromethane", "US EPA", "8-hour mean", 2, "ppm"),
        ("dichloromethane", "US EPA", "15-minute mean", 16, "ppm"),
        ("dichloromethane", "OSHA", "8-hour mean", 25, "ppm"),
        ("dichloromethane", "OSHA", "15-minute mean", 125, "ppm"),
        # cdc.gov/niosh/idlh/8052413.html
        ("white spirit", "NIOSH", "8-hour mean", 350, "mg/m3"),
        ("white spirit", "NIOSH", "ceiling", 1800, "mg/m3"),
    ],
)
def test_limits_stand_by_body(liquid: str, body: str, kind: str, value: int, unit: str) -> None:
    assert (body, kind, value, unit) in {(each.body, each.kind, each.value, each.unit) for each in limits_of(liquid)}


def test_bodies_that_disagree_stand_side_by_side() -> None:
    """Acetone 1000, 500 and 250 ppm; toluene 200, 100, 50 and 20 ppm: published figures, by body and year."""
    for liquid, values in (("acetone", {1000, 500, 250}), ("toluene", {200, 100, 50, 20})):
        assert {each.value for each in limits_of(liquid) if each.kind == "8-hour mean"} == values


def test_every_limit_has_its_source_and_a_liquid_of_the_table() -> None:
    for limit in limits():
        assert limit.source
        assert TABLES.solvents.find(limit.liquid) is not None
        assert limit.status != "memory"


def test_text_and_table_of_other_limits_agree() -> None:
    """Every figure in the text of other bodies' limits stands in the table of limits, too."""
    for row in reference.solvents():
        figures = {float(f) for f in re.findall(r"(\d+(?:\.\d+)?) (?:ppm|mg/m3)", row.other_limits or "")}
        assert figures <= {limit.value for limit in limits_of(row.name)}, row.name


def test_what_is_missing_is_said_to_be_missing() -> None:
    found = liquid_safety("benzyl alcohol", ("step 1",), TABLES)
    assert "flash point" in found.missing
    assert liquid_safety("harbour polish no. 4", ("step 1",), TABLES).missing[0].startswith("everything")
    assert "Not known here" in "\n".join(lines(told(o.base(), {"action": "solvent", "agent": "harbour polish no. 4"})))


def test_every_liquid_of_a_mixture_and_of_what_stops_and_takes_off_is_told() -> None:
    found = told(
        o.base(),
        {"action": "solvent", "agent": "1 acetone + 3 white spirit 17%", "arrest_with": "isooctane"},
        {"action": "coat", "agent": "toluene", "removable_with": "ethanol"},
        {"action": "aqueous", "agent": "water + 2% ammonium citrate"},
    )
    assert [each.name for each in found.liquids] == [
        "acetone",
        "white spirit 17%",
        "isooctane",
        "toluene",
        "ethanol",
        "water",
    ]
    # A white spirit that states its share has the limits of white spirit.
    assert found.liquids[1].limits
    assert found.additives == ("ammonium citrate (step 3, aqueous)",)
    assert json.loads(json.dumps(found.as_json()))["format"] == 1


def test_dangers_of_the_touched_parts_and_of_the_whole_object() -> None:
    rows = o.base(
        Component(object=o.OBJ, component="cab", name="cab"),
        Hazard(object=o.OBJ, hazard="H1", kind="asbestos rope", status="suspected", component="cab"),
        Hazard(object=o.OBJ, hazard="H2", kind="radium dial paint", status="confirmed"),
    )
    here = told(rows, {"action": "solvent", "agent": "acetone"}).dangers
    assert any("radium" in text for text in here)
    assert not any("asbestos" in text.casefold() for text in here)
    assert any("Asbestos" in text for text in told(rows, {"action": "dust", "place": "cab"}).dangers)


def test_lead_is_suspected_until_analysed() -> None:
    suspected = "Lead is suspected in every coat that was not analysed for it."
    assert suspected in told(o.base(), {"action": "scrape"}).dangers
    analysed = Analysis(object=o.OBJ, analysis="A1", technique="XRF", result="No lead found", place="door")
    found = told(o.base(analysed), {"action": "scrape"}).dangers
    assert suspected not in found
    assert "No lead found. (analysis A1, door)" in found


def test_heat_tells_the_line_of_the_law_as_no_safe_one() -> None:
    found = told(o.base(), {"action": "heat", "temperature_c": 200.0})
    assert any("593 °C" in text and "can still come off" in text for text in found.dangers)
    assert cautions.HEAT in found.cautions


@pytest.mark.parametrize("action", ACTION.words)
def test_every_action_that_reaches_a_coat_has_a_caution(action: str) -> None:
    reaches = REACH_OF_ACTION[action] not in ("none", "wear", "exposure", "loose dirt") and action != "dismantle"
    assert bool(cautions.cautions([action])) == reaches


def test_no_liquid_is_ever_said_to_be_harmless() -> None:
    """Neither its block nor the cautions permit anything."""
    for row in reference.solvents():
        said = "\n".join(lines(told(o.base(), {"action": "solvent", "agent": row.name}))).casefold()
        said = said.replace("safety data sheet", "")
        assert not re.search(r"\b(safe|safely|harmless|allowed|permitted|non-toxic|no risk)\b", said), row.name
        assert "data sheet" in "\n".join(lines(told(o.base(), {"action": "solvent", "agent": row.name})))


def test_hazard_statements_of_the_table_have_words() -> None:
    assert {code for row in reference.solvents() for code in row.h_statements} <= set(H_WORDS)
