"""Samples drawn as stacks and bands, as a browser shows them."""

from __future__ import annotations

import pytest
from browsing import OBJECT, media
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By

pytestmark = pytest.mark.slow

PAGES = (f"{OBJECT}/sample/S03", f"{OBJECT}/sample/S10", f"{OBJECT}/stratigraphy", "object/OHM-1937~2F3/stratigraphy")
FIGURES = "main .wide > svg"
SMALLEST = f"""return Math.min(...[...document.querySelectorAll('{FIGURES} text')].map(
    e => parseFloat(e.getAttribute('font-size') || e.parentNode.getAttribute('font-size')) * e.getScreenCTM().a))"""
OVERLAPS = f"""
const found = [];
for (const svg of document.querySelectorAll('{FIGURES}')) {{
  const boxes = [...svg.querySelectorAll('text')].map(e => [e.textContent, e.getBoundingClientRect()]);
  boxes.forEach(([one, a], at) => boxes.slice(at + 1).forEach(([two, b]) => {{
    const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
    const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
    // A line of 12 px type is 14 px high with the room for accents; letters touch from 3 px on.
    if (across > 1 && down > 3) found.push(one + ' / ' + two);
  }}));
}}
return found;
"""


@pytest.mark.parametrize("path", PAGES)
@pytest.mark.parametrize("width", [1200, 390])
def test_figures_can_be_read_and_the_page_does_not_scroll_sideways(
    browser: Chrome, address: str, path: str, width: int
) -> None:
    """Letters are 11 px and more as shown, none over another; a wide figure scrolls in its own frame."""
    media(browser, width=width)
    browser.get(f"{address}{path}")
    assert browser.execute_script(SMALLEST) >= 10.9
    assert browser.execute_script(OVERLAPS) == []
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width


def test_the_micrograph_stands_beside_its_stack_at_the_same_height(browser: Chrome, address: str) -> None:
    """Whole, in the proportions of its file, and as high as the coats with the support together."""
    media(browser)
    browser.get(f"{address}{OBJECT}/sample/S03")
    image = browser.find_element(By.CSS_SELECTOR, f"{FIGURES} image")
    coats = browser.find_elements(By.XPATH, "//*[local-name()='rect'][*[local-name()='title']][not(@data-kind)]")
    heights = sum(coat.rect["height"] for coat in coats)
    assert image.rect["height"] == pytest.approx(heights, abs=len(coats))
    assert image.rect["x"] > max(coat.rect["x"] + coat.rect["width"] for coat in coats)
    wide, high = browser.execute_async_script(
        "const done = arguments[1], i = new Image(); i.onload = () => done([i.naturalWidth, i.naturalHeight]);"
        "i.src = arguments[0].href.baseVal",
        image,
    )
    assert image.rect["width"] / image.rect["height"] == pytest.approx(wide / high, rel=0.02)


def test_from_the_bands_to_a_sample_and_its_place(browser: Chrome, address: str) -> None:
    """The codes above the bands are links, by mouse and by keyboard."""
    media(browser)
    browser.get(f"{address}{OBJECT}/stratigraphy")
    links = browser.find_elements(By.CSS_SELECTOR, f"{FIGURES} a")
    ends = {(link.get_attribute("href") or "").split(OBJECT)[-1] for link in links} | {
        browser.execute_script("return arguments[0].href.baseVal", link).split(OBJECT)[-1] for link in links
    }
    assert {"/sample/S01", "/sample/S26", "/place/L-WAIST"} <= ends
