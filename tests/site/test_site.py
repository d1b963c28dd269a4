"""The published site: what it shows, how it is found, and how it looks."""

from __future__ import annotations

import json
import re
import sqlite3
import unicodedata
from datetime import date
from pathlib import Path
from urllib.parse import quote, urljoin, urlsplit

import pytest
from datasette import hookspecs
from datasette.app import Datasette
from datasette.plugins import get_plugins
from datasette.utils import tilde_encode
from firstcoat_site import addresses, queries, wording
from firstcoat_site import published_object as told_module
from firstcoat_site.pages import before as before_page
from firstcoat_site.pages import drawings, lighting, object, stack, timeline
from firstcoat_site.published_object import Told
from hypothesis import given, settings
from hypothesis import strategies as st
from site_answers import Page, all_paths, codes, get, harbour_site
from site_packages import database

from collection.compute.case import Case
from collection.compute.stratigraphy.strata import strata
from collection.language import sentences
from collection.language.words import SEVERITY, ZONE_STATE
from collection.output.drawings import colours
from collection.output.site.publish import publish
from collection.records import sheets as r
from collection.records.facts import ProposalFacts
from collection.rules.assess import assess
from collection.values.resources import sample_folder

ROOT = Path(__file__).resolve().parents[2]
RICH = ("OHM-1962-7", "OHM-1937/3", "OHM-1974-21")
"""Objects of the sample of which every kind of record is there; of one, nothing is known."""


