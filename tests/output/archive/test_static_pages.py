"""The pages of an archive: whole, without forms, script or dead links, and with what a stranger needs to read in them."""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
from dataclasses import dataclass
from pathlib import Path

import pytest
from firstcoat_site import answers, copy_lists, copy_routes
from pages_on_disk import DiskPage, dead_links, pages_of
from site_answers import WHOSE, codes, get
from site_packages import database_of, object_rows, write_package

from collection.language.errors import CouldNot
from collection.language.words import ZONE_STATE
from collection.output.archive import static_links
from collection.output.archive.file_names import FileNames
from collection.output.archive.static_pages import PagesReport, write_pages
from collection.output.manual import TOPICS
from collection.output.site.publish import publish
from collection.store.changes import collection_row
from collection.values.resources import sample_folder

NAME, DAY = "harbour-2025", "2025-03-14"
TRAM = "object/OHM-1962-7"


@dataclass
class Copy:
    """A published folder, its pages as files, and what was reported."""

    published: Path
    folder: Path
    report: PagesReport
    pages: dict[str, DiskPage]
    told: list[tuple[int, int]]


def copy_of(published: Path, folder: Path) -> Copy:
    told: list[tuple[int, int]] = []
    report = write_pages(published, folder, name=NAME, day=DAY, progress=lambda done, whole: told.append((done, whole)))
    return Copy(published, folder, report, pages_of(folder), told)


@pytest.fixture(scope="session")
def harbour_copy(tmp_path_factory: pytest.TempPathFactory) -> Copy:
    """The invented harbour collection for staff, with the papers of one object beside it."""
    folder = tmp_path_factory.mktemp("copy")
    packages = Path(str(sample_folder())) / "harbour"
    path = database_of(folder / "harbour.db", packages / "2014", packages / "2024")
    collection_row.state(path, WHOSE, "T. Ester", "as the board decided")
    publish(path, folder / "site")
    (folder / "papers").mkdir()
    for code in ("OHM-1962-7", "OHM-1937~2F3"):
        (folder / "papers" / f"{code}-report.pdf").write_bytes(b"%PDF-1.7\n")
    return copy_of(folder / "site", folder / "pages")


@pytest.mark.slow
def test_no_link_is_dead(harbour_copy: Copy) -> None:
    assert sum(len(page.links) for page in harbour_copy.pages.values()) > 10_000
    assert list(dead_links(harbour_copy.folder, harbour_copy.pages)) == []


def test_a_dead_link_would_be_found(tmp_path: Path) -> None:
    (tmp_path / "a.html").write_text(
        '<a href="b.html#x">b</a> <a href="b.html#y">b</a> <img src="c.png"> <a href="?q=1">q</a>'
    )
    (tmp_path / "b.html").write_text('<p id="x">b</p>')
    assert sorted(link for _, link in dead_links(tmp_path, pages_of(tmp_path))) == ["?q=1", "b.html#y", "c.png"]


@pytest.mark.slow
def test_nothing_asks_runs_or_leads_out(harbour_copy: Copy) -> None:
    """A form on a disk is a dead box: people type into it."""
    for name, page in harbour_copy.pages.items():
        kinds = {tag for tag, _ in page.tags}
        assert not kinds & {"form", "button", "select", "textarea", "script", "iframe", "object", "embed", "base"}, name
        # Choosing the light of a picture is the only choice, and a stylesheet does it.
        assert {said["type"] for tag, said in page.tags if tag == "input"} <= {"radio"}, name
        assert not [attribute for _, said in page.tags for attribute in said if attribute.startswith("on")], name
        assert not [link for link in page.links if ":" in link.partition("/")[0] or link.startswith("//")], name
        # The manual tells of the site as it is served.
        assert name.startswith("manual/") or "Before you approve" not in page.words, name


