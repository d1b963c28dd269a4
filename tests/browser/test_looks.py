"""The site in a real Chromium: accessible by axe-core's rules, on a phone, on paper, enlarged."""

from __future__ import annotations

import os
from itertools import pairwise
from pathlib import Path

import pytest
from browsing import LOOKS, NARROW, OBJECT, PAGES, keep_picture, media, sticks_out, violations
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_nothing(browser: Chrome, address: str, axe: str, name: str) -> None:
    """WCAG 2.2 A and AA and axe's own good practice, on a wide screen, in the dark and on a phone."""
    for width, scheme in ((1200, "light"), (1200, "dark"), (NARROW, "light")):
        media(browser, width=width, scheme=scheme)
        browser.get(f"{address}{PAGES[name]}")
        if name == "nope":
            browser.get_log("browser")
        assert violations(browser, axe) == [], (width, scheme)


@pytest.mark.parametrize("path", list(PAGES.values()))
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_phone_never_scrolls_sideways(browser: Chrome, address: str, path: str, scheme: str) -> None:
    if path == "nope":
        browser.get(address)
        browser.get_log("browser")
    media(browser, width=NARROW, scheme=scheme)
    browser.get(f"{address}{path}")
    if path == "nope":
        browser.get_log("browser")  # a page that is not there is SEVERE to Chromium
    assert browser.execute_script("return document.documentElement.scrollWidth") <= NARROW
    assert sticks_out(browser) == []


def test_links_and_buttons_are_large_enough_to_touch(browser: Chrome, address: str) -> None:
    """WCAG 2.2, 2.5.8: 24 by 24 pixels, or in a line of text."""
    media(browser, width=NARROW)
    browser.get(address)
    for element in browser.find_elements(By.CSS_SELECTOR, "header a, button, input"):
        assert element.size["height"] >= 24, element.get_attribute("outerHTML")


def test_on_paper_everything_is_open_and_nothing_is_for_the_screen(browser: Chrome, address: str) -> None:
    hidden = (
        "return [...document.querySelectorAll('details:not(.sheet *) > :is(p, ul), .lit > figure')].filter(e => "
        "!e.checkVisibility({contentVisibilityAuto: true}) || e.getBoundingClientRect().height < 5).length"
    )
    for path in ("before?object=OHM-1962-7&action=strip", f"{OBJECT}/place/L-NUM"):
        media(browser, width=800)
        browser.get(f"{address}{path}")
        for label in browser.find_elements(By.CSS_SELECTOR, ".lights label:first-of-type"):
            label.click()
        assert browser.execute_script(hidden) >= 2
        media(browser, kind="print", width=800)
        assert not browser.find_element(By.CSS_SELECTOR, ".small-search").is_displayed()
        assert browser.execute_script(hidden) == 0
        pdf = browser.execute_cdp_cmd("Page.printToPDF", {"printBackground": False})
        assert len(pdf["data"]) > 20_000


def test_at_twice_the_size_nothing_is_cut_off(browser: Chrome, address: str) -> None:
    """WCAG 2.2, 1.4.4: at 200 % a window of 1,280 pixels holds 640."""
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride", {"width": 640, "height": 400, "deviceScaleFactor": 2, "mobile": False}
    )
    for path in (OBJECT, f"{OBJECT}/sample/S21", "before?object=OHM-1962-7", "at-risk", ""):
        browser.get(f"{address}{path}")
        assert browser.execute_script("return document.documentElement.scrollWidth") <= 640
        cut = browser.execute_script(
            "return [...document.querySelectorAll('main p, main li, main td, main th')].filter(e => e.scrollWidth > "
            "e.clientWidth + 2 && getComputedStyle(e).overflow !== 'visible' && !e.closest('.wide, thead')).length"
        )
        assert cut == 0


def test_headings_run_in_order_and_every_field_has_its_label(browser: Chrome, address: str) -> None:
    for name, path in PAGES.items():
        browser.get(f"{address}{path}")
        if name == "nope":
            browser.get_log("browser")
        levels = browser.execute_script(
            "return [...document.querySelectorAll('h1,h2,h3,h4,h5,h6')].map(h => +h.tagName[1])"
        )
        assert levels[0] == 1
        assert levels.count(1) == 1
        assert all(b - a <= 1 for a, b in pairwise(levels)), levels
        assert browser.execute_script(
            "return [...document.querySelectorAll('input:not([type=hidden]),select')].every(i => i.labels.length)"
        )
        assert browser.execute_script(
            "return [...document.images].every(i => i.alt || (i.matches('.thumb') && i.alt === ''))"
        )
        # axe-core's summary-name and aria-tab-name, which came after the version that its package carries.
        assert browser.execute_script("return [...document.querySelectorAll('summary')].every(e => e.innerText.trim())")
        assert browser.execute_script("return document.querySelector('[role=tab]')") is None


SHOTS = os.environ.get("FIRSTCOAT_SHOTS")
"""A folder for pictures of every page in every look, for a person to see; else some are kept with the output."""


def test_pictures_of_the_pages_for_a_person_to_look_at(browser: Chrome, address: str, tmp_path: Path) -> None:
    folder = Path(SHOTS or tmp_path)
    for name, path in PAGES.items():
        for look, shown in LOOKS.items():
            if look and not SHOTS and name != "object":
                continue
            media(browser, **shown)
            keep_picture(browser, f"{address}{path}", folder / f"{name}{look}.png", shown.get("width", 1200))


def test_pictures_of_the_pages_in_large_print(large_print: Chrome, address: str, tmp_path: Path) -> None:
    folder = Path(SHOTS or tmp_path)
    media(large_print)
    for name, path in PAGES.items():
        if SHOTS or name == "object":
            keep_picture(large_print, f"{address}{path}", folder / f"{name}-large-print.png", 1200)
