"""The page in a real Chromium: nothing fetched, nothing in the console, every chart drawn, nothing cut off."""

from __future__ import annotations

import base64
import contextlib
import io
import json
import shutil
import subprocess
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from chillplan.advice.plan import Request, make_plan
from chillplan.advice.result import Plan
from chillplan.report.reader import Reader, reader_for
from chillplan.report.record import Source
from chillplan.seasons.cut import cut_seasons
from chillplan.site import Site
from chillplan.web.folder import write_report
from tests.records import wave_weather
from tests.report.conftest import SPECIES, TODAY, page_of

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
DRIVER = shutil.which("chromedriver")
pytestmark = pytest.mark.skipif(
    CHROMIUM is None or DRIVER is None,
    reason="Chromium and its driver are not at hand: apt-get install chromium chromium-driver",
)
WIDTHS = (360, 1280)
WHOLE = "#report-whole"  # the long report, all of it unfolded
CUT_OFF = """
const wide = document.documentElement.clientWidth;
const found = [];
for (const element of document.querySelectorAll("h1,h2,h3,h4,p,li,th,td,dt,dd,summary,caption,.chip,.chart")) {
  if (element.closest(".scroll, details:not([open]), .skip")) continue;
  const box = element.getBoundingClientRect();
  if (!box.width || getComputedStyle(element).clipPath !== "none" || element.closest("thead")) continue;
  if (box.left < -1 || box.right > wide + 1 || element.scrollWidth > element.clientWidth + 1 && element.clientWidth)
    if (getComputedStyle(element).display !== "inline") found.push(element.textContent.slice(0, 60));
}
for (const chart of document.querySelectorAll(".chart")) {
  const edge = chart.getBoundingClientRect();
  for (const words of chart.querySelectorAll("text")) {
    const box = words.getBoundingClientRect();
    if (box.width && (box.left < edge.left - 2 || box.right > edge.right + 2 || box.bottom > edge.bottom + 2))
      found.push(chart.id + ": " + words.textContent);
  }
}
return found;
"""
TEXT_OVER_TEXT = """
const found = [];
for (const chart of document.querySelectorAll(".chart")) {
  const words = ".annotation-text, .xtick text, .ytick text, .y2tick text, .xtitle, .ytitle";
  const boxes = Array.from(chart.querySelectorAll(words))
    .map((words) => [words.textContent, words.getBoundingClientRect()]).filter(([, box]) => box.width);
  boxes.forEach(([one, a], index) => boxes.slice(index + 1).forEach(([two, b]) => {
    const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
    const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
    if (across > 2 && down > 4) found.push(chart.id + ": " + one + " | " + two);
  }));
}
return found;
"""


@pytest.fixture(scope="module")
def page(plan: Plan, source: Source, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_report(plan, source, tmp_path_factory.mktemp("browser") / "plan", Reader())[0]


@contextlib.contextmanager
def browser(page: Path, width: int) -> Iterator:
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = str(CHROMIUM)
    for argument in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--hide-scrollbars"):
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(str(DRIVER)))
    try:
        size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 500}
        driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        driver.get(page.as_uri() + WHOLE)
        for _ in range(1200):
            if driver.execute_script("return document.documentElement.dataset.charts") == "drawn":
                break
            time.sleep(0.05)
        yield driver
    finally:
        driver.quit()


@pytest.fixture(scope="module", params=WIDTHS)
def opened(page: Path, request: pytest.FixtureRequest) -> Iterator:
    with browser(page, request.param) as driver:
        yield driver


def test_the_console_stays_empty_and_no_request_leaves_the_file(opened, page: Path) -> None:
    assert [entry for entry in opened.get_log("browser") if entry["level"] in {"SEVERE", "WARNING"}] == []
    messages = [json.loads(entry["message"])["message"] for entry in opened.get_log("performance")]
    asked = {m["params"]["request"]["url"] for m in messages if m["method"] == "Network.requestWillBeSent"}
    assert {url for url in asked if not url.startswith("data:")} <= {page.as_uri(), page.as_uri() + WHOLE}


