"""What the pages of the published site say and show."""

from __future__ import annotations

import json
import re
import sqlite3
from html import escape
from pathlib import Path
from urllib.parse import urljoin, urlsplit

import pytest
from datasette.utils import tilde_encode
from firstcoat_site.pages import object, timeline
from site_answers import Page, all_paths, codes, get

from collection.compute.case import Case
from collection.compute.stratigraphy.strata import strata
from collection.language.words import SEVERITY, ZONE_STATE
from collection.output.drawings import elevation
from collection.output.published import addresses
from collection.output.published.published_object import PublishedObject
from collection.output.tell import lighting, wording

RICH = ("OHM-1962-7", "OHM-1937/3", "OHM-1974-21")
"""Objects of the sample that have every kind of record."""


def test_an_object_page_says_first_what_survives(harbour: Path) -> None:
    for code in codes(harbour):
        page, data = get(harbour, f"/object/{tilde_encode(code)}", f"/object/{tilde_encode(code)}.json")
        document = data.json()
        words = Page(page.text).words
        assert document["survival"]["sentence"] in words
        assert words.index(document["survival"]["sentence"]) < words.index("Places")
        assert "Invented demonstration data" in words
        for place in document["survival"]["places"]:
            assert place["place"] in words
        for sheet in ("samples", "schemes", "tests", "reserves", "claims", "proposals") if code in RICH else ():
            assert document[sheet], sheet
        for row in document["proposals"]:
            assert row["title"] in words


def test_every_state_and_severity_is_told_in_words(harbour: Path) -> None:
    (about,) = get(harbour, "/about")
    words = Page(about.text).words
    for state in ZONE_STATE.words:
        assert state in words
    for word in SEVERITY.words:
        assert wording.severity(word) in words
    for code in codes(harbour):
        (page,) = get(harbour, f"/object/{tilde_encode(code)}")
        for swatch in re.findall(r'<span class="state [^>]*>.*?</svg>([^<]*)</span>', page.text, re.S):
            assert swatch in ZONE_STATE.words
        for mark in re.findall(r'<span class="severity [^>]*>.*?</svg>([^<]*)</span>', page.text, re.S):
            assert mark in [wording.severity(word) for word in SEVERITY.words]


@pytest.mark.slow
def test_every_link_leads_somewhere_and_every_id_is_one(harbour: Path) -> None:
    """Each link of each page: its anchor is on the page it names, its page answers, and nothing leaves the site."""
    pages = {}
    paths = all_paths(harbour)
    for path, answer in zip(paths, get(harbour, *paths), strict=True):
        if answer.headers["content-type"].startswith("text/html"):
            pages[path] = Page(answer.text)
    asked = set()
    for path, page in pages.items():
        assert len(page.ids) == len(set(page.ids)), path
        for link in page.links():
            parts = urlsplit(link)
            assert not parts.scheme, (path, link)
            assert not parts.netloc, (path, link)
            # As a browser reads a link beside the page it stands on.
            parts = urlsplit(urljoin(path, link))
            target = parts.path
            if parts.fragment and target in pages:
                assert parts.fragment in pages[target].ids, (path, link)
            if parts.path:
                asked.add(f"{parts.path}?{parts.query}" if parts.query else parts.path)
    assert [r.status_code for r in get(harbour, *sorted(asked))] == [200] * len(asked)


@pytest.mark.slow
def test_each_loss_opens_on_its_evidence(harbour: Path) -> None:
    """Every record behind a loss is linked from the loss's own page, and so are its survey and the place."""
    count = 0
    for code in codes(harbour):
        (data,) = get(harbour, f"/object/{tilde_encode(code)}.json")
        published, to = PublishedObject(data.json()), addresses.Addresses(str, code)
        for proposal in published["proposals"]:
            losses = proposal["assessment"]["losses"][:4]
            paths = [to.loss(proposal["proposal"], loss["id"]) for loss in losses]
            (whole,) = get(harbour, to.proposal(proposal["proposal"]))
            assert set(paths) <= set(Page(whole.text).links())
            if any(step.get("agent") for step in proposal["proposal_steps"]):
                assert "safety data sheet" in whole.text
            for loss, answer in zip(losses, get(harbour, *paths), strict=True):
                links = set(Page(answer.text).links())
                for item in loss["evidence"]:
                    row = published.rows[item["kind"], item["key"]]
                    assert to.record(item["kind"], row) in links
                    assert f"/survey/{row['survey']}" in links
                    count += 1
    assert count > 100


