"""The published site: what it shows, how it is found, and how it looks."""

from __future__ import annotations

import json
import re
import sqlite3
import unicodedata
from pathlib import Path
from urllib.parse import quote, urlsplit

import pytest
from datasette import hookspecs
from datasette.app import Datasette
from datasette.plugins import get_plugins
from datasette.utils import tilde_encode
from firstcoat_site import matches, object_page, queries, stack, wording
from hypothesis import given, settings
from hypothesis import strategies as st
from site_answers import Page, all_paths, codes, get, harbour_site
from site_packages import database

from collection import sentences
from collection.output import colours
from collection.output.publish import publish
from collection.resources import sample_folder
from collection.words import SEVERITY, ZONE_STATE

ROOT = Path(__file__).resolve().parent.parent
RICH = ("OHM-1962-7", "OHM-1937/3", "OHM-1974-21")
"""Objects of the sample of which every kind of record is there; of one, nothing is known."""


@pytest.fixture(scope="module")
def harbour(tmp_path_factory) -> Path:
    return harbour_site(tmp_path_factory.mktemp("harbour"))


# --- the plugin -------------------------------------------------------------------------------------------------

def test_the_plugin_is_installed_by_its_entry_point():
    (plugin,) = [p for p in get_plugins() if "firstcoat" in p["name"]]
    assert plugin["name"] == "firstcoat"
    assert plugin["static_path"].endswith("static")
    assert sorted(plugin["hooks"]) == ["asgi_wrapper", "handle_exception", "register_routes"]


def test_every_hook_is_one_that_datasette_calls():
    """Datasette accepts unknown hook names in silence."""
    import firstcoat_site

    known = {name for name, value in vars(hookspecs).items() if hasattr(value, "datasette_spec")}
    ours = {name for name in vars(firstcoat_site) if hasattr(getattr(firstcoat_site, name), "datasette_impl")}
    assert ours == {"register_routes", "asgi_wrapper", "handle_exception"}
    assert ours <= known


def test_another_site_is_left_as_it_was(tmp_path):
    sqlite3.connect(tmp_path / "other.db").execute("CREATE TABLE t (a)").connection.close()
    ds = Datasette([str(tmp_path / "other.db")])
    index, table, versions = get(tmp_path, "/", "/other/t", "/-/versions.json", datasette=ds)
    assert (index.status_code, table.status_code, versions.status_code) == (200, 200, 200)
    assert "content-security-policy" not in index.headers
    assert "What survives" not in index.text


def test_the_file_reads_well_in_datasette_without_our_pages(harbour):
    metadata = json.loads((harbour / "metadata.json").read_text("utf-8"))
    metadata.pop("plugins")
    ds = Datasette([], immutables=[str(harbour / "collection.db")], metadata=metadata)
    table, row, view, search = get(harbour, "/collection/layers", "/collection/layers/2", "/collection/what_survives",
                                   "/collection/search?_search=vermilion", datasette=ds)
    assert [r.status_code for r in (table, row, view, search)] == [200] * 4
    assert "thickness (µm)" in table.text
    assert re.search(r'<a href="/collection/samples/\d+">OHM-[\w/-]+/S\d+</a>', table.text)
    assert "OHM-1937/3" in search.text


def test_tables_open_only_where_the_publisher_says_so(harbour, tmp_path):
    packages = Path(str(sample_folder())) / "harbour"
    publish(database(tmp_path / "a.db", packages / "2014"), tmp_path / "open", allow_sql=True)
    paths = ("/collection", "/collection/layers", "/collection?sql=select+1", "/-/databases.json", "/collection.db")
    assert [r.status_code for r in get(harbour, *paths)] == [404] * 5
    found = get(tmp_path / "open", *paths)
    assert [r.status_code for r in found] == [200, 200, 200, 404, 404]
    assert "script-src" not in found[0].headers["content-security-policy"]
    assert get(tmp_path / "open", "/collection?sql=delete+from+objects")[0].status_code == 400