@pytest.fixture(scope="module")
def harbour(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return harbour_site(tmp_path_factory.mktemp("harbour"))


# --- the plugin -------------------------------------------------------------------------------------------------


def test_the_plugin_is_installed_by_its_entry_point() -> None:
    (plugin,) = [p for p in get_plugins() if "firstcoat" in p["name"]]
    assert plugin["name"] == "firstcoat"
    assert plugin["static_path"].endswith("static")
    assert sorted(plugin["hooks"]) == ["asgi_wrapper", "handle_exception", "register_routes"]


def test_every_hook_is_one_that_datasette_calls() -> None:
    """Datasette accepts unknown hook names in silence."""
    import firstcoat_site

    known = {name for name, value in vars(hookspecs).items() if hasattr(value, "datasette_spec")}
    ours = {name for name in vars(firstcoat_site) if hasattr(getattr(firstcoat_site, name), "datasette_impl")}
    assert ours == {"register_routes", "asgi_wrapper", "handle_exception"}
    assert ours <= known


def test_another_site_is_left_as_it_was(tmp_path: Path) -> None:
    sqlite3.connect(tmp_path / "other.db").execute("CREATE TABLE t (a)").connection.close()
    ds = Datasette([str(tmp_path / "other.db")])
    index, table, versions = get(tmp_path, "/", "/other/t", "/-/versions.json", datasette=ds)
    assert (index.status_code, table.status_code, versions.status_code) == (200, 200, 200)
    assert "content-security-policy" not in index.headers
    assert "What survives" not in index.text


def test_the_file_reads_well_in_datasette_without_our_pages(harbour: Path) -> None:
    metadata = json.loads((harbour / "metadata.json").read_text("utf-8"))
    metadata.pop("plugins")
    ds = Datasette([], immutables=[str(harbour / "collection.db")], metadata=metadata)
    table, row, view, search = get(
        harbour,
        "/collection/layers",
        "/collection/layers/2",
        "/collection/what_survives",
        "/collection/search?_search=vermilion",
        datasette=ds,
    )
    assert [r.status_code for r in (table, row, view, search)] == [200] * 4
    assert "thickness (µm)" in table.text
    assert re.search(r'<a href="/collection/samples/\d+">OHM-[\w/-]+/S\d+</a>', table.text)
    assert "OHM-1937/3" in search.text


def test_tables_open_only_where_the_publisher_says_so(harbour: Path, tmp_path: Path) -> None:
    packages = Path(str(sample_folder())) / "harbour"
    publish(database(tmp_path / "a.db", packages / "2014"), tmp_path / "open", allow_sql=True)
    paths = ("/collection", "/collection/layers", "/collection?sql=select+1", "/-/databases.json", "/collection.db")
    assert [r.status_code for r in get(harbour, *paths)] == [404] * 5
    found = get(tmp_path / "open", *paths)
    assert [r.status_code for r in found] == [200, 200, 200, 404, 404]
    assert "script-src" not in found[0].headers["content-security-policy"]
    assert get(tmp_path / "open", "/collection?sql=delete+from+objects")[0].status_code == 400


# --- what the pages say ------------------------------------------------------------------------------------------


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


def test_each_loss_opens_on_its_evidence(harbour: Path) -> None:
    """Every record behind a loss is linked from the loss's own page, and so are its survey and the place."""
    count = 0
    for code in codes(harbour):
        (data,) = get(harbour, f"/object/{tilde_encode(code)}.json")
        told, to = Told(data.json()), addresses.Addresses(str, code)
        for proposal in told["proposals"]:
            losses = proposal["assessment"]["losses"][:4]
            paths = [to.loss(proposal["proposal"], loss["id"]) for loss in losses]
            (whole,) = get(harbour, to.proposal(proposal["proposal"]))
            assert set(paths) <= set(Page(whole.text).links())
            if any(step.get("agent") for step in proposal["proposal_steps"]):
                assert "safety data sheet" in whole.text
            for loss, answer in zip(losses, get(harbour, *paths), strict=True):
                links = set(Page(answer.text).links())
                for item in loss["evidence"]:
                    row = told.rows[item["kind"], item["key"]]
                    assert to.record(item["kind"], row) in links
                    assert f"/survey/{row['survey']}" in links
                    count += 1
    assert count > 100


def test_a_state_shows_what_it_rests_on(harbour: Path) -> None:
    """Each reading of a place, beside its micrograph and its spot on the drawing, with its survey and row."""
    place, unseen, gone = get(
        harbour, "/object/OHM-1962-7/place/L-STRIP", "/object/OHM-1962-7/place/L-PILL", "/object/OHM-1962-7/place/L-RES"
    )
    rests = re.search(r'<section aria-labelledby="rests">.*?</section>', place.text, re.S)[0]
    assert rests.count("/picture/") >= 4
    assert rests.count('class="spot"') == 3
    assert "row 49" in Page(rests).words
    assert "Nobody has looked here" in Page(unseen.text).words
    assert "No reading and no removal is recorded here" in Page(unseen.text).words
    assert gone.status_code == 200


def test_drawings_show_places_by_state_and_samples_each_a_link(harbour: Path) -> None:
    (page, data) = get(harbour, "/object/OHM-1962-7", "/object/OHM-1962-7.json")
    drawn = "".join(re.findall(r'<svg class="elevation".*?</svg>', page.text, re.S))
    states = {row["place"]: row["state"] for row in data.json()["survival"]["places"]}
    outlined = [row["zone"] for row in data.json()["zones"] if row["outline"]]
    assert len(outlined) >= 8
    for zone in outlined:
        assert f"<title>{zone}: {states[zone]}</title>" in drawn
        assert f'<a href="OHM-1962-7/place/{zone}">' in drawn
    marked = [row["sample"] for row in data.json()["samples"] if row["x"] is not None]
    assert all(f"<title>Sample {sample}</title>" in drawn for sample in marked)
    # A pattern for every state that is shown, so that none is told by colour alone.
    assert set(re.findall(r'fill="url\(#(e\d-[a-z-]+)\)"', drawn)) == set(re.findall(r'<pattern id="([^"]+)"', drawn))


def test_the_names_of_places_can_be_read_on_every_drawing(harbour: Path) -> None:
    """No name lies on another, on more than an edge of a smaller place, or with its middle on a sample's point."""
    drawn = 0
    for code in codes(harbour):
        (data,) = get(harbour, f"/object/{tilde_encode(code)}.json")
        for view in drawings.elevations(Told(data.json())):
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
    """The area that two boxes (left, top, right, bottom) have in common."""
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
    assert page.text.count('type="radio"') == 3
    assert page.text.count(" checked") == 1


def test_the_history_is_in_the_order_of_time_and_to_scale(harbour: Path) -> None:
    (data,) = get(harbour, "/object/OHM-1962-7.json")
    told = timeline.timeline_data(Told(data.json()))
    dated = [event["earliest"] for event in told["events"] if event["earliest"]]
    assert dated == sorted(dated)
    assert len(told["events"]) == sum(len(data.json()[sheet]) for sheet in ("treatments", "advice", "surveys")) + sum(
        1 for row in data.json()["schemes"] if row["made"]
    ) + sum(1 for row in data.json()["claims"] if row["observed_on"])
    drawn = timeline.plot(told)
    year = dict(drawn.ticks)
    per_year = (year[1920] - year[1900]) / 20
    renumbered = next(
        mark for mark in drawn.marks if mark.row == "work" and abs(mark.x - (year[1920] + 7 * per_year)) < 1
    )
    assert renumbered.x2 - renumbered.x == pytest.approx(11 / 12 * per_year, abs=0.2)
    assert timeline.plot({"events": told["events"][:1]}) is None


def test_advice_against_work_stands_before_everything_else_on_its_page(harbour: Path) -> None:
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
    assert proposal.text.index("Advice against") < proposal.text.index("<h1>")
    assert before.text.index("Advice against") < before.text.index("would be destroyed")
    assert "Advice AD83 of 1983-09-20 speaks against steps 1, 3" in Page(proposal.text).words
    # Advice that does not say so stands after the losses.
    other = Page(proposal.text).words
    assert (
        other.index("would be destroyed")
        < other.index("Advice that does not say what it speaks against")
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
            re.sub(r"parts by volume: .*? Left blank", "", words),
        ):
            assert "safety data sheet" in words.split("This site can only be read")[0], path
        assert not re.search(r"\b(is|are) safe\b(?! for people)", page.text)


# --- before you approve, at risk, surveys -----------------------------------------------------------------------------


def test_before_you_approve_answers_as_the_rules_do(harbour: Path) -> None:
    """Of one step on an object of which everything is published, word for word."""
    asked = "object=OHM-1962-7&place=L-STRIP&action=solvent&agent=acetone&application=rolled+swab&dwell_s=30"
    page, data = get(harbour, f"/before?{asked}", f"/before.json?{asked}")
    (document,) = get(harbour, "/object/OHM-1962-7.json")
    told = Told(document.json())
    step = r.ProposalStep(
        object="OHM-1962-7",
        proposal="asked",
        step=1,
        place="L-STRIP",
        action="solvent",
        agent="acetone",
        application="rolled swab",
        dwell_s=30,
    )
    head = r.Proposal(
        object="OHM-1962-7", proposal="asked", title="t", proposed_by="n", proposed_on=date.today().isoformat()
    )
    wanted = assess(Case(told.facts), ProposalFacts(head, (step,))).as_json()
    for name in ("outcome", "losses", "requirements", "loss_m2"):
        assert data.json()[name] == json.loads(json.dumps(wanted[name])), name
    assert wanted["outcome"] == "endangers"
    words = Page(page.text).words
    for loss in wanted["losses"]:
        assert " ".join(loss["message"].split()) in words


def test_the_published_records_are_the_facts_that_the_rules_read(harbour: Path, tmp_path: Path) -> None:
    """What is published whole gives the very assessments of the database."""
    for code in ("OHM-1962-7", "OHM-1974-21"):
        (data,) = get(harbour, f"/object/{tilde_encode(code)}.json")
        told = Told(data.json())
        for proposal in data.json()["proposals"]:
            steps = tuple(told_module.as_record(r.ProposalStep, row) for row in proposal["proposal_steps"])
            found = assess(Case(told.facts), ProposalFacts(told_module.as_record(r.Proposal, proposal), steps))
            assert found.outcome == proposal["assessment"]["outcome"]
            assert [loss.id for loss in found.losses] == [loss["id"] for loss in proposal["assessment"]["losses"]]


def test_work_that_reaches_nothing_is_out_of_reach_and_work_that_strips_destroys(harbour: Path) -> None:
    drained, stripped = get(harbour, "/before?object=OHM-1962-7&action=drain", "/before?object=OHM-1962-7&action=strip")
    assert "Nothing that is kept lies within its reach" in Page(drained.text).words
    assert "would be destroyed" in Page(stripped.text).words
    assert "treat paint as leaded until it is analysed" in Page(stripped.text).words


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("object=nobody", "No object nobody is published"),
        ("object=OHM-1962-7&place=MOON&action=dust", "has no place MOON"),
        ("object=OHM-1962-7&agent=acetone", "Choose what would be done"),
        ("object=OHM-1962-7&action=solvent&agent=acetone+%2B", "acetone +"),
        ("object=OHM-1962-7&action=scrape&depth_um=lots", "lots"),
        ("object=OHM-1962-7&action=scrape&stop_at=99", "has no scheme 99"),
        ("object=OHM-1962-7&action=levitate", "levitate"),
    ],
)
def test_what_cannot_be_answered_is_told_in_a_sentence_beside_its_field(harbour: Path, asked: str, said: str) -> None:
    page, data = get(harbour, f"/before?{asked}", f"/before.json?{asked}")
    assert page.status_code == 200
    assert "This cannot be answered yet" in Page(page.text).words
    assert said in Page(page.text).words
    assert data.status_code == 400
    assert data.json()["errors"]


