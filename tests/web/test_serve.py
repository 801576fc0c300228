"""The page on the local network: nothing without the code, and the code once."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from chillplan.web.serve import MOST_TRIES, page_app

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


def test_odd_bytes_are_a_wrong_code(client: TestClient) -> None:
    for odd in (b"", b"code=", b"\xff" * 5000, "code=１２３４５６".encode()):
        assert PAGE not in client.post("/enter", content=odd).text


def test_it_is_shown_while_it_runs_and_not_after(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "chillplan", "page", "--species", "Zizia aurea", "--serve", "--port", "0"]
    environment = {**os.environ, "CHILLPLAN_DATA": str(tmp_path), "PYTHONUNBUFFERED": "1"}
    process = subprocess.Popen(command, stderr=subprocess.PIPE, text=True, env=environment, cwd=tmp_path)
    try:
        assert process.stderr is not None
        told = ""
        while "enter " not in told:
            line = process.stderr.readline()
            assert line, told
            told += line
        port = int(told.split("http://")[1].split("/")[0].rsplit(":", 1)[1])
        code = told.split("enter ")[1].split(";")[0]
        assert len(code) == 6 and code.isdigit()
        address = f"http://127.0.0.1:{port}/"
        for _ in range(100):
            try:
                with urllib.request.urlopen(address, timeout=5) as answer:
                    assert b"The code that the laptop shows" in answer.read()
                break
            except OSError:
                time.sleep(0.1)
        else:
            pytest.fail("the page never answered")
    finally:
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=30)
    with pytest.raises(OSError):
        urllib.request.urlopen(address, timeout=2)
    assert process.returncode in {0, 130}
