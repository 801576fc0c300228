"""The page on the local network: nothing without the code, and the code once."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from chillplan.web.page import CODE_DIGITS, MOST_TRIES, page_app
from tests.web.hand import PHONE, hand, needs_browser

PAGE = "<!DOCTYPE html><title>hill</title>"
PATHS = ("/page", "/page.webmanifest", "/worker.js", "/icon.svg")


@pytest.fixture
def client() -> TestClient:
    return TestClient(page_app(PAGE, "<b>Hill</b>", "123456"), follow_redirects=True)


def test_nothing_but_the_door_is_shown_without_the_code(client: TestClient) -> None:
    for path in PATHS:
        found = client.get(path)
        assert found.status_code == 200 and PAGE not in found.text and "The code that the laptop shows" in found.text
    assert client.get("/../etc/passwd").status_code == 404
    assert client.post("/page").status_code == 405


def test_the_code_opens_the_page_for_one_browser_once() -> None:
    app = page_app(PAGE, "Hill", "123456")
    first, second = (TestClient(app, follow_redirects=True) for _ in range(2))
    found = first.post("/enter", content="code=123456")
    assert found.text == PAGE and found.headers["cache-control"] == "no-store"
    assert first.get("/page").text == PAGE
    assert first.get("/page.webmanifest").json()["display"] == "standalone"
    assert "svg" in first.get("/icon.svg").headers["content-type"]
    again = second.post("/enter", content="code=123456")
    assert "No further browser is let in" in again.text and second.get("/page").text != PAGE


def test_the_cookie_cannot_be_read_by_scripts_nor_sent_from_elsewhere(client: TestClient) -> None:
    answer = TestClient(client.app, follow_redirects=False).post("/enter", content="code=123456")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie and "samesite=strict" in cookie


def test_after_a_few_wrong_codes_the_right_one_is_refused_too(client: TestClient) -> None:
    for number in range(MOST_TRIES):
        client.post("/enter", content=f"code={number}")
    assert "No further browser" in client.post("/enter", content="code=123456").text
    assert client.get("/page").text != PAGE


def test_four_slips_are_forgiven_and_a_fifth_is_not() -> None:
    for slips, opened in ((4, True), (5, False)):
        browser = TestClient(page_app(PAGE, "Hill", "123456"), follow_redirects=True)
        for number in range(slips):
            browser.post("/enter", content=f"code={number}")
        assert (browser.post("/enter", content="code=123456").text == PAGE) == opened
    assert CODE_DIGITS == 6 and MOST_TRIES / 10**CODE_DIGITS <= 1 / 200_000


def test_odd_bytes_are_a_wrong_code(client: TestClient) -> None:
    for odd in (b"", b"code=", b"\xff" * 5000, "code=１２３４５６".encode()):
        assert PAGE not in client.post("/enter", content=odd).text


@contextlib.contextmanager
def serving(folder: Path, port: str = "0") -> Iterator[tuple[str, str]]:
    """Address and code of a page that is shown while the block lasts."""
    command = [sys.executable, "-m", "chillplan", "page", "--species", "Zizia aurea", "--serve", "--port", port]
    environment = {**os.environ, "CHILLPLAN_DATA": str(folder), "PYTHONUNBUFFERED": "1"}
    process = subprocess.Popen(command, stderr=subprocess.PIPE, text=True, env=environment, cwd=folder)
    try:
        assert process.stderr is not None
        told = ""
        while "enter " not in told:
            line = process.stderr.readline()
            assert line, told
            told += line
        found = told.split("http://")[1].split("/")[0].rsplit(":", 1)[1]
        yield f"http://127.0.0.1:{found}/", told.split("enter ")[1].split(";")[0]
    finally:
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=30)
    assert process.returncode in {0, 130}


def test_it_is_shown_while_it_runs_and_not_after(tmp_path: Path) -> None:
    with serving(tmp_path) as (address, code):
        assert len(code) == 6 and code.isdigit()
        with urllib.request.urlopen(address, timeout=30) as answer:  # once told, the address answers
            assert b"The code that the laptop shows" in answer.read()
    with pytest.raises(OSError):
        urllib.request.urlopen(address, timeout=2)


@needs_browser
def test_a_browser_keeps_the_page_after_the_laptop_is_gone(tmp_path: Path) -> None:
    """Over loopback, which browsers take for safe: the page from a tap on, its entries, and a page written anew."""
    (tmp_path / "blank.html").write_text("<!DOCTYPE html><html data-page=shown><title>blank</title></html>")
    shown = "document.documentElement.dataset.page === 'shown'"
    with hand(tmp_path / "blank.html", PHONE, offline=False) as opened:
        with serving(tmp_path) as (address, code):
            opened.driver.get(address)
            opened.js("document.querySelector('input').value = arguments[0]", code)
            opened.js("document.querySelector('form').submit()")
            opened.wait(f"location.pathname === '/page' && {shown}")
            opened.wait("navigator.serviceWorker.controller")
            assert opened.driver.get_log("browser") == [], "the policy lets all of its own in"
            opened.tap("More")
            opened.tap("Sun", "#days")
            opened.kept(1)
            made = opened.js("return JSON.parse(document.getElementById('facts').textContent).made")
        opened.driver.get(f"{address}page")
        opened.wait(shown)
        assert opened.js("return JSON.parse(document.getElementById('facts').textContent).made") == made
        opened.tap("More")
        opened.wait("document.querySelector('#back b').textContent.startsWith('1 entry')")
        with serving(tmp_path, address.rsplit(":", 1)[1].strip("/")) as (address, code):
            for _ in range(100):
                opened.driver.get(f"{address}page")
                if opened.js("return Boolean(document.querySelector('input[name=code]'))"):
                    break
                time.sleep(0.1)
            else:
                pytest.fail("a new run of the laptop asks for its code")
        opened.driver.get(f"{address}page")
        opened.wait(shown)