def test_where_records_are_held_back_nothing_is_told_as_cleared(harbour: Path) -> None:
    (data,) = get(harbour, "/object/OHM-1962-7.json")
    asked = before_page.asked(
        {
            "place": "L-STRIP",
            "action": "solvent",
            "agent": "dearomatised white spirit",
            "application": "rolled swab",
            "dwell_s": "20",
            "passes": "4",
            "temperature_c": "20",
        }
    )
    whole = Told(data.json())
    step, faults = before_page.read_step(whole, asked)
    assert not faults
    plain = before_page.judged(whole, step, "2024-11-01")
    assert plain["outcome"] == "stood"
    part = Told({**data.json(), "withheld": {"tests": 1}})
    wary = before_page.judged(part, step, "2024-11-01")
    assert wary["outcome"] == "untested"
    assert len(wary["losses"]) == len(plain["losses"])
    assert {loss["severity"] for loss in wary["losses"]} == {"untested"}
    assert all("not published" in loss["message"] for loss in wary["losses"])
    drain = before_page.read_step(part, before_page.asked({"action": "drain"}))[0]
    assert before_page.judged(part, drain)["outcome"] == "clear"


def test_objects_at_risk_stand_in_order_with_every_reason(harbour: Path) -> None:
    page, data = get(harbour, "/at-risk", "/at-risk.json")
    found = data.json()
    order = [tuple(row["numbers"].values()) for row in found["objects"]]
    assert order == sorted(order, reverse=True)
    assert found["total"] == len(found["objects"]) == 13
    for row in found["objects"]:
        (document,) = get(harbour, f"/object/{tilde_encode(row['object'])}.json")
        assert [t["message"] for t in row["threats"]] == [t["message"] for t in document.json()["threats"]]
        assert row["title"] in Page(page.text).words
    assert "OHM-1952-11" not in {row["object"] for row in found["objects"]}


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
    found = strata(Case(Told(document.json()).facts))
    assert data.json() == json.loads(json.dumps(found.as_json()))
    rows = re.findall(r"<tr><th scope=\"row\">", page.text)
    assert len(rows) == len(found.units)
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
        "invented",
        "surveys",
        "survival",
        "threats",
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


