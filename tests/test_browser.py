"""Finished pages in a real browser, in one session: nothing from outside, nothing broken, nothing out of its place.

Every edition of every sample at the width of a small telephone, of a desk, and as printed. Where `REPORTGEN_AXE` names
the script of the accessibility checker axe-core, that looks at the pages too.
"""

from __future__ import annotations

import base64
import os
import re
import shutil
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from conftest import SAMPLES, computed_sample, sample_folders

from reportgen.cli import run
from reportgen.new_trial import log_sheet
from reportgen.own_templates import POLICY
from reportgen.publication import entry_of, publish
from reportgen.render import render_html
from reportgen.results_file import results_document
from reportgen.speech import Manner, load, speaking
from reportgen.view import EDITIONS, build_view, edition_values

BROWSER, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
pytestmark = pytest.mark.skipif(not (BROWSER and DRIVER), reason="chromium and chromedriver are not installed")
AXE = os.environ.get("REPORTGEN_AXE", "")
NAMES = [folder.name for folder in sample_folders()]
REPORTS = [f"{edition}/{name}/report.html" for edition in EDITIONS for name in NAMES]
#: Of each edition the fullest sample, for what takes long.
FULLEST = [f"{edition}/canteen-hand-readings/report.html" for edition in EDITIONS]
WIDTHS = (1280, 360)
#: A report that is handed on is no longer than this: pages of A4, and bytes without photos.
MOST_PAGES = {"full": 12, "funder": 2, "class": 8}
LARGEST_PAGE = 300_000
#: Returns what is out of its place: texts that reach over the window or out of their box, and images that failed.
MISPLACED = """
const wrong = [], root = document.documentElement, wide = root.clientWidth;
if (root.scrollWidth > wide) wrong.push('page is ' + root.scrollWidth + ' wide');
for (const image of document.images)
  if (!image.complete || !image.naturalWidth || image.alt.length <= 20) wrong.push('image: ' + image.alt);
const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), range = document.createRange();
while (walker.nextNode()) {
  const text = walker.currentNode, parent = text.parentElement;
  if (!text.data.trim() || !parent.checkVisibility() || parent.closest('.skip, style')) continue;
  const scrolls = parent.closest('.wide');
  if (scrolls && scrolls.scrollWidth > scrolls.clientWidth) continue;
  const box = (parent.closest('td, th, dd, dt, li, .board, .claims, .stop, .aside, .keys > div') || document.body)
    .getBoundingClientRect();
  range.selectNodeContents(text);
  for (const part of range.getClientRects())
    if (part.right > wide + 1 || part.left < -1 || part.right > box.right + 1 || part.bottom > box.bottom + 1)
      { wrong.push('text: ' + text.data.trim().slice(0, 60)); break; }
}
return wrong;
"""
#: Returns what a page asks for and where its links lead.
LINKED = """
const ids = [...document.querySelectorAll('[id]')].map(e => e.id);
return {
  loaded: performance.getEntriesByType('resource').map(r => r.name.slice(0, 5)),
  lost: [...document.querySelectorAll('a[href^="#"]')].map(a => a.getAttribute('href').slice(1))
    .filter(id => !ids.includes(id)),
  twice: ids.filter((id, i) => ids.indexOf(id) !== i),
  others: [...document.querySelectorAll('a:not([href^="#"])')].map(a => a.getAttribute('href')),
  levels: [...document.querySelectorAll('h1,h2,h3,h4')].map(h => +h.tagName[1]),
  bare: [...document.querySelectorAll('th:not([scope])')].length,
  landmarks: ['header', 'main', 'footer'].filter(tag => document.querySelectorAll('body > ' + tag).length !== 1),
  scripts: document.scripts.length,
  policy: document.querySelector('meta[http-equiv="Content-Security-Policy"]').content,
};
"""
RUN_AXE = """
const done = arguments[arguments.length - 1];
axe.run(document, {resultTypes: ['violations']}).then(found => done(found.violations.map(
  v => v.id + ': ' + v.nodes.slice(0, 3).map(n => n.target.join(' ')).join(', '))), error => done(['' + error]));
"""


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
    """Return a folder with every edition of every sample, and the index of a small batch."""
    out = tmp_path_factory.mktemp("reports")
    for name in NAMES:
        trial, results = computed_sample(name)
        view = build_view(trial, results)
        for edition in EDITIONS:
            page = out / edition / name / "report.html"
            page.parent.mkdir(parents=True)
            shown = edition_values(edition, view, trial, results)
            page.write_text(render_html(f"{EDITIONS[edition]}.html", **shown), encoding="utf-8")
    season = tmp_path_factory.mktemp("season")
    for name in ("canteen-aborted", "hill-school-fahrenheit"):
        shutil.copytree(SAMPLES / name, season / name)
    (season / "unreadable").mkdir()
    (season / "unreadable" / "trial.toml").write_text("title = broken", encoding="utf-8")
    assert run(["batch", str(season), "--out", str(out / "index"), "--jobs", "1", "--format", "html"]) == 1
    repeats = [computed_sample(f"one-tray/{path.name}") for path in sorted((SAMPLES / "one-tray").iterdir())]
    publish(out / "compared", [entry_of(results_document(*made), made[0].folder) for made in repeats])
    return out


