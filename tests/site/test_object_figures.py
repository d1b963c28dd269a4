"""The figures of an object's page: places by state, the object in its finishes, its whole life."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from site_answers import get
from site_packages import database_of, write_package

from collection.output.drawings import elevation, finishes, life, states
from collection.output.published.published_object import PublishedObject
from collection.output.site.publish import publish

pytestmark = pytest.mark.slow

SURVEY = {"code": "S1", "title": "t", "lead": "L. Lead", "started": "2019-05-01", "ended": "2019-06-01"}
SIDE = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 60"><rect width="100" height="60" fill="#eee"/></svg>'
Rows = dict[str, list[dict[str, Any]]]


def cart(layers: list[dict[str, Any]], **more: list[dict[str, Any]]) -> Rows:
    """A cart with a door and a lid on a drawing, a bed and a tail on none, and a sample of each but the tail."""
    places = {"door": "5,5 45,5 45,50 5,50", "lid": "55,5 95,5 95,50 55,50", "bed": None, "tail": None}
    where: dict[str, dict[str, Any]] = {
        code: {"drawing": "V1", "outline": outline} if outline else {} for code, outline in places.items()
    }
    schemes = [
        {"scheme": "1", "name": "first green", "period": "original", "rank": 1, "made": "1908~"},
        {"scheme": "2", "name": "then red", "period": "later", "rank": 2, "made": "1931"},
    ]
    rows: Rows = {
        "objects": [{"title": "Cart", "kind": "cart"}],
        "components": [{"component": "body", "name": "Body", "origin": "original"}],
        "drawings": [{"drawing": "V1", "title": "Side", "file": "side.svg"}],
        "zones": [{"zone": code, "component": "body", "name": f"The {code}", **where[code]} for code in places],
        "schemes": schemes,
        "samples": [
            {"sample": f"S-{place}", "place": place, "method": "cross-section", "reaches_support": "yes"}
            for place in ("door", "lid", "bed")
        ],
        "layers": layers,
        **more,
    }
    return {sheet: [{"object": "C-1", **row} for row in found] for sheet, found in rows.items()}


def coat(place: str, position: int, role: str, scheme: str | None = None, **more: Any) -> dict[str, Any]:
    return {
        "sample": f"S-{place}",
        "position": position,
        "role": role,
        **({"scheme": scheme} if scheme else {}),
        **more,
    }


def lab(lightness: float, a: float, b: float) -> dict[str, float]:
    return {"lab_l": lightness, "lab_a": a, "lab_b": b}


SUPPORTS = [coat(place, 1, "support") for place in ("door", "lid", "bed")]


def published(folder: Path, rows: Rows) -> PublishedObject:
    package = write_package(folder / "p", SURVEY, rows, files={"side.svg": SIDE})
    publish(database_of(folder / "a.db", package), folder / "out")
    (answer,) = get(folder / "out", "/object/C-1.json")
    return PublishedObject(answer.json())


def test_a_finish_is_drawn_in_the_colours_that_its_layers_measured(tmp_path: Path) -> None:
    """Lab of the red and the green primary of sRGB (IEC 61966-2-1), as CIE 15 has them from D65: colour tables give
    53.24, 80.09, 67.20 and 87.73, -86.18, 83.18."""
    found = published(
        tmp_path,
        cart(
            [
                *SUPPORTS,
                coat("door", 2, "body colour", "1", colour="grey", **lab(53.24, 80.09, 67.20)),
                coat("lid", 2, "body colour", "1", munsell="N 5", **lab(87.73, -86.18, 83.18)),
                coat("bed", 2, "body colour", "2", colour="red"),
            ]
        ),
    )
    drawn = dict(finishes.finish_figures(found))
    assert set(drawn) == {"finish-1-1", "finish-1-others", "finish-2-1", "finish-2-others"}
    zones = dict(re.findall(r'<a href="@/place/(\w+)">.*?fill="(#[0-9a-f]{6})"', drawn["finish-1-1"]))
    for channel in (1, 3, 5):
        assert int(zones["door"][channel : channel + 2], 16) == pytest.approx(
            int("#ff0000"[channel : channel + 2], 16), abs=1
        )
        assert int(zones["lid"][channel : channel + 2], 16) == pytest.approx(
            int("#00ff00"[channel : channel + 2], 16), abs=1
        )
    # It says what it is, in the picture itself, and which sample each colour comes from.
    assert "Worked out from 2 samples; hatched: nobody knows. Not a painting scheme to copy." in drawn["finish-1-1"]
    assert "The door (door): grey, measured (sample S-door)" in drawn["finish-1-1"]


def test_what_nobody_knows_is_hatched_and_what_is_not_there_is_blank(tmp_path: Path) -> None:
    found = published(
        tmp_path,
        cart(
            [
                *SUPPORTS,
                coat("door", 2, "body colour", "1", colour="green"),
                # A varnish alone does not tell what was under it, since the finish has a paint elsewhere.
                coat("lid", 2, "varnish", "1", colour="brown"),
                coat("bed", 2, "body colour", "2", colour="red"),
            ]
        ),
    )
    first, second = finishes.finishes(found["schemes"])
    looks = finishes.looks_of(found, first)
    assert looks["door"].fill
    assert not looks["door"].pattern
    assert looks["lid"].pattern == "unknown"
    assert looks["lid"].said == "it is there, its colour is not recorded (samples S-lid)"
    assert (looks["bed"].fill, looks["bed"].said) == ("#ffffff", "looked for and not found")
    assert (looks["tail"].pattern, looks["tail"].said) == ("unknown", "nobody knows")
    assert finishes.looks_of(found, second)["bed"].said == "red, drawn from the word (sample S-bed)"


def test_where_samples_of_a_place_differ_it_says_how_one_colour_was_chosen() -> None:
    """The middle of L* 30, 40 and 80 is 40; of two greens and a red by word, the green."""
    row = {"role": "body colour", "colour": "green"}
    told = [(f"S{n}", {**row, **lab(lightness, 0, 0)}) for n, lightness in enumerate((30, 80, 40))]
    alone = finishes._coloured(told[2:])
    assert finishes._coloured(told).fill == alone.fill
    assert finishes._coloured(told).said == "green, the middle of 3 measured (samples S0, S1, S2)"
    words = [("S1", row), ("S2", {**row, "colour": "red"}), ("S3", row)]
    assert finishes._coloured(words).fill == finishes._coloured(words[:1]).fill
    assert "as in 2 of 3 samples, which differ" in finishes._coloured(words).said


def test_one_pattern_stands_for_a_state_in_drawing_key_and_list(tmp_path: Path) -> None:
    found = published(
        tmp_path, cart([*SUPPORTS, coat("door", 2, "body colour", "1"), coat("lid", 2, "body colour", "2")])
    )
    (view,) = elevation.elevations(found)
    drawn = elevation.draw(view, name="e1")
    shown = {shape.state for shape in view.shapes}
    assert shown == {"original exposed", "original not found"}
    for state in shown:
        tile = states.tile(state)
        assert tile in drawn
        assert tile in states.swatch(state)
        assert tile in states.symbols()
    tiles = [states.tile(word) for word in (*states.STATES, "destroys", "endangers", "untested", "stood", "clear")]
    # Told apart without colour: no two share their paths.
    assert len({re.sub("#[0-9a-f]{6}", "", tile) for tile in tiles}) == len(tiles)
    assert "style=" not in drawn
    assert "<style" not in drawn


def test_places_that_are_on_no_drawing_are_listed_by_their_part(tmp_path: Path) -> None:
    found = published(tmp_path, cart(SUPPORTS))
    assert elevation.unplaced(found) == [("body", ["bed", "tail"])]
    (page,) = get(tmp_path / "out", "/object/C-1")
    strip = page.text.split('id="undrawn"')[1].split("On the drawings")[0]
    assert strip.index("The bed") < strip.index("The tail")
    assert "The door" not in strip


def life_of(folder: Path) -> str:
    rows = cart(
        SUPPORTS,
        treatments=[
            {"treatment": "T1", "purpose": "painted red", "started": "1931"},
            {"treatment": "T2", "purpose": "revarnished", "started": "1967-03", "ended": "1967-05"},
            {"treatment": "T3", "purpose": "rubbed down", "started": "[1968..1975]"},
            {"treatment": "T4", "purpose": "kept in the yard", "started": "1968", "ended": "1975"},
        ],
    )
    return life.draw(published(folder, rows), name="life") or ""


def test_a_life_shows_what_is_not_known_and_when_nothing_was_recorded(tmp_path: Path) -> None:
    drawn = life_of(tmp_path)
    assert "nothing known 1931–1967" in drawn
    assert "No record from 1931 to 1967." in drawn
    # About 1908 fades in; 1931 does not; nobody reads EDTF.
    assert len(re.findall("<linearGradient", drawn)) == 1
    assert "first green, about 1908" in drawn
    assert "1908~" not in drawn
    assert re.search(r"<title>[^<]*March (1967 )?to[^<]*May 1967: revarnished", drawn)


def test_a_life_is_to_the_scale_of_years(tmp_path: Path) -> None:
    """1967 lies as far after 1931 as the years between them, by the ticks."""
    drawn = life_of(tmp_path)
    ticks = {int(year): float(x) for x, year in re.findall(r'<text x="([\d.]+)" y="[\d.]+">(\d{4})</text>', drawn)}
    per_year = (ticks[2000] - ticks[1920]) / 80
    marks = {said: float(x) for said, x in re.findall(r"<title>[^<]*?: ([^<]*)</title><path [^>]*d=\"M([\d.]+)", drawn)}
    assert marks["revarnished"] - marks["painted red"] == pytest.approx((36 + 2 / 12) * per_year, abs=0.3)


def test_what_went_on_for_years_looks_other_than_what_is_not_dated_closely(tmp_path: Path) -> None:
    """Between 1968 and 1975 at some time, or from 1968 to 1975 all the time: dashed and open, or filled."""
    drawn = life_of(tmp_path)
    marks = dict(re.findall(r"<title>[^<]*?: ([^<]*)</title><path ([^>]*)/>", drawn))
    assert "stroke-dasharray" in marks["rubbed down"]
    assert "stroke-dasharray" not in marks["kept in the yard"]


def test_a_life_of_one_date_is_no_picture(tmp_path: Path) -> None:
    rows = {sheet: found for sheet, found in cart([]).items() if sheet in ("objects", "components")}
    assert life.draw(published(tmp_path, rows), name="life") is None
    (page,) = get(tmp_path / "out", "/object/C-1")
    assert page.status_code == 200
    assert "No scheme is named yet" in page.text
