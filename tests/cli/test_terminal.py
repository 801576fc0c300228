"""What somebody at a terminal sees while work goes on, and that nobody else sees it."""

from __future__ import annotations

import io
import itertools
import os
import pty
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from chillplan.cli import streams
from chillplan.cli.streams import ProgressLine, progress_bar
from tests.cli.command import chillplan, written_record
from tests.cli.test_said import write_garden

WIDE = f"\r{'2 of 3: ' + 'x' * 62}"
GONE = "\r" + " " * 70 + "\r"


def at_a_terminal(monkeypatch: pytest.MonkeyPatch, act: Callable[[], object]) -> str:
    """What a terminal receives on standard error."""
    hand, screen = pty.openpty()
    shown = bytearray()

    def read() -> None:
        try:
            while part := os.read(hand, 4096):
                shown.extend(part)
        except OSError:  # the other end is closed: all was read
            pass

    reader = threading.Thread(target=read)
    reader.start()
    with os.fdopen(screen, "w", encoding="utf-8") as stream, monkeypatch.context() as patch:
        patch.setattr(sys, "stderr", stream)
        act()
    reader.join()
    os.close(hand)
    return shown.decode()


def said_to_a_terminal(monkeypatch: pytest.MonkeyPatch, *words: object) -> str:
    """What a command says on standard error where that is a terminal."""

    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    with monkeypatch.context() as patch:
        patch.setattr(io, "StringIO", Terminal)
        answer = chillplan(*words)
    assert answer.code == 0, answer.err
    return answer.err


def told(silent: float) -> None:
    with ProgressLine(silent) as progress:
        progress("1 of 3")
        progress("2 of 3: " + "x" * 80)


def test_a_line_shows_how_far_the_work_is_and_is_gone_at_its_end(monkeypatch: pytest.MonkeyPatch) -> None:
    assert at_a_terminal(monkeypatch, lambda: told(0.0)) == f"\r{'1 of 3':<70}{WIDE}{GONE}"


def test_work_that_is_soon_done_shows_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    assert at_a_terminal(monkeypatch, lambda: told(streams.SILENT_SECONDS)) == ""


def test_after_a_second_it_shows(monkeypatch: pytest.MonkeyPatch) -> None:
    now = [100.0]
    monkeypatch.setattr(streams.time, "monotonic", lambda: now[0])

    def slow() -> None:
        with ProgressLine() as progress:
            now[0] = 100.99
            progress("too soon")
            now[0] = 101.0
            progress("1 of 3")

    assert at_a_terminal(monkeypatch, slow) == f"\r{'1 of 3':<70}{GONE}"


def test_a_bar_has_its_title_what_is_done_and_how_much_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    def fetch() -> None:
        with progress_bar("Fetching") as progress:
            progress(3, 7, "10001 2005")

    shown = at_a_terminal(monkeypatch, fetch)
    assert "Fetching: 10001 2005" in shown and "3/7" in shown


@pytest.mark.parametrize(
    ("words", "shown"),
    [
        ("soilcheck --weather garden.csv --latitude 45 --longitude -70 --calibrate",
         ["running the model for 1 station", "trying the ground covers", "fitting 1 station"]),
        ("weather check --weather two", ["1 of 2: garden", "2 of 2: record"]),
        ("species list --use basketry --weather record.csv --latitude 44 --longitude 9", ["1 of 1: Cornus sericea"]),
        ("plan --species redbud --weather record.csv --latitude 44 --longitude 9", ["1 of 1: Cercis canadensis"]),
    ],
)  # fmt: skip
def test_each_command_says_what_it_is_at(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: str, shown: list[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    for folder in (tmp_path, tmp_path / "two"):
        folder.mkdir(exist_ok=True)
        written_record(folder)
        write_garden(folder)
    clock = itertools.count(0.0, 2.0)
    monkeypatch.setattr(streams.time, "monotonic", lambda: next(clock))
    told = said_to_a_terminal(monkeypatch, *words.split())
    lines = [line.strip() for line in told.split("\r") if line.strip()]
    assert [line for line in lines if line in shown] == shown, lines


def test_each_place_of_a_table_is_named_as_its_turn_comes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    written_record(tmp_path)
    rows = "name,latitude,longitude,weather\nhigh field,47,11,record.csv\ncoast,38,-9,record.csv\n"
    (tmp_path / "sites.csv").write_text(rows, encoding="utf-8")
    words = ("plan", "--sites", tmp_path / "sites.csv", "--species", "redbud", "--today", "2026-09-01")
    told = said_to_a_terminal(monkeypatch, *words)
    assert f"\r1 of 2: {'high field':<50}\r" in told
    assert f"\r2 of 2: {'coast':<50}\n" in told
    assert chillplan(*words).err == ""


def test_nothing_of_it_goes_into_a_file(capsys: pytest.CaptureFixture[str]) -> None:
    told(0.0)
    with progress_bar("Fetching") as progress:
        progress(3, 7, "10001 2005")
    assert capsys.readouterr() == ("", "")