# --- what the pages say ------------------------------------------------------------------------------------------

def test_an_object_page_says_first_what_survives(harbour):
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


def test_every_state_and_severity_is_told_in_words(harbour):
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


def test_every_link_leads_somewhere_and_every_id_is_one(harbour):
    """Each link of each page: its anchor is on the page it names, its page answers, and nothing leaves the site."""
    pages = {}
    for path in all_paths(harbour):
        (answer,) = get(harbour, path)
        if answer.headers["content-type"].startswith("text/html"):
            pages[path] = Page(answer.text)
    asked = set()
    for path, page in pages.items():
        assert len(page.ids) == len(set(page.ids)), path
        for link in page.links():
            parts = urlsplit(link)
            assert not parts.scheme, (path, link)
            assert not parts.netloc, (path, link)
            target = parts.path or urlsplit(path).path
            if parts.fragment and target in pages:
                assert parts.fragment in pages[target].ids, (path, link)
            if parts.path:
                asked.add(f"{parts.path}?{parts.query}" if parts.query else parts.path)
    assert [r.status_code for r in get(harbour, *sorted(asked))] == [200] * len(asked)


def test_each_loss_opens_on_its_evidence(harbour):
    """Every record behind a loss is linked from it and described in the same line."""
    count = 0
    for code in codes(harbour):
        (data,) = get(harbour, f"/object/{tilde_encode(code)}.json")
        for proposal in data.json()["proposals"]:
            path = f"/object/{tilde_encode(code)}/{tilde_encode(proposal['proposal'])}"
            (answer,) = get(harbour, path)
            links = {urlsplit(link).fragment for link in Page(answer.text).links()}
            for loss in proposal["assessment"]["losses"]:
                for item in loss["evidence"]:
                    assert wording.anchor(item["kind"], item["key"].removeprefix(f"{code}/")) in links
                    count += 1
            if any(step.get("agent") for step in proposal["proposal_steps"]):
                assert "safety data sheet" in answer.text
    assert count > 100


def test_agents_never_stand_without_their_caution(harbour):
    for code in codes(harbour):
        (page,) = get(harbour, f"/object/{tilde_encode(code)}")
        for heading in ("proposals", "tests", "history"):
            section = re.search(rf'<section aria-labelledby="{heading}">.*?</section>', page.text, re.S)
            if section:
                assert "Agents are named as records, not as advice" in section[0]
        assert not re.search(r"\b(is|are) safe\b(?! for people)", page.text)


def test_the_json_has_every_published_column_and_stable_keys(harbour):
    (data,) = get(harbour, "/object/OHM-1962-7.json")
    document = data.json()
    assert list(document) == [
        "format", "object", "title", "record", "invented", "surveys", "survival", "sources", "components", "drawings",
        "zones", "schemes", "samples", "analyses", "decorations", "reserves", "tests", "conditions", "proposals",
        "treatments", "advice", "claims", "hazards", "pictures", "withheld"]
    layer = document["samples"][0]["layers"][0]
    assert {"munsell", "lab_l", "coverage_pct", "thickness_um"} <= set(layer)
    assert None in layer.values()
    assert set(document["proposals"][0]["assessment"]) == {
        "format", "proposal", "policy", "inputs_sha256", "outcome", "surviving_m2", "loss_m2", "loss_share",
        "intended_m2", "unmeasured_places", "losses", "requirements", "cautions"}


def test_a_coat_is_drawn_to_scale_in_order_with_its_own_colour():
    layers = [{"position": 3, "role": "varnish", "thickness_um": 10}, {"position": 2, "role": "body colour",
              "thickness_um": 40, "lab_l": 50, "lab_a": 0, "lab_b": 0}, {"position": 9, "role": "glaze",
              "coverage": "absent"}, {"position": 1, "role": "primer", "colour": "dark red"}]
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
    x, y, z = (f / w for f, w in zip((sum(m * c for m, c in zip(row, linear, strict=True)) for row in rows), white,
                                     strict=True))

    def root(t: float) -> float:
        return t ** (1 / 3) if t > (6 / 29) ** 3 else t / (3 * (6 / 29) ** 2) + 4 / 29

    return 116 * root(y) - 16, 500 * (root(x) - root(y)), 200 * (root(y) - root(z))