@pytest.mark.slow
def test_every_page_says_what_it_is_a_copy_of_and_allows_no_script(harbour_copy: Copy) -> None:
    for name, page in harbour_copy.pages.items():
        assert f"From the archive of {NAME}, 14 March 2025: a copy that does not change." in page.words, name
        (policy,) = [
            said["content"] or "" for tag, said in page.tags if said.get("http-equiv") == "Content-Security-Policy"
        ]
        assert policy.startswith("default-src 'none';"), name
        assert "script" not in policy, name
        # The policy comes before anything that it is to hold back.
        assert [tag for tag, _ in page.tags].index("meta") < [tag for tag, _ in page.tags].index("link"), name


@pytest.mark.slow
def test_no_mark_stands_twice_on_a_page(harbour_copy: Copy) -> None:
    """Several pages stand on one; a mark that stands twice would lead to the wrong record."""
    for name, page in harbour_copy.pages.items():
        assert len(page.ids) == len(set(page.ids)), name
        named = {word for _, said in page.tags for word in (said.get("aria-labelledby") or "").split()}
        assert named <= set(page.ids), name


@pytest.mark.slow
def test_every_object_has_its_pages_and_its_data(harbour_copy: Copy) -> None:
    index = harbour_copy.pages["by-number.html"]
    for code in codes(harbour_copy.published):
        coded = code.replace("/", "~2F").replace(".", "~2E")
        folder = harbour_copy.folder / "object" / coded
        assert {path.name for path in folder.glob("*.html")} >= {"object.html", "records.html", "places.html"}
        assert json.loads((folder / "object.json").read_text())["object"] == code
        assert f"object/{coded}/object.html" in index.links
    # Nobody looked at it: no page only to say that there is nothing.
    assert not (harbour_copy.folder / "object" / "OHM-1952-11" / "samples.html").exists()
    assert {f"manual/{topic}.html" for topic in TOPICS} | {"survey/H14.html", "survey/H24.html"} <= set(
        harbour_copy.pages
    )


@pytest.mark.slow
def test_it_tells_how_far_it_is_and_what_it_wrote(harbour_copy: Copy) -> None:
    assert harbour_copy.told == [(number, 14) for number in range(1, 15)]
    files = [path for path in harbour_copy.folder.rglob("*") if path.is_file()]
    assert harbour_copy.report == PagesReport(
        len(harbour_copy.pages),
        len(files),
        sum(path.stat().st_size for path in files),
        max(len(path.relative_to(harbour_copy.folder).as_posix()) for path in files),
    )


@pytest.mark.slow
def test_what_survives_who_says_so_and_what_nobody_must_do_can_be_read(harbour_copy: Copy) -> None:
    page = harbour_copy.pages[f"{TRAM}/object.html"].words
    assert "Original finish seen at 15 of 16" in page
    assert "Advice in force" in page
    assert "“Keep the shed door shut: the strip soils." in page
    places = harbour_copy.pages[f"{TRAM}/places-2.html"]
    assert "places-L-STRIP" in places.ids
    assert "original exposed" in places.words
    samples = harbour_copy.pages[f"{TRAM}/samples.html"].words
    assert "survey H14, row 112" in samples
    assert "oleoresin (analysed)" in samples
    decided = harbour_copy.pages[f"{TRAM}/proposals.html"].words
    assert "Bare the front dash and spray it" in decided
    assert "Destroys body colour, varnish and preparation" in decided
    assert "Liquids and methods are named as records, not as advice." in decided


@pytest.mark.slow
def test_a_record_is_led_to_where_it_stands(harbour_copy: Copy) -> None:
    """A link to a place, sample or coat leads to its section on the page of all of them."""
    assert "places-2.html#places-L-STRIP" in harbour_copy.pages[f"{TRAM}/object.html"].links
    assert "samples-2.html#samples-S21" in harbour_copy.pages[f"{TRAM}/places-2.html"].links
    assert "proposals.html#proposals-P1" in harbour_copy.pages[f"{TRAM}/object.html"].links
    coats = [
        link for link in harbour_copy.pages[f"{TRAM}/tests.html"].links if link.startswith("samples.html#samples-")
    ]
    assert [link for link in coats if ".layers-" in link]


