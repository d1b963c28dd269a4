"""The site in a real Chromium: from the question to the evidence by keyboard, on a phone, on paper, without scripts."""

from __future__ import annotations

import base64
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from importlib.resources import files
from itertools import pairwise
from pathlib import Path

import pytest
from selenium import webdriver
from selenium.webdriver import ActionChains
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait
from site_packages import database, object_rows, write_package

from collection.output.site.publish import publish
from collection.values.resources import sample_folder

CHROMIUM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not (CHROMIUM and DRIVER), reason="needs chromium and chromedriver on the PATH"),
]

SERVE = (
    "import sys; from pathlib import Path; from collection.output.site.serve import serve; "
    "serve(Path(sys.argv[1]), port=0, ready=lambda address: print(address, flush=True))"
)
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
OBJECT = "object/OHM-1962-7"
NARROW = 320


@pytest.fixture(scope="module")
def address(tmp_path_factory) -> Iterator[str]:
    """The invented harbour collection, published and served; with one object whose every text is hostile."""
    folder = tmp_path_factory.mktemp("browser")
    harbour = Path(str(sample_folder())) / "harbour"
    bad = "<script>document.title='RAN'</script><img src=x onerror=\"document.title='RAN'\">"
    rows = object_rows("HOSTILE", lambda sheet, column, kind: f"{bad} {sheet} {column} {'x' * 90}")
    package = write_package(folder / "p", {"code": "S1", "title": bad, "lead": "l", "started": "2019-05-01"}, rows)
    publish(database(folder / "a.db", harbour / "2014", harbour / "2024", package), folder / "out")
    with subprocess.Popen([sys.executable, "-c", SERVE, folder / "out"], stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        yield process.stdout.readline().strip()
        process.terminate()


@pytest.fixture
def browser(tmp_path) -> Iterator[webdriver.Chrome]:
    options = Options()
    options.binary_location = str(CHROMIUM)
    for flag in (*FLAGS, f"--user-data-dir={tmp_path / 'profile'}", "--window-size=1200,900"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(str(DRIVER)))
    yield driver
    # What Chromium says of its own windows (chrome://) is not of our pages.
    complaints = [
        entry
        for entry in driver.get_log("browser")
        if not entry["message"].startswith("chrome://")
        and ("Content Security Policy" in entry["message"] or entry["level"] == "SEVERE")
    ]
    driver.quit()
    assert complaints == []


def media(driver: webdriver.Chrome, *, width: int = 1200, kind: str = "", scheme: str = "light") -> None:
    driver.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": width < 600},
    )
    driver.execute_cdp_cmd(
        "Emulation.setEmulatedMedia", {"media": kind, "features": [{"name": "prefers-color-scheme", "value": scheme}]}
    )


def press(driver: webdriver.Chrome, *keys: str) -> None:
    ActionChains(driver).send_keys(*keys).perform()


def focus_on(driver: webdriver.Chrome, text: str, most: int = 60) -> None:
    """Tabs on until the focus is on what has this text."""
    for _ in range(most):
        press(driver, Keys.TAB)
        if driver.switch_to.active_element.text.strip() == text:
            return
    raise AssertionError(f"{text!r} cannot be reached by keyboard in {most} steps")


def arrived(driver: webdriver.Chrome, end: str) -> None:
    """Waits until the address ends so and its page is there."""
    WebDriverWait(driver, 20).until(
        lambda d: d.current_url.endswith(end) and d.execute_script("return document.readyState") == "complete"
    )


def shown_id(driver: webdriver.Chrome) -> str:
    """The id of the record the address points to, which has to be in view."""
    found = driver.find_element(By.CSS_SELECTOR, ":target")
    top = driver.execute_script("return arguments[0].getBoundingClientRect().top", found)
    assert -1 <= top < 800
    return found.get_attribute("id")


def test_from_the_question_to_the_evidence_by_keyboard_alone(browser, address):
    browser.get(address)
    assert browser.switch_to.active_element.get_attribute("id") == "q"
    press(browser, "vermilion strip", Keys.ENTER)
    arrived(browser, "?q=vermilion+strip")
    focus_on(browser, "Horse tram body no. 9 (invented)")
    press(browser, Keys.ENTER)
    arrived(browser, OBJECT)
    lead = browser.find_element(By.CSS_SELECTOR, ".lead").text
    assert lead.startswith("Original finish seen at ")
    focus_on(browser, "Take the browned varnish off the strip", most=150)
    press(browser, Keys.ENTER)
    arrived(browser, "/proposal/P3")
    assert browser.find_element(By.CSS_SELECTOR, ".lead").text.startswith("destroys")
    focus_on(browser, "destroys")
    press(browser, Keys.ENTER)
    arrived(browser, "/loss/L-STRIP~2F1~2Fvarnish")
    card = browser.find_element(By.CSS_SELECTOR, ".cards li")
    assert card.find_elements(By.CSS_SELECTOR, "img, .spot")
    focus_on(browser, "C23")
    press(browser, Keys.ENTER)
    arrived(browser, "tests#tests-C23")
    assert shown_id(browser) == "tests-C23"
    assert "1 ethanol + 4 isooctane" in browser.find_element(By.CSS_SELECTOR, ":target").text


