"""The lists of objects: the start page, what a search finds, what nobody has looked at, what is at risk."""

from __future__ import annotations

import io
import re
import sqlite3
from pathlib import Path

import pytest
from firstcoat_site.collection_routes import reasons
from PIL import Image
from site_answers import Page, get
from site_packages import database_of, png, write_package

from collection.output.published.images import SMALL, thumbnail
from collection.output.site.publish import publish

PHOTOGRAPH = {"view": "whole", "lighting": "normal", "rights": "free to show"}


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four things: a red chest read at one of two spots, a reduced chest nobody has examined, two plain boxes."""
    folder = tmp_path_factory.mktemp("shelf")
    objects: list[dict[str, list[dict[str, object]]]] = [
        {
            "objects": [{"object": "A", "title": "Red chest", "kind": "furniture"}],
            "components": [{"object": "A", "component": code, "name": code.lower()} for code in ("LID", "FOOT")],
            "schemes": [{"object": "A", "scheme": "1", "name": "First red", "period": "original"}],
            "samples": [{"object": "A", "sample": "S1", "place": "LID", "method": "surface", "reaches_support": "yes"}],
            "layers": [{"object": "A", "sample": "S1", "position": 1, "role": "body colour", "scheme": "1"}],
            "advice": [
                {
                    "object": "A",
                    "advice": "AD1",
                    "what": "Leave the beeswax alone",
                    "given_on": "2020-01",
                    "place": "LID",
                }
            ],
            "claims": [
                {"object": "A", "claim": "CL1", "statement": "Came from the lifeboat house", "status": "untested"}
            ],
            "conditions": [
                {
                    "object": "A",
                    "place": place,
                    "phenomenon": "flaking",
                    "observed_on": "2020-01-02",
                    "severity": 2,
                    "active": "yes",
                }
                for place in ("LID", "FOOT")
            ],
            "pictures": [{"object": "A", "picture": "P1", "file": "picture.png", **PHOTOGRAPH}],
        },
        {
            "objects": [{"object": "B", "title": "Chest, reduced", "kind": "furniture"}],
            "components": [{"object": "B", "component": "LID", "name": "lid"}],
        },
        {"objects": [{"object": "C", "title": "Box", "kind": "box"}]},
        {"objects": [{"object": "D", "title": "Another box", "kind": "box"}]},
    ]
    survey = {"code": "S1", "title": "Shelf", "lead": "A. Surveyor", "started": "2020-01-01"}
    package = write_package(folder / "p", survey, *objects, files={"picture.png": png(width=900, height=600)})
    publish(database_of(folder / "shelf.db", package), folder / "out")
    return folder / "out"


def titles(site: Path, address: str) -> list[str]:
    (page,) = get(site, address)
    found = re.findall(r'<ol class="(?:collection|results)".*?</ol>', page.text, re.S)
    return [] if not found else re.findall(r"(Red chest|Chest, reduced|Another box|Box)(?=</)", found[0])


@pytest.mark.parametrize(
    ("address", "shown"),
    [
        ("/", ["Red chest", "Chest, reduced", "Box", "Another box"]),
        ("/?sort=name", ["Another box", "Box", "Chest, reduced", "Red chest"]),
        ("/?sort=most", ["Red chest", "Chest, reduced", "Box", "Another box"]),
        ("/?sort=least", ["Red chest", "Chest, reduced", "Box", "Another box"]),
        ("/?kind=box&sort=name", ["Another box", "Box"]),
        ("/?looked=never", ["Chest, reduced", "Box", "Another box"]),
        ("/?state=not+examined", ["Red chest", "Chest, reduced"]),
        ("/?risk=finish+that+fails", ["Red chest"]),
        ("/?q=red", ["Red chest"]),
        ("/?q=chest", ["Chest, reduced", "Red chest"]),
        ("/?q=reduc", ["Chest, reduced"]),
        ("/?q=red&beginnings=1", ["Red chest", "Chest, reduced"]),
        ("/?q=beeswax", ["Red chest"]),
        ("/?q=lifeboat", ["Red chest"]),
        ("/?sort=nonsense&kind=nonsense", []),
    ],
)
def test_a_list_shows_what_was_asked_in_the_order_asked(shelf: Path, address: str, shown: list[str]) -> None:
    found = titles(shelf, address)
    # Words rank by how much they tell; that order is tested elsewhere.
    assert (sorted(found) if "q=" in address else found) == (sorted(shown) if "q=" in address else shown)


def test_a_word_is_a_word_and_longer_ones_are_offered(shelf: Path) -> None:
    red, begun = get(shelf, "/?q=red", "/?q=reduc")
    assert "1 more object with words that begin like these" in Page(red.text).words
    assert "beginnings=1" in red.text
    assert "Shown are words that begin like these." in Page(begun.text).words


@pytest.mark.parametrize(("word", "address"), [("beeswax", "timeline#advice-AD1"), ("lifeboat", "records#claims-CL1")])
def test_advice_and_claims_are_found_with_the_way_to_them(shelf: Path, word: str, address: str) -> None:
    (page,) = get(shelf, f"/?q={word}")
    assert f'href="/object/A/{address}"' in page.text
    assert f"<mark>{word}</mark>" in page.text


def test_what_nobody_has_looked_at_is_counted_and_leads_to_its_list(shelf: Path) -> None:
    (page,) = get(shelf, "/")
    said = Page(page.text).words
    assert "Nobody has looked: 3 objects never examined, 2 places not examined." in said
    assert 'href="/?looked=never"' in page.text
    assert 'href="/?state=not+examined"' in page.text


def test_each_object_has_its_small_picture_and_a_bar_of_its_places(shelf: Path) -> None:
    (page,) = get(shelf, "/")
    (small,) = re.findall(r'<img class="thumb" src="(/picture/[0-9a-f]{32}\.jpg)"', page.text)
    (answer,) = get(shelf, small)
    with Image.open(io.BytesIO(answer.content)) as picture:
        assert (picture.format, picture.size) == ("JPEG", (SMALL, 213))
    assert page.text.count("no picture") == 3
    assert 'aria-label="1 place original exposed, 1 place not examined"' in page.text


def test_what_is_at_risk_says_where_and_each_thing_once(shelf: Path) -> None:
    """Both places flake: one line with both; what to do is said once."""
    threats = [
        {"kind": "finish that fails", "place": place, "message": f"It flakes (seen {day}).", "remedy": "Lay it."}
        for place, day in (("LID", "2 May 2020"), ("FOOT", "3 May 2020"))
    ]
    other = {"kind": "past its date", "place": "all", "message": "A facing is still on.", "remedy": "Lay it."}
    flakes, facing = reasons([*threats, other], {"LID": "lid"})
    assert (flakes.message, flakes.places, flakes.remedy) == ("It flakes.", [("LID", "lid"), ("FOOT", "FOOT")], "")
    assert (facing.message, facing.places, facing.remedy) == ("A facing is still on.", [], "Lay it.")
    (page,) = get(shelf, "/at-risk")
    assert '<a href="/object/A/place/LID">lid</a>:' in page.text


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16"])
def test_pictures_of_every_kind_of_colour_become_small(mode: str) -> None:
    """PNG's kinds of colour (ISO/IEC 15948, table 11.1); what is transparent becomes white."""
    whole = io.BytesIO()
    Image.new(mode, (40, 900)).save(whole, "PNG")
    found = thumbnail(whole.getvalue())
    assert found is not None
    with Image.open(io.BytesIO(found[1])) as small:
        assert (small.mode, small.size) == ("RGB", (14, SMALL))
        shade = small.getpixel((7, 100))
        assert shade == ((255, 255, 255) if mode in ("LA", "RGBA") else (0, 0, 0))


def test_what_is_no_picture_has_no_small_one() -> None:
    assert thumbnail(b"\x89PNG\r\n\x1a\n" + b"broken") is None


def test_a_site_published_again_keeps_its_small_pictures(shelf: Path, tmp_path: Path) -> None:
    db = sqlite3.connect(f"file:{shelf / 'collection.db'}?mode=ro", uri=True)
    (before,) = db.execute("select thumb from glances where thumb is not null").fetchone()
    db.close()
    again = publish(shelf.parent / "shelf.db", shelf.parent / "again")
    publish(shelf.parent / "shelf.db", shelf.parent / "again", replace=True)
    assert again.pictures == 1
    assert (shelf.parent / "again" / "pictures" / before).is_file()
