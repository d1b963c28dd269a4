"""What the tests in a browser share: pages, keys, looks and waiting."""

from __future__ import annotations

from selenium.webdriver import ActionChains, Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

OBJECT = "object/OHM-1962-7"
NARROW = 320
"""The width of a small phone, in pixels."""
PATIENCE = 120
"""Seconds after which a page that does not come counts as hanging, on a machine however busy."""


def media(driver: Chrome, *, width: int = 1200, kind: str = "", scheme: str = "light", forced: bool = False) -> None:
    """How the page is shown; `forced` is a reader's own few colours in place of the page's."""
    driver.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": width < 600},
    )
    driver.execute_cdp_cmd(
        "Emulation.setEmulatedMedia",
        {
            "media": kind,
            "features": [
                {"name": "prefers-color-scheme", "value": scheme},
                {"name": "forced-colors", "value": "active" if forced else "none"},
            ],
        },
    )


def press(driver: Chrome, *keys: str) -> None:
    ActionChains(driver).send_keys(*keys).perform()


def focus_on(driver: Chrome, text: str, most: int = 60) -> None:
    """Tabs on until the focus is on what has this text."""
    for _ in range(most):
        press(driver, Keys.TAB)
        if driver.switch_to.active_element.text.strip() == text:
            return
    raise AssertionError(f"{text!r} cannot be reached by keyboard in {most} steps")


def arrived(driver: Chrome, end: str) -> None:
    """Waits until the address ends so and its page is there."""
    WebDriverWait(driver, PATIENCE).until(
        lambda d: d.current_url.endswith(end) and d.execute_script("return document.readyState") == "complete"
    )


def shown_id(driver: Chrome) -> str:
    """The id of the record the address points to, which has to be in view."""
    found = driver.find_element(By.CSS_SELECTOR, ":target")
    top = driver.execute_script("return arguments[0].getBoundingClientRect().top", found)
    assert -1 <= top < 800
    return found.get_attribute("id") or ""


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
    "part": f"{OBJECT}/place/SIDE-L",
    "not-examined": f"{OBJECT}/place/L-PILL",
    "sample": f"{OBJECT}/sample/S21",
    "proposal": f"{OBJECT}/proposal/P5",
    "loss": f"{OBJECT}/proposal/P3/loss/L-STRIP~2F1~2Fvarnish",
    "finishes": f"{OBJECT}/finishes",
    "timeline": f"{OBJECT}/timeline",
    "tests": f"{OBJECT}/tests",
    "records": f"{OBJECT}/records",
    "stratigraphy": f"{OBJECT}/stratigraphy",
    "before": "before?object=OHM-1962-7&place=L-STRIP&action=solvent&agent=acetone",
    "before-faults": "before?object=OHM-1962-7&depth_um=lots",
    "at-risk": "at-risk",
    "survey": "survey/H24",
    "compare": f"{OBJECT}/compare/H14/H24",
    "compared": "compare/H14/H24",
    "nope": "nope",
}
"""One page of every kind, by its name."""