def test_every_chart_is_drawn(opened) -> None:
    drawn = opened.execute_script(
        "return Array.from(document.querySelectorAll('.chart')).map((c) => c.querySelectorAll('.main-svg path').length)"
    )
    assert len(drawn) == 5 + len(SPECIES)
    assert all(paths > 5 for paths in drawn)


def test_nothing_is_cut_off(opened) -> None:
    assert opened.execute_script("return document.documentElement.scrollWidth <= innerWidth")
    assert opened.execute_script(CUT_OFF) == []


def test_no_text_lies_over_other_text_in_a_chart(opened) -> None:
    assert opened.execute_script(TEXT_OVER_TEXT) == []


def test_a_place_with_little_frost_has_room_for_its_words_on_a_phone(source: Source, tmp_path: Path) -> None:
    site = Site(44.6, -124.0, name="Mild garden")
    seasons = cut_seasons(wave_weather(mean=13.0, swing=5.5, noise=2.2), southern=False)
    plan = make_plan(seasons, site, SPECIES[:2], Request(TODAY))
    assert 0 < int(np.isinf(plan.winters.last_spring_frost[-2.0]).sum()) < plan.winters.years.size
    with browser(write_report(plan, source, tmp_path / "plan", reader_for("us", None))[0], 360) as driver:
        assert driver.execute_script(CUT_OFF) == []
        assert driver.execute_script(TEXT_OVER_TEXT) == []


def test_names_with_markup_run_nothing(nasty_plan: Plan, source: Source, tmp_path: Path) -> None:
    written = write_report(nasty_plan, source, tmp_path / "plan", Reader())[0]
    with browser(written, 1280) as driver:
        assert [entry for entry in driver.get_log("browser") if entry["level"] in {"SEVERE", "WARNING"}] == []
        assert driver.execute_script("return document.querySelectorAll('img, .chart a').length") == 0
        shown = driver.find_element("id", "chart-timeline").get_attribute("textContent")
        assert "</script><script>alert(1)</script>" in shown
        assert driver.execute_script("return document.documentElement.scrollWidth <= innerWidth")


def test_charts_are_on_paper_when_the_file_is_printed_without_being_shown(page: Path, tmp_path: Path) -> None:
    out = tmp_path / "printed.pdf"
    command = [
        str(CHROMIUM),
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        f"--print-to-pdf={out}",
        page.as_uri() + WHOLE,
    ]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    text = "\n".join(sheet.extract_text() for sheet in PdfReader(out).pages)
    assert "drawn by your browser" not in text
    assert text.count("still dormant") >= len(SPECIES)


def test_the_page_prints_with_charts_and_within_the_paper(page: Path) -> None:
    with browser(page, 1280) as driver:
        printed = driver.execute_cdp_cmd("Page.printToPDF", {"paperWidth": 8.27, "paperHeight": 11.69})
    pdf = PdfReader(io.BytesIO(base64.b64decode(printed["data"])))
    text = "\n".join(sheet.extract_text() for sheet in pdf.pages)
    assert "Verdicts" in text and "The seed zone through the year" in text
    assert "median winter" in text, "the words inside the charts are on the paper"
    assert "Skip to the verdicts" not in text
    assert len(pdf.pages) <= 9 + 2 * len(SPECIES)


def test_long_species_names_stay_whole_on_paper(plan: Plan, source: Source, tmp_path: Path) -> None:
    names = ("Aesculus hippocastanum", "Desmanthus illinoensis", "Callirhoe involucrata")
    advices = [
        replace(one, species=replace(one.species, name=name)) for one, name in zip(plan.species, names, strict=False)
    ]
    shown = replace(plan, species=tuple(advices), tasks=(), visits=())
    page = tmp_path / "report.html"
    page.write_text(page_of(shown, source, Reader()), encoding="utf-8")
    out = tmp_path / "printed.pdf"
    command = [
        str(CHROMIUM),
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        f"--print-to-pdf={out}",
        page.as_uri() + WHOLE,
    ]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    summary = PdfReader(out).pages[0].extract_text()
    for name in names:
        assert name.split()[1] in summary