def test_a_coat_is_drawn_to_scale_in_order_with_its_own_colour() -> None:
    layers = [
        {"position": 3, "role": "varnish", "thickness_um": 10},
        {"position": 2, "role": "body colour", "thickness_um": 40, "lab_l": 50, "lab_a": 0, "lab_b": 0},
        {"position": 9, "role": "glaze", "coverage": "absent"},
        {"position": 1, "role": "primer", "colour": "dark red"},
    ]
    drawn = stack.drawing(layers)
    assert [band.kind for band in drawn.bands] == ["unknown", "measured", "word"]
    assert drawn.bands[1].height == pytest.approx(4 * drawn.bands[0].height, rel=0.01)
    assert drawn.scale_height / drawn.scale_um == pytest.approx(drawn.bands[0].height / 10, rel=0.01)
    assert [band.to_scale for band in drawn.bands] == [True, True, False]
    assert drawn.left_out == 1
    ends = [band.y + band.height for band in drawn.bands]
    assert [band.y for band in drawn.bands][1:] == pytest.approx(ends[:-1], abs=0.11)


def to_lab(red: int, green: int, blue: int) -> tuple[float, float, float]:
    """sRGB to CIE Lab by the forward formulas: IEC 61966-2-1 (matrix and curve) and CIE 15 (Lab, D65)."""
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in (red / 255, green / 255, blue / 255)]
    rows = ((0.4124564, 0.3575761, 0.1804375), (0.2126729, 0.7151522, 0.0721750), (0.0193339, 0.1191920, 0.9503041))
    white = (0.95047, 1.0, 1.08883)
    x, y, z = (
        f / w
        for f, w in zip((sum(m * c for m, c in zip(row, linear, strict=True)) for row in rows), white, strict=True)
    )

    def root(t: float) -> float:
        return t ** (1 / 3) if t > (6 / 29) ** 3 else t / (3 * (6 / 29) ** 2) + 4 / 29

    return 116 * root(y) - 16, 500 * (root(x) - root(y)), 200 * (root(y) - root(z))


