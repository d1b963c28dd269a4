"""The site in a real Chromium, by keyboard: from the question to the evidence, before approval, the lights."""

from __future__ import annotations

import pytest
from browsing import OBJECT, PATIENCE, arrived, focus_on, press, shown_id
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

pytestmark = pytest.mark.slow


def test_from_the_question_to_the_evidence_by_keyboard_alone(browser: Chrome, address: str) -> None:
    browser.get(address)
    assert browser.switch_to.active_element.get_attribute("id") == "q"
    press(browser, "vermilion strip", Keys.ENTER)
    arrived(browser, "?q=vermilion+strip")
    focus_on(browser, "Horse tram body no. 9 (invented)")
    press(browser, Keys.ENTER)
    arrived(browser, OBJECT)
    lead = browser.find_element(By.CSS_SELECTOR, ".lead").text
    assert lead.startswith("Original finish seen at ")
    focus_on(browser, "Proposals")
    press(browser, Keys.ENTER)
    arrived(browser, "#proposals")
    focus_on(browser, "Take the browned varnish off the strip")
    press(browser, Keys.ENTER)
    arrived(browser, "/proposal/P3")
    assert browser.find_element(By.CSS_SELECTOR, ".verdict").text.startswith("Destroys varnish")
    focus_on(browser, "would be destroyed, 39 % (0–100) of it, meant to go", most=120)
    press(browser, Keys.ENTER)
    arrived(browser, "/loss/L-STRIP~2F1~2Fvarnish")
    card = browser.find_element(By.CSS_SELECTOR, ".cards li")
    assert card.find_elements(By.CSS_SELECTOR, "img, .spot")
    focus_on(browser, "C23")
    press(browser, Keys.ENTER)
    arrived(browser, "tests#tests-C23")
    assert shown_id(browser) == "tests-C23"
    assert "1 ethanol + 4 isooctane" in browser.find_element(By.CSS_SELECTOR, ":target").text


def test_from_the_question_to_the_place_and_its_section_by_keyboard_alone(browser: Chrome, address: str) -> None:
    """A number, its object, one of its places, what its state rests on, the coats as they were read."""
    browser.get(address)
    press(browser, "OHM-1962-7", Keys.ENTER)
    arrived(browser, "?q=OHM-1962-7")
    focus_on(browser, "Horse tram body no. 9 (invented)")
    press(browser, Keys.ENTER)
    arrived(browser, OBJECT)
    focus_on(browser, "L-STRIP", most=120)
    press(browser, Keys.ENTER)
    arrived(browser, "/place/L-STRIP")
    assert browser.find_element(By.CSS_SELECTOR, ".lead").text == "original exposed"
    assert browser.find_element(By.CSS_SELECTOR, ".opening .elevation polygon[stroke='#b34700']").is_displayed()
    assert len(browser.find_elements(By.CSS_SELECTOR, "[aria-labelledby=samples] svg image")) == 2
    line = browser.find_element(By.CSS_SELECTOR, "[aria-labelledby=rests] tbody tr")
    assert line.text.startswith("S21 found cross-section, spot expected 16 April 2024 H24")
    focus_on(browser, "S21")
    press(browser, Keys.ENTER)
    arrived(browser, "/sample/S21")
    assert len(browser.find_elements(By.CSS_SELECTOR, ".layers tbody tr")) == 14
    focus_on(browser, "All samples of this object side by side", most=120)
    press(browser, Keys.ENTER)
    arrived(browser, "/stratigraphy")


def test_before_you_approve_is_filled_in_and_answered_by_keyboard(browser: Chrome, address: str) -> None:
    browser.get(f"{address}{OBJECT}")
    focus_on(browser, "Before you approve")
    press(browser, Keys.ENTER)
    arrived(browser, "before?object=OHM-1962-7")
    browser.find_element(By.ID, "b-place").send_keys("Strip of the waist")
    press(browser, Keys.TAB)
    press(browser, "scrape", Keys.ENTER)
    if "action=" not in browser.current_url:
        browser.find_element(By.CSS_SELECTOR, ".before button").send_keys(Keys.ENTER)
    WebDriverWait(browser, PATIENCE).until(lambda d: d.find_elements(By.CSS_SELECTOR, ".verdict"))
    assert "action=scrape" in browser.current_url
    assert browser.find_element(By.CSS_SELECTOR, ".verdict").text.startswith("Destroys")
    assert "Strip of the waist panel" in browser.find_element(By.CSS_SELECTOR, ".lines li").text
    browser.get(f"{address}before?object=OHM-1962-7&place=L-STRIP&action=dust")
    assert "would be destroyed" not in browser.find_element(By.TAG_NAME, "main").text


def test_a_proposal_that_destroys_and_one_that_is_out_of_reach(browser: Chrome, address: str) -> None:
    browser.get(f"{address}{OBJECT}/proposal/P5")
    assert browser.find_element(By.CSS_SELECTOR, ".verdict").text.startswith("Destroys")
    assert len(browser.find_elements(By.CSS_SELECTOR, ".losses-grid td a")) == 59
    browser.get(f"{address}object/OHM-1988~2F5/proposal/P2")
    assert (
        browser.find_element(By.CSS_SELECTOR, ".verdict").text == "By the records, it can reach nothing that is kept."
    )


def test_the_light_is_changed_by_the_arrow_keys_and_nothing_moves(browser: Chrome, address: str) -> None:
    browser.get(f"{address}{OBJECT}/place/L-NUM")
    radios = browser.find_elements(By.CSS_SELECTOR, ".lights input")
    assert len(radios) == 4
    figures = browser.find_elements(By.CSS_SELECTOR, ".lit > figure")
    browser.execute_script(
        "arguments[0].scrollIntoView({block: 'center'}); arguments[1].focus()", figures[0], radios[-1]
    )
    assert [figure.is_displayed() for figure in figures] == [True, True, True]
    press(browser, Keys.ARROW_RIGHT)  # from all of them beside each other to the first
    before = (browser.execute_script("return scrollY"), figures[0].rect["y"])
    assert [figure.is_displayed() for figure in figures] == [True, False, False]
    press(browser, Keys.ARROW_RIGHT)
    assert [figure.is_displayed() for figure in figures] == [False, True, False]
    press(browser, Keys.ARROW_RIGHT)
    assert [figure.is_displayed() for figure in figures] == [False, False, True]
    assert (browser.execute_script("return scrollY"), figures[2].rect["y"]) == before
    assert browser.current_url.endswith("/place/L-NUM")


def test_the_skip_link_comes_first_and_leads_to_the_content(browser: Chrome, address: str) -> None:
    browser.get(f"{address}{OBJECT}")
    press(browser, Keys.TAB)
    assert browser.switch_to.active_element.text == "To the content"
    press(browser, Keys.ENTER)
    press(browser, Keys.TAB)
    assert browser.execute_script("return document.querySelector('main').contains(document.activeElement)")
