"""The approver's pages in a real browser: what stands on the first screen, one sheet of paper, an object by its name."""

from __future__ import annotations

import base64
import re
from urllib.parse import quote

import pytest
from browsing import OBJECT, arrived, media, press
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

pytestmark = pytest.mark.slow

PROPOSALS = (
    f"{OBJECT}/proposal/P3",
    f"{OBJECT}/proposal/P5",
    "object/OHM-1974-21/proposal/P5",
    "object/OHM-1989-2/proposal/P1",
    "object/OHM-1937~2F3/proposal/P3",
)


def pages_on_paper(browser: Chrome, selector: str) -> int:
    """How many sheets of A4 a part of the page fills."""
    browser.execute_script(
        "const kept = document.querySelector(arguments[0]); for (const e of document.querySelectorAll('body *'))"
        " if (!e.contains(kept) && !kept.contains(e)) e.remove();",
        selector,
    )
    pdf = browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True, "printBackground": True})["data"]
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", base64.b64decode(pdf)))


@pytest.mark.parametrize("path", PROPOSALS)
def test_what_an_approver_needs_fits_one_sheet(browser: Chrome, address: str, path: str) -> None:
    """The verdict, the drawings, the section, the losses and what must be settled, however many losses there are."""
    browser.get(f"{address}{path}")
    assert pages_on_paper(browser, ".sheet") == 1


@pytest.mark.parametrize("width", [1200, 390])
def test_the_verdict_and_the_drawing_begin_on_the_first_screen(browser: Chrome, address: str, width: int) -> None:
    """800 pixels high: somebody with twenty seconds does not scroll for it."""
    media(browser, width=width)
    browser.get(f"{address}{OBJECT}/proposal/P5")
    verdict = browser.find_element(By.CSS_SELECTOR, ".verdict")
    assert verdict.text.startswith("Destroys 8 coats of “Maker's coach finish”")
    assert verdict.rect["y"] + verdict.rect["height"] < 600
    assert browser.find_element(By.CSS_SELECTOR, ".where svg.elevation").rect["y"] < 750
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width


def test_the_drawing_tells_destroyed_places_from_others_by_pattern(browser: Chrome, address: str) -> None:
    """P5 takes the rocker panel's finish and only endangers the valance: two fills, and the key has both."""
    browser.get(f"{address}{OBJECT}/proposal/P5")

    def pattern(place: str) -> str:
        found = browser.find_element(By.CSS_SELECTOR, f".where a[href$='/place/{place}'] polygon[fill^='url']")
        return re.sub(r"^url\(#where\d-|\)$", "", found.get_attribute("fill") or "")

    assert (pattern("L-ROCK"), pattern("L-VAL")) == ("destroys", "endangers")
    assert [span.text for span in browser.find_elements(By.CSS_SELECTOR, ".where .key > span")] == [
        "would be destroyed",
        "endangered",
    ]


def test_the_lost_coats_are_bracketed_beside_their_micrograph(browser: Chrome, address: str) -> None:
    """P3 takes varnish off, coats 9, 10, 12 and 13 of S21; it endangers coat 8, and nobody tested coats 2 to 7."""
    browser.get(f"{address}{OBJECT}/proposal/P3")
    figure = browser.find_element(By.CSS_SELECTOR, "svg[aria-labelledby^='lost']")
    kinds = [each.get_attribute("data-kind") for each in figure.find_elements(By.CSS_SELECTOR, "[data-kind]")]
    assert {"original", "destroys", "endangers", "untested"} == set(kinds)
    assert figure.find_elements(By.TAG_NAME, "image")
    said = figure.find_element(By.TAG_NAME, "desc").get_attribute("textContent") or ""
    assert "would be destroyed: coat 13, 12; would be destroyed: coat 10, 9; endangered: coat 8" in said


def test_an_object_is_chosen_by_words_of_its_name_and_work_asked_about_by_keyboard(
    browser: Chrome, address: str
) -> None:
    browser.get(f"{address}before")
    browser.find_element(By.ID, "b-object").send_keys("horse tram body", Keys.ENTER)
    arrived(browser, f"before?object={quote('horse tram body').replace('%20', '+')}")
    place = browser.find_element(By.ID, "b-place")
    assert "Strip of the waist panel uncovered in 2016 (L-STRIP)" in place.text
    browser.execute_script("arguments[0].focus()", place)
    press(browser, "Strip of the waist")
    press(browser, Keys.TAB, "strip")
    press(browser, Keys.TAB, Keys.ENTER)
    arrived(browser, "stop_at=")
    assert browser.find_element(By.CSS_SELECTOR, ".verdict").text.startswith("Destroys")


def test_a_fault_stands_beside_its_field_and_is_tied_to_it(browser: Chrome, address: str) -> None:
    browser.get(f"{address}before?object=OHM-1962-7&action=scrape&depth_um=lots")
    field = browser.find_element(By.ID, "b-depth_um")
    told = browser.find_element(By.ID, (field.get_attribute("aria-describedby") or "").split()[-1])
    assert "such as 12.5" in told.text
    assert field.get_attribute("aria-invalid") == "true"
    assert abs(told.rect["y"] - field.rect["y"]) < 80
