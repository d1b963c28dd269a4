"""A real Chromium, and the invented harbour collection published and served for it."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import pytest
from selenium.webdriver import Chrome
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service
from site_packages import database_of, object_rows, write_package

from collection.output.site.publish import publish
from collection.values.resources import sample_folder

CHROMIUM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")

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


@pytest.fixture(scope="session")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The invented harbour collection, published and served; with one object whose every text is hostile."""
    folder = tmp_path_factory.mktemp("browser")
    harbour = Path(str(sample_folder())) / "harbour"
    bad = "<script>document.title='RAN'</script><img src=x onerror=\"document.title='RAN'\">"
    rows = object_rows("HOSTILE", lambda sheet, column, kind: f"{bad} {sheet} {column} {'x' * 90}")
    package = write_package(folder / "p", {"code": "S1", "title": bad, "lead": "l", "started": "2019-05-01"}, rows)
    publish(database_of(folder / "a.db", harbour / "2014", harbour / "2024", package), folder / "out")
    with subprocess.Popen([sys.executable, "-c", SERVE, folder / "out"], stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        yield process.stdout.readline().strip()
        process.terminate()


LARGE_PRINT = {"webkit.webprefs.default_font_size": 32, "webkit.webprefs.default_fixed_font_size": 26}
"""A reader's own setting of letters twice as large as browsers have them."""


@pytest.fixture
def browser(tmp_path: Path) -> Iterator[Chrome]:
    """A fresh browser; what it complains of at the end fails the test."""
    yield from _started(tmp_path, {})


@pytest.fixture
def large_print(tmp_path: Path) -> Iterator[Chrome]:
    """The same, set to large print by its reader."""
    yield from _started(tmp_path, LARGE_PRINT)


def _started(tmp_path: Path, preferences: dict[str, int]) -> Iterator[Chrome]:
    if not (CHROMIUM and DRIVER):
        pytest.skip("needs chromium and chromedriver on the PATH")
    options = Options()
    options.binary_location = str(CHROMIUM)
    for flag in (*FLAGS, f"--user-data-dir={tmp_path / 'profile'}", "--window-size=1200,900"):
        options.add_argument(flag)
    options.add_experimental_option("prefs", preferences)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = Chrome(options=options, service=Service(str(DRIVER)))
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


@pytest.fixture(scope="session")
def axe() -> str:
    """The rules of axe-core, as its package carries them."""
    return files("selenium_axe_python").joinpath("axe-core", "axe.min.js").read_text("utf-8")
