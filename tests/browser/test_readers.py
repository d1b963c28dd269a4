"""The site for people who see, or move, otherwise: large print, colours of their own, a keyboard alone."""

from __future__ import annotations

import pytest
from browsing import NARROW, OBJECT, PAGES, PATIENCE, media, press
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

pytestmark = pytest.mark.slow

LINES_OVER_LINES = """
const lines = [];
const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
for (let node; node = walker.nextNode();) {
  const own = node.parentElement;
  if (!node.data.trim() || own.closest('svg, .unseen, thead, .skip, option, script') || !own.checkVisibility()) continue;
  let block = own;
  while (getComputedStyle(block).display.startsWith('inline') && block.parentElement) block = block.parentElement;
  const range = document.createRange();
  range.selectNodeContents(node);
  for (const box of range.getClientRects())
    if (box.width > 2) lines.push({block, box, text: node.data.trim().slice(0, 40)});
}
lines.sort((a, b) => a.box.top - b.box.top);
const found = [];
for (let i = 0; i < lines.length; i++)
  for (let j = i + 1; j < lines.length && lines[j].box.top < lines[i].box.bottom; j++) {
    const a = lines[i], b = lines[j];
    if (a.block === b.block || a.block.contains(b.block) || b.block.contains(a.block)) continue;
    const wide = Math.min(a.box.right, b.box.right) - Math.max(a.box.left, b.box.left);
    const high = Math.min(a.box.bottom, b.box.bottom) - Math.max(a.box.top, b.box.top);
    if (wide > 2 && high > 0.4 * Math.min(a.box.height, b.box.height)) found.push(a.text + ' | ' + b.text);
  }
return found;
"""
"""Texts of different blocks that lie over each other."""
CUT_OFF = """
return [...document.querySelectorAll('body *')].filter(e => !e.closest('svg, .wide, thead, .unseen, .skip, select')
  && getComputedStyle(e).overflow !== 'visible' && e.scrollWidth > e.clientWidth + 2 && e.clientWidth > 2)
  .map(e => e.tagName + ' ' + e.className)
"""


@pytest.mark.parametrize("name", [name for name in PAGES if name != "nope"])
def test_in_large_print_nothing_is_cut_off_or_covered(large_print: Chrome, address: str, name: str) -> None:
    """WCAG 2.2, 1.4.4 and 1.4.10: letters twice as large, on a wide screen and on a small phone."""
    for width in (1200, NARROW):
        media(large_print, width=width)
        large_print.get(f"{address}{PAGES[name]}")
        size = large_print.execute_script("return parseFloat(getComputedStyle(document.documentElement).fontSize)")
        assert size >= 32
        assert large_print.execute_script("return document.documentElement.scrollWidth") <= width
        assert large_print.execute_script(LINES_OVER_LINES) == [], width
        assert large_print.execute_script(CUT_OFF) == [], width


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_marks_are_told_apart_in_a_readers_own_colours(browser: Chrome, address: str, scheme: str) -> None:
    """In forced colours a browser takes away backgrounds and colours; what is left has to differ in shape: no two
    states, severities or responses make the same picture."""
    media(browser, scheme=scheme, forced=True)
    for path, marks, least in (
        ("about", ".swatch", 6),
        ("about", ".mark", 5),
        (f"{OBJECT}/tests", ".key .quarters", 5),
    ):
        browser.get(f"{address}{path}")
        assert browser.execute_script("return matchMedia('(forced-colors: active)').matches")
        shown: dict[str, bytes] = {}
        for mark in browser.find_elements(By.CSS_SELECTOR, marks):
            word = browser.execute_script("return arguments[0].parentElement.textContent.trim()", mark)
            shown[word] = mark.screenshot_as_png
        assert len(shown) >= least
        assert len(set(shown.values())) == len(shown), sorted(shown)


KEYED = ("object", "place", "sample", "tests", "records", "stratigraphy", "timeline", "proposal", "loss", "before")
"""Pages on which a reader moves about by keyboard."""
ALL_PLACES = 400


@pytest.mark.parametrize("name", KEYED)
def test_by_keyboard_every_stop_is_seen_and_every_wide_thing_is_reached(
    browser: Chrome, address: str, name: str
) -> None:
    """WCAG 2.2, 2.1.1, 2.4.3, 2.4.7 and 2.4.11, on a phone, where tables and drawings are wider than the screen."""
    media(browser, width=NARROW)
    browser.get(f"{address}{PAGES[name]}")
    unreached = browser.execute_script(
        "return [...document.querySelectorAll('main *')].filter(e => ['auto', 'scroll'].includes(getComputedStyle(e)"
        ".overflowX) && e.scrollWidth > e.clientWidth + 1 && !(e.tabIndex === 0 && e.getAttribute('role') === 'region'"
        " && (e.ariaLabel || document.getElementById(e.getAttribute('aria-labelledby'))?.textContent.trim())))"
        ".map(e => e.outerHTML.slice(0, 120))"
    )
    assert unreached == []
    assert browser.execute_script("return [...document.querySelectorAll('[tabindex]')].every(e => e.tabIndex <= 0)")
    browser.execute_script("document.activeElement.blur()")
    hidden = []
    for at in range(ALL_PLACES):
        press(browser, Keys.TAB)
        stop = browser.execute_script(
            "const e = document.activeElement; if (e === document.body) return null; const s = getComputedStyle(e);"
            "const b = e.getBoundingClientRect(); return {html: e.outerHTML.slice(0, 120), "
            "outline: s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) > 0 || !!e.closest('.lights, svg'),"
            "shown: b.bottom > 0 && b.top < innerHeight && b.right > 0 && b.left < innerWidth}"
        )
        if stop is None:
            break
        if at == 0:
            assert "To the content" in stop["html"]
        if not (stop["outline"] and stop["shown"]):
            hidden.append(stop)
    assert hidden == []


def test_the_grid_of_tests_keeps_its_first_column_in_view_on_a_phone(browser: Chrome, address: str) -> None:
    """Who scrolls to the last coat by keyboard still reads what it was tested with."""
    media(browser, width=NARROW)
    browser.get(f"{address}{OBJECT}/tests")
    region = browser.find_element(By.CSS_SELECTOR, "[role=region][aria-labelledby=tests-grid]")
    browser.execute_script("arguments[0].focus()", region)
    before = browser.execute_script(
        "return arguments[0].querySelector('tbody th').getBoundingClientRect().left", region
    )
    last = "return arguments[0].querySelector('tbody td:last-child').getBoundingClientRect().right"
    assert browser.execute_script(last, region) > NARROW
    for _ in range(40):
        press(browser, Keys.ARROW_RIGHT)
    WebDriverWait(browser, PATIENCE).until(lambda d: d.execute_script(last, region) <= NARROW)
    after = browser.execute_script("return arguments[0].querySelector('tbody th').getBoundingClientRect().left", region)
    assert after == before