def resize(browser: Any, width: int) -> None:
    # A headless window has a least width; emulation gives the width of a small telephone.
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride", {"width": width, "height": 1600, "deviceScaleFactor": 1, "mobile": False}
    )


def scheme(browser: Any, name: str) -> None:
    browser.execute_cdp_cmd(
        "Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": name}]}
    )


@pytest.mark.parametrize("name", ["index/index.html", "compared/comparison.html", *REPORTS])
def test_a_page_stands_by_itself_and_prints(browser: Any, pages: Path, name: str) -> None:
    page = pages / name
    if name in REPORTS:
        assert page.stat().st_size <= LARGEST_PAGE
    browser.get(page.as_uri())
    for width in WIDTHS:
        resize(browser, width)
        assert browser.execute_script(MISPLACED) == [], f"at {width} px"
    assert browser.get_log("browser") == []
    found = browser.execute_script(LINKED)
    assert set(found["loaded"]) <= {"data:"}
    assert found["lost"] == found["twice"] == found["landmarks"] == []
    assert found["bare"] == 0
    policy, _, scripts = found["policy"].partition("; script-src ")
    assert policy == POLICY
    # The index alone has a script, which its policy knows by its sum, and data that no browser runs.
    assert found["scripts"] == (2 if scripts else 0)
    assert bool(re.fullmatch("'sha256-[A-Za-z0-9+/=]+'", scripts)) == (name == "index/index.html")
    for link in found["others"]:
        assert (page.parent / link).is_file(), link
    assert found["levels"].count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(found["levels"]))
    if name in REPORTS:
        assert_prints_on_a4(browser, MOST_PAGES[name.partition("/")[0]])


def assert_prints_on_a4(browser: Any, most: int) -> None:
    page = browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    data = base64.b64decode(page["data"])
    assert data.startswith(b"%PDF")
    # A4 in points is 595.3 by 841.9, whatever rounding the browser uses.
    assert re.search(rb"/MediaBox \[0 0 59[456](\.\d+)? 84[123](\.\d+)?\]", data)
    assert 1 <= len(re.findall(rb"/Type /Page\b(?!s)", data)) <= most


def test_printed_answers_stand_on_a_page_of_their_own(browser: Any, pages: Path) -> None:
    resize(browser, 1280)
    browser.get((pages / "class" / "canteen-hand-readings" / "report.html").as_uri())
    shown = {}
    for medium in ("screen", "print"):
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": medium})
        shown[medium] = browser.execute_script(
            "const of = name => getComputedStyle(document.querySelector(name));"
            "return [of('details.answer').display, of('.printed').display, of('.printed').breakBefore]"
        )
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert shown["screen"][:2] == ["block", "none"]
    assert shown["print"] == ["none", "block", "page"]


def test_tables_become_lists_before_their_columns_are_crushed(browser: Any, pages: Path) -> None:
    shown = {}
    browser.get((pages / "full" / "canteen-hand-readings" / "report.html").as_uri())
    for width in (1000, 500):
        resize(browser, width)
        shown[width] = browser.execute_script(
            "return getComputedStyle(document.querySelector('table.stack thead')).display"
        )
    assert shown == {1000: "table-header-group", 500: "none"}