def test_from_the_question_to_the_place_and_its_section_by_keyboard_alone(browser, address):
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
    card = browser.find_element(By.CSS_SELECTOR, "[aria-labelledby=rests] .cards li")
    assert card.find_element(By.TAG_NAME, "img").get_attribute("alt")
    assert "lies on the drawing" in card.find_element(By.CSS_SELECTOR, ".spot").get_attribute("aria-label")
    focus_on(browser, "S21")
    press(browser, Keys.ENTER)
    arrived(browser, "/sample/S21")
    assert len(browser.find_elements(By.CSS_SELECTOR, ".coats tbody tr")) == 14
    focus_on(browser, "All samples of this object side by side", most=120)
    press(browser, Keys.ENTER)
    arrived(browser, "/stratigraphy")


def test_before_you_approve_is_filled_in_and_answered_by_keyboard(browser, address):
    browser.get(f"{address}{OBJECT}")
    focus_on(browser, "Before you approve")
    press(browser, Keys.ENTER)
    arrived(browser, "before?object=OHM-1962-7")
    browser.find_element(By.ID, "b-place").send_keys("L-STRIP")
    press(browser, Keys.TAB)
    press(browser, "scrape", Keys.ENTER)
    if "action=" not in browser.current_url:
        browser.find_element(By.CSS_SELECTOR, ".before button").send_keys(Keys.ENTER)
    WebDriverWait(browser, 20).until(lambda d: d.find_elements(By.ID, "answer"))
    assert "action=scrape" in browser.current_url
    assert browser.find_element(By.CSS_SELECTOR, "section .lead").text.startswith("destroys")
    assert browser.find_element(By.CSS_SELECTOR, ".losses details[open]").is_displayed()
    browser.get(f"{address}before?object=OHM-1962-7&place=L-STRIP&action=dust")
    assert browser.find_element(By.CSS_SELECTOR, "section .lead").text == "out of reach"


def test_a_proposal_that_destroys_and_one_that_is_out_of_reach(browser, address):
    browser.get(f"{address}{OBJECT}/proposal/P5")
    assert browser.find_element(By.CSS_SELECTOR, ".lead").text.startswith("destroys")
    assert len(browser.find_elements(By.CSS_SELECTOR, ".loss")) > 20
    browser.get(f"{address}object/OHM-1988~2F5/proposal/P2")
    assert browser.find_element(By.CSS_SELECTOR, ".lead").text == "out of reach"
    assert "it can reach nothing that is kept" in browser.find_element(By.TAG_NAME, "main").text


def test_the_light_is_changed_by_the_arrow_keys_and_nothing_moves(browser, address):
    browser.get(f"{address}{OBJECT}/place/L-NUM")
    radios = browser.find_elements(By.CSS_SELECTOR, ".lights input")
    assert len(radios) == 3
    figures = browser.find_elements(By.CSS_SELECTOR, ".lit > figure")
    browser.execute_script(
        "arguments[0].scrollIntoView({block: 'center'}); arguments[1].focus()", figures[0], radios[0]
    )
    before = (browser.execute_script("return scrollY"), figures[0].rect["y"])
    assert [figure.is_displayed() for figure in figures] == [True, False, False]
    press(browser, Keys.ARROW_RIGHT)
    assert [figure.is_displayed() for figure in figures] == [False, True, False]
    press(browser, Keys.ARROW_RIGHT)
    assert [figure.is_displayed() for figure in figures] == [False, False, True]
    assert (browser.execute_script("return scrollY"), figures[2].rect["y"]) == before
    assert browser.current_url.endswith("/place/L-NUM")


def test_the_skip_link_comes_first_and_leads_to_the_content(browser, address):
    browser.get(f"{address}{OBJECT}")
    press(browser, Keys.TAB)
    assert browser.switch_to.active_element.text == "To the content"
    press(browser, Keys.ENTER)
    press(browser, Keys.TAB)
    assert browser.execute_script("return document.querySelector('main').contains(document.activeElement)")