@pytest.mark.slow
def test_papers_are_offered_where_they_are_there(harbour_copy: Copy) -> None:
    offered = {
        name: [link for link in page.links if link.endswith(".pdf")] for name, page in harbour_copy.pages.items()
    }
    assert {name: links for name, links in offered.items() if links} == {
        f"{TRAM}/object.html": ["../../../papers/OHM-1962-7-report.pdf"],
        "object/OHM-1937~2F3/object.html": ["../../../papers/OHM-1937~2F3-report.pdf"],
    }


@pytest.mark.slow
def test_lists_stand_for_the_search(harbour_copy: Copy) -> None:
    """Every object in every list; by state as often as it has such places, told in the words of the records."""
    for by in ("number", "name", "kind", "maker", "state"):
        page = harbour_copy.pages[f"by-{by}.html"]
        assert {link for link in page.links if link.endswith("/object.html")} == {
            f"object/{path.name}/object.html" for path in (harbour_copy.folder / "object").iterdir()
        }
    shown = harbour_copy.pages["by-state.html"].words
    assert all(word in shown for word in ZONE_STATE.words)
    with sqlite3.connect(harbour_copy.published / "collection.db") as connection:
        (covered,) = connection.execute("select count(*) from glances where covered > 0").fetchone()
    front = harbour_copy.pages["index.html"].words
    assert f"original covered {covered}" in front


@pytest.mark.slow
def test_a_site_that_is_served_has_none_of_this(harbour_copy: Copy) -> None:
    paths = ("/front", "/by-name", "/codes.json", "/object/OHM-1962-7/places", "/object/OHM-1962-7/contents.json")
    assert [answer.status_code for answer in get(harbour_copy.published, *paths)] == [404] * 5
    (page,) = get(harbour_copy.published, "/object/OHM-1962-7")
    assert "Before you approve other work here" in page.text
    assert "From the archive" not in page.text


ODD = ("CON", "a/B", "a:b*?", "50%", "x" * 80, "Zähler 7", "..", "é/" * 20)


@pytest.fixture(scope="session")
def odd_copy(tmp_path_factory: pytest.TempPathFactory) -> Copy:
    """Objects whose numbers no file may have as its name, for staff."""
    folder = tmp_path_factory.mktemp("odd")
    survey = {"code": "nul", "title": "t", "lead": "l", "started": "2019-05-01"}
    rows: dict[str, list[dict[str, str]]] = {}
    for code in ODD:
        for sheet, more in object_rows(code, lambda sheet, column, kind: f"<script>{sheet}</script> \"'").items():
            rows.setdefault(sheet, []).extend(more)
    publish(database_of(folder / "odd.db", write_package(folder / "p", survey, rows)), folder / "site", staff=True)
    return copy_of(folder / "site", folder / "pages")


def test_odd_numbers_get_names_that_every_system_takes(odd_copy: Copy) -> None:
    assert list(dead_links(odd_copy.folder, odd_copy.pages)) == []
    told = {json.loads(path.read_text())["object"] for path in odd_copy.folder.rglob("object.json")}
    assert told == set(ODD)
    names = [path.relative_to(odd_copy.folder).as_posix() for path in odd_copy.folder.rglob("*")]
    # No two names are one where case does not count.
    assert len({name.casefold() for name in names}) == len(names)
    for name in names:
        for part in name.split("/"):
            assert re.fullmatch(r"[A-Za-z0-9_~+.-]{1,100}", part)
            assert not part.endswith((".", " "))
            assert part.partition(".")[0].lower() not in ("con", "aux", "nul")
    assert odd_copy.report.longest < 110


@pytest.mark.slow
def test_the_copy_for_staff_says_so(odd_copy: Copy, harbour_copy: Copy) -> None:
    assert all("For staff only." in page.words for page in odd_copy.pages.values())
    assert not any("For staff only." in page.words for page in harbour_copy.pages.values())


