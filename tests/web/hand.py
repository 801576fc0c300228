"""A grower's hand on the page: a real Chromium that counts its taps."""

from __future__ import annotations

import contextlib
import json
import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
DRIVER = shutil.which("chromedriver")
needs_browser = pytest.mark.skipif(
    CHROMIUM is None or DRIVER is None,
    reason="Chromium and its driver are not at hand: apt-get install chromium chromium-driver",
)
PHONE, DESK = (390, 844), (1280, 800)
PATIENCE = 5.0  # for what is to come onto the screen [s]
CLOCK = """
{
  const Real = Date;
  const shift = Real.parse("%sT09:00:00") - Real.now();
  window.Date = class extends Real {
    constructor(...given) { if (given.length) super(...given); else super(Real.now() + shift); }
    static now() { return Real.now() + shift; }
  };
}
"""
NAMED = """
const name = (one) => {
  const copy = one.cloneNode(true);
  copy.querySelectorAll("[aria-hidden]").forEach((hidden) => hidden.remove());
  return one.getAttribute("aria-label") || copy.textContent.trim();
};
return [...document.querySelectorAll(`${arguments[1]} :is(button, a, summary)`)]
  .filter((one) => one.offsetParent !== null || getComputedStyle(one).position === "fixed")
  .filter((one) => name(one) === arguments[0]);
"""


class Hand:
    """One open page and the taps made on it."""

    def __init__(self, driver: Any, page: Path) -> None:
        self.driver, self.page, self.taps = driver, page, 0

    def js(self, script: str, *values: Any) -> Any:
        return self.driver.execute_script(script, *values)

    def open(self, screen: str = "") -> None:
        self.driver.get("about:blank")
        self.driver.get(self.page.as_uri() + (f"#{screen}" if screen else ""))
        self.wait("document.documentElement.dataset.page === 'shown'")

    def wait(self, condition: str) -> None:
        from selenium.webdriver.support.ui import WebDriverWait

        WebDriverWait(self.driver, 20, 0.02).until(lambda _: self.js(f"return Boolean({condition})"))

    def tap(self, words: str, part: str = "#app", number: int = 0) -> None:
        """Tap the button or link with this name once it is there; one that cannot be tapped fails the test."""
        found: list[Any] = []
        until = time.monotonic() + PATIENCE
        while not found and time.monotonic() < until:
            found = self.js(NAMED, words, part)
        assert found, f"nothing on the screen is called {words!r}"
        self.js("arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})", found[number])
        found[number].click()
        self.settle()
        self.taps += 1

    def settle(self) -> None:
        """Wait until what a tap changed has been drawn."""
        drawn = "const done = arguments[0]; requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done)));"
        self.driver.execute_async_script(drawn)

    def fill(self, label: str, value: str, part: str = "#app") -> None:
        """Type into a field, or set a date."""
        script = """
        const label = [...document.querySelectorAll(arguments[2] + " label")]
          .find((one) => one.textContent.trim().startsWith(arguments[0]));
        const input = label.querySelector("input");
        const set = Object.getOwnPropertyDescriptor(HTMLInputElement.prototype, "value").set;
        set.call(input, arguments[1]);
        input.dispatchEvent(new Event("input", { bubbles: true }));
        """
        self.js(script, label, value, part)
        self.settle()

    def choose(self, label: str, words: str, part: str = "#app") -> None:
        """Choose from a list, the last of those that are called so."""
        script = """
        const label = [...document.querySelectorAll(arguments[2] + " label")]
          .find((one) => one.textContent.trim().startsWith(arguments[0]));
        const select = label.querySelector("select");
        select.value = [...select.options].filter((one) => one.textContent === arguments[1]).at(-1).value;
        select.dispatchEvent(new Event("change", { bubbles: true }));
        """
        self.js(script, label, words, part)
        self.settle()
        self.taps += 2

    def text(self, selector: str = "#page") -> str:
        self.wait(f"document.querySelector({json.dumps(selector)})")
        return str(self.js("return document.querySelector(arguments[0]).innerText", selector))

    def entries(self) -> list[dict[str, Any]]:
        """What is on the device, read past the page."""
        script = """
        const done = arguments[arguments.length - 1];
        indexedDB.databases().then(([one]) => {
          if (!one) return done([]);
          indexedDB.open(one.name).onsuccess = (opened) => {
            const database = opened.target.result;
            database.transaction("entries").objectStore("entries").getAll().onsuccess = (read) => {
              database.close();
              done(read.target.result);
            };
          };
        });
        """
        return list(self.driver.execute_async_script(script))

    def kept(self, count: int) -> list[dict[str, Any]]:
        """The entries, once this many are on the device."""
        from selenium.webdriver.support.ui import WebDriverWait

        WebDriverWait(self.driver, 20, 0.05).until(lambda _: len(self.entries()) >= count)
        self.wait("document.querySelector('.told').textContent === 'Kept.'")
        return self.entries()

    def faults(self) -> list[str]:
        """Everything the console complained of, and every request that left the file."""
        told = [entry["message"] for entry in self.driver.get_log("browser") if entry["level"] in {"SEVERE", "WARNING"}]
        messages = [json.loads(entry["message"])["message"] for entry in self.driver.get_log("performance")]
        asked = [m["params"]["request"]["url"] for m in messages if m["method"] == "Network.requestWillBeSent"]
        own = ("data:", "blob:", "about:", self.page.as_uri())
        return told + [url for url in asked if not url.startswith(own)]


@contextlib.contextmanager
def hand(
    page: Path, size: tuple[int, int] = PHONE, day: str = "", profile: Path | None = None, offline: bool = True
) -> Iterator[Hand]:
    """Open a page in a browser of its own.

    Parameters
    ----------
    page : pathlib.Path
    size : tuple of int
        [px]
    day : str
        What the device takes for today; empty for the real day.
    profile : pathlib.Path, optional
        Keeps what is stored from one call to the next.
    offline : bool
        Without a network.
    """
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = str(CHROMIUM)
    for argument in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--hide-scrollbars"):
        options.add_argument(argument)
    if profile is not None:
        options.add_argument(f"--user-data-dir={profile}")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(str(DRIVER)))
    try:
        shape = {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": size[0] < 500}
        driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", shape)
        if day:
            driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": CLOCK % day})
        if offline:
            driver.execute_cdp_cmd("Network.enable", {})
            none = {"offline": True, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0}
            driver.execute_cdp_cmd("Network.emulateNetworkConditions", none)
        opened = Hand(driver, page)
        opened.open()
        yield opened
    finally:
        with contextlib.suppress(Exception):
            driver.quit()