def test_a_state_shows_what_it_rests_on(harbour: Path) -> None:
    """Each reading of a place in a line of its own with its survey and row, beside the coats and the micrograph."""
    place, unseen, gone = get(
        harbour, "/object/OHM-1962-7/place/L-STRIP", "/object/OHM-1962-7/place/L-PILL", "/object/OHM-1962-7/place/L-RES"
    )
    rests = Page(re.search(r'<section aria-labelledby="rests">.*?</section>', place.text, re.S)[0])
    assert sum("/sample/S2" in link for link in rests.links()) == 3
    assert "row 49" in rests.words
    assert "Work here took finish off: Uncovering of a strip" in rests.words
    stacks = re.search(r'<section class="whole" aria-labelledby="samples">.*?</section>', place.text, re.S)[0]
    assert stacks.count("finish</text>") == 3
    assert stacks.count("<image ") == 2
    assert "Nobody has looked here" in Page(unseen.text).words
    assert "No reading and no removal is recorded here" in Page(unseen.text).words
    assert gone.status_code == 200


def test_drawings_show_places_by_state_and_samples_each_a_link(harbour: Path) -> None:
    (page, data) = get(harbour, "/object/OHM-1962-7", "/object/OHM-1962-7.json")
    drawn = "".join(re.findall(r'<svg class="elevation".*?</svg>', page.text, re.S))
    states = {row["place"]: row["state"] for row in data.json()["survival"]["places"]}
    outlined = [row["zone"] for row in data.json()["zones"] if row["outline"]]
    assert len(outlined) >= 8
    named = {row["zone"]: row["name"] for row in data.json()["zones"]}
    for zone in outlined:
        assert f"<title>{escape(named[zone])} ({zone}): {states[zone]}" in drawn
        assert f'<a href="OHM-1962-7/place/{zone}">' in drawn
    marked = [row["sample"] for row in data.json()["samples"] if row["x"] is not None]
    assert all(f"<title>Sample {sample}</title>" in drawn for sample in marked)
    # A pattern for every state that is shown, so that none is told by colour alone.
    assert set(re.findall(r'fill="url\(#([a-z0-9-]+)\)"', drawn)) == set(re.findall(r'<pattern id="([^"]+)"', drawn))


def test_the_names_of_places_can_be_read_on_every_drawing(harbour: Path) -> None:
    """No name lies on another, on more than an edge of a smaller place, or with its middle on a sample's point."""
    drawn = 0
    for code in codes(harbour):
        (data,) = get(harbour, f"/object/{tilde_encode(code)}.json")
        for view in elevation.elevations(PublishedObject(data.json())):
            halves = [0.3 * view.unit * len(shape.code) for shape in view.shapes]
            boxes = [
                (shape.x - half, shape.y - 0.8 * view.unit, shape.x + half, shape.y)
                for shape, half in zip(view.shapes, halves, strict=True)
            ]
            for at, one in enumerate(boxes):
                assert not any(shared(one, other) for other in boxes[at + 1 :]), (code, view.shapes[at].code)
                middle = (one[0] + one[2]) / 2, (one[1] + one[3]) / 2
                assert not any(
                    abs(x - middle[0]) < view.unit / 2 and abs(y - middle[1]) < view.unit / 4 for _, x, y in view.spots
                ), (code, view.shapes[at].code)
                for smaller in view.shapes[at + 1 :]:
                    numbers = [float(n) for n in smaller.points.replace(",", " ").split()]
                    bounds = (min(numbers[::2]), min(numbers[1::2]), max(numbers[::2]), max(numbers[1::2]))
                    assert shared(one, bounds) < 0.2 * shared(one, one), (code, view.shapes[at].code, smaller.code)
                drawn += 1
    assert drawn > 70