PAGES = {
    "start": "",
    "results": "?q=vermilion",
    "narrowed": "?state=original+exposed&colour=red",
    "about": "about",
    "manual": "manual",
    "manual-page": "manual/survey-files",
    "object": OBJECT,
    "unknown": "object/OHM-1952-11",
    "hostile": "object/HOSTILE",
    "place": f"{OBJECT}/place/L-NUM",
    "not-examined": f"{OBJECT}/place/L-PILL",
    "sample": f"{OBJECT}/sample/S21",
    "proposal": f"{OBJECT}/proposal/P5",
    "loss": f"{OBJECT}/proposal/P3/loss/L-STRIP~2F1~2Fvarnish",
    "timeline": f"{OBJECT}/timeline",
    "tests": f"{OBJECT}/tests",
    "records": f"{OBJECT}/records",
    "stratigraphy": f"{OBJECT}/stratigraphy",
    "before": "before?object=OHM-1962-7&place=L-STRIP&action=solvent&agent=acetone",
    "before-faults": "before?object=OHM-1962-7&depth_um=lots",
    "at-risk": "at-risk",
    "survey": "survey/H24",
    "nope": "nope",
}
"""One page of every kind, by its name."""


@pytest.fixture(scope="module")
def axe() -> str:
    """The rules of axe-core, as its package carries them."""
    return files("axe_playwright_python").joinpath("axe.min.js").read_text("utf-8")


@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_nothing(browser, address, axe, name):
    """WCAG 2.2 A and AA and axe's own good practice, on a wide screen, in the dark and on a phone."""
    for width, scheme in ((1200, "light"), (1200, "dark"), (NARROW, "light")):
        media(browser, width=width, scheme=scheme)
        browser.get(f"{address}{PAGES[name]}")
        if name == "nope":
            browser.get_log("browser")
        browser.execute_script(axe)
        found = browser.execute_async_script(
            "const done = arguments[0]; axe.run(document, {resultTypes: ['violations', 'incomplete'], runOnly: ["
            "'wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}).then(done)"
        )
        assert len(found["passes"]) > 10
        assert [
            (each["id"], each["help"], [node["html"][:200] for node in each["nodes"][:3]])
            for each in found["violations"]
        ] == [], (width, scheme)


@pytest.mark.parametrize("path", list(PAGES.values()))
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_phone_never_scrolls_sideways(browser, address, path, scheme):
    if path == "nope":
        browser.get(address)
        browser.get_log("browser")
    media(browser, width=NARROW, scheme=scheme)
    browser.get(f"{address}{path}")
    if path == "nope":
        browser.get_log("browser")  # a page that is not there is SEVERE to Chromium
    assert browser.execute_script("return document.documentElement.scrollWidth") <= NARROW
    wide = browser.execute_script(
        "return [...document.querySelectorAll('main *')].filter(e => e.getBoundingClientRect().right > innerWidth + 1"
        " && getComputedStyle(e).position !== 'absolute' && !e.closest('.wide, thead, svg'))"
        ".map(e => e.tagName + ' ' + e.className)"
    )
    assert wide == []


def test_links_and_buttons_are_large_enough_to_touch(browser, address):
    """WCAG 2.2, 2.5.8: 24 by 24 pixels, or in a line of text."""
    media(browser, width=NARROW)
    browser.get(address)
    for element in browser.find_elements(By.CSS_SELECTOR, "header a, button, input"):
        assert element.size["height"] >= 24, element.get_attribute("outerHTML")


def test_everything_is_there_without_scripts(browser, address):
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    browser.get(address)
    browser.find_element(By.ID, "q").send_keys("OHM-1937/3", Keys.ENTER)
    WebDriverWait(browser, 20).until(lambda d: d.find_elements(By.CSS_SELECTOR, ".why"))
    assert "its number is" in browser.find_element(By.CSS_SELECTOR, ".why").text
    browser.find_element(By.CSS_SELECTOR, ".results a").click()
    WebDriverWait(browser, 20).until(lambda d: d.find_elements(By.CSS_SELECTOR, ".lead"))
    assert browser.find_element(By.TAG_NAME, "h1").text.startswith("Manual fire engine")
    browser.find_element(By.CSS_SELECTOR, ".places th a").click()
    WebDriverWait(browser, 20).until(lambda d: "/place/" in d.current_url)
    browser.get(f"{address}{OBJECT}/place/L-NUM")
    label = browser.find_element(By.CSS_SELECTOR, ".lights label:nth-of-type(2)")
    label.click()
    assert browser.find_element(By.CSS_SELECTOR, ".lit > figure:nth-child(2)").is_displayed()
    browser.get(f"{address}before?object=OHM-1962-7&action=strip")
    summary = browser.find_element(By.CSS_SELECTOR, ".losses li:nth-child(2) summary")
    summary.click()
    assert browser.find_element(By.CSS_SELECTOR, ".losses li:nth-child(2) p").is_displayed()


