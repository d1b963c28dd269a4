"""The site in a real Chromium: all of it works without scripts, and no text that was handed in ever runs."""

from __future__ import annotations

import pytest
from browsing import OBJECT, PATIENCE
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

pytestmark = pytest.mark.slow


def test_everything_is_there_without_scripts(browser: Chrome, address: str) -> None:
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    browser.get(address)
    browser.find_element(By.ID, "q").send_keys("OHM-1937/3", Keys.ENTER)
    WebDriverWait(browser, PATIENCE).until(lambda d: d.find_elements(By.CSS_SELECTOR, ".why"))
    assert "its number is" in browser.find_element(By.CSS_SELECTOR, ".why").text
    browser.find_element(By.CSS_SELECTOR, ".results a").click()
    WebDriverWait(browser, PATIENCE).until(lambda d: d.find_elements(By.CSS_SELECTOR, ".lead"))
    assert browser.find_element(By.TAG_NAME, "h1").text.startswith("Manual fire engine")
    browser.find_element(By.CSS_SELECTOR, ".survives a").click()
    WebDriverWait(browser, PATIENCE).until(lambda d: "/place/" in d.current_url)
    browser.get(f"{address}{OBJECT}/place/L-NUM")
    label = browser.find_element(By.CSS_SELECTOR, ".lights label:nth-of-type(2)")
    label.click()
    assert browser.find_element(By.CSS_SELECTOR, ".lit > figure:nth-child(2)").is_displayed()
    browser.get(f"{address}before?object=OHM-1962-7&action=strip")
    summary = browser.find_element(By.CSS_SELECTOR, ".lines li:nth-child(2) summary")
    summary.click()
    assert browser.find_element(By.CSS_SELECTOR, ".lines li:nth-child(2) p").is_displayed()


@pytest.mark.parametrize(
    "path", ["", "/timeline", "/tests", "/records", "/stratigraphy", "/place/Z1", "/sample/S1", "/proposal/P1"]
)
def test_hostile_texts_never_run(browser: Chrome, address: str, path: str) -> None:
    browser.get(f"{address}object/HOSTILE{path}")
    assert browser.title != "RAN"
    assert "Not found" not in browser.title
    assert "<script>" in browser.find_element(By.TAG_NAME, "main").text


def test_a_hostile_question_never_runs(browser: Chrome, address: str) -> None:
    for path in (
        "?q=%3Cscript%3Edocument.title%3D%27RAN%27%3C/script%3E",
        "?colour=%22%3E%3Cscript%3Ex",
        "before?object=%3Cscript%3Edocument.title%3D%27RAN%27%3C/script%3E",
    ):
        browser.get(f"{address}{path}")
        assert browser.title != "RAN"


def test_the_policy_stops_what_might_slip_through(browser: Chrome, address: str) -> None:
    """The control: a script that is put into the page is refused, so the log above can tell."""
    browser.get(address)
    browser.execute_script(
        "const s = document.createElement('script'); s.textContent = \"document.title='RAN'\";"
        "document.body.append(s); const i = new Image(); i.src = 'http://127.0.0.1:1/x.png';"
    )
    assert browser.title != "RAN"
    told = [entry["message"] for entry in browser.get_log("browser")]
    assert sum("Content Security Policy" in message for message in told) >= 2


def test_pictures_come_through_the_cleaning_and_are_seen(browser: Chrome, address: str) -> None:
    """Chromium, which does not know our reading of the files, decodes every picture of these pages."""
    number = 0
    for path in (OBJECT, f"{OBJECT}/place/L-STRIP", f"{OBJECT}/sample/S21", f"{OBJECT}/stratigraphy"):
        browser.get(f"{address}{path}")
        sizes = browser.execute_async_script(
            "const done = arguments[0]; Promise.all([...document.images].map(i => { i.loading = 'eager';"
            " return i.decode().then(() => i.naturalWidth) })).then(done, e => done(String(e)))"
        )
        assert all(size > 0 for size in sizes), path
        number += len(sizes)
        drawn = browser.execute_script(
            "return [...document.querySelectorAll('svg image')].map(i => i.getBoundingClientRect().width)"
        )
        assert all(width > 10 for width in drawn)
        number += len(drawn)
    assert number > 10


def test_nothing_is_asked_of_another_host(browser: Chrome, address: str) -> None:
    browser.get(f"{address}{OBJECT}")
    asked = browser.execute_script("return performance.getEntriesByType('resource').map(e => e.name)")
    assert asked
    assert all(name.startswith(address) for name in asked)
