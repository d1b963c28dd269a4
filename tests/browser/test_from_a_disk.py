"""The pages of an archive opened from a disk in a real Chromium: no server, no script, and they look as they should."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from browsing import LOOKS, NARROW, keep_picture, media, shown_id, sticks_out, violations
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from site_answers import harbour_site

from collection.output.archive.static_pages import write_pages

pytestmark = pytest.mark.slow

TRAM = "object/OHM-1962-7"
PAGES = {
    "front": "index.html",
    "by-state": "by-state.html",
    "by-maker": "by-maker.html",
    "at-risk": "at-risk.html",
    "about": "about.html",
    "manual-page": "manual/survey-files.html",
    "survey": "survey/H24.html",
    "unknown": "object/OHM-1952-11/object.html",
    **{
        name: f"{TRAM}/{name}.html"
        for name in (
            "object",
            "records",
            "timeline",
            "tests",
            "finishes",
            "stratigraphy",
            "places",
            "places-2",
            "samples",
            "proposals",
            "changes",
        )
    },
}
SHOTS = os.environ.get("FIRSTCOAT_SHOTS")


@pytest.fixture(scope="session")
def disk(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The address of the folder with the pages of the invented harbour collection."""
    folder = tmp_path_factory.mktemp("disk")
    write_pages(harbour_site(folder), folder / "pages", name="harbour-2025", day="2025-03-14")
    return (folder / "pages").as_uri()


@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_nothing(browser: Chrome, disk: str, axe: str, name: str) -> None:
    """WCAG 2.2 A and AA and axe's own good practice, on a wide screen, in the dark and on a phone."""
    for width, scheme in ((1200, "light"), (1200, "dark"), (NARROW, "light")):
        media(browser, width=width, scheme=scheme)
        browser.get(f"{disk}/{PAGES[name]}")
        assert violations(browser, axe, reads_styles=False) == [], (width, scheme)


def test_style_drawings_and_pictures_are_there(browser: Chrome, disk: str) -> None:
    """Stylesheets rule, every picture has come, and the patterns of the drawings are those of the page itself."""
    media(browser)
    for path in PAGES.values():
        browser.get(f"{disk}/{path}")
        assert browser.execute_script("return [...document.styleSheets].length") >= 1, path
        assert browser.execute_script("return getComputedStyle(document.querySelector('.top')).display") == "flex", path
        assert (
            browser.execute_script(
                "document.querySelectorAll('img[loading=lazy]').forEach(i => i.loading = 'eager');"
                "return Promise.all([...document.images].map(i => i.decode().then(() => true, () => i.src)))"
                ".then(all => all.filter(each => each !== true))"
            )
            == []
        ), path
        # A reference that leads to nothing leaves an empty box.
        assert (
            browser.execute_script(
                "return [...document.querySelectorAll('use')].map(u => u.getAttribute('href'))"
                ".filter(h => !document.querySelector('[id=\"' + h.slice(1) + '\"]'))"
            )
            == []
        ), path
        assert (
            browser.execute_script(
                "return [...document.querySelectorAll('[fill^=\"url(#\"]')].map(e => e.getAttribute('fill').slice(5, -1))"
                ".filter(id => !document.getElementById(id))"
            )
            == []
        ), path


@pytest.mark.parametrize("name", PAGES)
def test_a_phone_never_scrolls_sideways(browser: Chrome, disk: str, name: str) -> None:
    media(browser, width=NARROW)
    browser.get(f"{disk}/{PAGES[name]}")
    assert browser.execute_script("return document.documentElement.scrollWidth") <= NARROW
    assert sticks_out(browser) == []


def test_a_reader_goes_from_the_front_to_a_coat_and_its_light(browser: Chrome, disk: str) -> None:
    """By hand: a state, an object, a place, a sample; and each sample's light is switched for itself alone."""
    media(browser)
    browser.get(f"{disk}/index.html")
    browser.find_element(By.LINK_TEXT, "original covered").click()
    browser.find_element(By.CSS_SELECTOR, "section.listed a[href*='OHM-1962-7/']").click()
    browser.find_element(By.LINK_TEXT, "Strip of the waist panel uncovered in 2016").click()
    assert browser.current_url.endswith(f"{TRAM}/places-2.html#places-L-STRIP")
    assert shown_id(browser) == "places-L-STRIP"
    browser.find_element(By.CSS_SELECTOR, "#places-L-STRIP .readings a[href='samples-2.html#samples-S21']").click()
    assert shown_id(browser) == "samples-S21"
    lit = "#samples-S21 .lights input:checked"
    before = len(browser.find_elements(By.CSS_SELECTOR, ".lights input:checked"))
    browser.find_element(By.CSS_SELECTOR, "#samples-S21 .lights label:nth-of-type(2)").click()
    assert browser.find_element(By.CSS_SELECTOR, lit).get_attribute("id") == "samples-S21." + _last(browser, lit)
    assert len(browser.find_elements(By.CSS_SELECTOR, ".lights input:checked")) == before


def _last(browser: Chrome, what: str) -> str:
    """The end of an id, after the mark of its section."""
    found = browser.find_element(By.CSS_SELECTOR, what).get_attribute("id") or ""
    assert found.endswith("-2")
    return found.partition(".")[2]


def test_script_does_not_run(browser: Chrome, disk: str) -> None:
    """The page's own policy holds on a disk, where no header comes with it."""
    browser.get(f"{disk}/index.html")
    browser.execute_script(
        "const s = document.createElement('script'); s.textContent = 'document.title = \"RAN\"';document.body.append(s)"
    )
    assert browser.title != "RAN"
    complaints = browser.get_log("browser")
    assert any("Content Security Policy" in entry["message"] for entry in complaints)


def test_pictures_of_the_pages_for_a_person_to_look_at(browser: Chrome, disk: str, tmp_path: Path) -> None:
    folder = Path(SHOTS or tmp_path)
    for name, path in PAGES.items():
        for look, shown in LOOKS.items():
            if look and not SHOTS and name != "places":
                continue
            media(browser, **shown)
            keep_picture(browser, f"{disk}/{path}", folder / f"disk-{name}{look}.png", shown.get("width", 1200))