@pytest.mark.parametrize(
    "path", ["", "/timeline", "/tests", "/records", "/stratigraphy", "/place/Z1", "/sample/S1", "/proposal/P1"]
)
def test_hostile_texts_never_run(browser, address, path):
    browser.get(f"{address}object/HOSTILE{path}")
    assert browser.title != "RAN"
    assert "Not found" not in browser.title
    assert "<script>" in browser.find_element(By.TAG_NAME, "main").text


def test_a_hostile_question_never_runs(browser, address):
    for path in (
        "?q=%3Cscript%3Edocument.title%3D%27RAN%27%3C/script%3E",
        "?colour=%22%3E%3Cscript%3Ex",
        "before?object=%3Cscript%3Edocument.title%3D%27RAN%27%3C/script%3E",
    ):
        browser.get(f"{address}{path}")
        assert browser.title != "RAN"


def test_the_policy_stops_what_might_slip_through(browser, address):
    """The control: a script that is put into the page is refused, so the log above can tell."""
    browser.get(address)
    browser.execute_script(
        "const s = document.createElement('script'); s.textContent = \"document.title='RAN'\";"
        "document.body.append(s); const i = new Image(); i.src = 'http://127.0.0.1:1/x.png';"
    )
    assert browser.title != "RAN"
    told = [entry["message"] for entry in browser.get_log("browser")]
    assert sum("Content Security Policy" in message for message in told) >= 2


def test_pictures_come_through_the_cleaning_and_are_seen(browser, address):
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
    assert number > 10


def test_nothing_is_asked_of_another_host(browser, address):
    browser.get(f"{address}{OBJECT}")
    asked = browser.execute_script("return performance.getEntriesByType('resource').map(e => e.name)")
    assert asked
    assert all(name.startswith(address) for name in asked)


def test_on_paper_everything_is_open_and_nothing_is_for_the_screen(browser, address):
    hidden = (
        "return [...document.querySelectorAll('details > p, details > ul, .lit > figure')].filter(e => "
        "!e.checkVisibility({contentVisibilityAuto: true}) || e.getBoundingClientRect().height < 5).length"
    )
    for path in ("before?object=OHM-1962-7&action=strip", f"{OBJECT}/place/L-NUM"):
        media(browser, width=800)
        browser.get(f"{address}{path}")
        assert browser.execute_script(hidden) >= 2
        media(browser, kind="print", width=800)
        browser.get(f"{address}{path}")
        assert not browser.find_element(By.CSS_SELECTOR, ".small-search").is_displayed()
        assert browser.execute_script(hidden) == 0
        pdf = browser.execute_cdp_cmd("Page.printToPDF", {"printBackground": False})
        assert len(pdf["data"]) > 20_000


def test_at_twice_the_size_nothing_is_cut_off(browser, address):
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


def test_headings_run_in_order_and_every_field_has_its_label(browser, address):
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
        assert browser.execute_script("return [...document.images].every(i => i.alt)")


SHOTS = os.environ.get("FIRSTCOAT_SHOTS")
"""A folder for pictures of every page in every look, for a person to see; else some are kept with the output."""
LOOKS = {
    "": (1200, "", "light"),
    "-dark": (1200, "", "dark"),
    "-phone": (NARROW, "", "light"),
    "-paper": (800, "print", "light"),
}


def test_pictures_of_the_pages_for_a_person_to_look_at(browser, address, tmp_path):
    folder = Path(SHOTS or tmp_path)
    for name, path in PAGES.items():
        for look, (width, kind, scheme) in LOOKS.items():
            if look and not SHOTS and name != "object":
                continue
            media(browser, width=width, kind=kind, scheme=scheme)
            browser.get(f"{address}{path}")
            if name == "nope":
                browser.get_log("browser")
            height = browser.execute_script("return document.documentElement.scrollHeight")
            shot = base64.b64decode(
                browser.execute_cdp_cmd(
                    "Page.captureScreenshot",
                    {
                        "captureBeyondViewport": True,
                        "clip": {"x": 0, "y": 0, "width": width, "height": min(height, 3000), "scale": 1},
                    },
                )["data"]
            )
            (folder / f"{name}{look}.png").write_bytes(shot)
            assert shot.startswith(b"\x89PNG")
            assert len(shot) > 10_000, name