@given(st.integers(0, 255), st.integers(0, 255), st.integers(0, 255))
def test_a_recorded_lab_colour_is_the_one_shown(red: int, green: int, blue: int) -> None:
    shown = colours.srgb(to_lab(red, green, blue))
    got = tuple(int(shown[n : n + 2], 16) for n in (1, 3, 5))
    assert max(abs(a - b) for a, b in zip(got, (red, green, blue), strict=True)) <= 1


def test_figures_are_read_as_they_are() -> None:
    """No exponents; below a square centimetre no figure; one place is one place."""
    assert sentences.square_metres([2.1, 3.2456, 4.04]) == "3.2 m² (2.1–4)"
    assert sentences.square_metres([5.0, 5.0, 5.0]) == "5 m²"
    assert sentences.square_metres([88.0, 123.4, 1234567.0]) == "120 m² (88–1200000)"
    assert sentences.square_metres([0.0, 3.5e-10, 4.2e-05]) == "under 0.0001 m²"
    assert sentences.percent([0.0, 0.034, 1.0]) == "3 % (0–100)"
    assert sentences.percent([0.0, 0.0001, 0.004]) == "under 1 %"
    assert sentences.taken("destroys", [1.0, 2.0, 3.0], None, 1) == (
        "It would take 2 m² (1–3) of documented original finish, not counting 1 place of unknown area"
    )
    assert sentences.taken("stood", [0.0, 3.5e-10, 4.2e-05], None, 0) is None
    assert sentences.taken("destroys", [0.0, 3.5e-10, 4.2e-05], [0.0, 0.0, 0.001], 2) == (
        "It would take under 0.0001 m² of documented original finish, under 1 % of what survives on this object, not "
        "counting 2 places of unknown area"
    )


@given(st.text())
def test_a_sentence_has_one_stop(text: str) -> None:
    once = sentences.ended(text)
    assert sentences.ended(once) == once
    assert not once or once.rstrip("”’'\")")[-1:] in (".", "!", "?", "…")


def test_a_sentence_keeps_the_stop_it_has() -> None:
    assert [sentences.ended(text) for text in ("It reads 4", "Number 4?", "He said “number four.”", "x. ")] == [
        "It reads 4.",
        "Number 4?",
        "He said “number four.”",
        "x.",
    ]


# --- search -------------------------------------------------------------------------------------------------------


def test_a_code_comes_first_and_exactly(harbour: Path) -> None:
    (exact, sample, prefix, lower) = get(
        harbour,
        "/search.json?q=OHM-1937/3",
        "/search.json?q=OHM-1962-7/S03",
        "/search.json?q=OHM-19",
        "/search.json?q=ohm-1937/3",
    )
    assert exact.json()["results"][0]["object"] == "OHM-1937/3"
    assert exact.json()["results"][0]["why"] == "its number is OHM-1937/3"
    first = sample.json()["results"][0]
    assert (first["object"], first["why"]) == ("OHM-1962-7", "sample OHM-1962-7/S03")
    assert first["places"] == ["L-ROCK"]
    assert [r["object"] for r in prefix.json()["results"]] == codes(harbour)
    assert lower.json()["results"][0]["object"] == "OHM-1937/3"


def test_a_reason_says_that_its_record_says_no(harbour: Path) -> None:
    """The crest was looked for twice and not found: the word in its record is no sign that it is there."""
    (answer,) = get(harbour, "/search.json?q=crest")
    (found,) = answer.json()["results"]
    assert found["why"].startswith("decoration DC1/2014-11-06 (not found): The estate's crest")


