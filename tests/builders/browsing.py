"""What the tests in a browser share: pages, keys, looks and waiting."""

from __future__ import annotations

import base64
from pathlib import Path
from typing import Any

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


LOOKS: dict[str, dict[str, Any]] = {
    "": {},
    "-dark": {"scheme": "dark"},
    "-phone": {"width": NARROW},
    "-paper": {"width": 800, "kind": "print"},
    "-forced-colours": {"scheme": "dark", "forced": True},
}


def keep_picture(browser: Chrome, url: str, file: Path, width: int) -> None:
    browser.get(url)
    if url.endswith("/nope"):
        browser.get_log("browser")  # type: ignore[no-untyped-call]
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
    file.write_bytes(shot)
    assert shot.startswith(b"\x89PNG")
    assert len(shot) > 10_000, file.name


def violations(browser: Chrome, axe: str, *, reads_styles: bool = True) -> list[tuple[str, str, list[str]]]:
    """What axe-core finds on the page by WCAG 2.2 A and AA and by its own good practice, with some of the places.

    :param reads_styles: whether it asks for the stylesheets, by which it finds pages that are locked upright. From a disk it
        may not: to Chromium each file there is another site's.
    """
    browser.execute_script(axe)
    found = browser.execute_async_script(
        "const done = arguments[1]; axe.run(document, {preload: arguments[0], resultTypes: ['violations', 'incomplete'], "
        "runOnly: ["
        "'wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}).then(done)",
        reads_styles,
    )
    assert len(found["passes"]) > 10
    return [
        (each["id"], each["help"], [node["html"][:200] for node in each["nodes"][:3]]) for each in found["violations"]
    ]


def sticks_out(browser: Chrome) -> list[str]:
    """What of a page is wider than the screen, where nothing scrolls within its own frame."""
    found: list[str] = browser.execute_script(
        "return [...document.querySelectorAll('main *')].filter(e => e.getBoundingClientRect().right > innerWidth + 1"
        " && getComputedStyle(e).position !== 'absolute' && !e.closest('.wide, thead, svg'))"
        ".map(e => e.tagName + ' ' + e.className)"
    )
    return found
