"""The object's page in a browser: the picture first, sections by a jump list, places by keyboard, one set of patterns."""

from __future__ import annotations

from urllib.parse import urljoin

import pytest
from browsing import NARROW, OBJECT, arrived, focus_on, media, press
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

pytestmark = pytest.mark.slow

PATHS = "return [...arguments[0].querySelectorAll('path')].map(p => p.getAttribute('d')).join()"


@pytest.mark.parametrize("width", [1200, 390, NARROW])
def test_the_photograph_is_seen_before_anything_is_scrolled(browser: Chrome, address: str, width: int) -> None:
    """The whole of it beside the sentence on a wide screen of 800 pixels; most of it on a phone as high."""
    media(browser, width=width)
    browser.get(f"{address}{OBJECT}")
    picture = browser.find_element(By.CSS_SELECTOR, ".portrait img")
    top, bottom = picture.rect["y"], picture.rect["y"] + picture.rect["height"]
    assert top < 500
    assert bottom <= 800
    # It is whole: as wide to high as the file is.
    shape = browser.execute_script("return arguments[0].naturalWidth / arguments[0].naturalHeight", picture)
    assert picture.rect["width"] / picture.rect["height"] == pytest.approx(shape, rel=0.03)
    assert browser.find_element(By.CSS_SELECTOR, ".lead").rect["y"] < 800
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width


def test_every_section_is_reached_by_the_jump_list_and_the_keyboard(browser: Chrome, address: str) -> None:
    media(browser)
    browser.get(f"{address}{OBJECT}")
    ends = [link.get_attribute("href") for link in browser.find_elements(By.CSS_SELECTOR, ".sections a")]
    headings = [found.get_attribute("id") for found in browser.find_elements(By.CSS_SELECTOR, "main section > h2")]
    listed = [end.split("#")[1] for end in ends if end]
    # Each in its order; the particulars of the object need no jump.
    assert listed == [name for name in headings if name != "facts"]
    focus_on(browser, "Finishes")
    press(browser, Keys.ENTER)
    arrived(browser, "#finishes")
    top = browser.execute_script("return document.querySelector('#finishes').getBoundingClientRect().top")
    bar = browser.execute_script("return document.querySelector('.sections').getBoundingClientRect().bottom")
    assert bar <= top < 800, "the heading is not under the list that stays at the top"


def test_on_a_phone_the_jump_list_is_one_line(browser: Chrome, address: str) -> None:
    media(browser, width=390)
    browser.get(f"{address}{OBJECT}")
    tops = {round(link.rect["y"]) for link in browser.find_elements(By.CSS_SELECTOR, ".sections a")}
    assert len(tops) == 1


def test_every_place_of_a_drawing_is_reached_by_keyboard_and_seen_to_be(browser: Chrome, address: str) -> None:
    media(browser)
    browser.get(f"{address}{OBJECT}")
    found = "return [...document.querySelectorAll('#places ~ div .elevation a')].map(a => a.getAttribute('href'))"
    wanted = {urljoin(browser.current_url, link) for link in browser.execute_script(found)}
    assert len(wanted) > 20
    browser.execute_script(
        "document.querySelector('#places').setAttribute('tabindex', -1);document.querySelector('#places').focus()"
    )
    reached = set()
    for _ in range(len(wanted) + 6):
        press(browser, Keys.TAB)
        link, outlined = browser.execute_script(
            "const a = document.activeElement; return [a.href && a.href.baseVal, getComputedStyle(a).outlineStyle]"
        )
        if link:
            reached.add(urljoin(browser.current_url, link))
            assert outlined != "none"
    assert reached >= wanted


def test_the_key_and_the_list_show_the_patterns_of_the_drawing(browser: Chrome, address: str) -> None:
    """The path data of each pattern in the drawing is that of the swatch beside its word."""
    media(browser)
    browser.get(f"{address}{OBJECT}")
    for pattern in browser.find_elements(By.CSS_SELECTOR, "#places ~ div .elevation pattern"):
        state = pattern.get_attribute("id").split("-", 1)[1].removeprefix("original-")
        swatch = browser.find_element(By.CSS_SELECTOR, f"#s-{state} pattern")
        assert browser.execute_script(PATHS, pattern) == browser.execute_script(PATHS, swatch) != ""
        assert browser.find_elements(By.CSS_SELECTOR, f".key use[href='#s-{state}']")
        assert browser.find_elements(By.CSS_SELECTOR, f".survives use[href='#s-{state}']")


def test_the_finishes_say_that_they_are_reconstructed_and_lead_to_their_places(browser: Chrome, address: str) -> None:
    media(browser)
    browser.get(f"{address}{OBJECT}/finishes")
    figures = browser.find_elements(By.CSS_SELECTOR, ".elevation")
    assert len(figures) == 10, "five finishes on two drawings"
    for figure in figures:
        shown = " ".join(line.text for line in figure.find_elements(By.CSS_SELECTOR, "text"))
        assert "Not a painting scheme to copy." in shown
    browser.get(f"{address}{OBJECT}")
    focus_on(browser, "The object in each of its 5 finishes", most=200)
    press(browser, Keys.ENTER)
    arrived(browser, "/finishes")


def test_the_life_scrolls_by_keyboard_on_a_phone_and_fits_on_paper(browser: Chrome, address: str) -> None:
    media(browser, width=390)
    browser.get(f"{address}{OBJECT}/timeline")
    region = browser.find_element(By.CSS_SELECTOR, ".wide:has(.life)")
    assert region.get_attribute("tabindex") == "0"
    assert browser.execute_script("return arguments[0].scrollWidth > arguments[0].clientWidth", region)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= 390
    media(browser, kind="print", width=800)
    assert browser.execute_script("return arguments[0].scrollWidth <= arguments[0].clientWidth", region)
    media(browser)


def test_pictures_in_each_light_are_shown_whole(browser: Chrome, address: str) -> None:
    media(browser)
    browser.get(f"{address}{OBJECT}")
    picture = browser.find_element(By.CSS_SELECTOR, ".shown figure img")
    browser.execute_script("arguments[0].scrollIntoView(); arguments[0].loading = 'eager'", picture)
    browser.execute_async_script("arguments[0].decode().then(arguments[1], arguments[1])", picture)
    shape = browser.execute_script("return arguments[0].naturalWidth / arguments[0].naturalHeight", picture)
    assert picture.rect["width"] / picture.rect["height"] == pytest.approx(shape, rel=0.03)