def test_trials_can_be_found_and_sorted_on_a_telephone(browser: Any, pages: Path) -> None:
    resize(browser, 360)
    browser.get((pages / "index" / "index.html").as_uri())
    found = "return [...document.querySelectorAll('.trials tbody tr:not([hidden]) th a')].map(link => link.textContent)"
    first = browser.execute_script(found)
    head = browser.find_element("css selector", ".trials thead th button")
    assert head.is_displayed()
    for wanted in (sorted(first), sorted(first, reverse=True)):
        head.click()
        assert browser.execute_script(found) == wanted
    browser.find_element("id", "find").send_keys("hill")
    assert [title for title in first if "Hill" in title] == browser.execute_script(found)


def test_tables_of_a_comparison_are_not_scrolled_sideways(browser: Any, pages: Path) -> None:
    browser.get((pages / "compared" / "comparison.html").as_uri())
    for width in (1280, 360):
        resize(browser, width)
        wide = browser.execute_script(
            "return [...document.querySelectorAll('.wide')].map(place => [place.scrollWidth, place.clientWidth])"
        )
        assert len(wide) >= 6
        assert all(needed <= given for needed, given in wide), f"at {width} px"


def test_pictures_of_a_comparison_show_whole_on_a_telephone(browser: Any, pages: Path) -> None:
    browser.get((pages / "compared" / "comparison.html").as_uri())
    resize(browser, 360)
    shown = browser.execute_script(
        "return [...document.querySelectorAll('figure')].map(each => [each.scrollWidth, each.clientWidth,"
        " each.querySelector('img').getBoundingClientRect().width, each.querySelector('img').naturalWidth])"
    )
    assert len(shown) == 2
    for needed, given, width, natural in shown:
        assert needed <= given
        assert 0.6 * natural <= width <= given, "it fits, and is not made much smaller"


@pytest.mark.parametrize("tag", ["en", "fr", "es", "sw", "ar"])
def test_no_word_of_a_log_sheet_is_broken_on_a_telephone(browser: Any, tmp_path: Path, tag: str) -> None:
    page = tmp_path / "log-sheet.html"
    with speaking(load(Manner(tag))):
        page.write_text(log_sheet(), encoding="utf-8")
    resize(browser, 360)
    browser.get(page.as_uri())
    assert browser.execute_script("return document.documentElement.scrollWidth") <= 360
    broken = browser.execute_script(
        "const range = document.createRange(), wrong = [];"
        "for (const head of document.querySelectorAll('th')) {"
        " const text = head.firstChild; let at = 0;"
        " for (const word of text.data.split(' ')) {"
        "  range.setStart(text, at); range.setEnd(text, at + word.length); at += word.length + 1;"
        "  if (word && new Set([...range.getClientRects()].map(part => Math.round(part.top))).size > 1)"
        "   wrong.push(word); } }"
        "return [document.querySelectorAll('th').length, wrong];"
    )
    assert broken[0] > 20
    assert broken[1] == []


def test_whoever_uses_a_keyboard_can_skip_to_the_content_and_sees_where_they_are(browser: Any, pages: Path) -> None:
    resize(browser, 1280)
    browser.get((pages / "full" / "canteen-hand-readings" / "report.html").as_uri())
    browser.switch_to.active_element.send_keys("\ue004")  # the tabulator key
    browser.execute_script("document.getAnimations().forEach(animation => animation.finish())")
    label, target, top, outline = browser.execute_script(
        "const a = document.activeElement, style = getComputedStyle(a);"
        "return [a.textContent, a.getAttribute('href'), a.getBoundingClientRect().top, style.outlineStyle]"
    )
    assert (label, target) == ("Skip to the content", "#content")
    assert top >= 0
    assert outline == "solid"


@pytest.mark.skipif(not AXE, reason="REPORTGEN_AXE names no script of axe-core")
@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("name", ["index/index.html", *FULLEST])
def test_the_accessibility_checker_finds_nothing(browser: Any, pages: Path, name: str, colours: str) -> None:
    resize(browser, 1280)
    scheme(browser, colours)
    browser.get((pages / name).as_uri())
    browser.execute_script(Path(AXE).read_text(encoding="utf-8"))
    assert browser.execute_async_script(RUN_AXE) == []
