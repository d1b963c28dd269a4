"""Pictures of one view, then and now: beside each other and level, one above the other on a phone, beside on paper."""

from __future__ import annotations

import pytest
from browsing import media
from selenium.webdriver import Chrome

pytestmark = pytest.mark.slow

PAGE = "object/OHM-1988~2F5/compare/H14/H24"
SIDES = """
return [...document.querySelectorAll('.pairs .pair')].map(pair => [...pair.querySelectorAll('img')].map(image => {
  const box = image.getBoundingClientRect();
  return [box.left, box.top, box.width, box.height];
}));
"""


def boxes(browser: Chrome) -> list[list[list[float]]]:
    """Left, top, width and height of the pictures of each pair, when all have come."""
    browser.execute_async_script(
        "const done = arguments[0]; Promise.all([...document.images].map(i => { i.loading = 'eager'; "
        "return i.decode().catch(() => null); })).then(done);"
    )
    found: list[list[list[float]]] = browser.execute_script(SIDES)
    assert len(found) == 3
    assert all(len(pair) == 2 for pair in found)
    return found


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_two_dates_stand_beside_each_other_equally_wide_and_level(browser: Chrome, address: str, scheme: str) -> None:
    media(browser, scheme=scheme)
    browser.get(address + PAGE)
    for (left, top, width, _), (left_now, top_now, width_now, _) in boxes(browser):
        assert (top_now, width_now) == pytest.approx((top, width), abs=1)
        assert width > 300
        assert left_now >= left + width


def test_on_a_phone_they_stand_one_above_the_other(browser: Chrome, address: str) -> None:
    media(browser, width=390)
    browser.get(address + PAGE)
    for (left, top, width, height), (left_now, top_now, width_now, _) in boxes(browser):
        assert (left_now, width_now) == pytest.approx((left, width), abs=1)
        assert top_now >= top + height
    assert browser.execute_script("return document.documentElement.scrollWidth") <= 390


def test_on_paper_they_stand_beside_each_other(browser: Chrome, address: str) -> None:
    media(browser, width=640, kind="print")
    browser.get(address + PAGE)
    for (left, top, width, _), (left_now, top_now, width_now, _) in boxes(browser):
        assert (top_now, width_now) == pytest.approx((top, width), abs=1)
        assert left_now >= left + width