def test_what_is_long_is_cut_and_still_leads_everywhere(
    odd_copy: Copy, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As with 20,000 objects, here with three to a list, three to a folder and one place to a page."""
    monkeypatch.setattr(answers, "PER_COPIED_PAGE", 3)
    monkeypatch.setattr(copy_lists, "MOST_GROUPS", 2)
    monkeypatch.setattr(copy_routes, "SECTIONS", 1)
    monkeypatch.setattr(static_links, "IN_ONE_FOLDER", 3)
    cut = copy_of(odd_copy.published, tmp_path / "pages")
    assert list(dead_links(cut.folder, cut.pages)) == []
    assert {path.name for path in cut.folder.iterdir()} >= {"object", "object-2", "object-3", "by-number-3.html"}
    assert [len(list((cut.folder / name).iterdir())) for name in ("object", "object-2", "object-3")] == [3, 3, 2]
    listed = [
        link
        for name in ("by-number.html", "by-number-2.html", "by-number-3.html")
        for link in cut.pages[name].links
        if link.endswith("/object.html")
    ]
    assert len(listed) == len(set(listed)) == len(ODD)
    places = next(name for name in cut.pages if name.endswith("/places-2.html"))
    assert "places.html" in cut.pages[places].links


def test_texts_stay_texts_and_nothing_asks(odd_copy: Copy) -> None:
    """Every text of these objects is hostile; and the copy for staff has no forms either."""
    for name, page in odd_copy.pages.items():
        assert not {tag for tag, _ in page.tags} & {"script", "form", "button", "select"}, name
        assert len(page.ids) == len(set(page.ids)), name


def test_a_link_leads_as_near_as_there_is_something() -> None:
    """To the section where the record itself has no mark, as where it is held back; what has no file is no link."""
    places = static_links.Places()
    places.add_objects(["A"])
    samples = "object/A/samples.html"
    one = static_links.OneObject(
        "A",
        "object/A",
        frozenset({"tests"}),
        {"places": {}, "samples": {"S1": samples}, "proposals": {}, "changes": {}},
        anchors={samples: frozenset({"samples-S1", "samples-S1.layers-1"})},
    )
    links = static_links.Links(places, lambda name: f"pictures/{name}", lambda name: f"style/{name}")
    asked = ("sample/S1#layers-1", "sample/S1#layers-9", "sample/S2", "place/P", "tests.json", "records")
    html = "".join(f'<a href="/object/A/{link}">x</a>' for link in asked)
    assert links.written(html, "/object/A/tests", "object/A/tests.html", one) == (
        '<a href="samples.html#samples-S1.layers-1">x</a><a href="samples.html#samples-S1">x</a>xxxx'
    )
    out = '<a href="/object/B">B</a> <a href="/before?object=A">b</a> <a href="/object/A#threats">A</a>'
    assert links.written(out, "/at-risk", "at-risk.html", None) == 'B b <a href="object/A/object.html">A</a>'


def test_names_are_told_from_each_other() -> None:
    names = FileNames()
    names.add(["1987~2E1a", "1987~2E1A", "COM1", "y" * 61])
    found = [names.get(code) for code in ("1987~2E1a", "1987~2E1A", "COM1", "y" * 61, "unknown")]
    assert found[0] == "1987~2E1a"
    assert found[1] is not None
    assert re.fullmatch(r"1987~2E1A--[0-9a-f]{10}", found[1])
    assert found[2] is not None
    assert found[2].startswith("COM1--")
    assert found[3] is not None
    assert len(found[3]) == 72
    assert found[4] is None
    with pytest.raises(ValueError, match="not tilde-coded"):
        names.add(["a/b"])


@pytest.mark.slow
def test_a_picture_that_went_missing_is_told(harbour_copy: Copy, tmp_path: Path) -> None:
    site = tmp_path / "site"
    shutil.copytree(harbour_copy.published, site)
    for path in (site / "pictures").iterdir():
        path.unlink()
    with pytest.raises(CouldNot, match="is missing, so no pages were written"):
        write_pages(site, tmp_path / "out", name=NAME, day=DAY)


def test_what_is_no_published_site_is_refused(tmp_path: Path) -> None:
    with pytest.raises(CouldNot, match="is not a published site"):
        write_pages(tmp_path, tmp_path / "out", name=NAME, day=DAY)