@given(st.integers(0, 255), st.integers(0, 255), st.integers(0, 255))
def test_a_recorded_lab_colour_is_the_one_shown(red, green, blue):
    shown = colours.srgb(to_lab(red, green, blue))
    got = tuple(int(shown[n:n + 2], 16) for n in (1, 3, 5))
    assert max(abs(a - b) for a, b in zip(got, (red, green, blue), strict=True)) <= 1


def test_figures_are_read_as_they_are():
    """No exponents; below a square centimetre no figure; one place is one place."""
    assert sentences.square_metres([2.1, 3.2456, 4.04]) == "3.2 m² (2.1–4)"
    assert sentences.square_metres([5.0, 5.0, 5.0]) == "5 m²"
    assert sentences.square_metres([88.0, 123.4, 1234567.0]) == "120 m² (88–1200000)"
    assert sentences.square_metres([0.0, 3.5e-10, 4.2e-05]) == "under 0.0001 m²"
    assert sentences.percent([0.0, 0.034, 1.0]) == "3 % (0–100)"
    assert sentences.percent([0.0, 0.0001, 0.004]) == "under 1 %"
    assert sentences.taken("destroys", [1.0, 2.0, 3.0], None, 1) == (
        "It would take 2 m² (1–3) of documented original finish, not counting 1 place of unknown area")
    assert sentences.taken("stood", [0.0, 3.5e-10, 4.2e-05], None, 0) is None
    assert sentences.taken("destroys", [0.0, 3.5e-10, 4.2e-05], [0.0, 0.0, 0.001], 2) == (
        "It would take under 0.0001 m² of documented original finish, under 1 % of what survives on this object, not "
        "counting 2 places of unknown area")


@given(st.text())
def test_a_sentence_has_one_stop(text):
    once = sentences.ended(text)
    assert sentences.ended(once) == once
    assert not once or once.rstrip("”’'\")")[-1:] in (".", "!", "?", "…")


def test_a_sentence_keeps_the_stop_it_has():
    assert [sentences.ended(text) for text in ("It reads 4", "Number 4?", "He said “number four.”", "x. ")] == [
        "It reads 4.", "Number 4?", "He said “number four.”", "x."]


# --- search -------------------------------------------------------------------------------------------------------

def test_a_code_comes_first_and_exactly(harbour):
    (exact, sample, prefix, lower) = get(harbour, "/search.json?q=OHM-1937/3", "/search.json?q=OHM-1962-7/S03",
                                         "/search.json?q=OHM-19", "/search.json?q=ohm-1937/3")
    assert exact.json()["results"][0]["object"] == "OHM-1937/3"
    assert exact.json()["results"][0]["why"] == "its number is OHM-1937/3"
    first = sample.json()["results"][0]
    assert (first["object"], first["why"]) == ("OHM-1962-7", "sample OHM-1962-7/S03")
    assert first["places"] == ["L-ROCK"]
    assert [r["object"] for r in prefix.json()["results"]] == codes(harbour)
    assert lower.json()["results"][0]["object"] == "OHM-1937/3"


def test_a_reason_says_that_its_record_says_no(harbour):
    """The crest was looked for twice and not found: the word in its record is no sign that it is there."""
    (answer,) = get(harbour, "/search.json?q=crest")
    (found,) = answer.json()["results"]
    assert found["why"].startswith("decoration DC1/2014-11-06 (not found): The estate's crest")