def shared(one: tuple[float, ...], other: tuple[float, ...]) -> float:
    """The area that two boxes (left, top, right, bottom) share."""
    return max(0.0, min(one[2], other[2]) - max(one[0], other[0])) * max(
        0.0, min(one[3], other[3]) - max(one[1], other[1])
    )


def test_a_view_is_shown_in_each_light_and_none_is_lost(harbour: Path) -> None:
    pictures = [
        {"picture": code, "file": "f", "place": "DOOR", "view": "detail", "taken_on": "2014", "lighting": light}
        for code, light in (("1", "raking"), ("2", "normal"), ("3", "normal"), ("4", None), ("5", None))
    ]
    found = lighting.views([*pictures, {**pictures[0], "file": None}])
    assert [[row["picture"] for _, row in view.pictures] for view in found] == [["2", "1"], ["3"], ["4"], ["5"]]
    (page,) = get(harbour, "/object/OHM-1962-7/place/L-NUM")
    # Three lights, and all of them beside each other, which is how they are first shown.
    assert page.text.count('type="radio"') == 4
    assert page.text.count(" checked") == 1


def test_the_history_is_in_the_order_of_time(harbour: Path) -> None:
    (data,) = get(harbour, "/object/OHM-1962-7.json")
    history = timeline.timeline_data(PublishedObject(data.json()))
    dated = [event["earliest"] for event in history["events"] if event["earliest"]]
    assert dated == sorted(dated)
    assert len(history["events"]) == sum(
        len(data.json()[sheet]) for sheet in ("treatments", "advice", "surveys")
    ) + sum(1 for row in data.json()["schemes"] if row["made"]) + sum(
        1 for row in data.json()["claims"] if row["observed_on"]
    )


def test_advice_against_work_stands_right_below_the_verdict(harbour: Path) -> None:
    """AD83 of 1983 speaks against all work on the other board of the crane, where it is to be blasted."""
    proposal, before, dusted = get(
        harbour,
        "/object/OHM-1989-2/proposal/P1",
        "/before?object=OHM-1989-2&place=BOARD-Q&action=strip",
        "/before?object=OHM-1989-2&place=BOARD-Q&action=dust",
    )
    words = "“Leave the other board alone until somebody has looked under its paint”"
    for page in (proposal, before, dusted):
        said = Page(page.text).words
        assert said.count(f"Advice against step{'s 1, 3' if page is proposal else ' 1'}: {words}") == 1
        assert "Harbour clerk" not in said, "people are named only where the publisher says so"
        assert page.text.index("</h1>") < page.text.index('class="lead verdict"') < page.text.index("Advice against")
        assert page.text.index("Advice against") < page.text.index('class="seen-first"')
    assert "Advice AD83 of 20 September 1983 speaks against steps 1, 3" in Page(proposal.text).words
    # Advice that does not say so stands after the losses.
    other = Page(proposal.text).words
    assert (
        other.index("would be destroyed")
        < other.index("Other advice for these places")
        < other.index("Lay or save the flakes of the back")
    )


def test_the_history_tells_how_work_ran_and_what_advice_says(harbour: Path) -> None:
    page, tests = get(harbour, "/object/OHM-1974-21/timeline", "/object/OHM-1974-21/tests")
    said = Page(page.text).words
    assert "0.0072 m² worked on; 14 h" in said
    assert "(pH 7, tissue)" in said
    assert "against wash, aqueous" in said
    assert re.search(r"Claim CL\d “[^”]*”: (confirmed|refuted|untested|supported)", said)
    assert "looked at again when dry" in Page(tests.text).words


