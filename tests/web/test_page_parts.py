"""The page and its door, part by part: what may run, who is let in, what a phone and the laptop are told."""

from __future__ import annotations

import asyncio
import base64
import contextlib
import hashlib
import json
import socket
from dataclasses import replace
from typing import Any

import pytest
from starlette.testclient import TestClient

from chillplan.errors import InputError
from chillplan.report.page import INVENTED
from chillplan.report.reader import Reader, reader_for
from chillplan.web import page as page_module
from chillplan.web.page import _Lock, _policy, page_app, page_html, serve_page
from tests.report.handmade import hand_plan, hand_source

PAGE = "<!DOCTYPE html><title>hill</title>"
QUIET = {"cache-control": "no-store", "referrer-policy": "no-referrer", "x-content-type-options": "nosniff"}


def test_the_policy_lets_the_scripts_in_and_nothing_else() -> None:
    """A browser blocks the page, or lets a stranger's script run, where a word of this is wrong."""
    marks = " ".join(
        f"'sha256-{base64.b64encode(hashlib.sha256(script).digest()).decode()}'" for script in (b"one", b"two")
    )
    start = f"default-src 'none'; script-src {marks}; style-src 'unsafe-inline'; img-src data: blob:"
    assert _policy(("one", "two"), False) == f"{start}; base-uri 'none'; form-action 'none'"
    assert _policy(("one", "two"), True) == (
        f"{start} 'self'; base-uri 'none'; form-action 'none'; manifest-src 'self'; worker-src 'self'"
    )


def test_the_page_is_made_of_its_parts_each_in_its_place() -> None:
    plan = hand_plan()
    page = page_html(plan, hand_source(), Reader(), {"a": "</script>"})
    head = page[: page.index("<details")]
    assert '<html lang="en-GB">' in head and "<title>Test [Bank], season 2026/27</title>" in head
    assert '<p class="banner"' not in head and "manifest" not in head
    place = "44.200° N, 72.500° W, 420 m above sea level; 12° slope facing south, short grass; seed zone 2 cm deep."
    assert place in head.replace("\N{NO-BREAK SPACE}", " ")
    assert '<script type="application/json" id="facts">{"a":"\\u003c/script>"}</script>' in page
    names = ["Verdicts", "What to do when", "The winters here", "Species by species", "How far to trust this"]
    shut = [page.index(f'<details class="fold"><summary><h2>{name}</h2>') for name in names[1:]]
    assert page.index(f'<details class="fold" open><summary><h2>{names[0]}</h2>') < shut[0] and shut == sorted(shut)
    other = page_html(replace(plan, warming=1.5), hand_source(invented=True), reader_for("us", None), {}, served=True)
    head = other[: other.index("<details")].replace("\N{NO-BREAK SPACE}", " ")
    assert '<html lang="en-US">' in head and '<link rel="manifest" href="page.webmanifest"' in head
    banners = [part.partition("</p>")[0] for part in head.split('<p class="banner" role="note">')[1:]]
    assert banners == [
        INVENTED,
        "Every temperature was moved by +2.7 °F as asked: this is a what-if, not a record.",
    ]


def test_the_lock_opens_once_and_shuts_after_five_wrong_codes() -> None:
    lock = _Lock("123456")
    assert (lock.shut, lock.knows(""), lock.knows("x")) == (False, False, False)
    assert lock.try_code(b"12345") == "" and lock.wrong == 1
    key = lock.try_code(b" 123456\n")
    assert len(key) >= 32 and lock.knows(key) and not lock.knows(key + "x") and not lock.knows("")
    assert lock.shut and lock.try_code(b"123456") == "" and lock.knows(key), "the first browser stays in"
    shut = _Lock("123456")
    for number in range(5):
        assert not shut.shut
        shut.try_code(b"%d" % number)
    assert shut.shut and shut.try_code(b"123456") == "" and not shut.knows("")
    assert _Lock("1").try_code(b"1") != _Lock("1").try_code(b"1"), "no two keys are alike"


def test_every_path_answers_with_its_kind_and_is_kept_by_nobody() -> None:
    client = TestClient(page_app(PAGE, "A long name of a hill", "123456"), follow_redirects=False)
    door = client.get("/")
    assert door.status_code == 200 and QUIET.items() <= dict(door.headers).items()
    for path in ("/page", "/page.webmanifest", "/worker.js", "/icon.svg"):
        away = client.get(path)
        assert (away.status_code, away.headers["location"]) == (303, ".")
    wrong = client.post("/enter", content="code=1")
    assert (wrong.status_code, wrong.headers["location"]) == (303, ".") and "set-cookie" not in wrong.headers
    right = client.post("/enter", content="code=123456")
    assert (right.status_code, right.headers["location"]) == (303, "page")
    assert right.headers["set-cookie"].startswith("chillplan=")
    inside = client.get("/")
    assert (inside.status_code, inside.headers["location"]) == (303, "page")
    for path, kind, own in (
        ("/page", "text/html", PAGE),
        ("/worker.js", "text/javascript", page_module._own("web", "app/worker.js")),
        ("/icon.svg", "image/svg+xml", page_module._own("web", "app/icon.svg")),
    ):
        found = client.get(path)
        assert found.headers["content-type"].split(";")[0] == kind and found.text == own
        assert QUIET.items() <= dict(found.headers).items()
    manifest = client.get("/page.webmanifest")
    assert manifest.headers["content-type"] == "application/manifest+json"
    assert manifest.json() == {
        "name": "chillplan A long name of a hill",
        "short_name": "A long name ",
        "start_url": "page",
        "display": "standalone",
        "background_color": "#fdfcf8",
        "theme_color": "#fdfcf8",
        "icons": [{"src": "icon.svg", "sizes": "any", "type": "image/svg+xml", "purpose": "any maskable"}],
    }