def tokens(text: str) -> list[str]:
    plain = "".join(c for c in unicodedata.normalize("NFD", text) if not unicodedata.combining(c))
    return re.findall(r"[^\W_]+", plain.casefold())


def test_search_finds_what_reading_every_row_finds(harbour):
    """120 words of the collection, each against a reading of all published texts from the first to the last."""
    connection = sqlite3.connect(f"file:{harbour / 'collection.db'}?mode=ro", uri=True)
    texts = {code: tokens(f"{title} {words}")
             for code, title, words in connection.execute("SELECT object, title, words FROM search")}
    words = sorted({word for found in texts.values() for word in found if word.isalpha()})
    for word in words[:: max(1, len(words) // 120)]:
        wanted = {code for code, found in texts.items()
                  if any(t == word or (len(word) >= 3 and t.startswith(word)) for t in found)}
        found = queries.search(connection, word, 1)
        assert {d["object"] for d in found.documents} == wanted, word
        assert found.total == len(wanted)
        for document in found.documents:
            _, reason = matches.why(document, word, queries.asked_words(word))
            assert any(hit for _, hit in reason) or word in tokens(document["title"]), (word, document["object"])
    connection.close()


@settings(max_examples=200)
@given(st.text(max_size=60))
def test_no_question_breaks_the_search(harbour, asked):
    connection = sqlite3.connect(f"file:{harbour / 'collection.db'}?mode=ro", uri=True)
    try:
        found = queries.search(connection, asked, 1)
        for document in found.documents:
            matches.why(document, asked, queries.asked_words(asked))
    finally:
        connection.close()


@pytest.mark.parametrize("asked", ["'", '"', '"" OR "', "NEAR(a b)", "a* OR b", "title:x", "^red", "-red", "*",
                                   "a" * 5000, "'; DROP TABLE objects; --", "1) UNION SELECT 1", "\x00", "(", "red AND",
                                   "{a b}"])
def test_hostile_questions_are_questions(harbour, asked):
    page, data = get(harbour, f"/?q={quote(asked[:1000])}", f"/search.json?q={quote(asked[:1000])}")
    assert page.status_code == data.status_code == 200


# --- looks ----------------------------------------------------------------------------------------------------------

def luminance(colour: str) -> float:
    """WCAG 2.2, relative luminance."""
    full = colour if len(colour) == 7 else "#" + "".join(c * 2 for c in colour[1:])
    parts = [int(full[n:n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


CSS = (ROOT / "plugins" / "firstcoat_site" / "static" / "firstcoat.css").read_text("utf-8")


@pytest.mark.parametrize("number", [0, 1], ids=["light", "dark"])
def test_texts_stand_out_from_the_paper(number):
    """WCAG 2.2, 1.4.3 (text, 4.5) and 1.4.11 (marks and focus, 3)."""
    block = re.findall(r":root \{([^}]*)\}", CSS)[number]
    colour = dict(re.findall(r"--(\w+): (#[0-9a-f]{3,6})", block))
    for name in ("ink", "quiet", "link", "warn", "alarm", "open", "held"):
        assert contrast(colour[name], colour["paper"]) >= 4.5, name
        assert name in ("warn", "alarm", "open", "held", "quiet") or contrast(colour[name], colour["mark"]) >= 4.5, name
    for name in ("paint", "focus", "quiet"):
        assert contrast(colour[name], colour["paper"]) >= 3, name


def test_the_style_sheet_loads_nothing():
    assert "url(" not in CSS
    assert "@import" not in CSS


def test_object_pages_are_made_from_the_document_alone(harbour):
    (data,) = get(harbour, "/object/OHM-1974-21.json")
    content = object_page.object_page(data.json())
    assert content["lead"].startswith("Original finish seen at")
    order = [row["assessment"]["outcome"] for row in content["proposals"]]
    assert order == sorted(order, key=lambda word: -SEVERITY.words.index(word))
    when = [entry["when"] for entry in content["history"] if entry["when"]]
    assert when[0] < when[-1]