@pytest.mark.slow
def test_agents_never_stand_without_their_caution(harbour: Path) -> None:
    paths = [
        path
        for path in all_paths(harbour)
        if path.startswith(("/object/", "/before?")) and ".json" not in path and ".svg" not in path
    ]
    for path, page in zip(paths, get(harbour, *paths), strict=True):
        words = Page(page.text).words
        if re.search(
            r"\b(acetone|ethanol|isooctane|white spirit|citrate|stripper)\b",
            re.sub(r"parts by volume: .*? If it is left blank", "", words),
        ):
            assert "safety data sheet" in words.split("This site can only be read")[0], path
        assert not re.search(r"\b(is|are) safe\b(?! for people)", page.text)


def test_a_survey_lists_what_it_brought(harbour: Path) -> None:
    page, data = get(harbour, "/survey/H24", "/survey/H24.json")
    connection = sqlite3.connect(f"file:{harbour / 'collection.db'}?mode=ro", uri=True)
    for table, count in data.json()["counts"].items():
        assert connection.execute(f"SELECT count(*) FROM {table} WHERE survey = 'H24'").fetchone()[0] == count
    connection.close()
    assert data.json()["total"] == len(data.json()["objects"]) > 5
    assert data.json()["survey"]["title"] in Page(page.text).words


def test_the_stratigraphy_is_the_one_of_the_command(harbour: Path, tmp_path: Path) -> None:
    page, data, picture, matrix = get(
        harbour,
        *(f"/object/OHM-1962-7/{name}" for name in ("stratigraphy", "stratigraphy.json", "samples.svg", "matrix.svg")),
    )
    (document,) = get(harbour, "/object/OHM-1962-7.json")
    found = strata(Case(PublishedObject(document.json()).facts))
    assert data.json() == json.loads(json.dumps(found.as_json()))
    rows = re.findall(r"<tr><th scope=\"row\">", page.text)
    assert len(rows) == len({unit.campaign for unit in found.units if unit.campaign}), "one row for each campaign"
    for answer in (picture, matrix):
        assert answer.headers["content-type"].startswith("image/svg+xml")
        assert "<style" not in answer.text


def test_the_json_has_every_published_column_and_stable_keys(harbour: Path) -> None:
    (data,) = get(harbour, "/object/OHM-1962-7.json")
    document = data.json()
    assert list(document) == [
        "format",
        "object",
        "title",
        "record",
        "changed_on",
        "invented",
        "surveys",
        "survival",
        "threats",
        "risks",
        "tags",
        "sources",
        "components",
        "drawings",
        "zones",
        "schemes",
        "samples",
        "analyses",
        "decorations",
        "reserves",
        "tests",
        "conditions",
        "proposals",
        "treatments",
        "advice",
        "claims",
        "hazards",
        "pictures",
        "withheld",
    ]
    layer = document["samples"][0]["layers"][0]
    assert {"munsell", "lab_l", "coverage_pct", "thickness_um"} <= set(layer)
    assert None in layer.values()
    assert set(document["proposals"][0]["assessment"]) == {
        "format",
        "advice",
        "advice_beside",
        "proposal",
        "policy",
        "inputs_sha256",
        "outcome",
        "surviving_m2",
        "loss_m2",
        "loss_share",
        "intended_m2",
        "unmeasured_places",
        "losses",
        "requirements",
        "cautions",
    }


def test_object_pages_are_made_from_the_document_alone(harbour: Path) -> None:
    (data,) = get(harbour, "/object/OHM-1974-21.json")
    content = object.object_page(PublishedObject(data.json()), addresses.Addresses(str, "OHM-1974-21"))
    assert content["lead"].startswith("Original finish seen at")
    order = [row["outcome"] for row in content["proposals"]]
    assert order == sorted(order, key=lambda word: -SEVERITY.words.index(word))


def test_the_object_page_stays_light(harbour: Path) -> None:
    """The bench measures it on generated objects; here on the richest of the sample."""
    pages = get(harbour, *(f"/object/{tilde_encode(code)}" for code in codes(harbour)))
    sizes = [len(re.sub("<svg.*?</svg>", "", page.text, flags=re.S)) for page in pages]
    assert max(sizes) < 30_000
    assert sorted(sizes)[len(sizes) // 2] < 22_000
