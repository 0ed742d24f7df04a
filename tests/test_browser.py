"""The finished page in a real browser: nothing loaded from outside, nothing broken, nothing wider than the window."""

from __future__ import annotations

import base64
import re
import shutil
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from conftest import SAMPLES, sample_folders

from reportgen.cli import run

BROWSER, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
pytestmark = pytest.mark.skipif(not (BROWSER and DRIVER), reason="chromium and chromedriver are not installed")


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = str(BROWSER)
    for argument in (
        "--headless=new",
        "--no-sandbox",
        "--disable-dev-shm-usage",
        "--disable-gpu",
        "--hide-scrollbars",
        "--force-color-profile=srgb",
        "--lang=en-US",
        "--window-size=1280,1600",
    ):
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(str(DRIVER)))
    yield driver
    driver.quit()


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("reports")
    assert run(["batch", str(SAMPLES), "--out", str(out), "--jobs", "1", "--format", "html"]) == 0
    return out


@pytest.mark.parametrize("name", ["index.html", *(f"{folder.name}/report.html" for folder in sample_folders())])
def test_a_page_stands_by_itself(browser: Any, pages: Path, name: str) -> None:
    for width in (1280, 500, 360):
        browser.set_window_size(width, 1600)
        # A headless window has a least width; emulation gives the width of a small telephone.
        browser.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": width, "height": 1600, "deviceScaleFactor": 1, "mobile": False},
        )
        browser.get((pages / name).as_uri())
        assert browser.get_log("browser") == []
        wide, window = browser.execute_script(
            "return [document.documentElement.scrollWidth, document.documentElement.clientWidth]"
        )
        assert wide <= window, f"{wide - window} px wider than a window of {width} px"
    broken = browser.execute_script("return [...document.images].filter(i => !i.complete || !i.naturalWidth).length")
    assert broken == 0
    loaded = browser.execute_script("return performance.getEntriesByType('resource').map(r => r.name.slice(0, 5))")
    assert set(loaded) <= {"data:"}
    assert browser.execute_script("return [...document.images].every(i => i.alt.length > 20)")
    assert browser.execute_script("return document.querySelectorAll('h1').length") == 1
    levels = browser.execute_script("return [...document.querySelectorAll('h1,h2,h3,h4')].map(h => +h.tagName[1])")
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_tables_become_lists_before_their_columns_are_crushed(browser: Any, pages: Path) -> None:
    shown = {}
    for width in (1000, 500):
        browser.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": width, "height": 1600, "deviceScaleFactor": 1, "mobile": False},
        )
        browser.get((pages / "canteen-hand-readings" / "report.html").as_uri())
        shown[width] = browser.execute_script(
            "return getComputedStyle(document.querySelector('table.stack thead')).display"
        )
    assert shown == {1000: "table-header-group", 500: "none"}


def test_it_prints_on_a4(browser: Any, pages: Path) -> None:
    browser.get((pages / "canteen-hand-readings" / "report.html").as_uri())
    page = browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    data = base64.b64decode(page["data"])
    assert data.startswith(b"%PDF")
    # A4 in points is 595.3 by 841.9, whatever rounding the browser uses.
    # A report that is handed on is no longer than this.
    assert len(re.findall(rb"/Type /Page\b(?!s)", data)) in range(3, 11)
    assert re.search(rb"/MediaBox \[0 0 59[456](\.\d+)? 84[123](\.\d+)?\]", data)