def tokens(text: str) -> list[str]:
    plain = "".join(c for c in unicodedata.normalize("NFD", text) if not unicodedata.combining(c))
    return re.findall(r"[^\W_]+", plain.casefold())


def test_search_finds_what_reading_every_row_finds(harbour: Path) -> None:
    """120 words of the collection, each against a reading of all published texts from the first to the last."""
    connection = sqlite3.connect(f"file:{harbour / 'collection.db'}?mode=ro", uri=True)
    texts = {
        code: tokens(f"{title} {words}")
        for code, title, words in connection.execute("SELECT object, title, words FROM search")
    }
    words = sorted({word for found in texts.values() for word in found if word.isalpha()})
    for word in words[:: max(1, len(words) // 120)]:
        wanted = {
            code
            for code, found in texts.items()
            if any(t == word or (len(word) >= 3 and t.startswith(word)) for t in found)
        }
        found = queries.search(connection, word, {}, 1)
        assert {match.code for match in found.matches} == wanted, word
        assert found.total == len(wanted)
        for match in found.matches:
            assert any(hit for _, hit in match.pieces) or word in tokens(match.title), (word, match.code)
    connection.close()


@settings(max_examples=200)
@given(st.text(max_size=60))
def test_no_question_breaks_the_search(harbour: Path, asked: str) -> None:
    connection = sqlite3.connect(f"file:{harbour / 'collection.db'}?mode=ro", uri=True)
    try:
        found = queries.search(connection, asked, {}, 1)
        assert all(match.text for match in found.matches)
    finally:
        connection.close()


@pytest.mark.parametrize(
    "asked",
    [
        "'",
        '"',
        '"" OR "',
        "NEAR(a b)",
        "a* OR b",
        "title:x",
        "^red",
        "-red",
        "*",
        "a" * 5000,
        "'; DROP TABLE objects; --",
        "1) UNION SELECT 1",
        "\x00",
        "(",
        "red AND",
        "{a b}",
    ],
)
def test_hostile_questions_are_questions(harbour: Path, asked: str) -> None:
    page, data = get(harbour, f"/?q={quote(asked[:1000])}", f"/search.json?q={quote(asked[:1000])}")
    assert page.status_code == data.status_code == 200


# --- looks ----------------------------------------------------------------------------------------------------------


def luminance(colour: str) -> float:
    """WCAG 2.2, relative luminance."""
    full = colour if len(colour) == 7 else "#" + "".join(c * 2 for c in colour[1:])
    parts = [int(full[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


CSS = (ROOT / "plugins" / "firstcoat_site" / "static" / "firstcoat.css").read_text("utf-8")


@pytest.mark.parametrize("number", [0, 1], ids=["light", "dark"])
def test_texts_stand_out_from_the_paper(number: int) -> None:
    """WCAG 2.2, 1.4.3 (text, 4.5) and 1.4.11 (marks and focus, 3)."""
    block = re.findall(r":root \{([^}]*)\}", CSS)[number]
    colour = dict(re.findall(r"--(\w+): (#[0-9a-f]{3,6})", block))
    for name in ("ink", "quiet", "link", "warn", "alarm", "open", "held"):
        assert contrast(colour[name], colour["paper"]) >= 4.5, name
        assert name in ("warn", "alarm", "open", "held", "quiet") or contrast(colour[name], colour["mark"]) >= 4.5, name
    for name in ("paint", "focus", "quiet"):
        assert contrast(colour[name], colour["paper"]) >= 3, name


def test_the_style_sheet_loads_nothing() -> None:
    assert "url(" not in CSS
    assert "@import" not in CSS


def test_object_pages_are_made_from_the_document_alone(harbour: Path) -> None:
    (data,) = get(harbour, "/object/OHM-1974-21.json")
    content = object.object_page(Told(data.json()), addresses.Addresses(str, "OHM-1974-21"))
    assert content["lead"].startswith("Original finish seen at")
    order = [row["outcome"] for row in content["proposals"]]
    assert order == sorted(order, key=lambda word: -SEVERITY.words.index(word))


# --- narrowing --------------------------------------------------------------------------------------------------------


def reading(site: Path, sql: str) -> set[str]:
    connection = sqlite3.connect(f"file:{site / 'collection.db'}?mode=ro", uri=True)
    try:
        return {row[0] for row in connection.execute(sql)}
    finally:
        connection.close()


@pytest.mark.parametrize(
    ("asked", "sql"),
    [
        ("state=original+exposed", "SELECT object FROM places WHERE state = 'original exposed'"),
        ("colour=vermil", "SELECT object FROM layers WHERE colour LIKE '%vermil%'"),
        ("scheme=restoration", "SELECT object FROM schemes WHERE period = 'restoration' OR name LIKE '%restoration%'"),
        ("maker=cro", "SELECT object FROM objects WHERE maker LIKE '%cro%'"),
        (
            "state=original+covered&colour=gold",
            "SELECT object FROM places WHERE state = 'original covered' INTERSECT "
            "SELECT object FROM layers WHERE colour LIKE '%gold%'",
        ),
        (
            "q=oak&colour=green",
            "SELECT object FROM layers WHERE colour LIKE '%green%' INTERSECT SELECT object FROM search "
            "WHERE words LIKE '%oak%' ",
        ),
    ],
)
def test_a_search_is_narrowed_to_what_reading_every_row_finds(harbour: Path, asked: str, sql: str) -> None:
    (page, data) = get(harbour, f"/?{asked}", f"/search.json?{asked}")
    wanted = reading(harbour, sql)
    found = {row["object"] for row in data.json()["results"]}
    assert wanted
    if asked.startswith("q="):
        assert found <= wanted  # the words of the index are whole words
    else:
        assert found == wanted
    for row in data.json()["results"]:
        assert row["why"]
        assert row["title"] in Page(page.text).words


def test_a_munsell_notation_is_one_colour(harbour: Path) -> None:
    (whole, figures) = get(harbour, "/search.json?q=5R+3/6", "/search.json?q=7.5R+3/6")
    connection = sqlite3.connect(f"file:{harbour / 'collection.db'}?mode=ro", uri=True)
    for answer, notation in ((whole, "5R 3/6"), (figures, "7.5R 3/6")):
        wanted = {row[0] for row in connection.execute("SELECT object FROM layers WHERE munsell = ?", (notation,))}
        assert {row["object"] for row in answer.json()["results"]} == wanted
    assert {row["object"] for row in figures.json()["results"]}
    connection.close()


def test_a_narrowed_search_names_the_places_and_the_record(harbour: Path) -> None:
    (state, colour) = get(harbour, "/search.json?state=original+exposed", "/search.json?colour=vermilion")
    first = next(row for row in state.json()["results"] if row["object"] == "OHM-1962-7")
    assert {"L-STRIP", "F-HID"} <= set(first["places"])
    assert first["why"].endswith("original exposed")
    coat = next(row for row in colour.json()["results"] if row["object"] == "OHM-1962-7")
    assert coat["record"]["kind"] == "layers"
    assert "vermilion" in coat["why"]


def test_narrowed_twice_a_search_names_the_places_where_both_hold(harbour: Path) -> None:
    """By reading the tables: the places of that state in which a sample met a coat of that colour."""
    (data,) = get(harbour, "/search.json?state=original+exposed&colour=red")
    connection = sqlite3.connect(f"file:{harbour / 'collection.db'}?mode=ro", uri=True)
    both = 0
    for row in data.json()["results"]:
        wanted = {
            place
            for (place,) in connection.execute(
                "SELECT s.place FROM samples AS s JOIN layers AS l ON l.sample_id = s.id WHERE s.object = ? AND l.colour "
                "LIKE '%red%' INTERSECT SELECT place FROM places WHERE object = ? AND state = 'original exposed'",
                (row["object"], row["object"]),
            )
        }
        if wanted:
            both += 1
            assert set(row["places"]) <= wanted, row
            assert row["places"]
            assert any(f"{place}: original exposed" in row["why"] for place in wanted)
    connection.close()
    assert both > 3


def test_the_object_page_stays_light(harbour: Path) -> None:
    """The bench measures it on made objects; here the richest of the sample."""
    sizes = [len(page.content) for page in get(harbour, *(f"/object/{tilde_encode(code)}" for code in codes(harbour)))]
    assert max(sizes) < 30_000
    assert sorted(sizes)[len(sizes) // 2] < 22_000