@pytest.mark.parametrize(("size", "read"), [(10, 11), (50, 3), (200, 1)])
def test_no_more_is_read_with_a_code_than_a_code_takes(size: int, read: int) -> None:
    """Of a stream without an end a hundred bytes and the piece they end in: else one browser fills the memory."""
    asked, sent = [], []

    async def receive() -> dict[str, Any]:
        asked.append(1)
        return {"type": "http.request", "body": b"1" * size, "more_body": len(asked) < 40}

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    scope = {
        "type": "http", "method": "POST", "path": "/enter", "headers": [], "query_string": b"", "root_path": "",
        "scheme": "http", "server": ("127.0.0.1", 1), "client": ("127.0.0.1", 2), "http_version": "1.1",
    }  # fmt: skip
    asyncio.run(page_app(PAGE, "Hill", "123456")(scope, receive, send))
    assert len(asked) == read and sent[0]["status"] == 303


def test_the_laptop_tells_where_and_with_what_code_and_listens_before_it_tells(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    told: list[str] = []
    seen: dict[str, Any] = {}

    def tell(words: str) -> None:
        told.append(words)
        if len(told) == 1:
            port = int(words.strip().rstrip("/").rpartition(":")[2])
            with socket.create_connection(("127.0.0.1", port), timeout=5) as phone:
                seen["phone"] = phone.getpeername()[1] == port

    def run(server: Any, sockets: list[socket.socket]) -> None:
        seen["run"] = len(sockets)
        client = TestClient(server.config.app, follow_redirects=True)
        code = told[1].split("enter ")[1].split(";")[0]
        seen["page"] = client.post("/enter", content=f"code={code}").text
        seen["config"] = (server.config.log_level, server.config.access_log, server.config.server_header)
        sockets[0].close()

    monkeypatch.setattr("uvicorn.Server.run", run)
    monkeypatch.setattr(page_module, "_own_address", lambda: "192.0.2.7")
    serve_page(PAGE, "Hill", 0, tell)
    code = told[1].split("enter ")[1].split(";")[0]
    assert len(code) == 6 and code.isdigit()
    port = told[0].strip().rstrip("/").rpartition(":")[2]
    assert told == [
        f"on the phone, in the same network, open http://192.0.2.7:{port}/ ",
        f"and enter {code}; it lets one browser in, once. To work without the network, save the page there as a file.",
        "Stop with Ctrl-C; the page is not shown any longer then.",
    ]
    assert seen == {"phone": True, "run": 1, "page": PAGE, "config": ("error", False, False)}


def test_a_port_that_is_taken_is_named_and_nothing_is_left_open(monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[socket.socket] = []
    real = socket.socket

    def kept(*args: Any, **more: Any) -> socket.socket:
        made.append(real(*args, **more))
        return made[-1]

    with contextlib.closing(real()) as taken:
        taken.bind(("", 0))
        taken.listen()
        port = taken.getsockname()[1]
        monkeypatch.setattr(socket, "socket", kept)
        with pytest.raises(InputError) as refused:
            serve_page(PAGE, "Hill", port, lambda _: None)
    assert str(refused.value) == f"--port {port} cannot be had (Address already in use): give another one"
    assert [one.fileno() for one in made] == [-1]


def test_the_laptop_names_itself_where_it_has_no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    assert json.dumps(page_module._own_address())

    class Probe:
        def __init__(self, *_: object) -> None: ...
        def __enter__(self) -> Probe:
            return self

        def __exit__(self, *_: object) -> None: ...
        def connect(self, address: tuple[str, int]) -> None:
            self.address = address
            if len(known) == 0:
                raise OSError

        def getsockname(self) -> tuple[str, int]:
            return known[0], self.address[1]

    known = ["10.1.2.3"]
    monkeypatch.setattr(socket, "socket", Probe)
    monkeypatch.setattr(socket, "gethostname", lambda: "laptop")
    assert page_module._own_address() == "10.1.2.3"
    known.clear()
    assert page_module._own_address() == "laptop"
