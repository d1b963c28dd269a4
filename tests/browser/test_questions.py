"""Three questions that people come with, answered from the start page by keyboard alone, in at most two steps each."""

from __future__ import annotations

import pytest
from browsing import NARROW, arrived, focus_on, media, press
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

pytestmark = pytest.mark.slow


def said(browser: Chrome) -> str:
    return browser.find_element(By.TAG_NAME, "main").text


def test_may_we_strip_this_door(browser: Chrome, address: str) -> None:
    """1. On the start page, type “right door fire brigade” and press Enter. 2. Open the proposal or the place: its page says
    what lies there, and what has been proposed for it would do.

    For work that nobody has proposed yet: 1. “Before you approve”, 2. the object's name, the place and “strip”.
    """
    browser.get(address)
    press(browser, "right door estate fire brigade", Keys.ENTER)
    arrived(browser, "brigade")
    focus_on(browser, "Right door, upper panel")
    press(browser, Keys.ENTER)
    arrived(browser, "/place/R-UP")
    assert "original" in browser.find_element(By.CSS_SELECTOR, ".lead").text
    assert "Bring the word out on the right door" in said(browser)
    browser.get(f"{address}before?object=OHM-1980-2&action=strip")
    assert browser.find_element(By.CSS_SELECTOR, ".verdict").text.startswith("Destroys")


def test_what_is_under_the_green(browser: Chrome, address: str) -> None:
    """1. Type “green” and press Enter: every object with a green coat is shown, with the places. 2. Open one."""
    browser.get(address)
    press(browser, "green", Keys.ENTER)
    arrived(browser, "q=green")
    found = browser.find_element(By.CSS_SELECTOR, "ol.results > li")
    assert found.find_element(By.TAG_NAME, "mark").text.casefold() == "green"
    assert found.find_element(By.TAG_NAME, "img").get_property("naturalWidth") in range(100, 321)
    focus_on(browser, "Waist panel")
    press(browser, Keys.ENTER)
    arrived(browser, "/place/L-WAIST")
    assert "maker's finish" in browser.find_element(By.CSS_SELECTOR, "svg[role=group] desc").get_attribute(
        "textContent"
    )


def test_what_has_nobody_looked_at(browser: Chrome, address: str) -> None:
    """1. On the start page, “Nobody has looked”: the objects never examined, or the places."""
    browser.get(address)
    line = browser.find_element(By.CSS_SELECTOR, ".unlooked")
    objects, places = (link.text for link in line.find_elements(By.TAG_NAME, "a"))
    focus_on(browser, objects)
    press(browser, Keys.ENTER)
    arrived(browser, "looked=never")
    assert "Name board of the ferry ‘Bessamy’ (invented)" in said(browser)
    browser.back()
    focus_on(browser, places)
    press(browser, Keys.ENTER)
    arrived(browser, "state=not+examined")
    assert "Places:" in said(browser)


def test_the_collection_is_seen_first_and_fits_a_phone(browser: Chrome, address: str) -> None:
    media(browser, width=1200)
    browser.get(address)
    pictures = browser.find_elements(By.CSS_SELECTOR, ".collection img")
    assert len(pictures) >= 14
    assert pictures[0].rect["y"] < 800, "a picture stands on the first screen"
    assert browser.execute_script(
        "return [...document.querySelectorAll('.collection img')].slice(0, 6).every(i => i.complete && i.naturalWidth > 50)"
    )
    media(browser, width=NARROW)
    browser.get(address)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= NARROW
    media(browser, width=1200)
    browser.get(f"{address}?sort=least")
    assert browser.find_element(By.CSS_SELECTOR, ".orders [aria-current]").text == "what is examined least"
